"""Soil chemistry: units by mass, volume and area, UK agricultural indices, exchange capacity.

Extractants are never converted into one another, and base saturation gets no verdict: no target is recommended
for sand root zones.
"""

from __future__ import annotations

import math
from typing import Literal

from pipeline.agronomy.maths import (
    Quantity,
    require_not_negative,
    require_one_of,
    require_positive,
)
from pipeline.agronomy.soil.nutrients import ATOMIC_WEIGHT
from pipeline.agronomy.soil.reference import one_set
from pipeline.agronomy.units import KG_HA_PER_LB_ACRE
from pipeline.agronomy.ways import Equivalents

Cation = Literal["Ca", "Mg", "K", "Na"]

_VALENCE: dict[Cation, int] = {"Ca": 2, "Mg": 2, "K": 1, "Na": 1}
MG_KG_PER_MEQ: dict[Equivalents, dict[Cation, float]] = {
    "exact": {cation: 10.0 * ATOMIC_WEIGHT[cation] / charge for cation, charge in _VALENCE.items()},
    "rounded": {"Ca": 200.0, "Mg": 120.0, "K": 390.0, "Na": 230.0},
    "rounded_k_391": {"Ca": 200.0, "Mg": 120.0, "K": 391.0, "Na": 230.0},
}
"""Exact from IUPAC 2021; rounded from a crop wiki; K 391 from Clemson University (lb/acre ÷ 2)."""

UkNutrient = Literal["P", "K", "Mg"]


def mg_kg_from_mg_l(mg_l: Quantity, scooped_density_kg_l: Quantity) -> Quantity:
    """Content by mass in mg/kg, from content by volume.

    Formula: `mg/l / density`.

    Args:
        mg_l: content by volume of scooped soil, mg/l.
        scooped_density_kg_l: mass of a litre of the scooped soil, kg/l.

    Source: definition.
    """
    require_not_negative(mg_l=mg_l)
    require_positive(scooped_density_kg_l=scooped_density_kg_l)
    return mg_l / scooped_density_kg_l


def g_m2_from_mg_kg(mg_kg: Quantity, depth_mm: Quantity, bulk_density_t_m3: Quantity) -> Quantity:
    """Amount in g/m² in a layer, from its content by mass.

    Formula: `ppm · depth (m) · bulk density`; 100 mm at 1.5 t/m³ is 0.15 g/m² a ppm.

    Args:
        mg_kg: content by mass, mg/kg (ppm); negative for a difference.
        depth_mm: depth of the layer, mm.
        bulk_density_t_m3: bulk density of the soil, t/m³.

    Source: definition; 13 ppm in 6 inches at 1.5 t/m³ is 3 g/m² in ATC 2017-08-06.
    """
    require_positive(depth_mm=depth_mm, bulk_density_t_m3=bulk_density_t_m3)
    return mg_kg * depth_mm / 1000.0 * bulk_density_t_m3


def mg_kg_from_g_m2(g_m2: Quantity, depth_mm: Quantity, bulk_density_t_m3: Quantity) -> Quantity:
    """Content by mass in mg/kg that an amount over an area makes in a layer.

    Formula: `g/m² / (depth (m) · bulk density)`.

    Args:
        g_m2: amount over area, g/m².
        depth_mm: depth of the layer, mm.
        bulk_density_t_m3: bulk density of the soil, t/m³.

    Source: definition, inverse of `g_m2_from_mg_kg`.
    """
    require_positive(depth_mm=depth_mm, bulk_density_t_m3=bulk_density_t_m3)
    return g_m2 * 1000.0 / (depth_mm * bulk_density_t_m3)


def mg_kg_from_lb_acre(lb_acre: Quantity, depth_mm: Quantity, bulk_density_t_m3: Quantity) -> Quantity:
    """Content by mass in mg/kg, from pounds an acre in a layer of stated depth and density.

    Formula: `lb/acre · 1.12085 / 10 · 1000 / (depth · bulk density)`.

    Args:
        lb_acre: amount over area, lb/acre.
        depth_mm: depth of the layer, mm.
        bulk_density_t_m3: bulk density of the soil, t/m³.

    Opinion differs: laboratories halve lb/acre whatever the soil weighs, as if an acre 6 inches deep were 2 million lb.

    Source: definition.
    """
    require_not_negative(lb_acre=lb_acre)
    return mg_kg_from_g_m2(lb_acre * KG_HA_PER_LB_ACRE / 10.0, depth_mm, bulk_density_t_m3)


def uk_index(mg_l: float, nutrient: UkNutrient) -> str:
    """The UK agricultural index of a result, "0" to "9", with "2-" and "2+" where index 2 is split.

    The result is rounded to a whole mg/l first, half up, because the table has whole numbers. An agricultural
    scale: not a measure of what fine turf needs.

    Args:
        mg_l: Olsen P, or ammonium-nitrate K or Mg, mg/l of air-dried ground soil.
        nutrient: which of the three.

    Source: Nutrient Action Programme Regulations (NI) 2019 Schedule 5 for P to index 4; the rest RB209, from memory.
    """
    require_one_of(("P", "K", "Mg"), nutrient=nutrient)
    require_not_negative(mg_l=mg_l)
    whole = math.floor(mg_l + 0.5)
    rows: list[tuple[str, int]] = one_set("uk_index", nutrient)["rows"]
    return next((index for index, highest in rows if whole <= highest), "9")


def cation_meq_100g(mg_kg: Quantity, cation: Cation, equivalents: Equivalents) -> Quantity:
    """Charge of a cation in meq/100 g (cmolc/kg), from its content by mass.

    Formula: `mg/kg / (10 · M / charge)`.

    Args:
        mg_kg: content by mass, mg/kg.
        cation: which cation.
        equivalents: exact weights or which round numbers.

    Opinion differs: round numbers (Ca 200, Mg 120, K 390, Na 230; or K 391) make up to 1.3 % against atomic weights.

    Source: definition; round numbers from Clemson University and a crop wiki.
    """
    require_one_of(tuple(MG_KG_PER_MEQ), equivalents=equivalents)
    require_one_of(tuple(_VALENCE), cation=cation)
    require_not_negative(mg_kg=mg_kg)
    return mg_kg / MG_KG_PER_MEQ[equivalents][cation]


def cec_by_summation(mg_kg: dict[Cation, float], equivalents: Equivalents) -> dict[Cation, float]:
    """Charge of each base in meq/100 g: its sum is the cation exchange capacity by summation of a soil without acidity.

    Formula: capacity `Σ cations`; acidity, which is not recorded, comes on top.

    Args:
        mg_kg: content by mass of each base that was measured, mg/kg.
        equivalents: exact weights or which round numbers.

    Raises:
        ValueError: when nothing at all was found to sum.

    Source: Clemson University, cation exchange capacity calculations.
    """
    parts = {cation: cation_meq_100g(value, cation, equivalents) for cation, value in mg_kg.items()}
    require_positive(sum_of_cations=math.fsum(parts.values()))
    return parts
