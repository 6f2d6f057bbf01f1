"""Field trials: results withdrawn by a second issue, results under stated limits, dates in two orders.

Sources: Rothamsted Research, Woburn long-term liming experiment (CC BY 4.0): soil, doi 10.23637/wcs10, and
exchangeable cations with limits of detection, doi 10.23637/rcs10-rltlcation-01; AgrodiversityData (MIT); agridat (MIT).
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Callable
from datetime import date
from pathlib import Path

import polars as pl
import pytest

from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.publish.documents import season_of_green, write_reports
from tests.conftest import TODAY
from tests.outside.conftest import OpenData
from tests.outside_checks import outside
from tests.thorough import thorough

Errors = Callable[[FileResult], dict[str, int]]

RESULTS = ("soil_pH", "olsen_p", "exch_ca", "exch_k", "exch_mg", "exch_na", "exch_mn")
PLOTS = range(1, 65)
ISSUES = ("liming-trial-soil-issue1.csv", "liming-trial-soil-issue2.csv")
ANALYTES = {
    "exch_al": "aluminium",
    "exch_ca": "calcium",
    "exch_cu": "copper",
    "exch_fe": "iron",
    "exch_k": "potassium",
    "exch_mg": "magnesium",
    "exch_mn": "manganese",
    "exch_na": "sodium",
    "exch_zn": "zinc",
}


@outside("open data", "Rothamsted Research (CC BY 4.0), doi 10.23637/wcs10")
@thorough
def test_a_second_issue_withdraws_exactly_33_values(open_data: OpenData, errors: Errors) -> None:
    """A laboratory takes values back by issuing the file again with ``*`` in their place; nothing else changes."""
    first, second = (open_data.rows(name) for name in ISSUES)
    undated = [row for row in first if row["sample_date"] == "*"]
    dated = [(old, new) for old, new in zip(first, second, strict=True) if old["sample_date"] != "*"]
    held = [(old, new, name) for old, new in dated for name in RESULTS if old[name] != "*"]
    taken_back = [one for one in held if one[1][one[2]] == "*"]
    new_note = [one for one in held if one[1][one[2]] != "*" and one[0]["note_id"] != one[1]["note_id"]]
    new_value = [one for one in held if one[1][one[2]] not in {"*", one[0][one[2]]}]
    assert (len(taken_back), len(new_value)) == (33, 0)
    open_data.register(str(plot) for plot in PLOTS)

    result = open_data.load(ISSUES[0])
    assert (result.kind, result.profile) == ("soil_test", "liming-trial-soil")
    counts = result.counts
    assert counts.rows == len(first) * len(RESULTS)
    assert counts.loaded == len(held)
    # The trial's own notes say of these: "exact date not given". A result without a day is no result here.
    assert counts.rejected == len(undated) * len(RESULTS)
    assert errors(result) == {"value.missing": len(undated)}
    assert counts.ignored == len(dated) * len(RESULTS) - len(held)

    again = open_data.load(ISSUES[1])
    assert again.counts.withdrawn == 33
    assert again.counts.superseded == len(new_note)  # the same value under a note that has changed
    assert again.counts.loaded == 0
    assert again.counts.unchanged == len(held) - 33 - len(new_note)
    kept = "SELECT count(*), count(DISTINCT load_id) FROM history.soil_test WHERE ended_as = 'withdrawn'"
    assert open_data.stored(kept) == [(33, 1)]
    gone = "SELECT count(*) FROM history.soil_test WHERE ended_as = 'withdrawn' AND analyte <> 'phosphorus'"
    assert open_data.stored(gone) == [(0,)]
    open_data.changes_nothing(ISSUES[1], again)


@outside("open data", "Rothamsted Research (CC BY 4.0), doi 10.23637/wcs10")
def test_dates_in_two_forms_and_a_layer_in_one_cell(open_data: OpenData) -> None:
    """``1972-10-15`` and ``1978-10-15 00:00:00`` are days alike; ``23-46`` (cm) is a layer with two ends."""
    open_data.register(str(plot) for plot in PLOTS)
    open_data.load(ISSUES[0])
    rows = open_data.rows(ISSUES[0])
    days = {row["sample_date"][:10] for row in rows if row["sample_date"] != "*" and row["soil_pH"] != "*"}
    stored = open_data.stored("SELECT DISTINCT date FROM soil_test WHERE analyte = 'ph'")
    assert {day.isoformat() for (day,) in stored} == days
    assert {len(row["sample_date"]) for row in rows} == {1, 10, 19}
    deep = Counter(row["soil_depth"] for row in rows if row["sample_date"] != "*" and row["soil_pH"] != "*")
    layers = open_data.stored(
        "SELECT depth_from_mm, depth_to_mm, count(*) FROM soil_test WHERE analyte = 'ph' GROUP BY ALL"
    )
    assert {f"{low / 10:g}-{high / 10:g}": count for low, high, count in layers} == deep


@outside("open data", "Rothamsted Research (CC BY 4.0), doi 10.23637/rcs10-rltlcation-01")
def test_results_under_the_stated_limits_are_kept_as_such(open_data: OpenData) -> None:
    """The laboratory wrote figures under its own limits, some below zero; with the limits given they say only "less
    than", from the file to the store to the report."""
    rows = open_data.rows("cations-soil.csv")
    limits = {row["cation"]: float(row["detection_limit"]) for row in open_data.rows("cations-detection-limits.csv")}
    assert set(limits) == set(ANALYTES)
    open_data.register(str(plot) for plot in PLOTS)
    result = open_data.load("cations-soil.csv")
    assert not result.failed, result.faults
    assert result.counts.loaded == result.counts.rows == len(rows) * len(limits)
    for cation, limit in limits.items():
        figures = [float(row[cation]) for row in rows]
        under = [figure for figure in figures if figure < limit]
        stored = open_data.stored(
            "SELECT value, below_limit, written FROM soil_test WHERE analyte = ?", ANALYTES[cation]
        )
        below = [(value, written) for value, flag, written in stored if flag]
        assert len(below) == len(under), cation
        assert {value for value, _ in below} <= {limit}
        assert sum(1 for _, written in below if written and '"value"' in written) == len(under)
        assert sorted(value for value, flag, _ in stored if not flag) == sorted(f for f in figures if f >= limit)
    share = open_data.stored("SELECT count(*) FROM soil_test WHERE below_limit AND analyte IN ('iron', 'aluminium')")
    assert share[0][0] > len(rows)  # most of the iron and aluminium
    open_data.changes_nothing("cations-soil.csv", result)


