"""A programme as rows of planned works, for a person to edit; loaded, they are the same works.

Read back (pipeline/plan/read.py), a row without amount, rate and material counts as so many times.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from pipeline.plan.entries import Entry
from pipeline.plan.programme import Programme
from pipeline.plan.rates import times_of
from pipeline.plan.works import HOW_OFTEN, Done

Cell = str | int | float | None

COLUMNS = {
    "programme": "programme",
    "green": "green",
    "operation": "operation",
    "material": "material",
    "reference": "reference",
    "first": "window_from",
    "last": "window_to",
    "times": "times",
    "open": "times_open",
    "kg": "mass_kg",
    "l": "volume_l",
    "g_m2": "rate_g_m2",
    "ml_m2": "rate_ml_m2",
    "depth": "depth_mm",
    "passes": "passes",
    "hours": "hours",
    "basis": "basis",
    "note": "note",
}
"""What a row says, and the field of the kind ``planned_work`` that holds it, in the order of the columns."""
KIND = "planned_work"
DIGITS = 3
"""Digits after the point of a mass, volume or rate in the sheet: grams and millilitres are as fine as anything is
weighed on a green."""


def rows(programme: Programme) -> list[dict[str, Cell]]:
    """The lines of a programme as rows under the fields of the kind; amounts are of one time, as that kind has them."""
    references = _references(programme.entries)
    return [_row(one, reference) for one, reference in zip(programme.entries, references, strict=True)]


def _references(entries: Iterable[Entry]) -> Iterator[str]:
    """A name for each line by the first day of its window: one operation and material may have several windows.

    Made anew from later records, a line keeps its name, and with it the record that a load changes.
    """
    seen: Counter[tuple[str, str, str, str]] = Counter()
    for one in entries:
        work = one.work
        name = f"from {work.first.day} {work.first:%B}"
        key = (work.green, work.operation, work.material, name)
        seen[key] += 1
        yield name if seen[key] == 1 else f"{name} ({seen[key]})"


def _row(one: Entry, reference: str) -> dict[str, Cell]:
    work = one.work
    times = None if (found := times_of(work)) is None else round(found)
    said: dict[str, Cell] = {
        "programme": work.programme,
        "green": work.green,
        "operation": work.operation,
        "material": work.material or None,
        "reference": reference,
        "first": work.first.isoformat(),
        "last": work.last.isoformat(),
        "times": times,
        "open": "yes" if times is None else None,
        "depth": work.depth_mm,
        "passes": work.passes,
        "hours": None if work.hours is None or times is None else round(work.hours / times, DIGITS),
        "basis": work.basis,
        "note": note_of(one) or None,
        **_amount(one, times),
    }
    return {field: said.get(name) for name, field in COLUMNS.items()}


def _amount(one: Entry, times: int | None) -> dict[str, Cell]:
    """How much at one time: by mass or volume where that is known, else by its rate."""
    work = one.work
    if work.unit == "times":
        return {}
    if work.size is not None and times is not None:
        return {work.unit: round(work.size / times, DIGITS)}
    if one.rate is not None:
        return {"ml_m2" if one.rate_unit == "ml/m²" else "g_m2": round(one.rate, DIGITS)}
    return {}


@dataclass(frozen=True)
class OnRecord:
    """A line of a programme that was loaded earlier, as far as it takes to tell it and to end it.

    Attributes:
        key: green, operation, material ("" where none) and reference.
        first: first day of its window.
        last: last day of it.
        basis: why it was planned.
    """

    key: tuple[str, str, str, str]
    first: date
    last: date
    basis: str


_OWN_NAME = re.compile(r"from \d{1,2} [A-Z][a-z]+( \(\d+\))?")


def gone(programme: Programme, on_record: Iterable[OnRecord], done: Iterable[Done]) -> list[OnRecord]:
    """Lines that a programme of this name was loaded with and that it no longer has, and of which nothing can be done.

    Lines that a person named otherwise are nobody's but theirs; what was to be done by now stays, for it is missing;
    and so does a line since whose first day any such work was logged.

    Args:
        programme: made anew.
        on_record: lines in force under its name.
        done: jobs of its green.
    """
    latest: dict[str, date] = {}
    for job in done:
        latest[job.operation] = max(job.last, latest.get(job.operation, date.min))
    kept = {
        (one.work.green, one.work.operation, one.work.material, reference)
        for one, reference in zip(programme.entries, _references(programme.entries), strict=True)
    }
    return [
        one
        for one in on_record
        if one.key[0] == programme.place.green
        and one.key not in kept
        and one.last >= programme.day
        and latest.get(one.key[1], date.min) < one.first
        and _OWN_NAME.fullmatch(one.key[3])
    ]


def ending(name: str, lines: Iterable[OnRecord]) -> list[dict[str, Cell]]:
    """Rows that take lines out of a programme of this name when they are loaded: they are to be done 0 times."""
    return [
        dict.fromkeys(COLUMNS.values())
        | {
            "programme": name,
            "green": green,
            "operation": operation,
            "material": material or None,
            "reference": reference,
            "window_from": one.first.isoformat(),
            "window_to": one.last.isoformat(),
            "times": 0,
            "basis": one.basis or None,
            "note": ENDED,
        }
        for one in lines
        for green, operation, material, reference in [one.key]
    ]


ENDED = "Loaded earlier and not in the programme any more: 0 in times takes it out."


NOT_COUNTED = (
    "How often is left open: until times is filled in, its hours, amount and cost are not known (0 takes it out)."
)


def note_of(one: Entry) -> str:
    """What stands beside a line: its note, why its amount is not known, its cautions."""
    why = one.lacking.removeprefix(HOW_OFTEN).removeprefix("; ").rstrip(".")
    lacking = f"Amount: {why}." if why else ""
    return " ".join(
        part for part in (one.note, NOT_COUNTED if one.times is None else "", lacking, *one.cautions) if part
    )
