"""Codes of a register that a person reads as one: ``1`` and ``01``, ``ALD-1`` and ``ald 1``."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.store.register import Register
from schemas import Kind
from schemas.codes import fold

CODES_ALIKE = FaultKind(
    "code.alike",
    "Two codes that read alike",
    "{column}: “{value}” and “{other}” read alike, and they are two {register} here.",
    "If they are one, keep one code in the {register} file and map the other to it (column aliases of the greens, or "
    "[aliases.{refers}] of the source profile); if they are two, codes that differ in more than a zero are safer.",
    severity="warning",
)


def check(kind: Kind, records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Codes of a register's file, or of a file of facts, that have a double in the register or the file itself."""
    faults: list[pl.DataFrame] = []
    if kind.name in {"club", "green", "material"}:
        names = [*records[kind.name].drop_nulls(), *register.names(kind.name)]
        faults += _told(records, kind.name, kind.name, names)
    for field in kind.stored:
        if field.refers and field.refers != kind.name and field.name in records.columns:
            faults += _told(records, field.name, field.refers, register.names(field.refers))
    return concat(faults)


def _told(records: pl.DataFrame, column: str, refers: str, names: Iterable[str]) -> Iterator[pl.DataFrame]:
    """The fault of each code of the column that has a double, at its first line."""
    alike: dict[str, set[str]] = {}
    for name in set(names):
        alike.setdefault(_bare(name), set()).add(name)
    twins = {name: same - {name} for same in alike.values() if len(same) > 1 for name in same}
    for name in records[column].drop_nulls().unique(maintain_order=True) if twins else ():
        if name in twins:
            here = records.filter(pl.col(column) == name).head(1)
            other = "”, “".join(sorted(twins[name]))
            yield CODES_ALIKE.of(here, column, other=other, register=f"{refers}s", refers=refers)


def _bare(code: str) -> str:
    """The code without case, signs, blanks and the zeros before a number."""
    return re.sub(r"(?<!\d)0+(?=\d)", "", fold(code)).replace(" ", "")
