"""Green speed: seconds over 27 m, spread, evenness of rinks, hands and timers. Fewer seconds is a slower green."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from datetime import date
from typing import NamedTuple

import numpy as np
import polars as pl

from pipeline.agronomy.green_speed import (
    BOWLS_DISTANCE_M,
    STOP_WITHIN_M,
    deceleration_m_s2,
    evenness_s,
    rolling_coefficient,
    seconds_at_27_m,
)
from pipeline.common.amounts import Amount, AmountText, joined
from pipeline.common.words import counted, listed
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import MUMFORD, MUMFORD_CITED, DefaultTarget, Description, Family
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Indicator, Sample, Series
from pipeline.indicators.base.rows import Row, Rows
from pipeline.indicators.base.standing import series
from pipeline.statistics.interval import mean_interval

HANDS = dict.fromkeys(("forehand", "fore", "fh", "f"), "forehand") | dict.fromkeys(
    ("backhand", "back", "bh", "b"), "backhand"
)
"""What a record may write of the hand; any other direction is none."""
METHOD = "Timed bowls, corrected to 27 m by t × √(27 ÷ d); fewer seconds is a slower green."

SPEED = Description(
    "speed_s", "Green speed", "s", "surface",
    "Seconds of a timed bowl over 27 m; fewer seconds is a slower green. Stimpmeter readings are kept apart.",
    "Each bowl corrected by t × √(27 ÷ d); mean of the days, 95 % interval from the spread between days.",
    formulas=(seconds_at_27_m,), targets=(DefaultTarget(10.0, 18.0, MUMFORD, cited=MUMFORD_CITED),),
)  # fmt: skip
SPREAD = Description(
    "speed_sd_s", "Spread of single bowls", "s", "surface", "How far single bowls scatter.",
    "Standard deviation of all bowls of the season.", formulas=(seconds_at_27_m,), difference=True,
)  # fmt: skip
_EVENNESS = (seconds_at_27_m, evenness_s)
RINKS = Description(
    "speed_range_s", "Evenness: slowest to fastest rink", "s", "surface", "How far rinks differ.",
    "Each bowl against the mean of its day, averaged by rink; largest less smallest.", decimals=2, formulas=_EVENNESS,
    targets=(DefaultTarget(None, 0.5, MUMFORD, cited=MUMFORD_CITED, note="all rinks"),), difference=True,
)  # fmt: skip
HANDS_APART = Description(
    "speed_hands_s", "Evenness: forehand to backhand", "s", "surface",
    "How far the hands differ; only where the record's direction says forehand or backhand.",
    "Each bowl against the mean of its day and rink, averaged by hand; larger less smaller.", decimals=2,
    formulas=_EVENNESS, difference=True,
)  # fmt: skip
TIMERS = Description(
    "speed_timers_s", "Spread between timers", "s", "surface",
    "How far people with a stopwatch differ; nobody is named.",
    "Bowls of one day, rink and direction with different observers, averaged by observer; largest less smallest.",
    decimals=2, formulas=_EVENNESS, difference=True,
    targets=(DefaultTarget(
        None, 1.0, "a national association's memo on green speed, 2016: two timers of one bowl agree within 1 s",
        cited="Lawn Bowls Hong Kong, memo of 21 June 2016",
    ),),
)  # fmt: skip
DECELERATION = Description(
    "deceleration_m_s2", "Deceleration of a bowl", "m/s²", "rolling",
    "How hard the green holds the bowl; a slow green has more of it.", "2 d ÷ t² of each bowl; mean of the days.",
    decimals=3, formulas=(deceleration_m_s2,),
)  # fmt: skip
ROLLING = Description(
    "rolling_coefficient", "Coefficient of rolling resistance", "", "rolling", "The same as a share of gravity.",
    "Deceleration over 9.81 m/s².", decimals=4, formulas=(deceleration_m_s2, rolling_coefficient),
)  # fmt: skip


def timed(speeds: pl.DataFrame) -> pl.DataFrame:
    """Timed bowls among readings, with ``speed_s`` at 27 m and whether that distance was given (grain: bowl)."""
    distance = pl.col("distance_m").fill_null(BOWLS_DISTANCE_M)
    return speeds.filter(pl.col("device") == "timed_bowl").with_columns(
        seconds_at_27_m(pl.col("value"), distance).alias("speed_s"),
        deceleration_m_s2(pl.col("value"), distance).alias("deceleration_m_s2"),
        pl.col("distance_m").is_null().alias("assumed"),
        ((distance - BOWLS_DISTANCE_M).abs() > STOP_WITHIN_M + 1e-9).alias("outside_rule"),
    )


def bowls(asked: Asked) -> Iterator[Rows]:
    """The timed bowls of each season that has any."""
    hand = pl.col("direction").str.to_lowercase().replace_strict(HANDS, default=None, return_dtype=pl.String)
    rows = timed(asked.in_season(asked.speeds)).with_columns(hand.alias("hand"))
    return asked.each_season(
        rows, "green_speed", "date", "rink", "hand", "observer", "direction", "speed_s", "deceleration_m_s2",
        "assumed", "outside_rule",
    )  # fmt: skip


def speed(asked: Asked) -> Iterator[Indicator]:
    """Mean, spread and evenness of the seasons' timed bowls (grain: indicator)."""
    for rows in bowls(asked):
        yield from _of_season(rows)


