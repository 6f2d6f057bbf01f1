"""The sheets of an ODS file as their XML says them: sizes, failed cells, formulas without a value, what is shown.

Source: OASIS OpenDocument 1.3 part 3, 9.1 (tables), 19 (attributes).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import product

from pipeline.common.limits import Limits, TooLarge
from pipeline.read.workbook.cells_shown import code_of_shown
from pipeline.read.workbook.package import Damaged, Package
from pipeline.read.workbook.used_range import Place, SheetScan, SheetScanner, whole


class Ods(SheetScanner):
    """The sheets of an ODS file; the library reads them all at once."""

    whole = True

    def __init__(self, package: Package, content: str) -> None:
        self._scans: dict[str, SheetScan] = {}
        walk = _ContentWalk(self._scans, package.limits)
        package.parse(content, walk.start, walk.end, walk.characters)
        self.names = list(self._scans)

    def of(self, sheet: str) -> SheetScan:
        """How large a sheet is and what is odd in it; see :class:`SheetScanner`."""
        if sheet not in self._scans:
            raise Damaged(f'the sheet "{sheet}" is not in it')
        return self._scans[sheet]


_ODS_CELLS = frozenset({"table:table-cell", "table:covered-table-cell"})
_ODS_ERROR = re.compile(r"(?:#[A-Z/0?!]+[!?]?|Err:\d+)")


class _ContentWalk:
    """A walk through the XML of an ODS file, which holds every sheet."""

    def __init__(self, scans: dict[str, SheetScan], limits: Limits) -> None:
        self._scans, self._limits = scans, limits
        self._sheets: list[SheetScan] = []
        self._row, self._column, self._tall, self._wide = -1, 0, 1, 1
        self._facts: dict[str, str] = {}
        self._text: list[str] = []
        self._inside = self._aside = 0
        self._said = False

    def start(self, name: str, facts: dict[str, str]) -> None:
        if name == "table:table":
            scan = SheetScan(limits=self._limits)
            if not self._sheets:
                self._scans[facts.get("table:name", "")] = scan
                if len(self._scans) > self._limits.sheets:
                    raise TooLarge(f"has more than {self._limits.sheets:,} sheets", "sheets")
                self._row, self._tall = -1, 1
            self._sheets.append(scan)
        elif name == "table:table-row" and len(self._sheets) == 1:
            self._row, self._column = self._row + self._tall, 0
            self._tall = whole(facts.get("table:number-rows-repeated"), 1)
        elif name in _ODS_CELLS and len(self._sheets) == 1:
            self._wide = whole(facts.get("table:number-columns-repeated"), 1)
            self._facts, self._text, self._said = facts, [], False
        elif name == "text:p":
            self._inside += 1
            self._said = True
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

    def _cell(self, scan: SheetScan, text: str) -> None:
        facts, place = self._facts, (self._row, self._column)
        down = whole(facts.get("table:number-rows-spanned"), 1)
        across = whole(facts.get("table:number-columns-spanned"), 1)
        if down > 1 or across > 1:
            scan.merge(place, (place[0] + down - 1, place[1] + across - 1))
        formula, sort = "table:formula" in facts, facts.get("office:value-type", "")
        if not (text or formula or sort):
            return
        scan.fill(place, max(len(text), len(facts.get("office:string-value", ""))), self._tall, self._wide)
        if facts.get("calcext:value-type") == "error" or (formula and _ODS_ERROR.fullmatch(text)):
            scan.failed.update((at, text or "#VALUE!") for at in self._places())
        elif formula and not sort and not text:
            scan.unstored.extend(self._places())
        elif code := code_of_shown(sort, _value_of(facts), text if self._said else None):
            number = scan.code(code)
            for at in self._places():
                scan.shown_by(at, number)

    def _places(self) -> Iterator[Place]:
        rows, columns = range(self._row, self._row + self._tall), range(self._column, self._column + self._wide)
        return product(rows, columns)


def _value_of(facts: dict[str, str]) -> str:
    """A cell's stored number, day or time as text."""
    return next(
        (facts[name] for name in ("office:value", "office:date-value", "office:time-value") if name in facts), ""
    )
