"""Decimal and thousands marks: only where the cells prove them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from pipeline.draft.document import UNDECIDED, Ask, Entry, Part
from pipeline.draft.headings import Column

_FIGURE = re.compile(r"(?<![\w.,])\d[\d.,]*")
_SPACED = re.compile(r"\d{1,3}(?:[ \u00a0\u202f']\d{3})+(?:[.,]\d+)?")
_ANALYSIS = re.compile(r"\d+\s*-\s*\d+\s*-\s*\d+")
Place = tuple[int, str]


@dataclass
class Proofs:
    """The first cell (line and text) that proves each reading, and the first that none settles by itself."""

    decimal: dict[str, Place] = field(default_factory=dict)
    thousands: dict[str, Place] = field(default_factory=dict)
    open: dict[str, Place] = field(default_factory=dict)

    def take(self, line: int, cell: str) -> None:
        """Note what one cell proves."""
        if _SPACED.fullmatch(cell):
            self.thousands.setdefault("'" if "'" in cell else " ", (line, cell))
            return
        for match in _FIGURE.finditer(cell):
            self._figure(match.group().rstrip(".,"), (line, cell))

    def _figure(self, figure: str, place: Place) -> None:
        marks = [char for char in figure if char in ".,"]
        if not marks:
            return
        last = marks[-1]
        if len(set(marks)) == 2 and marks.count(last) == 1:
            self.decimal.setdefault(last, place)
            self.thousands.setdefault(marks[0], place)
        elif len(marks) > 1 and re.fullmatch(r"\d{1,3}(?:[.,]\d{3})+", figure):
            self.thousands.setdefault(last, place)
        elif len(marks) == 1:
            whole, _, rest = figure.partition(last)
            grouped = len(rest) == 3 and len(whole) <= 3 and not whole.startswith("0")
            (self.open if grouped else self.decimal).setdefault(last, place)


def marks_part(columns: Iterable[Column], others: Iterable[Column] = ()) -> Part:
    """Entries of [values] for the decimal and thousands marks of columns of numbers.

    Args:
        columns: columns of fields.
        others: columns of numbers no field was found for; heard only where the first prove no decimal mark.
    """
    proofs = Proofs()
    _take(proofs, columns)
    if not proofs.decimal:
        _take(proofs, others)
    if len(proofs.decimal) == 2 or set(proofs.decimal) & set(proofs.thousands):
        return _contradiction(proofs)
    if proofs.decimal:
        return _settled(proofs, next(iter(proofs.decimal)))
    if set(proofs.thousands) & {".", ","}:
        return _by_thousands(proofs)
    if "," in proofs.open:
        return _unsettled(proofs.open[","])
    return _plain_thousands(proofs)


def _take(proofs: Proofs, columns: Iterable[Column]) -> None:
    for column in columns:
        for line, text in column.filled.unique("text", keep="first", maintain_order=True).iter_rows():
            if not _ANALYSIS.search(text):
                proofs.take(line, text)


def _settled(proofs: Proofs, decimal: str) -> Part:
    """The decimal mark is proven; the other mark, where it stands, can then only part thousands."""
    line, cell = proofs.decimal[decimal]
    found = [Entry("decimal", decimal, f"line {line}: {cell}")] if decimal == "," else []
    other = "." if decimal == "," else ","
    place = proofs.thousands.get(other) or proofs.open.get(other)
    if place:
        why = f"line {place[0]}: {place[1]}; line {line}: {cell} proves that “{decimal}” is the decimal mark"
        return Part((*found, Entry("thousands", other, why)))
    return Part(tuple(found)) + _plain_thousands(proofs)


def _by_thousands(proofs: Proofs) -> Part:
    mark = next(iter(set(proofs.thousands) & {".", ","}))
    line, cell = proofs.thousands[mark]
    entries = [Entry("thousands", mark, f"line {line}: {cell}")]
    if mark == ".":
        entries.insert(0, Entry("decimal", ",", "the point parts thousands"))
    return Part(tuple(entries))


def _plain_thousands(proofs: Proofs) -> Part:
    for mark in (" ", "'"):
        if mark in proofs.thousands:
            line, cell = proofs.thousands[mark]
            return Part((Entry("thousands", mark, f"line {line}: {cell}"),))
    return Part()


def _contradiction(proofs: Proofs) -> Part:
    places = {**proofs.thousands, **proofs.decimal}
    said = " and ".join(f"line {line}: {cell}" for line, cell in dict.fromkeys(places.values()))
    why = f"the file writes numbers in two ways ({said}): mend the odd ones, then write the decimal mark of the rest"
    return Part((Entry("decimal", UNDECIDED, why),), (Ask("values.decimal", why),))


def _unsettled(place: Place) -> Part:
    line, cell = place
    why = f'line {line}: {cell}: write "," if the comma is the decimal mark, "." if it parts thousands'
    other = 'write "," if the comma parts thousands, "" if it is the decimal mark'
    return Part(
        (Entry("decimal", UNDECIDED, why), Entry("thousands", UNDECIDED, other)),
        (Ask("values.decimal", why), Ask("values.thousands", other)),
    )
