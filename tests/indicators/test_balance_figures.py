"""Organic-matter balance of a green: by hand from the closed form, and refused where records cannot carry it."""

from __future__ import annotations

from datetime import date
from math import exp, log

import pytest
from scipy.optimize import brentq

from tests.indicators.figures import Figures, names, of

SOIL = "date,green,analyte,depth_from_mm,depth_to_mm,lab,sample,value,unit,burn_c,preparation,verdure,cores\n"
LOG = "date,green,operation,material,quantity,cut_height_mm\n"
MOWN = "2024-10-05,ALD-1,mowing,,,5\n2025-10-05,ALD-1,mowing,,,5\n"
BAND = "0–20 mm"
YEAR = 365.2425


def om(day: str, value: str, cores: str = "10", burn: str = "440", depth: str = "20") -> str:
    return f"{day},ALD-1,organic matter,0,{depth},Lab A,,{value},%,{burn},whole,on,{cores}\n"


def density(percent: float) -> float:
    """Asian Turfgrass Center, "OM246 and soil bulk density", t/m³."""
    return 100 / (percent / 0.22 + (100 - percent) / 1.56)


def test_undressed_green_by_hand(figures: Figures) -> None:
    """6 to 7 % in a year, undressed: A = M·ln((1 − f₀)/(1 − f₁)) over the time between; M from the mean of both."""
    done = figures(soil_test=SOIL + om("2025-02-10", "6") + om("2026-02-10", "7"), job=LOG + MOWN)
    mass = 20 * density(6.5)
    years = 365 / YEAR
    gathered = mass * log(0.94 / 0.93) / years
    one = of(done, "organic_matter_gain_kg_m2_year", BAND)
    assert one.value == pytest.approx(gathered)
    assert one.low is not None
    assert one.high is not None
    assert one.low < gathered < one.high
    # each sample: 14 % of the mean over √10 cores; the layer's mass adds 10 % of A by its own error
    sampling = 0.14 * 0.065 / 10**0.5
    se = mass * sampling * ((1 / 0.94) ** 2 + (1 / 0.93) ** 2) ** 0.5 / years
    assert (one.high - one.low) / 2 == pytest.approx(1.959964 * (se**2 + (0.1 * gathered) ** 2) ** 0.5, rel=1e-4)
    assert "well mixed" in one.method
    assert "0 dressings" in one.method

    ahead = (date(2027, 9, 30) - date(2026, 2, 10)).days / YEAR
    bare = of(done, "organic_matter_next_undressed_pct", BAND)
    assert bare.value == pytest.approx(100 * (1 - 0.93 * exp(-gathered * ahead / mass)))
    assert bare.note == "For 30 September 2027, from 7.0 % fitted for 10 February 2026."
    present = of(done, "organic_matter_next_pct", BAND)
    assert present.value == pytest.approx(bare.value)
    hold = of(done, "dressing_hold_kg_m2_year", BAND)
    assert hold.value == pytest.approx(gathered * 0.93 / 0.07)
    assert hold.value is not None
    assert of(done, "dressing_hold_mm_year", BAND).value == pytest.approx(hold.value / 1.5)
    assert of(done, "dressing_hold_t_year", BAND).value == pytest.approx(hold.value * 1.6)
    reach = of(done, "dressing_reach_kg_m2_year", BAND)
    assert reach.value is not None
    assert reach.value > hold.value
    assert reach.note == "Brings it down to 6 % by 30 September 2029."
    # held for the time left, that dressing does bring it there: f* and e-fold of the closed form
    total = gathered + reach.value
    left = (date(2029, 9, 30) - date(2026, 2, 10)).days / YEAR
    settled = gathered / total
    assert settled + (0.07 - settled) * exp(-total * left / mass) == pytest.approx(0.06)


def test_dressing_between_the_samples_counts_and_makes_the_programme(figures: Figures) -> None:
    """Steady organic matter under 4.8 kg/m² a season: what gathers is what the one dose thinned, in its place.

    Growth for 22 days, the dose, growth for the rest, by scipy's root: 1 − f shrinks by e^(−A·t/M), f by e^(−S/M).
    """
    dressed = (
        "2024-11-01,ALD-1,top dressing,70/30 sand and soil,7.68 t,\n"
        "2025-11-01,ALD-1,top dressing,70/30 sand and soil,7.68 t,\n"
    )
    done = figures(soil_test=SOIL + om("2024-10-10", "6") + om("2025-10-10", "6"), job=LOG + MOWN + dressed)
    one = of(done, "organic_matter_gain_kg_m2_year", BAND)
    mass = 20 * density(6)

    def end(gathered: float) -> float:
        before = 1 - 0.94 * exp(-gathered * 22 / YEAR / mass)
        return 1 - (1 - before * exp(-4.8 / mass)) * exp(-gathered * 343 / YEAR / mass)

    expected = brentq(lambda gathered: end(gathered) - 0.06, 0, 2)
    assert one.value == pytest.approx(expected, rel=1e-6)
    assert expected == pytest.approx(4.8 * 0.06 / 0.94, rel=0.1)  # the same spread evenly over the year
    assert "1 dressing;" in one.method
    assert "not stated counts as having none" in one.method
    hold = of(done, "dressing_hold_kg_m2_year", BAND)
    assert hold.value == pytest.approx(expected * 0.94 / 0.06, rel=1e-6)
    # season 2026 has only begun when the records end, so the present programme is that of 2025
    assert "with 4.8 kg/m² a year, the mean of 1 season." in of(done, "organic_matter_next_pct", BAND).note
    assert len([place for place in one.evidence if place.kind == "job"]) == 1


