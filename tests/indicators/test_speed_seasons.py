"""Green speed over the seasons: by hand, like with like, and left aside or refused where nothing can be compared."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.conftest import GREENS
from tests.indicators.figures import Figures, names, of
from tests.thorough import beyond

LOG = "date,green,operation,material,quantity,cut_height_mm\n"
SPEED = "date,green,rink,device,value,unit,distance_m,cut_height_mm\n"


def bowls(rows: list[tuple[str, float, str]]) -> str:
    return "".join(f"{day},ALD-1,1,timed bowl,{value},s,27,{cut}\n" for day, value, cut in rows)


BEFORE = [("2025-06-01", 12.0, "5"), ("2025-06-15", 12.4, "5"), ("2025-07-01", 13.0, "5"), ("2025-07-20", 13.4, "5")]
AFTER = [("2026-06-01", 12.5, "5"), ("2026-06-15", 12.9, "5"), ("2026-07-01", 13.5, "5"), ("2026-07-20", 13.9, "5")]


def test_speed_against_the_season_before_by_hand(figures: Figures) -> None:
    """Every day 0.5 s more: the difference of two months of two days each; variance 0.08, 5 degrees of freedom.

    Half width t(0.975; 5) = 2.571 (printed t table) · √(Σ of squares 0.32 / 5 / weights 2).
    """
    one = of(figures(green_speed=SPEED + bowls(BEFORE + AFTER)), "speed_change_s")
    assert one.value == pytest.approx(0.5)
    assert one.high is not None
    assert one.high - 0.5 == pytest.approx(2.571 * (0.32 / 5 / 2) ** 0.5, rel=1e-3)
    assert one.note == "Compared at 5 mm height of cut. No rain is recorded: weather is left aside."
    assert one.n == 8


def test_speed_at_another_height_of_cut_is_not_compared(figures: Figures) -> None:
    """Two seasons, 5 and 8 mm: the mower's difference is not the green's."""
    other = [(day, value, "8") for day, value, _ in AFTER]
    one = of(figures(green_speed=SPEED + bowls(BEFORE + other)), "speed_change_s")
    assert (one.value, one.standing) == (None, "too few")
    assert one.note.startswith(
        "Too few: 0 and 0 days under like conditions; 3 and 3 needed. 8 days with no match in the other"
    )


def test_height_of_cut_from_the_log_where_readings_give_none(figures: Figures) -> None:
    bare = [(day, value, "") for day, value, _ in BEFORE + AFTER]
    mown = "".join(f"{day},ALD-1,mowing,,,5.2\n" for day, _, _ in bare)
    one = of(figures(green_speed=SPEED + bowls(bare), job=LOG + mown), "speed_change_s")
    assert one.value == pytest.approx(0.5)


def test_where_no_height_of_cut_is_recorded_it_is_left_aside(figures: Figures) -> None:
    bare = [(day, value, "") for day, value, _ in BEFORE + AFTER]
    one = of(figures(green_speed=SPEED + bowls(bare)), "speed_change_s")
    assert one.value == pytest.approx(0.5)
    assert one.note.startswith("No height of cut is recorded: it is left aside.")
    assert "height of cut" not in one.method


def test_days_without_a_height_of_cut_are_left_out_where_others_have_one(figures: Figures) -> None:
    mixed = [*BEFORE, *AFTER, ("2026-06-20", 19.0, "")]
    one = of(figures(green_speed=SPEED + bowls(mixed)), "speed_change_s")
    assert (one.value, one.n) == (pytest.approx(0.5), 8)
    assert "1 day without a height of cut left out." in one.note


STATION = GREENS.replace("aliases\n", "aliases,station\n").replace("Alder Brook\n", "Alder Brook,Ostershire airfield\n")


def rain(wet: tuple[str, ...], without: tuple[str, ...] = ()) -> str:
    """Rain of the two days before each day of timing: 0.4 and 0.5 mm, or 0.6 and 0.5 mm on wet ones."""
    lines = ["date,station,rain_mm"]
    for day, _, _ in (*BEFORE, *AFTER):
        for back, dry, more in ((1, 0.4, 0.6), (2, 0.5, 0.5)):
            if day not in without:
                at = date.fromisoformat(day) - timedelta(days=back)
                lines.append(f"{at},Ostershire airfield,{more if day in wet else dry}")
    return "\n".join(lines) + "\n"


def test_wet_days_are_compared_with_wet_days_only(figures: Figures) -> None:
    """0.9 mm in two days is dry, 1.1 mm wet. One July day each season was wet: 2 s slower, and slower by 1 s."""
    wet = ("2025-07-20", "2026-07-20")
    rows = [(day, value - 2 * (day in wet) - 0.5 * (day == wet[1]), cut) for day, value, cut in BEFORE + AFTER]
    done = figures(green=STATION, green_speed=SPEED + bowls(rows), weather_day=rain(wet))
    one = of(done, "speed_change_s")
    # June dry 0.5 (weight 1), July dry 0.5 (weight ½), July wet 0.0 (weight ½): 0.75/2
    assert one.value == pytest.approx(0.375)
    assert one.note == "Compared at 5 mm height of cut."
    assert "rain of the 2 days before (dry: under 1 mm)" in one.method


def test_a_wet_season_is_no_slower_green(figures: Figures) -> None:
    """July of one season wet, of the other dry: only June is left, and too few days of it."""
    done = figures(
        green=STATION, green_speed=SPEED + bowls(BEFORE + AFTER), weather_day=rain(("2026-07-01", "2026-07-20"))
    )
    one = of(done, "speed_change_s")
    assert (one.value, one.standing) == (None, "too few")
    assert "Too few: 2 and 2 days under like conditions; 3 and 3 needed. 4 days with no match" in one.note


def test_days_whose_rain_is_not_on_record_are_left_out(figures: Figures) -> None:
    done = figures(
        green=STATION, green_speed=SPEED + bowls(BEFORE + AFTER), weather_day=rain((), without=("2026-07-20",))
    )
    one = of(done, "speed_change_s")
    # June 0.5, weight 1; July 13.5 less the mean of 13.0 and 13.4, weight ⅔
    assert (one.value, one.n) == (pytest.approx((0.5 + 0.3 * 2 / 3) / (5 / 3)), 7)
    assert one.note.endswith("1 day without the rain before left out.")


def seasons_of(values: dict[int, tuple[float, ...]]) -> str:
    """One timing a month from May on, at 5 mm."""
    return SPEED + bowls(
        [(f"{year}-{5 + i:02}-10", value, "5") for year, found in values.items() for i, value in enumerate(found)]
    )


def test_trend_of_green_speed_month_with_month(figures: Figures) -> None:
    """Each month about 0.3 s slower a year, May 2 s slower than June: scipy's line through the means of the seasons."""
    from scipy.stats import linregress

    years = range(2021, 2027)
    steps = (0.1, -0.1, 0.0, 0.1, -0.1, 0.05)
    values = {y: (12 - 0.3 * i + steps[i], 14 - 0.3 * i + steps[i], 13 - 0.3 * i) for i, y in enumerate(years)}
    one = of(figures(green_speed=seasons_of(values)), "speed_trend_s_year")
    theirs = linregress(years, [sum(values[y]) / 3 for y in years])
    assert one.value == pytest.approx(theirs.slope)
    assert one.note.startswith("Slower: 18 means of 6 seasons, p ")
    assert one.verdict is not None
    assert one.verdict.p is not None
    assert one.verdict.p > theirs.pvalue  # neighbouring seasons are taken to be alike
    assert one.low is not None
    assert one.high is not None
    assert one.low < one.value < one.high < 0


