"""Organic matter by loss on ignition: layers, what sand does to it, and when two results may be compared.

`sand_for_drop_mm` and `net_accumulation_pct` answer two samples and one dressing as if nothing grew between them. No
report prints them: its balance (docs/indicators.md, organic matter) rests on all comparable samples and every dated
dressing, tells growth from dilution and carries an interval, so that a figure from two samples beside it would look as
good and be worse. `sand_for_clippings_mm` and `mineralised_n_g_m2` are rules of one author, for reading only.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields
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
NITROGEN_IN_ORGANIC_MATTER = 0.05
"""Mass of N in a unit mass of soil organic matter (ATC 2020-12-02)."""
CLIPPING_SAND_K = 0.106
"""mm of sand for a litre of clippings a square metre: the author's "current best estimate" 2026."""


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

    Source: ATC, "OM246 and soil bulk density" (asianturfgrass.com); printed there as kg/m³, meant as g/cm³.
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


def om_after_sand_pct(om_pct: Quantity, depth_mm: Quantity, sand_mm: Quantity) -> Quantity:
    """Organic matter in % of a sampled layer after sand, nothing else having changed.

    The surface rises and the sample keeps its depth, so the sand pushes as much out of the bottom.

    Formula: `OM·ρ·(D−s) / (ρ·(D−s) + 1.56·s)`.

    Args:
        om_pct: organic matter before, %.
        depth_mm: depth of the sample D, mm.
        sand_mm: depth of sand s, mm, not more than D.

    Source: derived from the layer density of ATC, "OM246 and soil bulk density"; 1 mm on 6.7 % in 20 mm gives
    6.2 % in ATC 2021-04-23.
    """
    require_positive(depth_mm=depth_mm)
    require_not_negative(sand_mm=sand_mm, depth_left_mm=depth_mm - sand_mm)
    left = layer_bulk_density_t_m3(om_pct) * (depth_mm - sand_mm)
    return om_pct * left / (left + SAND_DENSITY_T_M3 * sand_mm)


def sand_for_drop_mm(om_before_pct: Quantity, om_after_pct: Quantity, depth_mm: Quantity) -> Quantity:
    """Depth of sand in mm that brings a sampled layer from one organic matter to a lower one.

    Formula: `D·ρ₁·(OM₁−OM₂) / (ρ₁·(OM₁−OM₂) + 1.56·OM₂)`.

    Args:
        om_before_pct: organic matter before, %.
        om_after_pct: organic matter wanted, %; negative sand comes out where it is higher.
        depth_mm: depth of the sample D, mm.

    Source: derived, inverse of `om_after_sand_pct`; no published worked figure.
    """
    require_positive(depth_mm=depth_mm)
    require_between(0.0, 100.0, om_after_pct=om_after_pct)
    lost = layer_bulk_density_t_m3(om_before_pct) * (om_before_pct - om_after_pct)
    return depth_mm * lost / (lost + SAND_DENSITY_T_M3 * om_after_pct)


def net_accumulation_pct(
    om_start_pct: Quantity, om_observed_pct: Quantity, sand_mm: Quantity, depth_mm: Quantity
) -> Quantity:
    """Organic matter gained in percentage points over what the sand alone would have left.

    Formula: `OM observed − OM after sand`.

    Args:
        om_start_pct: organic matter at the start, %.
        om_observed_pct: organic matter at the end, %.
        sand_mm: sand between the two, mm.
        depth_mm: depth of both samples, mm.

    Source: ATC 2021-08-10 (accumulation net of sand); derived formula, no published worked figure.
    """
    return om_observed_pct - om_after_sand_pct(om_start_pct, depth_mm, sand_mm)


def sand_for_clippings_mm(clippings_l_m2: Quantity, om_pct: Quantity) -> Quantity:
    """Depth of sand in mm that keeps pace with a clipping volume: a hint to show, not a requirement.

    Formula: `d = 0.106 · V · (100 − OM) / OM`.

    Args:
        clippings_l_m2: clipping volume over the period V, L/m².
        om_pct: organic matter to hold, %.

    Source: cricketmedium.com, "Sand topdressing to clipping volume ratios" (2026), empirical.
    """
    require_not_negative(clippings_l_m2=clippings_l_m2)
    require_positive(om_pct=om_pct)
    return CLIPPING_SAND_K * clippings_l_m2 * (100.0 - om_pct) / om_pct


