"""The names of a text's columns, told without its rows: by them profiles are passed over that cannot fit a file."""

from __future__ import annotations

from pathlib import Path

from pipeline.read.sheet import Reading
from pipeline.read.table import header_cells, read_sheet
from pipeline.read.text.columns import MADE
from schemas.codes import fold

ROOT = Path(__file__).parents[2]


def test_no_header_of_a_sheet_is_missed() -> None:
    """A profile that is passed over for a header that its file has: the file would be told to fit none."""
    looked_at = 0
    demo, shapes = ROOT / "demo_data" / "as_it_arrives", ROOT / "tests" / "inputs" / "shape"
    for path in [*sorted(demo.glob("*.csv")), *sorted(shapes.rglob("*.csv"))]:
        for how in (Reading(), Reading(header_line=2), Reading(delimiter=";")):
            cells = header_cells(path, how)
            assert cells is not None
            told = {fold(cell) for cell in cells}
            headers = [fold(header) for header in read_sheet(path, how).headers]
            assert all(header in told or MADE.fullmatch(header) for header in headers), path
            looked_at += bool(headers)
    assert looked_at > 60


def test_of_a_workbook_and_of_messages_the_whole_is_read(tmp_path: Path) -> None:
    book = tmp_path / "book.xlsx"
    book.write_bytes(b"PK\x03\x04")
    assert header_cells(book, Reading()) is None
    sent = tmp_path / "sent.txt"
    sent.write_text("12/03/2026, 08:14 - Sam: scarified\n", "utf-8")
    assert header_cells(sent, Reading(messages=True)) is None
