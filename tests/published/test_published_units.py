"""Every factor that stands beside pint, against pint, and against what the trade's tables print."""

import pint
import pytest

from pipeline.agronomy import units
from tests.outside_checks import outside

PINT = {
    "MM_PER_INCH": ("inch", "mm"),
    "M_PER_FOOT": ("foot", "m"),
    "M2_PER_FT2": ("foot**2", "m**2"),
    "M2_PER_ACRE": ("4840 * yard**2", "m**2"),
    "KG_PER_LB": ("pound", "kg"),
    "KG_PER_SHORT_TON": ("short_ton", "kg"),
    "L_PER_US_GALLON": ("gallon", "liter"),
    "KG_HA_PER_LB_ACRE": ("pound/(4840*yard**2)", "kg/hectare"),
}


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@outside("library", "pint")
@pytest.mark.parametrize("name", [name for name in vars(units) if name.isupper()])
def test_factor_agrees_with_pint(registry, name):
    ours, si = (registry.parse_expression(unit) for unit in PINT[name])
    assert getattr(units, name) == pytest.approx((ours / si).to("dimensionless").magnitude, rel=1e-12)


@outside("figure", "table 1 of the topdressing paper, Maximum Academic Press: 328, 7.15 and 16.0")
def test_T2_the_right_entries_of_the_topdressing_paper_agree_with_each_other():
    """328 lb/1000 ft², 7.15 short tons an acre and 16.0 t/ha are one and the same litre a square metre."""
    assert pytest.approx(1602, abs=2) == 328 * units.KG_PER_LB / units.M2_PER_FT2
    assert pytest.approx(1.602, abs=0.002) == 7.15 * units.KG_PER_SHORT_TON / units.M2_PER_ACRE
