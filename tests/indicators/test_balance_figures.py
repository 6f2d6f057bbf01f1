"""Organic-matter balance of a green: by hand from the closed form, and refused where records cannot carry it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from math import exp, log, pi
from pathlib import Path

import pytest
from pydantic import ValidationError
from scipy.optimize import brentq

from pipeline.indicators.base.green_season import GreenSeason, Indicator
from pipeline.indicators.base.reading import read_records
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.workspace.method_options import MethodOptions
from pipeline.workspace.settings import Settings, Workspace
from tests.indicators.figures import HOUSE, Figures, names, of
from tests.thorough import beyond

SOIL = "date,green,analyte,depth_from_mm,depth_to_mm,lab,sample,value,unit,burn_c,preparation,verdure,cores\n"
LOG = "date,green,operation,material,quantity,cut_height_mm\n"
MOWN = "2023-10-05,ALD-1,mowing,,,5\n2024-10-05,ALD-1,mowing,,,5\n2025-10-05,ALD-1,mowing,,,5\n"
BAND = "0–20 mm"
YEAR = 365.2425


def om(day: str, value: str, cores: str = "10", burn: str = "440", depth: str = "20") -> str:
    return f"{day},ALD-1,organic matter,0,{depth},Lab A,,{value},%,{burn},whole,on,{cores}\n"


def density(percent: float) -> float:
    """Asian Turfgrass Center, "OM246 and soil bulk density", t/m³."""
    return 100 / (percent / 0.22 + (100 - percent) / 1.56)


LAST, DAYS = date(2026, 2, 10), 731
"""Of the last sample, and since the first of three, a year apart."""
MIDDLE = 100 - 94 * (93 / 94) ** (366 / DAYS)
"""Organic matter in between, where 6 % rises undressed to 7 %."""
THREE = SOIL + om("2024-02-10", "6") + om("2025-02-10", f"{MIDDLE}") + om("2026-02-10", "7")
MASS = 20 * density((6 + MIDDLE + 7) / 3)


def before(end: Callable[[float, float], float], later: str, days: float) -> tuple[float, float, float]:
    """Organic matter a year before 6 % that makes three samples lie on one path, what gathers, and the layer's mass.

    Undressed from that sample to the second, which has 6 %; the third has 6 % again.

    Args:
        end: fraction at the third sample for what gathers and the layer's mass.
        later: what is done in between, for the message.
        days: from the first sample to the second.
    """
    first = 5.5
    for _ in range(200):
        mass = 20 * density((first + 12) / 3)
        gathered = float(brentq(lambda a, m=mass: end(a, m) - 0.06, 0, 3))
        first, last = 100 * (1 - 0.94 * exp(gathered * days / YEAR / mass)), first
    assert first == pytest.approx(last, abs=1e-12), later
    return first, gathered, mass


def test_undressed_green_by_hand(figures: Figures) -> None:
    """6 to 7 % in two years, undressed: A = M·ln((1 − f₀)/(1 − f₁)) over the time; M from the mean of the samples."""
    done = figures(target=HOUSE, soil_test=THREE, job=LOG + MOWN, kept_before=False)
    mass, years = MASS, DAYS / YEAR
    gathered = mass * log(0.94 / 0.93) / years
    one = of(done, "organic_matter_gain_kg_m2_year", BAND)
    assert one.value == pytest.approx(gathered)
    assert one.low is not None
    assert one.high is not None
    assert one.low < gathered < one.high
    # Each sample: 14 % of the mean over √10 cores and 4 % for the laboratory's year. M·ln(1/(1−f)) is straight in time:
    # its slope's error is that of a sample over √Σ(t − t̄)²; a drift of 1.5 % a year adds M·d/(1−f), the mass 10 % of A.
    mean = (0.06 + MIDDLE / 100 + 0.07) / 3
    sampling, drift = mean * (0.14**2 / 10 + 0.04**2) ** 0.5, 0.015 * mean
    errors = [mass * sampling / (years / 2**0.5), mass * drift, 0.1 * gathered * 0.935]
    se = (errors[0] ** 2 + errors[1] ** 2 + (0.1 * gathered * 0.935) ** 2) ** 0.5 / 0.935
    assert (one.high - one.low) / 2 == pytest.approx(1.959964 * se, rel=5e-3)
    assert "70 to 130 %, the middle of it likeliest, is taken to have come onto the green (not answered" in one.method
    assert "Samples within 6 weeks of the same time of the year are alike" in one.method
    assert "well mixed" in one.method
    assert "0 dressings" in one.method

    ahead = (date(2027, 9, 30) - LAST).days / YEAR
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
    assert reach.note == "Brings it down to 6 % by the end of season 2029 (30 September 2029)."
    assert of(done, "dressing_reach_t_year", BAND).note == reach.note
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

    def end(gathered: float, mass: float) -> float:
        dosed = 1 - 0.94 * exp(-gathered * 22 / YEAR / mass)
        return 1 - (1 - dosed * exp(-4.8 / mass)) * exp(-gathered * 343 / YEAR / mass)

    first, expected, _ = before(end, "one dose", 366)
    soil = SOIL + om("2023-10-10", f"{first}") + om("2024-10-10", "6") + om("2025-10-10", "6")
    done = figures(soil_test=soil, job=LOG + MOWN + dressed, kept_before=False)
    one = of(done, "organic_matter_gain_kg_m2_year", BAND)
    assert one.value == pytest.approx(expected, rel=1e-6)
    assert expected == pytest.approx(4.8 * 0.06 / 0.94, rel=0.15)  # the same spread evenly over the year
    assert "1 dressing;" in one.method
    assert "not stated counts as having none" in one.method
    hold = of(done, "dressing_hold_kg_m2_year", BAND)
    assert hold.value == pytest.approx(expected * 0.94 / 0.06, rel=1e-6)
    # season 2026 has only begun when the records end, so the present programme is that of 2024 (none) and 2025
    assert "with 2.4 kg/m² a year, the mean of 2 seasons." in of(done, "organic_matter_next_pct", BAND).note
    assert len([place for place in one.evidence if place.kind == "job"]) == 1


@pytest.mark.parametrize(
    ("soil", "job", "standing", "why"),
    [
        (om("2026-02-10", "6"), MOWN, "too few", "Too few: 1 comparable sample; a balance needs 3."),
        (om("2025-02-10", "6") + om("2026-02-10", "7"), MOWN, "too few", "2 comparable samples; a balance needs 3."),
        (
            om("2024-02-10", "6") + om("2025-02-10", "6") + om("2025-09-20", "7") + om("2026-09-20", "7"),
            MOWN, "not comparable", "Not comparable: 2 comparable samples; a balance needs 3.",
        ),
        (om("2025-02-10", "6") + om("2026-02-10", "7"), "", "too few", "Too few: no works are on record"),
        (
            om("2025-02-10", "6", burn="360") + om("2026-02-10", "7"),
            MOWN, "not comparable", "Not comparable: 1 comparable sample",
        ),
        (
            om("2022-02-10", "6") + om("2023-02-10", "6") + om("2026-02-10", "7"),
            "2021-11-01,ALD-1,mowing,,,5\n" + MOWN, "too few", "no works are on record; that is not the same as none",
        ),
        (
            om("2024-02-10", "6") + om("2025-02-10", "6") + om("2026-02-10", "7"),
            MOWN + "2025-11-01,ALD-1,top dressing,70/30 sand and soil,,\n", "too few", "the quantity of 1 of 1",
        ),
        (om("2025-02-10", "6", cores="") + om("2026-02-10", "7", cores=""), MOWN, "too few", "needs 4"),
        (om("2025-02-10", "<6") + om("2026-02-10", "7"), MOWN, "too few", "below the laboratory's limit"),
    ],
)  # fmt: skip
@beyond(4)
def test_refused_with_the_reason(figures: Figures, soil: str, job: str, standing: str, why: str) -> None:
    """A balance of one sample, of two ovens, or over a year nobody logged would be an invention."""
    files = {"soil_test": SOIL + soil, **({"job": LOG + job} if job else {})}
    one = of(figures(**files), "organic_matter_gain_kg_m2_year", BAND)
    assert (one.value, one.low, one.standing) == (None, None, standing)
    assert why in one.note


def test_samples_from_before_the_log_are_left_out(figures: Figures) -> None:
    """What was spread before the log began is not known; the samples since then still carry a balance."""
    one = of(
        figures(soil_test=THREE + om("2020-02-10", "9"), job=LOG + MOWN, kept_before=False),
        "organic_matter_gain_kg_m2_year",
        BAND,
    )
    assert one.n == 3
    assert "1 result from before the log begins (5 October 2023) left out." in one.note


def test_samples_of_another_time_of_the_year_are_left_out(figures: Figures) -> None:
    """Autumn samples hold more than spring samples: what lies between them is no year's growth."""
    soil = THREE + om("2024-09-20", "9") + om("2025-09-20", "9")
    one = of(figures(soil_test=soil, job=LOG + MOWN, kept_before=False), "organic_matter_gain_kg_m2_year", BAND)
    plain = of(figures(soil_test=THREE, job=LOG + MOWN, kept_before=False), "organic_matter_gain_kg_m2_year", BAND)
    assert (one.value, one.n) == (plain.value, 3)
    assert "2 results of another time of the year left out." in one.note


