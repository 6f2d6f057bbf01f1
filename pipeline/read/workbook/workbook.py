"""Rows of a workbook's sheet (XLSX, ODS) as text: numbers as a person sees them with every digit, dates as ISO."""

from __future__ import annotations

import io
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.common.file_names import fits_any
from pipeline.common.limits import RAISE, STANDARD, Limits, TooLarge
from pipeline.common.words import counted
from pipeline.read.sheet import Found, Reading, Unread
from pipeline.read.text.bytes import EMPTY, NOT_TEXT
from pipeline.read.text.layout import SAMPLE_LINES, Record, header_fault, header_of
from pipeline.read.text.ragged import Rows, frame_of
from pipeline.read.workbook.cell_formats import two_figures
from pipeline.read.workbook.package import Damaged, Package
from pipeline.read.workbook.sheet_ods import Ods
from pipeline.read.workbook.sheet_xlsx import Xlsx
from pipeline.read.workbook.used_range import (
    Place,
    SheetScan,
    SheetScanner,
    cell_name,
)
from pipeline.read.workbook.written import seen, written
from schemas.codes import fold

if TYPE_CHECKING:
    from python_calamine import CalamineWorkbook

WHICH_SHEET = FaultKind(
    "workbook.which_sheet",
    "which sheet of the workbook?",
    "The workbook has more than one sheet with cells: {names}.",
    'Say which one under sheet in [reading] of a source profile (sheet = "{first}"; docs/profiles.md){all}. Those that '
    "are not needed: ignore_sheets in settings.toml.",
)
NO_SUCH_SHEET = FaultKind(
    "workbook.no_such_sheet",
    "declared sheet is not there",
    'The workbook has no sheet "{sheet}"; it has {names}.',
    "Mend sheet in [reading] of the profile.",
)
DAMAGED = FaultKind(
    "workbook.damaged",
    "workbook that cannot be opened",
    "The workbook cannot be opened: {reason}.",
    "Open it in a spreadsheet, save it as XLSX or CSV and load that.",
)
TOO_LARGE = FaultKind(
    "workbook.too_large",
    "workbook larger than is read",
    "The workbook {reason}.",
    f"Save the sheet with the records as CSV and load that, or part it into several; or {RAISE}.",
)
STRAY = FaultKind(
    "workbook.stray",
    "cell far outside the table",
    'The sheet "{sheet}" has {cells}, but something stands in {where}: a table of {area} cells; {most} are the most.',
    f"Delete what stands there (it may be a blank), or save the table alone as CSV; then load again; or {RAISE}.",
)
UNSTORED = FaultKind(
    "workbook.unstored",
    "formula without a stored value",
    "The cell holds a formula whose result is not in the file.",
    "Open the workbook in a spreadsheet, let it work out, save it and load it again.",
)
FILLED_DOWN = FaultKind(
    "workbook.filled_down",
    "merged cell read for each of its rows",
    "The merged cell of rows {first} to {last} was read for each of them: {value}",
    "Nothing to do if it holds for all of them; else part the cells and write each one.",
    "note",
)
MERGED_ACROSS = FaultKind(
    "workbook.merged_across",
    "cell merged over several columns",
    "One cell stretches over several columns, so that it is not plain which of them it belongs to: {value}",
    "Part the cells and write the value where it belongs.",
)


@dataclass(frozen=True)
class _Filled:
    """A sheet with cells: its rows of text, and what its XML says of it."""

    rows: list[list[str]]
    scan: SheetScan


def rows_in_workbook(raw: bytes, reading: Reading) -> Found | pl.DataFrame:
    """The rows of a workbook's sheet, or the faults of one that cannot be read.

    The sheet is the declared one, else the only one with cells, else the only one with known column names.
    """
    if not raw.startswith(b"PK"):
        return NOT_TEXT.at(what="it is an old workbook (.xls) or one locked with a password")
    unread: list[Unread] = []
    opened = _opened(raw, reading.sheet, unread, reading.limits)
    if isinstance(opened, pl.DataFrame):
        return opened
    chosen = _chosen(opened, reading)
    if isinstance(chosen, pl.DataFrame):
        return chosen
    cells, scan = opened[chosen].rows, opened[chosen].scan
    header = _header(cells, reading)
    if isinstance(header, int):
        return header_fault(header, " | ".join(cells[header - 1]) if header <= len(cells) else "", reading.header_line)
    faults = _mended(cells, scan, header)
    below = cells[header.end - 1 :]
    frame = frame_of(list(range(header.end, header.end + len(below))), below, len(header.cells))
    others = (*(_unread(name, one.scan) for name, one in opened.items() if name != chosen), *unread)
    found, above = Rows(frame, broken=True), tuple(tuple(row) for row in cells[: header.line - 1])
    return Found("", "", header.line, header.cells, found, concat(faults), name=chosen, unread=others, above=above)


