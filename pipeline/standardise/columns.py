"""Which column of a sheet each field comes from: by a source profile, or by the kind's own headers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import polars as pl

from pipeline.common.closest import closest
from pipeline.common.faults import FaultKind, concat, errors, no_faults
from pipeline.common.words import listed
from pipeline.profiles.style import MISSING
from pipeline.read.sheet import Sheet
from pipeline.standardise import finish
from pipeline.standardise.cells import units
from pipeline.standardise.cells.header_units import parted, unit_against
from pipeline.standardise.cells.powers import MEAN_POWER, RADIATION
from pipeline.standardise.field_units import without_period
from pipeline.standardise.own_headers import named_by
from pipeline.standardise.title_units import Place, of_titles
from schemas import Kind
from schemas.codes import fold, spellings

if TYPE_CHECKING:
    from pipeline.profiles.profile import Profile

COLUMN_MISSING = FaultKind(
    "header.missing",
    "Needed column not in the file",
    "The {kind} file has no column for “{field}”.",
    "Add the column (known headers: {known}), or map it in a source profile under [fields] or [constants] (profile "
    "FILE drafts one).",
)
PROFILE_COLUMN_MISSING = FaultKind(
    "header.not_in_file",
    "Column named in the profile is not in the file",
    "Profile {profile} reads column “{field}”, which the file does not have.",
    "Check the header line of the file (line {header_line}), or mend the profile.",
)
COLUMN_TWICE = FaultKind(
    "header.twice",
    "Two columns for one field",
    "Columns {columns} all stand for “{field}”.",
    "Rename one of them, or say in a source profile which is meant.",
)
COLUMNS_UNUSED = FaultKind(
    "header.unused",
    "Columns that were not used",
    "Not used: {columns}.",
    "If one of them says something of the records, say in a source profile which field it is; list "
    "the others there under [ignore].",
    severity="note",
)
COLUMN_LIKE = FaultKind(
    "header.unused_like",
    "Column that was not used and is named like fields that stay empty",
    "Column “{column}” was not read, and {fields} {stay} empty: figures that need {them} are made without.",
    "Say in a source profile which field it is (profile FILE drafts one), or put it under [ignore] there.",
    severity="warning",
)
IGNORED_MISSPELT = FaultKind(
    "header.ignored_misspelt",
    "Column said not to be needed that the file has under a like name",
    "Profile {profile} says under [ignore] that “{value}” is not needed; the file has no such column, and {closest} is "
    "not used.",
    "Mend the name in the profile, if that is the one that is meant.",
    severity="warning",
)

UNITS_DIFFER = FaultKind(
    "unit.differs",
    "Units row disagrees with the unit declared",
    "Column {column}: the units row says “{value}”, but “{declared}” is declared.",
    "Correct the unit in the profile (or the column's name), or the units row in the file{aliased}.",
)
HEADER_DIFFERS = FaultKind(
    "unit.header_differs",
    "Column's own name disagrees with the unit declared",
    "Column {column}: its name says “{value}”, but the profile declares “{declared}”.",
    "Write unit = “{value}” in the profile if the name is right; else mend the name in the file and in the "
    "profile{aliased}.",
)
NAME_ALONE = FaultKind(
    "unit.header_alone",
    "Unit in a column's name that the profile does not declare",
    "Column {column}: its name says “{value}”, and the profile declares no unit: its figures would be taken for "
    "{stored}.",
    "Write unit = “{value}” for it in the profile, or the unit that its figures are in.",
)
UNIT_UNDECLARED = FaultKind(
    "unit.undeclared",
    "Unit of what was measured not declared",
    "Column {column} holds {what} and nothing says in which unit: {value} may be {unit} or {others}.",
    'Name the column {field} if it is {unit}; else say so in a source profile ({field} = {{ from = "{column}", unit = '
    '"…" }}) or in a row of units under the column names.',
)
_OTHERS = {
    "°C": ("a temperature", "°F, or tenths of them"),
    "mm": ("rain or water", "inches, or tenths of them"),
    "m/s": ("wind", "mph, km/h or knots"),
    RADIATION: ("radiation", "J/cm², kJ/m², kWh/m², or W/m² as the mean"),
    "m": ("a height", "feet"),
}
"""Units of weather that stations write in others: what is measured, and in which."""
_ASKED = {
    "area_m2": ("an area", "square yards, square feet, acres or hectares"),
    "elevation_m": ("a height", "feet"),
    "depth_from_mm": ("a depth", "cm or inches"),
    "depth_to_mm": ("a depth", "cm or inches"),
}
"""Fields of other kinds that are written in several units: what is measured, and in which others it is."""
_ENDS_BARE = r"\d[^\w\"'″′°%]*$"
"""A figure with no unit behind it; a mark (``12.3*``) is none."""
_ZERO = r"^0+(?:[.,]0*)?$"
"""The upper end of the ground is the same in any unit of length."""


class Origin(NamedTuple):
    """Where a field comes from: positions of its columns, header as seen, and what the profile says of its cells."""

    columns: tuple[int, ...]
    header: str
    unit: str
    missing: tuple[str, ...] = ()
    join: str = " "
    split: str = ""
    part: int = 1
    end: str = ""
    limit: float | str | None = None
    factor: float = 1.0
    offset: float = 0.0


@dataclass(frozen=True)
class Mapping:
    """Field name → where in the sheet it comes from."""

    origins: dict[str, Origin]
    faults: pl.DataFrame

    def headers(self, kind: Kind) -> dict[str, str]:
        """Field → the column a person sees; a field that a shorthand fills is seen in the shorthand's column."""
        seen = {name: origin.header for name, origin in self.origins.items()}
        filled = {name: seen[one.name] for one in kind.fields if one.name in seen for name in one.fills}
        return filled | seen

    @property
    def sound(self) -> bool:
        """Whether the columns are clear; where they are not, no row of the file can be trusted."""
        return errors(self.faults).is_empty()


