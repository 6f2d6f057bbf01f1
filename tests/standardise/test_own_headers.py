"""A kind's own names with another unit at their end: the field in that unit, or no name of it at all."""

from __future__ import annotations

import pytest

from pipeline.standardise.own_headers import named_by
from schemas import KINDS

NAMED = [
    ("job", "Qty kg", "quantity", "kg"), ("job", "Qty (bags)", "quantity", "bags"),
    ("job", "Depth cm", "depth_mm", "cm"),
    ("job", "area (sq yd)", "treated_area_m2", "sq yd"), ("job", "HOC (in)", "cut_height_mm", "in"),
    ("job", "Rate lb/1000 sq ft", "rate", "lb/1000 sq ft"), ("green", "area_ha", "area_m2", "ha"),
    ("green", "Length (yd)", "length_m", "yd"), ("green", "Elevation ft", "elevation_m", "ft"),
    ("soil_test", "Bottom in", "depth_to_mm", "in"), ("soil_test", "Ignition temperature (°F)", "burn_c", "°F"),
    ("weather_day", "Rain (in)", "rain_mm", "in"), ("weather_day", "Tmax (°F)", "tmax_c", "°F"),
    ("weather_day", "Rain mm/day", "rain_mm", "mm"), ("weather_day", "wind mph", "wind_m_s", "mph"),
    ("observation", "Ring (in)", "ring_mm", "in"), ("observation", "Time (s)", "minutes", "s"),
    ("level", "Height (ft)", "z_mm", "ft"), ("sieve", "Size (µm)", "size_mm", "µm"),
    ("material", "Density g/ml", "density_kg_l", "g/ml"), ("green_speed", "Length (yd)", "distance_m", "yd"),
]  # fmt: skip
NO_NAME = [
    ("job", "Used in"), ("job", "Hours (min)"), ("job", "Qty in"), ("job", "Depth kg"), ("job", "Rate kg"),
    ("soil_test", "Result (mg/kg)"), ("observation", "Value %"), ("green", "Area code"), ("weather_day", "Rain days"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "header", "field", "unit"), NAMED)
def test_a_known_name_with_a_unit_is_the_field_in_that_unit(kind: str, header: str, field: str, unit: str) -> None:
    """Guards against a column of figures that is only “not used”."""
    (named,) = named_by([header], KINDS[kind])
    assert named is not None
    assert (named.field.name, named.unit) == (field, unit)


@pytest.mark.parametrize(("kind", "header"), NO_NAME)
def test_another_sort_of_unit_makes_no_name(kind: str, header: str) -> None:
    """Guards against a depth in kilograms, a rate without its area, a material “used in” inches."""
    assert named_by([header], KINDS[kind]) == [None]


def test_the_name_as_it_stands_comes_first() -> None:
    """Beside the field's very name, the same in another unit is a column of its own that nothing asks for."""
    own, other = named_by(["depth_mm", "Depth in"], KINDS["job"])
    assert own is not None
    assert (own.field.name, other) == ("depth_mm", None)


def test_the_same_in_two_units_is_two_columns_for_one_field() -> None:
    both = named_by(["Rain (in)", "rain cm"], KINDS["weather_day"])
    assert [one.field.name for one in both if one] == ["rain_mm", "rain_mm"]
