"""What the cells prove of how figures are written: marks, and a trial with the reader itself; the rest is asked."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import polars as pl

from pipeline.common.faults import concat, no_faults
from pipeline.draft.columns import Column
from pipeline.draft.document import Ask, Entry, Part, shortened
from pipeline.profiles.profile import UNDECIDED
from pipeline.profiles.style import Style
from pipeline.standardise.cells import numbers, quantity, units
from pipeline.standardise.cells.distinct import Cells
from pipeline.standardise.fields import understand
from schemas.field import Field

_FIGURE = re.compile(r"(?<![\w.,])\d[\d.,]*")
_SPACED = re.compile(r"\d{1,3}(?:[ \u00a0\u202f']\d{3})+(?:[.,]\d+)?")
_ANALYSIS = re.compile(r"\d+\s*-\s*\d+\s*-\s*\d+")
Place = tuple[int, str]
FIGURES = frozenset({"number", "whole", "money", "shorthand"})
_SENTINEL = r"^-9{1,6}(?:[.,]0*)?$"
_SHOWN = 10
_TONS = frozenset({units.TON.code, units.HUNDREDWEIGHT.code})
_OUNCES = frozenset({units.OUNCE.code, units.FLUID_OUNCE.code, units.GALLON.code})
_WORDS = frozenset({numbers.NOT_A_NUMBER.code, quantity.NOT_AN_AMOUNT.code, quantity.NOT_A_RATE.code})


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

    The others, for which no field was found, are heard only where the first prove no decimal mark.
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


@dataclass(frozen=True)
class Tried:
    """What the reader said of the columns.

    Attributes:
        faults: FAULT_SCHEMA.
        negatives: cells such as -99 that often stand for "no value" (line, column, value).
    """

    faults: pl.DataFrame
    negatives: pl.DataFrame

    def of(self, codes: Iterable[str]) -> pl.DataFrame:
        """The faults of these codes."""
        return self.faults.filter(pl.col("code").is_in(list(codes)))

    def without_unit(self) -> dict[str, tuple[int, str]]:
        """Columns of amounts with bare figures: header → line and cell of the first."""
        bare = self.of({quantity.NO_UNIT.code}).unique("column", keep="first", maintain_order=True)
        return {column: (line, cell) for line, column, cell in bare.select("line", "column", "value").iter_rows()}


def tried(columns: Iterable[tuple[Column, Field]], style: Style) -> Tried:
    """The faults the reader meets in columns of figures, and figures that may be marks for "no value"."""
    faults, negatives = [], []
    for column, one in columns:
        source = Cells(column.lines, column.cells, column.header, column.unit or one.unit)
        faults.append(understand(one, source, style, {}).faults)
        odd = column.filled.filter(pl.col("text").str.contains(_SENTINEL)) if one.type != "shorthand" else None
        if odd is not None and odd.height:
            negatives.append(odd.select("line", pl.lit(column.header).alias("column"), pl.col("text").alias("value")))
    none = no_faults().select("line", "column", "value")
    return Tried(concat(faults), pl.concat(negatives) if negatives else none)


def questions(trial: Tried) -> Part:
    """Entries of [values] for what the reader could not know."""
    tons = _first(trial, _TONS, "ton", 'write "metric" (1000 kg), "long" (1016 kg) or "short" (907 kg)')
    barrows = _first(trial, {units.BARROW.code}, "barrow_l", "write the litres of one barrow load")
    return _marks(trial) + _flags(trial) + tons + barrows


def remarks(trial: Tried) -> Iterator[str]:
    """Sentences on what no key of the profile can settle: ounces and gallons."""
    for fault in trial.of(_OUNCES).unique("code", keep="first", maintain_order=True).iter_rows(named=True):
        yield f"Line {fault['line']}, {fault['column']}: {fault['message']} {fault['hint']}"


def _first(trial: Tried, codes: Iterable[str], key: str, how: str) -> Part:
    found = trial.of(codes)
    if not found.height:
        return Part()
    line, cell = found.select("line", "value").row(0)
    why = f"line {line}: {cell}: {how}"
    return Part((Entry(key, UNDECIDED, why),), (Ask(f"values.{key}", why),))


def _marks(trial: Tried) -> Part:
    """Words among figures, and figures such as -99: which of them mean "no value" or "below the limit"?"""
    words = trial.of(_WORDS).select("line", "column", "value").filter(~pl.col("value").str.contains(r"\d"))
    found = pl.concat([words, trial.negatives])
    if not found.height:
        return Part()
    met = found.group_by("value", maintain_order=True).agg(pl.len(), pl.col("line").min())
    met = met.sort("len", descending=True, maintain_order=True)
    shown = ", ".join(
        f"{shortened(value)} ({count:,}, first on line {line})" for value, count, line in met.head(_SHOWN).iter_rows()
    )
    more = f" and {met.height - _SHOWN} more" if met.height > _SHOWN else ""
    why = (
        f"no figures: {shown}{more}: list those that mean “no value” ([] where none does); "
        "those that mean “less than” go to below = […]"
    )
    return Part((Entry("missing", [UNDECIDED], why),), (Ask("values.missing", why),))


def _flags(trial: Tried) -> Part:
    found = trial.of({numbers.FLAG.code})
    if not found.height:
        return Part()
    flags: dict[str, str] = {}
    for line, cell in found.select("line", "value").iter_rows():
        if tail := re.search(r"[^\d\s.,]+$", cell):
            flags.setdefault(tail.group(), f"line {line}: {cell}")
    shown = ", ".join(f"“{flag}” ({where})" for flag, where in list(flags.items())[:_SHOWN])
    why = f"marks glued to figures: {shown}: list those that may be left out ([] where none may)"
    return Part((Entry("flags", [UNDECIDED], why),), (Ask("values.flags", why),))
