"""Columns of a table: their names, the empty ones at the end, and what this program's own files carry."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.spreadsheet_cells import unguarded_columns
from pipeline.read.text.bytes import BLANK

OWN_ENDING = ("line", "code", "message", "hint")
"""Last four columns of a file of rejected rows that this program wrote."""

REPEATED = FaultKind(
    "header.repeated",
    "column name used again",
    'The column name "{value}" stands more than once; the later ones are read as {names}.',
    "Give each column a name of its own, or use these names in the profile.",
    "note",
)
NAMELESS = FaultKind(
    "header.nameless",
    "column without a name",
    'Column {number} has cells but no name; it is read as "{name}".',
    "Write a name into the header, or use this one in the profile.",
    "note",
)


def stripped(cells: pl.DataFrame, *, plain: bool = False) -> pl.DataFrame:
    """The same without blanks round the cells; a blank cell is null; rows without a filled cell are left out.

    Where ordinary spaces are the only blanks (``plain``), only the columns that need it are touched.
    """
    names = cells.columns[1:]
    loose = names
    if plain:
        spaced = cells.select((pl.col(names).str.starts_with(" ") | pl.col(names).str.ends_with(" ")).any())
        loose = [name for name in names if spaced[name].item()]
    bare = cells.with_columns(pl.col(loose).str.strip_chars(BLANK)) if loose else cells
    empty = bare.select((pl.col(names).str.len_bytes() == 0).any())
    bare = bare.with_columns(pl.col([name for name in names if empty[name].item()]).replace("", None))
    if any(not bare[name].null_count() for name in names):
        return bare
    return bare.filter(pl.any_horizontal(pl.col(names).is_not_null()))


def without_own_ending(cells: pl.DataFrame, header: tuple[str, ...]) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """The table without the four columns this program adds to rejected rows, and without its apostrophes."""
    if header[-4:] != OWN_ENDING or len(header) == len(OWN_ENDING):
        return cells, header
    kept = cells.columns[1 : len(header) - 3]
    return cells.select("line", unguarded_columns(pl.col(kept))), header[:-4]


def without_empty_end(cells: pl.DataFrame, header: tuple[str, ...]) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """The table without nameless, empty columns at its end."""
    width = len(header)
    while width > 1 and not header[width - 1] and cells[f"c{width - 1}"].null_count() == cells.height:
        width -= 1
    return cells.select("line", *(f"c{index}" for index in range(width))), header[:width]


def named(cells: pl.DataFrame, header: Sequence[str]) -> tuple[tuple[str, ...], pl.DataFrame]:
    """A name of its own for each column, and the notes on those that had none or another's."""
    notes = [no_faults()]
    taken = set(header)
    names: list[str] = []
    seen: Counter[str] = Counter()
    renamed: dict[str, list[str]] = {}
    for index, name in enumerate(header):
        seen[name] += 1
        if name and seen[name] == 1:
            names.append(name)
            continue
        own = _free(name, seen[name], index, taken)
        taken.add(own)
        names.append(own)
        if name:
            renamed.setdefault(name, []).append(f'"{own}"')
        elif cells[f"c{index}"].null_count() < cells.height:
            notes.append(NAMELESS.at(number=index + 1, name=own))
    notes += [REPEATED.at(value=name, names=", ".join(own)) for name, own in renamed.items()]
    return tuple(names), concat(notes)


def _free(name: str, times: int, index: int, taken: set[str]) -> str:
    own = f"{name} ({times})" if name else f"column {index + 1}"
    while own in taken:
        times += 1
        own = f"{name or f'column {index + 1}'} ({times})"
    return own
