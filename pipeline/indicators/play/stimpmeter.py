"""Stimpmeter: distance of a ball, by the rules of its series. Never turned into seconds of a bowl."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import polars as pl

from pipeline.agronomy.green_speed import brede_speed, stimpmeter_reading
from pipeline.common.words import counted
from pipeline.indicators.base.description import Description, Family, one_by_one
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import GreenRecords
from pipeline.statistics.interval import mean_interval

STIMP = Description(
    "stimp_m", "Stimpmeter distance", "m", "surface",
    "How far a ball rolls off a Stimpmeter; never turned into seconds. The note says which rules of the series were "
    "broken.",
    "Mean of each way's balls, then of both ways of one rink and day; mean of those. Balls rolled one way only do not "
    "count.", decimals=2, formulas=(stimpmeter_reading,),
)  # fmt: skip
STIMP_LEVEL = Description(
    "stimp_level_m", "Stimpmeter distance, corrected for slope", "m", "surface",
    "What a level green would give; asks for an even slope.", "2 × up × down ÷ (up + down), Brede 1990.", decimals=2,
    formulas=(brede_speed,),
)  # fmt: skip
METHOD = (
    "Mean of each way's balls, then of the two ways, standard notch (USGA Stimpmeter booklet); mean of the places and "
    "days, 95 % interval from their spread. Never turned into seconds of a bowl."
)
LEVEL_METHOD = "2 × up × down ÷ (up + down) of the two ways (Brede 1990), for an even slope; otherwise the same."


@dataclass(frozen=True)
class Place:
    """The balls of one day on one rink, rolled two ways.

    Attributes:
        mean_m: mean of the two ways, m.
        level_m: the same corrected for a slope, m.
        doubts: rules of the series that the balls broke.
    """

    mean_m: float
    level_m: float
    doubts: tuple[str, ...]


def stimpmeter(records: GreenRecords) -> Iterator[Indicator]:
    """Distance of the season's Stimpmeter series, plain and corrected for slope (grain: indicator)."""
    rows = records.in_season(records.speeds).filter(pl.col("device") == "stimpmeter")
    if not rows.height:
        return
    both_ways = pl.col("direction").drop_nulls().n_unique().over("date", "rink") == 2
    used = rows.filter(both_ways & pl.col("direction").is_not_null())
    places = list(_places(used))
    note = _note(places, rows.height - used.height)
    if not places:
        yield STIMP.figure(None, rows, "green_speed", n=0, method=METHOD, note=note)
        return
    for what, values, how, said in (
        (STIMP, [one.mean_m for one in places], METHOD, note),
        (STIMP_LEVEL, [one.level_m for one in places], LEVEL_METHOD, ""),
    ):
        mean = mean_interval(values)
        yield what.figure(mean.mean, used, "green_speed", low=mean.low, high=mean.high, method=how, note=said)


def _places(used: pl.DataFrame) -> Iterator[Place]:
    """Each day and rink that was rolled two ways; rows without a rink are one place."""
    for place in used.partition_by("date", "rink"):
        one, other = (way["value"].to_list() for way in place.partition_by("direction"))
        reading = stimpmeter_reading([m * 1000 for m in one], [m * 1000 for m in other])
        level = brede_speed(sum(one) / len(one), sum(other) / len(other))
        yield Place(reading.distance_mm / 1000, level, reading.doubts)


def _note(places: list[Place], left_out: int) -> str:
    """Rules that were broken, and balls that cannot count."""
    doubts = dict.fromkeys(doubt for one in places for doubt in one.doubts)
    parts = [f"In {sum(doubt in one.doubts for one in places)} of {len(places)}: {doubt}." for doubt in doubts]
    if left_out:
        parts.append(f"{counted(left_out, 'ball')} left out: not rolled two ways on one rink.")
    return " ".join(parts)


FAMILY = Family((STIMP, STIMP_LEVEL), one_by_one(stimpmeter))
