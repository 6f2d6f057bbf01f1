"""The sheet by which a workbook is known as a form: what its other sheets hold, where, and what stands for what.

Whoever fills a form in sees it as its last sheet. Loading goes by it alone, so a form made by an earlier version, or
for registers that have changed since, is read as it was meant when it was printed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

SHEET = "About this form"
"""Name of the sheet."""
LISTS = "Lists"
"""Name of the sheet with the words of the drop-downs: no records stand in it."""
EDITION = "1"
"""How this sheet is written; a form of a later edition is refused."""
LEAVE = "Leave this sheet as it is: loading goes by it."
HEADER = ("What", "Sheet", "Name", "Stands as", "Meaning")
"""Its columns."""

FORM, TABLE, COLUMN, HEAD, FIXED, NAME, PROFILE, REASON, REJECTED = (
    "form", "table", "column", "head", "fixed", "name", "profile", "reason", "rejected rows of",
)  # fmt: skip
"""What a row of it says something of."""


@dataclass(frozen=True)
class Line:
    """One row of the sheet.

    Attributes:
        what: one of the words above.
        sheet: the sheet it is about, "" for the whole workbook.
        name: ``table``: kind of record; ``column``, ``head``, ``fixed``: field; ``name``: what is named ("green");
            ``profile``: source profile.
        stands: ``form``: edition; ``column``: its header; ``head``: the words before its cell; ``fixed``: the value in
            every row; ``name``: the code that the name stands for; ``rejected rows of``: their CSV.
        meaning: for whoever reads it; of a ``name``, the name itself.
    """

    what: str
    sheet: str
    name: str
    stands: str
    meaning: str


@dataclass(frozen=True)
class About:
    """What the sheet says.

    Attributes:
        lines: its rows.
    """

    lines: tuple[Line, ...]

    def of(self, what: str, sheet: str | None = None) -> list[Line]:
        """Rows that say something of this, of one sheet where it is named."""
        return [line for line in self.lines if line.what == what and sheet in {None, line.sheet}]

    def names(self, of: str) -> dict[str, str]:
        """Codes by the names that the form offers for them."""
        return {line.meaning: line.stands for line in self.of(NAME) if line.name == of}

    @property
    def rejects_of(self) -> str:
        """Name of the CSV whose rows it holds, to be mended; "" for a form of its own."""
        return next((line.stands for line in self.of(REJECTED)), "")


def about_of(rows: Iterable[tuple[str, ...]]) -> About:
    """What the rows under the header say."""
    return About(tuple(Line(*row) for row in rows))
