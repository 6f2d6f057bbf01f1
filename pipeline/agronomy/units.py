"""Exact conversions between the units the trade writes and the SI units the store keeps.

Every factor follows from the international inch and pound (1959), the UK and US gallon and the three tons;
the suite holds each against pint.
"""

from __future__ import annotations

from typing import Literal

from pipeline.agronomy.maths import Quantity, require_one_of

MM_PER_INCH = 25.4
M_PER_FOOT = 0.3048
M_PER_YARD = 0.9144
M2_PER_FT2 = M_PER_FOOT**2
M2_PER_YD2 = M_PER_YARD**2
M2_PER_ACRE = 4840 * M2_PER_YD2
M2_PER_HECTARE = 10_000.0
M3_PER_FT3 = M_PER_FOOT**3
M3_PER_YD3 = M_PER_YARD**3
KG_PER_LB = 0.45359237
KG_PER_OZ = KG_PER_LB / 16

Ton = Literal["metric", "long", "short"]
KG_PER_TON: dict[Ton, float] = {"metric": 1000.0, "long": 2240 * KG_PER_LB, "short": 2000 * KG_PER_LB}
"""Tonne of 1000 kg; the UK (long) ton of 2240 lb; the US (short) ton of 2000 lb: up to 12 % apart."""

Gallon = Literal["imperial", "us"]
L_PER_GALLON: dict[Gallon, float] = {"imperial": 4.54609, "us": 231 * (MM_PER_INCH / 100) ** 3}
"""UK gallon (Weights and Measures Act 1985) and US gallon of 231 cubic inches: 20 % apart."""


def mm_from_inch(inches: Quantity) -> Quantity:
    """Length in mm.

    Formula: `inches · 25.4`.

    Args:
        inches: length, inches.

    Source: definition (international inch).
    """
    return inches * MM_PER_INCH


def m_from_foot(feet: Quantity) -> Quantity:
    """Length in m.

    Formula: `feet · 0.3048`.

    Args:
        feet: length, feet.

    Source: definition (international foot).
    """
    return feet * M_PER_FOOT


def m_from_yard(yards: Quantity) -> Quantity:
    """Length in m.

    Formula: `yards · 0.9144`.

    Args:
        yards: length, yards.

    Source: definition (international yard).
    """
    return yards * M_PER_YARD


def m2_from_ft2(square_feet: Quantity) -> Quantity:
    """Area in m².

    Formula: `ft² · 0.3048²`.

    Args:
        square_feet: area, ft².

    Source: definition.
    """
    return square_feet * M2_PER_FT2


def m2_from_yd2(square_yards: Quantity) -> Quantity:
    """Area in m².

    Formula: `yd² · 0.9144²`.

    Args:
        square_yards: area, yd².

    Source: definition.
    """
    return square_yards * M2_PER_YD2


def m2_from_acre(acres: Quantity) -> Quantity:
    """Area in m².

    Formula: `acres · 4840 · 0.9144²`.

    Args:
        acres: area, acres.

    Source: definition (4840 square yards).
    """
    return acres * M2_PER_ACRE


def m3_from_ft3(cubic_feet: Quantity) -> Quantity:
    """Volume in m³.

    Formula: `ft³ · 0.3048³`.

    Args:
        cubic_feet: volume, ft³.

    Source: definition.
    """
    return cubic_feet * M3_PER_FT3


def m3_from_yd3(cubic_yards: Quantity) -> Quantity:
    """Volume in m³.

    Formula: `yd³ · 0.9144³`.

    Args:
        cubic_yards: volume, yd³.

    Source: definition.
    """
    return cubic_yards * M3_PER_YD3


def l_from_gallon(gallons: Quantity, gallon: Gallon) -> Quantity:
    """Volume in litres.

    Formula: `gallons · 4.54609` (imperial) or `· 3.785411784` (US).

    Args:
        gallons: volume, gallons.
        gallon: which gallon.

    Source: definition (Weights and Measures Act 1985; 231 cubic inches).
    """
    require_one_of(("imperial", "us"), gallon=gallon)
    return gallons * L_PER_GALLON[gallon]


def kg_from_lb(pounds: Quantity) -> Quantity:
    """Mass in kg.

    Formula: `lb · 0.45359237`.

    Args:
        pounds: mass, lb.

    Source: definition (international pound).
    """
    return pounds * KG_PER_LB


def kg_from_oz(ounces: Quantity) -> Quantity:
    """Mass in kg.

    Formula: `oz · 0.45359237 / 16`.

    Args:
        ounces: mass, avoirdupois ounces.

    Source: definition.
    """
    return ounces * KG_PER_OZ


def kg_from_ton(tons: Quantity, ton: Ton) -> Quantity:
    """Mass in kg.

    Formula: `tons · 1000` (metric), `· 1016.0469088` (long) or `· 907.18474` (short).

    Args:
        tons: mass, tons.
        ton: which ton.

    Source: definition.
    """
    require_one_of(("metric", "long", "short"), ton=ton)
    return tons * KG_PER_TON[ton]


