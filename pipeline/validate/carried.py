"""A later row of a register takes what it cannot do without from the row before it, and says what it does not take.

A row with a day says what changed from then on. What it leaves blank the store's views carry over
(pipeline/store/by_day.py); two things must stand in the row itself: a field without which there is no record (the club
of a green), and one that rests on what the row merely says again (the price of a pack whose size is repeated).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Any

import polars as pl

from pipeline.common.faults import FaultKind, concat, errors
from pipeline.common.money import cell
from pipeline.common.words import listed
from pipeline.standardise.frame import Standard
from pipeline.store.register import Register
from schemas import Kind

NEW_NEEDS = FaultKind(
    "register.new_needs",
    "New row of a register without what it needs",
    "“{value}” has no {field} here, and no row before it to take it from.",
    "Fill {field} in: a row takes it only from an earlier row of the same name, in the file or in the store.",
)
NOT_CARRIED = FaultKind(
    "register.not_carried",
    "Former value not carried over, since what it rests on is given anew",
    "{column} was {value} and is blank here: it is not carried over, since the row gives {given} anew.",
    "Write it into the row, if it is still right.",
    severity="warning",
)

_Row = Mapping[str, Any]
_Held = dict[str, list[tuple[date, _Row, int | None]]]
"""Of each name, in the order of days: from when, what held then, and the load it stands in (None: this file)."""


@dataclass
class _Found:
    """What was found of a file's rows."""

    values: dict[tuple[int, str], Any] = field(default_factory=dict)
    faults: list[pl.DataFrame] = field(default_factory=list)
    loads: dict[int, int] = field(default_factory=dict)


def carried(standard: Standard, register: Register) -> tuple[Standard, dict[int, int]]:
    """The records with what they take from the row before, and how many took something from which load.

    A row that stands for a new name, and lacks what it needs, is rejected. Of kinds whose rows hold from no day nothing
    is changed.
    """
    kind, records = standard.kind, standard.records
    lacking = [name for name in kind.required if name not in standard.columns]
    if not kind.by_day or not (lacking or records["valid_from"].is_not_null().any()):
        return standard, {}
    held: _Held = {}
    for row in register.by_day[kind.name].to_dicts():
        held.setdefault(row[kind.name], []).append((row["valid_from"] or date.min, row, row["load_id"]))
    found = _Found()
    sound = records.filter(~pl.col("record").is_in(standard.rejected.implode()) & pl.col(kind.name).is_not_null())
    for row in sound.sort("valid_from", "line", maintain_order=True).iter_rows(named=True):
        needed = lacking if row["valid_from"] is None else kind.required  # a blank cell of the first row is a fault
        _take(kind, row, needed, held.setdefault(row[kind.name], []), found)
    told = concat(found.faults)
    lines = errors(told)["line"]
    bad = records.filter(pl.col("line").is_in(lines.implode()))["record"]
    done = replace(
        standard,
        records=_filled_in(records, found.values),
        faults=concat([standard.faults, told]),
        rejected=pl.concat([standard.rejected, bad]).unique(maintain_order=True),
    )
    return done, found.loads


def _take(
    kind: Kind, row: _Row, needed: Sequence[str], known: list[tuple[date, _Row, int | None]], found: _Found
) -> None:
    """Find what one row takes, and put what holds from its day on among what is known."""
    day = row["valid_from"] or date.min
    so_far = [one for one in known if one[0] <= day]
    before = [one for one in so_far if one[0] < day]
    taken: dict[str, Any] = {}
    for name in needed:
        if row[name] is None:
            if not so_far:
                found.faults.append(NEW_NEEDS.at(row["line"], row[kind.name], name, field=name))
                return
            taken[name] = so_far[-1][1][name]
    last = before[-1][1] if before else {}
    taken |= _said_again(kind, row, last)
    found.values |= {(row["record"], name): value for name, value in taken.items()}
    now = {**row, **taken}
    found.faults += _not_carried(kind, now, last)
    if taken and (load := (before or so_far)[-1][2]) is not None:
        found.loads[load] = found.loads.get(load, 0) + 1
    whole = {one.name: now[one.name] if _stands(kind, now, one.name) else last.get(one.name) for one in kind.stored}
    known[:] = sorted([one for one in known if one[0] != day] + [(day, whole, None)], key=lambda one: one[0])


def _given(kind: Kind, row: _Row, name: str) -> list[str]:
    """What a field rests on and a row gives."""
    return [one for one in kind.by_name[name].rests_on if one != name and row[one] is not None]


def _stands(kind: Kind, row: _Row, name: str) -> bool:
    """Whether a row itself says what a field is: gives it, or gives anew what it rests on."""
    return row[name] is not None or bool(_given(kind, row, name))


def _said_again(kind: Kind, row: _Row, last: _Row) -> dict[str, Any]:
    """Fields left blank of which all that they rest on is as it was before."""
    filled = {name for one in kind.fields if one.type == "date" and row.get(one.name) is not None for name in one.fills}
    taken = {}
    for one in kind.stored:
        given = _given(kind, row, one.name)
        stood = None if row[one.name] is not None or one.name in filled else last.get(one.name)
        if stood is not None and given and all(row[name] == last.get(name) for name in given):
            taken[one.name] = stood
    return taken


def _not_carried(kind: Kind, row: _Row, last: _Row) -> Iterator[pl.DataFrame]:
    """Warnings of fields that a later row leaves blank and does not take from the one before."""
    if row["valid_from"] is None:
        return
    for one in kind.stored:
        stood, given = last.get(one.name), _given(kind, row, one.name)
        if stood is not None and row[one.name] is None and given:
            yield NOT_CARRIED.at(row["line"], _told(stood), one.name, given=listed(given))


def _told(value: object) -> str:
    return cell(value) if isinstance(value, Decimal) else str(value)


def _filled_in(records: pl.DataFrame, values: Mapping[tuple[int, str], Any]) -> pl.DataFrame:
    """The records with these values, by number of the record and field."""
    for name in dict.fromkeys(name for _, name in values):
        pairs = zip(records["record"], records[name], strict=True)
        column = [values.get((number, name), value) for number, value in pairs]
        records = records.with_columns(pl.Series(name, column, dtype=records.schema[name]))
    return records