@pytest.mark.parametrize(
    ("soil", "job", "standing", "why"),
    [
        (om("2026-02-10", "6"), MOWN, "too few", "Too few: 1 comparable sample; a balance needs 2."),
        (om("2025-02-10", "6") + om("2026-02-10", "7"), "", "too few", "Too few: no works are on record"),
        (
            om("2025-02-10", "6", burn="360") + om("2026-02-10", "7"),
            MOWN, "not comparable", "Not comparable: 1 comparable sample",
        ),
        (
            om("2023-02-10", "6") + om("2026-02-10", "7"),
            "2022-11-01,ALD-1,mowing,,,5\n" + MOWN, "too few", "no works are on record; that is not the same as none",
        ),
        (
            om("2025-02-10", "6") + om("2026-02-10", "7"),
            MOWN + "2025-11-01,ALD-1,top dressing,70/30 sand and soil,,\n", "too few", "the quantity of 1 of 1",
        ),
        (om("2025-02-10", "6", cores="") + om("2026-02-10", "7", cores=""), MOWN, "too few", "needs 4"),
        (om("2025-02-10", "<6") + om("2026-02-10", "7"), MOWN, "too few", "below the laboratory's limit"),
    ],
)  # fmt: skip
def test_refused_with_the_reason(figures: Figures, soil: str, job: str, standing: str, why: str) -> None:
    """A balance of one sample, of two ovens, or over a year nobody logged would be an invention."""
    files = {"soil_test": SOIL + soil, **({"job": LOG + job} if job else {})}
    one = of(figures(**files), "organic_matter_gain_kg_m2_year", BAND)
    assert (one.value, one.low, one.standing) == (None, None, standing)
    assert why in one.note


def test_samples_from_before_the_log_are_left_out(figures: Figures) -> None:
    """What was spread before the log began is not known; the samples since then still carry a balance."""
    soil = om("2020-02-10", "9") + om("2025-02-10", "6") + om("2026-02-10", "7")
    one = of(figures(soil_test=SOIL + soil, job=LOG + MOWN), "organic_matter_gain_kg_m2_year", BAND)
    assert one.n == 2
    assert "1 result from before the log begins (5 October 2024) left out." in one.note


def test_only_a_thin_layer_from_the_surface_has_a_balance(figures: Figures) -> None:
    """A sample of 100 mm does not mix with a season's dressing."""
    soil = om("2025-02-10", "3", depth="100") + om("2026-02-10", "3", depth="100")
    assert "organic_matter_gain_kg_m2_year" not in names(figures(soil_test=SOIL + soil, job=LOG + MOWN))


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
    assert one.note == "Compared at 5 mm height of cut."
    assert one.n == 8


def test_speed_at_another_height_of_cut_is_not_compared(figures: Figures) -> None:
    """Two seasons, 5 and 8 mm: the mower's difference is not the green's."""
    other = [(day, value, "8") for day, value, _ in AFTER]
    one = of(figures(green_speed=SPEED + bowls(BEFORE + other)), "speed_change_s")
    assert (one.value, one.standing) == (None, "too few")
    assert one.note == "Too few: 0 and 0 days under like conditions; 3 and 3 needed."


def test_height_of_cut_from_the_log_where_readings_give_none(figures: Figures) -> None:
    bare = [(day, value, "") for day, value, _ in BEFORE + AFTER]
    mown = "".join(f"{day},ALD-1,mowing,,,5.2\n" for day, _, _ in bare)
    one = of(figures(green_speed=SPEED + bowls(bare), job=LOG + mown), "speed_change_s")
    assert one.value == pytest.approx(0.5)


def test_readings_without_any_height_of_cut_are_left_out(figures: Figures) -> None:
    bare = [(day, value, "") for day, value, _ in BEFORE + AFTER]
    one = of(figures(green_speed=SPEED + bowls(bare)), "speed_change_s")
    assert one.value is None
    assert "8 days without a height of cut left out." in one.note
