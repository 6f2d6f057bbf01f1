"""How one field of a record is described: once, here; everything else is made from it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    import polars as pl

    PolarsType = type[pl.DataType] | pl.DataType
FieldType = Literal["text", "code", "choice", "number", "whole", "money", "date", "flag", "shorthand", "image"]

MONEY_DECIMALS = 4
"""Decimals that money is kept with: a price of one of many small things may need more than two."""
MONEY_DIGITS = 14
"""Digits of it in all: ten before the point, with four behind it eight bytes in store and frames alike."""

_TYPES: dict[str, tuple[str, str]] = {
    "text": ("String", "VARCHAR"),
    "code": ("String", "VARCHAR"),
    "choice": ("String", "VARCHAR"),
    "number": ("Float64", "DOUBLE"),
    "whole": ("Int64", "BIGINT"),
    "money": ("Decimal", f"DECIMAL({MONEY_DIGITS},{MONEY_DECIMALS})"),
    "date": ("Date", "DATE"),
    "flag": ("Boolean", "BOOLEAN"),
    "image": ("Binary", "BLOB"),
}
"""Types of a field's column in a frame, by their name in polars, and in the store."""


@dataclass(frozen=True)
class Field:
    """One field of a record.

    Attributes:
        name: column in store, template and frames; its suffix is the unit.
        type: ``text`` free words; ``code`` an identifier kept as written (``01`` is not ``1``); ``choice`` one of
            ``choices``; ``number``; ``whole``; ``money`` in the workspace's currency, kept in decimal and never as a
            binary fraction; ``date``; ``flag`` yes or no; ``shorthand`` what a crew writes in one
            cell (``2 x 25 kg``), which is not stored itself but fills the fields in ``fills``; ``image`` a picture's
            bytes, made while loading and asked of no file.
        meaning: one sentence for the data dictionary and the store's comments.
        unit: SI unit the value is stored in; "" where it has none.
        label: what a report calls it.
        required: a row without it is rejected.
        key: part of the natural key: a later row with the same key is the same record.
        low: smallest possible value; below it the row is rejected. Physical limits only: what is merely odd is a
            cross-record rule with its source.
        high: largest possible value.
        above: the value must be larger than this.
        choices: name of the list of allowed words in schemas/codes/, or "" where any is.
        refers: kind this value names a record of ("green"), or "".
        fills: for ``shorthand``: the fields it is understood into. Of a ``date``: the field that takes the last day it can
            have been where only the month or year is known; the date itself takes the first. () where a day is needed.
            Of a ``choice``: the field that takes the species its word names, where several words mean one of the list.
        also: other headers this field is known by, lower case.
        example: a value for the template and the docs.
        private: kept out of every report and comparison.
        trace: a word for "less than can be measured" (``tr``) counts as 0, and it is said: of rain, not of a laboratory.
        nines: what becomes of a row of nines (``-99.9``, ``9999``), by which sources say that nothing was measured,
            where the profile does not say so: below nought or past the limits it is refused; ``refused``: three nines
            and more are so too; ``never``: two as well; ``asked``: a possible one is kept and asked about; ``long``:
            the same of four nines alone, below nought too. "" of figures that no instrument gives.
        month: of a date: a month without a day stands for its first day, since the record is of that month.
        open: for ``refers``: a name that is in no register is let in with a warning, for it may be registered later.
        rests_on: fields of the same row that it says nothing without: where a later row of a register gives one of these
            anew and leaves this one blank, this one is not carried over from the row before.
        words: what a form's column of it is headed, where that is not the name in words; the unit is added.
    """

    name: str
    type: FieldType
    meaning: str
    unit: str = ""
    label: str = ""
    required: bool = False
    key: bool = False
    low: float | None = None
    high: float | None = None
    above: float | None = None
    choices: str = ""
    refers: str = ""
    fills: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    example: str = ""
    private: bool = False
    trace: bool = False
    nines: Literal["", "asked", "refused", "never", "long"] = ""
    month: bool = False
    open: bool = False
    rests_on: tuple[str, ...] = ()
    words: str = ""

    @property
    def stored(self) -> bool:
        """Whether the field is a column of the store (a shorthand is not: it fills others)."""
        return self.type != "shorthand"

    @property
    def asked(self) -> bool:
        """Whether a user's file may give the field (an image is made while loading)."""
        return self.type != "image"

    @property
    def numeric(self) -> bool:
        """Whether its values are numbers: a cell of it is read as one."""
        return self.type in {"number", "whole", "money"}

    @property
    def polars_type(self) -> PolarsType:
        """Type of the field's column in a standardised frame."""
        import polars as pl

        found: type[pl.DataType] = getattr(pl, _TYPES[self.type][0])
        return pl.Decimal(MONEY_DIGITS, MONEY_DECIMALS) if found is pl.Decimal else found

    @property
    def store_type(self) -> str:
        """Type of the field's column in the store."""
        return _TYPES[self.type][1]

    @property
    def stem(self) -> str:
        """The field's own name without the unit it ends in, in words: ``spacing along``."""
        return self.name.removesuffix(f"_{_suffix(self.unit)}").replace("_", " ")

    @property
    def heading(self) -> str:
        """The field as a form heads its column, unit in brackets: ``Spacing along (mm)``."""
        words = self.words or self.stem
        return words[:1].upper() + words[1:] + (f" ({self.unit})" if self.unit else "")

    @property
    def headers(self) -> tuple[str, ...]:
        """Every header the field is known by: its name and heading, which say the unit, then the others."""
        return (self.name, self.heading, *self.also)

    @property
    def limits(self) -> str:
        """The limits in words, "" where there are none."""
        parts = []
        if self.above is not None:
            parts.append(f"more than {self.above:g}")
        if self.low is not None:
            parts.append(f"at least {self.low:g}")
        if self.high is not None:
            parts.append(f"at most {self.high:g}")
        return " and ".join(parts) + (f" {self.unit}" if parts and self.unit else "")


def _suffix(unit: str) -> str:
    """A unit as the names of fields end in it: ``g/m²`` → ``g_m2``."""
    for mark, letters in (("°C", "c"), ("°", "deg"), ("%", "pct"), ("/", "_"), ("²", "2"), ("³", "3")):
        unit = unit.replace(mark, letters)
    return unit.lower()
