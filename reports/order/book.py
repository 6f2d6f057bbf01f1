"""The order to one supplier as a workbook, to be sent: the same rows as its CSV. Same order, same bytes."""

from __future__ import annotations

from typing import Any

from pipeline.common.words import long_date
from pipeline.forms.workbook import LINE, SHADE, Book
from pipeline.plan.ordering.placed import PlacedOrder
from pipeline.plan.purchase.parts import SupplierOrder
from reports.order.data import supplier_rows
from reports.page.house_style import HouseStyle

HEADS = (
    ("Deliver to", 26),
    ("Item", 30),
    ("Packs", 8),
    ("Pack", 9),
    ("Unit", 6),
    ("Price a pack", 13),
    ("Sum", 13),
    ("Currency", 9),
    ("Note", 28),
)
_NUMBERS = {2: "#,##0", 3: "#,##0.###", 5: "#,##0.00##", 6: "#,##0.00##"}
"""Columns of numbers with their formats."""
_SUMS = frozenset({"net", "total"})


def supplier_book(made: PlacedOrder, one: SupplierOrder, house: HouseStyle) -> bytes:
    """The workbook of an order: who orders, what it is called, lines by place, carriage and sums."""
    book = Book()
    sheet = book.sheet("Order", sum(width for _, width in HEADS))
    for column, (_, width) in enumerate(HEADS):
        sheet.set_column(column, column, width)
    sheet.write_string(0, 0, f"Order to {one.supplier}", book.style(bold=True, font_size=16))
    said = [f"Our reference: {made.reference(one.supplier)}", f"Day: {long_date(made.day)}"]
    if house.name:
        said.insert(0, f"From: {', '.join(part for part in (house.name, house.address) if part)}")
    for row, text in enumerate(said, start=1):
        sheet.write_string(row, 0, text, book.style())
    top = len(said) + 2
    look = book.style(bold=True, text_wrap=True, border=1, border_color=LINE, bg_color=SHADE)
    for column, (name, _) in enumerate(HEADS):
        sheet.write_string(top, column, name, look)
    for row, cells in enumerate(supplier_rows(made, one), start=top + 1):
        bold = cells[1] in _SUMS and cells[0] is None
        for column, cell in enumerate(cells):
            _cell(book, sheet, (row, column), cell, bold=bold)
    sheet.freeze_panes(top + 1, 0)
    sheet.repeat_rows(top)
    return book.bytes()


def _cell(book: Book, sheet: Any, place: tuple[int, int], cell: Any, *, bold: bool) -> None:
    row, column = place
    look: dict[str, Any] = {"border": 1, "border_color": LINE, "valign": "top", "bold": bold}
    if cell is None or cell == "":
        sheet.write_blank(row, column, None, book.style(**look))
    elif column in _NUMBERS:
        sheet.write_number(row, column, float(cell), book.style(**look, num_format=_NUMBERS[column]))
    else:
        sheet.write_string(row, column, str(cell), book.style(**look, text_wrap=True))
