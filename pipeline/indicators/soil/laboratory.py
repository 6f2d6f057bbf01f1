"""A laboratory's step: the greens of one laboratory and method that moved together in one year.

No verdict on a green rests on it: other greens' records change no word of its own. It is told beside it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from pipeline.common.words import counted
from pipeline.indicators.base.green_season import DataNote
from pipeline.indicators.base.records import GreenRecords, Records
from pipeline.indicators.soil.soil import method_key
from pipeline.statistics.common_shift import common_shifts
from pipeline.statistics.series import DAYS_PER_YEAR

ALPHA = 0.05
"""Level of the search over all years of one laboratory and method."""
_KEY = ("burn_c", "preparation", "verdure", "lab")


@dataclass(frozen=True)
class Step:
    """A shift between two years that the greens of one laboratory and method have in common.

    Attributes:
        method: laboratory and method.
        year: the later of the two years.
        share: how far results moved beyond each green's usual change, as a share; below zero: down.
        greens: codes of the greens that could show it.
        same_way: how many of them moved this way.
        p: two-sided, corrected over the years looked at.
    """

    method: str
    year: int
    share: float
    greens: tuple[str, ...]
    same_way: int
    p: float

    @property
    def text(self) -> str:
        """The step in words that name no green and no club."""
        way = "lower" if self.share < 0 else "higher"
        greens = f"{self.same_way} of {counted(len(self.greens), 'green')}"
        return (
            f"Organic matter by one laboratory and method ({self.method}) came out {100 * abs(self.share):.0f} % {way} "
            f"from {self.year - 1} to {self.year} than in other years, on {greens} (p {self.p:.2g}, corrected for the "
            "years looked at): a change of the laboratory, or of the season, common to all."
        )


def steps(soil: pl.DataFrame, until: date, weeks: float | None) -> list[Step]:
    """Steps of every laboratory and method, by method and year.

    Args:
        soil: soil tests of all greens.
        until: last day counted.
        weeks: samples so near in the time of the year are alike; None: all are.
    """
    results = soil.filter(
        (pl.col("analyte") == "organic_matter")
        & (pl.col("date") <= until)
        & (pl.col("value") > 0)
        & ~pl.col("below_limit").fill_null(value=False)
        & pl.col("lab").is_not_null()
    )
    found: list[Step] = []
    for _, part in results.group_by(*_KEY, maintain_order=True):
        found += _of_method(part, weeks)
    return sorted(found, key=lambda step: (step.method, step.year))


def _of_method(part: pl.DataFrame, weeks: float | None) -> Iterator[Step]:
    changes = _changes(part, weeks)
    if not changes.height:
        return
    wide = changes.pivot("year", index="green", values="change").sort("green", maintain_order=True)
    years = sorted(int(name) for name in wide.columns if name != "green")
    table = wide.select(str(year) for year in years).to_numpy()
    greens = wide["green"].to_numpy()
    for shift in common_shifts(table, alpha=ALPHA):
        here = tuple(str(green) for green in greens[np.isfinite(table[:, shift.step])])
        method = method_key(part.row(0, named=True))
        yield Step(method, years[shift.step], float(np.expm1(shift.value)), here, shift.same_way, shift.p)


def _changes(part: pl.DataFrame, weeks: float | None) -> pl.DataFrame:
    """Change of the logarithm from one year to the next at the same time of the year (grain: green, later year)."""
    same = ["green", "depth_from_mm", "depth_to_mm"]
    days = part.group_by(*same, "date", maintain_order=True).agg(pl.col("value").log().mean())
    days = days.with_columns(pl.col("date").dt.year().alias("year"))
    before = days.with_columns(pl.col("year") + 1)
    pairs = days.join(before, on=[*same, "year"], nulls_equal=True, suffix="_before", maintain_order="left")
    apart = (pl.col("date") - pl.col("date_before")).dt.total_days() - DAYS_PER_YEAR
    if weeks is not None:
        pairs = pairs.filter(apart.abs() <= 7 * weeks + 1)
    change = (pl.col("value") - pl.col("value_before")).mean().alias("change")
    return pairs.group_by("green", "year", maintain_order=True).agg(change)


def notes(records: GreenRecords, every: Records) -> Iterator[DataNote]:
    """What is to be known of the laboratories that this green's organic matter was measured by."""
    green = records.green["green"]
    for step in steps(every.soil, records.as_of, records.options.weeks):
        if green in step.greens:
            yield DataNote("warning", step.text, "laboratory")
