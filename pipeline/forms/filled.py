"""What came back in a form: each of its sheets as a sheet under the kind's own headers, so that no profile is needed.

The words before a cell of the head (``Green:``) are looked for above the table, and what stands right of them holds
for every row that says nothing else itself. Where the table stands, and where in the head a cell, may have moved.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import polars as pl

from pipeline.common.faults import FaultKind, concat, errors, no_faults
from pipeline.common.limits import MB, STANDARD, Limits
from pipeline.common.marks import mark_of_part
from pipeline.forms.about import (
    COLUMN,
    EDITION,
    FIXED,
    FORM,
    HEAD,
    HEADER,
    LISTS,
    PROFILE,
    REASON,
    SHEET,
    TABLE,
    About,
    about_of,
)
from pipeline.forms.day_numbers import day_numbers
from pipeline.profiles.style import Style
from pipeline.read.sheet import Reading, Sheet
from pipeline.read.table import read_sheet
from pipeline.read.workbook.workbook import may_hold, rows_of_sheet, sheet_names
from pipeline.standardise.cells.distinct import Cells
from pipeline.standardise.fields import understand
from schemas import KINDS, Kind
from schemas.codes import fold

OTHER_EDITION = FaultKind(
    "form.edition",
    "Form that cannot be read",
    "The sheet “About this form” is of edition “{value}”, and this version reads edition {edition}.",
    "Fill in a form that this version makes (forms), or load with the version that made this one.",
)
NOT_KNOWN = FaultKind(
    "form.unknown",
    "Form that speaks of what is not known",
    "The sheet “About this form” says {what} “{value}”, which is not known here.",
    "Leave that sheet as it was made: copy the rows into a fresh form (forms).",
)
STRANGE = FaultKind(
    "form.sheet_unknown",
    "Sheet that is not the form's",
    "The sheet “{value}” is not one of the form's ({sheets}), so nothing of it was read.",
    "Move its rows to the form's sheet, name it as a copy of that (“{first} (2)”), or delete it.",
)
LACKS = FaultKind(
    "form.column_gone",
    "Column of a form that is gone",
    "The form's column “{value}” is not in the sheet any more.",
    "Put the column name back where it stood, or copy the rows into a fresh form (forms).",
)
HEAD_GONE = FaultKind(
    "form.head_gone",
    "Words of a form's head that are gone",
    "The head of the form says nothing behind “{value}” any more: the words are gone.",
    "Write “{value}” back over the table, and what it is in the cell to the right.",
)
HEAD_WRONG = FaultKind(
    "form.head",
    "Head of a form not understood",
    "The head of the form, line {place}, says {column} “{value}”. {why}",
    "Mend it in the head: it holds for every row under it.",
)
HEAD_BLANK = FaultKind(
    "form.head_blank",
    "Head of a form left blank",
    "The head of the form, line {place}, says nothing behind “{value}”, and the rows need it.",
    "Fill it in: it holds for every row under it.",
)
NOTHING = FaultKind(
    "form.empty",
    "Form with nothing filled in",
    "No row of the form is filled in.",
    "Nothing to load. Check that the filled form was saved.",
    severity="warning",
)
_HEADER = frozenset(map(fold, HEADER))
_COPY = re.compile(r"(.+?)(?: ?\(\d+\)|_\d+)")
"""A sheet's name as spreadsheets name its copies: ``Job log (2)``, ``Job log_2``."""


@dataclass(frozen=True)
class FilledSheet:
    """One sheet of a form.

    Attributes:
        sheet: its rows under the kind's own headers; what the head says and what is the same in every row are columns.
        kind: kind of record, None where it cannot be told.
        part: the sheet's name, "" where the workbook is this one sheet.
        rejects_of: name of the CSV whose rows it holds, to be mended; "" for a form of its own.
        profile: name of the source profile its rows are read by, "" where they need none.
    """

    sheet: Sheet
    kind: Kind | None
    part: str = ""
    rejects_of: str = ""
    profile: str = ""