def may_hold(raw: bytes, sheet: str, limits: Limits = STANDARD) -> bool:
    """Whether a workbook may have a sheet of this name; told without reading its cells."""
    try:
        package = Package(raw, limits)
        part = package.part("xl/workbook.xml") or package.part("content.xml")
        wanted, tail = sheet.encode(), b""
        for piece in package.pieces(part) if part else ():
            if wanted in tail + piece:
                return True
            tail = piece[-len(wanted) :]
    except (Damaged, TooLarge, ValueError):
        return False
    return False


def rows_of_sheet(raw: bytes, sheet: str, limits: Limits = STANDARD) -> tuple[tuple[str, ...], ...]:
    """Every row of one sheet as text, whatever stands in it; () where it is blank, gone or cannot be read."""
    opened = _opened(raw, sheet, [], limits)
    if isinstance(opened, pl.DataFrame) or sheet not in opened:
        return ()
    return tuple(tuple(row) for row in opened[sheet].rows)


def sheet_names(raw: bytes, limits: Limits = STANDARD) -> tuple[str, ...]:
    """Names of an XLSX or ODS file's sheets in their order, also of those without cells; () of any other bytes."""
    try:
        judge = _scanner(Package(raw, limits)) if raw.startswith(b"PK") else None
    except (Damaged, TooLarge, ValueError, KeyError):
        return ()
    return tuple(judge.names) if judge else ()


def too_large(error: TooLarge) -> pl.DataFrame:
    """The fault of a workbook that is larger than is read."""
    return TOO_LARGE.at(reason=str(error), setting=error.setting)


def _unread(name: str, scan: SheetScan) -> Unread:
    return Unread(name, scan.cells, table=scan.lowest[0] > 0 and scan.rightmost[1] > 0)


def _opened(
    raw: bytes, declared: str | None, unread: list[Unread], limits: Limits
) -> dict[str, _Filled] | pl.DataFrame:
    """The sheets with cells (the declared one alone where it has some; the others go to ``unread``), or a fault.

    How large a sheet is, is judged from its own XML before the library makes room for it.
    """
    import python_calamine

    try:
        package = Package(raw, limits)
        judge = _scanner(package)
        if judge is None:
            return NOT_TEXT.at(what="it is an archive, but neither XLSX nor ODS")
        found = _judged(judge, declared, limits)
        if isinstance(found, pl.DataFrame):
            return found
        unread += _beside(judge, found)
        workbook = python_calamine.load_workbook(io.BytesIO(raw))
        sheets = {name: _Filled(_text(workbook, name, scan), scan) for name, scan in found.items()}
    except TooLarge as error:
        return too_large(error)
    except (Damaged, ValueError, OSError, KeyError, RuntimeError, python_calamine.CalamineError) as error:
        return DAMAGED.at(reason=_reason(error))
    except BaseException as error:
        # The library is written in Rust: where it gives up, it raises a class that is no Exception.
        if type(error).__name__ != "PanicException":
            raise
        return DAMAGED.at(reason="its contents do not fit together")
    filled = {name: sheet for name, sheet in sheets.items() if any(any(row) for row in sheet.rows)}
    return filled or EMPTY.at()


def _scanner(package: Package) -> SheetScanner | None:
    """The sheets of an XLSX or ODS file, each to be looked through by name; None of any other archive."""
    if package.part("xl/workbook.bin"):
        return None
    if content := package.part("content.xml"):
        return Ods(package, content)
    return Xlsx(package) if package.part("xl/workbook.xml") else None


def _judged(judge: SheetScanner, declared: str | None, limits: Limits) -> dict[str, SheetScan] | pl.DataFrame:
    """The sheets to be read with what was found in them, or the fault of one that reaches too far.

    Raises:
        TooLarge: there are more cells or characters than are read.
        Damaged: a sheet cannot be found or unpacked.
    """
    found: dict[str, SheetScan] = {}
    alone = declared is not None and declared in judge.names and not judge.whole and judge.of(declared).cells > 0
    for name in [declared] if alone and declared else judge.names:
        scan = found[name] = judge.of(name)
        if scan.area > limits.table_cells:
            where = " and in ".join(dict.fromkeys((cell_name(scan.lowest), cell_name(scan.rightmost))))
            cells, area, most = counted(scan.cells, "filled cell"), f"{scan.area:,}", f"{limits.table_cells:,}"
            return STRAY.at(sheet=name, cells=cells, where=where, area=area, most=most, setting="table_cells")
        if (wide := scan.rightmost[1] + 1) > limits.columns:
            what = f'fills column {wide:,} of the sheet "{name}" ({cell_name(scan.rightmost)})'
            raise TooLarge(f"{what}; {limits.columns:,} columns are the most", "columns")
    _refuse_sum("cells filled", sum(scan.cells for scan in found.values()), limits.filled_cells, "filled_cells")
    _refuse_sum("characters in its cells", sum(scan.text for scan in found.values()), limits.characters, "characters")
    whole = "cells in its sheets, blank ones included"
    _refuse_sum(whole, sum(scan.area for scan in found.values()), limits.table_cells, "table_cells")
    return found


