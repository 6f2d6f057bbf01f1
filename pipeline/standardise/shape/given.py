"""Values that hold for a whole file: from its title lines, its name, its sheet's name, or as the person said them.

They become a column of the sheet, as the head of a form does, so that they are understood, checked and written into a
file of rejected rows like any other.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from pipeline.common.closest import offered
from pipeline.common.faults import FaultKind, concat, errors
from pipeline.common.patterns import match_of
from pipeline.profiles.style import Style
from pipeline.read.sheet import Sheet
from pipeline.standardise.cells.distinct import Cells, missing_out
from pipeline.standardise.fields import understand
from schemas import Kind
from schemas.codes import fold

if TYPE_CHECKING:
    from pipeline.profiles.parts import Given
    from pipeline.profiles.profile import Profile

NOT_FOUND = FaultKind(
    "given.not_found",
    "Value for the whole file not found",
    "The profile takes {field} from {place} (“{pattern}”), and {found}.",
    "Mend the pattern under [given] in the profile, or say it while loading: --set {field}=….",
)
DIFFERS = FaultKind(
    "given.differs",
    "Value for the whole file contradicts its rows",
    "{column} says “{value}” here, and {place} says “{other}” for the whole file.",
    "One of the two is wrong: mend the cell, or what is said for the whole file.",
)
TWO_WAYS = FaultKind(
    "given.two_ways",
    "Value for the whole file said twice",
    "{field}: {place} says “{value}”, and {other_place} says “{other}”.",
    "Keep one of the two.",
)
NO_FIELD = FaultKind(
    "given.no_field",
    "No such field",
    "--set says {field}, which is not a field of {kind}{closest}.",
    "Load files of different kinds one after the other.",
)
NOT_UNDERSTOOD = FaultKind(
    "given.not_understood",
    "Value for the whole file not understood",
    "{field} = “{value}” ({place}): {why}",
    "Mend it where it stands, or say it while loading: --set {field}=….",
)
SET = "--set"
_PARTS = ("year", "month", "day")


@dataclass(frozen=True)
class _Said:
    """A value for the whole file, and where it stands."""

    text: str
    place: str


def with_given(
    sheet: Sheet, profile: Profile | None, kind: Kind, told: Mapping[str, str]
) -> tuple[Sheet, Profile | None]:
    """The sheet with a column for each value that holds for all of it, and the profile that reads it from there.

    Args:
        sheet: as read.
        profile: its profile, None where its headers are the kind's own.
        kind: kind of record.
        told: by field, what the person said while loading.
    """
    wanted = dict(profile.given) if profile else {}
    if not (wanted or told):
        return sheet, profile
    if sheet.mending and profile:
        profile = _from_their_columns(sheet, profile, wanted)
    said, faults = _said(sheet, kind, wanted, told)
    if profile:
        faults += [
            _twice(name, _Said(str(profile.constants[name]), "[constants] of the profile"), one)
            for name, one in said.items()
            if name in profile.constants and str(profile.constants[name]) != one.text
        ]
    style = profile.values if profile else Style()
    for name, one in said.items():
        if name not in kind.by_name:  # a part of a value: a column that a field joins with others
            sheet = _wider(sheet, name, one.text)
            continue
        field = kind.by_name[name]
        source = Cells(pl.Series([0], dtype=pl.Int64), pl.Series([one.text]), name)
        aliases = dict(profile.aliases) if profile else {}
        wrong = errors(understand(field, source, style, aliases).faults)["message"]
        if len(wrong):
            facts = {"field": name, "place": one.place, "why": wrong[0]}
            faults.append(NOT_UNDERSTOOD.at(None, one.text, **facts))
            continue
        sheet, profile, differs = _as_column(sheet, profile, kind, name, one, style)
        faults.append(differs)
    return replace(sheet, faults=concat([sheet.faults, *faults])), profile


def _from_their_columns(sheet: Sheet, profile: Profile, wanted: dict[str, Given]) -> Profile:
    """The profile of rejected rows, which hold in columns what their whole file said; those are ``wanted`` no more."""
    for name, given in list(wanted.items()):
        names = {fold(name), fold(f"{name} ({given.place})")}
        header = next((one for one in sheet.headers if fold(one) in names), None)
        if header is not None and name in profile.record_kind.by_name and name not in profile.fields:
            profile = profile.reading_also(name, header)
        if header is not None or name in profile.fields:
            del wanted[name]
    return profile


def _said(
    sheet: Sheet, kind: Kind, wanted: Mapping[str, Given], told: Mapping[str, str]
) -> tuple[dict[str, _Said], list[pl.DataFrame]]:
    """What is said for the whole file, by field, and what is wrong with it."""
    said, faults = {}, []
    for name, given in wanted.items():
        texts = _texts(sheet, given)
        found = list(dict.fromkeys(text for one in texts if (text := _match(given.pattern, one))))
        if len(found) == 1:
            said[name] = _Said(found[0], given.place)
        elif name not in told:
            what = f"it says {' and '.join(f'“{one}”' for one in found)}" if found else "nothing there fits it"
            facts = {"field": name, "place": given.place, "pattern": given.pattern, "found": what}
            faults.append(NOT_FOUND.at(None, None, **facts))
    for name, text in told.items():
        if name not in kind.by_name:
            facts = {"field": name, "kind": kind.name, "closest": offered(name, kind.by_name)}
            faults.append(NO_FIELD.at(None, text, **facts))
        elif name in said and said[name].text != text:
            faults.append(_twice(name, said[name], _Said(text, SET)))
        else:
            said[name] = _Said(text, SET)
    return said, faults


def _twice(name: str, one: _Said, other: _Said) -> pl.DataFrame:
    facts = {"field": name, "place": one.place, "other_place": other.place, "other": other.text}
    return TWO_WAYS.at(None, one.text, **facts)


def _texts(sheet: Sheet, given: Given) -> list[str]:
    """The texts in which a value is looked for."""
    if given.file:
        return [Path(sheet.file).name]
    if given.sheet:
        return [sheet.name]
    mark = sheet.delimiter if sheet.delimiter.strip() else " "
    return [mark.join(row).strip(f"{mark} ") for row in sheet.above]


def _match(pattern: str, text: str) -> str:
    """What a pattern finds in a text: the parts of a day as ISO writes it, else the first group, else all it fits."""
    found = match_of(pattern, text)
    if not found:
        return ""
    whole, groups = found
    if any(groups.get(part) for part in _PARTS):
        return "-".join(groups[part].zfill(2) for part in _PARTS if groups.get(part))
    return next(iter(groups.values()), whole).strip()


def _as_column(
    sheet: Sheet, profile: Profile | None, kind: Kind, name: str, one: _Said, style: Style
) -> tuple[Sheet, Profile | None, pl.DataFrame]:
    """The sheet with the value in a column of the field; a cell of that field that says another is a fault."""
    origin = profile.fields.get(name) if profile else None
    known = {fold(header) for header in (origin.columns if origin else kind.by_name[name].headers)}
    at = [place for place, header in enumerate(sheet.headers) if fold(header) in known]
    if (profile is None or origin) and len(at) == 1:
        column = f"c{at[0]}"
        cells = missing_out(sheet.cells[column], style.also_missing(origin.missing if origin else ()))
        other = _otherwise(cells, kind, name, one, profile, style)
        where = (sheet.cells["line"].filter(other), cells.filter(other))
        faults = DIFFERS.frame(*where, sheet.headers[at[0]], place=one.place, other=one.text)
        done = pl.when(cells.is_null()).then(pl.lit(one.text)).otherwise(cells).alias(column)
        return replace(sheet, cells=sheet.cells.with_columns(done)), profile, faults
    taken = {fold(header) for header in sheet.headers}
    header = name if fold(name) not in taken else f"{name} ({one.place})"
    if profile:
        profile = profile.reading_also(name, header)
    return _wider(sheet, header, one.text), profile, concat([])


def _wider(sheet: Sheet, header: str, text: str) -> Sheet:
    """The sheet with one more column, the same in every row."""
    width = len(sheet.headers)
    cells = sheet.cells.with_columns(pl.lit(text).alias(f"c{width}"))
    units = None if sheet.units is None else (*sheet.units, *[""] * (width + 1 - len(sheet.units)))
    return replace(sheet, headers=(*sheet.headers, header), cells=cells, units=units)


def _otherwise(cells: pl.Series, kind: Kind, name: str, one: _Said, profile: Profile | None, style: Style) -> pl.Series:
    """Whether each cell says something else than the value for the whole file, both as they are understood."""
    texts = [text for text in cells.drop_nulls().unique() if text != one.text]
    if not texts:
        return pl.repeat(False, len(cells), dtype=pl.Boolean, eager=True)
    aliases = dict(profile.aliases) if profile else {}
    source = Cells(pl.int_range(len(texts) + 1, eager=True), pl.Series([one.text, *texts]), name)
    meant = understand(kind.by_name[name], source, style, aliases).values.to_series(0)
    same = {text for text, value in zip(texts, meant[1:], strict=True) if value is not None and value == meant[0]}
    return cells.is_in([text for text in texts if text not in same]).fill_null(value=False)
