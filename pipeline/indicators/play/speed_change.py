"""Green speed over the seasons, like with like: the same months, height of cut and weather."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator
from dataclasses import replace

import polars as pl

from pipeline.agronomy.green_speed import seconds_at_27_m
from pipeline.common.words import counted, listed
from pipeline.indicators.base.description import Description, Family
from pipeline.indicators.base.green_season import Change, Indicator, Verdict
from pipeline.indicators.base.records import GreenRecords
from pipeline.indicators.play.conditions import Days, classes, days_of
from pipeline.indicators.play.surface import timed
from pipeline.statistics.effect import Difference, like_with_like
from pipeline.statistics.interval import Refused
from pipeline.statistics.seasonal import SeasonalKendall, seasonal_kendall

MIN_DAYS = 3
"""Fewest days of timing in each season under conditions that both have."""
MIN_SEASONS = 3
"""Fewest seasons that a month must have been timed in to tell of a trend."""
ALPHA = 0.05
"""Level of the test for a trend, two-sided."""

CHANGE = Description(
    "speed_change_s", "Green speed against the season before", "s", "surface",
    "Seconds gained (faster) or lost since the season before, like with like.",
    "Means of days by month, height of cut and rain of the two days before (dry: under 1 mm), only where both seasons "
    "have them; what is recorded nowhere is left aside, and the note says so.",
    formulas=(seconds_at_27_m, like_with_like), difference=True,
)  # fmt: skip
TREND = Description(
    "speed_trend_s_year", "Green speed, change a year", "s a year", "surface",
    "Whether the green gets faster (above zero) or slower over the seasons.",
    "Seasonal Kendall slope with its interval: means by month, height of cut and rain, each with its like, where three "
    "seasons or more have them.", decimals=2, formulas=(seconds_at_27_m, seasonal_kendall), difference=True,
)  # fmt: skip


def speed_change(records: GreenRecords) -> Iterator[Indicator]:
    """Seconds gained or lost since the season before; refused where no conditions are alike (grain: indicator)."""
    every = timed(records)
    first = records.season.start.replace(year=records.season.start.year - 1)
    both = every.filter(pl.col("date").is_between(first, records.as_of))
    days = days_of(records, both)
    here, before = records.in_season(both), both.filter(pl.col("date") < records.season.start)
    if not (here.height and before.height):
        return
    now, then = records.in_season(days.rows), days.rows.filter(pl.col("date") < records.season.start)
    difference = like_with_like(
        then["speed_s"].to_numpy(), classes(then), now["speed_s"].to_numpy(), classes(now), min_each=MIN_DAYS
    )
    base = CHANGE.figure(
        None,
        both,
        "green_speed",
        n=now.height + then.height,
        method=f"Means of days by {days.method()}; only what both seasons have is compared, each with its like; 95 % t "
        "interval from the spread between days.",
        note=_note(difference, days, then, now),
    )
    if isinstance(difference, Refused):
        yield replace(base, standing="too few")
    else:
        used = difference.n_first + difference.n_second
        yield replace(base, value=difference.value, low=difference.low, high=difference.high, n=used)


def _note(difference: Difference | Refused, days: Days, then: pl.DataFrame, now: pl.DataFrame) -> str:
    """What was compared, or why nothing was; what was left out."""
    shared = set(classes(then)) & set(classes(now))
    cuts = sorted({f"{cut:g}" for _, cut, _ in shared if cut is not None})
    parts = []
    if isinstance(difference, Refused):
        parts.append(f"Too few: {difference.why}")
    elif cuts:
        parts.append(f"Compared at {listed(cuts)} mm height of cut.")
    if alone := sum(one not in shared for one in (*classes(then), *classes(now))):
        parts.append(f"{counted(alone, 'day')} whose like the other season lacks left out.")
    return " ".join([*parts, *days.notes()])


def speed_trend(records: GreenRecords) -> Iterator[Indicator]:
    """Change of green speed a year over several seasons, month with like month (grain: indicator)."""
    every = timed(records)
    days = days_of(records, every)
    months = _months(records, days.rows)
    if not months.height:
        return
    labels: list[Hashable] = list(months.select("month", "cut_mm", "wet").iter_rows())
    codes = [labels.index(one) for one in labels]
    found = seasonal_kendall(
        months["season"].to_list(), months["speed_s"].to_list(), codes, alpha=ALPHA, correlated=True
    )
    base = TREND.figure(
        None,
        every,
        "green_speed",
        n=found.n,
        method=f"Seasonal Kendall: means of each season by {days.method()}, compared with the same of other seasons, "
        f"where at least {MIN_SEASONS} have it; median slope, 95 % interval by normal approximation, with the "
        "covariance of the months of a season.",
        note=" ".join(days.notes()),
        verdict=_verdict(found),
    )
    if found.smallest_p > ALPHA:
        yield replace(base, standing="too few")
    else:
        low, high = (found.low, found.high) if _bounded(found) else (None, None)
        yield replace(base, value=found.slope, low=low, high=high)


def _bounded(found: SeasonalKendall) -> bool:
    return math.isfinite(found.low) and math.isfinite(found.high) and found.low < found.high


def _verdict(found: SeasonalKendall) -> Verdict:
    """The trend in one word, with the odds; more seconds is a faster green."""
    behind = f"{counted(found.n, 'mean')} of {counted(found.seasons, 'month')} alike"
    if found.smallest_p > ALPHA:
        short = f"{behind}; the smallest p possible is {found.smallest_p:.2g}, and {ALPHA:g} is asked for"
        return Verdict("too few", short)
    clear = found.p <= ALPHA and _bounded(found) and (found.low > 0 or found.high < 0)
    word: Change = "no clear change" if not clear else "faster" if found.slope > 0 else "slower"
    return Verdict(word, f"{behind}, p {found.p:.2g}", found.p)


def _months(records: GreenRecords, days: pl.DataFrame) -> pl.DataFrame:
    """Means by season, month and conditions, of those that enough seasons have (grain: season, month, conditions)."""
    start = records.season.start
    month, day = pl.col("date").dt.month(), pl.col("date").dt.day()
    begun = (month > start.month) | ((month == start.month) & (day >= start.day))
    ends_next = 0 if (start.month, start.day) == (1, 1) else 1
    named = days.with_columns(
        month.alias("month"),
        (pl.col("date").dt.year() - 1 + begun.cast(pl.Int32) + ends_next).alias("season"),
    )
    by = ["month", "cut_mm", "wet"]
    means = named.group_by("season", *by, maintain_order=True).agg(pl.col("speed_s").mean())
    return means.filter(pl.col("season").n_unique().over(by) >= MIN_SEASONS).sort("season", *by, maintain_order=True)


def changes(records: GreenRecords) -> Iterator[Indicator]:
    """Both changes of green speed (grain: indicator)."""
    yield from speed_change(records)
    yield from speed_trend(records)


FAMILY = Family((CHANGE, TREND), changes)