LIMITS_IN_ROWS = """name = "cations with limits"
kind = "soil_test"
match = { headers = ["cation", "detection_limit"] }
constants = { unit = "mg/kg" }
aliases.analyte = { %s }
[fields]
date = "day"
green = "plot"
analyte = "cation"
value = { from = "result", limit = "detection_limit" }
"""


@outside("open data", "Rothamsted Research (CC BY 4.0), doi 10.23637/rcs10-rltlcation-01")
def test_each_row_brings_the_limit_it_is_held_against(open_data: OpenData, tmp_path: Path) -> None:
    """The two files put together, a row a result, as a laboratory sends them with its limits in a column."""
    limits = {row["cation"]: row["detection_limit"] for row in open_data.rows("cations-detection-limits.csv")}
    samples = open_data.rows("cations-soil.csv")[:32]  # those of 1964, one a plot
    open_data.register(row["plot"] for row in samples)
    aliases = ", ".join(f'{cation} = "{analyte}"' for cation, analyte in ANALYTES.items())
    (open_data.workspace.profiles / "limits.toml").write_text(LIMITS_IN_ROWS % aliases, "utf-8")
    rows = [(row["plot"], cation, row[cation], limits[cation]) for row in samples for cation in ANALYTES]
    path = tmp_path / "cations.csv"
    with path.open("w", newline="", encoding="utf-8") as out:
        csv.writer(out).writerows([("day", "plot", "cation", "result", "detection_limit")])
        csv.writer(out).writerows([("1964-11-24", *row) for row in rows])
    (result,) = load_paths(open_data.workspace, [path], today=TODAY)
    assert (result.profile, result.counts.loaded) == ("cations with limits", len(rows))
    under = [row for row in rows if float(row[2]) < float(row[3])]
    stored = open_data.stored("SELECT green, analyte, value FROM soil_test WHERE below_limit")
    assert sorted(stored) == sorted((plot, ANALYTES[cation], float(limit)) for plot, cation, _, limit in under)
    zeros = [row for row in under if float(row[2]) == 0]
    assert sum(result.faults["code"] == "value.zero_under_limit") == len(zeros) > 0


