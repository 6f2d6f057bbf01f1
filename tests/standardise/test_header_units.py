"""Units at the end of a header: a short word is another word more often than a unit."""

from __future__ import annotations

import pytest

from pipeline.standardise.cells.header_units import parted

UNITS = [
    ("Time_sec", "Time", "sec"), ("time_min", "time", "min"), ("Ran for (min)", "Ran for", "min"),
    ("depth_mm", "depth", "mm"), ("Depth in", "Depth", "in"), ("rain_in", "rain", "in"), ("Temp_C", "Temp", "C"),
    ("tmax_f", "tmax", "f"), ("Air temp (°C)", "Air temp", "°C"), ("mass_kg", "mass", "kg"), ("sun_h", "sun", "h"),
    ("Infiltration cm/hr", "Infiltration", "cm/hr"), ("speed_s", "speed", "s"), ("distance_m", "distance", "m"),
    ("K_mg/kg", "K", "mg/kg"), ("Soaked for min", "Soaked for", "min"),
    ("percent_total_C", "total_C", "%"), ("percent_CaCO3_C", "CaCO3_C", "%"),
]  # fmt: skip
WORDS = [
    "temp_min", "Temp (min)", "tmin", "Air min", "RH min", "lat_min", "total_C",
    "exch_S", "Total S", "organic C", "Time in", "Clock in", "cm/hr", "About us", "mm/day", "soil_F", "soluble_s",
    "min",
]  # fmt: skip


@pytest.mark.parametrize(("header", "name", "unit"), UNITS)
def test_a_unit_at_the_end_of_a_header(header: str, name: str, unit: str) -> None:
    assert parted(header) == (name, unit)


@pytest.mark.parametrize("header", WORDS)
def test_a_short_word_at_the_end_of_a_header_is_no_unit(header: str) -> None:
    """Guards against a lowest temperature in minutes, carbon in °C, sulphur in seconds, a rate in hours."""
    assert parted(header) == (header, "")
