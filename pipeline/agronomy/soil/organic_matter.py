"""Organic matter by loss on ignition: what layers weigh, several layers together, and how sure a sample is.

What sand and growth do to it over time is `pipeline/statistics/balance.py`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist

from pipeline.agronomy.maths import (
    Quantity,
    require_between,
    require_not_negative,
    require_positive,
    sqrt,
)

ORGANIC_DENSITY_T_M3 = 0.22
"""Bulk density of organic matter in a putting green, t/m³ (ATC, om246 and soil bulk density)."""
SAND_DENSITY_T_M3 = 1.56
"""Bulk density of sand in a putting green, t/m³ (same article)."""


def loss_on_ignition_pct(dry_g: Quantity, burnt_g: Quantity) -> Quantity:
    """Organic matter in % of dry mass, from the weights before and after burning.

    Formula: `100 · (m₁₀₅ − m_burnt) / m₁₀₅`.

    Args:
        dry_g: mass after drying at 105 °C, g.
        burnt_g: mass after the furnace, g.

    Opinion differs: 360 °C in ASTM F1647, 440 °C at other turf laboratories; the hotter burn reads higher.

    Source: ASTM F1647 Method A.
    """
    require_positive(dry_g=dry_g)
    require_not_negative(burnt_g=burnt_g)
    return 100.0 * (dry_g - burnt_g) / dry_g


def layer_bulk_density_t_m3(om_pct: Quantity) -> Quantity:
    """Bulk density in t/m³ that a layer of sand and organic matter is taken to have.

    Formula: `ρ = 100 / (OM/0.22 + (100−OM)/1.56)`.

    Args:
        om_pct: organic matter by mass, %.

    Source: Asian Turfgrass Center, "OM246 and soil bulk density"; printed there as kg/m³, meant as g/cm³.
    """
    require_between(0.0, 100.0, om_pct=om_pct)
    return 100.0 / (om_pct / ORGANIC_DENSITY_T_M3 + (100.0 - om_pct) / SAND_DENSITY_T_M3)


def combine_layers_pct(om_pct: Sequence[float], thickness_mm: Sequence[float]) -> float:
    """Organic matter in % over several layers together, weighted by their mass.

    Formula: `Σ OMᵢ·ρᵢ·hᵢ / Σ ρᵢ·hᵢ`. The plain mean overstates: an organic layer is light.

    Args:
        om_pct: organic matter of each layer, %.
        thickness_mm: thickness of each layer, mm.

    Raises:
        ValueError: without layers, or with lists of different length.

    Source: ATC, "OM246 and soil bulk density"; its example 12.7/3.8/2.4 is printed 5.7 %, its formula gives 5.49 %.
    """
    if len(om_pct) == 0 or len(om_pct) != len(thickness_mm):
        raise ValueError("each layer needs its organic matter and its thickness, and there must be one")
    for om, mm in zip(om_pct, thickness_mm, strict=True):
        require_not_negative(organic_matter_pct=om, thickness_mm=mm)
    masses = [layer_bulk_density_t_m3(om) * mm for om, mm in zip(om_pct, thickness_mm, strict=True)]
    require_positive(mass_of_the_layers=math.fsum(masses))
    return math.fsum(om * mass for om, mass in zip(om_pct, masses, strict=True)) / math.fsum(masses)


def core_volume_cm3(bore_mm: Quantity, depth_mm: Quantity) -> Quantity:
    """Volume in cm³ of a round core.

    Formula: `π/4 · bore² · depth / 1000`.

    Args:
        bore_mm: inside diameter of the sampler, mm.
        depth_mm: length of the core, mm.

    Source: solid geometry; ATC 2020-07-06 prints 6, 14.1 and 25.1 cm³ for 2, 3 and 4 cm bore to 2 cm.
    """
    require_not_negative(bore_mm=bore_mm, depth_mm=depth_mm)
    return math.pi / 4.0 * bore_mm**2 * depth_mm / 1000.0


def sampling_half_width(core_standard_deviation: Quantity, cores: Quantity, level: float) -> Quantity:
    """Half the width of the interval on a green's mean, from how much single cores differ.

    Formula: `z(level) · s / √n`.

    Args:
        core_standard_deviation: standard deviation between single cores, any unit.
        cores: number of cores n in the mean or in the bulked sample.
        level: share of cases the interval covers, 0 to 1 (0.89 in the published table).

    Source: standard error of a mean; ATC 2020-07-06 prints ± 9, 6 and 5 g/kg for 5, 10 and 15 cores at 89 %.
    """
    require_not_negative(core_standard_deviation=core_standard_deviation)
    require_positive(cores=cores)
    if not 0 < level < 1:
        raise ValueError(f"level must lie between 0 and 1, not {level:g}")
    return NormalDist().inv_cdf(0.5 + level / 2.0) * core_standard_deviation / sqrt(cores)
