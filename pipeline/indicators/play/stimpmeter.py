"""Stimpmeter: distance of a ball, by the rules of its series. Never turned into seconds of a bowl."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import polars as pl

from pipeline.agronomy.green_speed import brede_speed, stimpmeter_reading
from pipeline.common.words import counted
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import Description, Family
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.rows import Rows
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


def stimpmeter(asked: Asked) -> Iterator[Indicator]:
    """Distance of the seasons' Stimpmeter series, plain and corrected for slope (grain: indicator)."""
    balls = asked.in_season(asked.speeds).filter(pl.col("device") == "stimpmeter")
    for rows in asked.each_season(balls, "green_speed", "date", "rink", "direction", "value"):
        yield from _of_season(rows)


def _of_season(rows: Rows) -> Iterator[Indicator]:
    by_place = [place.split("direction") for place in rows.given("direction").split("date", "rink").values()]
    both_ways = [ways for ways in by_place if len(ways) == 2]
    used = rows.these([row for ways in both_ways for way in ways.values() for row in way])
    places = [_place(*(way.column("value") for way in ways.values())) for ways in both_ways]
    note = _note(places, len(rows) - len(used))
    if not places:
        yield STIMP.figure(None, rows, n=0, method=METHOD, note=note)
        return
    for what, values, how, said in (
        (STIMP, [one.mean_m for one in places], METHOD, note),
        (STIMP_LEVEL, [one.level_m for one in places], LEVEL_METHOD, ""),
    ):
        mean = mean_interval(values)
        yield what.figure(mean.mean, used, low=mean.low, high=mean.high, method=how, note=said)


def _place(one: list[float], other: list[float]) -> Place:
    """A day and rink that was rolled two ways, m each; rows without a rink are one place."""
    reading = stimpmeter_reading([m * 1000 for m in one], [m * 1000 for m in other])
    level = brede_speed(sum(one) / len(one), sum(other) / len(other))
    return Place(reading.distance_mm / 1000, level, reading.doubts)


def _note(places: list[Place], left_out: int) -> str:
    """Rules that were broken, and balls that cannot count."""
    doubts = dict.fromkeys(doubt for one in places for doubt in one.doubts)
    parts = [f"In {sum(doubt in one.doubts for one in places)} of {len(places)}: {doubt}." for doubt in doubts]
    if left_out:
        parts.append(f"{counted(left_out, 'ball')} left out: not rolled two ways on one rink.")
    return " ".join(parts)


FAMILY = Family((STIMP, STIMP_LEVEL), stimpmeter)
