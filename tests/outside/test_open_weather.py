"""Weather as stations publish it: title lines, two heading rows, marks and a remark glued to figures, means of years.

Sources: Met Office historic station data (Open Government Licence v3.0); Rothamsted Research, Saxmundham monthly
summaries and 30-year means (CC BY 4.0).
"""

from __future__ import annotations

import re
from datetime import date, timedelta
from pathlib import Path

import polars as pl
import pytest

from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.validate.rules.weather import warmest_mean_c
from tests.conftest import TODAY
from tests.outside.conftest import OpenData
from tests.outside_checks import outside

FIELDS = ("tmax_c", "tmin_c", "frost_days", "rain_mm", "sun_h")
MONTH = re.compile(r"\s*(\d{4})\s+(\d{1,2})\s+(.*)")
FIGURE = re.compile(r"(-{3}|-?\d+(?:\.\d+)?)([*$#]?)(.*)")


def months_of(path: Path) -> dict[date, list[float | None]]:
    """The figures of a station file, by the lines that begin with a year and a month: nothing else of it is used."""
    found = {}
    for line in path.read_text("ascii").splitlines():
        match = MONTH.match(line)
        if not match:
            continue
        figures: list[float | None] = []
        for word in match.group(3).split()[:5]:
            figure = FIGURE.match(word)
            assert figure is not None
            figures.append(None if figure.group(1) == "---" else float(figure.group(1)))
        found[date(int(match.group(1)), int(match.group(2)), 1)] = figures + [None] * (5 - len(figures))
    return found


@outside("open data", "Met Office station series (OGL v3)")
@pytest.mark.parametrize(
    ("station", "months", "set_aside"),
    [("Lowestoft", 1150, 2), ("Oxford", 2073, 1), ("Whitby", 769, 1)],
)
def test_a_monthly_station_series(open_data: OpenData, station: str, months: int, set_aside: int) -> None:
    """The preamble is no data, ``---`` is missing, every figure is the file's; a station closed is one line more."""
    name = f"station-monthly-{station.lower()}.txt"
    result = open_data.load(name)
    expected = months_of(open_data.folder / name)
    assert len(expected) == months
    assert (result.kind, result.profile) == ("weather_month", name.removesuffix(".txt"))
    assert not result.failed, result.faults
    counts = result.counts
    assert (counts.rows, counts.loaded, counts.ignored) == (months + set_aside, months, set_aside)
    columns = ", ".join(FIELDS)
    stored = open_data.stored(f"SELECT date, {columns} FROM weather_month WHERE station = ?", station)
    assert {row[0]: list(row[1:]) for row in stored} == expected
    open_data.changes_nothing(name, result)


@outside("open data", "Rothamsted Research (CC BY 4.0)")
def test_marks_glued_to_figures_are_kept_beside_them(open_data: OpenData) -> None:
    """Estimated figures and those of another sensor are used, and the store says which they are."""
    text = (open_data.folder / "station-monthly-whitby.txt").read_text("ascii")
    result = open_data.load("station-monthly-whitby.txt")
    estimated = re.findall(r"\d\*", text)
    other_sensor = re.findall(r"\d\$", text)
    kept = "".join(marks for (marks,) in open_data.stored("SELECT marks FROM weather_month WHERE marks IS NOT NULL"))
    assert (kept.count("*"), kept.count("$")) == (len(estimated), len(other_sensor))
    assert len(other_sensor) > 250
    dropped = result.faults.filter(pl.col("code") == "number.flag_dropped")
    assert dropped.height == len(estimated) + len(other_sensor) + 1  # and the remark below
    row = "SELECT tmax_c, sun_h, marks, note, written FROM weather_month WHERE date = ?"
    assert open_data.stored(row, date(2025, 3, 1))[0][:4] == (12.3, 191.3, "tmax_c *, sun_h *", "Provisional")
    sun, remark = open_data.stored(row, date(2000, 1, 1))[0][1:4:2]
    assert (sun, remark) == (71.6, "data from Whitby")  # the file: 71.6all data from Whitby
    assert '"sun_h": "71.6all"' in open_data.stored(row, date(2000, 1, 1))[0][4]


