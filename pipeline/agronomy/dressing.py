"""Top dressing: what a mass of sand or mix is as a depth, and back.

Depth always rests on a bulk density and a moisture that somebody states: neither has a default here.
"""

from __future__ import annotations

from typing import Literal

from pipeline.agronomy.maths import (
    Quantity,
    ceil,
    require_between,
    require_not_negative,
    require_one_of,
    require_positive,
)

MoistureBasis = Literal["dry", "wet"]
"""Water over dry mass (dry, the soil laboratory's) or over moist mass (wet, many suppliers')."""

KG_PER_T = 1000.0
MOST_YEAR_MM = 15.0
"""Depth of dressing that a green takes in a year at most, mm: five lifts of 3 mm (common practice, no source)."""


def depth_mm(mass_kg_m2: Quantity, bulk_density_t_m3: Quantity) -> Quantity:
    """Depth in mm of a dressing, from its dry mass a square metre.

    Formula: `mass / bulk density`.

    Args:
        mass_kg_m2: dry mass over area, kg/m².
        bulk_density_t_m3: bulk density of the dry material as it lies, t/m³.

    Source: definition; 8.1 kg/m² at 1.5 t/m³ is 5.4 mm in Hempfling et al. 2017 as quoted by ATC 2020-05-01.
    """
    require_not_negative(mass_kg_m2=mass_kg_m2)
    require_positive(bulk_density_t_m3=bulk_density_t_m3)
    return mass_kg_m2 / bulk_density_t_m3


def mass_kg_m2(depth_mm: Quantity, bulk_density_t_m3: Quantity) -> Quantity:
    """Dry mass a square metre in kg, from the depth of a dressing.

    Formula: `depth · bulk density`.

    Args:
        depth_mm: depth, mm.
        bulk_density_t_m3: bulk density of the dry material as it lies, t/m³.

    Source: definition; 1 mm is 1.5 kg/m² at 1.5 t/m³ in ATC 2017-09-03.
    """
    require_not_negative(depth_mm=depth_mm)
    require_positive(bulk_density_t_m3=bulk_density_t_m3)
    return depth_mm * bulk_density_t_m3


def dry_mass_kg(mass_kg: Quantity, moisture_pct: Quantity, basis: MoistureBasis) -> Quantity:
    """Dry mass in kg of a moist material.

    Formula: dry basis `mass / (1 + w)`; wet basis `mass · (1 − w)`, w as a fraction.

    Args:
        mass_kg: mass as delivered, kg.
        moisture_pct: moisture, %.
        basis: what the moisture is a percentage of.

    Opinion differs: laboratories state moisture on the dry mass, many suppliers on the moist mass; at 6 % the
    two differ by 0.4 %, at 20 % by 4 %. The supplier has to be asked.

    Source: definition (dry basis: ISO 11465, from memory).
    """
    require_one_of(("dry", "wet"), basis=basis)
    require_not_negative(mass_kg=mass_kg, moisture_pct=moisture_pct)
    if basis == "dry":
        return mass_kg / (1.0 + moisture_pct / 100.0)
    require_between(0.0, 100.0, moisture_pct=moisture_pct)
    return mass_kg * (1.0 - moisture_pct / 100.0)


def volume_m3(mass_kg: Quantity, bulk_density_t_m3: Quantity) -> Quantity:
    """Volume in m³ of a mass.

    Formula: `mass / 1000 / bulk density`.

    Args:
        mass_kg: mass, kg.
        bulk_density_t_m3: bulk density in the same state of moisture, t/m³.

    Source: definition.
    """
    require_not_negative(mass_kg=mass_kg)
    require_positive(bulk_density_t_m3=bulk_density_t_m3)
    return mass_kg / KG_PER_T / bulk_density_t_m3


def mass_of_volume_kg(volume_m3: Quantity, bulk_density_t_m3: Quantity) -> Quantity:
    """Mass in kg of a volume.

    Formula: `volume · 1000 · bulk density`.

    Args:
        volume_m3: volume, m³.
        bulk_density_t_m3: bulk density in the same state of moisture, t/m³.

    Source: definition.
    """
    require_not_negative(volume_m3=volume_m3)
    require_positive(bulk_density_t_m3=bulk_density_t_m3)
    return volume_m3 * KG_PER_T * bulk_density_t_m3


def part_of_mix_kg(mass_kg: Quantity, share_pct: Quantity) -> Quantity:
    """Mass in kg of one part of a mix whose shares are by mass.

    Formula: `mass · share / 100`.

    Args:
        mass_kg: mass of the mix, kg.
        share_pct: share of the part by mass, %.

    Source: definition.
    """
    require_not_negative(mass_kg=mass_kg)
    require_between(0.0, 100.0, share_pct=share_pct)
    return mass_kg * share_pct / 100.0


