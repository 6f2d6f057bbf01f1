"""Rejected rows as a workbook to mend: the columns they came in, bad cells marked, the reason as a comment.

A bad cell is shaded, has a thick border and a comment, and the last column says in words what is wrong with the row:
no reader needs the colour. Mended, the workbook loads as the rows' own file does.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from xlsxwriter.utility import xl_col_to_name

from pipeline.forms import about
from pipeline.forms.cells import Offered, check_of, number_format, said_of, width_of
from pipeline.forms.workbook import (
    CHECKED_ROWS,
    LINE,
    SHADE,
    Book,
    Names,
    about_sheet,
    list_sheet,
    lists_of_fields,
    name_lines,
    row_height,
)
from schemas import Kind
from schemas.codes import fold
from schemas.field import Field

SHEET = "Rows to mend"
WRONG = "What is wrong"
"""Header of the column that says why a row was rejected."""
_WRONG_SHADE, _WRONG_LINE = "#F6D5D5", "#8B1A1A"
_THICK = 2
_PLAIN_NUMBER = re.compile(r"-?\d{1,15}(\.\d{1,10})?")
_HEADER_ROW, _REASON_WIDTH = 3, 48.0
_COMMENT = {"author": "", "x_scale": 2.2, "y_scale": 1.4, "font_size": 10}


@dataclass(frozen=True)
class Marked:
    """A row to mend.

    Attributes:
        cells: its cells in the order of the headers, null where blank.
        wrong: why a cell is wrong, by its place.
        reason: all that is wrong with the row.
    """

    cells: tuple[str | None, ...]
    wrong: Mapping[int, str]
    reason: str


@dataclass(frozen=True)
class ToMend:
    """The rejected rows of a file.

    Attributes:
        rejects: name of the CSV they stand in.
        kind: kind of record they were to be.
        profile: source profile they are read by, "" where none.
        headers: the columns they came in.
        fields: the field that a column gives, by its place; columns of no field, or of several, have none.
        units: the row of units under the headers, or None.
        rows: the rows.
        left: which rows of the file are not among them, and why; "" where all are.
    """

    rejects: str
    kind: Kind
    profile: str
    headers: tuple[str, ...]
    fields: Mapping[int, str]
    units: tuple[str, ...] | None
    rows: tuple[Marked, ...]
    left: str = ""


def mending_workbook(rows: ToMend, names: Names) -> bytes:
    """Rejected rows as a workbook (xlsx) to be mended and loaded; same rows and registers, same bytes."""
    book = Book()
    own = _of_the_kind(rows)
    lists = lists_of_fields([(rows.kind, one) for one in own.values()], names)
    widths = [_width(rows, at, own, lists) for at in range(len(rows.headers))]
    sheet = book.sheet(SHEET, sum(widths) + _REASON_WIDTH)
    wrong = _unused(rows.headers)
    sheet.write_string(0, 0, f"Rejected rows: {rows.rejects}", book.style(bold=True, font_size=16))
    hint = "A wrong cell is shaded, has a thick border and a comment; the last column says what is wrong with the row."
    sheet.write_string(1, 0, f"{hint} Mend the rows, save, and load this workbook.", book.style())
    _header(book, sheet, rows, widths, wrong)
    first = _HEADER_ROW + (2 if rows.units else 1)
    for at, width in enumerate(widths):
        one = own.get(at)
        sheet.set_column(at, at, width, book.style(num_format=number_format(one) if one else "@"))
        if one and (check := check_of(rows.kind, one, f"{xl_col_to_name(at)}{first + 1}", lists)):
            sheet.data_validation(first, at, first + CHECKED_ROWS - 1, at, check)
    sheet.set_column(len(widths), len(widths), _REASON_WIDTH, book.style(num_format="@"))
    for number, row in enumerate(rows.rows, first):
        _row(book, sheet, number, row, own)
        sheet.set_row(number, max(row_height(row.reason, 0.8 * _REASON_WIDTH), 19.0))
    sheet.freeze_panes(first, 0)
    sheet.repeat_rows(_HEADER_ROW)
    list_sheet(book, lists)
    about_sheet(book, [*_about(rows, wrong), *name_lines(lists, names)])
    return book.bytes()


def _of_the_kind(rows: ToMend) -> dict[int, Field]:
    """Columns whose cells are written as the kind keeps them, so that its limits hold for them as they stand."""
    if rows.profile or rows.units:
        return {}
    fields = {at: rows.kind.by_name[name] for at, name in rows.fields.items()}
    says = {at: {fold(one.name), fold(one.heading)} for at, one in fields.items()}
    return {at: one for at, one in fields.items() if not one.unit or fold(rows.headers[at]) in says[at]}


def _about(rows: ToMend, wrong: str) -> list[about.Line]:
    """What the workbook says of itself."""
    said = [
        about.Line(about.FORM, "", "rejected rows", about.EDITION, about.LEAVE),
        about.Line(about.REJECTED, "", "", rows.rejects, "Rows that were rejected, to be mended here."),
    ]
    if rows.profile:
        said.append(about.Line(about.PROFILE, SHEET, rows.profile, "", "The source profile that the rows are read by."))
    else:
        said.append(about.Line(about.TABLE, SHEET, rows.kind.name, "", f"One line is {rows.kind.grain}."))
    for at, header in enumerate(rows.headers):
        name = rows.fields.get(at, "")
        meaning = said_of(rows.kind, rows.kind.by_name[name]) if name else "A column of the source."
        said.append(about.Line(about.COLUMN, SHEET, name, header, meaning))
    return [*said, about.Line(about.REASON, SHEET, "", wrong, "Why the row was rejected; not loaded.")]


def _unused(headers: Sequence[str]) -> str:
    """Header of the column of reasons; no column of the source has it."""
    name = WRONG
    while name in headers:
        name += " here"
    return name


def _width(rows: ToMend, at: int, own: Mapping[int, Field], lists: Mapping[str, Offered]) -> float:
    if at in own:
        return max(width_of(rows.kind, own[at], lists), max(map(len, rows.headers[at].split())) + 1.5)
    longest = max((len(row.cells[at] or "") for row in rows.rows), default=0)
    return min(max(longest, len(rows.headers[at]), 8) + 1.5, 30.0)


def _header(book: Book, sheet: Any, rows: ToMend, widths: Sequence[float], wrong: str) -> None:
    look = book.style(bold=True, text_wrap=True, valign="vcenter", border=1, border_color=LINE, bg_color=SHADE)
    for at, header in enumerate((*rows.headers, wrong)):
        sheet.write_string(_HEADER_ROW, at, header, look)
    if rows.units:
        for at, unit in enumerate(rows.units):
            sheet.write_string(_HEADER_ROW + 1, at, unit, look)
    tallest = max(row_height(header, width) for header, width in zip(rows.headers, widths, strict=True))
    sheet.set_row(_HEADER_ROW, tallest + 4)


def _row(book: Book, sheet: Any, number: int, row: Marked, own: Mapping[int, Field]) -> None:
    for at, text in enumerate(row.cells):
        one = own.get(at)
        look: dict[str, Any] = {"border": 1, "border_color": LINE, "valign": "top", "text_wrap": True}
        if at in row.wrong:
            look |= {"border": _THICK, "border_color": _WRONG_LINE, "bg_color": _WRONG_SHADE, "bold": True}
            sheet.write_comment(number, at, row.wrong[at], _COMMENT)
        style = book.style(**look, num_format=number_format(one) if one else "@")
        _write(sheet, number, at, text, one, style)
    look = {"border": 1, "border_color": LINE, "valign": "top", "text_wrap": True, "italic": True}
    sheet.write_string(number, len(row.cells), row.reason, book.style(**look))


def _write(sheet: Any, row: int, column: int, text: str | None, one: Field | None, style: Any) -> None:
    """A cell as it stood; a number that can be read one way only is one here."""
    if text is None:
        sheet.write_blank(row, column, None, style)
    elif one is not None and one.numeric and _PLAIN_NUMBER.fullmatch(text):
        sheet.write_number(row, column, float(text), style)
    else:
        sheet.write_string(row, column, text, style)
