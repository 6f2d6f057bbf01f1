"""What the spreadsheet library does not tell, and how large a sheet is before the library takes memory for it.

The library gives a blank for a cell that says ``#DIV/0!`` and for a formula nobody has worked out; a blank would be
taken for "no value". It gives 0.041 for a cell that shows ``4.1%``. And it makes room for every cell up to the last one
filled. So each sheet's own XML is walked through first; formats of cells are in ``cell_formats.py``.

Source: ECMA-376 part 1, 18.3.1.4 (cells), 18.3.1.55 (merged cells), 18.8 (styles); OASIS OpenDocument 1.3 part 3, 9.1
and 19.
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import product

from pipeline.read import cell_formats
from pipeline.read.package import Damaged, Package, TooLarge

Place = tuple[int, int]
"""Row and column, counted from 0."""

MOST_CELLS = 2_000_000
"""Filled cells that are read from one sheet (common practice, no source)."""
MOST_AREA = 5_000_000
"""Cells, blank ones included, up to the last row and column filled (common practice, no source)."""
MOST_TEXT = 50_000_000
"""Characters of all cells together (common practice, no source)."""
MOST_MERGED = 20_000
"""Blocks of merged cells in one sheet (common practice, no source)."""
ROWS, COLUMNS = 1 << 20, 1 << 14
"""Size of a sheet (ECMA-376 leaves it open; every common spreadsheet has this)."""


@dataclass
class Look:
    """How large a sheet is, and its cells that need a word.

    Attributes:
        failed: text of cells whose formula failed.
        unstored: formulas without a stored value.
        merged: first and last cell of each merged block.
        codes: formats that show numbers as anything but their digits.
        cells: how many cells are filled.
        text: how many characters stand in them.
        lowest: the filled cell furthest down.
        rightmost: the filled cell furthest to the right.
    """

    failed: dict[Place, str] = field(default_factory=dict)
    unstored: list[Place] = field(default_factory=list)
    merged: list[tuple[Place, Place]] = field(default_factory=list)
    codes: list[str] = field(default_factory=list)
    cells: int = 0
    text: int = 0
    lowest: Place = (-1, -1)
    rightmost: Place = (-1, -1)
    _at: array[int] = field(default_factory=lambda: array("q"))
    _as: array[int] = field(default_factory=lambda: array("l"))

    @property
    def area(self) -> int:
        """Cells up to the last row and column filled, blank ones included."""
        return (self.lowest[0] + 1) * (self.rightmost[1] + 1)

    @property
    def formatted(self) -> Iterator[tuple[int, int, str]]:
        """Row, column and format of each number whose format shows it as anything but its digits."""
        for at, number in zip(self._at, self._as, strict=True):
            yield at // COLUMNS, at % COLUMNS, self.codes[number]

    def fill(self, place: Place, length: int, tall: int = 1, wide: int = 1) -> None:
        """Count a filled cell, or a block of cells alike.

        Raises:
            TooLarge: there are more than are read.
            Damaged: the place lies outside every sheet.
        """
        last = (place[0] + tall - 1, place[1] + wide - 1)
        if last[0] >= ROWS or last[1] >= COLUMNS:
            raise Damaged("a cell lies outside the sheet")
        self.cells += tall * wide
        self.text += length * tall * wide
        if self.cells > MOST_CELLS:
            raise TooLarge(f"has more than {MOST_CELLS:,} cells filled in one sheet")
        if self.text > MOST_TEXT:
            raise TooLarge(f"has more than {MOST_TEXT:,} characters in one sheet")
        self.lowest = max(self.lowest, last)
        if last[1] > self.rightmost[1]:
            self.rightmost = last

    def shown_by(self, place: Place, code: int) -> None:
        """Keep the format of a cell, by its number in ``codes``."""
        self._at.append(place[0] * COLUMNS + place[1])
        self._as.append(code)

    def merge(self, first: Place, last: Place) -> None:
        """Keep a merged block, without what of it lies below and beside the sheet."""
        self.merged.append((first, (min(last[0], ROWS - 1), min(last[1], COLUMNS - 1))))
        if len(self.merged) > MOST_MERGED:
            raise TooLarge("has more merged cells than any list of records")


def looks(package: Package) -> Looks | None:
    """The sheets of an XLSX or ODS file, each to be looked through by name; None of any other archive."""
    if package.part("xl/workbook.bin"):
        return None
    if content := package.part("content.xml"):
        return _Ods(package, content)
    return _Xlsx(package) if package.part("xl/workbook.xml") else None


class Looks:
    """How to look through the sheets of one file.

    Attributes:
        names: the sheets, in the file's order.
        whole: whether the library reads every sheet, whichever is asked for.
    """

    names: Sequence[str]
    whole: bool

    def of(self, sheet: str) -> Look:
        """How large a sheet is and what is odd in it.

        Raises:
            TooLarge: it holds more than is read.
            Damaged: it is not where the file says, or cannot be unpacked.
        """
        raise NotImplementedError


class _Xlsx(Looks):
    whole = False

    def __init__(self, package: Package) -> None:
        self._package = package
        self._parts = _parts_of(package)
        self._strings = _string_lengths(package)
        self._codes = _codes_of(package)
        self._looks: dict[str, Look] = {}
        self.names = list(self._parts)

    def of(self, sheet: str) -> Look:
        if not self._parts.get(sheet):
            raise Damaged(f'the sheet "{sheet}" is not in it')
        if sheet not in self._looks:
            walk = _SheetWalk(self._strings, self._codes)
            self._package.parse(self._parts[sheet], walk.start, walk.end, walk.characters)
            self._looks[sheet] = walk.look
        return self._looks[sheet]


_TEXTS = frozenset({"v", "t"})


class _SheetWalk:
    """A walk through the XML of one XLSX sheet."""

    def __init__(self, strings: Sequence[int], codes: dict[int, str]) -> None:
        self.look = Look(codes=list(codes.values()))
        self._strings = strings
        self._number = {str(style): number for number, style in enumerate(codes)}
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
            self._row, self._column = _whole(facts.get("r"), self._row + 2) - 1, -1
        elif tag == "mergeCell" and ":" in facts.get("ref", ""):
            first, last = facts["ref"].split(":", 1)
            self.look.merge(_place(first), _place(last))

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
                self.look.unstored.append(place)
                self.look.fill(place, 0)
            return
        shared = sort == "s" and text.isdigit() and int(text) < len(self._strings)
        self.look.fill(place, self._strings[int(text)] if shared else len(text))
        if sort == "e":
            self.look.failed[place] = text
        elif sort == "n" and (number := self._number.get(self._facts.get("s", "0"))) is not None:
            self.look.shown_by(place, number)


class _Ods(Looks):
    whole = True

    def __init__(self, package: Package, content: str) -> None:
        self._looks: dict[str, Look] = {}
        walk = _ContentWalk(self._looks)
        package.parse(content, walk.start, walk.end, walk.characters)
        self.names = list(self._looks)

    def of(self, sheet: str) -> Look:
        if sheet not in self._looks:
            raise Damaged(f'the sheet "{sheet}" is not in it')
        return self._looks[sheet]


_ODS_CELLS = frozenset({"table:table-cell", "table:covered-table-cell"})
_ODS_ERROR = re.compile(r"(?:#[A-Z/0?!]+[!?]?|Err:\d+)")
_ODS_NUMBER = re.compile(r"(\D*?)[-+−]?[\d.,'’\s]*\d(?:E[+-]?\d+)?(\D*)")


class _ContentWalk:
    """A walk through the XML of an ODS file, which holds every sheet."""

    def __init__(self, looks: dict[str, Look]) -> None:
        self._looks = looks
        self._sheets: list[Look] = []
        self._row, self._column, self._tall, self._wide = -1, 0, 1, 1
        self._facts: dict[str, str] = {}
        self._text: list[str] = []
        self._inside = self._aside = 0

    def start(self, name: str, facts: dict[str, str]) -> None:
        if name == "table:table":
            look = Look()
            if not self._sheets:
                self._looks[facts.get("table:name", "")] = look
                self._row, self._tall = -1, 1
            self._sheets.append(look)
        elif name == "table:table-row" and len(self._sheets) == 1:
            self._row, self._column = self._row + self._tall, 0
            self._tall = _whole(facts.get("table:number-rows-repeated"), 1)
        elif name in _ODS_CELLS and len(self._sheets) == 1:
            self._wide = _whole(facts.get("table:number-columns-repeated"), 1)
            self._facts, self._text = facts, []
        elif name == "text:p":
            self._inside += 1
        elif name == "office:annotation":
            self._aside += 1

    def characters(self, text: str) -> None:
        if self._inside and not self._aside and len(self._sheets) == 1:
            self._text.append(text)

    def end(self, name: str) -> None:
        if name == "table:table":
            self._sheets.pop()
        elif name in _ODS_CELLS and len(self._sheets) == 1:
            self._cell(self._sheets[0], "".join(self._text).strip())
            self._column += self._wide
        elif name == "text:p":
            self._inside -= 1
        elif name == "office:annotation":
            self._aside -= 1

    def _cell(self, look: Look, text: str) -> None:
        facts, place = self._facts, (self._row, self._column)
        down = _whole(facts.get("table:number-rows-spanned"), 1)
        across = _whole(facts.get("table:number-columns-spanned"), 1)
        if down > 1 or across > 1:
            look.merge(place, (place[0] + down - 1, place[1] + across - 1))
        formula, sort = "table:formula" in facts, facts.get("office:value-type", "")
        if not (text or formula or sort):
            return
        look.fill(place, max(len(text), len(facts.get("office:string-value", ""))), self._tall, self._wide)
        if facts.get("calcext:value-type") == "error" or (formula and _ODS_ERROR.fullmatch(text)):
            look.failed.update((at, text or "#VALUE!") for at in self._places())
        elif formula and not sort and not text:
            look.unstored.extend(self._places())
        elif code := _ods_code(sort, text):
            if code not in look.codes:
                look.codes.append(code)
            for at in self._places():
                look.shown_by(at, look.codes.index(code))

    def _places(self) -> Iterator[Place]:
        rows, columns = range(self._row, self._row + self._tall), range(self._column, self._column + self._wide)
        return product(rows, columns)


def _ods_code(sort: str, text: str) -> str:
    """The format that shows a number as the cell's own text does, "" where that shows its digits."""
    if sort == "percentage":
        return "0%"
    if sort != "float" or '"' in text:
        return ""
    if text.isdigit():
        return "0" * len(text) if text.startswith("0") else ""
    around = _ODS_NUMBER.fullmatch(text)
    code = f'"{around.group(1)}"0"{around.group(2)}"' if around else f'"{text}"'
    return code if cell_formats.changes(code) and (around or text.isalpha()) else ""


