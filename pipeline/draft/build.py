"""Drafting a source profile from a file: what the file proves is written, what it does not is asked."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.common.faults import refuse_file
from pipeline.common.file_names import MOST_PLAIN, safe_stem
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.toml import read_toml
from pipeline.common.whole_files import write_new, write_whole
from pipeline.draft.as_above import without_marks
from pipeline.draft.columns import Column, are_messages, columns_of, read_for_draft, reading_part
from pipeline.draft.dates import date_part
from pipeline.draft.document import Ask, Entry, Part, Table, asked_once, text_of
from pipeline.draft.fields import (
    columns_part,
    constants_part,
    fields_part,
    is_asked,
    offered,
    often_constant,
    passed_over,
    shared_units,
    units_part,
    unused_note,
)
from pipeline.draft.job_messages import of_work, with_messages
from pipeline.draft.known import Known, Unknown, alias_table, known_names
from pipeline.draft.layers import layer_part, unit_asked
from pipeline.draft.layout import Layout, layout_of, likeliest
from pipeline.draft.months import month_tables
from pipeline.draft.several import parted_words, several_tables
from pipeline.draft.values import FIGURES, Tried, marks_part, questions, remarks, tried
from pipeline.draft.wide import green_tables, long_tables
from pipeline.profiles.profile import UNDECIDED, kind_named
from pipeline.profiles.style import Style
from pipeline.read.sheet import Sheet
from pipeline.read.workbook.workbook import NO_SUCH_SHEET, WHICH_SHEET
from pipeline.standardise.title_units import titles
from pipeline.workspace.settings import Workspace
from schemas import Kind
from schemas.codes import fold
from schemas.job import JOB

_MATCHED = 6
"""Headers that a layout is known by: enough to tell it from another, few enough that a column may come or go."""
_MATCHED_LONG = 4


@dataclass(frozen=True)
class Mapped:
    """One column of the file and what it became."""

    header: str
    field: str
    unit: str
    how: str


@dataclass(frozen=True)
class Draft:
    """A drafted profile.

    Attributes:
        file: file it was drafted from.
        kind: kind of record, "?" where it must be decided.
        drafted_for: kind whose fields the draft names, "" where the file could not be read.
        path: where it was written, None where the file could not be read.
        text: the profile as TOML.
        mapped: columns and what they became.
        asks: what a person must decide.
        unknown: words that loading would not know; ``swardtally words`` asks for them.
        faults: FAULT_SCHEMA: what reading the file met.
    """

    file: str
    kind: str
    drafted_for: str
    path: Path | None
    text: str
    mapped: tuple[Mapped, ...]
    asks: tuple[Ask, ...]
    faults: pl.DataFrame
    unknown: tuple[Unknown, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The form of ``profile --json``."""
        return {
            "file": self.file,
            "kind": self.kind,
            "drafted_for": self.drafted_for,
            "path": None if self.path is None else str(self.path),
            "mapped": [vars(one) for one in self.mapped],
            "decide": [vars(one) for one in self.asks],
            "words": [vars(one) for one in self.unknown],
            "faults": self.faults.to_dicts(),
        }


@dataclass
class _Sheet:
    """What the parts of a draft are made from."""

    columns: tuple[Column, ...]
    layout: Layout
    known: Known
    over: tuple[str, str]
    """Words over the table and the file's name, and the unit that a line over the table names."""
    tables: list[Table] = field(default_factory=list)
    asks: list[Ask] = field(default_factory=list)
    unknown: list[Unknown] = field(default_factory=list)

    def add(self, name: str, part: Part, note: str = "") -> None:
        self.asks += part.asks
        if part.entries:
            self.tables.append(Table(name, part.entries, note))


