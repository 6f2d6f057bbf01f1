"""A sheet of cells to a frame of typed records: headers to fields, units to SI, wide to long."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import polars as pl

from pipeline.faults import FaultKind, no_faults, together
from pipeline.read.table import Sheet
from pipeline.standardise import finish
from pipeline.standardise.fields import Cells, missing_out, understand
from pipeline.standardise.style import Style
from pipeline.standardise.written import written_column
from schemas import Kind
from schemas.codes import fold
from schemas.field import Field

if TYPE_CHECKING:
    from pipeline.read.profile import Long, Profile

COLUMN_MISSING = FaultKind(
    "header.missing",
    "Needed column not in the file",
    "The {kind} file has no column for “{field}”.",
    "Add the column (known headers: {known}), or map it in a source profile under [fields] or [constants].",
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
    "Nothing need be done; map them in a source profile if they matter, or list them under [ignore].",
    severity="note",
)
UNITS_DIFFER = FaultKind(
    "unit.differs",
    "Units row disagrees with the unit declared",
    "Column {column}: the units row says “{value}”, the profile says “{declared}”.",
    "Correct the unit in the profile, or the units row in the file.",
)
SHORTHAND_DIFFERS = FaultKind(
    "shorthand.differs",
    "Two columns of one row contradict each other",
    "{column} says “{value}”, but {field} in the same row says something else.",
    "Keep one of the two, or make them agree.",
)


@dataclass(frozen=True)
class Standard:
    """What standardising yields.

    Attributes:
        kind: kind of record.
        records: every record put forward: the kind's fields, ``line``, ``record`` (0, 1, 2 …), ``written``.
        rejected: numbers of the records that an error concerns.
        faults: everything met on the way, FAULT_SCHEMA.
        ignored: lines left out, with the reason.
        broken: True where the whole file is refused.
    """

    kind: Kind
    records: pl.DataFrame
    rejected: pl.Series
    faults: pl.DataFrame
    ignored: pl.DataFrame
    broken: bool = False


@dataclass(frozen=True)
class _Mapping:
    """Field name → the columns of the sheet it comes from, with headers and units."""

    origins: dict[str, tuple[tuple[int, ...], str, str, tuple[str, ...], str]]
    faults: pl.DataFrame


def standardise(
    sheet: Sheet, kind: Kind, profile: Profile | None, green_aliases: Mapping[str, str] | None = None
) -> Standard:
    """Typed records of a sheet, with every fault met; grain: one row a record put forward.

    Args:
        sheet: what reading yielded.
        kind: kind of record.
        profile: source profile, or None where the headers are the kind's own.
        green_aliases: other names that the register of greens declares; the profile's own come first.
    """
    style = profile.style if profile else Style()
    mapping = _declared(sheet, profile) if profile else _own_headers(sheet, kind)
    faults = [sheet.faults, mapping.faults]
    if mapping.faults.filter(pl.col("severity") == "error").height or _has_file_error(sheet.faults):
        return _refused(sheet, kind, faults)
    cells, ignored = _only(sheet, profile)
    aliases = dict(profile.aliases) if profile else {}
    aliases["green"] = {**(green_aliases or {}), **aliases.get("green", {})}
    base = _Records(cells["line"], {}, {}, [], set())
    for name, origin in mapping.origins.items():
        base = base.plus(kind.by_name[name], _cells(cells, origin), style, aliases)
    base = base.with_constants(kind, profile.constants if profile else {}, style, aliases)
    parts = [base]
    if profile and profile.long:
        parts = [_long_part(base, entry, sheet, cells, kind, style, aliases) for entry in profile.long]
    frames = []
    start = 0
    rejected: list[pl.Series] = []
    for part in parts:
        done, part_rejected, part_faults = part.finish(kind, start)
        frames.append(done)
        rejected.append(part_rejected)
        faults.append(part_faults)
        start += done.height
    records = pl.concat(frames) if frames else base.finish(kind, 0)[0]
    return Standard(kind, records, pl.concat(rejected).unique(), _once(together(faults)), ignored)


def _once(faults: pl.DataFrame) -> pl.DataFrame:
    """Faults without echoes: what concerns a whole line of a wide sheet is said once."""
    return faults.unique(["line", "column", "value", "code", "message"], keep="first", maintain_order=True)


def _has_file_error(faults: pl.DataFrame) -> bool:
    return faults.filter(pl.col("line").is_null() & (pl.col("severity") == "error")).height > 0


def _refused(sheet: Sheet, kind: Kind, faults: list[pl.DataFrame]) -> Standard:
    empty = pl.DataFrame(schema={**kind.frame_schema, "line": pl.Int64, "record": pl.Int64, "written": pl.String})
    return Standard(kind, empty, pl.Series([], dtype=pl.Int64), together(faults), sheet.ignored, broken=True)


@dataclass(frozen=True)
class _Records:
    """Columns understood so far for the rows of a sheet (immutable: each step gives a new one)."""

    lines: pl.Series
    columns: dict[str, pl.Series]
    written: dict[str, pl.Series]
    faults: list[pl.DataFrame]
    bad_lines: set[int]

    def plus(self, field: Field, source: Cells, style: Style, aliases: Mapping[str, Mapping[str, str]]) -> _Records:
        done = understand(field, source, style, aliases)
        columns = dict(self.columns)
        faults = [*self.faults, done.faults]
        for series in done.values:
            name = f"{field.name}.below" if series.name == "below" else series.name
            if name in columns:
                both = columns[name].is_not_null() & series.is_not_null() & (columns[name] != series)
                faults.append(
                    SHORTHAND_DIFFERS.frame(
                        source.lines.filter(both), source.cells.filter(both), source.header, field=name
                    )
                )
                columns[name] = pl.select(pl.coalesce(series, columns[name])).to_series().alias(name)
            else:
                columns[name] = series.alias(name)
        errors = pl.concat([frame for frame in faults[len(self.faults) :] if frame.height] or [no_faults()])
        bad = set(errors.filter(pl.col("severity") == "error")["line"].drop_nulls())
        written = dict(self.written)
        kept = written_column(field, source.cells, done.values)
        if kept is not None:
            written[field.name] = kept
        return _Records(self.lines, columns, written, faults, self.bad_lines | bad)

    def with_constants(
        self, kind: Kind, constants: Mapping[str, object], style: Style, aliases: Mapping[str, Mapping[str, str]]
    ) -> _Records:
        done = self
        plain = replace(style, decimal=".", thousands="")
        for name, value in constants.items():
            field = kind.by_name[name]
            text = str(value).lower() if isinstance(value, bool) else str(value)
            one = Cells(pl.Series([0], dtype=pl.Int64), pl.Series([text]), f"constant {name}")
            understood = understand(field, one, plain, aliases)
            assert not understood.faults.height, (
                f"constant {name} = {value!r}: {understood.faults['message'].to_list()}"
            )
            columns = dict(done.columns)
            for series in understood.values:
                if series.name != "below":
                    columns[series.name] = pl.Series(series.name, [series[0]], dtype=series.dtype).new_from_index(
                        0, len(self.lines)
                    )
            done = replace(done, columns=columns)
        return done

    def finish(self, kind: Kind, start: int) -> tuple[pl.DataFrame, pl.Series, pl.DataFrame]:
        """The records' frame, numbers of the rejected, and the faults."""
        height = len(self.lines)
        frame = pl.DataFrame(
            [
                self.columns.get(field.name, pl.Series([None], dtype=field.polars_type).new_from_index(0, height))
                .alias(field.name)
                .cast(field.polars_type)
                for field in kind.stored
            ]
            + [self.lines.alias("line"), _numbers(start, height)]
        )
        below = {name.removesuffix(".below"): s for name, s in self.columns.items() if name.endswith(".below")}
        frame, extra = finish.finish(kind, frame, below)
        bad = self.bad_lines | set(extra.filter(pl.col("severity") == "error")["line"].drop_nulls())
        rejected = frame.filter(pl.col("line").is_in(sorted(bad)))["record"]
        frame = frame.with_columns(written_json(self.written, height))
        return frame, rejected, together([*self.faults, extra])