def with_options(county_store: Store, folder: Path, **options: object) -> GreenSeason:
    made = Workspace(folder, Settings(method_options=MethodOptions(**options)))
    return green_season(read_records(county_store), "ALD-1", made.season("2026"), made)


def test_what_the_settings_say_of_the_log(figures: Figures, county_store: Store, tmp_path: Path) -> None:
    """Not answered, the doubt is the same on both sides; all lands and is logged: less doubt; not all logged: none."""
    dressed = "2025-04-02,ALD-1,top dressing,70/30 sand and soil,8 t,\n"
    unsaid = of(
        figures(soil_test=THREE, job=LOG + MOWN + dressed, kept_before=False), "organic_matter_gain_kg_m2_year", BAND
    )
    answers = {"dressing_logged": "all", "dressing_lands": (1.0, 1.0)}
    said = of(with_options(county_store, tmp_path, **answers), "organic_matter_gain_kg_m2_year", BAND)
    assert said.value == pytest.approx(unsaid.value)
    assert unsaid.low is not None
    assert said.low is not None
    assert unsaid.low < said.low
    assert "100 % is taken to have come onto the green (settings)" in said.method
    part = {"dressing_logged": "all", "dressing_lands": (0.7, 0.9)}
    less = of(with_options(county_store, tmp_path, **part), "organic_matter_gain_kg_m2_year", BAND)
    assert less.value is not None
    assert said.value is not None
    assert less.value < said.value
    none = of(with_options(county_store, tmp_path, dressing_logged="not all"), "organic_matter_gain_kg_m2_year", BAND)
    assert none.value is None
    assert "not every top dressing is in the log (settings)" in none.note
    with pytest.raises(ValidationError, match="the least comes first"):
        MethodOptions(dressing_lands=(1.0, 0.7))


