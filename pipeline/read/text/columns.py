"""Columns of a table: their names, the empty ones at the end, and what this program's own files carry."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.spreadsheet_cells import GUARDED, perhaps_guarded, unguarded, unguarded_columns
from pipeline.read.text.bytes import BLANK
from schemas.codes import fold

MADE = re.compile(r"column \d+|.* \(\d+\)")
"""Names, folded, that `named` may have given: to a column without one, or with another's."""
OWN_ENDING = ("line", "code", "message", "hint")
"""Last four columns of a file of rejected rows that this program wrote."""
_CODE = r"[a-z_]+\.[a-z_]+"
_OURS = {"line": r"^\d+$", "code": rf"^{_CODE}(?: · {_CODE})*$"}
"""What the cells of two of them hold; a blank one holds nothing."""

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
APOSTROPHE = FaultKind(
    "cell.apostrophe",
    "apostrophe before a sign",
    "An apostrophe and a sign begin this cell, as programs write what a spreadsheet would take for a formula; it stays "
    "as it stands: {value}",
    "Delete the apostrophe if it is not part of the cell; where a program put one before every such cell of the file, "
    "add an empty column headed “{header}”.",
    "warning",
)
WHOSE_COLUMN = FaultKind(
    "rejects.whose_column",
    "Two columns of one name in mended rows",
    "Two columns of these rejected rows are named “{value}”: one is the file's own, the other says why a row was "
    "rejected, and nothing tells which is which any more.",
    "Delete the one that says why (line, code, message and hint may all be deleted), and load the file again.",
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


def own_ending(header: Sequence[str]) -> dict[str, int]:
    """Where the four columns stand that this program adds to rejected rows; nowhere but whole at the end."""
    if tuple(header[-4:]) != OWN_ENDING or len(header) == len(OWN_ENDING):
        return {}
    return {name: len(header) - 4 + at for at, name in enumerate(OWN_ENDING)}


def own_added(cells: pl.DataFrame, header: Sequence[str], known: frozenset[str]) -> tuple[dict[str, int], pl.DataFrame]:
    """Where those of the four columns stand that a person has left in a file of rejected rows, in whatever order.

    A column of the source may bear such a name. The four stand side by side, or one is ours where it holds what ours
    hold; of messages and hints nothing tells, so one that a profile or kind knows (``known``, folded) is the source's.
    Of two of one name nothing tells which is whose: that is a fault of the file.
    """
    for first in range(len(header) - len(OWN_ENDING), -1, -1):
        if tuple(header[first : first + 4]) == OWN_ENDING and len(header) > len(OWN_ENDING):
            return {name: first + at for at, name in enumerate(OWN_ENDING)}, no_faults()
    found, faults = {}, [no_faults()]
    for name in OWN_ENDING:
        at = [index for index, one in enumerate(header) if one == name]
        if len(at) > 1:
            faults.append(WHOSE_COLUMN.at(None, name, name))
        elif at:
            said = cells[f"c{at[0]}"].drop_nulls()
            if said.str.contains(_OURS[name]).all() if name in _OURS else fold(name) not in known:
                found[name] = at[0]
    return (found if len(found) < len(header) else {}), concat(faults)


def says_guarded(header: Sequence[str]) -> dict[str, int]:
    """Where a column stands by which a file says that it has apostrophes that are no part of its cells."""
    return {f"{GUARDED} {at}": at for at, name in enumerate(header) if fold(name) == fold(GUARDED)}


def unsaid_guards(cells: pl.DataFrame, names: Sequence[str]) -> pl.DataFrame:
    """Warnings of cells that begin as guarded ones do, in a file that does not say that they are (FAULT_SCHEMA)."""
    held = [name for name in cells.columns[1:] if cells[name].str.starts_with("'").any()]
    faults = [no_faults()]
    for name in held:
        some = cells.filter(perhaps_guarded(pl.col(name)))
        faults.append(APOSTROPHE.frame(some["line"], some[name], names[int(name[1:])], header=GUARDED))
    return concat(faults)


def lines_stood(cells: pl.DataFrame, header: Sequence[str], own: Mapping[str, int]) -> pl.DataFrame | None:
    """The line of a file of rejected rows and the one each row had in its own file; None where the file has none."""
    if "line" not in own:
        return None
    return cells.select("line", pl.col(f"c{own['line']}").cast(pl.Int64, strict=False).alias("stood"))


def without_own(
    cells: pl.DataFrame,
    units: tuple[str, ...] | None,
    header: tuple[str, ...],
    own: Mapping[str, int],
    *,
    mending: bool = False,
) -> tuple[pl.DataFrame, tuple[str, ...] | None, tuple[str, ...]]:
    """The table without the columns this program adds to its files, and without its apostrophes."""
    if not (own or mending):
        return cells, units, header
    kept = [index for index in range(len(header)) if index not in own.values()]
    taken = unguarded_columns(pl.col([f"c{index}" for index in kept]))
    table = cells.select("line", taken).rename({f"c{old}": f"c{new}" for new, old in enumerate(kept) if old != new})
    said = None if units is None else tuple(unguarded(units[index]) for index in kept if index < len(units))
    return table, said, tuple(unguarded(header[index]) for index in kept)


def ragged_without_own(ragged: pl.DataFrame, own: Mapping[str, int], *, mending: bool = False) -> pl.DataFrame:
    """The rows that are no rows (``line``, ``cells``) without its apostrophes; its columns are not told among them."""
    if not (own or mending):
        return ragged
    return ragged.with_columns(pl.col("cells").list.eval(unguarded_columns(pl.element())))


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