def part_of_mix_by_volume_kg(
    mass_kg: Quantity, share_pct: Quantity, part_density_t_m3: Quantity, rest_density_t_m3: Quantity
) -> Quantity:
    """Mass in kg of one part of a mix of two whose shares are by volume.

    Formula: `mass · v·ρ₁ / (v·ρ₁ + (1−v)·ρ₂)`, v the share by volume of the part as a fraction.

    Args:
        mass_kg: mass of the mix, kg.
        share_pct: share of the part by volume, %.
        part_density_t_m3: bulk density of the part, t/m³.
        rest_density_t_m3: bulk density of the other part, t/m³.

    Opinion differs: a "70/30" is by volume at some suppliers and by mass at others.

    Source: definition (mass balance).
    """
    require_not_negative(mass_kg=mass_kg)
    require_between(0.0, 100.0, share_pct=share_pct)
    require_positive(part_density_t_m3=part_density_t_m3, rest_density_t_m3=rest_density_t_m3)
    part = share_pct * part_density_t_m3
    return mass_kg * part / (part + (100.0 - share_pct) * rest_density_t_m3)


def packs(mass_kg: Quantity, pack_kg: Quantity) -> Quantity:
    """Whole packs, bags or loads that hold at least a mass.

    Formula: `⌈mass / pack⌉`; a billionth of a pack over is not another pack.

    Args:
        mass_kg: mass needed, kg.
        pack_kg: mass in one pack, kg.

    Source: definition.
    """
    require_not_negative(mass_kg=mass_kg)
    require_positive(pack_kg=pack_kg)
    return ceil(mass_kg / pack_kg - 1e-9)


def packs_cover_m2(packs: Quantity, pack_kg: Quantity, rate_kg_m2: Quantity) -> Quantity:
    """Area in m² that packs cover at a rate.

    Formula: `packs · pack / rate`.

    Args:
        packs: number of packs.
        pack_kg: mass in one pack, kg.
        rate_kg_m2: mass over area, kg/m².

    Source: definition; 100 bags of 25 kg at 2 kg/m² cover 1,250 m² in a published bowls guide
    (a UK supplier's bowls guide).
    """
    require_not_negative(packs=packs)
    require_positive(pack_kg=pack_kg, rate_kg_m2=rate_kg_m2)
    return packs * pack_kg / rate_kg_m2


def tray_rate_kg_m2(mass_g: Quantity, tray_area_cm2: Quantity) -> Quantity:
    """Dry mass a square metre in kg, from what a tray on the green caught.

    Formula: `10 · mass / area` with g and cm².

    Args:
        mass_g: dry mass caught, g.
        tray_area_cm2: opening of the tray, cm².

    Source: definition.
    """
    require_not_negative(mass_g=mass_g)
    require_positive(tray_area_cm2=tray_area_cm2)
    return 10.0 * mass_g / tray_area_cm2


def tray_depth_mm(mass_g: Quantity, tray_area_cm2: Quantity, bulk_density_t_m3: Quantity) -> Quantity:
    """Depth in mm of a dressing, from what a tray on the green caught.

    Formula: `10 · (mass / bulk density) / area` with g, g/cm³ and cm².

    Args:
        mass_g: dry mass caught, g.
        tray_area_cm2: opening of the tray, cm².
        bulk_density_t_m3: bulk density of the dry material as it lies, t/m³.

    Source: ATC 2020-12-24 (400 g in a 2,000 cm² tray at 1.5 is 1.33 mm).
    """
    return depth_mm(tray_rate_kg_m2(mass_g, tray_area_cm2), bulk_density_t_m3)


def off_green_kg(delivered_dry_kg: Quantity, tray_rate_kg_m2: Quantity, area_m2: Quantity) -> Quantity:
    """Dry mass in kg delivered but not found on the green by trays: overspread, left over, or error.

    Formula: `delivered − tray rate · area`; negative where the trays say more than was delivered.

    Args:
        delivered_dry_kg: dry mass from the delivery note, kg.
        tray_rate_kg_m2: mean dry mass the trays caught, kg/m².
        area_m2: area of the green, m².

    Source: definition (mass balance).
    """
    require_not_negative(delivered_dry_kg=delivered_dry_kg, tray_rate_kg_m2=tray_rate_kg_m2)
    require_positive(area_m2=area_m2)
    return delivered_dry_kg - tray_rate_kg_m2 * area_m2
