"""Every conversion factor against pint, and against the figures that the trade's tables print."""

import pint
import pytest
from published_checks import CASE, check, given

from pipeline.agronomy import units

pytestmark = pytest.mark.published

PINT = [
    (units.mm_from_inch, (), "inch", "mm"),
    (units.m_from_foot, (), "foot", "m"),
    (units.m_from_yard, (), "yard", "m"),
    (units.m2_from_ft2, (), "foot**2", "m**2"),
    (units.m2_from_yd2, (), "yard**2", "m**2"),
    (units.m2_from_acre, (), "4840 * yard**2", "m**2"),
    (units.m3_from_ft3, (), "foot**3", "m**3"),
    (units.m3_from_yd3, (), "yard**3", "m**3"),
    (units.l_from_gallon, ("imperial",), "imperial_gallon", "liter"),
    (units.l_from_gallon, ("us",), "gallon", "liter"),
    (units.kg_from_lb, (), "pound", "kg"),
    (units.kg_from_oz, (), "ounce", "kg"),
    (units.kg_from_ton, ("metric",), "metric_ton", "kg"),
    (units.kg_from_ton, ("long",), "long_ton", "kg"),
    (units.kg_from_ton, ("short",), "short_ton", "kg"),
    (units.kg_ha_from_g_m2, (), "g/m**2", "kg/hectare"),
    (units.g_m2_from_kg_ha, (), "kg/hectare", "g/m**2"),
    (units.g_m2_from_oz_yd2, (), "ounce/yard**2", "g/m**2"),
    (units.g_m2_from_lb_1000ft2, (), "pound/(1000*foot**2)", "g/m**2"),
    (units.lb_1000ft2_from_g_m2, (), "g/m**2", "pound/(1000*foot**2)"),
    (units.kg_ha_from_lb_acre, (), "pound/(4840*yard**2)", "kg/hectare"),
    (units.lb_acre_from_kg_ha, (), "kg/hectare", "pound/(4840*yard**2)"),
    (units.kg_m2_from_t_ha, (), "metric_ton/hectare", "kg/m**2"),
    (units.mm_from_ft3_1000ft2, (), "foot**3/(1000*foot**2)", "mm"),
    (units.t_m3_from_lb_ft3, (), "pound/foot**3", "metric_ton/m**3"),
    (units.m_s_from_km_h, (), "km/hour", "m/s"),
    (units.pct_from_g_kg, (), "g/kg", "percent"),
]


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@pytest.mark.parametrize(
    ("function", "kind", "from_unit", "to_unit"), PINT, ids=[f"{p[0].__name__}{p[1]} against pint" for p in PINT]
)
def test_factor_agrees_with_pint(registry, function, kind, from_unit, to_unit):
    target = registry.parse_expression(to_unit)
    expected = (7.0 * registry.parse_expression(from_unit) / target).to("dimensionless").magnitude
    assert function(7.0, *kind) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("celsius", [-40.0, 0.0, 13.5, 37.0])
def test_temperature_agrees_with_pint(registry, celsius):
    expected = registry.Quantity(celsius, "degC").to("degF").magnitude
    assert units.fahrenheit_from_celsius(celsius) == pytest.approx(expected, abs=1e-9)
    assert units.celsius_from_fahrenheit(expected) == pytest.approx(celsius, abs=1e-9)


@pytest.mark.parametrize(
    CASE,
    [
        check("4.2", units.kg_ha_from_g_m2, (1,), 10, 1e-12, "definition"),
        check("4.2", units.lb_1000ft2_from_g_m2, (1,), 0.20482, 5e-6, "definition"),
        check("4.2", units.g_m2_from_lb_1000ft2, (1,), 4.88243, 5e-6, "definition"),
        check("4.2", units.lb_acre_from_kg_ha, (1,), 0.89218, 5e-6, "definition"),
        check("4.2", units.g_m2_from_oz_yd2, (1,), 33.906, 5e-4, "definition"),
        check("5.5", units.mmolc_kg_from_meq_100g, (2.22,), 22.2, 1e-9, "definition"),
        check("9.2", units.m_s_from_km_h, (10,), 2.778, 5e-4, "FAO-56 example 18"),
        check("0 T2 row", units.mm_from_ft3_1000ft2, (3.28,), 1.0, 5e-4, "MAP topdressing paper table 1"),
    ],
)
def test_published_figure(function, arguments, expected, tolerance):
    assert given(function, arguments) == pytest.approx(expected, abs=tolerance)


def test_T2_the_right_entries_of_the_topdressing_paper_agree_with_each_other():
    """328 lb/1000 ft², 7.15 short tons an acre and 16.0 t/ha are one and the same litre a square metre."""
    assert units.g_m2_from_lb_1000ft2(328) == pytest.approx(1602, abs=2)
    assert units.kg_from_ton(7.15, "short") / units.m2_from_acre(1) == pytest.approx(1.602, abs=0.002)
    assert units.kg_m2_from_t_ha(16.0) == pytest.approx(1.602, abs=0.003)
