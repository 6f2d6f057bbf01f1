"""CSV sheets that know which line they are writing, and what was planted on it."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from random import Random
from typing import Any

Cells = dict[str, str]


@dataclass(frozen=True)
class Planted:
    """A trouble put into a file on purpose: where it stands and what should come of it."""

    file: str
    line: int
    column: str
    value: str
    trouble: str
    outcome: str


@dataclass(frozen=True)
class Spoil:
    """A trouble to be put into one row of a sheet.

    Attributes:
        column: header of the cell to be changed; "" adds a cell too many to the row.
        value: what the cell becomes.
        trouble: what is wrong, in words.
        outcome: ``rejected``, ``warning`` or ``loaded``.
        where: rows it may fall on.
    """

    column: str
    value: str
    trouble: str
    outcome: str = "rejected"
    where: Callable[[Cells], bool] = lambda _: True


def text(value: Any) -> str:
    """A value as a canonical CSV holds it."""
    if value is None:
        return ""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return f"{value:.10g}"
    return str(value)


@dataclass
class Sheet:
    """A CSV file under way."""

    name: str
    delimiter: str = ","
    line_end: str = "\n"
    encoding: str = "utf-8"
    planted: list[Planted] = field(default_factory=list)
    rows: int = 0
    _out: io.StringIO = field(default_factory=lambda: io.StringIO(newline=""))

    @property
    def line(self) -> int:
        """Number of the line that is written next."""
        return self._out.getvalue().count("\n") + 1

    def add(self, cells: Iterable[str]) -> None:
        """Write one row that is not counted as data."""
        csv.writer(self._out, delimiter=self.delimiter, lineterminator=self.line_end).writerow(cells)

    def plant(self, column: str, value: str, trouble: str, outcome: str) -> None:
        """Note that the line written next holds a planted trouble."""
        self.planted.append(Planted(self.name, self.line, column, value, trouble, outcome))

    def fill(self, headers: Iterable[str], rows: list[Cells], spoils: Iterable[Spoil] = ()) -> None:
        """Write data rows, each of the spoils put into a row of its own."""
        names = list(headers)
        spoiled = _placed(self.name, rows, spoils)
        for number, row in enumerate(rows):
            cells = [row.get(name, "") for name in names]
            spoil = spoiled.get(number)
            if spoil is not None:
                self.plant(spoil.column, spoil.value, spoil.trouble, spoil.outcome)
                if spoil.column:
                    cells[names.index(spoil.column)] = spoil.value
                else:
                    cells.append(spoil.value)
            self.add(cells)
            self.rows += 1

    def save(self, folder: Path) -> None:
        """Write the file."""
        folder.mkdir(parents=True, exist_ok=True)
        (folder / self.name).write_bytes(self._out.getvalue().encode(self.encoding))


def _placed(name: str, rows: list[Cells], spoils: Iterable[Spoil]) -> dict[int, Spoil]:
    rng = Random(f"{name} spoils")  # noqa: S311 - invented data, not a secret
    placed: dict[int, Spoil] = {}
    for spoil in spoils:
        free = [number for number, row in enumerate(rows) if number not in placed and spoil.where(row)]
        assert free, f"{name}: no row for {spoil.trouble}"
        placed[rng.choice(free)] = spoil
    return placed


def canonical(name: str, headers: Iterable[str], rows: Iterable[dict[str, Any]]) -> Sheet:
    """A clean sheet with the kind's own headers."""
    sheet, names = Sheet(name), list(headers)
    sheet.add(names)
    sheet.fill(names, [{key: text(row.get(key)) for key in names} for row in rows])
    return sheet
