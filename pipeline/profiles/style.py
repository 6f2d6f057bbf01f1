"""How a source writes its values, and what a column of cells is understood as."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import polars as pl
from pydantic import BaseModel, ConfigDict, Field

from pipeline.common.faults import FaultKind

MISSING = frozenset({"na", "n/a", "n.a.", "-", "--", "---", "–", "—", "*", "null"})
"""Marks for "no value", folded. "nil" and "none" are not among them: a crew also writes them for zero."""

FILLED = "*"
"""What [only] holds of a column in which any value will do: as a cell it is a mark for "no value"."""

BELOW = frozenset(
    {"nd", "n.d.", "not detected", "none detected", "bdl", "below detection limit", "below limit", "<lod", "<loq"}
)
"""Marks for "below the limit" that do not say which limit, folded."""


class ProfilePart(BaseModel):
    """A table of a source profile."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class Style(ProfilePart):
    """How values are written in a source; what is not declared is not guessed.

    Attributes:
        date_order: order of day, month and year in dates written with numbers; None: such a date is refused, even
            where only one order fits it (13/02/2024), because that says nothing about the rows beside it. ISO dates
            and dates with the month's name need no order.
        two_digit_years: first year of the hundred that two-digit years mean.
        spreadsheet_dates: system that day numbers count from; None: a bare number is no date.
        decimal: decimal mark, "." or ",".
        thousands: mark between groups of three digits, "" where there is none. Without one, ``1,369`` is refused: it
            is 1369 to one person and 1.369 to another. With one, groups must be whole: ``1,36`` is refused.
        missing: marks for "no value" beside ``MISSING``.
        below: marks for "below the limit" beside "<" and ``BELOW``.
        ton: what "ton" (and "cwt") means; None: refused. "t" and "tonne" are metric always.
        barrow_l: volume of one barrow load, l; None: refused.
        working_day_h: hours of work in a day; None: what the workspace's settings say, and a day is refused where they
            say nothing.
        working_week_h: the same of a week.
        flags: marks glued to numbers that may be left out (``9+`` with flags ("+",) is 9, with a note).
    """

    date_order: Literal["dmy", "mdy", "ymd"] | None = None
    two_digit_years: int = Field(default=1950, ge=1000, le=9900)
    spreadsheet_dates: Literal[1900, 1904] | None = None
    decimal: Literal[".", ","] = "."
    thousands: Literal["", ",", ".", " ", "'"] = ""
    missing: tuple[str, ...] = Field(default=(), strict=False)
    below: tuple[str, ...] = Field(default=(), strict=False)
    ton: Literal["metric", "long", "short"] | None = None
    barrow_l: float | None = Field(default=None, gt=0)
    working_day_h: float | None = Field(default=None, gt=0, le=24)
    working_week_h: float | None = Field(default=None, gt=0, le=168)
    flags: tuple[str, ...] = Field(default=(), strict=False)

    def also_missing(self, marks: tuple[str, ...]) -> Style:
        """The same with further marks for "no value"."""
        return self.model_copy(update={"missing": (*self.missing, *marks)})

    def working(self, day_h: float | None, week_h: float | None) -> Style:
        """The same with hours of a working day and week where it says none."""
        day = day_h if self.working_day_h is None else self.working_day_h
        week = week_h if self.working_week_h is None else self.working_week_h
        return self.model_copy(update={"working_day_h": day, "working_week_h": week})

    def is_missing(self, text: str) -> bool:
        """Whether a cell says that there is no value."""
        return not text or text.casefold() in MISSING or text in self.missing

    def is_below(self, text: str) -> bool:
        """Whether a cell says "below the limit" without the limit."""
        return text.casefold() in BELOW or text in self.below


@dataclass(frozen=True)
class Understood:
    """What a column was understood as.

    Attributes:
        values: one row a cell, in the cells' order; null where there is no value or it was refused.
        faults: an error for each cell refused, warnings and notes for others.
        as_written: whether every cell is known to say just what its value says.
    """

    values: pl.DataFrame
    faults: pl.DataFrame
    as_written: bool = False


@dataclass(frozen=True)
class Problem:
    """A kind of fault with the facts of one cell."""

    kind: FaultKind
    facts: tuple[tuple[str, object], ...] = ()

    @classmethod
    def of(cls, kind: FaultKind, **facts: object) -> Problem:
        """A problem with these facts."""
        return cls(kind, tuple(facts.items()))


class Refused(Exception):
    """A cell cannot be understood; carries the problem to the column that reports it."""

    def __init__(self, kind: FaultKind, **facts: object) -> None:
        super().__init__(kind.code)
        self.problem = Problem.of(kind, **facts)
