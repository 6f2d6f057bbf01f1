"""Soil tests: latest result, its interval and method; a method broken is no trend, "less than" is no number."""

from __future__ import annotations

import pytest

from tests.indicators.figures import HOUSE, Figures, lines, names, of
from tests.thorough import beyond

SOIL = (
    "date,green,analyte,depth_from_mm,depth_to_mm,lab,sample,value,unit,burn_c,preparation,verdure,cores,extractant\n"
)


def om(day: str, value: str, lab: str = "Lab A", sample: str = "", burn: str = "440", cores: str = "") -> str:
    return f"{day},ALD-1,organic matter,0,20,{lab},{sample},{value},%,{burn},whole,on,{cores},\n"


def test_latest_organic_matter_with_interval_from_replicates(figures: Figures) -> None:
    """4, 5 and 6 %: mean 5, sd 1, t(0.975; 2) = 4.303 (printed t table): 5 ± 4.303/√3 = 2.516 to 7.484."""
    done = figures(target=HOUSE, soil_test=SOIL + "".join(om("2026-02-10", v, sample=v) for v in ("4", "5", "6")))
    one = of(done, "organic_matter_pct", "0–20 mm")
    assert (one.value, one.n, lines(one)) == (5.0, 3, [2, 3, 4])
    assert one.low == pytest.approx(2.516, abs=1e-3)
    assert one.high == pytest.approx(7.484, abs=1e-3)
    assert (one.standing, one.target_high, one.target_low) == ("within", 6, None)
    assert one.method == (
        "burned at 440 °C, whole, verdure left on, Lab A. 95 % interval from the spread of the 3 results."
    )
    assert one.note == "Sampled 10 February 2026."


def test_one_bulked_sample_gets_its_interval_from_the_number_of_cores(figures: Figures) -> None:
    """5 % of 10 cores at 14 % between cores: 1.96 × 0.7 / √10 = 0.434 (normal quantile)."""
    one = of(figures(soil_test=SOIL + om("2026-02-10", "5", cores="10")), "organic_matter_pct", "0–20 mm")
    assert one.low == pytest.approx(5 - 0.4339, abs=2e-3)
    assert one.high == pytest.approx(5 + 0.4339, abs=2e-3)
    assert "One bulked sample of 10 cores" in one.method


def test_one_result_without_cores_has_no_interval(figures: Figures) -> None:
    """Nothing is known of its doubt; a band drawn all the same would be invented."""
    one = of(figures(soil_test=SOIL + om("2026-02-10", "5")), "organic_matter_pct", "0–20 mm")
    assert (one.low, one.high) == (None, None)
    assert one.method.endswith("One result without a number of cores: no interval.")


def test_too_few_results_make_no_trend(figures: Figures) -> None:
    """Two samplings always lie on a line."""
    done = figures(soil_test=SOIL + om("2025-02-10", "5") + om("2026-02-10", "6"))
    one = of(done, "organic_matter_trend_pct_year", "0–20 mm")
    assert (one.value, one.standing) == (None, "too few")
    assert one.note.startswith("Too few: ")


@pytest.mark.parametrize(("fall", "word"), [(0.2, "no clear change"), (0.6, "falling")])
@beyond(2)
def test_a_trend_must_be_more_than_the_laboratory_may_drift(figures: Figures, fall: float, word: str) -> None:
    """1.5 % of 7 % a year, twice: a fall of 0.2 a year in eight years may be the laboratory's, one of 0.6 is not."""
    rows = "".join(om(f"{2019 + i}-02-10", f"{8.4 - fall * i:.2f}", cores="20") for i in range(8))
    one = of(figures(soil_test=SOIL + rows), "organic_matter_trend_pct_year", "0–20 mm")
    assert one.verdict is not None
    assert one.verdict.word == word
    assert "the laboratory's between years taken as 4 % of the result and its drift as 1.5 % a year" in one.method


def test_a_method_break_is_named_and_no_trend_is_made(figures: Figures) -> None:
    """Three years burned at 360 °C and three at 440 °C differ by the oven before they differ by the green."""
    old = "".join(om(f"{year}-02-10", "8", burn="360") for year in (2021, 2022, 2023))
    new = "".join(om(f"{year}-02-10", "5") for year in (2024, 2025, 2026))
    done = figures(soil_test=SOIL + old + new)
    one = of(done, "organic_matter_trend_pct_year", "0–20 mm")
    assert (one.value, one.low, one.high) == (None, None, None)
    assert one.standing in {"too few", "not comparable"}
    series = done.series[0]
    assert [sample.comparable for sample in series.samples] == [False] * 3 + [True] * 3
    assert any(note.severity == "warning" and "0–20 mm" in note.text for note in done.data_notes) == (
        one.standing == "not comparable"
    )


