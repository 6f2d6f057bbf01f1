"""A form as a workbook: sheets to fill in, their lists, and the sheet it is known by. Same form, same bytes."""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

import xlsxwriter
from xlsxwriter.utility import xl_col_to_name, xl_rowcol_to_cell

from pipeline.forms import about
from pipeline.forms.cells import Offered, check_of, defined_name, list_of, number_format, said_of, width_of, words_of
from pipeline.forms.description import Form, Table
from schemas import Kind
from schemas.field import Field

MADE = datetime(2000, 1, 1, tzinfo=UTC).replace(tzinfo=None)
"""Day of making that is written into every workbook: the clock's would make other bytes each time."""
CHECKED_ROWS = 2000
"""Rows below the column names whose cells are checked, whether or not they have lines."""
_A4, _TITLE_ROW = 9, 0
_UPRIGHT, _ACROSS = 92.0, 138.0
"""Characters of 11 pt that an A4 page takes side by side, within the margins."""
_HEAD_IN_ROW = 3
"""Cells of the head side by side."""
LINE, SHADE, _INK = "#7F7F7F", "#E8EEE4", "#333333"
_ROW_HEIGHT, _TEXT_HEIGHT = 19.0, 15.0
_TO_READ = 48.0
"""Width of a column of words in rows that are filled in already, characters."""
_TALLEST = 400.0
"""Height of a row in points that a spreadsheet still takes (409; ECMA-376 part 1 names none)."""
_OPTIONS = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}


@dataclass(frozen=True)
class Names:
    """What this workspace's registers offer.

    Attributes:
        greens: (code, name as it is chosen), in the order of the drop-down.
        clubs: the same of clubs.
        materials: names of materials.
    """

    greens: tuple[tuple[str, str], ...] = ()
    clubs: tuple[tuple[str, str], ...] = ()
    materials: tuple[str, ...] = ()

    @property
    def lists(self) -> dict[str, Offered]:
        """The lists of what is registered."""
        return {
            "greens": Offered(defined_name("greens"), tuple(name for _, name in self.greens)),
            "clubs": Offered(defined_name("clubs"), tuple(name for _, name in self.clubs)),
            "materials": Offered(defined_name("materials"), self.materials),
        }


@dataclass
class Book:
    """A workbook being written."""

    out: io.BytesIO = field(default_factory=io.BytesIO)

    def __post_init__(self) -> None:
        self.book = xlsxwriter.Workbook(self.out, _OPTIONS)
        self.book.set_properties({"created": MADE})
        self._formats: dict[tuple[tuple[str, Any], ...], Any] = {}

    def style(self, **what: Any) -> Any:
        """A format, made once."""
        key = tuple(sorted(what.items()))
        if key not in self._formats:
            self._formats[key] = self.book.add_format({"font_name": "Calibri", "font_size": 11, **what})
        return self._formats[key]

    def sheet(self, name: str, wide: float) -> Any:
        """A new sheet, to be printed on A4, as wide as the page; a wide one lies across."""
        made = self.book.add_worksheet(name)
        made.set_paper(_A4)
        if wide > _UPRIGHT:
            made.set_landscape()
        made.fit_to_pages(1, 0)
        made.set_margins(left=0.4, right=0.4, top=0.5, bottom=0.6)
        made.set_footer("&L&A&RPage &P of &N")
        made.hide_gridlines(2)
        return made

    def bytes(self) -> bytes:
        """The workbook, written."""
        self.book.close()
        return self.out.getvalue()


Filled = Mapping[str, Sequence[Mapping[str, str | float | None]]]
"""Rows that stand in a form already, by sheet: fields with what stands in their cells."""


def form_workbook(form: Form, names: Names, filled: Filled | None = None) -> bytes:
    """A form as a workbook (xlsx), with what is filled in already."""
    book = Book()
    lists = lists_of_form(form, names)
    said = [about.Line(about.FORM, "", form.name, about.EDITION, about.LEAVE)]
    if form.head:
        said += _head_sheet(book, form, lists)
    for table in form.tables:
        said += table_sheet(book, form, table, lists, (filled or {}).get(table.sheet, ()))
    list_sheet(book, lists)
    about_sheet(book, [*said, *name_lines(lists, names)])
    return book.bytes()


def _fields(form: Form) -> list[tuple[Kind, Field]]:
    """Every field of a form with its kind, in the order of its sheets."""
    return [
        (table.record_kind, table.record_kind.by_name[name])
        for table in form.tables
        for name in (*form.head, *table.head, *table.columns)
        if name in table.record_kind.by_name
    ]