def test_a_season_that_was_slow_as_a_whole_is_one_season_and_no_trend(figures: Figures) -> None:
    """Six months of four seasons, the last two slow in every month: 24 means, and still two seasons against two."""
    values = {
        year: (12.0 + low, 13.1 + low, 13.6 + low) for year, low in ((2023, 0), (2024, 0.2), (2025, -1), (2026, -0.8))
    }
    one = of(figures(green_speed=seasons_of(values)), "speed_trend_s_year")
    assert one.note.startswith("No clear change: 12 means of 4 seasons, p ")
    assert one.low is not None
    assert one.high is not None
    assert one.low < 0 < one.high


@pytest.mark.parametrize("seasons", [2, 3])
@beyond(2)
def test_no_trend_of_green_speed_from_too_little(figures: Figures, seasons: int) -> None:
    """Three seasons leave one degree of freedom: however steep, nothing is said."""
    values = {2027 - i: (12.0 + i, 13.0 + i) for i in range(1, seasons + 1)}
    one = of(figures(green_speed=seasons_of(values)), "speed_trend_s_year")
    assert (one.value, one.standing) == (None, "too few")
    assert one.note.startswith(f"Too few: {seasons} seasons alike, 4 needed.")


def test_one_season_has_no_trend(figures: Figures) -> None:
    assert "speed_trend_s_year" not in names(figures(green_speed=seasons_of({2026: (12, 12, 12)})))