def test_without_its_marks_declared_a_glued_figure_is_refused(open_data: OpenData) -> None:
    """A mark that nobody explained is no part of a number: the month comes back with its line."""
    profile = open_data.workspace.profiles / "station-monthly-whitby.toml"
    text = profile.read_text("utf-8")
    profile.write_text(re.sub(r"^flags = .*$", 'flags = ["*", "$"]', text, flags=re.MULTILINE), "utf-8")
    result = open_data.load("station-monthly-whitby.txt")
    wrong = result.faults.filter(pl.col("severity") == "error")
    assert wrong.select("line", "column", "value").rows() == [(469, "sun", "71.6all")]
    assert (result.counts.loaded, result.counts.rejected) == (768, 1)
    assert result.rejects_file is not None
    mended = result.rejects_file.read_text("utf-8-sig").replace("71.6all", "71.6")
    result.rejects_file.write_text(mended, "utf-8-sig")
    back = load_paths(open_data.workspace, [result.rejects_file], today=TODAY)[0]
    assert (back.profile, back.counts.loaded, back.failed) == ("station-monthly-whitby", 1, False)
    assert open_data.stored("SELECT sun_h FROM weather_month WHERE date = ?", date(2000, 1, 1)) == [(71.6,)]


@outside("open data", "Rothamsted Research (CC BY 4.0)")
def test_a_monthly_summary_in_cp1252_with_a_row_of_units(open_data: OpenData) -> None:
    """240 months of 20 years; wind comes in km/h and is kept in m/s; what a glued ``+`` means is not guessed."""
    name = "weather-monthly-flags.csv"
    lines = (open_data.folder / name).read_text("cp1252").splitlines()
    months = [line.split(",") for line in lines if re.match(r"19\d\d,", line)]
    assert len(months) == 240
    result = open_data.load(name)
    assert not result.failed, result.faults
    assert (result.kind, result.counts.loaded, result.counts.ignored) == ("weather_month", 240, 1)
    glued = sum(bool(re.fullmatch(r"[\d.]+[+$]", cell)) for row in months for cell in row)
    dropped = result.faults.filter(pl.col("code") == "number.flag_dropped")
    assert dropped.height == glued > 20
    blank = [row for row in months if row[9] in {"*", ""}]
    assert open_data.stored("SELECT count(*) FROM weather_month WHERE radiation_mj_m2 IS NULL") == [(len(blank),)]
    row = open_data.stored(
        "SELECT tmean_c, dew_point_c, soil_30cm_c, ground_frost_days, rain_mm, rain_days, wind_m_s, radiation_mj_m2, "
        "evaporation_mm, marks FROM weather_month WHERE date = ?",
        date(1969, 7, 1),
    )[0]
    # the file: 1969,July,17.4,12.8,19,0,99.3,5+,6.3,12.5+,118
    assert row[:6] == (17.4, 12.8, 19, 0, 99.3, 5)
    assert row[6] == pytest.approx(6.3 / 3.6)
    assert row[7:] == (12.5, 118, "rain_days +, radiation_mj_m2 +")
    open_data.changes_nothing(name, result)


def test_means_of_thirty_years_are_no_months(open_data: OpenData) -> None:
    """A mean January has no year: without a profile the headers are unknown, and as months the file lacks the date."""
    unknown = open_data.load("weather-30yr-means.csv")
    assert _whole_file(unknown) == [("file.kind_unknown", "")]
    as_months = open_data.load("weather-30yr-means.csv", kind="weather_month")
    assert _whole_file(as_months) == [("header.missing", "date"), ("header.missing", "station")]
    for result in (unknown, as_months):
        assert (result.counts.loaded, result.counts.rejected) == (0, 13)  # twelve months and the year's row


def _whole_file(result: FileResult) -> list[tuple[str, str]]:
    errors = result.faults.filter((pl.col("severity") == "error") & pl.col("line").is_null())
    return sorted(errors.select("code", "column").rows())