def lists_of_fields(fields: Iterable[tuple[Kind, Field]], names: Names) -> dict[str, Offered]:
    """Every list that the drop-downs of these fields need, in the order of need; empty ones are left out."""
    wanted = dict.fromkeys(list_of(kind, one) for kind, one in fields)
    found = {
        name: names.lists[name] if name in names.lists else Offered(defined_name(name), words_of(name))
        for name in wanted
        if name
    }
    return {name: offered for name, offered in found.items() if offered.words}


def lists_of_form(form: Form, names: Names) -> dict[str, Offered]:
    """Every list that a form's drop-downs need."""
    return lists_of_fields(_fields(form), names)


def name_lines(lists: Mapping[str, Offered], names: Names) -> list[about.Line]:
    """What each name that these drop-downs offer stands for."""
    said = {"green": names.greens, "club": names.clubs}
    return [
        about.Line(about.NAME, "", of, code, name)
        for of, pairs in said.items()
        if f"{of}s" in lists
        for code, name in pairs
    ]


def _kind_with(form: Form, name: str) -> Kind:
    return next(table.record_kind for table in form.tables if name in table.record_kind.by_name)


def _head_sheet(book: Book, form: Form, lists: Mapping[str, Offered]) -> list[about.Line]:
    """The sheet with what holds for all the others."""
    sheet = book.sheet(form.head_sheet, 70)
    sheet.set_column(0, 0, 22)
    sheet.set_column(1, 1, 48)
    sheet.write_string(0, 0, form.title, book.style(bold=True, font_size=16))
    sheet.write_string(1, 0, "Fill in this sheet first: it holds for all the others.", book.style(font_color=_INK))
    said = []
    for number, name in enumerate(form.head):
        row, kind = 3 + number, _kind_with(form, name)
        one = kind.by_name[name]
        _label(book, sheet, row, 0, one)
        _to_fill(book, sheet, (row, 1), kind, one, lists)
        sheet.set_row(row, 24)
        said.append(about.Line(about.HEAD, form.head_sheet, name, label_of(one), said_of(kind, one)))
    row = 5 + len(form.head)
    for table in form.tables:
        sheet.write_string(row, 0, table.sheet, book.style(bold=True, valign="top"))
        sheet.write_string(row, 1, table.hint, book.style(text_wrap=True, valign="top"))
        sheet.set_row(row, _TEXT_HEIGHT * (1 + len(table.hint) // 50))
        row += 1
    return said


def label_of(one: Field) -> str:
    """The words before a cell of the head."""
    return f"{one.heading}:"


def _label(book: Book, sheet: Any, row: int, column: int, one: Field) -> None:
    sheet.write_string(row, column, label_of(one), book.style(bold=True, align="right", valign="vcenter"))


def _to_fill(
    book: Book, sheet: Any, place: tuple[int, int], kind: Kind, one: Field, lists: Mapping[str, Offered], last: int = -1
) -> None:
    """A cell of the head, merged up to the last column where one is given."""
    look = book.style(border=1, border_color=LINE, num_format=number_format(one), valign="vcenter", align="left")
    row, column = place
    if last > column:
        sheet.merge_range(row, column, row, last, "", look)
    else:
        sheet.write_blank(row, column, None, look)
    if check := check_of(kind, one, xl_rowcol_to_cell(row, column), lists):
        sheet.data_validation(row, column, row, column, check)


def table_sheet(
    book: Book,
    form: Form,
    table: Table,
    lists: Mapping[str, Offered],
    filled: Sequence[Mapping[str, str | float | None]] = (),
) -> list[about.Line]:
    """A sheet with rows to fill in under those that are filled; what the sheet it is known by says of it."""
    kind = table.record_kind
    fields = [kind.by_name[name] for name in table.columns]
    widths = [width_of(kind, one, lists) for one in fields]
    if filled:
        widths = [
            max(width, _TO_READ) if one.type == "text" else width for width, one in zip(widths, fields, strict=True)
        ]
    widths = _filling_the_page(widths, fields)
    sheet = book.sheet(table.sheet, sum(widths))
    for column, (one, width) in enumerate(zip(fields, widths, strict=True)):
        sheet.set_column(column, column, width, book.style(num_format=number_format(one)))
    sheet.write_string(_TITLE_ROW, 0, table_title(form, table), book.style(bold=True, font_size=16))
    sheet.write_string(1, 0, table.hint, book.style(font_color=_INK))
    sheet.set_row(_TITLE_ROW, 24)
    top = 3
    if form.head:
        _shown_head(book, sheet, form, kind, top - 1)
        top += 1
    said = [about.Line(about.TABLE, table.sheet, kind.name, "", table.hint)]
    said += [about.Line(about.FIXED, table.sheet, name, value, "The same in every row.") for name, value in table.fixed]
    top = _head(book, sheet, table, widths, lists, top)
    said += [
        about.Line(about.HEAD, table.sheet, name, label_of(kind.by_name[name]), said_of(kind, kind.by_name[name]))
        for name in table.head
    ]
    _columns(book, sheet, table, widths, top)
    said += [about.Line(about.COLUMN, table.sheet, one.name, one.heading, said_of(kind, one)) for one in fields]
    for row, cells in enumerate(filled, top + 1):
        _filled_row(
            book, sheet, row, [(one, width, cells.get(one.name)) for one, width in zip(fields, widths, strict=True)]
        )
    _rows(book, sheet, table, lists, top + 1, len(filled))
    sheet.freeze_panes(top + 1, 0)
    sheet.repeat_rows(top)
    return said


def _filling_the_page(widths: list[float], fields: Sequence[Field]) -> list[float]:
    """The widths, the columns of words so much wider that the table is as wide as an A4 page, upright or across."""
    page = _UPRIGHT if sum(widths) <= _UPRIGHT else _ACROSS
    words = [one.type in {"text", "shorthand"} or one.name in {"green", "material"} for one in fields]
    if not any(words) or sum(widths) >= page:
        return widths
    more = (page - sum(widths)) / sum(words)
    return [width + more * word for width, word in zip(widths, words, strict=True)]


def table_title(form: Form, table: Table) -> str:
    """What stands over a sheet."""
    return form.title if len(form.tables) == 1 else f"{form.title}: {table.sheet.lower()}"


def _shown_head(book: Book, sheet: Any, form: Form, kind: Kind, row: int) -> None:
    """Green and date of the first sheet, shown on this one, so that a printed page says what it is of."""
    parts = []
    for number, name in enumerate(form.head[:2]):
        if name in kind.by_name:
            cell = f"'{form.head_sheet}'!{xl_rowcol_to_cell(3 + number, 1, row_abs=True, col_abs=True)}"
            day = kind.by_name[name].type == "date"  # text, unless it was pasted in as a date
            shown = f'IF(ISNUMBER({cell}),TEXT({cell},"yyyy-mm-dd"),{cell})' if day else cell
            parts.append(f'IF({cell}="","…",{shown})')
    sheet.write_formula(row, 0, "=" + '&", "&'.join(parts), book.style(bold=True), "…")


def _head(book: Book, sheet: Any, table: Table, widths: Sequence[float], lists: Mapping[str, Offered], top: int) -> int:
    """The cells over the table; gives the row of the column names."""
    kind = table.record_kind
    groups = _spans(widths, _HEAD_IN_ROW)
    for number, name in enumerate(table.head):
        row = top + number // len(groups)
        label, first, last = groups[number % len(groups)]
        one = kind.by_name[name]
        look = book.style(bold=True, align="right", valign="vcenter")
        if first - 1 > label:
            sheet.merge_range(row, label, row, first - 1, label_of(one), look)
        else:
            sheet.write_string(row, label, label_of(one), look)
        _to_fill(book, sheet, (row, first), kind, one, lists, last)
        sheet.set_row(row, 22)
    return top + -(-len(table.head) // len(groups)) + (1 if table.head else 0)


def _spans(widths: Sequence[float], most: int) -> list[tuple[int, int, int]]:
    """Columns of a label, first and last of its cell, for as many side by side as there is room for."""
    spans: list[tuple[int, int, int]] = []
    column = 0
    while column < len(widths) and len(spans) < most:
        label = column
        wide = 0.0
        while column < len(widths) and wide < 20:
            wide += widths[column]
            column += 1
        first, wide = column, 0.0
        while column < len(widths) and wide < 26:
            wide += widths[column]
            column += 1
        if first < len(widths) and (wide >= 12 or not spans):
            spans.append((label, first, column - 1))
    return spans or [(0, 1, 1)]


def _columns(book: Book, sheet: Any, table: Table, widths: Sequence[float], row: int) -> None:
    """The column names."""
    kind, lines = table.record_kind, 1
    look = book.style(bold=True, text_wrap=True, valign="vcenter", border=1, border_color=LINE, bg_color=SHADE)
    for column, name in enumerate(table.columns):
        one = kind.by_name[name]
        sheet.write_string(row, column, one.heading, look)
        sheet.write_comment(row, column, said_of(kind, one), {"author": "", "x_scale": 1.6, "font_size": 10})
        lines = max(lines, _lines(one.heading, widths[column]))
    sheet.set_row(row, _TEXT_HEIGHT * lines + 4)


def _lines(text: str, width: float) -> int:
    """Lines that words take in a column so wide, bold."""
    count, used = 1, 0.0
    for word in text.split():
        wide = len(word) * 1.15 + 1
        if used and used + wide > width:
            count, used = count + 1, 0.0
        used += wide
    return count


def _look(book: Book, one: Field, **more: Any) -> Any:
    """Format of a field's cells; what does not fit into one is wrapped, not cut."""
    look = {"border": 1, "border_color": LINE, "num_format": number_format(one), "valign": "vcenter", **more}
    return book.style(**look, text_wrap=number_format(one) == "@")


def row_height(text: str, width: float) -> float:
    """Height of a row, in points, in which words take a column so wide."""
    return _TEXT_HEIGHT * _lines(text, width)


def _filled_row(book: Book, sheet: Any, row: int, cells: Sequence[tuple[Field, float, str | float | None]]) -> None:
    """A row that is filled in, as high as its longest cell needs."""
    for column, (one, _, value) in enumerate(cells):
        look = _look(book, one)
        if value is None:
            sheet.write_blank(row, column, None, look)
        elif isinstance(value, str):
            sheet.write_string(row, column, value, look)
        else:
            sheet.write_number(row, column, value, look)
    tallest = max(row_height(str(value or ""), width) for _, width, value in cells)
    sheet.set_row(row, min(max(_ROW_HEIGHT, tallest), _TALLEST))


def _rows(book: Book, sheet: Any, table: Table, lists: Mapping[str, Offered], first: int, filled: int = 0) -> None:
    """The rows, lined and checked; the first of them may be filled in."""
    kind = table.record_kind
    for column, name in enumerate(table.columns):
        one = kind.by_name[name]
        look = _look(book, one)
        for row in range(first + filled, first + filled + table.rows):
            sheet.write_blank(row, column, None, look)
        if check := check_of(kind, one, f"{xl_col_to_name(column)}{first + 1}", lists):
            sheet.data_validation(first, column, first + CHECKED_ROWS - 1, column, check)
    for row in range(first + filled, first + filled + table.rows):
        sheet.set_row(row, _ROW_HEIGHT)


def list_sheet(book: Book, lists: Mapping[str, Offered]) -> None:
    """The words of the drop-downs, a column each, named by a defined name."""
    if not lists:
        return
    sheet = book.sheet(about.LISTS, sum(min(max(map(len, one.words)) + 2, 50) for one in lists.values()))
    for column, (name, offered) in enumerate(lists.items()):
        letter = xl_col_to_name(column)
        wide = max(len(word) for word in (name, *offered.words))
        sheet.set_column(column, column, min(wide + 2, 50), book.style(num_format="@"))
        sheet.write_string(0, column, name.replace("_", " "), book.style(bold=True, bg_color=SHADE, bottom=1))
        for row, word in enumerate(offered.words, 1):
            sheet.write_string(row, column, word, book.style(num_format="@"))
        book.book.define_name(offered.name, f"={about.LISTS}!${letter}$2:${letter}${len(offered.words) + 1}")
    sheet.freeze_panes(1, 0)


def about_sheet(book: Book, lines: Sequence[about.Line]) -> None:
    """The sheet that loading goes by."""
    sheet = book.sheet(about.SHEET, 160)
    for column, width in enumerate((16, 14, 18, 24, 90)):
        sheet.set_column(column, column, width)
    for column, word in enumerate(about.HEADER):
        sheet.write_string(0, column, word, book.style(bold=True, bg_color=SHADE, bottom=1))
    look = book.style(num_format="@", text_wrap=True, valign="top")
    for row, line in enumerate(lines, 1):
        for column, text in enumerate((line.what, line.sheet, line.name, line.stands, line.meaning)):
            if text:
                sheet.write_string(row, column, text, look)
        sheet.set_row(row, row_height(line.meaning, 90))
    sheet.freeze_panes(1, 0)
    sheet.repeat_rows(0)
