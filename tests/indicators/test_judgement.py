"""What is said of a figure against its target: table, border, doubt on both sides; and the mark of doubt."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import get_args

import pytest

from pipeline.indicators.base.green_season import Indicator, Standing
from pipeline.indicators.base.judgement import (
    JUDGEMENTS,
    TABLE,
    Doubt,
    digits,
    doubtful,
    judgement,
    on_the_limit,
    said,
    stand,
)
from pipeline.indicators.families import DESCRIBED
from pipeline.indicators.soil.readings import reading_of
from pipeline.indicators.soil.soil import RESULTS
from reports.page import against_target
from reports.page import figures as printed
from reports.page.units import in_units
from tests.indicators.figures import HOUSE, Figures, of
from tests.outside_checks import outside
from tests.reports import sample
from tests.thorough import beyond, thorough

AT_MOST = Indicator("organic_matter_pct", "Organic matter", "0–20 mm", 5.5, "%", 5, target_high=6.0, standing="within")
COVER = Indicator("cover_pct", "Cover", "", 94.7, "%", 5, target_low=95.0, standing="below", decimals=0)


def test_the_table_is_whole_and_says_five_words() -> None:
    assert set(TABLE) == {(standing, doubt) for standing in get_args(Standing) for doubt in get_args(Doubt)}
    assert set(TABLE.values()) == set(JUDGEMENTS)


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({}, "on target"),
        ({"low": 5.0, "high": 5.9}, "on target"),
        ({"low": 5.0, "high": 6.1}, "close"),
        ({"value": 7.4, "standing": "above"}, "off"),
        ({"value": 7.4, "standing": "above", "low": 6.6, "high": 8.2}, "off"),
        ({"value": 7.0, "standing": "above", "low": 5.6, "high": 8.4}, "close"),
        ({"value": 8.0, "standing": "above", "low": 5.9, "high": 10.1}, "too few to say"),
        ({"value": 3.6, "low": 0.9, "high": 6.3}, "too few to say"),
        ({"value": 3.9, "target_high": 4.0, "low": 0.0, "high": 10.3, "n": 2}, "too few to say"),
        ({"value": 5.8, "low": 5.4, "high": 6.2, "n": 1}, "close"),
        ({"value": 5.2, "unsure": 0.9}, "close"),
        ({"value": 5.2, "unsure": 0.7}, "on target"),
        ({"value": 6.8, "standing": "above", "unsure": 0.9}, "close"),
        ({"value": 6.8, "standing": "above", "unsure": 0.7}, "off"),
        ({"value": 5.2, "unsure": 1.6}, "too few to say"),
        ({"standing": "too few", "value": None}, "too few to say"),
        ({"standing": "not comparable", "value": None}, "too few to say"),
        ({"standing": "no target", "target_high": None}, "no target"),
    ],
    ids=str,
)
def test_doubt_is_told_on_both_sides_alike(changes: dict[str, object], word: str) -> None:
    """3.9 % (0.0–10.3, n 2) stood as "within" the limit of 4 %; a figure as doubtful above it stood as doubtful."""
    assert judgement(replace(AT_MOST, **changes)) == word  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("one", "shown"),
    [
        (COVER, "94.7 %"),  # was "95 %, below the target (at least 95 %)"
        (replace(COVER, value=94.98), "94.98 %"),
        (replace(AT_MOST, value=6.04, standing="above"), "6.04 %"),  # was "6.0 above at most 6"
        (replace(AT_MOST, value=6.4, standing="above"), "6.4 %"),
        (replace(AT_MOST, value=5.96, target_high=5.98), "5.96 %"),  # within, and printed beyond its limit: 6.0
    ],
    ids=str,
)
def test_the_digit_that_shows_the_judgement_is_printed(one: Indicator, shown: str) -> None:
    assert printed.value_text(one).replace("\u202f", " ") == shown
    assert not on_the_limit(one)


def test_an_interval_is_printed_with_the_digit_that_shows_its_side() -> None:
    """4.003 to 5.04 stood as 4.0–5.0 beside "off" against at most 4."""
    one = replace(AT_MOST, value=4.5, low=4.003, high=5.04, target_high=4.0, standing="above")
    assert judgement(one) == "off"
    assert printed.interval_text(one) == "4.003–5.040"
    assert printed.interval_text(replace(one, low=4.06)) == "4.1–5.0"


@pytest.mark.parametrize("value", [1.99999, 2.0, 6.0, 6.00005, 6.0004])
def test_a_page_in_us_units_says_the_word_of_si(value: float) -> None:
    """6.000 kg/m² is 1,228.9 lb/1000 ft², printed as 1,229 against 410–1,229: its word was another than in JSON."""
    one = Indicator("dressing_kg_m2", "Top dressing applied", "", value, "kg/m²", 2, target_low=2.0, target_high=6.0,
                    standing=stand(value, 2.0, 6.0), decimals=2)  # fmt: skip
    season = replace(sample.empty(), indicators=(one,))
    (shown,) = in_units(season, "US").indicators
    assert judgement(shown) == judgement(one)
    if judgement(one) == "off":
        limit = printed.target_text(shown).rpartition("–")[2]
        assert printed.value_text(shown).split("\u202f")[0] != limit.split("\u202f")[0]


def test_what_no_printed_digit_shows_is_close_and_not_off() -> None:
    one = replace(COVER, value=94.9999)
    assert on_the_limit(one)
    assert judgement(one) == "close"
    assert digits(one) == COVER.decimals


def test_a_sum_that_meets_its_limit_but_for_rounding_is_within_it() -> None:
    """Three doses of 0.1 come to 0.30000000000000004 in binary numbers, and stood above a limit of 0.3."""
    assert stand(0.1 + 0.1 + 0.1, None, 0.3) == "within"
    assert stand(0.7 + 0.1, 0.8, None) == "within"
    assert stand(math.nextafter(0.3, 1) + 1e-6, None, 0.3) == "above"


def test_a_limit_is_met_by_the_value_itself() -> None:
    assert [stand(v, 4.0, 6.0) for v in (3.99, 4.0, 6.0, 6.01)] == ["below", "within", "within", "above"]
    assert stand(4.0, None, None) == "no target"
    assert not doubtful(replace(AT_MOST, low=5.0, high=6.0)), "an interval that ends at its limit does not cross it"


SLIP = (
    "date,green,operation,material,packs,hours\n"
    "2026-04-02,ALD-1,fertiliser,spring granular 11-5-5 + 8 Fe,20,1.5\n"
    "2026-05-04,ALD-1,fertiliser,spring granular 11-5-5 + 8 Fe,2,1.5\n"
)


def test_a_figure_that_rests_on_an_entry_under_a_warning_carries_the_mark(figures: Figures) -> None:
    """20 packs for 2: nitrogen headed the page as a fact, and its warning stood last on page 3."""
    done = figures(job=SLIP)
    asked = of(done, "nitrogen_kg_ha")
    assert [(place.file, place.line) for place in asked.questioned] == [("job.csv", 2)]
    assert of(done, "hours_h").questioned == ()  # the amount is in question, not the hours
    (question,) = done.questions
    assert (question.place.line, question.labels[0]) == (2, asked.label)
    assert printed.figure(1, asked).value.endswith("?")


@thorough
def test_the_mark_goes_once_the_entry_is_mended(figures: Figures) -> None:
    assert figures(job=SLIP).questions
    done = figures(job=SLIP.replace(",20,", ",2,"))
    assert done.questions == ()
    assert not any(one.questioned for one in done.indicators)


def test_what_stands_beside_a_change_is_its_verdict(figures: Figures) -> None:
    rows = "".join(
        f"{year}-03-10,ALD-1,lab A,440,whole,on,0,20,organic_matter,{value},%\n"
        for year, value in zip(range(2019, 2027), (8, 7.5, 7.1, 6.6, 6.2, 5.7, 5.4, 5.0), strict=True)
    )
    head = "date,green,lab,burn_c,preparation,verdure,depth_from_mm,depth_to_mm,analyte,value,unit\n"
    trend = of(figures(soil_test=head + rows), "organic_matter_trend_pct_year", "0–20 mm")
    assert said(trend) == "falling"
    assert printed.figure(1, trend).standing == "falling"


SOIL = "date,green,analyte,depth_from_mm,depth_to_mm,lab,sample,value,unit,extractant,cores\n"


def result(analyte: str, value: float, unit: str = "mg/kg", sample: str = "", cores: str = "") -> str:
    extractant = "mehlich 3" if unit == "mg/kg" else ""
    return f"2026-02-10,ALD-1,{analyte},0,100,Lab A,{sample},{value},{unit},{extractant},{cores}\n"


@pytest.mark.parametrize(
    ("value", "word"), [(15.0, "off"), (19.0, "close"), (21.0, "close"), (23.0, "close"), (26.0, "on target")]
)
@beyond(2)
def test_a_single_reading_near_a_limit_is_close_on_both_sides(figures: Figures, value: float, word: str) -> None:
    """19 mg/kg of phosphorus against 21 was "off" flat, as 23 was "on target"; laboratories differ by 15 %."""
    one = of(figures(soil_test=SOIL + result("phosphorus", value)), "phosphorus_mg_kg", "Mehlich 3")
    assert (judgement(one), one.low, one.high, one.n) == (word, None, None, 1)
    assert one.note.endswith("Nearer to a limit than laboratories differ (15 %).") == (word == "close")


@pytest.mark.parametrize(("value", "word"), [(6.6, "close"), (6.8, "off"), (6.4, "close"), (6.0, "on target")])
@beyond(2)
def test_ph_is_known_to_two_tenths(figures: Figures, value: float, word: str) -> None:
    """5.5 to 6.5 by the club's own target; 0.2 between laboratories, whatever the pH."""
    one = of(figures(target=HOUSE, soil_test=SOIL + result("ph", value, "pH")), "ph")
    assert judgement(one) == word
    assert ("Nearer to a limit than laboratories differ (0.2)." in one.note) == (word == "close")


