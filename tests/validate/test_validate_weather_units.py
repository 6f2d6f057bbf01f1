"""Weather says its unit or is refused: a station writes °C, mm and m/s under the very names another writes °F under.

Conversions are held against the definitions: °C = (°F - 32) / 1.8, inch 25.4 mm, mile 1609.344 m.
"""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl
import pytest

from pipeline.draft import draft_profile
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import Load

BARE = "STATION,DATE,TMAX,TMIN,RAIN,WIND\nOstershire airfield,2026-01-01,48,38,0.45,13.87\n"
PROFILE = """
name = "station"
kind = "weather_day"
match = { headers = ["STATION", "TMAX", "RAIN"] }

[fields]
date = "DATE"
station = "STATION"
"""
IN_FAHRENHEIT = """\
tmax_c = { from = "TMAX", unit = "°F" }
tmin_c = { from = "TMIN", unit = "degF" }
rain_mm = { from = "RAIN", unit = "in" }
wind_m_s = { from = "WIND", unit = "mph" }
"""


def stored(workspace: Workspace, fields: str = "tmax_c, tmin_c, rain_mm, wind_m_s") -> list[tuple[object, ...]]:
    with Store(workspace.store, read_only=True) as store:
        return store.rows(f"SELECT {fields} FROM weather_day ORDER BY date")


def profile(workspace: Workspace, fields: str) -> None:
    (workspace.profiles / "station.toml").write_text(PROFILE + fields, "utf-8")


def test_a_station_file_without_units_is_refused(load: Load, workspace: Workspace) -> None:
    """48 °F were stored as 48 °C, 0.45 inches as 0.45 mm and 13.87 mph as 13.87 m/s, without a word."""
    result = load("days.csv", BARE)
    wrong = result.faults.filter(pl.col("severity") == "error")
    assert wrong.select("line", "column", "value", "code").rows() == [
        (None, "TMAX", "48", "unit.undeclared"),
        (None, "TMIN", "38", "unit.undeclared"),
        (None, "RAIN", "0.45", "unit.undeclared"),
        (None, "WIND", "13.87", "unit.undeclared"),
    ]
    messages = wrong["message"].to_list()
    assert (
        messages[0]
        == "Column TMAX holds a temperature and nothing says in which unit: 48 may be °C or °F, or tenths of them."
    )
    assert "0.45 may be mm or inches" in messages[2]
    assert "13.87 may be m/s or mph, km/h or knots" in messages[3]
    assert 'tmax_c = { from = "TMAX", unit = "…" }' in wrong["hint"][0]
    assert (result.counts.loaded, stored(workspace)) == (0, [])


@pytest.mark.parametrize(
    ("header", "cell"),
    [
        ("Dew point", "40"),
        ("Soil temperature", "50.1"),
        ("Mean temp", "44 *"),
        ("Radiation", "245.6"),
        ("Wind height", "33"),
        ("Precipitation", "0.1+"),
    ],
)
def test_each_quantity_with_more_than_one_unit_is_asked(load: Load, header: str, cell: str) -> None:
    result = load("days.csv", f"station,date,{header}\nOstershire airfield,2026-01-01,{cell}\n", kind="weather_day")
    assert "unit.undeclared" in result.faults["code"].to_list()
    assert result.counts.loaded == 0


def test_units_of_a_profile_are_converted(load: Load, workspace: Workspace) -> None:
    profile(workspace, IN_FAHRENHEIT)
    result = load("days.csv", BARE)
    assert (result.profile, result.counts.loaded) == ("station", 1), result.faults
    expected = ((48 - 32) / 1.8, (38 - 32) / 1.8, 0.45 * 25.4, 13.87 * 1609.344 / 3600)
    assert stored(workspace)[0] == pytest.approx(expected)


def test_32_fahrenheit_is_no_frost(load: Load, workspace: Workspace) -> None:
    """It came to -0.00000000002 °C, and whatever is under 0 is a day of frost."""
    profile(workspace, IN_FAHRENHEIT)
    load("days.csv", BARE.replace(",48,38,", ",32,32 °F,"))
    assert [str(one) for one in stored(workspace, "tmax_c, tmin_c")[0]] == ["0.0", "0.0"]


def test_a_profile_that_says_no_unit_is_no_declaration(load: Load, workspace: Workspace) -> None:
    """Which column is the highest temperature says nothing of its unit, not even where the column's name does."""
    profile(workspace, 'tmax_c = "TMAX"\nrain_mm = "RAIN"\n')
    result = load("days.csv", BARE)
    assert result.faults.filter(pl.col("code") == "unit.undeclared")["column"].to_list() == ["TMAX", "RAIN"]
    assert result.counts.loaded == 0


def test_a_wide_sheet_says_its_units_too(load: Load, workspace: Workspace) -> None:
    long = '\n[[long]]\nfrom = "TMAX"\ninto = "tmax_c"\n'
    profile(workspace, long)
    refused = load("days.csv", BARE)
    assert refused.faults.filter(pl.col("code") == "unit.undeclared")["column"].to_list() == ["TMAX"]
    profile(workspace, long.replace('into = "tmax_c"', 'into = "tmax_c"\nunit = "°F"'))
    assert load("days.csv", BARE).counts.loaded == 1
    assert stored(workspace, "tmax_c")[0][0] == pytest.approx(16 / 1.8)