def by_profile(sheet: Sheet, profile: Profile) -> Mapping:
    """Columns as a source profile names them; a column the file lacks is a fault of the whole file."""
    position = {fold(header): i for i, header in reversed(list(enumerate(sheet.headers)))}
    for at, name in enumerate(profile.long[0].says if profile.long else ()):  # columns that each [[long]] fills
        position[fold(name)] = len(sheet.headers) + at
    origins, faults, kind = {}, [], profile.record_kind
    needed = [(name, o.columns) for name, o in profile.fields.items()]
    needed += [("", (entry.column,)) for entry in profile.long] + [
        ("", (column,)) for column in (*profile.limit_columns, *profile.only)
    ]
    for column in dict.fromkeys(column for _, columns in needed for column in columns):
        if fold(column) not in position:
            facts = {"profile": profile.name, "field": column, "header_line": sheet.header_line}
            faults.append(PROFILE_COLUMN_MISSING.at(None, None, column, **facts))
    if not faults:
        for name, origin in profile.fields.items():
            where = tuple(position[fold(column)] for column in origin.columns)
            unit, found = _unit(sheet, where[0], origin.unit, origin.header, kind, name, profile.unit_words)
            faults += found
            if len(where) == 1 and (origin.factor, origin.offset) == (1.0, 0.0):  # else converted by the profile itself
                faults.append(_name_differs(sheet, where[0], origin.unit, kind, name, profile.unit_words))
            said = origin.model_dump(include={"missing", "join", "split", "part", "end", "limit", "factor", "offset"})
            origins[name] = Origin(where, origin.header, unit, **said)
        for entry in profile.long:
            declared = entry.unit or str(entry.constants.get("unit", ""))
            at = position[fold(entry.column)]
            faults += _unit(sheet, at, declared, entry.column, kind, entry.into, profile.unit_words)[1]
            if entry.factor == 1.0:
                faults.append(_name_differs(sheet, at, declared, kind, entry.into, profile.unit_words))
    faults.append(_missing_required(kind, {*profile.fields, *profile.constants, *_long_fields(profile)}))
    places = {name: Place(one.columns[0], one.header, profile.fields[name].unit) for name, one in origins.items()}
    filled = {*profile.fields, *profile.constants, *(name for each in profile.long for name in each.constants)}
    faults += [_unused(sheet, profile.explained, kind, filled), _ignored_misspelt(sheet, profile)]
    faults.append(of_titles(sheet, places, kind))
    return Mapping(origins, concat(faults))


