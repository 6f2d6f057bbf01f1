"""What a store says otherwise than the store that its originals make, row by row."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import polars as pl

from pipeline.store.proof.seals import LEDGER
from pipeline.store.store import Store
from pipeline.verify.rebuild import Rebuilt
from schemas import KINDS, Kind

NOT_COMPARED = frozenset({"version", "rules_sha256", "warnings", "encoding"})
"""Of the ledger: what the tool was then, warnings, which are compared one by one, and the encoding, which a file may no
longer show once a name is gone from it; the chain covers all of them."""
DECIDED = ("source", "decided", "kind", "about", "file", "other_file", "why", "who", "fits", "of_load", "of_line",
           "record", "other_load", "other_line", "other_record")  # fmt: skip
"""What is compared of a decision, beside its hash and the day it was first followed."""
RESTS_ON_FOLDERS = ("load.",)
"""How codes of faults begin that tell what a load met in folders and in the calls before it."""


@dataclass(frozen=True)
class Difference:
    """One thing that the store says otherwise than its originals do.

    Attributes:
        load_id: load it is of.
        file: its file.
        line: its line, None of the load as a whole.
        what: kind of record, ``ledger``, ``warning`` or ``decision``.
        name: column, or code of the warning; "" of a whole record.
        stored: what the store says, None where it holds nothing there.
        original: what the original says, None where it holds nothing there.
    """

    load_id: int
    file: str
    line: int | None
    what: str
    name: str
    stored: str | None
    original: str | None


def differences(store: Store, rebuilt: Rebuilt) -> list[Difference]:
    """Everything, in order of loads, lines and columns; of loads that could not be read again nothing."""
    names = dict(store.rows("SELECT load_id, file FROM meta.load"))
    found = [*_of_ledger(store, rebuilt)]
    for kind in KINDS.values():
        found += _of_records(store, rebuilt, kind)
    found += _of_warnings(store, rebuilt)
    found += _of_decisions(store, rebuilt)
    unread = rebuilt.unread.keys()
    told = [
        Difference(number, names.get(number, ""), line, what, name, stored, original)
        for number, line, what, name, stored, original in found
        if number not in unread
    ]
    return sorted(told, key=lambda one: (one.load_id, one.line is not None, one.line or 0, one.what, one.name))


Found = tuple[int, int | None, str, str, str | None, str | None]


def _of_ledger(store: Store, rebuilt: Rebuilt) -> Iterator[Found]:
    columns = [name for name in LEDGER if name not in NOT_COMPARED]
    sql = f"SELECT load_id, {', '.join(columns)} FROM meta.load ORDER BY load_id"  # noqa: S608 (names of ours)
    anew = {rebuilt.numbers[number]: row for number, *row in rebuilt.store.rows(sql) if number in rebuilt.numbers}
    for number, *row in store.rows(sql):
        for name, stored, original in zip(columns, row, anew.get(number, row), strict=True):
            if stored != original:
                yield number, None, "ledger", name, _text(stored), _text(original)


def _of_records(store: Store, rebuilt: Rebuilt, kind: Kind) -> Iterator[Found]:
    stored = _records(store, kind, {})
    original = _records(rebuilt.store, kind, rebuilt.numbers)
    columns = [name for name in stored.columns if name not in {"load_id", "line"}]
    alone = _without_twins(stored, original), _without_twins(original, stored)
    ours, theirs = (_by_place(rows) for rows in alone)
    for place in sorted({*ours, *theirs}):
        for one, other in _paired(ours.get(place, []), theirs.get(place, []), columns):
            if one is None or other is None:
                said = _in_short(one or other or {}, kind)
                yield *place, kind.name, "", said if one else None, said if other else None
                continue
            for name in columns:
                if one[name] != other[name]:
                    yield *place, kind.name, name, _text(one[name]), _text(other[name])


def _records(store: Store, kind: Kind, numbers: Mapping[int, int]) -> pl.DataFrame:
    """All versions of a kind's records, with the numbers of the store that is looked at; pictures left out."""
    fields = ", ".join(f'k."{one.name}"' for one in kind.stored if one.type != "image")
    rows = store.frame(
        f"SELECT k.load_id, k.line, {fields}, k.written, k.ended_as, k.ended_by, d.sha256 AS decided "  # noqa: S608 (names from KINDS)
        f"FROM history.{kind.name} AS k LEFT JOIN meta.decision AS d ON d.decision = k.ended_by",
        by=("load_id", "line"),
    )
    ended = pl.when(pl.col("decided").is_null()).then(_renumbered("ended_by", numbers))
    return rows.with_columns(_renumbered("load_id", numbers), ended.alias("ended_by"))


