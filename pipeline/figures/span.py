"""Which refreshes are asked about, and what each was due to: since a load, since a day, or the last one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from pipeline.common.refusal import WrongUsage
from pipeline.common.words import listed
from pipeline.store.clock import set_back, told
from pipeline.store.decisions import next_number
from pipeline.store.store import Store


@dataclass(frozen=True)
class Cause:
    """One thing that a refresh was due to.

    Attributes:
        what: one of pipeline.store.figure_log.CAUSES.
        number: number of the load or decision; None of anything else.
        file: file of the load; of a decision the lines it is about.
        kind: kind of record of the load or decision, "" of anything else.
        at: when it came or was taken back, UTC; None where nobody knows.
    """

    what: str
    number: int | None = None
    file: str = ""
    kind: str = ""
    at: datetime | None = None


@dataclass(frozen=True)
class Refresh:
    """One time figures were brought up: its number, the largest number of a load or decision by then, and why."""

    number: int
    upto: int
    causes: tuple[Cause, ...]

    @property
    def at(self) -> datetime | None:
        """When the last of what it was due to came; None where it was settings or the program alone."""
        return max((one.at for one in self.causes if one.at), default=None)

    @property
    def numbers(self) -> list[int]:
        """Numbers of loads and decisions that came with it."""
        return [one.number for one in self.causes if one.number is not None and one.what in ("load", "decision")]


@dataclass(frozen=True)
class Span:
    """Refreshes that follow each other, and what must be known beside them."""

    refreshes: tuple[Refresh, ...]
    notes: tuple[str, ...] = ()


def refreshes(store: Store) -> list[Refresh]:
    """Every refresh that was kept, oldest first."""
    causes: dict[int, list[Cause]] = {}
    for number, *cause in store.rows(_CAUSES):
        causes.setdefault(number, []).append(Cause(*cause))
    rows = store.rows("SELECT refresh, upto FROM meta.refresh ORDER BY refresh")
    return [Refresh(number, upto, tuple(causes.get(number, ()))) for number, upto in rows]


_CAUSES = """
SELECT c.refresh, c.cause, c.number, coalesce(l.file, d.about, ''), coalesce(l.kind, d.kind, ''),
    CASE c.cause WHEN 'undo' THEN l.undone_at WHEN 'decision taken back' THEN d.taken_back_at
        ELSE coalesce(l.loaded_at, d.decided_at) END
FROM meta.refresh_cause AS c
LEFT JOIN (
    SELECT load_id, file, kind, loaded_at, NULL AS undone_at FROM meta.load
    UNION ALL SELECT load_id, file, kind, loaded_at, undone_at FROM meta.undone
) AS l ON l.load_id = c.number
LEFT JOIN meta.decision AS d ON d.decision = c.number
ORDER BY c.refresh, c.rowid
"""


def span_asked(store: Store, since: str, today: date) -> Span:
    """The refreshes asked about: since a load or decision, by its number, or since a day; "" for the last alone.

    The load or the day named counts among them.

    Raises:
        WrongUsage: no such load or decision, no day, or one that is still to come.
    """
    kept = refreshes(store)
    if not since:
        return Span(tuple(kept[-1:]))
    if since.isdecimal():
        found = _since_number(store, kept, int(since))
    else:
        found = Span(tuple(kept[_first_since(kept, _day(since, today)) :]), _of_clock(store))
    return _with_start(store, kept, found, since)


def _day(text: str, today: date) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise WrongUsage(
            f"“{text}” is no load, no decision and no day.",
            "Say the number of one, as in swardtally history, or a day as year-month-day, such as 2026-09-14.",
        ) from None
    if day > today:
        raise WrongUsage(f"{day} is still to come: nothing has changed since.", "Days are in UTC, as in history.")
    return day


def _of_clock(store: Store) -> tuple[str, ...]:
    """What is said of a day where a clock was set back: it is found by the times that loads bear."""
    said = told(set_back(store))
    return (f"{said} A day is found by the clock: name a load to be sure.",) if said else ()


def _since_number(store: Store, kept: Sequence[Refresh], number: int) -> Span:
    """From the refresh that brought this load or decision up; others that came with it cannot be told apart."""
    if not 0 < number < next_number(store):
        raise WrongUsage(
            f"There is no load or decision {number}.",
            "swardtally history lists them; a day is written year-month-day, such as 2026-09-14.",
        )
    found = tuple(one for one in kept if one.upto >= number)
    beside = [str(one) for one in found[0].numbers if one < number] if found else []
    if not beside:
        return Span(found)
    was = "was" if len(beside) == 1 else "were"
    note = f"{listed(beside)} {was} brought up together with {number}: what each changed cannot be told apart."
    return Span(found, (note,))


def _first_since(kept: Sequence[Refresh], day: date) -> int:
    """Place of the first refresh that may have been on this day or later.

    One that was due to settings or the program alone has no day: it counts where the one before it is not known to be
    later, that is, directly before the first that is known to.
    """
    first = next((at for at, one in enumerate(kept) if one.at and one.at.date() >= day), len(kept))
    while first and kept[first - 1].at is None:
        first -= 1
    return first


def _with_start(store: Store, kept: Sequence[Refresh], found: Span, since: str) -> Span:
    """The same, with a note where the log begins later than what was asked for."""
    if not kept or found.refreshes[:1] != (kept[0],):
        return found
    begins = min(kept[0].numbers, default=kept[0].upto + 1)
    asked: Any = int(since) if since.isdecimal() else date.fromisoformat(since)
    at = "load_id" if since.isdecimal() else "CAST(loaded_at AS DATE)"
    sql = f"SELECT 1 FROM meta.load WHERE load_id < ? AND {at} >= ? LIMIT 1"  # noqa: S608 (one of two)
    if not store.rows(sql, [begins, asked]):
        return found
    return Span(found.refreshes, (*found.notes, f"What loads before {begins} changed was not kept."))