@thorough
def test_an_interval_of_its_own_is_kept_and_nothing_is_added(figures: Figures) -> None:
    """Replicates and cores say more of this green than what laboratories differ by; the two are never added."""
    three = "".join(result("phosphorus", value, sample=str(value)) for value in (17.9, 18.0, 18.1))
    one = of(figures(soil_test=SOIL + three), "phosphorus_mg_kg", "Mehlich 3")
    assert one.low is not None
    assert (one.unsure, judgement(one)) == (None, "off")
    cored = of(
        figures(soil_test=SOIL + result("organic matter", 5.0, "%", cores="20")), "organic_matter_pct", "0–100 mm"
    )
    assert (cored.unsure, cored.low) == (None, pytest.approx(5 - 0.3068, abs=1e-3))


def test_results_rounded_alike_are_not_known_without_doubt(figures: Figures) -> None:
    """20 and 20 have no spread: an interval of no width would be certainty made of rounding."""
    two = result("phosphorus", 20.0, sample="a") + result("phosphorus", 20.0, sample="b")
    one = of(figures(soil_test=SOIL + two), "phosphorus_mg_kg", "Mehlich 3")
    assert (one.n, judgement(one)) == (2, "close")


def test_a_sum_of_the_log_is_no_reading() -> None:
    """What was put on was not measured by a laboratory: no doubt is invented for it."""
    with_doubt = {name for name, one in DESCRIBED.items() if one.reading}
    assert with_doubt == {"organic_matter_pct", *RESULTS}