def _refuse_sum(what: str, found: int, most: int, setting: str) -> None:
    if found > most:
        raise TooLarge(f"has {found:,} {what}; {most:,} are the most", setting)


def _beside(judge: SheetScanner, read: Mapping[str, SheetScan]) -> list[Unread]:
    """The sheets with cells that are not to be read; one that cannot be looked through is taken to hold a table."""
    found = []
    for name in judge.names:
        if name in read:
            continue
        try:
            scan = judge.of(name)
        except (TooLarge, Damaged):
            found.append(Unread(name, None, table=True))
        else:
            found += [_unread(name, scan)] if scan.cells else []
    return found


def _text(workbook: CalamineWorkbook, name: str, scan: SheetScan) -> list[list[str]]:
    values: list[list[object]] = workbook.get_sheet_by_name(name).to_python(skip_empty_area=False)  # type: ignore[assignment]
    for row, column, code in scan.formatted:
        if row >= len(values) or column >= len(values[row]):
            continue
        values[row][column] = seen(values[row][column], code)
    rows = [[written(value) for value in row] for row in values]
    if scan.zeros_hidden:
        rows = [[two_figures("", text) if text == "0" else text for text in row] for row in rows]
    while rows and not any(rows[-1]):
        rows.pop()
    return rows


def _chosen(sheets: Mapping[str, _Filled], reading: Reading) -> str | pl.DataFrame:
    names = ", ".join(f'"{name}"' for name in sheets)
    if reading.sheet is not None:
        return reading.sheet if reading.sheet in sheets else NO_SUCH_SHEET.at(sheet=reading.sheet, names=names)
    needed = [name for name in sheets if not fits_any(name, reading.ignored_sheets)] or list(sheets)
    known = [name for name in needed if _has_known_header(sheets[name].rows, reading.known_headers)]
    for candidates in (needed, known):
        if len(candidates) == 1:
            return candidates[0]
    names = ", ".join(f'"{name}"' for name in needed)
    alike = _of_one_layout([sheets[name].rows for name in known], reading)
    every = '; as they are of one layout, sheets = ["*"] there reads them all' if alike else ""
    return WHICH_SHEET.at(names=names, first=(known or needed)[0], all=every)


def _header(rows: list[list[str]], reading: Reading) -> Record | int:
    """The header among a sheet's rows; the number of the offending line where there is none."""
    filled = (Record(number, number + 1, tuple(row)) for number, row in enumerate(rows, 1) if any(row))
    return header_of(list(islice(filled, SAMPLE_LINES)), reading.header_line, reading.known_headers)


def _of_one_layout(sheets: Sequence[list[list[str]]], reading: Reading) -> bool:
    """Whether several sheets have the same column names."""
    headers = [_header(rows, reading) for rows in sheets]
    cells = {tuple(map(fold, one.cells)) if isinstance(one, Record) else () for one in headers}
    return len(sheets) > 1 and len(cells) == 1 and () not in cells


def _has_known_header(rows: list[list[str]], known: frozenset[str]) -> bool:
    return any(Record(1, 2, tuple(row)).known(known) >= 2 for row in rows[:200])


def _mended(rows: list[list[str]], odd: SheetScan, header: Record) -> list[pl.DataFrame]:
    """Puts failed cells and merged ones in (the rows are changed) and gives the faults."""
    for (row, column), text in odd.failed.items():
        if row < len(rows) and column < len(rows[row]):
            rows[row][column] = text
    below = header.end - 1
    lost: defaultdict[str, list[tuple[int, None]]] = defaultdict(list)
    for row, column in odd.unstored:
        if below <= row < len(rows):
            lost[_name(header.cells, column)].append((row + 1, None))
    faults = [UNSTORED.rows(cells, name) for name, cells in lost.items()]
    for first, last in odd.merged:
        if first[0] >= below and first[0] < len(rows):
            faults += _unmerged(rows, first, last, header.cells)
    return faults


def _unmerged(rows: list[list[str]], first: Place, last: Place, names: Sequence[str]) -> list[pl.DataFrame]:
    value = rows[first[0]][first[1]] if first[1] < len(rows[first[0]]) else ""
    if not value:
        return []
    lines = range(first[0], min(last[0], len(rows) - 1) + 1)
    name = _name(names, first[1])
    if last[1] > first[1]:
        if sum(1 for cell in rows[first[0]] if cell) == 1:
            return []
        return [MERGED_ACROSS.rows([(line + 1, value) for line in lines], name)]
    for line in lines:
        rows[line][first[1]] = value
    return [FILLED_DOWN.at(first[0] + 1, value, name, first=first[0] + 1, last=last[0] + 1)]


def _name(names: Sequence[str], column: int) -> str:
    return names[column] if column < len(names) and names[column] else f"column {column + 1}"


def _reason(error: Exception) -> str:
    return str(error).splitlines()[0].strip().rstrip(".")[:120] if str(error).strip() else "it is damaged"
