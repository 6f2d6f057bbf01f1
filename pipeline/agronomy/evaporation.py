"""Reference evaporation by FAO-56 (Penman–Monteith) and by Hargreaves, from what a weather station gives.

Equation numbers are those of Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56.
Angles are radians; latitude is positive north of the equator.
"""

from __future__ import annotations

import math

from pipeline.agronomy.maths import (
    Quantity,
    arccos,
    cos,
    exp,
    log,
    maximum,
    minimum,
    require_between,
    require_not_negative,
    require_positive,
    sin,
    sqrt,
    tan,
)

SOLAR_CONSTANT_MJ_M2_MIN = 0.0820
STEFAN_BOLTZMANN_MJ_K4_M2_DAY = 4.903e-9
KELVIN_OFFSET = 273.16
"""As printed in FAO-56 (eq. 39)."""
GRASS_ALBEDO = 0.23
MM_PER_MJ_M2 = 0.408
"""Millimetres of water that a MJ/m² evaporates, 1/2.45 (FAO-56 eq. 20)."""


def atmospheric_pressure_kpa(elevation_m: Quantity) -> Quantity:
    """Atmospheric pressure in kPa.

    Formula: `101.3 · ((293 − 0.0065·z) / 293)^5.26`.

    Args:
        elevation_m: height above sea level z, m.

    Source: FAO-56 eq. 7, example 2.
    """
    require_between(-500.0, 9000.0, elevation_m=elevation_m)
    return 101.3 * ((293.0 - 0.0065 * elevation_m) / 293.0) ** 5.26


def psychrometric_constant_kpa_c(pressure_kpa: Quantity) -> Quantity:
    """Psychrometric constant γ in kPa/°C.

    Formula: `0.000665 · P`.

    Args:
        pressure_kpa: atmospheric pressure, kPa.

    Source: FAO-56 eq. 8, example 2.
    """
    require_positive(pressure_kpa=pressure_kpa)
    return 0.000665 * pressure_kpa


def saturation_vapour_pressure_kpa(celsius: Quantity) -> Quantity:
    """Saturation vapour pressure e° in kPa at a temperature.

    Formula: `0.6108 · exp(17.27·T / (T + 237.3))`.

    Args:
        celsius: air temperature, °C.

    Source: FAO-56 eq. 11, example 3.
    """
    require_between(-90.0, 60.0, celsius=celsius)
    return 0.6108 * exp(17.27 * celsius / (celsius + 237.3))


def mean_saturation_kpa(highest_c: Quantity, lowest_c: Quantity) -> Quantity:
    """Mean saturation vapour pressure es in kPa of a day or longer.

    Formula: `(e°(Tmax) + e°(Tmin)) / 2`; not e° of the mean, which is lower.

    Args:
        highest_c: maximum temperature, °C.
        lowest_c: minimum temperature, °C.

    Source: FAO-56 eq. 12, example 3.
    """
    return (saturation_vapour_pressure_kpa(highest_c) + saturation_vapour_pressure_kpa(lowest_c)) / 2.0


def saturation_slope_kpa_c(celsius: Quantity) -> Quantity:
    """Slope Δ of the saturation vapour pressure in kPa/°C.

    Formula: `4098 · e°(T) / (T + 237.3)²`.

    Args:
        celsius: mean air temperature, °C.

    Source: FAO-56 eq. 13, example 17.
    """
    return 4098.0 * saturation_vapour_pressure_kpa(celsius) / (celsius + 237.3) ** 2


def vapour_pressure_from_extremes_kpa(
    highest_c: Quantity, lowest_c: Quantity, highest_rh_pct: Quantity, lowest_rh_pct: Quantity
) -> Quantity:
    """Actual vapour pressure ea in kPa, from the day's highest and lowest humidity.

    Formula: `(e°(Tmin)·RHmax + e°(Tmax)·RHmin) / 200`.

    Args:
        highest_c: maximum temperature, °C.
        lowest_c: minimum temperature, °C.
        highest_rh_pct: maximum relative humidity, %.
        lowest_rh_pct: minimum relative humidity, %.

    Source: FAO-56 eq. 17, example 5.
    """
    require_between(0.0, 100.0, highest_rh_pct=highest_rh_pct, lowest_rh_pct=lowest_rh_pct)
    at_dawn = saturation_vapour_pressure_kpa(lowest_c) * highest_rh_pct
    at_noon = saturation_vapour_pressure_kpa(highest_c) * lowest_rh_pct
    return (at_dawn + at_noon) / 200.0


def vapour_pressure_from_mean_kpa(highest_c: Quantity, lowest_c: Quantity, mean_rh_pct: Quantity) -> Quantity:
    """Actual vapour pressure ea in kPa, from mean humidity only.

    Formula: `RHmean / 100 · es`.

    Args:
        highest_c: maximum temperature, °C.
        lowest_c: minimum temperature, °C.
        mean_rh_pct: mean relative humidity, %.

    Opinion differs: less good than the extremes; in FAO-56's example 5 it gives 1.78 kPa against 1.70 kPa.

    Source: FAO-56 eq. 19, example 5.
    """
    require_between(0.0, 100.0, mean_rh_pct=mean_rh_pct)
    return mean_rh_pct / 100.0 * mean_saturation_kpa(highest_c, lowest_c)


