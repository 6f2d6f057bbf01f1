"""Evaporation by what the station gives, water and disease weather, and the growth curve that was chosen."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from pipeline.indicators.base.green_season import GreenSeason, Indicator
from pipeline.publish.documents import season_of_green
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.outside_checks import outside
from tests.thorough import beyond

FULL = (
    "date,station,tmax_c,tmin_c,humidity_max_pct,humidity_min_pct,humidity_pct,rain_mm,sun_h,wind_m_s,wind_height_m\n"
)


def season(county: Load, workspace: Workspace, days: str, latitude: float = 50.8, grasses: str = "") -> GreenSeason:
    greens = f"green,club,name,area_m2,latitude_deg,station,grasses\nALD-1,ALD,Main,1600,{latitude},field,{grasses}\n"
    assert not county("greens.csv", greens).failed
    assert not county("weather.csv", FULL + days, kind="weather_day").failed
    return season_of_green(workspace, "ALD-1", "2026")


def choosing(workspace: Workspace, **options: object) -> Workspace:
    """The workspace with other method options."""
    settings = workspace.settings
    chosen = settings.method_options.model_copy(update=options)
    return replace(workspace, settings=settings.model_copy(update={"method_options": chosen}))


def figure(found: GreenSeason, name: str, band: str = "") -> Indicator:
    return next(one for one in found.indicators if (one.name, one.band) == (name, band))


@outside("worked example", "FAO-56 example 18: 3.9 mm")
def test_evaporation_is_penman_monteith_where_the_day_carries_it(county: Load, workspace: Workspace) -> None:
    """FAO-56 example 18: Uccle, 6 July, 3.9 mm; at sea level instead of 100 m it is the same to the digit printed."""
    one = figure(season(county, workspace, "2026-07-06,field,21.5,12.3,84,63,,0,9.25,2.778,10\n"), "evaporation_mm")
    assert one.value == pytest.approx(3.88, abs=0.02)
    assert "Penman–Monteith (FAO-56 equation 6, at sea level)" in one.method
    assert "Hargreaves" not in one.method


def test_a_day_without_wind_or_sun_is_hargreaves_and_named(county: Load, workspace: Workspace) -> None:
    """Each of the three may be missing; nothing is put in its place, and the method counts the days of both."""
    first = "2026-07-06,field,21.5,12.3,84,63,,0,9.25,2.778,10\n"
    gaps = (
        "2026-07-07,field,21.5,12.3,84,63,,0,9.25,,\n"  # no wind
        "2026-07-08,field,21.5,12.3,84,63,,0,,2.778,10\n"  # no sun
        "2026-07-09,field,21.5,12.3,,,,0,9.25,2.778,10\n"  # no humidity
    )
    one = figure(season(county, workspace, first + gaps), "evaporation_mm")
    assert "at sea level) on 1 day and Hargreaves (FAO-56 equation 52) on 3 days" in one.method
    assert one.n == 4


def test_where_the_sun_stays_down_nothing_is_divided_by(county: Load, workspace: Workspace) -> None:
    """At 78° N in December there is no day length: Hargreaves gives zero, no figure is not-a-number."""
    one = figure(season(county, workspace, "2025-12-21,field,-5,-9,90,80,,0,0,3,10\n", latitude=78), "evaporation_mm")
    assert one.value == 0


def july(rain: float, days: int = 20, humidity: int = 80, tmax: float = 25, tmin: float = 15) -> str:
    first = date(2026, 7, 1)
    rows = (f"{first + timedelta(days=i)},field,{tmax},{tmin},,,{humidity},{rain},,,\n" for i in range(days))
    return "".join(rows)


def test_water_balance_counts_rain_and_logged_watering(county: Load, workspace: Workspace) -> None:
    """By hand from the evaporation above it: rain + 8000 l on 1600 m² (5 mm) − 0.95 × ETo."""
    jobs = "2026-07-05,ALD-1,irrigation,8000\n2026-07-20,ALD-1,irrigation,\n"
    assert not county("jobs.csv", "date,green,operation,volume_l\n" + jobs).failed
    found = season(county, workspace, july(1.0))
    lost = figure(found, "evaporation_mm").value
    assert lost is not None
    one = figure(found, "water_balance_mm")
    assert one.value == pytest.approx(20 + 5 - 0.95 * lost)
    assert one.note.endswith("1 watering not counted: the log does not say how much.")
    assert figure(found, "irrigation_need_mm").value == pytest.approx(0.95 * lost - 20)


@pytest.mark.parametrize("amount", ["volume_l", "rate_ml_m2"])
@beyond(1)
def test_a_green_watered_in_halves_is_watered_once(county: Load, workspace: Workspace, amount: str) -> None:
    """4,000 l on each 800 m² of 1,600 are 5 mm, not 10; so are 5,000 ml/m² on each half."""
    given = 4000 if amount == "volume_l" else 5000
    jobs = f"2026-07-05,ALD-1,irrigation,{given},800\n" * 2 + "2026-07-20,ALD-1,mowing,,\n"
    assert not county("jobs.csv", f"date,green,operation,{amount},treated_area_m2\n{jobs}").failed
    found = season(county, workspace, july(1.0))
    lost = figure(found, "evaporation_mm").value
    assert lost is not None
    assert figure(found, "water_balance_mm").value == pytest.approx(20 + 5 - 0.95 * lost)


def test_irrigation_need_by_the_chosen_coefficients(county: Load, workspace: Workspace) -> None:
    """Kc 0.85, three quarters of the rain kept, three quarters of the water reaching the roots (check value 9.4)."""
    found = season(county, workspace, july(1.0))
    lost = figure(found, "evaporation_mm").value
    assert lost is not None
    chosen = choosing(workspace, crop_coefficient=0.85, rain_share=0.75, irrigation_efficiency=0.75)
    one = figure(season_of_green(chosen, "ALD-1", "2026"), "irrigation_need_mm")
    assert one.value == pytest.approx((0.85 * lost - 0.75 * 20) / 0.75)
    assert "less 0.75 × rain" in one.method


def test_rain_of_one_month_does_not_water_another(county: Load, workspace: Workspace) -> None:
    """500 mm in June leave July's need as it is."""
    dry = figure(season(county, workspace, july(0.0)), "irrigation_need_mm").value
    wet_june = "2026-06-15,field,25,15,,,80,500,,,\n"
    assert figure(season(county, workspace, wet_june + july(0.0)), "irrigation_need_mm").value == pytest.approx(dry)