def _parts_of(package: Package) -> dict[str, str]:
    """The part of each sheet, by its name; found as the library finds it."""
    sheets: dict[str, str] = {}
    targets: dict[str, str] = {}

    def sheet(name: str, facts: dict[str, str]) -> None:
        if _local(name) == "sheet":
            sheets[facts.get("name", "")] = next((value for key, value in facts.items() if key.endswith(":id")), "")

    def relation(name: str, facts: dict[str, str]) -> None:
        if _local(name) == "Relationship":
            targets[facts.get("Id", "")] = facts.get("Target", "")

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
            if len(lengths) > MOST_CELLS:
                raise TooLarge(f"holds more than {MOST_CELLS:,} different words")
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
            codes[_whole(facts.get("numFmtId"), 0)] = facts.get("formatCode", "")
        elif tag == "xf" and inside:
            used.append(_whole(facts.get("numFmtId"), 0))
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
    row = _whole(reference[len(letters) :], 0)
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


def _whole(text: str | None, otherwise: int) -> int:
    """A whole number from nought up as XML writes it."""
    return int(text) if text and len(text) < 10 and text.isascii() and text.isdigit() else otherwise


def cell_name(place: Place) -> str:
    """A cell's name, such as ``B12``."""
    letters, column = "", place[1] + 1
    while column:
        column, letter = divmod(column - 1, 26)
        letters = chr(65 + letter) + letters
    return f"{letters}{place[0] + 1}"
