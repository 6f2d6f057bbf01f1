"""US customary units of display: every factor against pint, published tables and the trade's own examples."""

import pint
import pytest

from pipeline.workspace.customary import AGAIN, CUSTOMARY, PRICES
from tests.outside_checks import outside

IN_PINT = {
    "mm": ("mm", "inch"),
    "mm/h": ("mm/hour", "inch/hour"),
    "m": ("m", "foot"),
    "m²": ("m**2", "foot**2"),
    "kg": ("kg", "pound"),
    "t": ("metric_ton", "short_ton"),
    "kg/m²": ("kg/m**2", "pound/(1000*foot**2)"),
    "g/m²": ("g/m**2", "pound/(1000*foot**2)"),
    "kg/ha": ("kg/hectare", "pound/(1000*foot**2)"),
    "l": ("liter", "gallon"),
    "l/m²": ("liter/m**2", "foot**3/(1000*foot**2)"),
    "ml/m²": ("milliliter/m**2", "fluid_ounce/(1000*foot**2)"),
    "holes/m²": ("1/m**2", "1/foot**2"),
    "mm/m": ("mm/m", "percent"),
    "°C": ("delta_degree_Celsius", "delta_degree_Fahrenheit"),
    "°C d": ("delta_degree_Celsius*day", "delta_degree_Fahrenheit*day"),
    "m/s": ("m/s", "mile/hour"),
    "mg/kg": ("mg/kg", "ppm"),
    "t/m³": ("metric_ton/m**3", "g/cm**3"),
    "g N/m²": ("g/m**2", "pound/(1000*foot**2)"),
    "kg N": ("kg", "pound"),
    "m²/h": ("m**2/hour", "foot**2/hour"),
    "km": ("km", "mile"),
}
PINT: pint.UnitRegistry = pint.UnitRegistry()


def ratio(si: str, customary: str) -> float:
    """How many of the customary unit are in one SI unit."""
    return float((PINT.parse_expression(si) / PINT.parse_expression(customary)).to("dimensionless").magnitude)


@outside("library", "pint")
@pytest.mark.parametrize("unit", CUSTOMARY)
def test_factor_against_pint(unit: str) -> None:
    assert CUSTOMARY[unit].factor == pytest.approx(ratio(*IN_PINT[unit]), rel=1e-12)


@outside("library", "pint")
def test_other_factors_against_pint() -> None:
    assert AGAIN["g/m²"].factor == pytest.approx(ratio("g/m**2", "pound/(4840*yard**2)"), rel=1e-12)
    assert PRICES["kg"].factor == pytest.approx(ratio("1/kg", "1/pound"), rel=1e-12)
    assert PRICES["m²"].factor == pytest.approx(ratio("1/m**2", "1/(1000*foot**2)"), rel=1e-12)


@pytest.mark.parametrize(
    ("unit", "customary", "expected"),
    [
        # NIST SP 811 (2008), table B.8, row by its name; figures from memory
        ("mm", 1, 25.4),  # inch to millimeter
        ("m", 1, 0.3048),  # foot to meter
        ("m²", 1, 9.290304e-2),  # square foot to square meter
        ("kg", 1, 0.4535924),  # pound (avoirdupois) to kilogram
        ("t", 1, 0.9071847),  # ton, short (2000 lb) to kilogram, 9.071 847 E+02
        ("l", 1, 3.785412),  # gallon (US) to liter
        ("kg/m²", 1000, 4.882428),  # pound per square foot to kilogram per square meter
        ("°C d", 1.8, 1.0),  # degree Fahrenheit (interval) to degree Celsius, 5.555 556 E-01
        ("m/s", 1, 0.44704),  # mile per hour to meter per second
        ("ml/m²", 1, 29.57353 / 92.90304),  # fluid ounce (US) to milliliter, over 1000 square feet
    ],
)
def test_factor_against_the_table_of_nist(unit: str, customary: float, expected: float) -> None:
    assert customary / CUSTOMARY[unit].factor == pytest.approx(expected, rel=2e-7)


@pytest.mark.parametrize(
    ("si", "unit", "expected", "tolerance"),
    [
        (1.0, "g/m²", 0.20482, 5e-6),  # by definition
        (732, "g/m²", 150, 0.2),  # 150 lb of sand on 1000 square feet, by definition
        (12.2, "l/m²", 40, 0.1),  # 40 ft³/1000 ft² is 12.2 mm, by definition
        *(
            pytest.param(si, unit, expected, tolerance, marks=outside("figure", source))
            for si, unit, expected, tolerance, source in (
                (8.1, "kg/m²", 1656, 5, "ATC, 20 August 2017: 1,656 lb/1000 ft² make 5.4 mm at 1.5 t/m³"),
                (6.0, "l/m²", 20.3, 0.7, "Schmid et al. 2014, quoted by ATC 2020-08-03: 20.3 ft³/1000 ft² is 6 mm"),
                (7.6, "l/m²", 25, 0.2, "Whitlark & Thompson 2019, quoted by ATC 2020-08-03: 7.6 to 10.7 mm"),
                (10.7, "l/m²", 35, 0.2, "Whitlark & Thompson 2019, quoted by ATC 2020-08-03: 7.6 to 10.7 mm"),
                (1.0, "l/m²", 3.28, 5e-3, "table 1 of the topdressing paper, Maximum Academic Press"),
            )
        ),
    ],
)
def test_figures_the_trade_prints(si: float, unit: str, expected: float, tolerance: float) -> None:
    assert CUSTOMARY[unit].value(si) == pytest.approx(expected, abs=tolerance)


def test_a_temperature_is_not_a_difference() -> None:
    """Fixed points of water; a difference, and a sum of degrees over days, goes by the factor alone."""
    celsius = CUSTOMARY["°C"]
    assert [celsius.value(t) for t in (-40, 0, 100)] == pytest.approx([-40, 32, 212])
    assert celsius.value(10, difference=True) == pytest.approx(18)
    assert CUSTOMARY["°C d"].value(100) == pytest.approx(180)