def test_the_doubt_of_a_reading_is_shown_in_other_units_alike(figures: Figures) -> None:
    """18 mg/kg are as near to their limit in ppm, and the sentence on page 1 says why."""
    done = figures(soil_test=SOIL + result("phosphorus", 19.0))
    for units in ("metric", "us"):
        one = of(in_units(done, units), "phosphorus_mg_kg", "Mehlich 3")
        assert judgement(one) == "close"
        assert against_target.apart_sentence(one).endswith(", nearer than laboratories differ.")


@pytest.mark.parametrize(
    ("analyte", "reading"),
    [
        pytest.param(name, share, marks=outside("figure", source))
        for name, share, source in (
            ("phosphorus", 0.15, "Miller & Czyryca 2015, abstract 93418 of ASA, CSSA and SSSA: 15–20 % between labs"),
            ("potassium", 0.15, "Miller & Czyryca 2015, abstract 93418 of ASA, CSSA and SSSA: 15–20 % between labs"),
            ("organic_matter", 0.15, "Miller & Czyryca 2015, abstract 93418: 15–20 % for soils of 1.0–5.0 % SOM"),
            ("magnesium", 0.088, "Rayment & Lyons 2019, World J. Agric. Soil Sci.: 19 soil tests, 8.8 % in 2013–15"),
        )
    ],
)
def test_what_a_reading_is_known_to_is_what_was_published(analyte: str, reading: float) -> None:
    assert reading_of(analyte).of(100.0) == pytest.approx(100 * reading)


@outside("figure", "Variability in soil characterization data, laboratories of the northeastern US, Soil Science")
def test_what_ph_and_texture_are_known_to_is_what_was_published() -> None:
    assert [reading_of(name).of(50.0) for name in ("ph", "sand", "silt", "clay")] == [0.2, 1.9, 2.9, 2.5]