def draft_profile(
    workspace: Workspace, path: Path, *, kind: str = "", name: str = "", sheet: str = "", force: bool = False
) -> Draft:
    """Draft a source profile from a file and write it into the workspace's profiles.

    The kind "" is found out, the name "" is the file's, the sheet "" the first of a workbook; a profile of that name is
    overwritten with ``force`` alone.

    Raises:
        WrongUsage: there is no such file or kind, or the profile exists.
    """
    if not path.is_file():
        raise WrongUsage(f"There is no file {path}.", "Check the spelling and the folder.")
    wanted = kind_named(kind)
    name = name or _slug(path.stem)
    target = workspace.profiles / f"{_slug(name)}.toml"
    if target.exists() and not force:
        raise _there_already(target)
    _refuse_same_name(target, name)
    ignored, limits = workspace.settings.ignore_sheets, workspace.settings.limits
    read = read_for_draft(path, sheet, ignored, limits)
    if refuse_file(read.faults):
        return Draft(path.name, "", "", None, "", (), (), _with_sheet_asked(path, read.faults))
    if sheet and read.encoding:
        raise WrongUsage(f"{path.name} is no workbook: it has no sheet “{sheet}”.", "Leave --sheet out.")
    columns = columns_of(read)
    known = known_names(workspace)
    if are_messages(read) and wanted is None and of_work(columns):
        wanted = JOB
    layouts, clear = likeliest(columns, known)
    if wanted:
        layouts, clear = [layout_of(columns, wanted, known)], True
    if are_messages(read):
        with_messages(layouts[0], columns)
    made = _Sheet(columns, layouts[0], known, _over(read))
    _head(made, name, path.name, layouts, clear)
    made.add("reading", reading_part(path, read, _wanted(made), sheet, ignored, limits))
    _body(made)
    text = text_of(made.tables)
    _write(target, text.encode(), force=force)
    kind_name = layouts[0].kind.name
    said = kind_name if clear else UNDECIDED
    return Draft(
        file=path.name,
        kind=said,
        drafted_for=kind_name,
        path=target,
        text=text,
        mapped=tuple(_mapped(made)),
        asks=tuple(asked_once(made.asks)),
        faults=read.faults,
        unknown=tuple(made.unknown),
    )


def _write(target: Path, content: bytes, *, force: bool) -> None:
    """Write a profile, with ``force`` alone over another: of two drafted at one time under a name the first stays.

    Raises:
        WrongUsage: one came meanwhile.
    """
    if force:
        write_whole({target: content})
    elif not write_new(target, content):
        raise _there_already(target)


def _there_already(target: Path) -> WrongUsage:
    return WrongUsage(
        f"There is a profile {target} already.", "Give --name another name, or overwrite it with --force."
    )


def _over(read: Sheet) -> tuple[str, str]:
    """Words over the table and the file's name, and the unit that a line over the table names, "" where none does."""
    words = [cell for row in read.above for cell in row if cell]
    return " ".join([*words, Path(read.file).stem]), next((title.unit for title in titles(read)), "")


def _with_sheet_asked(path: Path, faults: pl.DataFrame) -> pl.DataFrame:
    """Faults of a workbook whose sheet is not told, with what to do before there is a profile."""
    said = faults["message"].str.extract(r'[:s] ?"([^"]+)"(?:, |\.)')
    named = pl.format('Say which one: swardtally profile {} --sheet "{}"', pl.lit(path.name), said)
    asked = pl.col("code").is_in([WHICH_SHEET.code, NO_SUCH_SHEET.code])
    return faults.with_columns(pl.when(asked & said.is_not_null()).then(named).otherwise("hint").alias("hint"))


def _refuse_same_name(target: Path, name: str) -> None:
    """Refuses a name that a profile in another file has: loading would refuse both."""
    for path in sorted(target.parent.glob("*.toml")):
        try:
            taken = read_toml(path).get("name")
        except CannotDo:
            continue  # loading says what is wrong with it
        if taken == name and path != target:
            raise WrongUsage(f"The profile {path} is named “{name}” already.", "Give --name another name.")


def _slug(text: str) -> str:
    """A name fit for a file: small letters, digits and hyphens; never a device's."""
    plain = re.sub(r"[^a-z0-9]+", "-", text.casefold())[:MOST_PLAIN].strip("-")
    return f"{plain}-source" if plain and safe_stem(plain) != plain else plain or "source"


