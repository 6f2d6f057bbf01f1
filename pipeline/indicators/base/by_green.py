"""Frames of many greens, parted by green: sorted once, so that what is about a green is a stretch of rows.

A stretch is looked up, where a filter would go through the rows of all greens: with six thousand of them that is what
a due list takes its time with.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.indicators.base.shares import with_share

BY_DAY = ("date", "file", "line")
"""Order of a green's dated records."""


@dataclass(frozen=True)
class ByGreen:
    """A frame in the order of greens.

    Attributes:
        rows: the frame, each green's rows together.
        at: of each green that has any, where its rows begin and how many they are.
    """

    rows: pl.DataFrame
    at: Mapping[str, tuple[int, int]]

    def of(self, green: str) -> pl.DataFrame:
        """The rows of a green, in their order; none of one that has none."""
        first, count = self.at.get(green, (0, 0))
        return self.rows.slice(first, count)


def by_green(frame: pl.DataFrame, *order: str) -> ByGreen:
    """A frame parted by green, the rows of each in this order and else as they stand."""
    rows = frame.sort("green", *order, maintain_order=True)
    runs = rows.select(pl.col("green").rle().struct.unnest())
    ends = runs["len"].cum_sum().to_list()
    at = {
        green: (end - count, count) for green, count, end in zip(runs["value"], runs["len"], ends, strict=True) if green
    }
    return ByGreen(rows, at)


def shared(jobs: ByGreen, held: pl.DataFrame) -> ByGreen:
    """Jobs parted by green, with the share of the green that each went over, by the area of its day (grain: job).

    Args:
        jobs: in order of days, with ``treated_area_m2``.
        held: what the register said of all greens on which days, in order of days.
    """
    first = pl.int_range(pl.len()).over("green") == 0  # the first row holds for the days before it as well
    since = pl.when(first).then(date.min).otherwise(pl.col("holds_from"))
    areas = held.select("green", since.alias("since"), area="area_m2").sort("since", maintain_order=True)
    rows = jobs.rows.join_asof(
        areas, left_on="date", right_on="since", by="green", strategy="backward", check_sortedness=False
    )
    return ByGreen(with_share(rows, pl.col("area")).drop("area", "since"), jobs.at)