@pytest.mark.parametrize("order", [1, -1])
@beyond(1)
def test_two_laboratories_on_one_day_are_two_figures_whatever_the_order_of_lines(figures: Figures, order: int) -> None:
    """A sample split between two laboratories: the last line of a file is no reason to believe the one or the other."""
    split = [om("2026-02-10", "4", lab="Lab A"), om("2026-02-10", "8", lab="Lab B", burn="360")]
    done = figures(target=HOUSE, soil_test=SOIL + "".join(split[::order]))
    first = of(done, "organic_matter_pct", "0–20 mm, burned at 440 °C, Lab A")
    other = of(done, "organic_matter_pct", "0–20 mm, burned at 360 °C, Lab B")
    assert [(one.value, one.n, one.standing) for one in (first, other)] == [(4.0, 1, "within"), (8.0, 1, "above")]
    assert {*lines(first), *lines(other)} == {2, 3}
    assert first.note.startswith(
        "Sampled 10 February 2026. Of that day there is a result by “burned at 360 °C, Lab B” as well: not comparable, "
        "not averaged."
    )
    assert not [one for one in done.indicators if (one.name, one.band) == ("organic_matter_pct", "0–20 mm")]


@pytest.mark.parametrize("order", [1, -1])
@beyond(1)
def test_trend_and_chart_go_on_with_the_longer_record(figures: Figures, order: int) -> None:
    """Six years at one laboratory and one split sample: a line at the end of the file must not end the trend."""
    old = [om(f"{year}-02-10", f"{5 + 0.1 * (year % 3):.1f}") for year in range(2021, 2027)]
    done = figures(soil_test=SOIL + "".join([*old, om("2026-02-10", "8", lab="Lab B")][::order]))
    one = of(done, "organic_matter_trend_pct_year", "0–20 mm")
    assert one.standing == "no target"
    assert one.verdict is not None
    assert one.verdict.why.startswith("6 comparable samples of 6 years")
    assert [sample.comparable for sample in done.series[0].samples] == [True] * 6 + [False]
    (told,) = (note for note in done.data_notes if "more than one way" in note.text)
    assert told.text == (
        "Organic matter (0–20 mm): on 10 February 2026 it was measured in more than one way; figures stand for each, "
        "trend and chart go on with the longer record, burned at 440 °C, whole, verdure left on, Lab A."
    )


def chemical(analyte: str, value: float, lab: str, unit: str = "mg/kg", extractant: str = "mehlich 3") -> str:
    return f"2026-02-10,ALD-1,{analyte},0,100,{lab},,{value},{unit},,,,,{extractant}\n"


def test_two_laboratories_of_one_extract_are_not_averaged(figures: Figures) -> None:
    """19 and 31 mg/kg of phosphorus are below 21 and above it: 25, the mean of both, was measured by nobody."""
    rows = chemical("phosphorus", 19, "Lab A") + chemical("phosphorus", 31, "Lab B")
    rows += chemical("ph", 5.4, "Lab A", "pH", "") + chemical("ph", 6.2, "Lab B", "pH", "")
    done = figures(soil_test=SOIL + rows)
    low, high = (of(done, "phosphorus_mg_kg", f"Mehlich 3, {lab}") for lab in ("Lab A", "Lab B"))
    assert [(one.value, one.n, one.standing) for one in (low, high)] == [(19.0, 1, "below"), (31.0, 1, "within")]
    assert high.method == "Lab B; 0–100 mm; Mehlich 3."
    assert "a result by “Lab A” as well: not comparable" in high.note
    assert [of(done, "ph", lab).value for lab in ("Lab A", "Lab B")] == [5.4, 6.2]


def test_replicates_of_one_laboratory_are_still_one_figure(figures: Figures) -> None:
    rows = "".join(chemical("potassium", value, "Lab A").replace("Lab A,,", f"Lab A,{value},") for value in (40, 50))
    assert of(figures(soil_test=SOIL + rows), "potassium_mg_kg", "Mehlich 3").value == 45.0


def test_one_laboratory_in_mg_kg_hides_no_other_in_mg_l(figures: Figures) -> None:
    """The twin of a result in mg/l is left out only where that very laboratory gives mg/kg itself."""
    head = SOIL.replace("extractant\n", "extractant,density_kg_l\n")
    rows = chemical("potassium", 50, "Lab A", "mg/l").replace("\n", ",1.25\n")
    rows += chemical("potassium", 60, "Lab B").replace("\n", ",\n")
    done = figures(soil_test=head + rows)
    assert of(done, "potassium_mg_kg", "Mehlich 3, Lab A").value == pytest.approx(40.0)
    assert of(done, "potassium_mg_kg", "Mehlich 3, Lab B").value == 60.0


def test_below_the_limit_is_no_number(figures: Figures) -> None:
    """A mean over "<1" would be a figure nobody measured."""
    done = figures(soil_test=SOIL + om("2026-02-10", "<1", sample="a") + om("2026-02-10", "3", sample="b"))
    one = of(done, "organic_matter_pct", "0–20 mm")
    assert (one.value, one.low, one.standing, one.n) == (None, None, "no target", 2)
    assert one.note == "Sampled 10 February 2026. 1 of 2 below the laboratory's limit (<1 %): no mean is made."


