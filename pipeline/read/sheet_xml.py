"""What the spreadsheet library does not tell: failed cells, formulas without a stored value, merged cells.

The library gives a blank for a cell that says ``#DIV/0!`` and for a formula nobody has worked out; a blank would be
taken for "no value". So the sheet's own XML is looked through for these.

Source: ECMA-376 part 1, 18.3.1.4 (cells), 18.3.1.55 (merged cells); OASIS OpenDocument 1.3 part 3, 9.1 and 19.
"""

from __future__ import annotations

import html
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product

Place = tuple[int, int]
"""Row and column, counted from 0."""

_XLSX_CELL = re.compile(r"<(?:\w+:)?c\b([^>]*?)(?:/>|>(.*?)</(?:\w+:)?c>)", re.DOTALL)
_XLSX_VALUE = re.compile(r"<(?:\w+:)?v\b[^>]*>([^<]+)</|<(?:\w+:)?is\b")
_XLSX_FORMULA = re.compile(r"<(?:\w+:)?f\b")
_XLSX_MERGED = re.compile(r"<(?:\w+:)?mergeCell\b[^>]*\bref=\"([A-Z]+)(\d+):([A-Z]+)(\d+)\"")
_XLSX_SHEET = re.compile(r"<(?:\w+:)?sheet\b([^>]*)>")
_RELATION = re.compile(r"<(?:\w+:)?Relationship\b([^>]*)>")
_ATTRIBUTE = re.compile(r"([\w:-]+)=\"([^\"]*)\"")
_ODS_TABLE = re.compile(r"<table:table\b([^>]*)>(.*?)</table:table>", re.DOTALL)
_FACTS = r"((?:[^>\"]|\"[^\"]*\")*?)"
_ODS_PART = re.compile(
    rf"<table:table-row\b{_FACTS}>|<table:(?:covered-)?table-cell\b{_FACTS}"
    r"(?:/>|>(.*?)</table:(?:covered-)?table-cell>)",
    re.DOTALL,
)
_REPEATS = 10_000
_TAG = re.compile(r"<[^>]+>")
_ODS_ERROR = re.compile(r"(?:#[A-Z/0?!]+[!?]?|Err:\d+)")


@dataclass
class Oddities:
    """Cells of a sheet that need a word.

    Attributes:
        failed: text of cells whose formula failed.
        unstored: formulas without a stored value.
        merged: first and last cell of each merged block.
    """

    failed: dict[Place, str] = field(default_factory=dict)
    unstored: list[Place] = field(default_factory=list)
    merged: list[tuple[Place, Place]] = field(default_factory=list)


def oddities_of(book: zipfile.ZipFile, sheet: str) -> Oddities:
    """What is odd in a sheet of an XLSX or ODS file."""
    names = set(book.namelist())
    if "content.xml" in names:
        return _ods(book.read("content.xml").decode("utf-8", "replace"), sheet)
    part = _part_of(book, sheet)
    return _xlsx(book.read(part).decode("utf-8", "replace")) if part in names else Oddities()


def _xlsx(xml: str) -> Oddities:
    found = Oddities()
    if 't="e"' in xml or _XLSX_FORMULA.search(xml):
        for place, facts, inside in _xlsx_cells(xml):
            value = _XLSX_VALUE.search(inside)
            if facts.get("t") == "e" and value and value.group(1):
                found.failed[place] = html.unescape(value.group(1))
            elif _XLSX_FORMULA.search(inside) and not value and facts.get("t") != "str":
                found.unstored.append(place)
    for left, top, right, bottom in _XLSX_MERGED.findall(xml):
        found.merged.append(((int(top) - 1, _column(left)), (int(bottom) - 1, _column(right))))
    return found


def _xlsx_cells(xml: str) -> Iterator[tuple[Place, dict[str, str], str]]:
    for match in _XLSX_CELL.finditer(xml):
        facts = dict(_ATTRIBUTE.findall(match.group(1)))
        place = re.fullmatch(r"([A-Z]+)(\d+)", facts.get("r", ""))
        if place:
            yield (int(place.group(2)) - 1, _column(place.group(1))), facts, match.group(2) or ""


def _part_of(book: zipfile.ZipFile, sheet: str) -> str:
    """Path of a sheet's XML inside an XLSX file."""
    workbook = book.read("xl/workbook.xml").decode("utf-8", "replace")
    relations = book.read("xl/_rels/workbook.xml.rels").decode("utf-8", "replace")
    targets = {
        facts.get("Id"): facts.get("Target", "")
        for facts in (dict(_ATTRIBUTE.findall(tag)) for tag in _RELATION.findall(relations))
    }
    for tag in _XLSX_SHEET.findall(workbook):
        facts = dict(_ATTRIBUTE.findall(tag))
        if html.unescape(facts.get("name", "")) == sheet:
            wanted = next((value for name, value in facts.items() if name.endswith(":id")), "")
            target = targets.get(wanted, "")
            return target.removeprefix("/") if target.startswith("/") else f"xl/{target}"
    return ""


def _ods(xml: str, sheet: str) -> Oddities:
    found = Oddities()
    body = next(
        (
            inside
            for tag, inside in _ODS_TABLE.findall(xml)
            if html.unescape(dict(_ATTRIBUTE.findall(tag)).get("table:name", "")) == sheet
        ),
        "",
    )
    row, column, tall = -1, 0, 1
    for part in _ODS_PART.finditer(body):
        row_facts, cell_facts, inside = part.groups()
        facts = dict(_ATTRIBUTE.findall(cell_facts or row_facts or ""))
        if row_facts is not None:
            row, column, tall = row + tall, 0, int(facts.get("table:number-rows-repeated", 1))
            continue
        wide = int(facts.get("table:number-columns-repeated", 1))
        text = html.unescape(_TAG.sub("", inside or "")).strip()
        if "table:formula" in facts or "-spanned" in (cell_facts or "") or "calcext" in (cell_facts or ""):
            for place in product(range(row, row + min(tall, _REPEATS)), range(column, column + min(wide, _REPEATS))):
                _ods_cell(found, place, facts, text)
        column += wide
    return found


def _ods_cell(found: Oddities, place: Place, facts: dict[str, str], text: str) -> None:
    if facts.get("calcext:value-type") == "error" or ("table:formula" in facts and _ODS_ERROR.fullmatch(text)):
        found.failed[place] = text or "#VALUE!"
    elif "table:formula" in facts and "office:value-type" not in facts and not text:
        found.unstored.append(place)
    down = int(facts.get("table:number-rows-spanned", 1))
    across = int(facts.get("table:number-columns-spanned", 1))
    if down > 1 or across > 1:
        found.merged.append((place, (place[0] + down - 1, place[1] + across - 1)))


def _column(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number - 1
