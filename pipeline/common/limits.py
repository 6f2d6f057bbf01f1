"""How much is read of what comes from outside: one table of limits, each a setting, judged before memory is taken."""

from __future__ import annotations

from time import monotonic
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

MB = 1_000_000
"""Bytes of a megabyte, as settings count them."""
Most = Annotated[int, Field(ge=1, strict=True)]

RAISE = "raise {setting} under [limits] in settings.toml"
"""What to do where a larger file is meant; part of a hint."""


class Limits(BaseModel):
    """The table ``[limits]`` of settings.toml; all figures are common practice without a source, where none is named.

    A file beyond one of them is refused before it costs a gigabyte; one within all of them may need more.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    text_mb: Most = 64
    lines: Most = 2_000_000
    columns: Annotated[int, Field(ge=1, le=16_384, strict=True)] = 2_000
    cells: Most = 20_000_000
    line_kb: Most = 1_000
    odd_rows: Most = 100_000
    cell_characters: Most = 32_767
    workbook_mb: Most = 200
    parts: Most = 10_000
    unpacked_mb: Most = 250
    sheets: Most = 1_000
    filled_cells: Most = 2_000_000
    table_cells: Most = 5_000_000
    characters: Most = 50_000_000
    merged_blocks: Most = 20_000
    number_formats: Most = 5_000
    cell_styles: Most = 100_000
    nested: Annotated[int, Field(ge=10, le=10_000, strict=True)] = 1_000
    seconds: Most = 120
    photo_mb: Most = 40
    photo_megapixels: Most = 80
    picture_kb: Most = 1_000
    picture_megapixels: Most = 25

    @property
    def largest(self) -> int:
        """Bytes of the largest file that is read, of whatever sort."""
        return max(self.text_mb, self.workbook_mb) * MB


STANDARD = Limits()

LIMITS_TEXT = """\
# How much is read of a file: what is larger is refused, and the message names the line here that allows more. Within
# these a refused file takes less than a gigabyte of memory; raise one for a file that you trust.
[limits]
text_mb = 64                  # a text, such as CSV: megabytes
lines = 2000000               # its lines
columns = 2000                # columns of a table; 16,384 at most
cells = 20000000              # cells of a text
line_kb = 1000                # one line of it: kilobytes; a longer one is a rejected row
odd_rows = 100000             # lines that cannot be read as rows; with more it is no table
cell_characters = 32767       # one cell, as many as a spreadsheet takes
workbook_mb = 200             # a workbook (xlsx, ods): megabytes, pictures included
parts = 10000                 # files packed in it
unpacked_mb = 250             # its cells and words, unpacked
sheets = 1000
filled_cells = 2000000        # cells with something in them
table_cells = 5000000         # cells up to the last row and column filled, blank ones too
characters = 50000000         # characters of all its cells
merged_blocks = 20000         # blocks of merged cells in a sheet
number_formats = 5000
cell_styles = 100000
nested = 1000                 # elements of a workbook's XML within one another
seconds = 120                 # reading the cells of one file
photo_mb = 40                 # a photo beside a CSV
photo_megapixels = 80
picture_kb = 1000             # a logo, or a picture of a text: every document carries it
picture_megapixels = 25
"""


class TooLarge(Exception):
    """More than is read: the text completes "The file ..." or "The workbook ...", the setting allows more."""

    def __init__(self, reason: str, setting: str) -> None:
        super().__init__(reason)
        self.setting = setting


class Deadline:
    """Counts from its making how long something takes."""

    def __init__(self, limits: Limits) -> None:
        self._seconds, self._began = limits.seconds, monotonic()

    def check(self) -> None:
        """Go on, or not.

        Raises:
            TooLarge: the time is over.
        """
        if monotonic() - self._began > self._seconds:
            raise TooLarge(f"was not read within {self._seconds:,} seconds", "seconds")
