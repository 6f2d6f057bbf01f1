"""Dressing as a sampled layer gets it: what fills core holes below the layer is not in it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import polars as pl

from pipeline.agronomy.dressing import depth_mm
from pipeline.common.words import counted
from pipeline.indicators.base.records import GreenRecords
from pipeline.indicators.works.disturbance import opened
from pipeline.indicators.works.dressing import dressings
from pipeline.statistics.balance import refill_as_dressing

REFILL_DAYS = 14
"""Dressing spread up to so many days after a coring goes into its holes first: common practice, no source."""


@dataclass(frozen=True)
class Coring:
    """A hollow coring whose holes are known.

    Attributes:
        date: day of the work.
        share: part of the surface taken out, 0…1.
        depth_mm: depth of the holes.
        volume_mm: volume of the holes over the whole green, l/m².
    """

    date: date
    share: float
    depth_mm: float
    volume_mm: float


@dataclass(frozen=True)
class LayerDoses:
    """Dressings of a green with what they are to one layer of it.

    Attributes:
        rows: as :func:`~pipeline.indicators.works.dressing.dressings`, with ``layer_kg_m2``: surface dressing that
            would do the same to the layer; and ``below_kg_m2``: what lies in holes below it (grain: job).
        corings: corings whose holes are known and were filled, all years.
        unknown: corings that do not say what their holes are: their days.
    """

    rows: pl.DataFrame
    corings: tuple[Coring, ...]
    unknown: tuple[date, ...]

    def method(self, first: date, last: date) -> str:
        """What is assumed of the corings between two days; "" where there were none."""
        filled = sum(first <= one.date < last for one in self.corings)
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


def layer_doses(records: GreenRecords, thickness_mm: float, layer_mass: float) -> LayerDoses:
    """The green's dressings as a layer gets them.

    Args:
        records: of the green.
        thickness_mm: of the layer, from the surface.
        layer_mass: its dry mass, kg/m².
    """
    rows = dressings(records)
    known, unknown = _corings(records)
    holes = [_Holes(one, thickness_mm, layer_mass) for one in known]
    layer, below = [], []
    for row in rows.iter_rows(named=True):
        within, lost = _dose(row, holes)
        layer.append(within)
        below.append(lost)
    made = rows.with_columns(
        pl.Series("layer_kg_m2", layer, dtype=pl.Float64), pl.Series("below_kg_m2", below, dtype=pl.Float64)
    )
    return LayerDoses(made, tuple(one.coring for one in holes if one.filled_mm > 0), unknown)


def _corings(records: GreenRecords) -> tuple[list[Coring], tuple[date, ...]]:
    """Hollow corings with their holes, oldest first, and the days of those that do not say.

    What was cored to one depth on one day is one coring, however many lines of the log it takes.
    """
    every = opened(records.jobs, records.options.hollow_tine)
    rows = every.filter(pl.col("way") == "hollow").sort("date", "file", "line", maintain_order=True)
    said = pl.col("volume_l_m2").is_not_null() & (pl.col("volume_l_m2") > 0)
    days = rows.filter(said).group_by("date", "depth_mm", maintain_order=True)
    known = [
        Coring(row["date"], min(row["area_pct"] / 100, 1.0), row["depth_mm"], row["volume_l_m2"])
        for row in days.agg(pl.col("area_pct", "volume_l_m2").sum()).iter_rows(named=True)
    ]
    return known, tuple(rows.filter(~said.fill_null(value=False))["date"].unique(maintain_order=True))


class _Holes:
    """The holes of one coring while they are being filled."""

    def __init__(self, coring: Coring, thickness_mm: float, layer_mass: float) -> None:
        self.coring = coring
        self.layer_mass = layer_mass
        self.within = min(1.0, thickness_mm / coring.depth_mm)
        self.left = layer_mass * (1 - min(0.99, coring.share * min(1.0, coring.depth_mm / thickness_mm)))
        self.filled_mm = 0.0

    def take(self, kg_m2: float, density: float) -> tuple[float, float, float]:
        """What of a dressing goes in: all of it; as surface dressing of the layer; what lies below the layer."""
        put = min(kg_m2, (self.coring.volume_mm - self.filled_mm) * density)
        self.filled_mm += float(depth_mm(put, density))
        within = put * self.within
        as_dressing = refill_as_dressing(self.layer_mass, self.left, within)
        self.left += within
        return put, as_dressing, put - within


def _dose(row: dict[str, Any], holes: list[_Holes]) -> tuple[float | None, float | None]:
    """A dressing as surface dressing of the layer, and what of it lies in holes below, kg/m²."""
    if row["kg_m2"] is None:
        return None, None
    spread, layer, below = row["kg_m2"], 0.0, 0.0
    for one in holes:
        if one.coring.date <= row["date"] <= one.coring.date + timedelta(days=REFILL_DAYS):
            put, as_dressing, lost = one.take(spread, row["density"])
            spread, layer, below = spread - put, layer + as_dressing, below + lost
    return spread + layer, below