def kg_ha_from_g_m2(g_m2: Quantity) -> Quantity:
    """Mass over area in kg/ha.

    Formula: `g/m² · 10`.

    Args:
        g_m2: mass over area, g/m².

    Source: definition.
    """
    return g_m2 * 10.0


def g_m2_from_kg_ha(kg_ha: Quantity) -> Quantity:
    """Mass over area in g/m².

    Formula: `kg/ha / 10`.

    Args:
        kg_ha: mass over area, kg/ha.

    Source: definition.
    """
    return kg_ha / 10.0


def g_m2_from_oz_yd2(oz_yd2: Quantity) -> Quantity:
    """Mass over area in g/m².

    Formula: `oz/yd² · 33.9057…`; the trade's "35 g/m² is 1 oz/yd²" is a rounding.

    Args:
        oz_yd2: mass over area, oz/yd².

    Source: definition.
    """
    return oz_yd2 * (1000.0 * KG_PER_OZ / M2_PER_YD2)


def g_m2_from_lb_1000ft2(lb_1000ft2: Quantity) -> Quantity:
    """Mass over area in g/m².

    Formula: `lb/1000 ft² · 4.88243`.

    Args:
        lb_1000ft2: mass over area, lb/1000 ft².

    Source: definition.
    """
    return lb_1000ft2 * (KG_PER_LB / M2_PER_FT2)


def lb_1000ft2_from_g_m2(g_m2: Quantity) -> Quantity:
    """Mass over area in lb/1000 ft².

    Formula: `g/m² · 0.204816`.

    Args:
        g_m2: mass over area, g/m².

    Source: definition.
    """
    return g_m2 * (M2_PER_FT2 / KG_PER_LB)


def kg_ha_from_lb_acre(lb_acre: Quantity) -> Quantity:
    """Mass over area in kg/ha.

    Formula: `lb/acre · 1.12085`.

    Args:
        lb_acre: mass over area, lb/acre.

    Source: definition.
    """
    return lb_acre * (KG_PER_LB * M2_PER_HECTARE / M2_PER_ACRE)


def lb_acre_from_kg_ha(kg_ha: Quantity) -> Quantity:
    """Mass over area in lb/acre.

    Formula: `kg/ha · 0.892179`; two published tables print 0.9822, a slip of digits.

    Args:
        kg_ha: mass over area, kg/ha.

    Source: definition.
    """
    return kg_ha * (M2_PER_ACRE / M2_PER_HECTARE / KG_PER_LB)


def kg_m2_from_t_ha(t_ha: Quantity) -> Quantity:
    """Mass over area in kg/m².

    Formula: `t/ha / 10` (the tonne of 1000 kg; 1 t/ha is 1 Mg/ha).

    Args:
        t_ha: mass over area, t/ha.

    Source: definition.
    """
    return t_ha / 10.0


def mm_from_ft3_1000ft2(ft3_1000ft2: Quantity) -> Quantity:
    """Depth in mm of a volume over an area.

    Formula: `ft³/1000 ft² · 0.3048`.

    Args:
        ft3_1000ft2: volume over area, ft³/1000 ft².

    Source: definition.
    """
    return ft3_1000ft2 * M_PER_FOOT


def t_m3_from_lb_ft3(lb_ft3: Quantity) -> Quantity:
    """Density in t/m³, which is kg/L and g/cm³.

    Formula: `lb/ft³ · 0.0160185`.

    Args:
        lb_ft3: density, lb/ft³.

    Source: definition.
    """
    return lb_ft3 * (KG_PER_LB / M3_PER_FT3 / 1000.0)


def celsius_from_fahrenheit(fahrenheit: Quantity) -> Quantity:
    """Temperature in °C.

    Formula: `(°F − 32) / 1.8`.

    Args:
        fahrenheit: temperature, °F.

    Source: definition.
    """
    return (fahrenheit - 32.0) / 1.8


def fahrenheit_from_celsius(celsius: Quantity) -> Quantity:
    """Temperature in °F.

    Formula: `°C · 1.8 + 32`.

    Args:
        celsius: temperature, °C.

    Source: definition.
    """
    return celsius * 1.8 + 32.0


def m_s_from_km_h(km_h: Quantity) -> Quantity:
    """Speed in m/s.

    Formula: `km/h / 3.6`.

    Args:
        km_h: speed, km/h.

    Source: definition.
    """
    return km_h / 3.6


def pct_from_g_kg(g_kg: Quantity) -> Quantity:
    """Percentage by mass.

    Formula: `g/kg / 10`.

    Args:
        g_kg: mass fraction, g/kg.

    Source: definition.
    """
    return g_kg / 10.0


def mmolc_kg_from_meq_100g(meq_100g: Quantity) -> Quantity:
    """Charge over mass in mmolc/kg.

    Formula: `meq/100 g · 10` (1 meq/100 g is 1 cmolc/kg).

    Args:
        meq_100g: charge over mass, meq/100 g.

    Source: definition.
    """
    return meq_100g * 10.0
