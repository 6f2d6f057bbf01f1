"""Sampled layers that stand in a column (0-25): both ends are taken from each row's own cell."""

from __future__ import annotations

import re
from dataclasses import dataclass

from pipeline.draft.columns import Column
from pipeline.draft.document import Ask, Entry, Part
from pipeline.profiles.profile import UNDECIDED

_LAYER_CELL = re.compile(r"(\d{1,3}(?:\.\d+)?)\s*(-|–|to)\s*(\d{1,3}(?:\.\d+)?)\s*(mm|cm|in|ins|inch|inches|\")?")
_NAMES = frozenset({"depth", "depths", "layer", "layers", "horizon", "section", "increment", "interval"})
_MOST = 10
NAME = "depth of layers"
"""What [units] calls the unit that both ends are in."""


@dataclass(frozen=True)
class Layers:
    """A column of layers.

    Attributes:
        column: the column.
        marks: what stands between the ends, each way that it is written.
        units: units that the cells say, "" for a cell that says none.
    """

    column: Column
    marks: frozenset[str]
    units: frozenset[str]


def layers_of(column: Column) -> Layers | None:
    """The layers in a column; None where a filled cell is none, or nothing says that they are depths."""
    found = [_LAYER_CELL.fullmatch(word) for word in column.words]
    cells = [match for match in found if match]
    if not cells or len(cells) < len(found):
        return None
    units = frozenset((match.group(4) or "").replace('"', "in") for match in cells)
    named = bool(_NAMES & set(" ".join(column.spelt).split())) or column.unit in {"mm", "cm", "in"}
    deepening = all(float(match.group(1)) < float(match.group(3)) for match in cells)
    if not (deepening and (named or "" not in units)):
        return None
    return Layers(column, frozenset(match.group(2) for match in cells), units)


def layer_part(layers: Layers) -> tuple[str, Part]:
    """Table and entries for a column of layers.

    Both ends come from the cell of each row, so that a row without a layer gets none. Where the cells are not written
    alike, no one mark parts them: which rows are read is asked.
    """
    if len(layers.marks) == 1 and len(layers.units) == 1:
        return "fields", _both_ends(layers)
    shown = ", ".join(f"{word} ({count:,})" for word, count in list(layers.column.words.items())[:_MOST])
    why = (
        f"layers that are not written alike ({shown}): write the rows to read, and make another profile for the others"
    )
    header = layers.column.header
    return "only", Part((Entry(header, [UNDECIDED], why),), (Ask("only", why, header),))


def _both_ends(layers: Layers) -> Part:
    header, mark = layers.column.header, next(iter(layers.marks))
    unit = next(iter(layers.units)) or layers.column.unit
    filled, rows = layers.column.filled.height, len(layers.column.cells)
    some = f"in {filled:,} of {rows:,} rows; those without it get no depth" if filled < rows else ""
    ends = []
    for name, part in (("depth_from_mm", 1), ("depth_to_mm", 2)):
        origin = {"from": header, "split": mark, "part": part, "unit": unit or NAME}
        ends.append(Entry(name, origin, some if part == 1 else ""))
    return Part(tuple(ends))


def unit_asked(layers: Layers) -> Part:
    """Entry of [units] where neither cells nor header say the unit of the ends."""
    if len(layers.marks) > 1 or layers.units != {""} or layers.column.unit:
        return Part()
    seen = f"“{layers.column.header}” ({next(iter(layers.column.words))})"
    why = f"{seen}: nothing says the unit; write it (mm is what is stored)"
    return Part((Entry(NAME, UNDECIDED, why),), (Ask(f"units.{NAME}", why),))