def test_only_a_thin_layer_from_the_surface_has_a_balance(figures: Figures) -> None:
    """A sample of 100 mm does not mix with a season's dressing."""
    soil = "".join(om(f"{year}-02-10", "3", depth="100") for year in (2024, 2025, 2026))
    assert "organic_matter_gain_kg_m2_year" not in names(
        figures(soil_test=SOIL + soil, job=LOG + MOWN, kept_before=False)
    )


TARGETS = "indicator,scope,scope_name,season,band,low,high,unit,source\n"


def test_a_planned_dressing_is_forecast_between_the_others(figures: Figures) -> None:
    """By hand from the closed form: 6 kg/m² a year carried forward from 7 %; none is between present and planned."""
    plan = "dressing_plan_kg_m2,green,ALD-1,,,6,,kg/m²,<committee>\n"
    done = figures(soil_test=THREE, job=LOG + MOWN, kept_before=False, target=TARGETS + plan)
    gathered = of(done, "organic_matter_gain_kg_m2_year", BAND).value
    one = of(done, "organic_matter_next_planned_pct", BAND)
    assert gathered is not None
    ahead, mass = (date(2027, 9, 30) - LAST).days / YEAR, MASS
    settled = gathered / (gathered + 6)
    expected = settled + (0.07 - settled) * exp(-(gathered + 6) * ahead / mass)
    assert one.value == pytest.approx(100 * expected)
    assert one.low is not None
    assert one.high is not None
    assert one.low < one.value < one.high
    assert one.note.endswith("with 6.0 kg/m² a year planned: <committee>.")
    assert one.value < (of(done, "organic_matter_next_undressed_pct", BAND).value or 0)


