"""Green speed: seconds over 27 m, spread, evenness of rinks, hands and timers. Fewer seconds is a slower green."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date

import polars as pl

from pipeline.agronomy.green_speed import (
    BOWLS_DISTANCE_M,
    STOP_WITHIN_M,
    deceleration_m_s2,
    evenness_s,
    rolling_coefficient,
    seconds_at_27_m,
)
from pipeline.common.words import counted, listed
from pipeline.indicators.base.description import MUMFORD, MUMFORD_CITED, DefaultTarget, Description, Family, one_by_one
from pipeline.indicators.base.green_season import Indicator, Sample, Series
from pipeline.indicators.base.records import GreenRecords, evidence
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


def timed(records: GreenRecords) -> pl.DataFrame:
    """Timed bowls up to the day of the report, with ``speed_s`` at 27 m and whether that distance was given."""
    rows = records.speeds.filter((pl.col("device") == "timed_bowl") & (pl.col("date") <= records.as_of))
    distance = pl.col("distance_m").fill_null(BOWLS_DISTANCE_M)
    return rows.with_columns(
        seconds_at_27_m(pl.col("value"), distance).alias("speed_s"),
        deceleration_m_s2(pl.col("value"), distance).alias("deceleration_m_s2"),
        pl.col("distance_m").is_null().alias("assumed"),
        ((distance - BOWLS_DISTANCE_M).abs() > STOP_WITHIN_M + 1e-9).alias("outside_rule"),
    )


def speed(records: GreenRecords) -> Iterator[Indicator]:
    """Mean, spread and evenness of the season's timed bowls (grain: indicator)."""
    rows = records.in_season(timed(records))
    if not rows.height:
        return
    days = [sample.value for sample in day_samples(rows)]
    how = f"{METHOD} Mean of the {counted(len(days), 'day')}; 95 % interval from the spread between days."
    mean = mean_interval(days)
    yield SPEED.figure(mean.mean, rows, "green_speed", low=mean.low, high=mean.high, method=how, note=_note(rows, days))
    if rows.height > 1:
        spread = float(rows["speed_s"].std())  # type: ignore[arg-type]
        yield SPREAD.figure(spread, rows, "green_speed", method=f"{METHOD} Standard deviation of the single bowls.")
    yield from _evenness(
        RINKS, rows, "rink", ("date",),
        "Each bowl against the mean of its day, averaged by rink; largest less smallest rink mean.",
        lambda means: f"Slowest rink {means['rink'][0]}, fastest rink {means['rink'][-1]}; at least "
        f"{counted(min(means['bowls'].to_list()), 'bowl')} a rink.",
    )  # fmt: skip
    hand = pl.col("direction").str.to_lowercase().replace_strict(HANDS, default=None, return_dtype=pl.String)
    yield from _evenness(
        HANDS_APART, rows.with_columns(hand.alias("hand")), "hand", ("date", "rink"),
        "Each bowl against the mean of its day and rink, averaged by hand; larger less smaller mean.",
        lambda means: f"Slower on the {means['hand'][0]}.",
    )  # fmt: skip
    yield from _evenness(
        TIMERS, rows, "observer", ("date", "rink", "direction"),
        "Bowls of one day, rink and direction timed by different people, each against their mean, averaged by timer; "
        "largest less smallest.",
    )  # fmt: skip
    yield from _rolling(rows)


def _note(rows: pl.DataFrame, days: list[float]) -> str:
    parts = []
    if len(days) == 1:
        parts.append("One day only: no interval.")
    if assumed := rows.filter("assumed").height:
        parts.append(f"{assumed} of {rows.height} bowls give no distance; 27 m is taken.")
    if outside := rows.filter("outside_rule").height:
        parts.append(f"{outside} of {rows.height} bowls stopped more than {STOP_WITHIN_M:g} m from 27 m; corrected.")
    return " ".join(parts)


def _evenness(
    what: Description, rows: pl.DataFrame, by: str, beside: tuple[str, ...], method: str,
    said: Callable[[pl.DataFrame], str] = lambda _means: "",
) -> Iterator[Indicator]:  # fmt: skip
    """Range between the means of what ``by`` parts; bowls are compared with those ``beside`` alike.

    Each day is taken for itself so that weather does not count as unevenness; what was timed alone is left out.
    """
    known = rows.drop_nulls(by).filter(pl.col(by).n_unique().over(beside) > 1)
    off = (pl.col("speed_s") - pl.col("speed_s").mean().over(beside)).alias("off")
    means = (
        known.with_columns(off)
        .group_by(by, maintain_order=True)
        .agg(pl.col("off").mean(), pl.len().alias("bowls"))
        .sort("off", by, maintain_order=True)
    )
    if means.height > 1:
        yield what.figure(evenness_s(means["off"].to_list()), known, "green_speed", method=method, note=said(means))


def _rolling(rows: pl.DataFrame) -> Iterator[Indicator]:
    """Mean deceleration of the days, and the coefficient of rolling resistance it makes."""
    days = rows.group_by("date", maintain_order=True).agg(pl.col("deceleration_m_s2").mean())
    mean = mean_interval(days.sort("date", maintain_order=True)["deceleration_m_s2"].to_list())
    how = "2 d ÷ t² of each bowl, uniform deceleration; mean of the days, 95 % interval from the spread between days."
    yield DECELERATION.figure(mean.mean, rows, "green_speed", low=mean.low, high=mean.high, method=how)
    low, high = (None if end is None or end <= 0 else rolling_coefficient(end) for end in (mean.low, mean.high))
    how = f"Deceleration over 9.81 m/s². {how}"
    value = rolling_coefficient(mean.mean)
    yield ROLLING.figure(value, rows, "green_speed", low=low, high=high, method=how)


def day_samples(rows: pl.DataFrame) -> list[Sample]:
    """The timed bowls of each day as one sample, oldest first."""
    found = []
    for (day,), part in sorted(rows.group_by("date", maintain_order=True), key=lambda group: str(group[0][0])):
        values = part["speed_s"].to_list()
        mean = mean_interval(values)
        assert isinstance(day, date)
        places = evidence(part, "green_speed")
        found.append(Sample(day, mean.mean, mean.low, mean.high, len(values), tuple(values), METHOD, evidence=places))
    return found


def speed_series(records: GreenRecords) -> list[Series]:
    """Green speed through the season, for the chart; empty where nothing was timed."""
    samples = day_samples(records.in_season(timed(records)))
    return [series(records, SPEED, samples)] if samples else []


def other_devices(records: GreenRecords) -> str:
    """What was measured otherwise and is therefore not in the figures; "" where nothing was."""
    rows = records.in_season(records.speeds).filter(pl.col("device") != "timed_bowl")
    if not rows.height:
        return ""
    names = listed(sorted(str(name).replace("_", " ") for name in rows["device"].unique()))
    return f"{counted(rows.height, 'reading')} by {names} are kept apart: they are never turned into seconds."


FAMILY = Family((SPEED, SPREAD, RINKS, HANDS_APART, TIMERS, DECELERATION, ROLLING), one_by_one(speed))