def _head(made: _Sheet, name: str, file: str, layouts: Sequence[Layout], clear: bool) -> None:
    kind = layouts[0].kind
    entry = Entry("kind", kind.name)
    if not clear:
        others = ", ".join(f"{one.kind.name} ({one.kind.grain})" for one in layouts)
        why = (
            f"the headers do not say which kind: {others}; this draft is for {kind.name}, for another: "
            f"swardtally profile {file} --kind KIND --force"
        )
        entry = Entry("kind", UNDECIDED, why)
        made.asks.append(Ask("kind", why))
    note = (
        f"Source profile drafted from {file}. Where “?” stands a person must decide; the comment beside it says how. "
        "Look at every guess too. docs/profiles.md lists every key."
    )
    made.tables.append(Table("", (Entry("name", name), entry, Entry("title", f"Drafted from {file}")), note))
    made.tables.append(Table("match", (Entry("headers", _matched_by(made)),)))


def _matched_by(made: _Sheet) -> list[str]:
    """Headers that identify the layout: needed columns, some of the results, then others that were found."""
    found, layout = made.layout.matches.found, made.layout
    first = [column.header for column in layout.parts]
    first += [layout.months.year.header] if layout.months and layout.months.year else []
    first += [found[name].column.header for name in layout.kind.needed if name in found]
    results = [column.header for column in layout.long_columns]
    rest = [one.column.header for one in found.values()]
    headers = list(dict.fromkeys([*first, *results[:_MATCHED_LONG], *rest]))[:_MATCHED]
    return headers or [column.header for column in made.columns[:_MATCHED]]


def _wanted(made: _Sheet) -> frozenset[str]:
    """Folded headers the profile will name: by them loading finds the header line."""
    layout = made.layout
    headers = [*_matched_by(made), *layout.matches.taken, *(column.header for column in layout.long_columns)]
    headers += [column.header for column in layout.parts]
    return frozenset(fold(header) for header in headers)


def _body(made: _Sheet) -> None:
    layout = made.layout
    by_name = layout.kind.by_name
    figures = [
        (one.column, by_name[name]) for name, one in layout.matches.found.items() if by_name[name].type in FIGURES
    ]
    figures += [(column, by_name[layout.kind.value_field]) for column in layout.long_columns if layout.kind.value_field]
    figures += [
        (column, by_name[name]) for name in sorted(layout.matches.asked)[-1:] for column in layout.matches.open[name]
    ]
    values, trial = _values(made, figures)
    left = _left(made)
    shared = shared_units(layout)
    fields = fields_part(layout, left, trial.without_unit(), shared)
    constants = constants_part(layout, left)
    where, layers = layer_part(layout.layers) if layout.layers else ("", Part())
    units = units_part(shared) + (unit_asked(layout.layers) if layout.layers else Part())
    long, asked = _long(made)
    units += asked
    given = {*layout.matches.found, *(entry.key for entry in (*constants.entries, *layers.entries)), *_in_every(long)}
    constants += Part(tuple(often_constant(layout, given)))
    made.add("values", values, " ".join(remarks(trial)))
    made.add("units", units, "One unit for all the columns that name it." if units.entries else "")
    made.add("constants", constants)
    made.add("fields", fields + (layers if where == "fields" else Part()))
    made.tables += [*long, *(several_tables(layout, made.known) if not long else ())]
    _aliases(made)
    made.add("only", layers if where == "only" else Part())
    made.add("columns", columns_part(layout, left))
    ignored = [column.header for column in left if passed_over(layout, column)]
    note = "Columns that hold words and are named like no field; map any that matters under [fields]."
    made.add("ignore", Part((Entry("headers", ignored),)) if ignored else Part(), note)
    if told := unused_note(layout, left):
        made.tables.append(Table("", (), told))


def _values(made: _Sheet, figures: Sequence[tuple[Column, Any]]) -> tuple[Part, Tried]:
    """Entries of [values], and what the reader said of the figures under the marks proven."""
    layout = made.layout
    dates = [one.column for name, one in layout.matches.found.items() if layout.kind.by_name[name].type == "date"]
    dates += [column for column in offered(layout, _left(made)) if "date" in layout.lacking and column.days]
    others = [column for column in _left(made) if column.numeric and not column.dated]
    marks = marks_part([column for column, _ in figures], others)
    proven = {entry.key: entry.value for entry in marks.entries if entry.value != UNDECIDED}
    trial = tried(figures, Style(**proven))  # type: ignore[arg-type]
    return date_part(dates) + marks + questions(trial), trial


def _left(made: _Sheet) -> list[Column]:
    folded = {fold(header) for header in made.layout.explained | made.layout.matches.amounts}
    return [column for column in made.columns if fold(column.header) not in folded]


