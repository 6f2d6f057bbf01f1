"""Rows of one green and season, read out of a frame of many: few enough to be gone through one by one."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import chain
from operator import itemgetter
from typing import Any

from pipeline.indicators.base.green_season import Evidence

Row = Mapping[str, Any]


def no_lines(places: Sequence[int]) -> tuple[Evidence, ...]:
    """Of rows that are looked at for what they come to alone: their lines are not asked for."""
    return ()


@dataclass(frozen=True)
class Rows:
    """Rows in the order of their frame.

    Attributes:
        of: number of the green and season they are of.
        rows: the rows.
        lines: gives the lines of the users' files behind their places.
    """

    of: int
    rows: Sequence[Row]
    lines: Callable[[Sequence[int]], tuple[Evidence, ...]]

    def __len__(self) -> int:
        return len(self.rows)

    def __iter__(self) -> Iterator[Row]:
        return iter(self.rows)

    def these(self, rows: Sequence[Row]) -> Rows:
        """Others of the same green and season."""
        return Rows(self.of, rows, self.lines)

    def where(self, kept: Callable[[Row], object]) -> Rows:
        """Those for which something holds."""
        return self.these([row for row in self.rows if kept(row)])

    def given(self, *columns: str) -> Rows:
        """Those that give all of these columns."""
        if len(columns) == 1:
            (name,) = columns
            return self.these([row for row in self.rows if row[name] is not None])
        return self.where(lambda row: all(row[name] is not None for name in columns))

    def having(self, name: str, *values: object) -> Rows:
        """Those whose column is one of these values."""
        return self.these([row for row in self.rows if row[name] in values])

    def since(self, day: date) -> Rows:
        """Those of a day and after it."""
        return self.these([row for row in self.rows if row["date"] >= day])

    def column(self, name: str) -> list[Any]:
        """A column of them."""
        return [row[name] for row in self.rows]

    def total(self, name: str) -> float:
        """Sum of a column, rounded once at its end: the same whatever the order of the rows; null counts as nothing."""
        return math.fsum(row[name] for row in self.rows if row[name] is not None)

    def mean(self, name: str) -> float:
        """Mean of a column where it is given, which it is at least once."""
        known = [row[name] for row in self.rows if row[name] is not None]
        return math.fsum(known) / len(known)

    def split(self, *names: str) -> dict[tuple[Any, ...], Rows]:
        """Those alike in some columns, by what these say, in the order of the first of each."""
        parts: dict[Any, list[Row]] = {}
        alike = itemgetter(*names)
        for row in self.rows:
            parts.setdefault(alike(row), []).append(row)
        one = len(names) == 1
        return {(key,) if one else key: self.these(rows) for key, rows in parts.items()}

    @property
    def evidence(self) -> tuple[Evidence, ...]:
        """The lines of the users' files behind them; a row of several has a list of them."""
        places = self.column("origin")
        return self.lines(places if not places or isinstance(places[0], int) else list(chain.from_iterable(places)))
