"""Times of loads and decisions: what clock they rest on, and where one was set back.

Loads count in the order of their numbers, never by time: a clock may be wrong, a number is given once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from pipeline.common.words import counted
from pipeline.store.store import Store

ENTRIES = """SELECT load_id AS number, loaded_at AS came FROM {of}meta.load
UNION ALL SELECT load_id, loaded_at FROM {of}meta.undone
UNION ALL SELECT decision, decided_at FROM {of}meta.decision"""
"""SQL of number and time (UTC) of every load and decision, those taken back too; ``of`` is the database's name."""


@dataclass(frozen=True)
class Entry:
    """A load or decision by its number, and when it was made, UTC."""

    number: int
    at: datetime

    @property
    def words(self) -> str:
        """Both, as a person reads them."""
        return f"entry {self.number} of {minute(self.at)} UTC"


def minute(at: datetime) -> str:
    """A time to the minute: 2026-11-30 14:05."""
    return f"{at:%Y-%m-%d %H:%M}"


def latest(store: Store) -> Entry | None:
    """The load or decision with the latest time; None where there is none."""
    rows = store.rows(f"SELECT number, came FROM ({ENTRIES.format(of='')}) ORDER BY came DESC, number DESC LIMIT 1")  # noqa: S608 (our own words)
    return Entry(*rows[0]) if rows else None


def set_back(store: Store) -> tuple[tuple[Entry, Entry], ...]:
    """Where a clock was set back: the first entry before that, and the latest one made before it.

    Of several entries in a row that were all made before the same one, the first alone.
    """
    found: list[tuple[Entry, Entry]] = []
    top: Entry | None = None
    behind = False
    for row in store.rows(f"SELECT number, came FROM ({ENTRIES.format(of='')}) ORDER BY number"):  # noqa: S608 (our own words)
        one = Entry(*row)
        if top and one.at < top.at:
            if not behind:
                found.append((one, top))
            behind = True
        else:
            top, behind = one, False
    return tuple(found)


def told(found: Sequence[tuple[Entry, Entry]]) -> str:
    """The same in a sentence, "" where no clock was set back: the first is named, others are counted."""
    if not found:
        return ""
    one, before = found[0]
    more = f", and {counted(len(found) - 1, 'time')} more" if len(found) > 1 else ""
    said = f"A clock was set back: {one.words} comes after {before.words}{more}."
    return f"{said} Loads count in the order of their numbers."
