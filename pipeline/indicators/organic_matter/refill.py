"""Dressing as a sampled layer gets it: what fills core holes below the layer is not in it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import polars as pl

from pipeline.agronomy.dressing import depth_mm
from pipeline.common.words import counted
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.rows import Row, Rows
from pipeline.indicators.works.disturbance import opened
from pipeline.indicators.works.dressing import dressings
from pipeline.statistics.balance import refill_as_dressing

REFILL_DAYS = 14
"""Dressing spread up to so many days after a coring goes into its holes first: common practice, no source."""


@dataclass(frozen=True)
class Works:
    """Dressings and hollow corings of a green, all years."""

    doses: Rows
    cored: Rows


def works(asked: Asked) -> dict[int, Works]:
    """Dressings and hollow corings of every green asked for, by its number."""
    cored = opened(asked.jobs, asked.options.hollow_tine).filter(pl.col("way") == "hollow")
    doses = asked.each_season(
        asked.once(dressings), "job", "date", "material", "kg_m2", "density", "organic_matter_pct"
    )
    holes = asked.each_season(cored, "job", "date", "depth_mm", "area_pct", "volume_l_m2")
    of_doses, of_holes = ({rows.of: rows for rows in every} for every in (doses, holes))
    none = {of: asked.no_rows(of, "job") for of in asked.each}
    return {of: Works(of_doses.get(of, none[of]), of_holes.get(of, none[of])) for of in asked.each}


@dataclass(frozen=True)
class LayerDoses:
    """Dressings of a green with what they are to one layer of it.

    Attributes:
        rows: the dressings with ``layer_kg_m2``, surface dressing that would do the same to the layer, and
            ``below_kg_m2``, what lies in holes below it (grain: job).
        filled: days of the corings whose holes are known and were filled, all years.
        unknown: days of those that do not say what their holes are.
    """

    rows: Rows
    filled: tuple[date, ...]
    unknown: tuple[date, ...]

    def method(self, first: date, last: date) -> str:
        """What is assumed of the corings between two days; "" where there were none."""
        filled = sum(first <= day < last for day in self.filled)
        unknown = sum(first <= day < last for day in self.unknown)
        parts = []
        if filled:
            parts.append(
                f" {counted(filled, 'hollow coring')}: cores leave with the layer's own mix; dressing of the "
                f"{REFILL_DAYS} days after fills the holes first, evenly over their depth, and only what lies within "
                "the layer counts."
            )
        if unknown:
            parts.append(
                f" {counted(unknown, 'hollow coring')} without tine, holes and depth: the dressing after counts as "
                "spread on the surface, all of it within the layer."
            )
        return "".join(parts)


def layer_doses(done: Works, thickness_mm: float, layer_mass: float) -> LayerDoses:
    """The green's dressings as a layer gets them.

    Args:
        done: dressings and corings of the green.
        thickness_mm: of the layer, from the surface.
        layer_mass: its dry mass, kg/m².
    """
    said = done.cored.where(lambda row: (row["volume_l_m2"] or 0.0) > 0)
    unsaid = done.cored.where(lambda row: not (row["volume_l_m2"] or 0.0) > 0)
    # What was cored to one depth on one day is one coring, however many lines of the log it takes.
    holes = [_Holes(of_day, thickness_mm, layer_mass) for of_day in said.split("date", "depth_mm").values()]
    rows = [{**row, **_dose(row, holes)} for row in done.doses]
    filled = tuple(one.day for one in holes if one.filled_mm > 0)
    return LayerDoses(done.doses.these(rows), filled, tuple(sorted(set(unsaid.column("date")))))


class _Holes:
    """The holes of one hollow coring while they are being filled.

    Args:
        coring: its jobs, of one day and depth: share of the surface in % and volume over the whole green in l/m².
        thickness_mm: of the layer, from the surface.
        layer_mass: its dry mass, kg/m².
    """

    def __init__(self, coring: Rows, thickness_mm: float, layer_mass: float) -> None:
        first = coring.rows[0]
        self.day: date = first["date"]
        self.volume_mm = coring.total("volume_l_m2")
        self.layer_mass = layer_mass
        self.within = min(1.0, thickness_mm / first["depth_mm"])
        share = min(coring.total("area_pct") / 100, 1.0)
        self.left = layer_mass * (1 - min(0.99, share * min(1.0, first["depth_mm"] / thickness_mm)))
        self.filled_mm = 0.0

    def take(self, kg_m2: float, density: float) -> tuple[float, float, float]:
        """What of a dressing goes in: all of it; as surface dressing of the layer; what lies below the layer."""
        put = min(kg_m2, (self.volume_mm - self.filled_mm) * density)
        self.filled_mm += float(depth_mm(put, density))
        within = put * self.within
        as_dressing = refill_as_dressing(self.layer_mass, self.left, within)
        self.left += within
        return put, as_dressing, put - within


def _dose(row: Row, holes: list[_Holes]) -> dict[str, float | None]:
    """What of a dressing is as surface dressing of the layer, and what of it lies in holes below, kg/m²."""
    if row["kg_m2"] is None:
        return {"layer_kg_m2": None, "below_kg_m2": None}
    spread, layer, below = row["kg_m2"], 0.0, 0.0
    for one in holes:
        if one.day <= row["date"] <= one.day + timedelta(days=REFILL_DAYS):
            put, as_dressing, lost = one.take(spread, row["density"])
            spread, layer, below = spread - put, layer + as_dressing, below + lost
    return {"layer_kg_m2": spread + layer, "below_kg_m2": below}