@dataclass(frozen=True)
class _Form:
    """A workbook that is a form: where it lies, how it is shown, its sheets, what it says of itself."""

    path: Path
    shown: str
    sheets: tuple[str, ...]
    about: About
    limits: Limits = STANDARD

    def read(self, sheet: str, headers: frozenset[str] = frozenset()) -> Sheet:
        """One sheet, named as it is shown to the person."""
        units = None if self.about.rejects_of else False  # rows to mend may have a row of units, a form has none
        found = read_sheet(self.path, Reading(sheet=sheet, known_headers=headers, units_row=units, limits=self.limits))
        return replace(found, file=self.shown)

    def rows(self, sheet: str) -> tuple[tuple[str, ...], ...]:
        """Every row of one sheet."""
        return rows_of_sheet(self.path.read_bytes(), sheet, self.limits)


def is_form(path: Path, limits: Limits = STANDARD) -> bool:
    """Whether a file may be a form; told without reading its cells."""
    with path.open("rb") as source:
        if source.read(4) != b"PK\x03\x04" or path.stat().st_size > limits.workbook_mb * MB:
            return False
        source.seek(0)
        return may_hold(source.read(), SHEET, limits)


def filled_form(path: Path, shown: str, limits: Limits = STANDARD) -> tuple[FilledSheet, ...]:
    """The sheets of a form with anything in them; () where the file is no form.

    A form without a row filled in comes back as one sheet with a warning.

    Args:
        path: the file.
        shown: how the person named it.
        limits: how much of it is read.
    """
    form = _form(path, shown, limits)
    if form is None:
        return ()
    wrong = _unknown(form.about)
    if wrong is not None:
        return (FilledSheet(_refused(form.read(SHEET, _HEADER), wrong), None),)
    found = list(_filled(form))
    some = [one for one in found if one.sheet.cells.height or one.sheet.rejected.height or not _clean(one.sheet)]
    return tuple(some) or (replace(found[0], sheet=_only(found[0].sheet, NOTHING.at())),)


def blank_form(path: Path) -> bool:
    """Whether a file is a form in which nothing is filled in yet, neither a row nor its head."""
    form = _form(path, path.name, STANDARD)
    if form is None or _unknown(form.about) is not None:
        return False
    (found, *more) = filled_form(path, path.name)
    heads = form.about.of(HEAD)
    labels = {line.stands: line.name for line in heads}
    above = {line.sheet: form.rows(line.sheet) for line in heads}
    said = any(_behind(above.get(line.sheet, ()), line.stands, labels)[1] for line in heads)
    return not more and NOTHING.code in found.sheet.faults["code"] and not said


def _form(path: Path, shown: str, limits: Limits) -> _Form | None:
    """The form that a file is; None where it is none."""
    if not is_form(path, limits):
        return None
    said = read_sheet(path, Reading(sheet=SHEET, known_headers=_HEADER, units_row=False, limits=limits))
    if tuple(said.headers) != HEADER:
        return None
    rows = said.cells.drop("line").fill_null("").rows()
    return _Form(path, shown, sheet_names(path.read_bytes(), limits), about_of(rows), limits)


def _unknown(about: About) -> pl.DataFrame | None:
    """The fault of a form that this version cannot read; None where it can."""
    edition = next((line.stands for line in about.of(FORM)), "")
    if edition != EDITION:
        return OTHER_EDITION.at(None, edition, edition=EDITION)
    kinds = {line.sheet: line.name for line in about.of(TABLE)}
    for sheet, name in kinds.items():
        if name not in KINDS:
            return NOT_KNOWN.at(None, name, what="kind")
        fields = [line.name for what in (COLUMN, FIXED) for line in about.of(what, sheet)]
        for field in fields:
            if field and field not in KINDS[name].by_name:
                return NOT_KNOWN.at(None, field, what="field")
    return None if kinds or about.of(PROFILE) else NOT_KNOWN.at(None, "", what="no table but")