def _long_fields(profile: Profile) -> set[str]:
    """Fields that every [[long]] entry gives."""
    given = [{*e.constants, e.into or profile.record_kind.value_field} for e in profile.long]
    return set.intersection(*given) if given else set()


def by_own_headers(sheet: Sheet, kind: Kind) -> Mapping:
    """Columns whose headers are the kind's own, under any of their known names."""
    named = named_by(sheet.headers, kind)
    found: dict[str, list[int]] = {}
    for i, one in enumerate(named):
        if one:
            found.setdefault(one.field.name, []).append(i)
    faults = []
    origins = {}
    for name, columns in found.items():
        if len(columns) > 1:
            shown = ", ".join(f"“{sheet.headers[i]}”" for i in columns)
            faults.append(COLUMN_TWICE.at(column=name, columns=shown, field=name))
        first = named[columns[0]]
        assert first is not None
        header = sheet.headers[columns[0]]
        unit, told = _unit(sheet, columns[0], first.unit, header, kind, name, {})
        faults += told
        origins[name] = Origin((columns[0],), header, unit)
    faults.append(_missing_required(kind, set(found)))
    places = {name: Place(one.columns[0], one.header, one.unit) for name, one in origins.items()}
    used = frozenset(fold(header) for header, one in zip(sheet.headers, named, strict=True) if one)
    faults += [_unused(sheet, used, kind, set(found)), of_titles(sheet, places, kind)]
    return Mapping(origins, concat(faults))


def _unit(
    sheet: Sheet, column: int, declared: str, header: str, kind: Kind, name: str, words: dict[str, str]
) -> tuple[str, list[pl.DataFrame]]:
    """The unit in force: the declared one; a units row must say the same, and stands where none is declared.

    ``words`` are units in the file's own words, folded, with what the profile says each stands for.
    """
    said = unit_said(sheet, column)
    said = without_period(said, kind, name)
    meant = "" if said in MISSING else words.get(fold(said), said)
    faults = [
        _undeclared(sheet, column, declared or meant, kind, name),
        _mean_power(declared or meant, header, kind, name),
    ]
    if declared and meant and not finish.same_unit(meant, declared):
        facts = {"declared": declared, "aliased": _to_be_aliased(said, kind)}
        faults.append(UNITS_DIFFER.at(sheet.header_line + 1, said, header, **facts))
    return declared or meant, faults


def _name_differs(
    sheet: Sheet, column: int, declared: str, kind: Kind, name: str, words: dict[str, str]
) -> pl.DataFrame:
    """The fault of a column whose own name says another unit than the profile; a units row speaks before the name."""
    field = kind.by_name.get(name)
    taken = declared or (field.unit if field else "")
    if not taken or column >= len(sheet.headers) or unit_said(sheet, column) not in MISSING | {""}:
        return no_faults()
    header = sheet.headers[column]
    said = without_period(unit_against(header, taken), kind, name)
    if not said or finish.same_unit(words.get(fold(said), said), taken):
        return no_faults()
    if not declared:
        return NAME_ALONE.at(sheet.header_line, said, header, stored=taken)
    listed = kind.by_name["unit"].choices if "unit" in kind.by_name else ""
    aliased = f", or say what “{said}” stands for under [aliases.{listed}]" if listed else ""
    return HEADER_DIFFERS.at(sheet.header_line, said, header, declared=declared, aliased=aliased)


def unit_said(sheet: Sheet, column: int) -> str:
    """What the units row says over a column, "" where it says nothing or there is none."""
    there = sheet.units is not None and column < len(sheet.units)
    return (sheet.units[column] or "").strip(" ()[]") if sheet.units and there else ""