def _numbers(start: int, height: int) -> pl.Series:
    return pl.int_range(start, start + height, eager=True).alias("record").cast(pl.Int64)


def written_json(written: Mapping[str, pl.Series], height: int) -> pl.Series:
    """JSON of the cells as the user wrote them, null where every one was understood as it stands."""
    if not written:
        return pl.Series("written", [None], dtype=pl.String).new_from_index(0, height)
    parts = []
    for name, cells in written.items():
        text = cells.str.replace_all("\\", "\\\\", literal=True).str.replace_all('"', '\\"', literal=True)
        text = text.str.replace_all("\n", "\\n", literal=True).str.replace_all("\t", "\\t", literal=True)
        text = text.str.replace_all(r"[\x00-\x1f]", " ")
        parts.append(pl.lit(f'"{name}": "') + text + pl.lit('"'))
    joined = pl.concat_str(parts, separator=", ", ignore_nulls=True)
    frame = pl.DataFrame(dict(written))
    return frame.select(
        pl.when(pl.all_horizontal(pl.col("*").is_null()))
        .then(None)
        .otherwise(pl.lit("{") + joined + pl.lit("}"))
        .alias("written")
    ).to_series()


def _cells(cells: pl.DataFrame, origin: tuple[tuple[int, ...], str, str, tuple[str, ...], str]) -> Cells:
    columns, header, unit, missing, join = origin
    if len(columns) == 1:
        text = cells[f"c{columns[0]}"]
    else:
        text = cells.select(pl.concat_str([f"c{i}" for i in columns], separator=join, ignore_nulls=False)).to_series()
    return Cells(cells["line"], text, header, unit, missing)


