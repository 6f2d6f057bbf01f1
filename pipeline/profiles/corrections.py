"""Corrections of known errors in a source: each with a reason, a name and a guard; made before a cell is understood.

A correction names one cell of one file: by its line, or by what other cells of its row say. It also says what the cell
holds now; once the source is mended it no longer fits, and that is a fault. One that leaves the cell as it is confirms
it: somebody has looked, and a warning of that cell is settled.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from hashlib import sha256
from pathlib import Path

import polars as pl
from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from pipeline.common.closest import offered
from pipeline.common.faults import FaultKind, concat
from pipeline.common.file_names import last_part
from pipeline.common.misfits import misfits
from pipeline.common.refusal import CannotDo
from pipeline.common.toml import read_toml, toml_files
from pipeline.read.sheet import Sheet
from schemas.codes import fold

CORRECTED = FaultKind(
    "correction.made",
    "Corrected",
    "{column}: “{value}” was read as “{to}” ({why}; {who}).",
    "Nothing need be done; the correction stands in {source}.",
    severity="note",
)
CONFIRMED = FaultKind(
    "correction.confirmed",
    "Confirmed as it stands",
    "{column}: “{value}” is right as it stands ({why}; {who}).",
    "Nothing need be done; the confirmation stands in {source}, and warnings of this cell count as settled.",
    severity="note",
)
DOES_NOT_FIT = FaultKind(
    "correction.does_not_fit",
    "Correction no longer fits",
    "{source} corrects {column} from “{old}” to “{to}”, but the cell says “{value}”.",
    "If the source has been mended, delete the correction; if not, bring it up to date.",
)
NO_SUCH_CELL = FaultKind(
    "correction.no_cell",
    "Correction points to no single cell",
    "{source} corrects column “{column}” where {where}: {count} rows fit{closest}.",
    "Name the line, or enough cells under `where` that one row fits; or delete the correction.",
)


class Correction(BaseModel):
    """One correction, as it stands in corrections/*.toml."""

    model_config = ConfigDict(defer_build=True, extra="forbid", frozen=True, strict=True, populate_by_name=True)

    file: str = Field(min_length=1)
    sheet: str = ""
    line: int | None = Field(default=None, ge=1)
    where: dict[str, str] = Field(default_factory=dict)
    column: str = Field(min_length=1)
    old: str = Field(alias="from")
    to: str
    why: str = Field(min_length=1)
    who: str = Field(min_length=1)
    source: str = ""

    @model_validator(mode="after")
    def _names_a_row(self) -> Correction:
        if self.line is None and not self.where:
            raise ValueError("a correction needs `line` or `where`")
        return self


def read_corrections(folder: Path) -> tuple[Correction, ...]:
    """Every correction of a workspace, in order of files and place.

    Raises:
        CannotDo: a file is not TOML, or holds what a correction may not hold.
    """
    found: list[Correction] = []
    for path in toml_files(folder):
        data = read_toml(path)
        if set(data) - {"correction"} or not isinstance(data.get("correction", []), list):
            raise CannotDo(f"{path.name} may only hold [[correction]] tables.", "docs/corrections.md shows one.")
        for number, one in enumerate(data.get("correction", []), 1):
            try:
                found.append(Correction.model_validate({**one, "source": path.name}))
            except (ValidationError, TypeError) as error:
                what = misfits(error, "correction", Correction) if isinstance(error, ValidationError) else str(error)
                raise CannotDo(f"{path.name}, correction {number}: {what}", "docs/corrections.md shows one.") from None
    return tuple(found)


def for_file(corrections: tuple[Correction, ...], file: str) -> tuple[Correction, ...]:
    """The corrections of one file, named as it is shown or by its last part."""
    return tuple(one for one in corrections if one.file in {file, last_part(file)})


def for_part(corrections: tuple[Correction, ...], sheet: str) -> tuple[Correction, ...]:
    """Those of one sheet of a workbook ("": of a text); one that names no sheet is for whichever is read."""
    return tuple(one for one in corrections if not one.sheet or one.sheet == sheet)


def idle(corrections: tuple[Correction, ...], files: Collection[str]) -> Iterator[str]:
    """What to say of each correction of a file that is none of these, in the order of the corrections."""
    shown = {last_part(file) for file in files} | set(files)
    for one in dict.fromkeys((one.source, one.file) for one in corrections if one.file not in shown):
        source, file = one
        yield f"corrections/{source} corrects “{file}”, and no file of that name was ever loaded{offered(file, shown)}."


def fingerprint(corrections: tuple[Correction, ...]) -> str:
    """SHA-256 of corrections, "" where there are none: with it a file counts as another one."""
    if not corrections:
        return ""
    return sha256("\n".join(one.model_dump_json() for one in corrections).encode()).hexdigest()


def correct(sheet: Sheet, corrections: tuple[Correction, ...]) -> Sheet:
    """The sheet with its corrections made, and a note or fault for each.

    A row whose correction no longer fits carries an error, so it is rejected until somebody has looked.
    """
    from dataclasses import replace

    cells, faults = sheet.cells, [sheet.faults]
    for one in corrections:
        cells, fault = _correct_one(sheet, cells, one)
        faults.append(fault)
    return replace(sheet, cells=cells, faults=concat(faults))


def _correct_one(sheet: Sheet, cells: pl.DataFrame, one: Correction) -> tuple[pl.DataFrame, pl.DataFrame]:
    position = {fold(header): i for i, header in reversed(list(enumerate(sheet.headers)))}
    names = [one.column, *one.where]
    missing = [name for name in names if fold(name) not in position]
    rows = cells.clear() if missing else _rows(cells, one, position)
    where = f"line {one.line}" if one.line is not None else ", ".join(f"{k} is “{v}”" for k, v in one.where.items())
    if rows.height != 1:
        near = "".join(f"; there is no column “{name}”{offered(name, sheet.headers)}" for name in missing)
        facts = {"source": one.source, "where": where, "count": rows.height, "closest": near}
        fault = NO_SUCH_CELL.at(one.line, None, one.column, **facts)
        return cells, fault
    column = f"c{position[fold(one.column)]}"
    line, value = rows["line"][0], rows[column][0] or ""
    facts = {"to": one.to, "source": one.source}
    if value != one.old:
        return cells, DOES_NOT_FIT.at(line, value, one.column, old=one.old, **facts)
    mended = pl.when(pl.col("line") == line).then(pl.lit(one.to or None, dtype=pl.String)).otherwise(pl.col(column))
    kind = CONFIRMED if one.to == one.old else CORRECTED
    made = kind.at(line, value, sheet.headers[position[fold(one.column)]], why=one.why, who=one.who, **facts)
    return cells.with_columns(mended.alias(column)), made


def _rows(cells: pl.DataFrame, one: Correction, position: dict[str, int]) -> pl.DataFrame:
    fits = pl.lit(value=True)
    if one.line is not None:
        fits &= pl.col("line") == one.line
    for name, value in one.where.items():
        fits &= pl.col(f"c{position[fold(name)]}").fill_null("") == value
    return cells.filter(fits)
