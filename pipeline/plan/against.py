"""What stands against a work that is due: days that are taken, the last feed, the dose, and the weather on record.

The weather is that of the last days on record, which the words name; nothing here is a forecast.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import polars as pl

from pipeline.common.amounts import Amount, AmountText, Source
from pipeline.common.words import counted, listed, long_date, period
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.standing import target_for
from pipeline.indicators.feeding import nutrients
from pipeline.plan.market import Kept
from pipeline.plan.works import Planned
from schemas.codes import fold

LAST_DAYS = 7
"""Last days on record whose weather is told: common practice, no source."""
FROST_C = 0.0
"""Lowest air temperature of a day with frost, °C: the freezing point."""
HEAT_C = 28.0
"""Highest air temperature from which on a day is told as hot, °C: common practice, no source."""
WET_MM = 10.0
"""Rain from which on a day is told as wet, mm: common practice, no source."""
HEAT, WET = Amount(HEAT_C, "°C"), Amount(WET_MM, "mm")
TOLD = AmountText(
    "Frost is a day at ", Amount(FROST_C, "°C"), " or below; a day of ", HEAT, " or ", WET,
    " of rain or more is told: common practice, no source.",
)  # fmt: skip
"""Which days the weather of a list tells of."""
MOST_NAMED = 3
"""Days of the calendar that are named; more are counted."""


@dataclass(frozen=True)
class OfGreen:
    """What stands against any work on a green.

    Attributes:
        weather: what the weather records show of their last days, with the day they end; that there are none.
        kept: days on which it is closed or played on.
    """

    weather: AmountText
    kept: tuple[Kept, ...]


def of_green(records: GreenRecords, kept: Iterable[Kept]) -> OfGreen:
    """What stands against any work on a green, by all that is on record of it."""
    return Against(kept).of(records)


class Against:
    """What stands against any work on greens, one after the other: what they share is looked up and told once."""

    def __init__(self, kept: Iterable[Kept]) -> None:
        """Take the days of all greens on which they are closed or played on."""
        self._of_all: list[tuple[int, Kept]] = []
        self._of_green: dict[str, list[tuple[int, Kept]]] = {}
        for turn in enumerate(kept):
            for places in self._places(turn[1]):
                places.append(turn)
        self._weather: dict[tuple[Any, ...], AmountText] = {}

    def _places(self, one: Kept) -> Iterator[list[tuple[int, Kept]]]:
        if one.greens is None:
            yield self._of_all
        for green in set(one.greens or ()):
            yield self._of_green.setdefault(green, [])

    def of(self, records: GreenRecords) -> OfGreen:
        """What stands against any work on a green, by all that is on record of it."""
        own = self._of_green.get(str(records.green["green"]), [])
        kept = sorted((*self._of_all, *own), key=lambda turn: turn[0])
        return OfGreen(self._told(records), tuple(one for _, one in kept))

    def _told(self, records: GreenRecords) -> AmountText:
        """The weather of its stations up to the last day on record."""
        held = records.by_day["green"]
        stations = (records.last_day, *zip(held["station"], held["holds_from"], strict=True))
        if stations not in self._weather:
            days = records.frames["weather_day"].filter(pl.col("date") <= records.last_day)
            self._weather[stations] = weather(days)
        return self._weather[stations]


def weather(days: pl.DataFrame) -> AmountText:
    """Frost, heat and rain of the last days on record of a green's station."""
    last = days["date"].max()
    if not isinstance(last, date):
        return AmountText("No weather is on record.")
    rows = days.filter(pl.col("date") > last - timedelta(days=LAST_DAYS))
    told = [
        *_days_of(rows["tmin_c"], "frost", "lowest", lambda value: value <= FROST_C, "°C"),
        *_days_of(rows["tmax_c"], AmountText(HEAT, " or more"), "highest", lambda value: value >= HEAT_C, "°C"),
        *_days_of(rows["rain_mm"], AmountText(WET, " of rain or more"), "most", lambda value: value >= WET_MM, "mm"),
    ]
    head = f"{LAST_DAYS} days to {long_date(last)}, the last on record: "
    parts: list[str | AmountText] = [head]
    for number, one in enumerate(told):
        parts += [", " if number else "", one]
    return AmountText(*parts, ".")


