"""Sheets with a column a green, and layers of soil that stand in a column."""

from __future__ import annotations

import re
from collections.abc import Sequence

from pipeline.common.closest import closest
from pipeline.draft.document import UNDECIDED, Ask, Entry, Part, Table
from pipeline.draft.headings import Column
from pipeline.draft.known import Known
from pipeline.standardise.cells import units
from schemas import Kind
from schemas.codes import fold

FEWEST = 2
"""Columns named after greens from which on a sheet is held to have a column a green."""
_LAYER = re.compile(r"(\d{1,3})\s*(?:-|–|to)\s*(\d{1,3})\s*(mm|cm|in)?")


def green_columns(columns: Sequence[Column], known: Known) -> list[Column]:
    """Columns named after greens, and the columns of numbers between them; none where it is no such sheet.

    A column of dates must stand before the first.
    """
    names = known.folded("green")
    places = [i for i, column in enumerate(columns) if fold(column.header) in names]
    if len(places) < FEWEST or not any(column.dated for column in columns[: places[0]]):
        return []
    between = range(places[0], places[-1] + 1)
    return [columns[i] for i in between if i in places or columns[i].numeric]


def green_tables(columns: Sequence[Column], kind: Kind, known: Known) -> tuple[list[Table], list[Ask]]:
    """One [[long]] table a green, with what must be decided in them."""
    names = known.folded("green")
    tables, asks = [], []
    for column in columns:
        green = names.get(fold(column.header), UNDECIDED)
        entries = [Entry("from", column.header)]
        if not kind.value_field:
            why = f"which field of {kind.name} the cells under the greens' names are is not said"
            asks.append(Ask("long.into", why, column.header))
            entries.append(Entry("into", UNDECIDED, "the field its cells go to"))
        comment = ""
        if green == UNDECIDED:
            near = closest(column.header, known.names["green"])
            comment = f"closest: {', '.join(near)}" if near else "no name of a green is near"
            asks.append(Ask("long.set.green", "not among the greens of the store: write the code", column.header))
        entries.append(Entry("set", {"green": green}, comment))
        tables.append(Table("long", tuple(entries), many=True))
    return tables, asks


def is_layered(column: Column) -> bool:
    """Whether the cells are layers such as 0-25."""
    words = list(column.words)
    return bool(words) and all(_LAYER.fullmatch(word) for word in words)


def layer_part(column: Column) -> tuple[str, Part]:
    """Table and entries for a column of layers: constants where it is one layer throughout, else a choice of rows."""
    layers = list(column.words)
    if len(layers) == 1 and (match := _LAYER.fullmatch(layers[0])):
        low, high, unit = match.groups()
        why = f"“{column.header}” says {layers[0]} in every row"
        if unit:
            factor = units.scale(unit, "mm")[0]
            ends = [Entry("depth_from_mm", int(low) * factor, why), Entry("depth_to_mm", int(high) * factor)]
            return "constants", Part(tuple(ends))
        why += ", without a unit: write both ends in mm"
        ends = [Entry("depth_from_mm", UNDECIDED if int(low) else 0), Entry("depth_to_mm", UNDECIDED, why)]
        return "constants", Part(tuple(ends), (Ask("constants.depth_to_mm", why),))
    shown = ", ".join(f"{word} ({count:,})" for word, count in list(column.words.items())[:10])
    why = f"rows of several layers ({shown}): a profile reads one; write which, and make another profile for each"
    return "only", Part((Entry(column.header, [UNDECIDED], why),), (Ask("only", why, column.header),))