def _renumbered(column: str, numbers: Mapping[int, int]) -> pl.Expr:
    if not numbers:
        return pl.col(column)
    return pl.col(column).replace_strict(numbers, default=pl.col(column), return_dtype=pl.Int64)


def _without_twins(rows: pl.DataFrame, others: pl.DataFrame) -> pl.DataFrame:
    """The rows that have no equal among others; of several equal ones as many as these have fewer."""
    names = rows.columns
    numbered = [frame.with_columns(nth=pl.int_range(pl.len()).over(names)) for frame in (rows, others)]
    return numbered[0].join(numbered[1], on=[*names, "nth"], how="anti", nulls_equal=True, maintain_order="left")


def _by_place(rows: pl.DataFrame) -> dict[tuple[int, int], list[dict[str, object]]]:
    found: dict[tuple[int, int], list[dict[str, object]]] = {}
    for row in rows.drop("nth").to_dicts():
        found.setdefault((row["load_id"], row["line"]), []).append(row)
    return found


def _paired(
    ours: list[dict[str, object]], theirs: list[dict[str, object]], columns: list[str]
) -> Iterator[tuple[dict[str, object] | None, dict[str, object] | None]]:
    """Rows of one line beside the ones that say the most of what they do; the rest alone."""
    left = list(theirs)
    for one in ours:
        if left:
            other = max(left, key=lambda row: sum(row[name] == one[name] for name in columns))
            left.remove(other)
            yield one, other
        else:
            yield one, None
    for other in left:
        yield None, other


def _of_warnings(store: Store, rebuilt: Rebuilt) -> Iterator[Found]:
    stored, original = _warnings(store, {}), _warnings(rebuilt.store, rebuilt.numbers)
    for rows, of_store in ((_without_twins(stored, original), True), (_without_twins(original, stored), False)):
        for row in rows.to_dicts():
            said = row["message"] + (" (settled)" if row["settled"] else "")
            ends = (said, None) if of_store else (None, said)
            yield row["load_id"], row["line"], "warning", row["code"], *ends


def _warnings(store: Store, numbers: Mapping[int, int]) -> pl.DataFrame:
    """What was said of lines and of records, and whether it is settled."""
    outside = " AND ".join(f"NOT starts_with(code, '{begin}')" for begin in RESTS_ON_FOLDERS)
    rows = store.frame(
        "SELECT load_id, line, column_name, value, code, severity, message, hint, green, record, of_value, of_load, "  # noqa: S608
        "of_line, settled_by IS NOT NULL AS settled "
        f"FROM meta.fault WHERE severity <> 'note' AND {outside}",
        by=("load_id", "line"),
    )
    return rows.with_columns(_renumbered("load_id", numbers), _renumbered("of_load", numbers))


def _of_decisions(store: Store, rebuilt: Rebuilt) -> Iterator[Found]:
    """What is said of the decisions that stand; those taken back were kept with none of the rules."""
    stored, original = _decisions(store, {}), _decisions(rebuilt.store, rebuilt.numbers)
    for mark in sorted(stored.keys() & original.keys()):
        number, *row = stored[mark]
        for name, one, other in zip(DECIDED, row, original[mark][1:], strict=True):
            if one != other:
                yield number, None, "decision", name, _text(one), _text(other)


def _decisions(store: Store, numbers: Mapping[int, int]) -> dict[str, list[Any]]:
    """Decisions that stand, by their hash: the number, then what is said of each."""
    rows = store.frame(
        f"SELECT sha256, decision, {', '.join(DECIDED)} FROM meta.decision WHERE taken_back_at IS NULL"  # noqa: S608
    )
    loads = [_renumbered(name, numbers).alias(name) for name in DECIDED if name.endswith("_load")]
    return {mark: row for mark, *row in rows.with_columns(loads).iter_rows()}


def _in_short(row: Mapping[str, object], kind: Kind) -> str:
    return ", ".join(_text(row[name]) or "–" for name in kind.key)


def _text(value: object) -> str | None:
    return None if value is None else str(value)