def _days_of(values: pl.Series, what: str, end: str, reached: Any, unit: str) -> Iterator[AmountText]:
    """On how many of the days something was reached, and the farthest; of how many, where some are not known."""
    known = [value for value in values.to_list() if value is not None]
    if not known:
        yield AmountText(what, " not known")
        return
    number = sum(map(reached, known))
    far = min(known) if end == "lowest" else max(known)
    of = "" if len(known) == LAST_DAYS else f" of {len(known)} known"
    none = "no " if end == "lowest" else "no day of "
    said = AmountText(what, f" on {number}{of}") if number else AmountText(none, what, of and f" on{of}")
    yield AmountText(said, f" ({end} ", Amount(far, unit, ".1f"), ")")


def against(
    of: OfGreen,
    records: GreenRecords,
    days: tuple[date, date],
    fed: tuple[Planned | None, float | None, float | None, str],
) -> Iterator[str]:
    """What stands against one work, in sentences.

    Args:
        of: what stands against any on its green.
        records: of the green.
        days: first and last day on which it can be done.
        fed: what is to be done, None where it is no work of the log; the green's area on its day, m²; nitrogen of its
            material, %, None where it is not known or there is none; and how long the last feed lasts, "" where that is
            not known.
    """
    work, area_m2, nitrogen_pct, lasts = fed
    if work is None:
        return
    yield from taken(of.kept, days)
    if work.operation == "fertilising" or nitrogen_pct:
        if lasts:
            yield lasts
        yield from _dose(records, work, area_m2, nitrogen_pct)


def taken(kept: Sequence[Kept], days: tuple[date, date]) -> Iterator[AmountText | str]:
    """Which days of a window are closed or played on, and how many are free; nothing where the calendar has none."""
    first, last = days
    own = [one for one in kept if one.first <= last and one.last >= first]
    if not own or last < first:
        return
    span = range(first.toordinal(), last.toordinal() + 1)
    busy = {day for one in own for day in range(max(one.first, first).toordinal(), min(one.last, last).toordinal() + 1)}
    free = len(span) - len(busy)
    for occasion, words in (("closed", "Closed"), ("match", "Match")):
        named = list(dict.fromkeys(period(one.first, one.last) for one in own if one.occasion == occasion))
        if named:
            more = [f"{len(named) - MOST_NAMED} more"] if len(named) > MOST_NAMED else []
            yield f"{words} {listed([*named[:MOST_NAMED], *more])}."
    yield f"{free} of {counted(len(span), 'day')} free." if free else "No day of it is free."


def _dose(records: GreenRecords, work: Planned, area_m2: float | None, nitrogen_pct: float | None) -> Iterator[str]:
    """Whether one time of a feed is above the limit of a single dose; why that cannot be told."""
    limit = target_for(records, nutrients.DOSE)
    if limit is None or limit.high is None or fold(limit.unit) != fold(nutrients.DOSE.unit):
        return
    most = Amount(limit.high, "g/m²", ".3g")
    if work.unit != "kg" or work.size is None or nitrogen_pct is None or not area_m2:
        yield AmountText("A single dose is at most ", most, " N (", Source(limit.source), ").")
        return
    dose = work.size / max(work.times or 1.0, 1.0) * nitrogen_pct / 100 * 1000 / area_m2
    over = "above" if dose > limit.high * (1 + 1e-9) else "within"
    each = Amount(dose, "g/m²", _told_apart(dose, limit.high))
    yield AmountText(
        "Each time ", each, f" N, {over} the limit of a single dose, ", most, " (", Source(limit.source), ")."
    )


def _told_apart(dose: float, most: float) -> str:
    """The format of a dose: two figures, and more where it would else read the same as a limit that it is not at."""
    return next((f".{n}g" for n in range(2, 7) if f"{dose:.{n}g}" != f"{most:.{n}g}"), ".2g")