@pytest.mark.parametrize(
    ("rows", "kg"),
    [
        (["club,ALD,,,3,5,kg/m²,a", "region,Ostershire,,,9,,kg/m²,b"], 3.0),  # narrower scope, lower end
        (["club,ALD,,,3,,kg/m²,a", "club,ALD,2027,,4,,kg/m²,b"], 4.0),  # the season ahead
        (["club,ALD,2026,,,5,kg/m²,a", "club,ALD,2029,,4,,kg/m²,b"], 5.0),  # this season, not one far ahead
        (["club,ALD,,,3,,mm,a"], None),  # another unit is not guessed at
        (["green,ALD-2,,,3,,kg/m²,a"], None),
    ],
)
@beyond(2)
def test_which_plan_holds(figures: Figures, rows: list[str], kg: float | None) -> None:
    target = TARGETS + "".join(f"dressing_plan_kg_m2,{row}\n" for row in rows)
    done = figures(soil_test=THREE, job=LOG + MOWN, kept_before=False, target=target)
    if kg is None:
        assert "organic_matter_next_planned_pct" not in names(done)
    else:
        assert f"with {kg:.1f} kg/m² a year planned" in of(done, "organic_matter_next_planned_pct", BAND).note


def test_a_target_of_a_season_ahead_says_by_when(figures: Figures) -> None:
    """6.5 % by 2028: nearer in time than the three seasons of the settings."""
    later = "organic_matter_pct,club,ALD,2028,0–20 mm,,6.5,%,c\norganic_matter_pct,club,ALD,2031,0–20 mm,,5,%,c\n"
    done = figures(soil_test=THREE, job=LOG + MOWN, kept_before=False, target=TARGETS + later)
    reach = of(done, "dressing_reach_kg_m2_year", BAND)
    assert reach.note == "Brings it down to 6.5 % by the end of season 2028 (30 September 2028)."
    gathered = of(done, "organic_matter_gain_kg_m2_year", BAND).value
    assert gathered is not None
    assert reach.value is not None
    total, left = gathered + reach.value, (date(2028, 9, 30) - date(2026, 2, 10)).days / YEAR
    settled = gathered / total
    assert settled + (0.07 - settled) * exp(-total * left / MASS) == pytest.approx(0.065)


def test_seasons_to_the_target_are_a_setting(figures: Figures, county_store: Store, tmp_path: Path) -> None:
    figures(target=HOUSE, soil_test=THREE, job=LOG + MOWN, kept_before=False)
    made = Workspace(tmp_path, Settings(reach_in_seasons=1))
    done = green_season(read_records(county_store), "ALD-1", made.season("2026"), made)
    assert "season 2027" in of(done, "dressing_reach_kg_m2_year", BAND).note
    with pytest.raises(ValidationError):
        Settings(reach_in_seasons=0)


CORED = "date,green,operation,material,quantity,tine_mm,spacing_along_mm,spacing_across_mm,depth_mm\n"
BEGUN = "2023-10-05,ALD-1,mowing,,,,,,\n2024-10-05,ALD-1,mowing,,,,,,\n2025-10-05,ALD-1,mowing,,,,,,\n"
SAND = "2025-04-02,ALD-1,top dressing,70/30 sand and soil,12 t,,,,\n"
HOLES = "2025-04-01,ALD-1,hollow coring,,,12,50,50,70\n"


def cored(figures: Figures, jobs: str) -> GreenSeason:
    soil = om("2024-02-10", "5.6") + om("2025-02-10", "6") + om("2026-02-10", "6")
    return figures(soil_test=SOIL + soil, job=CORED + BEGUN + jobs, kept_before=False)


def gain(figures: Figures, jobs: str) -> Indicator:
    return of(cored(figures, jobs), "organic_matter_gain_kg_m2_year", BAND)


