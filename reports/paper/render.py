"""A form as pages to write on by hand: the same head and columns as the workbook, and the words it lets be chosen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from pipeline.forms.cells import Offered, list_of, width_of
from pipeline.forms.description import Form, Table
from pipeline.forms.workbook import MADE, Names, label_of, lists_of_form, table_title
from reports.page.document import Document, Pages, moment_of
from reports.page.house_style import PLAIN, HouseStyle
from reports.page.templating import fill
from reports.paper.room import fitted
from reports.paper.sheet import Column, Sheet, Words
from schemas.field import Field

UPRIGHT = 92.0
"""Characters that a page takes side by side, upright; a wider table lies across."""
WIDEST = 180.0
"""Characters beyond which a table goes on over another page."""
ROWS_UPRIGHT, ROWS_ACROSS, ROWS_NUMBERED = 24, 14, 12
"""Rows on a page, each high enough to write in (7.5 mm)."""
MOST_FEWER = 8
"""Lines that a page is tried with fewer than the estimate of its room, less one."""
MOST_WORDS = 40
"""Words of a list that are printed; a longer one is in the workbook alone."""


@dataclass(frozen=True)
class Paper:
    """A form to be written on.

    Attributes:
        title: its title.
        sheets: its pages.
        created: the day written into it, as ISO text.
        density: how closely it is set; as openly as the rest.
    """

    title: str
    sheets: tuple[Sheet, ...]
    created: str = moment_of(MADE.date()).isoformat()
    density: str = ""


def paper_of(form: Form, names: Names) -> Paper:
    """The pages of a form, one a sheet of its workbook."""
    lists = lists_of_form(form, names)
    return Paper(form.title, tuple(sheet for table in form.tables for sheet in _sheets(form, table, lists)))


def _sheets(form: Form, table: Table, lists: Mapping[str, Offered]) -> Iterator[Sheet]:
    """The page of a table, or as many as its columns need, then with their lines numbered."""
    kind = table.record_kind
    parts: list[list[Field]] = [[]]
    used = 0.0
    for one in (kind.by_name[name] for name in table.columns):
        width = width_of(kind, one, lists)
        if parts[-1] and used + width > WIDEST:
            parts.append([])
            used = 0.0
        parts[-1].append(one)
        used += width
    for columns in parts:
        yield _sheet(form, table, columns, lists, numbered=len(parts) > 1)


def _sheet(
    form: Form, table: Table, columns: Sequence[Field], lists: Mapping[str, Offered], *, numbered: bool
) -> Sheet:
    kind = table.record_kind
    head = [kind.by_name[name] for name in dict.fromkeys((*form.head, *table.head)) if name in kind.by_name]
    widths = [width_of(kind, one, lists) for one in columns]
    across = sum(widths) > UPRIGHT or numbered
    rows = ROWS_NUMBERED if numbered else ROWS_ACROSS if across else ROWS_UPRIGHT
    return Sheet(
        table_title(form, table),
        table.hint,
        tuple(label_of(one) for one in head),
        tuple(
            Column(one.heading, round((97 if numbered else 100) * width / sum(widths), 2))
            for one, width in zip(columns, widths, strict=True)
        ),
        tuple(range(1, 1 + rows)),
        _words(table, [*head, *columns], lists),
        across,
        numbered,
    )


def _words(table: Table, fields: Sequence[Field], lists: Mapping[str, Offered]) -> tuple[Words, ...]:
    """The words of each list that is short enough to be printed, once."""
    found: dict[str, Words] = {}
    for one in fields:
        name = list_of(table.record_kind, one)
        if name in lists and len(lists[name].words) <= MOST_WORDS:
            found.setdefault(name, Words(one.heading, " · ".join(lists[name].words)))
    return tuple(found.values())


def _drafts(paper: Paper, _: Sequence[str], version: str, house: HouseStyle) -> Iterator[Pages]:
    """The form with as many lines a page as there is room for, then with fewer."""
    for fewer in range(MOST_FEWER):
        sheets = tuple(fitted(one, house, fewer) for one in paper.sheets)
        yield Pages(fill("paper.html.j2", house, report=replace(paper, sheets=sheets), attached=()))


DOCUMENT = Document(
    drafts=_drafts,
    attached=lambda _: (),
    day=lambda _: MADE.date(),
    most_pages=lambda content, _: len(content.sheets),
    styles=("paper.css",),
)
html = DOCUMENT.html


def paper(form: Form, names: Names, *, version: str, house: HouseStyle = PLAIN) -> bytes:
    """A form as a PDF to be written on; same form and registers, same bytes."""
    return DOCUMENT.render(paper_of(form, names), version=version, house=house)
