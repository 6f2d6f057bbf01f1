"""Weather of the green's station: sums of the season, the day beside each job, and nitrogen against growth."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from pipeline.indicators.base.green_season import GreenSeason, Indicator
from pipeline.publish.documents import season_of_green
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.outside_checks import outside
from tests.thorough import beyond

GREENS = (
    "green,club,name,area_m2,latitude_deg,station\nALD-1,ALD,Main green,1600,45.72,Ostershire airfield\n"
    "ALD-2,ALD,Lower green,1200,,\n"
)
HEAD = "date,station,tmax_c,tmin_c,rain_mm\n"


def april(tmax: float, tmin: float, rain: float = 0.0, days: int = 30) -> str:
    first = date(2026, 4, 1)
    return "".join(f"{first + timedelta(days=i)},Ostershire airfield,{tmax},{tmin},{rain}\n" for i in range(days))


def season(county: Load, workspace: Workspace, weather: str, green: str = "ALD-1") -> GreenSeason:
    assert not county("greens.csv", GREENS).failed
    assert not county("weather.csv", HEAD + weather, kind="weather_day").failed
    return season_of_green(workspace, green, "2026")


def figure(found: GreenSeason, name: str, band: str = "") -> Indicator:
    return next(one for one in found.indicators if one.name == name and one.band == band)


@outside("worked example", "FAO-56 example 20: 5.0 mm by Hargreaves")
def test_evaporation_is_that_of_the_published_example(county: Load, workspace: Workspace) -> None:
    """FAO-56 example 20: Lyon, 15 July, 26.6 and 14.8 °C, Ra 40.6 MJ: 5.0 mm a day by Hargreaves."""
    found = season(county, workspace, "2026-07-15,Ostershire airfield,26.6,14.8,0\n")
    assert figure(found, "evaporation_mm").value == pytest.approx(5.0, abs=0.05)


def test_growth_is_summed_by_the_published_curve(county: Load, workspace: Workspace) -> None:
    """Growth potential of 15 °C is 0.6615 (check value 4.9): 30 days make 19.845; rain, frost and warmth by hand."""
    found = season(county, workspace, april(20, 10, 2.5))
    assert figure(found, "growth_days").value == pytest.approx(30 * 0.6615, abs=0.005)
    assert figure(found, "rain_mm").value == pytest.approx(75)
    assert figure(found, "frost_days").value == 0
    assert figure(found, "degree_days_c").value == pytest.approx(30 * 9)  # 15 °C less the base of 6


def test_frost_and_gaps_are_told(county: Load, workspace: Workspace) -> None:
    county("jobs.csv", "date,green,operation\n2025-10-01,ALD-1,mowing\n2026-04-30,ALD-1,mowing\n")
    found = season(county, workspace, april(8, -1, days=10))
    frost = figure(found, "frost_days")
    assert frost.value == 10
    assert frost.note.startswith("202 days of 212 without a figure")  # 1 October to 30 April is 212 days


def test_the_day_stands_beside_the_job(county: Load, workspace: Workspace) -> None:
    county("jobs.csv", "date,green,operation\n2026-04-02,ALD-1,mowing\n2026-05-02,ALD-1,mowing\n")
    found = season(county, workspace, april(14, 6, 3.2))
    assert [work.weather for work in found.works] == ["6 to 14 °C, rain 3.2 mm", ""]


def test_nitrogen_stands_against_growth_as_information(county: Load, workspace: Workspace) -> None:
    """50 kg of 11 % on 1,600 m² is 3.4375 g/m², of which 29 of 42 days fall into April; at 15 °C that month would allow
    0.6615 × 5 = 3.3073 g/m²: 71.8 %."""
    feed = "2026-04-02,ALD-1,fed,spring granular 11-5-5 + 8 Fe,50\n"
    county("jobs.csv", f"date,green,operation,material,mass_kg\n{feed}2026-04-30,ALD-1,cut,,\n")
    found = season(county, workspace, april(20, 10))
    share = figure(found, "nitrogen_of_growth_pct")
    assert share.value == pytest.approx(100 * 3.4375 * 29 / 42 / (5 * 0.66148), abs=0.1)
    assert "Information only" in share.note
    assert figure(found, "nitrogen_of_growth_month_pct", "April 2026").value == share.value


def days_of(first: date, count: int, tmax: float, tmin: float) -> str:
    return "".join(f"{first + timedelta(days=i)},Ostershire airfield,{tmax},{tmin},0\n" for i in range(count))


FEEDS = "date,green,operation,material,mass_kg\n"
SPRING = "spring granular 11-5-5 + 8 Fe"


def test_a_feed_at_the_end_of_a_cold_month_is_not_all_of_that_month(county: Load, workspace: Workspace) -> None:
    """3.4375 g/m² of 30 March stood whole against a March that allows 0.284: 1,212 %. Two of its 42 days are March."""
    county("jobs.csv", f"{FEEDS}2026-03-30,ALD-1,fed,{SPRING},50\n2026-06-30,ALD-1,cut,,\n")
    found = season(county, workspace, days_of(date(2026, 3, 1), 31, 10, 3.65) + april(20, 10))
    march, spring = (figure(found, "nitrogen_of_growth_month_pct", f"{name} 2026") for name in ("March", "April"))
    assert march.value is not None
    assert march.value * 42 / 2 == pytest.approx(1212, abs=1)
    assert spring.value == pytest.approx(100 * 3.4375 * 30 / 42 / (5 * 0.66148), abs=0.1)


def test_a_feed_without_a_release_time_counts_on_its_day_and_says_so(county: Load, workspace: Workspace) -> None:
    county("m.csv", "material,sort,form,analysis,analysis_basis\nunsaid,fertiliser,solid,11-5-5,oxide\n")
    county("jobs.csv", f"{FEEDS}2026-04-29,ALD-1,fed,unsaid,50\n2026-06-30,ALD-1,cut,,\n")
    share = figure(season(county, workspace, april(20, 10)), "nitrogen_of_growth_month_pct", "April 2026")
    assert share.value == pytest.approx(100 * 3.4375 / (5 * 0.66148), abs=0.1)
    assert "1 of 1 feeds state no release time: set whole on their day." in share.note


def test_last_season_still_feeds_this_one(county: Load, workspace: Workspace) -> None:
    """Fed on 20 September for six weeks: 31 of 42 days release in October, in the season after."""
    county("jobs.csv", f"{FEEDS}2025-09-20,ALD-1,fed,{SPRING},50\n2026-06-30,ALD-1,cut,,\n")
    found = season(county, workspace, days_of(date(2025, 10, 1), 31, 20, 10))
    share = figure(found, "nitrogen_of_growth_pct")
    assert share.value == pytest.approx(100 * 3.4375 * 31 / 42 / (5 * 0.66148), abs=0.1)
    assert "2.5 g/m² of it by feeds of the season before." in share.note
    assert "nitrogen_kg_ha" not in {one.name for one in found.indicators}


def test_half_a_month_of_weather_is_no_month(county: Load, workspace: Workspace) -> None:
    county("jobs.csv", "date,green,operation\n2026-04-02,ALD-1,mowing\n")
    names = {one.name for one in season(county, workspace, april(20, 10, days=15)).indicators}
    assert "nitrogen_of_growth_pct" not in names
    assert "growth_days" in names


def test_a_green_without_a_station_has_no_weather(county: Load, workspace: Workspace) -> None:
    county("greens.csv", GREENS)
    county("jobs.csv", "date,green,operation\n2026-04-02,ALD-2,mowing\n")
    found = season(county, workspace, april(20, 10), green="ALD-2")
    assert not [one for one in found.indicators if one.family in ("weather", "water", "growth")]
    assert found.works[0].weather == ""


@pytest.mark.parametrize(("days", "told"), [(24, False), (25, True)])
@beyond(2)
def test_growth_of_a_month_is_told_from_25_days(county: Load, workspace: Workspace, days: int, told: bool) -> None:
    """The stated rule, at its border: a month with 24 days of temperature has no growth to hold nitrogen against."""
    feed = "2026-04-02,ALD-1,fed,spring granular 11-5-5 + 8 Fe,50\n"
    county("jobs.csv", f"date,green,operation,material,mass_kg\n{feed}2026-04-30,ALD-1,cut,,\n")
    found = season(county, workspace, april(20, 10, days=days))
    assert ("nitrogen_of_growth_pct" in {one.name for one in found.indicators}) is told