def test_dollar_spot_weather_is_counted_from_five_days(county: Load, workspace: Workspace) -> None:
    """20 °C: 0.4042 at 80 % humidity counts, 0.2172 at 70 % counts, 15 °C and 70 % (0.0955) does not (Smith 2018)."""
    assert figure(season(county, workspace, july(0.0, 9)), "dollar_spot_days").value == 5  # the first four have no mean
    assert figure(season(county, workspace, july(0.0, 9, humidity=70)), "dollar_spot_days").value == 5
    cool = figure(season(county, workspace, july(0.0, 9, 70, 20, 10)), "dollar_spot_days")
    assert (cool.value, cool.n) == (0, 5)


def test_four_days_make_no_dollar_spot_weather(county: Load, workspace: Workspace) -> None:
    """The model takes means of five days; four are not stretched."""
    assert "dollar_spot_days" not in {one.name for one in season(county, workspace, july(0.0, 4)).indicators}


def test_growth_by_the_curve_and_the_grass_chosen(county: Load, workspace: Workspace) -> None:
    """At 20 °C cool-season grass grows in full; warm-season 0.291 by the °C constants, 0.249 by the °F ones (ATC)."""
    cool = season(county, workspace, july(0.0), grasses="fescue and bent")
    assert figure(cool, "growth_days").value == pytest.approx(20)
    assert figure(cool, "growth_month_days", "July 2026").value == pytest.approx(20)
    warm = season(county, workspace, july(0.0), grasses="Bermuda grass")
    assert figure(warm, "growth_days").value == pytest.approx(20 * 0.291, abs=0.01)
    assert "warm-season grass, exp(−½((t − 31)/7)²) in °C" in figure(warm, "growth_days").method
    chosen = choosing(workspace, growth_curve="fahrenheit", degree_day_base_c=10.0)
    other = season_of_green(chosen, "ALD-1", "2026")
    assert figure(other, "growth_days").value == pytest.approx(20 * 0.249, abs=0.01)
    assert figure(other, "degree_days_c").value == pytest.approx(20 * 10)