def test_not_detected_without_limit(figures: Figures) -> None:
    """Neither the limit nor zero is known; the report says so."""
    row = "2026-02-10,ALD-1,copper,0,100,Lab A,,nd,mg/kg,,,,,mehlich 3\n"
    one = of(figures(soil_test=SOIL + row), "copper_mg_kg", "Mehlich 3")
    assert one.value is None
    assert "limit not stated" in one.note


def test_every_depth_stands_for_itself(figures: Figures) -> None:
    """0–20 and 20–40 mm are two figures with two targets; a layer not stated is a third."""
    rows = "2026-02-10,ALD-1,organic matter,20,40,Lab A,,5,%,440,whole,on,,\n2026-02-10,ALD-1,loi,,,Lab A,,7,%,,,,,\n"
    done = figures(target=HOUSE, soil_test=SOIL + om("2026-02-10", "5") + rows)
    found = [(one.band, one.value, one.standing) for one in done.indicators if one.name == "organic_matter_pct"]
    assert sorted(found) == [
        ("0–20 mm", 5.0, "within"),
        ("20–40 mm", 5.0, "above"),
        ("depth not stated", 7.0, "no target"),
    ]
    unstated = of(done, "organic_matter_pct", "depth not stated")
    assert unstated.method.startswith("burn temperature not stated, sieving not stated, verdure not stated, Lab A.")


def test_nutrients_by_extractant_and_unit(figures: Figures) -> None:
    """Olsen and Mehlich 3, mg/l and mg/kg are four things; only the one the target names is compared."""
    row = "2026-02-10,ALD-1,phosphorus,0,100,Lab A,{},{},{},,,,,{}\n"
    rows = [("a", 30, "mg/kg", "mehlich 3"), ("b", 12, "mg/l", "olsen"), ("c", 10, "mg/kg", "")]
    done = figures(soil_test=SOIL + "".join(row.format(*one) for one in rows))
    found = {(one.name, one.band): one for one in done.indicators if one.name.startswith("phosphorus")}
    assert set(found) == {
        ("phosphorus_mg_kg", "Mehlich 3"),
        ("phosphorus_mg_l", "Olsen bicarbonate"),
        ("phosphorus_mg_kg", "extractant not stated"),
    }
    mehlich = found["phosphorus_mg_kg", "Mehlich 3"]
    assert (mehlich.value, mehlich.standing, mehlich.target_low) == (30.0, "within", 21)
    assert found["phosphorus_mg_kg", "extractant not stated"].standing == "no target"
    assert mehlich.method == "Lab A; 0–100 mm; Mehlich 3."


def test_latest_ph_only_and_units_by_definition(figures: Figures) -> None:
    """The latest sampling is the figure; 5 g/kg of potassium would be 5,000 mg/kg, 48 g/kg organic matter 4.8 %."""
    text = (
        SOIL + "2025-02-10,ALD-1,ph,0,100,Lab A,,5.1,pH,,,,,\n2026-02-10,ALD-1,ph,0,100,Lab A,,6.7,pH,,,,,\n"
        "2026-02-10,ALD-1,potassium,0,100,Lab A,,5,g/kg,,,,,mehlich 3\n"
        "2026-02-10,ALD-1,organic matter,0,20,Lab A,,48,g/kg,440,whole,on,,\n"
        "2026-02-10,ALD-1,organic matter,20,40,Lab A,,4.1,%,440,whole,on,,\n"
    )
    done = figures(target=HOUSE, soil_test=text)
    ph = of(done, "ph")
    assert (ph.value, ph.unit, ph.standing, ph.n, lines(ph)) == (6.7, "", "above", 1, [3])
    assert of(done, "potassium_mg_kg", "Mehlich 3").value == pytest.approx(5000)
    assert of(done, "organic_matter_pct", "0–20 mm").value == pytest.approx(4.8)
    assert of(done, "organic_matter_pct", "20–40 mm").value == pytest.approx(4.1)


def test_results_after_the_season_are_not_in_it(figures: Figures) -> None:
    """A report for 2025 made in 2026 says what was known of 2025."""
    text = SOIL + om("2025-02-10", "5") + om("2026-02-10", "6")
    assert of(figures(soil_test=text, season="2025"), "organic_matter_pct", "0–20 mm").value == 5.0


def test_sampling_is_due_after_a_year_or_where_nothing_is_on_record(figures: Figures) -> None:
    """Last sampled on 10 February 2025 and looked at on 10 March 2026: again from 10 February 2026."""
    none = figures(job="date,green,operation\n2026-03-10,ALD-1,mowing\n")
    first = next(one for one in none.due if one.what.startswith("Sample organic matter"))
    assert first.why == "No result is on record."
    assert "No organic-matter result is on record for this green." in [note.text for note in none.data_notes]
    done = figures(soil_test=SOIL + om("2025-02-10", "5"))
    again = next(one for one in done.due if one.what.startswith("Sample organic matter"))
    assert (again.what, again.by) == ("Sample organic matter again", "since 10 February 2026")
    assert "organic_matter_pct" in names(done)