def solar_declination_rad(day_of_year: Quantity) -> Quantity:
    """Solar declination δ in radians.

    Formula: `0.409 · sin(2π·J/365 − 1.39)`.

    Args:
        day_of_year: day of the year J, 1 January is 1.

    Source: FAO-56 eq. 24, example 8.
    """
    require_between(1.0, 366.0, day_of_year=day_of_year)
    return 0.409 * sin(2.0 * math.pi / 365.0 * day_of_year - 1.39)


def sunset_angle_rad(latitude_deg: Quantity, day_of_year: Quantity) -> Quantity:
    """Sunset hour angle ωs in radians; 0 where the sun stays down, π where it stays up.

    Formula: `arccos(−tan φ · tan δ)`.

    Args:
        latitude_deg: latitude φ, degrees north.
        day_of_year: day of the year.

    Source: FAO-56 eq. 25, example 8.
    """
    require_between(-89.9, 89.9, latitude_deg=latitude_deg)
    latitude = latitude_deg * (math.pi / 180.0)
    cosine = -tan(latitude) * tan(solar_declination_rad(day_of_year))
    return arccos(minimum(maximum(cosine, -1.0), 1.0))


def extraterrestrial_radiation_mj_m2(latitude_deg: Quantity, day_of_year: Quantity) -> Quantity:
    """Radiation Ra above the atmosphere in MJ/m² a day.

    Formula: `(24·60/π) · 0.0820 · dr · (ωs·sin φ·sin δ + cos φ·cos δ·sin ωs)`, `dr = 1 + 0.033·cos(2π·J/365)`.

    Args:
        latitude_deg: latitude φ, degrees north.
        day_of_year: day of the year J.

    Source: FAO-56 eq. 21 and 23, example 8.
    """
    latitude = latitude_deg * (math.pi / 180.0)
    declination = solar_declination_rad(day_of_year)
    sunset = sunset_angle_rad(latitude_deg, day_of_year)
    nearness = 1.0 + 0.033 * cos(2.0 * math.pi / 365.0 * day_of_year)
    geometry = sunset * sin(latitude) * sin(declination) + cos(latitude) * cos(declination) * sin(sunset)
    return 24.0 * 60.0 / math.pi * SOLAR_CONSTANT_MJ_M2_MIN * nearness * geometry


def daylight_hours(latitude_deg: Quantity, day_of_year: Quantity) -> Quantity:
    """Longest possible sunshine N in hours.

    Formula: `24/π · ωs`.

    Args:
        latitude_deg: latitude, degrees north.
        day_of_year: day of the year.

    Source: FAO-56 eq. 34, example 9.
    """
    return 24.0 / math.pi * sunset_angle_rad(latitude_deg, day_of_year)


def radiation_from_sunshine_mj_m2(
    sunshine_h: Quantity, daylight_h: Quantity, extraterrestrial_mj_m2: Quantity
) -> Quantity:
    """Solar radiation Rs in MJ/m² a day, from hours of sunshine.

    Formula: `(0.25 + 0.50·n/N) · Ra`.

    Args:
        sunshine_h: hours of sunshine n.
        daylight_h: longest possible N, h.
        extraterrestrial_mj_m2: radiation above the atmosphere, MJ/m² a day.

    Source: FAO-56 eq. 35, example 10.
    """
    require_not_negative(sunshine_h=sunshine_h, extraterrestrial_mj_m2=extraterrestrial_mj_m2)
    require_positive(daylight_h=daylight_h)
    return (0.25 + 0.50 * sunshine_h / daylight_h) * extraterrestrial_mj_m2


def clear_sky_radiation_mj_m2(elevation_m: Quantity, extraterrestrial_mj_m2: Quantity) -> Quantity:
    """Solar radiation Rso of a cloudless day in MJ/m².

    Formula: `(0.75 + 0.00002·z) · Ra`.

    Args:
        elevation_m: height above sea level z, m.
        extraterrestrial_mj_m2: radiation above the atmosphere, MJ/m² a day.

    Source: FAO-56 eq. 37, example 18.
    """
    return (0.75 + 2e-5 * elevation_m) * extraterrestrial_mj_m2