def _filled(form: _Form) -> Iterator[FilledSheet]:
    """Every sheet that holds rows or may hold them."""
    tables = {line.sheet: line.name for line in form.about.of(TABLE)}
    profiles = {line.sheet: line.name for line in form.about.of(PROFILE)}
    alone = len({*tables, *profiles}) == 1
    for name in form.sheets:
        if name in {SHEET, LISTS} or (form.about.of(HEAD, name) and name not in tables):
            continue
        copied = _COPY.fullmatch(name)
        own = name if name in {*tables, *profiles} or not copied else copied.group(1)
        part = "" if alone and name in {*tables, *profiles} else name
        if own in tables:
            done = _table(form, own, name, KINDS[tables[own]])
        elif own in profiles:
            said = frozenset(fold(line.stands) for line in form.about.of(COLUMN, own))
            done = FilledSheet(_without_reasons(form, own, form.read(name, said)), None, profile=profiles[own])
        else:
            done = FilledSheet(_strange(form, name, list({**tables, **profiles})), None)
        yield replace(done, sheet=_named(done.sheet, part), part=part, rejects_of=form.about.rejects_of)


def _named(sheet: Sheet, part: str) -> Sheet:
    """The sheet with a name, and a mark of its content, that no other sheet of the workbook has."""
    if not part:
        return sheet
    return replace(sheet, file=f"{sheet.file} [{part}]", sha256=mark_of_part(sheet.sha256, part))


def _strange(form: _Form, name: str, known: list[str]) -> Sheet:
    """A sheet of which nothing is read; where anything stands in it, that is a fault."""
    sheet = form.read(name)
    if not form.rows(name):
        return _only(sheet, no_faults())
    return _only(sheet, STRANGE.at(None, name, sheets=", ".join(f"“{one}”" for one in known), first=known[0]))


def _clean(sheet: Sheet) -> bool:
    return errors(sheet.faults).is_empty()


def _only(sheet: Sheet, faults: pl.DataFrame) -> Sheet:
    return replace(sheet, faults=faults)


def _refused(sheet: Sheet, faults: pl.DataFrame) -> Sheet:
    """The sheet, refused as a whole."""
    return replace(sheet, faults=concat([sheet.faults, faults]))


def _without_reasons(form: _Form, own: str, sheet: Sheet) -> Sheet:
    """The sheet without the columns that say why its rows were rejected."""
    said = {fold(line.stands) for line in form.about.of(REASON, own)}
    kept = [i for i, header in enumerate(sheet.headers) if fold(header) not in said]
    cells = sheet.cells.select("line", *(pl.col(f"c{i}").alias(f"c{new}") for new, i in enumerate(kept)))
    return replace(sheet, headers=tuple(sheet.headers[i] for i in kept), cells=_not_blank(cells))


def _not_blank(cells: pl.DataFrame) -> pl.DataFrame:
    """The rows in which anything stands."""
    return cells.filter(pl.any_horizontal(pl.all().exclude("line").is_not_null())) if cells.width > 1 else cells


def _table(form: _Form, own: str, name: str, kind: Kind) -> FilledSheet:
    """One table of the form, filled in."""
    about = form.about
    headers = {fold(line.stands): line.name for line in about.of(COLUMN, own) if line.name}
    sheet = form.read(name, frozenset(fold(line.stands) for line in about.of(COLUMN, own)))
    if not _clean(sheet) and not sheet.headers:  # a copy that was emptied altogether
        return FilledSheet(_only(sheet, no_faults()), kind)
    sheet = _without_reasons(form, own, sheet)
    gone = [line.stands for line in about.of(COLUMN, own) if fold(line.stands) not in map(fold, sheet.headers)]
    if not sheet.cells.height:
        return FilledSheet(replace(sheet, faults=errors(sheet.faults)), kind)
    if gone:
        return FilledSheet(_refused(sheet, concat(LACKS.at(None, one) for one in gone)), kind)
    said, faults = _head(form, own, name, kind, sheet)
    fixed = {line.name: line.stands for line in about.of(FIXED, own)}
    given = {field: value for field, value in said.items() if field in kind.by_name}
    dated = [(i, one) for i, one in enumerate(sheet.headers) if _is_day(kind, headers.get(fold(one)))]
    faults = concat([faults, *(day_numbers(sheet.cells, f"c{i}", header) for i, header in dated)])
    sheet = _with(_refused(sheet, faults), kind, headers, {**given, **fixed})
    return FilledSheet(_by_code(sheet, kind, {one: about.names(one) for one in ("green", "club")}), kind)