def _declared(sheet: Sheet, profile: Profile) -> _Mapping:
    position = {fold(header): i for i, header in reversed(list(enumerate(sheet.headers)))}
    origins = {}
    faults = []
    needed = [(name, o.columns) for name, o in profile.fields.items()]
    needed += [("", (entry.column,)) for entry in profile.long] + [("", (column,)) for column in profile.only]
    for column in dict.fromkeys(column for _, columns in needed for column in columns):
        if fold(column) not in position:
            facts = {"profile": profile.name, "field": column, "header_line": sheet.header_line}
            faults.append(PROFILE_COLUMN_MISSING.at(column=column, **facts))
    if not faults:
        for name, origin in profile.fields.items():
            where = tuple(position[fold(column)] for column in origin.columns)
            unit, fault = _unit(sheet, where, origin.unit, origin.header)
            faults.append(fault)
            origins[name] = (where, origin.header, unit, origin.missing, origin.join)
    faults.append(_missing_required(profile.record_kind, {*origins, *profile.constants, *_long_fields(profile)}, sheet))
    faults.append(_unused(sheet, profile.wanted | {fold(header) for header in profile.ignore.headers}))
    return _Mapping(origins, together(faults))


def _long_fields(profile: Profile) -> set[str]:
    """Fields that every [[long]] entry gives."""
    given = [{*e.constants, e.into or profile.record_kind.value_field} for e in profile.long]
    return set.intersection(*given) if given else set()


def _own_headers(sheet: Sheet, kind: Kind) -> _Mapping:
    names = {fold(name): field for field in kind.fields for name in (field.name, *field.also)}
    found: dict[str, list[int]] = {}
    for i, header in enumerate(sheet.headers):
        if field := names.get(fold(header)):
            found.setdefault(field.name, []).append(i)
    faults = []
    origins = {}
    for name, columns in found.items():
        if len(columns) > 1:
            shown = ", ".join(f"“{sheet.headers[i]}”" for i in columns)
            faults.append(COLUMN_TWICE.at(column=name, columns=shown, field=name))
        header = sheet.headers[columns[0]]
        unit, fault = _unit(sheet, (columns[0],), "", header)
        faults.append(fault)
        origins[name] = ((columns[0],), header, unit, (), " ")
    faults.append(_missing_required(kind, set(found), sheet))
    faults.append(_unused(sheet, frozenset(names)))
    return _Mapping(origins, together(faults))


def _unit(sheet: Sheet, columns: tuple[int, ...], declared: str, header: str) -> tuple[str, pl.DataFrame]:
    """The unit in force: the declared one; a units row must say the same, and stands where none is declared."""
    said = (sheet.units[columns[0]] or "").strip() if sheet.units else ""
    if not said:
        return declared, no_faults()
    if declared and not finish.same_unit(said, declared):
        return declared, UNITS_DIFFER.at(sheet.header_line + 1, said, header, declared=declared)
    return declared or said, no_faults()


def _missing_required(kind: Kind, given: set[str], sheet: Sheet) -> pl.DataFrame:
    filled = {name for field in kind.fields if field.name in given for name in field.fills}
    missing = [name for name in kind.required if name not in given | filled]
    frames = []
    for name in missing:
        known = ", ".join((name, *kind.by_name[name].also))
        frames.append(COLUMN_MISSING.at(column=name, kind=kind.name.replace("_", " "), field=name, known=known))
    return together(frames)


def _unused(sheet: Sheet, used: frozenset[str]) -> pl.DataFrame:
    left = [f"“{header}”" for header in sheet.headers if header and fold(header) not in used]
    return COLUMNS_UNUSED.at(columns=", ".join(left)) if left else no_faults()


def _only(sheet: Sheet, profile: Profile | None) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The rows a profile's [only] lets through, and the ignored lines with those it leaves out."""
    if profile is None or not profile.only:
        return sheet.cells, sheet.ignored
    position = {fold(header): i for i, header in reversed(list(enumerate(sheet.headers)))}
    cells, ignored = sheet.cells, [sheet.ignored]
    for column, words in profile.only.items():
        keep = cells[f"c{position[fold(column)]}"].is_in(list(words)).fill_null(False)
        left = cells.filter(~keep)["line"]
        ignored.append(
            pl.DataFrame({"line": left}).with_columns(pl.lit(f"{column} is not {' or '.join(words)}").alias("reason"))
        )
        cells = cells.filter(keep)
    return cells, pl.concat(ignored)


def _long_part(
    base: _Records,
    entry: Long,
    sheet: Sheet,
    cells: pl.DataFrame,
    kind: Kind,
    style: Style,
    aliases: Mapping[str, Mapping[str, str]],
) -> _Records:
    """The records that one column of a wide sheet makes: the row's own fields and this cell."""
    position = next(i for i, header in enumerate(sheet.headers) if fold(header) == fold(entry.column))
    unit = entry.unit or (sheet.units[position] if sheet.units and sheet.units[position] else "")
    field = kind.by_name[entry.into or kind.value_field]
    if "unit" in entry.constants:  # the record's own unit field carries it: the number stays as it is
        unit = ""
    part = base.with_constants(kind, entry.constants, style, aliases)
    return part.plus(field, Cells(cells["line"], cells[f"c{position}"], entry.header, unit), style, aliases)


__all__ = ["Standard", "missing_out", "standardise"]
