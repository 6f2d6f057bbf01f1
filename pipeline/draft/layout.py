"""What a sheet looks like as records of one kind, and which kind it looks most like."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.draft.columns import Column
from pipeline.draft.dates import date_parts
from pipeline.draft.known import Known
from pipeline.draft.layers import Layers, layers_of
from pipeline.draft.matching import Matches, matched
from pipeline.draft.months import Months, months_of
from pipeline.draft.results import Result, names_of_results
from pipeline.draft.wide import green_columns, results_of
from pipeline.profiles.profile import kind_of_headers
from schemas import KINDS, Kind

_WORTH = {"name": 1.0, "like": 0.6, "cells": 1.5, "message": 1.5}
_NEEDED, _KEYLESS, _MOST_RESULTS = 1.0, 4.0, 8
"""Points that a column, a needed field and the key of a register are worth when kinds are compared (thresholds of the
draft, chosen on the demo's and the open files; a person is asked where two kinds come near each other)."""
_CLEAR, _AHEAD, _MONTHS = 3.0, 1.5, 4.0


@dataclass(frozen=True)
class Layout:
    """A sheet as records of one kind.

    Attributes:
        kind: the kind.
        matches: fields and their columns.
        results: columns of a sheet with a column an analyte.
        greens: columns of a sheet with a column a green.
        layers: column of sampled layers such as 0-25, or None.
        parts: columns of year, month and day that make the date, or ().
        months: columns of a sheet with a column a month, or None.
    """

    kind: Kind
    matches: Matches
    results: Sequence[Result] = ()
    greens: Sequence[Column] = ()
    layers: Layers | None = None
    parts: tuple[Column, ...] = ()
    months: Months | None = None

    @property
    def wide(self) -> set[str]:
        """Fields that the [[long]] tables give."""
        if self.results:
            return {self.results[0].names, "unit", "value"}
        return {"green", self.kind.value_field} if self.greens else set()

    @property
    def lacking(self) -> list[str]:
        """Needed fields that neither a column nor a [[long]] table gives."""
        one = self.kind.by_name
        given = set(self.matches.found) | self.wide | ({"date"} if self.parts else set())
        given |= {"date"} if self.months else set()
        given |= {name for found in self.matches.found for name in one[found].fills}
        return [name for name in self.kind.needed if name not in given]

    @property
    def long_columns(self) -> list[Column]:
        """Columns of the [[long]] tables."""
        months = [month.column for month in self.months.columns] if self.months else []
        return [result.column for result in self.results] + list(self.greens) + months

    @property
    def explained(self) -> set[str]:
        """Headers of the columns that the kind has a use for."""
        columns = [*self.parts, *self.long_columns, *([self.layers.column] if self.layers else [])]
        columns += [self.months.year] if self.months and self.months.year else []
        return self.matches.taken | {column.header for column in columns}

    @property
    def score(self) -> float:
        """How much of the sheet the kind explains, in points."""
        points = sum(_WORTH[found.how] for found in self.matches.found.values())
        points += _WORTH["name"] if self.parts else 0.0
        points += _MONTHS if self.months else 0.0
        # a column a green says nothing of which thing was observed
        points += 2.0 if self.greens and self.kind.value_field in self.kind.needed else 0.0
        if self.kind.register and set(self.kind.key) & set(self.lacking):
            points -= _KEYLESS  # a register names each of its rows: no constant can stand for that
        points += min(sum(result.column.numeric for result in self.results), _MOST_RESULTS)
        return points + _NEEDED * (len(self.kind.needed) - 2 * len(self.lacking))


def layout_of(columns: Sequence[Column], kind: Kind, known: Known) -> Layout:
    """The sheet as records of this kind."""
    if months := months_of(columns, kind):
        taken = {id(month.column) for month in months.columns} | {id(months.year)}
        whole = matched([column for column in columns if id(column) not in taken], kind, known)
        whole.found.pop("date", None)
        whole.open.pop("date", None)
        return Layout(kind, whole, months=months)
    whole, parts = matched(columns, kind, known), date_parts(columns, kind)
    dated = whole.found.get("date")
    if parts and (dated is None or dated.column in parts):
        columns = [column for column in columns if column not in parts]
        whole = matched(columns, kind, known)
        whole.found.pop("date", None)
        whole.open.pop("date", None)
    else:
        parts = ()
    greens = green_columns(columns, known) if "green" in kind.key and not kind.register else []
    results: list[Result] = []
    names = names_of_results(kind)
    if names and not greens and not {names, "value"} <= set(whole.found):
        results = results_of(columns, names)
    layers = next(filter(None, map(layers_of, columns)), None) if "depth_to_mm" in kind.by_name else None
    used = {column.header for column in greens} | {result.column.header for result in results}
    used |= {layers.column.header} if layers else set()
    rest = [column for column in columns if column.header not in used]
    return Layout(kind, matched(rest, kind, known) if used else whole, results, greens, layers, parts)


def likeliest(columns: Sequence[Column], known: Known) -> tuple[list[Layout], bool]:
    """The sheet as each kind it may be of, the likeliest first, and whether the first is clear."""
    own = kind_of_headers(column.header for column in columns)
    kinds = [kind for kind in KINDS.values() if kind.suggested or kind is own]
    layouts = sorted((layout_of(columns, kind, known) for kind in kinds), key=lambda one: -one.score)
    if own is not None:
        return sorted(layouts, key=lambda one: one.kind is not own), True
    # what two kinds have in common tells neither: one that has a use for fewer of the same columns is no rival
    first, *rivals = [one for one in layouts if not any(_outdoes(other, one) for other in layouts)]
    clear = first.score >= _CLEAR and first.score >= _AHEAD * max((1.0, *(one.score for one in rivals)))
    # figures of a period that no column dates are means of many years as often as records
    clear = clear and not (first.kind.period and "date" in first.lacking)
    return [first, *(one for one in layouts if one is not first and one.score > 0)][:3], clear


def _outdoes(other: Layout, one: Layout) -> bool:
    """Whether a kind explains all that another does, and more, with no fewer points."""
    return other.score >= one.score and other.explained > one.explained
