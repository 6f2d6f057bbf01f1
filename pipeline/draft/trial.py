"""A trial of the columns of figures with the reader itself: what it could not read becomes a question."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import polars as pl

from pipeline.common.faults import concat, no_faults
from pipeline.draft.document import UNDECIDED, Ask, Entry, Part
from pipeline.draft.headings import Column
from pipeline.profiles.style import Style
from pipeline.standardise.cells import numbers, quantity, units
from pipeline.standardise.fields import Cells, understand
from schemas.field import Field

FIGURES = frozenset({"number", "whole", "shorthand"})
_SENTINEL = r"^-9{1,6}(?:[.,]0*)?$"
_SHOWN = 10
_TONS = frozenset({units.TON.code, units.HUNDREDWEIGHT.code})
_OUNCES = frozenset({units.OUNCE.code, units.FLUID_OUNCE.code, units.GALLON.code})
_WORDS = frozenset({numbers.NOT_A_NUMBER.code, quantity.NOT_AN_AMOUNT.code, quantity.NOT_A_RATE.code})


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
    parts = [_marks(trial), _flags(trial), _first(trial, _TONS, "ton", "ton")]
    parts.append(_first(trial, {units.BARROW.code}, "barrow_l", "barrow"))
    return sum(parts, Part())


def remarks(trial: Tried) -> Iterator[str]:
    """Sentences on what no key of the profile can settle: ounces and gallons."""
    for fault in trial.of(_OUNCES).unique("code", keep="first", maintain_order=True).iter_rows(named=True):
        yield f"Line {fault['line']}, {fault['column']}: {fault['message']} {fault['hint']}"


def _first(trial: Tried, codes: Iterable[str], key: str, subject: str) -> Part:
    found = trial.of(codes)
    if not found.height:
        return Part()
    line, cell = found.select("line", "value").row(0)
    how = {
        "ton": 'write "metric" (1000 kg), "long" (1016 kg) or "short" (907 kg)',
        "barrow": "write the litres of one barrow load",
    }[subject]
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
        f"{_short(value)} ({count:,}, first on line {line})" for value, count, line in met.head(_SHOWN).iter_rows()
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


def _short(cell: str) -> str:
    return cell if len(cell) <= 30 else cell[:29] + "…"
