"""Rejected rows made ready to be mended in a workbook: each with the cells that are wrong, and why."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import polars as pl

from pipeline.common.faults import errors
from pipeline.common.words import on_lines
from pipeline.forms.hints import of_a_form
from pipeline.forms.mending import Marked, ToMend
from pipeline.load.detect import DetectedFile
from pipeline.load.load import Loader
from pipeline.profiles.corrections import read_corrections
from pipeline.profiles.profile import read_profiles
from pipeline.read.sheet import Sheet
from pipeline.standardise.frame import MOST_RANGES, standardise
from pipeline.store.store import Store
from pipeline.validate.validate import validate
from pipeline.workspace.settings import Workspace
from schemas.codes import fold

SUFFIX = ".csv"


def rejects_files(workspace: Workspace) -> list[Path]:
    """The files of rejected rows that lie in the workspace, in order of their names."""
    return sorted(workspace.rejected.glob(f"*{SUFFIX}")) if workspace.rejected.is_dir() else []


@dataclass(frozen=True)
class NothingToMend:
    """Why a file of rejected rows has none to mend here.

    Attributes:
        reason: in a few words.
        fault: whether rows wait in it all the same.
    """

    reason: str
    fault: bool = False


def rows_to_mend(workspace: Workspace, store: Store, path: Path, today: date) -> ToMend | NothingToMend:
    """The rows of a file of rejected rows that are rejected still, or why it has none to mend here.

    Args:
        workspace: settings and folders.
        store: the store, which says what is registered.
        path: the file.
        today: day of loading; a record after it is a fault.
    """
    profiles = read_profiles(workspace.profiles) if workspace.profiles.is_dir() else ()
    loader = Loader(store, workspace, profiles, today, corrections=read_corrections(workspace.corrections))
    found = loader.detect(path, path.name)[0]
    if not isinstance(found, DetectedFile):
        return NothingToMend("its rows are in the store")
    if found.kind is None:
        return NothingToMend("nothing says what it holds", fault=True)
    register = store.register(workspace.settings.season_start)
    standard = standardise(found.sheet, found.kind, found.profile, register.green_aliases, working_h=loader.working_h)
    if standard.broken:
        return NothingToMend("it is refused as a whole; loading it says why", fault=True)
    checked = validate(standard, register, today)
    rejected = checked.rejected["line"].unique().sort()
    sheet = found.sheet
    left = _left(sheet, rejected)
    if not len(rejected):
        ragged = bool(sheet.rejected.height)
        return NothingToMend(left if ragged else "no row of it is rejected now", fault=ragged)
    places = {header: at for at, header in enumerate(sheet.headers)}
    fields = {places[header]: name for name, header in standard.columns.items() if header in places}
    rows = sheet.cells.filter(pl.col("line").is_in(rejected.implode())).sort("line", maintain_order=True)
    faults = checked.faults if found.profile else of_a_form(checked.faults)
    faults = errors(faults).filter(pl.col("line").is_not_null())
    return ToMend(
        rejects=path.name,
        kind=found.kind,
        profile=found.profile_name,
        headers=sheet.headers,
        fields={at: name for at, name in fields.items() if found.kind.by_name[name].asked},
        units=sheet.units,
        rows=tuple(_marked(line, cells, faults, places) for line, *cells in rows.iter_rows()),
        left=left,
    )


def _left(sheet: Sheet, rejected: pl.Series) -> str:
    """Which rows of the file are not among those to mend, and why; "" where none is left."""
    fine = [line for line in sheet.cells["line"] if line not in set(rejected)]
    said = []
    if fine:
        are = "is not rejected any more" if len(fine) == 1 else "are not rejected any more"
        said.append(f"{_lines(fine)} {are}: load the CSV for {'it' if len(fine) == 1 else 'them'}")
    if sheet.rejected.height:
        ragged = list(sheet.rejected["line"])
        have = "has" if len(ragged) == 1 else "have"
        said.append(f"{_lines(ragged)} {have} more or fewer cells than there are columns: mend that in the CSV")
    return "; ".join(said)


def _lines(lines: list[int]) -> str:
    return on_lines(lines, MOST_RANGES)


def _marked(line: int, cells: list[str | None], faults: pl.DataFrame, places: dict[str, int]) -> Marked:
    """A row with what is wrong in it."""
    wrong: dict[int, list[str]] = {}
    reasons: list[str] = []
    by_fold = {fold(header): at for header, at in places.items()}
    for column, message, hint in faults.filter(pl.col("line") == line)["column", "message", "hint"].iter_rows():
        reasons.append(message)
        at = by_fold.get(fold(column))
        if at is not None:
            wrong.setdefault(at, []).append(f"{message} {hint}")
    return Marked(tuple(cells), {at: "\n".join(said) for at, said in wrong.items()}, " · ".join(reasons))