def test_a_station_file_in_customary_units_is_refused_until_they_are_declared(open_data: OpenData) -> None:
    """Nothing in the file says °F, inches or miles an hour: 48 °F were stored as 48 °C."""
    name = "station-us-daily.csv"
    profile = open_data.workspace.profiles / "station-us-daily.toml"
    said = profile.read_text("utf-8")
    profile.unlink()
    refused = open_data.load(name, kind="weather_day")
    assert _whole_file(refused) == [("unit.undeclared", name) for name in ("AWND", "PRCP", "TMAX", "TMIN")]
    profile.write_text(said, "utf-8")
    result = open_data.load(name)
    assert not result.failed, result.faults
    assert (result.profile, result.counts.rejected) == ("station-us-daily", 0)
    rows = open_data.rows(name)
    assert result.counts.loaded == len(rows)
    stored = open_data.stored("SELECT tmax_c, rain_mm, wind_m_s FROM weather_day ORDER BY station, date")
    for row, (tmax, rain, wind) in zip(
        sorted(rows, key=lambda one: (one["STATION"], one["DATE"])), stored, strict=True
    ):
        assert tmax == (pytest.approx((float(row["TMAX"]) - 32) / 1.8) if row["TMAX"] else None)
        assert rain == (pytest.approx(float(row["PRCP"]) * 25.4) if row["PRCP"] else None)
        assert wind == (pytest.approx(float(row["AWND"]) * 1609.344 / 3600) if row["AWND"] else None)
    assert not result.faults["code"].str.starts_with("weather.").any()


@outside("open data", "Met Office station series (OGL v3)")
@pytest.mark.parametrize(
    ("station", "latitude", "fewest"), [("oxford", 51.761, 2000), ("lowestoft", 52.483, 1000), ("whitby", 54.481, 700)]
)
def test_no_month_ever_measured_is_too_warm_and_each_is_in_fahrenheit(
    open_data: OpenData, station: str, latitude: float, fewest: int
) -> None:
    """The bound on a month's mean by latitude: it lets 170 years of real months pass, and none of them read as °F."""
    series = months_of(open_data.folder / f"station-monthly-{station}.txt")
    means = [(day.month, (high + low) / 2) for day, (high, low, *_) in series.items() if None not in (high, low)]
    assert len(means) > fewest
    assert [mean for month, mean in means if mean > warmest_mean_c(latitude, month)] == []
    assert [mean for month, mean in means if mean * 1.8 + 32 <= warmest_mean_c(latitude, month)] == []


@outside("open data", "Portal Project (CC0)")
def test_nor_is_one_of_a_desert_station(open_data: OpenData) -> None:
    """Where the sun stands higher months are warmer; 31.9° N, 1,400 m up."""
    days = pl.read_csv(open_data.folder / "station-date-parts.csv", infer_schema_length=None)
    mean = ((pl.col("maxtemp") + pl.col("mintemp")) / 2).alias("mean")
    months = days.group_by("year", "month").agg(mean.mean(), mean.count().alias("days")).filter(pl.col("days") >= 20)
    assert months.height > 100
    for _, month, found, _ in months.iter_rows():
        assert found <= warmest_mean_c(31.9, month) < found * 1.8 + 32


@outside("open data", "pyfao56 tests (CC0, US Government work)")
def test_months_of_a_reference_station_raise_nothing(open_data: OpenData) -> None:
    """Eighteen years at 33° N, year and day of the year in two columns: the days are right, no month is odd."""
    home, name = open_data.workspace, "et0-reference-station.csv"
    (home.folder / "clubs.csv").write_text("club,name,region\nOPEN,Open data,None\n", "utf-8")
    (home.folder / "greens.csv").write_text(
        "green,club,name,latitude_deg,station\nG,OPEN,Green,33.069,reference station\n", "utf-8"
    )
    load_paths(home, [home.folder / "clubs.csv", home.folder / "greens.csv"], today=TODAY)
    profile = home.profiles / "et0-reference-station.toml"
    joined = profile.read_text("utf-8").replace('"Date", ', '"Year", "DOY", ')
    joined = joined.replace('date = "Date"', 'date = { from = ["Year", "DOY"], join = " day " }')
    joined = joined.replace('headers = ["RHmax", "RHmin", "ETref"]', 'headers = ["ETref"]')
    fields = 'humidity_max_pct = "RHmax"\nhumidity_min_pct = "RHmin"\n\n[ignore]'
    profile.write_text(joined.replace("\n[ignore]", fields), "utf-8")
    result = open_data.load(name)
    rows = open_data.rows(name)
    assert (result.counts.loaded, result.counts.rows) == (len(rows), len(rows)), result.faults
    odd = set(result.faults["code"].to_list())
    assert odd == {"weather.year_rain"}  # a desert: 97 mm in 2009
    days = [date(int(row["Year"]), 1, 1) + timedelta(int(row["DOY"]) - 1) for row in rows]
    assert open_data.stored("SELECT date FROM weather_day ORDER BY date") == [(day,) for day in days]
