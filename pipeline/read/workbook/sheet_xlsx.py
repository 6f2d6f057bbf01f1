"""The sheets of an XLSX file as their XML says them: sizes, failed cells, formulas without a value, formats.

Source: ECMA-376 part 1, 18.3.1.4 (cells), 18.3.1.55 (merged cells), 18.3.1.87 (views), 18.4 (shared words), 18.8
(styles).
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Sequence
from functools import lru_cache

from pipeline.common.limits import TooLarge
from pipeline.read.workbook import cell_formats
from pipeline.read.workbook.package import Damaged, Package
from pipeline.read.workbook.used_range import (
    COLUMNS,
    Place,
    SheetScan,
    SheetScanner,
    whole,
)


class Xlsx(SheetScanner):
    """The sheets of an XLSX file; the library reads each when it is asked for."""

    whole = False

    def __init__(self, package: Package) -> None:
        self._package = package
        self._parts = _parts_of(package)
        self._strings = _string_lengths(package)
        self._codes = _codes_of(package)
        self._scans: dict[str, SheetScan] = {}
        self.names = list(self._parts)

    def of(self, sheet: str) -> SheetScan:
        """How large a sheet is and what is odd in it; see :class:`SheetScanner`."""
        if not self._parts.get(sheet):
            raise Damaged(f'the sheet "{sheet}" is not in it')
        if sheet not in self._scans:
            walk = _SheetWalk(self._strings, self._codes, SheetScan(limits=self._package.limits))
            self._package.parse(self._parts[sheet], walk.start, walk.end, walk.characters)
            self._scans[sheet] = walk.scan
        return self._scans[sheet]


_TEXTS = frozenset({"v", "t"})


class _SheetWalk:
    """A walk through the XML of one XLSX sheet."""

    def __init__(self, strings: Sequence[int], codes: dict[int, str], scan: SheetScan) -> None:
        self.scan = scan
        self._strings = strings
        self._number = {str(style): self.scan.code(code) for style, code in codes.items()}
        self._row, self._column = -1, -1
        self._facts: dict[str, str] = {}
        self._formula = self._inside = False
        self._text = ""

    def start(self, name: str, facts: dict[str, str]) -> None:
        tag = _local(name)
        if tag == "c":
            self._column += 1
            self._facts, self._formula, self._text = facts, False, ""
            if reference := facts.get("r"):
                self._row, self._column = _place(reference)
        elif tag in _TEXTS:
            self._inside = True
        elif tag == "f":
            self._formula = True
        elif tag == "row":
            self._row, self._column = whole(facts.get("r"), self._row + 2) - 1, -1
        elif tag == "sheetView" and facts.get("showZeros") in {"0", "false"}:
            self.scan.zeros_hidden = True
        elif tag == "mergeCell" and ":" in facts.get("ref", ""):
            first, last = facts["ref"].split(":", 1)
            self.scan.merge(_place(first), _place(last))

    def characters(self, text: str) -> None:
        if self._inside:
            self._text += text

    def end(self, name: str) -> None:
        tag = _local(name)
        if tag in _TEXTS:
            self._inside = False
        elif tag == "c" and (self._text or self._formula):
            self._cell(self._text)

    def _cell(self, text: str) -> None:
        sort, place = self._facts.get("t", "n"), (self._row, self._column)
        if not text:
            if sort != "str":
                self.scan.unstored.append(place)
                self.scan.fill(place, 0)
            return
        shared = sort == "s" and text.isdigit() and int(text) < len(self._strings)
        self.scan.fill(place, self._strings[int(text)] if shared else len(text))
        if sort == "e":
            self.scan.failed[place] = text
        elif sort == "n" and (number := self._number.get(self._facts.get("s", "0"))) is not None:
            self.scan.shown_by(place, number)


def _parts_of(package: Package) -> dict[str, str]:
    """The part of each sheet, by its name; found as the library finds it."""
    sheets: dict[str, str] = {}
    targets: dict[str, str] = {}

    def few(some: dict[str, str]) -> None:
        if len(some) > package.limits.sheets:
            raise TooLarge(f"has more than {package.limits.sheets:,} sheets", "sheets")

    def sheet(name: str, facts: dict[str, str]) -> None:
        if _local(name) == "sheet":
            sheets[facts.get("name", "")] = next((value for key, value in facts.items() if key.endswith(":id")), "")
            few(sheets)

    def relation(name: str, facts: dict[str, str]) -> None:
        if _local(name) == "Relationship":
            targets[facts.get("Id", "")] = facts.get("Target", "")
            few(targets)

    package.parse(package.part("xl/workbook.xml"), sheet)
    if relations := package.part("xl/_rels/workbook.xml.rels"):
        package.parse(relations, relation)
    found = {}
    for name, wanted in sheets.items():
        target = targets.get(wanted, "").removeprefix("/")
        found[name] = package.part(target if target.startswith("xl/") else f"xl/{target}")
    return found


def _string_lengths(package: Package) -> array[int]:
    """How long each of the words is that the cells of an XLSX file share."""
    lengths = array("l")
    inside = False

    def start(name: str, _: dict[str, str]) -> None:
        nonlocal inside
        tag = _local(name)
        if tag == "si":
            lengths.append(0)
            if len(lengths) > package.limits.filled_cells:
                raise TooLarge(f"holds more than {package.limits.filled_cells:,} different words", "filled_cells")
        inside = tag == "t"

    def text(words: str) -> None:
        if inside and lengths:
            lengths[-1] += len(words)

    if part := package.part("xl/sharedStrings.xml"):
        package.parse(part, start, text=text)
    return lengths


def _codes_of(package: Package) -> dict[int, str]:
    """Formats that show numbers as anything but their digits, by the number a cell names them with."""
    codes = dict(cell_formats.BUILT_IN)
    used: list[int] = []
    inside = False

    def start(name: str, facts: dict[str, str]) -> None:
        nonlocal inside
        tag = _local(name)
        if tag == "numFmt":
            codes[whole(facts.get("numFmtId"), 0)] = facts.get("formatCode", "")
            if len(codes) > package.limits.number_formats:
                most = f"{package.limits.number_formats:,}"
                raise TooLarge(f"has more than {most} different formats of numbers", "number_formats")
        elif tag == "xf" and inside:
            used.append(whole(facts.get("numFmtId"), 0))
            if len(used) > package.limits.cell_styles:
                raise TooLarge(f"has more than {package.limits.cell_styles:,} styles of cells", "cell_styles")
        elif tag == "cellXfs":
            inside = True

    def end(name: str) -> None:
        nonlocal inside
        inside = inside and _local(name) != "cellXfs"

    if part := package.part("xl/styles.xml"):
        package.parse(part, start, end)
    found = ((style, codes.get(number, "")) for style, number in enumerate(used))
    return {style: code for style, code in found if cell_formats.changes(code)}


@lru_cache(maxsize=1000)
def _local(name: str) -> str:
    return name.rpartition(":")[2]


def _place(reference: str) -> Place:
    """Row and column of a cell's name, such as ``B12``."""
    letters = reference.rstrip("0123456789")
    row = whole(reference[len(letters) :], 0)
    if not row:
        raise Damaged("a cell lies outside the sheet")
    return row - 1, _column(letters)


@lru_cache(maxsize=COLUMNS)
def _column(letters: str) -> int:
    if not re.fullmatch("[A-Z]{1,3}", letters):
        raise Damaged("a cell lies outside the sheet")
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number - 1
