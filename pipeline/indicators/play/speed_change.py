"""Green speed over the seasons, like with like: the same months, height of cut and weather."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import polars as pl

from pipeline.agronomy.green_speed import seconds_at_27_m
from pipeline.common.words import counted, listed
from pipeline.indicators.base.description import Description, Family, one_by_one
from pipeline.indicators.base.green_season import Change, Indicator, Verdict
from pipeline.indicators.base.records import GreenRecords
from pipeline.indicators.play.conditions import Days, classes, days_of
from pipeline.indicators.play.surface import timed
from pipeline.statistics.effect import Difference, like_with_like
from pipeline.statistics.interval import Refused
from pipeline.statistics.season_trend import SEASONS_ALIKE, SeasonTrend, season_trend
from pipeline.statistics.year_effects import year_effects

MIN_DAYS = 3
"""Fewest days of timing in each season under conditions that both have."""
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
    "Least squares through the levels of the seasons, a season counting once: means by month, height of cut and rain, "
    "each with its like; t interval that takes neighbouring seasons to correlate by 0.5 (common practice, no source).",
    decimals=2, formulas=(seconds_at_27_m, season_trend, year_effects), difference=True,
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
    kinds = list(months.select("month", "cut_mm", "wet").iter_rows())
    found = season_trend(months["season"].to_list(), months["speed_s"].to_list(), kinds, alpha=ALPHA)
    base = TREND.figure(
        None,
        every,
        "green_speed",
        n=months.height if isinstance(found, Refused) else found.n,
        method=f"Means of each season by {days.method()}, compared with the same of other seasons; least squares "
        "through the levels of the seasons, a season counting once; 95 % t interval, neighbouring seasons taken to "
        f"correlate by {SEASONS_ALIKE:g} (common practice, no source).",
        note=" ".join([*_unlinked(found), *days.notes()]),
        verdict=_verdict(found),
    )
    if isinstance(found, Refused):
        yield replace(base, standing="too few")
    else:
        yield replace(base, value=found.slope, low=found.low, high=found.high)


def _unlinked(found: SeasonTrend | Refused) -> list[str]:
    """What has no like in the seasons compared."""
    if isinstance(found, Refused) or not found.left_out:
        return []
    return [f"{counted(found.left_out, 'mean')} without their like left out."]


def _verdict(found: SeasonTrend | Refused) -> Verdict:
    """The trend in one word, with the odds; more seconds is a faster green."""
    if isinstance(found, Refused):
        return Verdict("too few", found.why)
    behind = f"{counted(found.n, 'mean')} of {counted(found.seasons, 'season')}"
    if found.p is None:
        return Verdict("no clear change", f"{behind}, exactly in line: they measure no doubt")
    word: Change = "no clear change" if found.p > ALPHA else "faster" if found.slope > 0 else "slower"
    return Verdict(word, f"{behind}, p {found.p:.2g}", found.p)


def _months(records: GreenRecords, days: pl.DataFrame) -> pl.DataFrame:
    """Means by season, month and conditions, of those that two seasons have (grain: season, month, conditions)."""
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
    return means.filter(pl.col("season").n_unique().over(by) > 1).sort("season", *by, maintain_order=True)


def changes(records: GreenRecords) -> Iterator[Indicator]:
    """Both changes of green speed (grain: indicator)."""
    yield from speed_change(records)
    yield from speed_trend(records)


FAMILY = Family((CHANGE, TREND), one_by_one(changes))