@pytest.mark.parametrize(
    "text",
    [
        "station,date,tmax_c,rain_mm\nW,2026-01-01,9.4,3.2\n",
        "station,date,Tmax C,Rain mm\nW,2026-01-01,9.4,3.2\n",
        "station,date,TMAX,RAIN\n,,°C,mm\nW,2026-01-01,9.4,3.2\n",
        "station,date,TMAX,RAIN\nW,2026-01-01,9.4 °C,3.2 mm\n",
        "station,date,TMAX,RAIN\nW,2026-01-01,48.92 °F,3.2 mm\n",
    ],
)
def test_a_unit_in_name_row_or_cell_is_enough(load: Load, workspace: Workspace, text: str) -> None:
    result = load("days.csv", text, kind="weather_day")
    assert not result.failed, result.faults
    assert stored(workspace, "tmax_c, rain_mm")[0] == pytest.approx((9.4, 3.2))


def test_what_has_one_unit_only_is_not_asked(load: Load, workspace: Workspace) -> None:
    """Humidity in %, sunshine in hours; and a column without a single figure."""
    text = "station,date,Humidity,Sunshine,TMAX\nW,2026-01-01,81,4.1,\nW,2026-01-02,80,3,---\n"
    result = load("days.csv", text, kind="weather_day")
    assert not result.failed, result.faults
    assert stored(workspace, "humidity_pct, sun_h, tmax_c") == [(81, 4.1, None), (80, 3, None)]


def test_a_draft_asks_for_the_units(load: Load, workspace: Workspace, tmp_path: object) -> None:
    path = workspace.folder / "days.csv"
    path.write_text(BARE, "utf-8")
    draft = draft_profile(workspace, path)
    asked = {ask.key for ask in draft.asks}
    assert asked == {"units.temperatures", "fields.rain_mm.unit", "fields.wind_m_s.unit"}


def days(
    tmax: float, tmin: float, *, rain: float = 2, wind: float = 3, first: date = date(2026, 1, 1), n: int = 31
) -> str:
    rows = (f"Ostershire airfield,{first + timedelta(i)},{tmax},{tmin},{rain},{wind}\n" for i in range(n))
    return "station,date,tmax_c,tmin_c,rain_mm,wind_m_s\n" + "".join(rows)


def month(mean: float, at: str = "2026-01-01") -> str:
    return f"station,date,tmean_c\nOstershire airfield,{at},{mean}\n"


AT_45 = "green,club,name,area_m2,latitude_deg,station\nALD-1,ALD,Main green,1600,45.7,Ostershire airfield\n"


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        (days(48, 38), "weather_day", "The mean temperature of January 2026 at Ostershire airfield comes to 43.0 °C"),
        (days(-40, -50), "weather_day", "colder than -30 °C"),
        (month(39), "weather_month", "comes to 39.0 °C, warmer than 19 °C, the most at 46 degrees of latitude"),
        (month(20), "weather_month", "comes to 20.0 °C, warmer than 19 °C"),
        (month(-9.4, "2026-07-01"), "weather_month", "in summer, and colder than 3 °C"),
        (days(9, 2, rain=81.3), "weather_day", "The rain of January 2026 at Ostershire airfield comes to 2520.3 mm"),
        (days(9, 2, wind=14), "weather_day", "comes to 14.0 m/s, more than 12 m/s"),
        (
            days(9, 2, rain=0.08, first=date(2025, 1, 1), n=365),
            "weather_day",
            "The rain of 2025 at Ostershire airfield",
        ),
    ],
)
def test_months_and_years_of_another_unit_are_asked_about(county: Load, text: str, kind: str, said: str) -> None:
    """Kept, since there may be a reason; the bound is named."""
    assert not county("greens.csv", AT_45).failed
    result = county("weather.csv", text, kind=kind)
    warned = result.faults.filter(pl.col("code").str.starts_with("weather."))
    assert not result.failed
    assert warned.select("line", "severity").rows() == [(2, "warning")]
    assert said in warned["message"][0]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        (days(9, 2), "weather_day"),
        (days(48, 20, n=4), "weather_day"),  # four days are no month, nor enough to tell °F by
        (days(28, 18, first=date(2026, 7, 1)), "weather_day"),
        (month(-12), "weather_month"),
        (days(9, 2, rain=0.08, first=date(2025, 1, 1), n=200), "weather_day"),  # nor are two hundred a year
        (month(3.5, "2026-07-01"), "weather_month"),
    ],
)
def test_ordinary_months_raise_nothing(county: Load, text: str, kind: str) -> None:
    assert not county("greens.csv", AT_45).failed
    assert county("weather.csv", text, kind=kind).faults.height == 0


def test_without_a_latitude_only_the_outermost_bounds_hold(load: Load) -> None:
    assert load("months.csv", month(33), kind="weather_month").faults.height == 0
    assert load("others.csv", month(39, "2026-02-01"), kind="weather_month").faults["code"].to_list() == [
        "weather.month_temperature"
    ]