def mineralised_n_g_m2(
    om_pct: Quantity, depth_mm: Quantity, bulk_density_t_m3: Quantity, yearly_pct: Quantity
) -> Quantity:
    """Nitrogen in g/m² a year set free from soil organic matter (sieved soil, not total organic material).

    Formula: `1000 · depth · bulk density · OM/100 · 0.05 · yearly/100`.

    Args:
        om_pct: organic matter of sieved soil, %.
        depth_mm: depth of the layer, mm.
        bulk_density_t_m3: bulk density of the soil, t/m³.
        yearly_pct: share of the organic N set free in a year, % (1 to 4 published).

    Source: ATC 2020-12-02.
    """
    require_not_negative(om_pct=om_pct, depth_mm=depth_mm, yearly_pct=yearly_pct)
    require_positive(bulk_density_t_m3=bulk_density_t_m3)
    organic_g_m2 = 1000.0 * depth_mm * bulk_density_t_m3 * om_pct / 100.0
    return organic_g_m2 * NITROGEN_IN_ORGANIC_MATTER * yearly_pct / 100.0


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


def variation_pct(mean: Quantity, standard_deviation: Quantity) -> Quantity:
    """Coefficient of variation in %.

    Formula: `100 · s / x̄`.

    Args:
        mean: mean of the results.
        standard_deviation: their standard deviation, same unit.

    Source: definition.
    """
    require_positive(mean=mean)
    require_not_negative(standard_deviation=standard_deviation)
    return 100.0 * standard_deviation / mean


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


@dataclass(frozen=True)
class Comparability:
    """How an organic-matter result was made: two results compare only where all of it agrees.

    Attributes:
        depth_from_mm: top of the sample, mm below the surface; None where not stated.
        depth_to_mm: bottom of the sample, mm below the surface; None where not stated.
        burn_c: furnace temperature, °C; None where not stated.
        sieved: ground or sieved before burning; None where not stated.
        verdure: the green leaf left on; None where not stated.

    Source: USGA Green Section Record 62(02), "A standard method for measuring putting green surface organic
    matter"; ATC 2020-05-13.
    """

    depth_from_mm: float | None
    depth_to_mm: float | None
    burn_c: float | None
    sieved: bool | None
    verdure: bool | None

    def difference(self, other: Comparability) -> str:
        """What forbids the comparison, in words; empty where nothing does.

        A thing that one states and the other does not counts as a difference. What neither states does not: it
        is named by `unstated`.
        """
        pairs = zip(self._words(), other._words(), strict=True)
        return "; ".join(f"{mine} against {theirs}" for mine, theirs in pairs if mine != theirs)

    def unstated(self, other: Comparability) -> str:
        """What neither result states, in words; empty where nothing is missing."""
        names = {
            "depth_from_mm": "depth from",
            "depth_to_mm": "depth to",
            "burn_c": "burn temperature",
            "sieved": "sieving",
            "verdure": "verdure",
        }
        missing = (f.name for f in fields(self) if getattr(self, f.name) is getattr(other, f.name) is None)
        return ", ".join(names[name] for name in missing)

    def _words(self) -> tuple[str, str, str, str]:
        depth = "depth not stated"
        if self.depth_from_mm is not None or self.depth_to_mm is not None:
            depth = f"{_number(self.depth_from_mm)}–{_number(self.depth_to_mm)} mm"
        burn = "burn temperature not stated" if self.burn_c is None else f"burned at {self.burn_c:g} °C"
        return (
            depth,
            burn,
            _yes_no(self.sieved, "sieved", "not sieved", "sieving not stated"),
            _yes_no(self.verdure, "verdure left on", "verdure removed", "verdure not stated"),
        )


def _number(value: float | None) -> str:
    return "?" if value is None else f"{value:g}"


def _yes_no(value: bool | None, yes: str, no: str, unknown: str) -> str:
    if value is None:
        return unknown
    return yes if value else no