def net_longwave_mj_m2(
    highest_c: Quantity,
    lowest_c: Quantity,
    vapour_pressure_kpa: Quantity,
    solar_mj_m2: Quantity,
    clear_sky_mj_m2: Quantity,
) -> Quantity:
    """Net outgoing long-wave radiation Rnl in MJ/m² a day.

    Formula: `σ · (Tmax⁴ + Tmin⁴)/2 · (0.34 − 0.14·√ea) · (1.35·Rs/Rso − 0.35)`, temperatures in K, Rs/Rso at most 1.

    Args:
        highest_c: maximum temperature, °C.
        lowest_c: minimum temperature, °C.
        vapour_pressure_kpa: actual vapour pressure, kPa.
        solar_mj_m2: solar radiation, MJ/m² a day.
        clear_sky_mj_m2: solar radiation of a cloudless day, MJ/m².

    Source: FAO-56 eq. 39, example 18.
    """
    require_positive(clear_sky_mj_m2=clear_sky_mj_m2)
    fourth = ((highest_c + KELVIN_OFFSET) ** 4 + (lowest_c + KELVIN_OFFSET) ** 4) / 2.0
    humidity = 0.34 - 0.14 * sqrt(vapour_pressure_kpa)
    cloud = 1.35 * minimum(solar_mj_m2 / clear_sky_mj_m2, 1.0) - 0.35
    return STEFAN_BOLTZMANN_MJ_K4_M2_DAY * fourth * humidity * cloud


def net_radiation_mj_m2(solar_mj_m2: Quantity, longwave_mj_m2: Quantity) -> Quantity:
    """Net radiation Rn over grass in MJ/m² a day.

    Formula: `0.77·Rs − Rnl`.

    Args:
        solar_mj_m2: solar radiation, MJ/m² a day.
        longwave_mj_m2: net outgoing long-wave radiation, MJ/m² a day.

    Source: FAO-56 eq. 38 and 40, example 18.
    """
    return (1.0 - GRASS_ALBEDO) * solar_mj_m2 - longwave_mj_m2


def wind_at_2_m_m_s(wind_m_s: Quantity, height_m: Quantity) -> Quantity:
    """Wind speed u₂ in m/s at 2 m, from another height.

    Formula: `u · 4.87 / ln(67.8·z − 5.42)`.

    Args:
        wind_m_s: wind speed, m/s.
        height_m: height of the anemometer z, m.

    Source: FAO-56 eq. 47, example 14.
    """
    require_not_negative(wind_m_s=wind_m_s)
    require_between(0.1, 100.0, height_m=height_m)
    return wind_m_s * 4.87 / log(67.8 * height_m - 5.42)


def reference_evaporation_mm(
    *,
    highest_c: Quantity,
    lowest_c: Quantity,
    vapour_pressure_kpa: Quantity,
    wind_2_m_m_s: Quantity,
    net_radiation_mj_m2: Quantity,
    elevation_m: Quantity,
    soil_heat_mj_m2: Quantity = 0.0,
) -> Quantity:
    """Reference evaporation ETo of short grass in mm a day, Penman–Monteith.

    Formula: `(0.408·Δ·(Rn−G) + γ·900/(T+273)·u₂·(es−ea)) / (Δ + γ·(1+0.34·u₂))`.

    Args:
        highest_c: maximum temperature, °C.
        lowest_c: minimum temperature, °C.
        vapour_pressure_kpa: actual vapour pressure, kPa.
        wind_2_m_m_s: wind speed at 2 m, m/s.
        net_radiation_mj_m2: net radiation, MJ/m² a day.
        elevation_m: height above sea level, m.
        soil_heat_mj_m2: heat into the soil, MJ/m² a day; zero over a day (FAO-56 eq. 42).

    Source: FAO-56 eq. 6, examples 17 and 18.
    """
    require_not_negative(vapour_pressure_kpa=vapour_pressure_kpa, wind_2_m_m_s=wind_2_m_m_s)
    mean_c = (highest_c + lowest_c) / 2.0
    slope = saturation_slope_kpa_c(mean_c)
    gamma = psychrometric_constant_kpa_c(atmospheric_pressure_kpa(elevation_m))
    dryness = mean_saturation_kpa(highest_c, lowest_c) - vapour_pressure_kpa
    by_sun = MM_PER_MJ_M2 * slope * (net_radiation_mj_m2 - soil_heat_mj_m2)
    by_wind = gamma * 900.0 / (mean_c + 273.0) * wind_2_m_m_s * dryness
    return (by_sun + by_wind) / (slope + gamma * (1.0 + 0.34 * wind_2_m_m_s))


def hargreaves_evaporation_mm(
    mean_c: Quantity, highest_c: Quantity, lowest_c: Quantity, extraterrestrial_mj_m2: Quantity
) -> Quantity:
    """Reference evaporation in mm a day from temperatures only, Hargreaves.

    Formula: `0.0023 · (T + 17.8) · √(Tmax − Tmin) · 0.408 · Ra`.

    Args:
        mean_c: mean temperature, °C.
        highest_c: maximum temperature, °C.
        lowest_c: minimum temperature, °C.
        extraterrestrial_mj_m2: radiation above the atmosphere, MJ/m² a day.

    Opinion differs: it reads high in humid places and low in wind (FAO-56 chapter 3).

    Source: FAO-56 eq. 52, example 20.
    """
    require_not_negative(range_c=highest_c - lowest_c)
    span = sqrt(highest_c - lowest_c)
    return 0.0023 * (mean_c + 17.8) * span * MM_PER_MJ_M2 * extraterrestrial_mj_m2
