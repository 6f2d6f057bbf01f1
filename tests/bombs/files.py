"""The files: each is written piece by piece, for none fits into memory, and says how much of it there is by a scale.

At full scale each is what the limits were made for; a scale below 1 makes it small enough for the ordinary run, where
the limits are lowered by as much.
"""

from __future__ import annotations

import io
import os
import zipfile
import zlib
from collections.abc import Callable, Iterable
from pathlib import Path

from tests.read.test_read_workbook_size import HEADER, ROW, WORD, ods, ods_row, xlsx

HEAD = b"date,green,operation,hours\n"
ROWS = b"2026-05-04,ALD-1,mowing,1.5\n"

Make = Callable[[Path, float], Path]


def _text(path: Path, pieces: Iterable[bytes]) -> Path:
    with path.open("wb") as file:
        file.writelines(pieces)
    return path


def _times(piece: bytes, number: float) -> Iterable[bytes]:
    """A piece so many times, in lots of about a megabyte."""
    lot = max(1, 1_000_000 // len(piece))
    whole, rest = divmod(int(number), lot)
    return (*(piece * lot for _ in range(whole)), piece * rest)


def sparse(path: Path, scale: float) -> Path:
    """A text of two gigabytes of which the disk holds a kilobyte."""
    _text(path, [HEAD, ROWS])
    os.truncate(path, int(2e9 * scale))
    return path


def columns(path: Path, scale: float) -> Path:
    """A hundred million columns in one line."""
    return _text(path, [*_times(b"a,", 1e8 * scale), b"z\n", ROWS])


def wide_rows(path: Path, scale: float) -> Path:
    """Rows of hundreds of thousands of cells under four names, thirty million in all."""
    return _text(path, [HEAD, *(b"1," * 400_000 + b"1\n" for _ in range(max(1, int(75 * scale))))])


def cell(path: Path, scale: float) -> Path:
    """One cell of 500 megabytes."""
    return _text(path, [HEAD, b'2026-05-04,ALD-1,"', *_times(b"mowing ", 5e8 / 7 * scale), b'",1.5\n'])


def cell_of_lines(path: Path, scale: float) -> Path:
    """One cell in quotation marks over ten million lines."""
    return _text(path, [HEAD, b'2026-05-04,ALD-1,"', *_times(b"mow\n", 1e7 * scale), b'",1.5\n'])


def header_words(path: Path, scale: float) -> Path:
    """A name of a column of 60 megabytes."""
    return _text(path, [b"date,green,operation,hours ", *_times(b"worked ", 6e7 / 7 * scale), b"\n", ROWS])


def quotes(path: Path, scale: float) -> Path:
    """A million rows with a quotation mark that never closes."""
    return _text(path, [HEAD, *_times(b'2026-05-04,ALD-1,"mowing,1.5\n', 1e6 * scale)])


def many_quotes(path: Path, scale: float) -> Path:
    """Sixty million quotation marks."""
    return _text(path, [HEAD, *_times(b'"', 6e7 * scale)])


def blank_lines(path: Path, scale: float) -> Path:
    """Fifty million lines with nothing on them."""
    return _text(path, [HEAD, ROWS, *_times(b"\n", 5e7 * scale)])


def blank_lines_mixed(path: Path, scale: float) -> Path:
    """The same in two encodings, which are told apart line by line."""
    return _text(path, [HEAD, "café\n".encode(), "café\n".encode("cp1252"), *_times(b"\r", 5e7 * scale)])


def nuls(path: Path, scale: float) -> Path:
    """A text that breaks off into sixty megabytes of NULs."""
    _text(path, [HEAD, ROWS])
    os.truncate(path, int(6e7 * scale))
    return path


def used_range(path: Path, scale: float) -> Path:
    """A cell in the last row and column that a sheet has."""
    last = f"<row r='1048576'>{WORD.format('XFD1048576', 'x')}</row>"
    return xlsx(path, [HEADER, ROW, last])


def sheets(path: Path, scale: float) -> Path:
    """A thousand sheets and one more."""
    return xlsx(path, *([HEADER, ROW] for _ in range(int(1_000 * scale) + 1)))


def unpacked(path: Path, scale: float) -> Path:
    """Ten gigabytes of blanks in one sheet, packed a thousand to one."""
    return xlsx(path, [HEADER, ROW, *(" " * 1_000_000 for _ in range(int(10_000 * scale)))])


def unpacked_lies(path: Path, scale: float) -> Path:
    """The same, where the list of parts says that there is next to nothing."""
    whole = unpacked(path, scale)
    raw = bytearray(whole.read_bytes())
    with zipfile.ZipFile(whole) as book:
        part = book.getinfo("xl/worksheets/sheet1.xml")
    at = raw.rfind(part.filename.encode()) - 46 + 24
    raw[at : at + 4] = (1000).to_bytes(4, "little")
    whole.write_bytes(raw)
    return whole


def other_name(path: Path, scale: float) -> Path:
    """Gigabytes in a part whose name is not that of a sheet, though the workbook takes it for one."""
    whole = xlsx(path, [HEADER, ROW])
    made = path.with_suffix(".made")
    with zipfile.ZipFile(whole) as book, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as other:
        for part in book.infolist():
            content = book.read(part)
            if part.filename == "xl/_rels/workbook.xml.rels":
                content = content.replace(b"sheet1.xml", b"sheet1.dat")
            if part.filename != "xl/worksheets/sheet1.xml":
                other.writestr(part, content)
        with other.open("xl/worksheets/sheet1.dat", "w", force_zip64=True) as sheet:
            sheet.write(b"<worksheet><sheetData>")
            sheet.writelines(b" " * 1_000_000 for _ in range(int(10_000 * scale)))
    made.replace(path)
    return path


def parts(path: Path, scale: float) -> Path:
    """Two million files of nothing in one archive."""
    with path.open("wb") as file:
        entry = b"PK\x01\x02" + bytes(24) + (1).to_bytes(2, "little") + bytes(16) + b"a"
        file.write(b"PK\x03\x04" + bytes(26))
        number = int(2e6 * scale)
        file.writelines(_times(entry, number))
        end = b"PK\x05\x06" + bytes(4) + min(number, 65_535).to_bytes(2, "little") * 2
        file.write(end + (len(entry) * number).to_bytes(4, "little") + (30).to_bytes(4, "little") + bytes(2))
    return path


def nested(path: Path, scale: float) -> Path:
    """An archive within an archive within an archive, each of copies of the next."""
    inside = zlib.compress(bytes(10_000_000))
    for _ in range(4):
        held = io.BytesIO()
        with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as book:
            for number in range(max(2, int(40 * scale))):
                book.writestr(f"{number}.xlsx", inside)
        inside = held.getvalue()
    path.write_bytes(inside)
    return path


def deep(path: Path, scale: float) -> Path:
    """Elements within one another, thirty million deep."""
    return xlsx(path, [HEADER, ROW, *("<a>" * 1_000_000 for _ in range(max(1, int(30 * scale))))])


def words(path: Path, scale: float) -> Path:
    """Three million different words that cells share."""
    return xlsx(path, [HEADER, ROW], words=(f"<si><t>w{number}</t></si>" for number in range(int(3e6 * scale))))


def repeated_word(path: Path, scale: float) -> Path:
    """One word of a megabyte in a hundred thousand cells."""
    row = "<row>" + "<c t='s'><v>0</v></c>" * 1_000 + "</row>"
    cells = (row for _ in range(max(1, int(100 * scale))))
    return xlsx(path, [HEADER, *cells], words=[f"<si><t>{'w' * 1_000_000}</t></si>"])


def repeated_rows(path: Path, scale: float) -> Path:
    """A row that an OpenDocument sheet says stands there a thousand million times."""
    return ods(path, ods_row("green", "value") + ods_row("ALD-1", "5", rows=10**9 - 1))


BOMBS: dict[str, tuple[Make, str]] = {
    "two gigabytes of nothing": (sparse, "a.csv"),
    "10^8 columns in one line": (columns, "a.csv"),
    "3 x 10^7 cells beside four names": (wide_rows, "a.csv"),
    "a cell of 500 MB": (cell, "a.csv"),
    "a cell over 10^7 lines": (cell_of_lines, "a.csv"),
    "a column name of 60 MB": (header_words, "a.csv"),
    "10^6 quotes that never close": (quotes, "a.csv"),
    "6 x 10^7 quotes": (many_quotes, "a.csv"),
    "5 x 10^7 blank lines": (blank_lines, "a.csv"),
    "5 x 10^7 bare CR, two encodings": (blank_lines_mixed, "a.csv"),
    "60 MB of NULs": (nuls, "a.csv"),
    "used range 2^20 x 2^14": (used_range, "a.xlsx"),
    "1,001 sheets": (sheets, "a.xlsx"),
    "10 GB unpacked": (unpacked, "a.xlsx"),
    "10 GB unpacked, said to be 1 kB": (unpacked_lies, "a.xlsx"),
    "10 GB under another name": (other_name, "a.xlsx"),
    "2 x 10^6 files packed": (parts, "a.xlsx"),
    "archives in archives": (nested, "a.xlsx"),
    "XML 3 x 10^7 deep": (deep, "a.xlsx"),
    "3 x 10^6 shared words": (words, "a.xlsx"),
    "a word of 1 MB in 10^5 cells": (repeated_word, "a.xlsx"),
    "ODS rows repeated 10^9 times": (repeated_rows, "a.ods"),
}
"""What fills a machine, who makes it, and the file's name."""
