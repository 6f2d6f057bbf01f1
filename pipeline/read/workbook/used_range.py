"""What the spreadsheet library does not tell, and how large a sheet is before the library takes memory for it.

The library gives a blank for a cell that says ``#DIV/0!`` and for a formula nobody has worked out; a blank would be
taken for "no value". It gives 0.041 for a cell that shows ``4.1%``. And it makes room for every cell up to the last one
filled. So each sheet's own XML is walked through first, in ``sheet_xlsx.py`` and ``sheet_ods.py``.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from pipeline.common.limits import STANDARD, Limits, TooLarge
from pipeline.read.workbook.package import Damaged

Place = tuple[int, int]
"""Row and column, counted from 0."""

ROWS, COLUMNS = 1 << 20, 1 << 14
"""Size of a sheet (ECMA-376 leaves it open; every common spreadsheet has this)."""


@dataclass
class SheetScan:
    """How large a sheet is, and its cells that need a word.

    Attributes:
        failed: text of cells whose formula failed.
        unstored: formulas without a stored value.
        merged: first and last cell of each merged block.
        zeros_hidden: whether the sheet shows a blank for each nought.
        codes: formats that show numbers as anything but their digits.
        cells: how many cells are filled.
        text: how many characters stand in them.
        lowest: the filled cell furthest down.
        rightmost: the filled cell furthest to the right.
        limits: how much is read.
    """

    failed: dict[Place, str] = field(default_factory=dict)
    unstored: list[Place] = field(default_factory=list)
    merged: list[tuple[Place, Place]] = field(default_factory=list)
    zeros_hidden: bool = False
    codes: list[str] = field(default_factory=list)
    cells: int = 0
    text: int = 0
    lowest: Place = (-1, -1)
    rightmost: Place = (-1, -1)
    limits: Limits = STANDARD
    _numbers: dict[str, int] = field(default_factory=dict)
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
        if self.cells > self.limits.filled_cells:
            raise TooLarge(f"has more than {self.limits.filled_cells:,} cells filled in one sheet", "filled_cells")
        if self.text > self.limits.characters:
            raise TooLarge(f"has more than {self.limits.characters:,} characters in one sheet", "characters")
        self.lowest = max(self.lowest, last)
        if last[1] > self.rightmost[1]:
            self.rightmost = last

    def shown_by(self, place: Place, code: int) -> None:
        """Keep the format of a cell, by its number in ``codes``."""
        self._at.append(place[0] * COLUMNS + place[1])
        self._as.append(code)

    def code(self, code: str) -> int:
        """The number of a format in ``codes``, where it is put if need be."""
        if code not in self._numbers:
            if len(self.codes) >= self.limits.number_formats:
                most = f"{self.limits.number_formats:,}"
                raise TooLarge(f"has more than {most} different formats of numbers", "number_formats")
            self._numbers[code] = len(self.codes)
            self.codes.append(code)
        return self._numbers[code]

    def merge(self, first: Place, last: Place) -> None:
        """Keep a merged block, without what of it lies below and beside the sheet."""
        self.merged.append((first, (min(last[0], ROWS - 1), min(last[1], COLUMNS - 1))))
        if len(self.merged) > self.limits.merged_blocks:
            raise TooLarge(f"has more than {self.limits.merged_blocks:,} blocks of merged cells", "merged_blocks")


class SheetScanner:
    """Scans the sheets of one file.

    Attributes:
        names: the sheets, in the file's order.
        whole: whether the library reads every sheet, whichever is asked for.
    """

    names: Sequence[str]
    whole: bool

    def of(self, sheet: str) -> SheetScan:
        """How large a sheet is and what is odd in it.

        Raises:
            TooLarge: it holds more than is read.
            Damaged: it is not where the file says, or cannot be unpacked.
        """
        raise NotImplementedError


def whole(text: str | None, otherwise: int) -> int:
    """A whole number from zero up as XML writes it."""
    return int(text) if text and len(text) < 10 and text.isascii() and text.isdigit() else otherwise


def cell_name(place: Place) -> str:
    """A cell's name, such as ``B12``."""
    letters, column = "", place[1] + 1
    while column:
        column, letter = divmod(column - 1, 26)
        letters = chr(65 + letter) + letters
    return f"{letters}{place[0] + 1}"