def _of_season(rows: Rows) -> Iterator[Indicator]:
    days = [sample.value for sample in day_samples(rows)]
    how = f"{METHOD} Mean of the {counted(len(days), 'day')}; 95 % interval from the spread between days."
    mean = mean_interval(days)
    yield SPEED.figure(mean.mean, rows, low=mean.low, high=mean.high, method=how, note=_note(rows, days))
    if len(rows) > 1:
        spread = float(np.std(rows.column("speed_s"), ddof=1))
        yield SPREAD.figure(spread, rows, method=f"{METHOD} Standard deviation of the single bowls.")
    yield from _evenness(
        RINKS, rows, "rink", ("date",),
        "Each bowl against the mean of its day, averaged by rink; largest less smallest rink mean.",
        lambda means: f"Slowest rink {means[0].of}, fastest rink {means[-1].of}; at least "
        f"{counted(min(mean.bowls for mean in means), 'bowl')} a rink.",
    )  # fmt: skip
    yield from _evenness(
        HANDS_APART, rows, "hand", ("date", "rink"),
        "Each bowl against the mean of its day and rink, averaged by hand; larger less smaller mean.",
        lambda means: f"Slower on the {means[0].of}.",
    )  # fmt: skip
    yield from _evenness(
        TIMERS, rows, "observer", ("date", "rink", "direction"),
        "Bowls of one day, rink and direction timed by different people, each against their mean, averaged by timer; "
        "largest less smallest.",
    )  # fmt: skip
    yield from _rolling(rows)


def _note(rows: Rows, days: list[float]) -> str:
    parts = []
    if len(days) == 1:
        parts.append("One day only: no interval.")
    if assumed := sum(rows.column("assumed")):
        parts.append(f"{assumed} of {len(rows)} bowls give no distance; 27 m is taken.")
    if outside := sum(rows.column("outside_rule")):
        far = Amount(STOP_WITHIN_M, "m")
        parts.append(AmountText(f"{outside} of {len(rows)} bowls stopped more than ", far, " from 27 m; corrected."))
    return joined(" ", parts)


class _Mean(NamedTuple):
    """How far the bowls of one rink, hand or timer are off their like in the mean, s, and how many they are."""

    off_s: float
    of: str
    bowls: int


def _evenness(
    what: Description, rows: Rows, by: str, beside: tuple[str, ...], method: str,
    said: Callable[[list[_Mean]], str] = lambda _means: "",
) -> Iterator[Indicator]:  # fmt: skip
    """Range between the means of what ``by`` parts; bowls are compared with those ``beside`` alike.

    Each day is taken for itself so that weather does not count as unevenness; what was timed alone is left out.
    """
    off: dict[str, list[float]] = {}
    known: list[Row] = []
    for part in rows.given(by).split(*beside).values():
        if len(set(part.column(by))) > 1:
            known += part
            mean = part.mean("speed_s")
            for row in part:
                off.setdefault(row[by], []).append(row["speed_s"] - mean)
    means = sorted(_Mean(math.fsum(of) / len(of), name, len(of)) for name, of in off.items())
    if len(means) > 1:
        range_s = evenness_s([mean.off_s for mean in means])
        yield what.figure(range_s, rows.these(known), method=method, note=said(means))


def _rolling(rows: Rows) -> Iterator[Indicator]:
    """Mean deceleration of the days, and the coefficient of rolling resistance it makes."""
    mean = mean_interval([of_day.mean("deceleration_m_s2") for of_day in _by_day(rows).values()])
    how = "2 d ÷ t² of each bowl, uniform deceleration; mean of the days, 95 % interval from the spread between days."
    yield DECELERATION.figure(mean.mean, rows, low=mean.low, high=mean.high, method=how)
    low, high = (None if end is None or end <= 0 else rolling_coefficient(end) for end in (mean.low, mean.high))
    how = f"Deceleration over 9.81 m/s². {how}"
    yield ROLLING.figure(rolling_coefficient(mean.mean), rows, low=low, high=high, method=how)


def _by_day(rows: Rows) -> dict[date, Rows]:
    """The bowls by days, oldest first."""
    days = rows.these(sorted(rows, key=lambda row: row["date"])).split("date")
    return {day: of_day for (day,), of_day in days.items()}


def day_samples(rows: Rows) -> list[Sample]:
    """The timed bowls of each day as one sample, oldest first."""
    found = []
    for day, of_day in _by_day(rows).items():
        values = of_day.column("speed_s")
        mean = mean_interval(values)
        lines = of_day.evidence
        found.append(Sample(day, mean.mean, mean.low, mean.high, len(values), tuple(values), METHOD, evidence=lines))
    return found


def speed_series(records: GreenRecords) -> list[Series]:
    """Green speed through the season, for the chart; empty where nothing was timed."""
    return [series(records, SPEED, day_samples(rows)) for rows in bowls(Asked.about([records]))]


def other_devices(asked: Asked) -> dict[int, str]:
    """Of each season that has any: what was measured otherwise and is therefore not in the figures."""
    others = asked.in_season(asked.speeds.filter(pl.col("device") != "timed_bowl"))
    found = {}
    for rows in asked.each_season(others, "green_speed", "device"):
        names = listed(sorted(name.replace("_", " ") for name in set(rows.column("device"))))
        said = f"{counted(len(rows), 'reading')} by {names} are kept apart: they are never turned into seconds."
        found[rows.of] = said
    return found


FAMILY = Family((SPEED, SPREAD, RINKS, HANDS_APART, TIMERS, DECELERATION, ROLLING), speed)