def _long(made: _Sheet) -> tuple[list[Table], Part]:
    """The [[long]] tables, the entries of [units] that they name, and what is to be decided."""
    if made.layout.results:
        return long_tables(made.layout.results)
    if months := made.layout.months:
        station = made.layout.matches.found.get("station")
        tables, asks = month_tables(months, made.layout.kind, *made.over, station.column if station else None)
        return tables, Part((), tuple(asks))
    if not made.layout.greens:
        return [], Part()
    tables, asks = green_tables(made.layout.greens, made.layout.kind, made.known)
    return tables, Part((), tuple(asks))


def _in_every(long: Sequence[Table]) -> set[str]:
    """Fields that each [[long]] table sets."""
    sets = [set(entry.value) for table in long for entry in table.entries if isinstance(entry.value, dict)]
    return set.intersection(*sets) if sets else set()


def _aliases(made: _Sheet) -> None:
    """Tables [aliases.…] of the columns of names and allowed words."""
    kind: Kind = made.layout.kind
    for name, found in made.layout.matches.found.items():
        one = kind.by_name[name]
        if not (one.choices or (one.refers and one.refers != kind.name)):
            continue
        parted = frozenset(parted_words(name, found.column.words, made.known))
        words = {word: count for word, count in without_marks(found.column.words).items() if word not in parted}
        table, unknown = alias_table(one, words, made.known)
        made.unknown += unknown
        if one.refers and not made.known.names.get(one.refers):
            reason = made.known.missing or f"its register of {one.refers}s is empty"
            note = f"Not compared with the {one.refers}s of the store: {reason}. Load the registers, then draft again."
            made.tables.append(Table(table.name, (), note))
        elif table.entries:
            made.tables.append(table)


def _mapped(made: _Sheet) -> Iterator[Mapped]:
    """Every column of the file and what it became, in the file's order."""
    known = {**_mapped_fields(made.layout), **_mapped_long(made.layout)}
    for column in made.columns:
        yield known.get(column.header) or _mapped_left(made.layout, column)


def _mapped_fields(layout: Layout) -> dict[str, Mapped]:
    how = {
        "name": "by its name",
        "like": "guessed from the header",
        "cells": "guessed from the cells",
        "message": "text of the message",
    }
    found = {
        one.column.header: Mapped(one.column.header, name, one.column.unit, how[one.how])
        for name, one in layout.matches.found.items()
    }
    return found | {one.header: Mapped(one.header, "date", "", "part of the date: joined") for one in layout.parts}


def _mapped_long(layout: Layout) -> dict[str, Mapped]:
    found = {}
    for result in layout.results:
        what = "result of an analyte" if result.names == "analyte" else "a thing observed"
        found[result.column.header] = Mapped(result.column.header, result.word, result.unit, what)
    if layout.layers:
        column = layout.layers.column
        ends = "depth_from_mm, depth_to_mm"
        found[column.header] = Mapped(column.header, ends, column.unit, "both ends of the layer")
    for month in layout.months.columns if layout.months else ():
        found[month.column.header] = Mapped(month.column.header, month.said, month.column.unit, "a column a month")
    if layout.months and layout.months.year:
        year = layout.months.year.header
        found[year] = Mapped(year, "date", "", "the year of its months: joined")
    for column in layout.greens:
        value = layout.kind.value_field or UNDECIDED
        found[column.header] = Mapped(column.header, value, column.unit, "a column a green")
    return found


def _mapped_left(layout: Layout, column: Column) -> Mapped:
    """What became of a column that nothing was found in."""
    if column.header in layout.matches.amounts:
        return Mapped(column.header, " or ".join(sorted(layout.matches.asked)), column.unit, "decide")
    if column in offered(layout, [column]):
        return Mapped(column.header, UNDECIDED, column.unit, "may be a needed field: decide")
    if passed_over(layout, column):
        return Mapped(column.header, "", "", "words, like no field: under [ignore]")
    if is_asked(layout, column):
        return Mapped(column.header, UNDECIDED, column.unit, "decide, under [columns]")
    if not column.words:
        return Mapped(column.header, "", column.unit, "empty: loading names it once it is filled")
    return Mapped(column.header, "", column.unit, "not used: loading names it")
