"""Laboratories' sheets: 208 columns with repeated names, a row of units, one survey by two roads, many turf samples.

Sources: OATS Center, sample exports of laboratories and a survey of soils (Apache-2.0, names redacted); 2016 MLSN paper
data (Woods, Stowell, Gelernter), CC0.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import date

import polars as pl
import pytest

from pipeline.load.result import FileResult
from pipeline.profiles.profile import read_profile
from tests.outside.conftest import PROFILES, OpenData
from tests.outside_checks import outside
from tests.thorough import thorough

Errors = Callable[[FileResult], dict[str, int]]


def _result_columns(profile: str) -> list[str]:
    return [entry.column for entry in read_profile(PROFILES / f"{profile}.toml").long]


@outside("open data", "OATS Center laboratory exports (Apache-2.0)")
@pytest.mark.parametrize("name", ["lab-wide-a.csv", "lab-wide-b.csv"])
def test_a_wide_export_with_repeated_headers(open_data: OpenData, name: str) -> None:
    """Most of the columns are empty and a dozen names stand three times; only filled cells become results."""
    rows = open_data.rows(name)
    places = {row["Sample ID"].split("-")[1].lstrip("0") or "0" for row in rows}
    open_data.register({row["Sample ID"].split("-")[1] for row in rows} | places)
    columns = _result_columns("lab-wide")
    filled = sum(bool(row[column]) for row in rows for column in columns)
    assert len(rows) == 18
    result = open_data.load(name)
    assert not result.failed, result.faults
    assert (result.counts.rows, result.counts.loaded) == (len(rows) * len(columns), filled)
    repeated = result.faults.filter(pl.col("code") == "header.repeated")
    header = (open_data.folder / name).read_text().splitlines()[0].split(",")
    assert set(repeated["value"]) == {column for column, times in Counter(header).items() if times > 1}
    open_data.changes_nothing(name, result)


@outside("open data", "OATS Center laboratory exports (Apache-2.0)")
def test_dates_that_sniffers_read_backwards_and_depths_in_inches(open_data: OpenData) -> None:
    """3/10/2022 is the tenth of March; layers come in inches; nitrogen in ppm is kept in per cent."""
    rows = open_data.rows("lab-wide-b.csv")
    assert {row["Date Recd"] for row in rows} == {"3/10/2022"}
    open_data.register({row["Sample ID"].split("-")[1] for row in rows})
    open_data.load("lab-wide-b.csv")
    assert open_data.stored("SELECT DISTINCT date FROM soil_test") == [(date(2022, 3, 10),)]
    found = open_data.stored(
        "SELECT depth_from_mm, depth_to_mm, analyte, value, unit FROM soil_test "
        "WHERE reference = ? AND analyte IN ('potassium', 'total_nitrogen') ORDER BY analyte",
        rows[1]["Lab No"],
    )
    layer = tuple(pytest.approx(float(rows[1][end]) * 25.4) for end in ("B Depth", "E Depth"))
    assert found[0] == (*layer, "potassium", float(rows[1]["Potassium ppm K"]), "mg/kg")
    assert found[1] == (*layer, "total_nitrogen", pytest.approx(float(rows[1]["Total N ppm"]) / 10_000), "%")


def test_a_sheet_that_names_no_day_is_refused(open_data: OpenData, errors: Errors) -> None:
    """No date stands in it anywhere; loading it without one would make results nobody can place."""
    open_data.register(["PLOT"])
    result = open_data.load("lab-units-row.csv")
    assert errors(result) == {"header.missing": 1}
    missing = result.faults.filter(pl.col("severity") == "error")["message"][0]
    assert missing == "The soil test file has no column for “date”."
    assert (result.counts.loaded, result.counts.rejected) == (0, 10)


@outside("open data", "OATS Center laboratory exports (Apache-2.0)")
def test_a_row_of_units_and_rows_of_comment(open_data: OpenData) -> None:
    """With the day given, ten samples load; UNITS under the header and four COMMENT rows are set aside."""
    open_data.register(["PLOT"])
    profile = open_data.workspace.profiles / "lab-units-row.toml"
    given = profile.read_text("utf-8").replace('green = "PLOT"', 'green = "PLOT"\ndate = "2020-06-01"')
    profile.write_text(given, "utf-8")
    rows = open_data.rows("lab-units-row.csv")
    samples = [row for row in rows if row["Sample ID"].isdigit()]
    assert (len(rows), len(samples)) == (15, 10)
    columns = _result_columns("lab-units-row")
    result = open_data.load("lab-units-row.csv")
    assert not result.failed, result.faults
    assert result.counts.loaded == len(samples) * len(columns)
    assert result.counts.ignored == 5
    stored = open_data.stored("SELECT value, unit FROM soil_test WHERE analyte = 'bulk_density' AND sample = '4'")
    assert stored == [(1.28, "t/m3")]
    open_data.changes_nothing("lab-units-row.csv", result)


def test_a_unit_other_than_the_units_row_says_refuses_the_sheet(open_data: OpenData, errors: Errors) -> None:
    """``Percent`` over a column that the profile calls g/kg would store every figure tenfold too small."""
    open_data.register(["PLOT"])
    profile = open_data.workspace.profiles / "lab-units-row.toml"
    text = profile.read_text("utf-8").replace('green = "PLOT"', 'green = "PLOT"\ndate = "2020-06-01"')
    profile.write_text(text.replace('"organic_carbon", unit = "%"', '"organic_carbon", unit = "g/kg"'), "utf-8")
    result = open_data.load("lab-units-row.csv")
    assert errors(result) == {"unit.differs": 1}
    assert (result.counts.loaded, result.counts.rejected) == (0, 10)


@outside("open data", "OATS Center laboratory exports (Apache-2.0)")
@thorough
def test_one_survey_wide_and_long_makes_the_same_records(open_data: OpenData, errors: Errors) -> None:
    """The long file loaded after the wide one finds every result there already; what it adds is no soil test here."""
    wide, long = open_data.rows("soil-survey-wide.csv"), open_data.rows("soil-survey-long.csv")
    open_data.register(f"{row['producerId']}-{row['fieldId']}" for row in wide)
    columns = _result_columns("soil-survey-wide")
    in_wide = {(row["sampleId"], name): float(row[name]) for row in wide for name in columns if row[name]}
    in_long = {(row["sampleId"], row["measurement"]): float(row["value"]) for row in long}
    assert in_wide == {key: value for key, value in in_long.items() if key[1] in columns}
    # A bulk density of 58 g/cm³ is none (58.1 lb/ft³ would be 0.93 g/cm³, but the file says g.cm3), nor is less than no
    # ammonium: each is rejected, and nothing else.
    dense = [key for key, value in in_wide.items() if key[1] == "bd_g.cm3" and value > 8]
    negative = [key for key, value in in_wide.items() if value < 0]
    impossible = dense + negative
    assert (len(dense), len(negative), {name for _, name in negative}) == (8, 10, {"ammN_mg.kg"})

    first = open_data.load("soil-survey-wide.csv")
    assert errors(first) == {"value.analyte": len(impossible)}
    assert (first.counts.loaded, first.counts.rejected) == (len(in_wide) - len(impossible), len(impossible))
    assert first.counts.rows == len(wide) * len(columns)
    records = "SELECT * EXCLUDE (load_id, file, line, written) FROM soil_test ORDER BY ALL"
    stored = open_data.stored(records)

    second = open_data.load("soil-survey-long.csv")
    assert errors(second) == {"value.analyte": len(impossible)}
    assert second.counts.changed == 0
    assert second.counts.unchanged == first.counts.loaded
    assert second.counts.ignored == sum(row["measurement"] not in columns for row in long)
    assert open_data.stored(records) == stored
    value = open_data.stored(
        "SELECT value, extractant FROM soil_test WHERE sample = 'D030301' AND analyte = 'phosphorus'"
    )
    assert value == [(in_wide["D030301", "olsenP_mg.kg"], "olsen")]


@outside("open data", "MLSN soil data (CC0)")
def test_3_101_samples_of_another_layout(open_data: OpenData) -> None:
    """Every result of every row is loaded, missing, or a true copy of an earlier row's."""
    rows = open_data.rows("turf-soil-samples-b.csv")
    columns = _result_columns("turf-soil-samples-b")
    assert len(rows) == 3101
    open_data.register(["B-turf"])
    result = open_data.load("turf-soil-samples-b.csv")
    assert not result.failed, result.faults
    assert result.counts.rows == len(rows) * len(columns)
    distinct = {(row["DATE"], row["ID"], name): row[name] for row in rows for name in columns if row[name] != "NA"}
    assert result.counts.loaded == len(distinct)
    copied = result.faults.filter(pl.col("code") == "key.repeated")
    assert copied.height == len(rows) - len({(row["DATE"], row["ID"]) for row in rows}) == 27
    calcium = open_data.stored("SELECT sum(value), count(*) FROM soil_test WHERE analyte = 'calcium'")[0]
    figures = [float(value) for (_, _, name), value in distinct.items() if name == "CaM3"]
    assert calcium == (pytest.approx(sum(figures)), len(figures))
    open_data.changes_nothing("turf-soil-samples-b.csv", result)