def test_sand_in_core_holes_counts_only_within_the_layer(figures: Figures) -> None:
    """By scipy's root: growth 51 days, coring and filling, growth to the end; 6 % before and after.

    12 mm at 50 × 50 mm, 70 mm deep: 3.167 l/m² (published example, Asian Turfgrass Center 2021-04-23), at 1.5 t/m³
    4.75 kg/m² of the 7.5 spread; 20 of 70 mm of it in the layer, where 4.52 % of the layer's mass had gone.
    """
    share = pi * 12**2 / 4 * 400 / 1e6
    put = share * 70 * 1.5
    within, spread = put * 20 / 70, 12_000 / 1600 - put
    assert put == pytest.approx(3.167 * 1.5, rel=1e-3)

    def end(gathered: float, mass: float) -> float:
        f = 1 - 0.94 * exp(-gathered * 51 / YEAR / mass)
        left = mass * (1 - share)
        f = f * left / (left + within)  # cores out, holes filled: mass of organic matter over mass
        f *= exp(-spread / mass)
        return 1 - (1 - f) * exp(-gathered * 314 / YEAR / mass)

    first, expected, _ = before(end, "cored and filled", 366)
    soil = SOIL + om("2024-02-10", f"{first}") + om("2025-02-10", "6") + om("2026-02-10", "6")
    done = figures(soil_test=soil, job=CORED + BEGUN + HOLES + SAND, kept_before=False)
    one = of(done, "organic_matter_gain_kg_m2_year", BAND)
    assert one.value == pytest.approx(expected, rel=1e-6)
    assert "1 hollow coring: cores leave with the layer's own mix" in one.method
    assert one.note.endswith("3.4 kg/m² of 7.5 kg/m² filled holes below it.")
    assert len([place for place in one.evidence if place.kind == "job"]) == 2
    assert (
        f"with {(within + spread) / 2:.1f} kg/m² a year reaching the layer"
        in of(done, "organic_matter_next_pct", BAND).note
    )
    assert one.value < 0.8 * 7.5 * 0.06 / 0.94  # the balance of all the sand, as if none had gone below


@pytest.mark.parametrize(
    ("jobs", "said"),
    [
        (HOLES, ""),  # cores out and nothing in: the fraction stays (published invariant), nothing to say
        ("2025-03-01,ALD-1,hollow coring,,,12,50,50,70\n" + SAND, ""),  # a month before: the holes are not open
        ("2025-04-01,ALD-1,hollow coring,,,12,,,70\n" + SAND, "1 hollow coring without tine, holes and depth"),
    ],
)
@beyond(2)
def test_corings_that_change_nothing(figures: Figures, jobs: str, said: str) -> None:
    plain = gain(figures, SAND if SAND in jobs else "")
    one = gain(figures, jobs)
    assert one.value == pytest.approx(plain.value)
    assert said in one.method
    assert ("coring" in one.method) == bool(said)


def test_a_coring_and_its_sand_logged_in_halves_are_one(figures: Figures) -> None:
    """The closed form above holds to 1e-9 whatever the lines: halves, or 784 and 816 of 1,600 m²."""
    head = CORED.replace("\n", ",treated_area_m2\n")
    begun = BEGUN.replace("\n", ",\n")

    def logged(green: str, *areas: int) -> Indicator:
        rows = "".join(f"2025-04-01,ALD-1,hollow coring,,,12,50,50,70,{area}\n" for area in areas)
        rows += "".join(f"2025-04-02,ALD-1,top dressing,70/30 sand and soil,{7.5 * a} kg,,,,,{a}\n" for a in areas)
        soil = SOIL + om("2024-02-10", "5.6") + om("2025-02-10", "6") + om("2026-02-10", "6")
        green_row = f"green,club,name,area_m2\n{green},ALD,Like it,1600\n"
        files = {"soil_test": soil, "job": head + begun + rows}
        done = figures(green, green=green_row, **{kind: text.replace("ALD-1", green) for kind, text in files.items()})
        return of(done, "organic_matter_gain_kg_m2_year", BAND)

    one = logged("WHO-1", 1600)
    for green, areas in (("HAL-1", (800, 800)), ("ODD-1", (784, 816))):
        other = logged(green, *areas)
        assert other.value == pytest.approx(one.value, rel=1e-9)
        assert (other.low, other.high) == (pytest.approx(one.low, rel=1e-9), pytest.approx(one.high, rel=1e-9))
        assert "1 hollow coring: cores leave with the layer's own mix" in other.method
    assert one.note.endswith("3.4 kg/m² of 7.5 kg/m² filled holes below it.")
