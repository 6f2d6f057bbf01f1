"""A laboratory's step or drift: the greens of one laboratory and method that moved together, at once or over years.

No verdict on a green rests on it: other greens' records change no word of its own. It is told beside it.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from pipeline.common.words import counted
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import DataNote
from pipeline.indicators.base.records import Records
from pipeline.indicators.soil.methods import method_key
from pipeline.statistics.common_shift import common_shifts
from pipeline.statistics.common_trend import CommonTrend, common_trend
from pipeline.statistics.series import DAYS_PER_YEAR

ALPHA = 0.05
"""Level of the search over all years of one laboratory and method."""
_KEY = ("burn_c", "preparation", "verdure", "lab")


@dataclass(frozen=True)
class Step:
    """A shift between two samplings that the greens of one laboratory and method have in common.

    Attributes:
        method: laboratory and method.
        since: year of the earlier sampling.
        year: year of the later one; the step lies after the former, at the latest in this.
        share: how far results moved beyond each green's usual change, as a share; below zero: down.
        greens: codes of the greens that could show it.
        same_way: how many of them moved this way.
        p: two-sided, corrected over the years looked at.
    """

    method: str
    since: int
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
        gap = self.year - self.since
        when = f" ({gap} years apart: in which of them is not known)" if gap > 1 else ""
        return (
            f"Organic matter by one laboratory and method ({self.method}) came out {100 * abs(self.share):.0f} % {way} "
            f"from {self.since} to {self.year}{when} than in other years, on {greens} (p {self.p:.2g}, corrected for "
            "the years looked at): a change of the laboratory, or of the season, common to all."
        )


@dataclass(frozen=True)
class Drift:
    """A steady change that most greens of one laboratory and method have in common.

    Attributes:
        method: laboratory and method.
        found: the change of the logarithm.
        greens: codes of the greens looked at.
    """

    method: str
    found: CommonTrend
    greens: tuple[str, ...]

    @property
    def text(self) -> str:
        """The drift in words that name no green and no club."""
        one, share = self.found, float(np.expm1(self.found.slope))
        return (
            f"Organic matter by one laboratory and method ({self.method}) {'fell' if share < 0 else 'rose'} by "
            f"{100 * abs(share):.1f} % of itself a year from {one.first} to {one.last} on {one.alike} of "
            f"{counted(one.members, 'green')} (p {one.p:.2g}, years counted once): what they have in common may be the "
            "greens' or a drift of the laboratory; these records cannot tell which."
        )


def common(soil: pl.DataFrame, until: date, weeks: float | None) -> list[Step | Drift]:
    """What greens have in common by each laboratory and method, by method: its steps by year, or a drift.

    No drift is looked for where a step is found: a step makes a slope as well, and is told.

    Args:
        soil: soil tests of all greens.
        until: last day counted.
        weeks: samples so near in the time of the year are alike; None: all are.
    """
    found: list[Step | Drift] = []
    for method, part in _of_methods(soil, until):
        if chains := [chain for chain in _chains(part, weeks) if len(chain) > 1]:
            found += _steps(method, chains) or _drift(method, chains)
    return found


def _of_methods(soil: pl.DataFrame, until: date) -> list[tuple[str, pl.DataFrame]]:
    """Results of organic matter up to a day by each named laboratory and method, by method."""
    results = soil.filter(
        (pl.col("analyte") == "organic_matter")
        & (pl.col("date") <= until)
        & (pl.col("value") > 0)
        & ~pl.col("below_limit").fill_null(value=False)
        & pl.col("lab").is_not_null()
    )
    parts = [part for _, part in results.group_by(*_KEY, maintain_order=True)]
    return sorted(((method_key(part.row(0, named=True)), part) for part in parts), key=lambda one: one[0])


def _drift(method: str, chains: list[list[_Result]]) -> list[Drift]:
    """The steady change that most greens show alike; empty where there is none."""
    rows = [(one.day.year, one.log, at, one.green) for at, chain in enumerate(chains) for one in chain]
    years, logs, row, member = zip(*rows, strict=True)
    found = common_trend(years, logs, row, member, alpha=ALPHA)
    return [] if found is None else [Drift(method, found, tuple(sorted(set(member))))]


def _steps(method: str, chains: list[list[_Result]]) -> list[Step]:
    """The steps that greens have in common, by year."""
    first = min(chain[0].day.year for chain in chains)
    steps_in_all = max(chain[-1].day.year for chain in chains) - first
    changes = np.full((len(chains), steps_in_all), np.nan)
    since, until = np.full((2, len(chains), steps_in_all), -1)
    for at, chain in enumerate(chains):
        for before, after in itertools.pairwise(chain):
            covered = slice(before.day.year - first, after.day.year - first)
            changes[at, covered] = after.log - before.log
            since[at, covered], until[at, covered] = before.day.year, after.day.year
    found = []
    for shift in common_shifts(changes, spans=since, member=[chain[0].green for chain in chains], alpha=ALPHA):
        rows = list(shift.rows)
        step = Step(
            method,
            int(since[rows, shift.step].max()),
            int(until[rows, shift.step].min()),
            float(np.expm1(shift.value)),
            tuple(sorted({chains[row][0].green for row in rows})),
            shift.same_way,
            shift.p,
        )
        found.append(step)
    return sorted(found, key=lambda one: one.year)


@dataclass(frozen=True)
class _Result:
    """Logarithm of a day's mean on a layer of a green."""

    green: str
    day: date
    log: float


def _chains(part: pl.DataFrame, weeks: float | None) -> list[list[_Result]]:
    """Results of each layer at one time of the year, oldest first, a year once, however many years lie between two.

    A laboratory's step hides in a gap as well.
    """
    layer = ["green", "depth_from_mm", "depth_to_mm"]
    days = part.group_by(*layer, "date", maintain_order=True).agg(pl.col("value").log().mean())
    chains: dict[tuple[object, ...], list[list[_Result]]] = {}
    for row in days.sort("date", *layer, maintain_order=True).iter_rows(named=True):
        of_layer = chains.setdefault(tuple(row[name] for name in layer), [])
        result = _Result(row["green"], row["date"], row["value"])
        chain = next((one for one in of_layer if _follows(result.day, one[-1].day, weeks)), None)
        if chain is None:
            of_layer.append([result])
        else:
            chain.append(result)
    return [chain for of_layer in chains.values() for chain in of_layer]


def _follows(day: date, before: date, weeks: float | None) -> bool:
    """Whether a day lies in a later year at the same time of it."""
    years = day.year - before.year
    return years > 0 and (weeks is None or abs((day - before).days - DAYS_PER_YEAR * years) <= 7 * weeks + 1)


def notes(records: GreenRecords, every: Records) -> Iterator[DataNote]:
    """What is to be known of the laboratories that this green's organic matter was measured by."""
    green, asked = records.green["green"], (records.until, records.options.weeks)
    known = every.once(_known)
    if asked not in known:
        known[asked] = common(every.soil, *asked)
    yield from (told(one) for one in known[asked] if green in one.greens)


def _known(_every: Records) -> dict[tuple[date, float | None], list[Step | Drift]]:
    """What greens have in common by day and rule, each made once: it is the same for all of them."""
    return {}


def told(one: Step | Drift) -> DataNote:
    """A step or drift as it is told beside a green's figures."""
    return DataNote("warning" if isinstance(one, Step) else "note", one.text, "laboratory")
