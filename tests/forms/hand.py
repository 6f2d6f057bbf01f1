"""Filling a form in as a hand does: by the words that stand in it, not by places that the code knows."""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.cell.cell import MergedCell
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

Row = dict[str, Any] | None


def say(sheet: Worksheet, label: str, value: Any) -> None:
    """Writes what stands behind some words of the head."""
    for row in sheet.iter_rows(max_row=20):
        for cell in row:
            if cell.value == label:
                column = cell.column + 1
                while isinstance(sheet.cell(cell.row, column), MergedCell):
                    column += 1
                sheet.cell(cell.row, column).value = value
                return
    raise AssertionError(f"{sheet.title} has no {label!r} in its head")


def header_row(sheet: Worksheet, *headers: str) -> tuple[int, dict[str, int]]:
    """Row of the column names, and the column of each."""
    for row in sheet.iter_rows(max_row=20):
        names = {cell.value: cell.column for cell in row if cell.value is not None}
        if set(headers) <= set(names):
            return row[0].row, names
    raise AssertionError(f"{sheet.title} has no columns {headers}")


def write(sheet: Worksheet, rows: Sequence[Row]) -> int:
    """Writes rows under the column names, None a row left blank; gives the first row's number."""
    at, columns = header_row(sheet, *{name for row in rows if row for name in row})
    for number, row in enumerate(rows, at + 1):
        for name, value in (row or {}).items():
            sheet.cell(number, columns[name]).value = value
    return at + 1


def filled(path: Path, fill: Callable[[Workbook], object]) -> Path:
    """The workbook, filled in and saved in its place."""
    book = openpyxl.load_workbook(path)
    fill(book)
    book.save(path)
    return path


def by_libreoffice(soffice: str, paths: Sequence[Path], suffix: str, folder: Path, *, read: str = "") -> list[Path]:
    """The workbooks opened and saved by LibreOffice, which writes every byte of them anew.

    Args:
        soffice: the program.
        paths: the files.
        suffix: what they are saved as.
        folder: where to.
        read: how they are opened where that is not plain: name and tokens of an import filter.
    """
    profile = (folder / "libreoffice").as_uri()
    how = [f"-env:UserInstallation={profile}", *([f"--infilter={read}"] if read else [])]
    done = subprocess.run(
        [soffice, "--headless", *how, "--convert-to", suffix, "--outdir", folder, *paths],
        capture_output=True, text=True, timeout=200, check=False,
    )  # fmt: skip
    made = [folder / f"{path.stem}.{suffix}" for path in paths]
    assert all(path.exists() for path in made), done.stdout + done.stderr
    return made
