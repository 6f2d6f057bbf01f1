"""A square metre of putting-green profile, layer by layer, and what coring and sand do to it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from pipeline.agronomy.maths import require_between, require_not_negative, require_one_of, require_positive
from pipeline.agronomy.organic_matter import SAND_DENSITY_T_M3, layer_bulk_density_t_m3

Holes = Literal["open", "collapsed", "sand"]
"""What becomes of core holes: left open, closed by the turf sinking, or filled with sand to the top."""


@dataclass(frozen=True)
class Layer:
    """One layer of a profile, over one square metre.

    Attributes:
        thickness_mm: thickness, mm.
        mass_kg_m2: dry mass, kg/m².
        organic_kg_m2: organic matter in it, kg/m².

    Source: densities of ATC, "OM246 and soil bulk density".
    """

    thickness_mm: float
    mass_kg_m2: float
    organic_kg_m2: float

    @classmethod
    def of(cls, om_pct: float, thickness_mm: float) -> Layer:
        """A layer from its organic matter in % and its thickness in mm."""
        require_not_negative(thickness_mm=thickness_mm)
        mass = layer_bulk_density_t_m3(om_pct) * thickness_mm
        return cls(thickness_mm, mass, mass * om_pct / 100.0)

    def scaled(self, share: float) -> Layer:
        """The same layer, only a share of it thick."""
        return Layer(self.thickness_mm * share, self.mass_kg_m2 * share, self.organic_kg_m2 * share)


@dataclass(frozen=True)
class Profile:
    """Layers from the surface down, over one square metre.

    Attributes:
        layers: from the surface down.

    Source: mass balance over the layers of ATC 2021-04-23.
    """

    layers: tuple[Layer, ...]

    @classmethod
    def of(cls, om_pct: Sequence[float], thickness_mm: Sequence[float]) -> Profile:
        """A profile from the organic matter in % and the thickness in mm of its layers."""
        return cls(tuple(Layer.of(om, h) for om, h in zip(om_pct, thickness_mm, strict=True)))

    @property
    def thickness_mm(self) -> float:
        """Thickness in mm, all layers."""
        return math.fsum(layer.thickness_mm for layer in self.layers)

    @property
    def mass_kg_m2(self) -> float:
        """Dry mass in kg/m², all layers."""
        return math.fsum(layer.mass_kg_m2 for layer in self.layers)

    @property
    def organic_kg_m2(self) -> float:
        """Organic matter in kg/m², all layers."""
        return math.fsum(layer.organic_kg_m2 for layer in self.layers)

    @property
    def om_pct(self) -> float:
        """Organic matter in % by mass, all layers."""
        require_positive(mass_of_the_profile=self.mass_kg_m2)
        return 100.0 * self.organic_kg_m2 / self.mass_kg_m2

    def split(self, depth_mm: float) -> tuple[Profile, Profile]:
        """What lies above a depth in mm and what lies below it.

        Raises:
            ValueError: when the profile does not reach that deep.
        """
        if depth_mm > self.thickness_mm + 1e-9:
            raise ValueError(f"the profile is {self.thickness_mm:g} mm deep, not {depth_mm:g} mm")
        above: list[Layer] = []
        below: list[Layer] = []
        left = depth_mm
        for layer in self.layers:
            share = min(1.0, left / layer.thickness_mm) if layer.thickness_mm else 1.0
            above.append(layer.scaled(share))
            below.append(layer.scaled(1.0 - share))
            left = max(0.0, left - layer.thickness_mm)
        return Profile(tuple(above)), Profile(tuple(below))

    def top(self, depth_mm: float) -> Profile:
        """What a sample to that depth in mm takes."""
        return self.split(depth_mm)[0]


def after_coring(profile: Profile, area_pct: float, depth_mm: float, holes: Holes) -> Profile:
    """The profile after hollow coring.

    Cores take the same share of every layer down to the depth; open holes leave the percentage unchanged.

    Args:
        profile: the profile before.
        area_pct: surface taken out, %, by the inside diameter.
        depth_mm: depth of the cores, mm.
        holes: what became of the holes.

    Source: ATC 2021-04-23, "Hollow tine, solid tine, topdress and organic matter".
    """
    require_between(0.0, 100.0, area_pct=area_pct)
    require_one_of(("open", "collapsed", "sand"), holes=holes)
    taken = area_pct / 100.0
    cored, below = profile.split(depth_mm)
    layers = []
    for layer in cored.layers:
        left = layer.scaled(1.0 - taken)
        sand = taken * layer.thickness_mm * SAND_DENSITY_T_M3 if holes == "sand" else 0.0
        thickness = left.thickness_mm if holes == "collapsed" else layer.thickness_mm
        layers.append(Layer(thickness, left.mass_kg_m2 + sand, left.organic_kg_m2))
    return Profile((*layers, *below.layers))


def after_sand(profile: Profile, sand_mm: float) -> Profile:
    """The profile after sand on the surface, or in solid-tine holes, which push as much aside.

    Args:
        profile: the profile before.
        sand_mm: depth of sand, mm.

    Source: ATC 2021-04-23, "Hollow tine, solid tine, topdress and organic matter".
    """
    return Profile((Layer.of(0.0, sand_mm), *profile.layers))
