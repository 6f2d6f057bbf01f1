"""Green speed over the seasons, like with like: the same months, height of cut and weather."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from pipeline.agronomy.green_speed import seconds_at_27_m
from pipeline.common.amounts import AmountText, each, in_list, joined
from pipeline.common.words import counted
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import Description, Family
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Change, Indicator, Verdict
from pipeline.indicators.base.rows import Rows
from pipeline.indicators.play.conditions import LIKE, Day, Days, alike, days_of
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


def speed_change(records: GreenRecords, bowls: Rows) -> Iterator[Indicator]:
    """Seconds gained or lost since the season before; refused where no conditions are alike (grain: indicator)."""
    start = records.season.start
    both = bowls.since(start.replace(year=start.year - 1))
    here = both.since(start)
    if not here or len(here) == len(both):
        return
    days = days_of(both)
    now, then = ([day for day in days.rows if (day.date >= start) is in_it] for in_it in (True, False))
    difference = like_with_like(
        [day.speed_s for day in then],
        [day.like for day in then],
        [day.speed_s for day in now],
        [day.like for day in now],
        min_each=MIN_DAYS,
    )
    base = CHANGE.figure(
        None,
        both,
        n=len(now) + len(then),
        method=f"Means of days by {days.method()}; only what both seasons have is compared, each with its like; 95 % t "
        "interval from the spread between days.",
        note=_note(difference, days, then, now),
    )
    if isinstance(difference, Refused):
        yield replace(base, standing="too few")
    else:
        used = difference.n_first + difference.n_second
        yield replace(base, value=difference.value, low=difference.low, high=difference.high, n=used)


def _note(difference: Difference | Refused, days: Days, then: list[Day], now: list[Day]) -> str:
    """What was compared, or why nothing was; what was left out."""
    shared = {day.like for day in then} & {day.like for day in now}
    cuts = sorted({f"{cut:g}" for _, cut, _ in shared if cut is not None})
    parts: list[str] = []
    if isinstance(difference, Refused):
        parts.append(f"Too few: {difference.why}")
    elif cuts:
        parts.append(AmountText("Compared at ", in_list(each([float(cut) for cut in cuts], "mm")), " height of cut."))
    if alone := sum(day.like not in shared for day in (*then, *now)):
        parts.append(f"{counted(alone, 'day')} with no match in the other season left out.")
    return joined(" ", [*parts, *days.notes()])


def speed_trend(records: GreenRecords, bowls: Rows) -> Iterator[Indicator]:
    """Change of green speed a year over several seasons, month with like month (grain: indicator)."""
    days = days_of(bowls)
    months = _months(records.season.start, days)
    if not months:
        return
    seasons, kinds, speeds = zip(*months, strict=True)
    found = season_trend(seasons, speeds, kinds, alpha=ALPHA)
    base = TREND.figure(
        None,
        bowls,
        n=len(months) if isinstance(found, Refused) else found.n,
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


def _months(start: date, days: Days) -> list[tuple[int, tuple[int, float | None, bool | None], float]]:
    """Season, month with its conditions, and mean, s, of those that two seasons have, in this order.

    Args:
        start: first day of any season.
        days: of all seasons.
    """
    ends_next = 0 if (start.month, start.day) == (1, 1) else 1
    speeds: dict[tuple[int, tuple[int, float | None, bool | None]], list[float]] = {}
    for day in days.rows:
        begun = (day.date.month, day.date.day) >= (start.month, start.day)
        speeds.setdefault((day.date.year - 1 + begun + ends_next, day.like), []).append(day.speed_s)
    of_kind = Counter(like for _, like in speeds)
    means = [(season, like, math.fsum(of) / len(of)) for (season, like), of in speeds.items() if of_kind[like] > 1]
    return sorted(means, key=lambda mean: (mean[0], mean[1][0], mean[1][1] or 0.0, bool(mean[1][2])))


def changes(asked: Asked) -> Iterator[Indicator]:
    """Both changes of green speed (grain: indicator)."""
    bowls = alike(asked, timed(asked.so_far(asked.speeds)))
    for rows in asked.each_season(bowls, "green_speed", *LIKE, "speed_s"):
        records = asked.each[rows.of]
        yield from speed_change(records, rows)
        yield from speed_trend(records, rows)


FAMILY = Family((CHANGE, TREND), changes)
