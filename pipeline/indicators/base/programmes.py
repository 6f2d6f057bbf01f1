"""Yearly programmes of a green's dressing, and the target it is to reach by a season."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.indicators.base.description import Description
from pipeline.indicators.base.green_records import JOB_OF_LINE, GreenRecords
from pipeline.indicators.base.rows import Rows
from pipeline.indicators.base.standing import own_target, target_ahead, target_for
from pipeline.statistics.series import in_years
from pipeline.workspace.settings import Season
from pipeline.workspace.targets.fit import NO_BASIS, Basis
from schemas.codes import fold

SEASONS_OF_PROGRAMME = 3
"""The present programme is the mean of so many of the latest seasons that have a log."""
PLAN = "dressing_plan_kg_m2"
"""Name under which a target holds the dressing a season that a club or association means to spread."""


@dataclass(frozen=True)
class Programme:
    """A yearly dressing: kg/m² dry as the layer gets it, its organic fraction, and the seasons it is the mean of."""

    kg_m2: float
    fraction: float
    seasons: int


def organic_fraction(doses: Rows) -> NDArray[np.float64]:
    """Organic fraction of each dressing; zero where its material does not say, and the method says so."""
    return np.array([(row["organic_matter_pct"] or 0.0) / 100 for row in doses], dtype=np.float64)


def log_start(records: GreenRecords) -> date | None:
    """Day by which the green's first logged job was done."""
    return records.first_logged


def season_on(season: Season, years: int) -> Season:
    """The season so many after (or, below zero, before) another."""
    return Season.from_day(season.start.replace(year=season.start.year + years))


def _seasons(records: GreenRecords, first: date) -> Iterator[Season]:
    """Seasons from the one of a day up to the season looked at, oldest first."""
    spans = [records.season]
    while spans[-1].start > first:
        spans.append(season_on(spans[-1], -1))
    return reversed(spans)


def unrecorded(records: GreenRecords) -> list[tuple[float, float]]:
    """Seasons without a single logged job, in years: nothing is known of what was done in them."""
    first = log_start(records)
    if first is None:
        return []
    gaps = []
    for season in _seasons(records, first):
        end = min(season.end, records.as_of)
        if not _logged(records, season) and not records.may_be_of(season.start, season.end).height:
            start, last = in_years([season.start, end])
            gaps.append((float(start), float(last)))
    return gaps


def _logged(records: GreenRecords, season: Season) -> bool:
    """Whether a job of a day is logged in a season."""
    at = bisect_left(records.job_days, season.start)
    return at < len(records.job_days) and records.job_days[at] <= season.end


def undated_dressings(records: GreenRecords, first: date, last: date) -> pl.DataFrame:
    """Dressings, and corings that take some of it, of which only the month or the year is known, of these days."""
    jobs = records.may_be_of(first, last)
    if not jobs.height:
        return jobs
    laid = records.periods["application"].filter(pl.col("sort") == "top_dressing")
    named = jobs.join(laid, on=JOB_OF_LINE, how="semi", nulls_equal=True, maintain_order="left")
    either = jobs.filter(pl.col("operation").is_in(["top_dressing", "hollow_coring"]))
    return pl.concat([named, either]).unique(maintain_order=True)


def present(records: GreenRecords, doses: Rows) -> Programme | None:
    """Mean yearly dressing of the latest seasons with a log; a season still running counts only where it is alone.

    Args:
        records: of the green.
        doses: its dressings, with ``layer_kg_m2``.
    """
    first = log_start(records)
    if first is None:
        return None
    if undated_dressings(records, first, records.as_of).height:
        return None
    with_log = [season for season in _seasons(records, first) if _logged(records, season)]
    whole = [s for s in with_log if s.end <= records.as_of and s.start >= first - timedelta(days=60)]
    chosen = (whole or with_log)[-SEASONS_OF_PROGRAMME:]
    put_on = doses.where(lambda row: any(season.start <= row["date"] <= season.end for season in chosen))
    if put_on.having("layer_kg_m2", None):
        return None
    total = put_on.total("layer_kg_m2")
    layer = np.array(put_on.column("layer_kg_m2"), dtype=np.float64)
    organic = math.fsum(layer * organic_fraction(put_on))
    return Programme(total / len(chosen), organic / total if total else 0.0, len(chosen))


def planned(records: GreenRecords) -> tuple[float, str] | None:
    """The dressing a season that a target chooses, kg/m² dry, and who chose it; None where none is chosen.

    Its lower end counts, else its upper. One for the season ahead comes before one for the season looked at.
    """
    ahead = replace(records, season=season_on(records.season, 1))
    for when in (ahead, records):
        target = own_target(when, PLAN)
        if target is not None and fold(target.unit) == fold("kg/m²"):
            amount = target.low if target.low is not None else target.high
            if amount is not None and amount >= 0:
                return amount, target.source
    return None


def goal(records: GreenRecords, what: Description, band: str, basis: Basis = NO_BASIS) -> tuple[float, Season] | None:
    """What a layer is to be brought to, %, and the season whose last day it is wanted by; None without an upper end.

    A target set for a season ahead says both; else it is the one in force, by ``reach_in_seasons`` of the settings.

    Args:
        records: of the green.
        what: the indicator that has the target, in %.
        band: the layer.
        basis: how its samples were made.
    """
    if (later := target_ahead(records, what.name, band, basis)) and later[0].high is not None:
        return later[0].high, season_on(records.season, int(later[1]) - int(records.season.name))
    now = target_for(records, what, band, basis)
    if now is None or now.high is None:
        return None
    return now.high, season_on(records.season, records.settings.reach_in_seasons)