def _to_be_aliased(said: str, kind: Kind) -> str:
    """How a unit that is in no list is explained, as the tail of a hint; "" where the kind has no list of units."""
    listed = kind.by_name["unit"].choices if "unit" in kind.by_name else ""
    if not listed or fold(said) in spellings(listed):
        return ""
    return f", or write what “{said}” stands for into the source profile under [aliases.{listed}]"


def _undeclared(sheet: Sheet, column: int, unit: str, kind: Kind, name: str) -> pl.DataFrame:
    """The fault of a column of weather, layers or a green's size that no profile, name or units row gives a unit.

    A station writes its temperatures in °C or in °F under one and the same name. Cells that each say their unit need
    no other.
    """
    field = kind.by_name.get(name)
    if column >= len(sheet.headers):
        return no_faults()
    header = sheet.headers[column]
    asked = _OTHERS.get(field.unit) if field and kind.period else _ASKED.get(name)
    if unit or field is None or asked is None or fold(header) == fold(name):
        return no_faults()
    bare = sheet.cells[f"c{column}"].drop_nulls()
    bare = bare.filter(bare.str.contains(_ENDS_BARE) & ~(bare.str.contains(_ZERO) & ("depth" in name)))
    if not len(bare):
        return no_faults()
    what, others = asked
    return UNIT_UNDECLARED.at(None, bare[0], header, what=what, unit=field.unit, others=others, field=name)


def _mean_power(unit: str, header: str, kind: Kind, name: str) -> pl.DataFrame:
    """The note of radiation given as a power."""
    watts = kind.period and name in kind.by_name and kind.by_name[name].unit == RADIATION
    return MEAN_POWER.at(None, unit, header) if watts and units.is_mean_power(unit) else no_faults()


def _missing_required(kind: Kind, given: set[str]) -> pl.DataFrame:
    filled = {name for field in kind.fields if field.name in given for name in field.fills}
    needed = [name for name in kind.needed_beside(given) if name not in given | filled]
    known = {name: ", ".join((name, *kind.by_name[name].also)) for name in needed}
    what = kind.name.replace("_", " ")
    return concat(COLUMN_MISSING.at(column=name, kind=what, field=name, known=words) for name, words in known.items())


def _unused(sheet: Sheet, used: frozenset[str], kind: Kind, filled: set[str]) -> pl.DataFrame:
    """That columns were not read: a warning of each that is named like measures that stay empty, a note of the rest."""
    left = [
        header
        for i, header in enumerate(sheet.headers)
        if header and fold(header) not in used and sheet.cells[f"c{i}"].null_count() < sheet.cells.height
    ]
    like = {header: near for header in left if (near := _like(header, kind, filled))}
    faults = [
        COLUMN_LIKE.at(
            column=header,
            fields=listed(near),
            stay="stays" if len(near) == 1 else "stay",
            them="it" if len(near) == 1 else "them",
        )
        for header, near in like.items()
    ]
    rest = ", ".join(f"“{header}”" for header in left if header not in like)
    return concat([*faults, COLUMNS_UNUSED.at(columns=rest) if rest else no_faults()])


def _like(header: str, kind: Kind, filled: set[str]) -> list[str]:
    """The measures that a header may be the name of, where none of them has a column."""
    name = fold(parted(header)[0] or header)
    near = [one.name for one in kind.asked if one.unit and f"{one.stem} ".startswith(f"{name} ")]
    return near if filled.isdisjoint(near) else []


def _ignored_misspelt(sheet: Sheet, profile: Profile) -> pl.DataFrame:
    """Warnings of columns said not to be needed that the file has not, where one like it is there and not used."""
    seen = {fold(header) for header in sheet.headers}
    left = [header for header in sheet.headers if header and fold(header) not in profile.explained]
    gone = [header for header in profile.ignore.headers if fold(header) not in seen] if left else []
    facts = {"profile": profile.name}
    return concat(
        IGNORED_MISSPELT.at(None, header, closest=near[0], **facts)
        for header in gone
        if (near := closest(header, left, 1))
    )
