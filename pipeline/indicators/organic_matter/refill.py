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
class LayerDoses:
    """Dressings of a green with what they are to one layer of it.

    Attributes:
        rows: as :func:`~pipeline.indicators.works.dressing.dressings`, with ``layer_kg_m2``: surface dressing that
            would do the same to the layer; and ``below_kg_m2``: what lies in holes below it (grain: job).
        filled: days of the corings whose holes are known and were filled, all years.
        unknown: days of those that do not say what their holes are.
    """

    rows: pl.DataFrame
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


def layer_doses(records: GreenRecords, thickness_mm: float, layer_mass: float) -> LayerDoses:
    """The green's dressings as a layer gets them.

    Args:
        records: of the green.
        thickness_mm: of the layer, from the surface.
        layer_mass: its dry mass, kg/m².
    """
    rows = dressings(records)
    cored = opened(records.jobs, records.options.hollow_tine).filter(pl.col("way") == "hollow")
    said = (pl.col("volume_l_m2") > 0).fill_null(value=False)
    # What was cored to one depth on one day is one coring, however many lines of the log it takes.
    days = cored.filter(said).sort("date", "file", "line", maintain_order=True)
    known = days.group_by("date", "depth_mm", maintain_order=True).agg(pl.col("area_pct", "volume_l_m2").sum())
    holes = [_Holes(row, thickness_mm, layer_mass) for row in known.iter_rows(named=True)]
    doses = [_dose(row, holes) for row in rows.iter_rows(named=True)]
    layer, below = zip(*doses, strict=True) if doses else ((), ())
    made = rows.with_columns(
        pl.Series("layer_kg_m2", layer, dtype=pl.Float64), pl.Series("below_kg_m2", below, dtype=pl.Float64)
    )
    filled = tuple(one.day for one in holes if one.filled_mm > 0)
    return LayerDoses(made, filled, tuple(cored.filter(~said)["date"].unique().sort()))


class _Holes:
    """The holes of one hollow coring while they are being filled.

    Args:
        coring: its day, with depth, share of the surface in % and volume over the whole green in l/m².
        thickness_mm: of the layer, from the surface.
        layer_mass: its dry mass, kg/m².
    """

    def __init__(self, coring: dict[str, Any], thickness_mm: float, layer_mass: float) -> None:
        self.day: date = coring["date"]
        self.volume_mm: float = coring["volume_l_m2"]
        self.layer_mass = layer_mass
        self.within = min(1.0, thickness_mm / coring["depth_mm"])
        share = min(coring["area_pct"] / 100, 1.0)
        self.left = layer_mass * (1 - min(0.99, share * min(1.0, coring["depth_mm"] / thickness_mm)))
        self.filled_mm = 0.0

    def take(self, kg_m2: float, density: float) -> tuple[float, float, float]:
        """What of a dressing goes in: all of it; as surface dressing of the layer; what lies below the layer."""
        put = min(kg_m2, (self.volume_mm - self.filled_mm) * density)
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
        if one.day <= row["date"] <= one.day + timedelta(days=REFILL_DAYS):
            put, as_dressing, lost = one.take(spread, row["density"])
            spread, layer, below = spread - put, layer + as_dressing, below + lost
    return spread + layer, below
