"""How much of a green's surface and profile a pass of tines or blades opens.

Passes add up and overlap is ignored, as the trade does; a report that prints a sum says so.
"""

from __future__ import annotations

import math
from typing import Literal

from pipeline.agronomy.maths import (
    Quantity,
    require_not_negative,
    require_one_of,
    require_positive,
    sqrt,
)

TineBore = Literal["inside", "outside"]
"""Which diameter of a hollow tine is meant: the core taken out (inside) or the hole left (outside)."""

MM2_PER_M2 = 1_000_000.0


def holes_per_m2(spacing_along_mm: Quantity, spacing_across_mm: Quantity) -> Quantity:
    """Holes in a square metre after one pass, from the spacing two ways.

    Formula: `10⁶ / (s₁ · s₂)`.

    Args:
        spacing_along_mm: centre to centre along the travel, mm.
        spacing_across_mm: centre to centre across the travel, mm.

    Source: definition; 50 × 50 mm makes 400 holes/m² in ATC (Asian Turfgrass Center) 2021-04-23.
    """
    require_positive(spacing_along_mm=spacing_along_mm, spacing_across_mm=spacing_across_mm)
    return MM2_PER_M2 / (spacing_along_mm * spacing_across_mm)


def square_spacing_mm(holes_per_m2: Quantity) -> Quantity:
    """Centre-to-centre spacing in mm of a square pattern with that many holes to the square metre.

    Formula: `1000 / √holes`.

    Args:
        holes_per_m2: holes in a square metre.

    Source: definition, inverse of `holes_per_m2`.
    """
    require_positive(holes_per_m2=holes_per_m2)
    return 1000.0 / sqrt(holes_per_m2)


def holes_per_m2_from_count(holes: Quantity, area_m2: Quantity) -> Quantity:
    """Holes in a square metre, from a count over a known area.

    Formula: `holes / area`.

    Args:
        holes: holes counted or claimed.
        area_m2: the area they lie in, m².

    Source: definition.
    """
    require_not_negative(holes=holes)
    require_positive(area_m2=area_m2)
    return holes / area_m2


def tined_area_pct_from_density(diameter_mm: Quantity, holes_per_m2: Quantity) -> Quantity:
    """Percentage of the surface opened by that many holes of that diameter.

    Formula: `100 · (π · d² / 4) · holes / 10⁶`.

    Args:
        diameter_mm: tine diameter, mm; record which one it is (`TineBore`).
        holes_per_m2: holes in a square metre, all passes together.

    Opinion differs: the outside diameter gives the hole left, the inside diameter the core taken out; for one
    published 5/8 inch tine that is 13.6 % against 7.7 %. Compare only like with like.

    Source: plane geometry; checked against GCSAA forum 2013, ATC 2021-04-23 and the figures of greenkeepers.
    """
    require_not_negative(diameter_mm=diameter_mm, holes_per_m2=holes_per_m2)
    return 100.0 * (math.pi / 4.0 * diameter_mm**2) * holes_per_m2 / MM2_PER_M2


def tined_volume_l_m2(area_pct: Quantity, depth_mm: Quantity) -> Quantity:
    """Volume of the holes in litres a square metre, which is also mm of sand to fill them.

    Formula: `area % / 100 · depth`; 1 % of the surface to 10 mm is 0.1 L/m², 0.1 mm of sand.

    Args:
        area_pct: surface opened, %.
        depth_mm: depth the tines reached, mm.

    Source: solid geometry; 12 mm at 50 × 50 mm to 70 mm is 3.167 L/m² in ATC 2021-04-23.
    """
    require_not_negative(area_pct=area_pct, depth_mm=depth_mm)
    return area_pct / 100.0 * depth_mm


def slit_area_pct(blade_width_mm: Quantity, blade_spacing_mm: Quantity, passes: Quantity = 1) -> Quantity:
    """Percentage of the surface opened by blades, scarifier or slitter.

    Formula: `100 · blade width / blade spacing · passes`. Passes add up; overlap is ignored.

    Args:
        blade_width_mm: thickness of the cut, mm (a working blade cuts wider than its nominal width).
        blade_spacing_mm: centre to centre of the blades, mm.
        passes: how often the machine went over.

    Source: plane geometry; slots 1/2 inch wide at 3 1/2 inch (a US maker's dimensions) come to 14.3 %.
    """
    require_not_negative(blade_width_mm=blade_width_mm, passes=passes)
    require_positive(blade_spacing_mm=blade_spacing_mm)
    return 100.0 * blade_width_mm / blade_spacing_mm * passes


def refill_sand_kg(volume_l_m2: Quantity, area_m2: Quantity, bulk_density_t_m3: Quantity) -> Quantity:
    """Mass in kg of dry sand that fills the holes or slits of an area.

    Formula: `volume · area · bulk density` (1 L at 1 t/m³ is 1 kg).

    Args:
        volume_l_m2: volume of the holes, L/m².
        area_m2: treated area, m².
        bulk_density_t_m3: bulk density of the dry sand, t/m³.

    Source: definition.
    """
    require_not_negative(volume_l_m2=volume_l_m2, area_m2=area_m2)
    require_positive(bulk_density_t_m3=bulk_density_t_m3)
    return volume_l_m2 * area_m2 * bulk_density_t_m3


def bore_mm(diameter_mm: Quantity, wall_mm: Quantity, known: TineBore, wanted: TineBore) -> Quantity:
    """The inside or outside diameter in mm of a hollow tine whose other diameter and wall are known.

    Formula: `outside = inside + 2 · wall`.

    Args:
        diameter_mm: the diameter that is known, mm.
        wall_mm: wall thickness of the tine, mm.
        known: which diameter that is.
        wanted: which diameter to return.

    Raises:
        ValueError: when the wall is thicker than the tine.

    Source: plane geometry.
    """
    require_one_of(("inside", "outside"), known=known, wanted=wanted)
    require_positive(diameter_mm=diameter_mm)
    require_not_negative(wall_mm=wall_mm)
    if known == wanted:
        return diameter_mm
    if wanted == "outside":
        return diameter_mm + 2.0 * wall_mm
    require_positive(inside_diameter_mm=diameter_mm - 2.0 * wall_mm)
    return diameter_mm - 2.0 * wall_mm


def claim_gap_pct(claimed_holes_per_m2: Quantity, spacing_holes_per_m2: Quantity) -> Quantity:
    """How far a claimed hole count lies above (+) or below (−) what the spacing gives, in per cent.

    Formula: `100 · (claimed − geometric) / geometric`.

    Args:
        claimed_holes_per_m2: holes a square metre as stated, all passes.
        spacing_holes_per_m2: holes a square metre from spacing and passes.

    Source: definition.
    """
    require_not_negative(claimed_holes_per_m2=claimed_holes_per_m2)
    require_positive(spacing_holes_per_m2=spacing_holes_per_m2)
    return 100.0 * (claimed_holes_per_m2 - spacing_holes_per_m2) / spacing_holes_per_m2
