"""A line over the table that names a unit: "all depths in inches" over a column whose own name says none."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import NamedTuple

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.read.sheet import Sheet
from pipeline.standardise import finish
from pipeline.standardise.cells.header_units import unit_against, unit_of
from schemas import Kind
from schemas.codes import fold

TITLE_UNIT = FaultKind(
    "unit.title",
    "Unit in a line over the table that no column declares",
    "Column {column}: line {title_line} of the file says “{value}”, and nothing else says a unit for its figures: they "
    "would be taken for {stored}.",
    "Write unit = “{unit}” for the column in the profile (under [fields]) if the line is of it, or the unit that its "
    "figures are in.",
)
TITLE_DIFFERS = FaultKind(
    "unit.title_differs",
    "Line over the table with another unit than the column's",
    "Column {column}: line {title_line} of the file says “{value}”, and {stored} is declared for it.",
    "If the line is right, mend the unit in the profile or the column's name, take this load back and load again; if "
    "it is of other columns, nothing need be done.",
    severity="warning",
)
_OF_ANYTHING = frozenset(
    ("all", "amounts", "amount", "quantities", "quantity", "figures", "values", "results", "measurements", "readings")
) | {"units", "unit"}
_OF_ONE = {
    "depth": "depth",
    "height": "height",
    "area": "area",
    "weight": "mass",
    "temperature": "_c",
    "rainfall": "rain",
    "rain": "rain",
    "rate": "rate",
    "speed": "wind",
    "time": "hours",
}
"""What a line speaks of, and what is in the names of the fields that are of it."""
_SAID = re.compile(
    r"\b(?P<what>all|amounts?|quantit(?:y|ies)|figures|values|results|measurements|readings|units?|depths?|heights?|areas?|"
    r"weights?|temperatures?|rain(?:fall)?|rates?|speeds?|times?)\b(?P<between>[^.;\n]{0,40}?)"
    r"(?:\bin\b|\bare\b|[:=(])\s*(?P<unit>[^\s,;()]+(?:\s[^\s,;()]+)?)",
    re.IGNORECASE,
)
_LONGEST = 200
"""Characters from which on a line is prose."""
_BARE = r"\d[^\w\"'″′°%]*$"


class Place(NamedTuple):
    """A field's column and the unit declared for it, "" where none is."""

    column: int
    header: str
    unit: str


class Title(NamedTuple):
    """What a line over the table says."""

    line: int
    text: str
    what: str
    unit: str


def of_titles(sheet: Sheet, places: Mapping[str, Place], kind: Kind) -> pl.DataFrame:
    """The faults of columns of bare figures that a line over the table gives another unit than they are read in."""
    faults = []
    for title in titles(sheet):
        for name, place in places.items():
            field = kind.by_name.get(name)
            taken = place.unit or (field.unit if field else "")
            if field is None or not taken or not _of(title.what, name) or not _bare(sheet, place.column):
                continue
            if not unit_against(f"x ({title.unit})", taken) or finish.same_unit(title.unit, taken):
                continue
            fault = TITLE_DIFFERS if place.unit else TITLE_UNIT
            facts = {"title_line": title.line, "stored": taken, "unit": title.unit}
            faults.append(
                fault.at(None if fault is TITLE_UNIT else sheet.header_line, title.text, place.header, **facts)
            )
    return concat(faults)


def titles(sheet: Sheet) -> Iterator[Title]:
    """The lines over the header that name a unit."""
    for line, row in enumerate(sheet.above, 1):
        text = " ".join(cell for cell in row if cell).strip()
        for said in _SAID.finditer(text) if len(text) <= _LONGEST else ():
            words = said["unit"].rstrip(".:!").split()
            unit = next((found for some in (words, words[:1]) if (found := unit_of(" ".join(some)))), "")
            if unit:
                inner = next((one for one in _OF_ONE if re.search(rf"\b{one}s?\b", said["between"].casefold())), "")
                yield Title(line, text, inner or fold(said["what"]), unit)


def _of(what: str, name: str) -> bool:
    """Whether a line that speaks of this is of the field."""
    return what in _OF_ANYTHING or _OF_ONE.get(what, _OF_ONE.get(what.removesuffix("s"), "?")) in name


def _bare(sheet: Sheet, column: int) -> bool:
    """Whether the column has figures without a unit of their own, and no row of units speaks for it."""
    if column >= len(sheet.headers) or (sheet.units is not None and column < len(sheet.units) and sheet.units[column]):
        return False
    return bool(sheet.cells[f"c{column}"].drop_nulls().str.contains(_BARE).any())