@thorough
def test_a_result_under_its_limit_makes_no_figure_in_the_report(open_data: OpenData) -> None:
    """Plot 3 in 1964 had 0.105 mg/kg iron under a limit of 0.23: the report says so and prints no mean."""
    row = next(row for row in open_data.rows("cations-soil.csv") if (row["plot"], row["sample_year"]) == ("3", "1964"))
    assert float(row["exch_fe"]) < 0.23 < float(row["exch_k"])
    open_data.register(["3"])
    open_data.load("cations-soil.csv")
    season = open_data.workspace.season_of(date(1964, 11, 24))
    found = {one.name: one for one in season_of_green(open_data.workspace, "3", season.name).indicators}
    iron, potassium = found["iron_mg_kg"], found["potassium_mg_kg"]
    assert (iron.value, iron.low, iron.high) == (None, None, None)
    assert "1 of 1 below the laboratory's limit (<0.23 mg/kg): no mean is made." in iron.note
    assert potassium.value == pytest.approx(float(row["exch_k"]))
    (written,) = write_reports(open_data.workspace, greens=["3"], season=season.name, workers=1)
    assert written.fault == ""
    assert written.path.read_bytes().startswith(b"%PDF")


def test_a_limit_beside_a_field_that_cannot_be_below_it_is_refused(open_data: OpenData) -> None:
    """A limit of detection for a depth would be quietly without effect."""
    from pipeline.common.refusal import CannotDo

    profile = open_data.workspace.profiles / "cations-soil.toml"
    profile.write_text(profile.read_text("utf-8").replace('part = 1, unit = "cm"', "part = 1, limit = 3"), "utf-8")
    with pytest.raises(CannotDo, match="`limit` holds for a laboratory's result alone, not for depth_from_mm"):
        open_data.load("cations-soil.csv")


@outside("open data", "AgrodiversityData (MIT)")
def test_two_orders_of_dates_and_a_list_in_a_number(open_data: OpenData, errors: Errors) -> None:
    """Dates with slashes can only be month first, those with dashes can be read two ways: none is guessed."""
    rows = open_data.rows("trial-sites-mixed-dates.csv")
    open_data.register(row["site"] for row in rows)
    result = open_data.load("trial-sites-mixed-dates.csv")
    assert (result.counts.rows, result.counts.loaded, result.counts.rejected) == (len(rows), 0, len(rows))
    days = [[int(part) for part in re.split("[-/]", row["sowing_date"])] for row in rows]
    one_way = [i + 2 for i, (first, second, _) in enumerate(days) if first > 12 or second > 12 or first == second]
    two_ways = [i + 2 for i in range(len(rows)) if i + 2 not in one_way]
    lists = [i + 2 for i, row in enumerate(rows) if not re.fullmatch(r"[\d.]+", row["an_N"])]
    assert (len(lists), bool(one_way), bool(two_ways)) == (2, True, True)
    said = {code: part["line"].to_list() for (code,), part in result.faults.group_by("code")}
    assert sorted(said["date.order_undeclared"] + said["date.two_readings"]) == list(range(2, len(rows) + 2))
    assert said["date.two_readings"] == [line for line in two_ways if "-" in rows[line - 2]["sowing_date"]]
    assert said["number.not"] == lists
    assert set(errors(result)) == {"date.order_undeclared", "date.two_readings", "number.not"}
    value = result.faults.filter(pl.col("code") == "number.not")["value"][0]
    assert value == rows[lists[0] - 2]["an_N"]


def test_turf_colour_in_a_trial_is_no_record_here(open_data: OpenData, errors: Errors) -> None:
    """Scores of week, block, management and nitrogen name no green and no day: refused, with the headers it has."""
    with (open_data.folder / "turf-trial-nitrogen.txt").open(newline="") as source:
        header, *rows = csv.reader(source, delimiter="\t")
    result = open_data.load("turf-trial-nitrogen.txt")
    assert errors(result) == {"file.kind_unknown": 1}
    assert ", ".join(header) in result.faults["message"][0]
    assert (result.counts.rows, result.counts.rejected, result.counts.loaded) == (len(rows), len(rows), 0)
    assert len(rows) == 128