def _head(form: _Form, own: str, name: str, kind: Kind, sheet: Sheet) -> tuple[dict[str, str], pl.DataFrame]:
    """What the head says, by field, and what is wrong with it; a copied sheet has a head of its own."""
    said: dict[str, str] = {}
    faults = []
    columns = {line.name for line in form.about.of(COLUMN, own)}
    for place in dict.fromkeys(line.sheet for line in form.about.of(HEAD)):
        lines = [line for line in form.about.of(HEAD, place) if line.name in kind.by_name]
        labels = {line.stands: line.name for line in form.about.of(HEAD, place)}
        mine = place == own
        if not lines or not (mine or place not in {line.sheet for line in form.about.of(TABLE)}):
            continue
        above = sheet.above if mine else form.rows(place)
        for line in lines:
            at, value = _behind(above, line.stands, labels)
            if at == 0:
                faults.append(HEAD_GONE.at(None, line.stands, line.stands))
            elif value:
                said[line.name] = value
                faults.append(_not_understood(form.about, kind, line.name, at, value))
            elif line.name in kind.required and line.name not in columns:
                faults.append(HEAD_BLANK.at(None, line.stands, line.stands, place=at))
    return said, concat(faults)


def _behind(above: tuple[tuple[str, ...], ...], label: str, labels: Mapping[str, str]) -> tuple[int, str]:
    """Line of the words, 0 where they are gone, and what stands right of them before the next of the head's words."""
    for number, row in enumerate(above, 1):
        if label in row:
            for cell in row[row.index(label) + 1 :]:
                if cell in labels:
                    break
                if cell:
                    return number, cell
            return number, ""
    return 0, ""


def _is_day(kind: Kind, field: str | None) -> bool:
    return field is not None and kind.by_name[field].type == "date"


def _not_understood(about: About, kind: Kind, field: str, place: int, value: str) -> pl.DataFrame:
    """The fault of a cell of the head that cannot be read; none where it can."""
    if kind.by_name[field].type == "date":
        found = day_numbers(pl.DataFrame({"line": [place], "c0": [value]}), "c0")
        if found.height:
            why = found["message"][0]
            return HEAD_WRONG.at(None, value, kind.by_name[field].heading, place=place, why=why)
    one = Cells(pl.Series([place], dtype=pl.Int64), pl.Series([value]), kind.by_name[field].heading)
    found = errors(understand(kind.by_name[field], one, Style(), {}).faults)
    if found.is_empty():
        return found
    return HEAD_WRONG.at(None, value, one.header, place=place, why=found["message"][0])


def _with(sheet: Sheet, kind: Kind, headers: Mapping[str, str], given: Mapping[str, str]) -> Sheet:
    """The sheet with its head and what is the same in every row; a row's own cell comes before the head."""
    position = {headers[fold(header)]: i for i, header in enumerate(sheet.headers) if fold(header) in headers}
    cells, names = sheet.cells, list(sheet.headers)
    for field, value in given.items():
        if field in position:
            cells = cells.with_columns(pl.col(f"c{position[field]}").fill_null(value))
        else:
            cells = cells.with_columns(pl.lit(value).alias(f"c{len(names)}"))
            names.append(kind.by_name[field].heading)
    return replace(sheet, cells=cells, headers=tuple(names))


def _by_code(sheet: Sheet, kind: Kind, names: Mapping[str, Mapping[str, str]]) -> Sheet:
    """The sheet with codes where the form offers names."""
    known = {fold(name): field for field in kind.asked for name in field.headers}
    cells = sheet.cells
    for i, header in enumerate(sheet.headers):
        field = known.get(fold(header))
        codes = names.get(field.refers or field.name, {}) if field else {}
        if codes:
            cells = cells.with_columns(pl.col(f"c{i}").replace(dict(codes)))
    return replace(sheet, cells=cells)
