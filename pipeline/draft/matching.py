"""Which field of a kind each column is: by exact names, by near ones, by what the cells hold."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache

from pipeline.draft.columns import MOSTLY, Column, bare
from pipeline.draft.dates import is_day_of_month
from pipeline.draft.known import Known
from pipeline.draft.results import names_analyte
from pipeline.standardise.field_units import converts, unit_fits
from schemas import Kind
from schemas.codes import fold, spellings
from schemas.field import Field

EXACT, STEM, SURE, NEAR = 100.0, 97.0, 85.0, 70.0
"""Likeness of names out of 100: written alike, alike without the unit, near enough to be guessed, worth offering. The
last two are thresholds of the draft, chosen on the demo's and the open files; a person confirms every guess."""
TIE = 3.0
_SHORTEST = 3
_OWN_UNIT = 4.0
"""What figures in the field's very unit add to a near name: more than :data:`TIE` (“Area m²” is no tray's in cm²)."""
_LOOKED_AT = 500
_FEWEST_ANALYTES = 3
HALF = 0.5
"""Share of cells with names from a register, or of analytes, from which on a column is held to name them: both have
more spellings than lists have words (a threshold of the draft; a person confirms what comes of it)."""
_AMOUNTS = ("quantity", "debris")


@dataclass(frozen=True)
class Found:
    """The column a field was found in, and how: "name", "like" (a near name), "cells" or "message" (its text)."""

    column: Column
    how: str


@dataclass
class Matches:
    """What matching came to.

    Attributes:
        found: field name → its column.
        open: field name → columns of which none or more than one may be it.
        asked: fields of amounts that a person must part among columns of amounts.
    """

    found: dict[str, Found] = field(default_factory=dict)
    open: dict[str, list[Column]] = field(default_factory=dict)
    asked: set[str] = field(default_factory=set)

    @property
    def taken(self) -> set[str]:
        """Headers of the columns found."""
        return {one.column.header for one in self.found.values()}

    @property
    def amounts(self) -> set[str]:
        """Headers of the columns of amounts that a person must part."""
        return {column.header for name in self.asked for column in self.open[name]}


def matched(columns: Sequence[Column], kind: Kind, known: Known) -> Matches:
    """Fields of a kind among the columns; each field has one column, each column one field."""
    done = Matches()
    pairs = sorted(
        ((score, i, j) for i, column in enumerate(columns) for j, one in enumerate(kind.asked)
         if (score := _likeness(column, one)) >= NEAR),
        key=lambda pair: (-pair[0], pair[1], pair[2]),
    )  # fmt: skip
    while pairs and pairs[0][0] >= SURE:
        score, i, j = pairs[0]
        name = kind.asked[j].name
        rivals = [pair for pair in pairs if pair[2] == j and pair[0] >= score - TIE and pair[0] >= min(score, STEM)]
        others = [pair for pair in pairs if pair[1] == i and pair[2] != j and pair[0] >= score - TIE]
        if len(rivals) > 1:
            done.open[name] = [columns[pair[1]] for pair in rivals]
        elif others and score < STEM:
            for pair in (pairs[0], *others):
                done.open.setdefault(kind.asked[pair[2]].name, []).append(columns[i])
        else:
            done.found[name] = Found(columns[i], "name" if score >= STEM else "like")
        gone = {pair[1] for pair in rivals} | {i}
        pairs = [pair for pair in pairs if pair[2] != j and pair[1] not in gone]
    _by_cells(done, columns, kind, known)
    _amounts(done, columns, kind)
    for _, i, j in pairs:
        if columns[i].header not in done.taken:
            name = kind.asked[j].name
            if name not in done.found and name not in done.asked and columns[i] not in done.open.setdefault(name, []):
                done.open[name].append(columns[i])
    return done


def _by_cells(done: Matches, columns: Sequence[Column], kind: Kind, known: Known) -> None:
    """Fields of the natural key still without a column, where the cells of just one column can be nothing else."""
    rivals = {column.header for found in done.open.values() for column in found}
    for one in kind.asked:
        if not one.key or one.name in done.found:
            continue
        # names of a register are proof enough, also where the header sounds like another field (a column “Used”)
        apart = done.taken if one.refers else done.taken | rivals
        among = done.open.get(one.name) or [column for column in columns if column.header not in apart]
        fitting = [column for column in among if column.header not in done.taken and _holds(column, one, known)]
        if len(fitting) == 1:
            done.found[one.name] = Found(fitting[0], "cells")
            done.open.pop(one.name, None)
            done.open = {name: left for name, found in done.open.items() if (left := _without(found, fitting[0]))}
        elif fitting:
            done.open[one.name] = fitting


