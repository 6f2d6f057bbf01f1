"""The tables that a source profile is made of."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from pydantic import Field, field_validator, model_validator

from pipeline.common.file_names import fits_any
from pipeline.profiles.style import ProfilePart
from schemas.codes import fold


class Match(ProfilePart):
    """Headers, and where they do not tell sources apart the file's name, by which a file is known to be of this one."""

    headers: tuple[str, ...] = Field(default=(), strict=False)
    file: str = ""
    part: str = ""

    def fits(self, headers: frozenset[str], file: str) -> bool:
        """Whether a file with these folded headers and this name is of this source."""
        if not self.headers or (self.file and not fits_any(Path(file).name, (self.file,))):
            return False
        return all(fold(header) in headers for header in self.headers)


class ReadingPart(ProfilePart):
    """How the bytes and the table are read; what is absent is found out."""

    encoding: str | None = None
    delimiter: str | None = Field(default=None, min_length=1, max_length=1)
    header_line: int | None = Field(default=None, ge=1)
    comment: str | None = None
    units_row: bool | None = None
    totals: tuple[str, ...] | None = Field(default=None, strict=False)
    messages: bool | None = None
    sheet: str | None = None
    sheets: tuple[str, ...] | None = Field(default=None, strict=False)

    @model_validator(mode="after")
    def _one_way(self) -> ReadingPart:
        if self.sheet and self.sheets:
            raise ValueError("`sheet` names one sheet and `sheets` several: keep one of the two")
        return self


class Origin(ProfilePart):
    """Where one field comes from: one column, or several joined, or a part of one; its unit; marks for missing."""

    columns: tuple[str, ...] = Field(alias="from", min_length=1, strict=False)
    join: str = " "
    split: str = ""
    part: int = Field(default=1, ge=1)
    end: str = ""
    unit: str = ""
    missing: tuple[str, ...] = Field(default=(), strict=False)
    limit: float | str | None = None
    factor: float = Field(default=1.0, gt=0, strict=False)
    offset: float = Field(default=0.0, strict=False)
    as_above: Literal["", "marks", "blank"] = ""

    @field_validator("columns", mode="before")
    @classmethod
    def _one_or_many(cls, value: object) -> object:
        return (value,) if isinstance(value, str) else value

    @property
    def header(self) -> str:
        """The column or columns as a person sees them."""
        return self.join.join(self.columns)


class Long(ProfilePart):
    """One column of a wide sheet that becomes a record of its own in every row."""

    column: str = Field(alias="from")
    into: str = ""
    unit: str = ""
    limit: float | str | None = None
    factor: float = Field(default=1.0, gt=0, strict=False)
    offset: float = Field(default=0.0, strict=False)
    constants: dict[str, str | int | float | bool] = Field(default_factory=dict, alias="set")
    says: dict[str, str | int] = Field(default_factory=dict)


class Given(ProfilePart):
    """Where a value stands that holds for the whole file: one of a title line, the file's name, the sheet's name."""

    title: str = ""
    file: str = ""
    sheet: str = ""

    @model_validator(mode="after")
    def _one_pattern(self) -> Given:
        if sum(bool(one) for one in (self.title, self.file, self.sheet)) != 1:
            raise ValueError("say one of title, file and sheet, with a pattern for what stands there")
        from pipeline.common.patterns import why_no_pattern

        if why := why_no_pattern(self.pattern):
            raise ValueError(f"{self.pattern!r} is no pattern: {why}")
        return self

    @property
    def pattern(self) -> str:
        """What is looked for."""
        return self.title or self.file or self.sheet

    @property
    def place(self) -> str:
        """Where, in words."""
        return "the title" if self.title else "the file's name" if self.file else "the sheet's name"


class Several(ProfilePart):
    """How a cell that names several is parted, each with a record of its own."""

    between: tuple[str, ...] = Field(default=(), strict=False)
    words: dict[str, tuple[str, ...]] = Field(default_factory=dict, strict=False)
    whole: Literal["", "first", "each", "shared"] = ""

    @field_validator("words", mode="before")
    @classmethod
    def _lists(cls, value: object) -> object:
        if not isinstance(value, dict):
            return value
        return {word: tuple(names) if isinstance(names, list) else names for word, names in value.items()}


class Ignore(ProfilePart):
    """Columns, and sheets of a workbook, known not to be needed."""

    headers: tuple[str, ...] = Field(default=(), strict=False)
    sheets: tuple[str, ...] = Field(default=(), strict=False)