def _without(columns: Sequence[Column], one: Column) -> list[Column]:
    return [column for column in columns if column is not one]


def _amounts(done: Matches, columns: Sequence[Column], kind: Kind) -> None:
    """What was put on and what came off, by the cells: one column for the one that is open, else a question."""
    lacking = [name for name in _AMOUNTS if name in kind.by_name and name not in done.found]
    fitting = [
        column for column in columns if column.header not in done.taken and not column.numeric and column.amounts
    ]
    if len(lacking) == len(fitting) == 1:
        done.found[lacking[0]] = Found(fitting[0], "cells")
    elif fitting:
        done.asked |= set(lacking)
        done.open |= dict.fromkeys(lacking, fitting)


def _holds(column: Column, one: Field, known: Known) -> bool:
    """Whether most of the column's words are what the field holds."""
    words = dict(list(column.words.items())[:_LOOKED_AT])
    if not words:
        return False
    if one.type == "date":
        return column.dated
    if not (one.choices or one.refers):
        return False
    names = spellings(one.choices) if one.choices else known.folded(one.refers)
    fitting = sum(count for word, count in words.items() if fold(word) in names or _is_analyte(one, word))
    if one.choices == "analyte" and sum(_is_analyte(one, word) for word in words) < _FEWEST_ANALYTES:
        return False  # letters, of which S and N are points of the compass too
    few = one.refers or one.choices == "analyte"  # greens and analytes have more spellings than lists have words
    return fitting >= (HALF if few else MOSTLY) * sum(words.values())


def _is_analyte(one: Field, word: str) -> bool:
    return one.choices == "analyte" and names_analyte(word)


def _likeness(column: Column, one: Field) -> float:
    """How like the column's header is to a field's names, 0 to 100."""
    from rapidfuzz import fuzz

    names, stems = _names(one)
    mine = column.spelt
    if one.type == "date" and (is_day_of_month(column) or (one.rests_on and not mine & names)):
        return 0.0  # the last day of a month that another date fills in is no other date that sounds like it
    parted = column.name not in mine
    stated = parted and unit_fits(one, column.unit)
    if mine & names or (stated and column.name in names):
        return EXACT
    if (stated or not one.unit) and column.name in stems:
        return STEM
    if parted and not stated:  # figures in a unit the field does not have
        return 0.0
    best = 0.0
    for word in mine | {column.name}:
        for name in names | stems:
            best = max(best, fuzz.token_sort_ratio(word, name))
            if one.type != "text" and min(len(name), len(word)) >= _SHORTEST:
                best = max(best, 0.9 * fuzz.token_set_ratio(word, name))
    if best < NEAR or not _plausible(column, one):
        return 0.0
    own = bool(one.unit) and bare(column.unit) == bare(one.unit)
    return min(best + (_OWN_UNIT if own else 0.0), STEM - 1)


def _plausible(column: Column, one: Field) -> bool:
    """Whether the cells do not speak against the field; a column without any does not."""
    if not column.words:
        return not one.choices
    if one.type == "date":
        return column.dated
    if one.numeric or one.type == "shorthand":
        return column.figured
    return not one.choices or any(fold(word) in spellings(one.choices) for word in column.words)


@cache
def _names(one: Field) -> tuple[frozenset[str], frozenset[str]]:
    """A field's names as words, and the same of its own name without the unit at its end."""
    names = frozenset(bare(name) for name in (one.name, *one.also))
    own, unit = bare(one.name).split(), bare(one.unit.replace("²", "2").replace("³", "3")).split()
    stem = " ".join(own[: -len(unit)]) if unit and own[-len(unit) :] == unit else ""
    return names, frozenset({stem} - {""})


def says_unit(column: Column, one: Field) -> bool:
    """Whether a word of the header is a unit of the field's sort (``Man hours``, ``Litres``, ``depth_mm``)."""
    return any(converts(word, one.unit) for word in column.header.replace("_", " ").split() if len(word) < 20)


def candidates(columns: Iterable[Column], one: Field, open_columns: Mapping[str, list[Column]]) -> list[str]:
    """Headers to offer for a field that has no column: near names first, then every column left over."""
    near = [column.header for column in open_columns.get(one.name, [])]
    return list(dict.fromkeys([*near, *(column.header for column in columns)]))
