"""A sheet of cells to a frame of typed records: headers to fields, units to SI, wide to long."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults, refuse_file
from pipeline.common.words import counted, on_lines
from pipeline.profiles.style import FILLED, Style
from pipeline.read.sheet import Sheet
from pipeline.standardise.cells.distinct import Cells, missing_out
from pipeline.standardise.cells.numbers import number_column
from pipeline.standardise.columns import Mapping as Columns
from pipeline.standardise.columns import Origin, by_own_headers, by_profile, unit_said
from pipeline.standardise.typed_records import Aliases, Records, error_lines
from schemas import Kind
from schemas.codes import fold

if TYPE_CHECKING:
    from pipeline.profiles.parts import Long
    from pipeline.profiles.profile import Profile
    from pipeline.standardise.several.parted import Parted

MOST_RANGES = 8
"""Places named in one sentence; how many lines are left is said."""
BLANK_CELL = " is blank"
"""Ending of the reason why a cell of a wide sheet made no record."""

PART_MISSING = FaultKind(
    "cell.part",
    "Cell without the part that is wanted",
    "“{value}” has no part {part} when it is parted at “{split}”.",
    "Write the cell as the others are, or mend `split` and `part` in the profile.",
)


LINES_LOST = FaultKind(
    "rejects.lines_lost",
    "Mended rows without the line they stood on",
    "The profile takes the line's number as {field}, and column “line” was deleted or left blank in these mended rows.",
    "Put the column back (load the original file again: its rejected rows are written anew), mend and load it.",
)
ROWS_EMPTY = FaultKind(
    "rows.only_missing",
    "Rows that hold nothing but marks for missing",
    "{value} held nothing but marks for “no value” and {were} passed over: {place}.",
    "Nothing need be done if nothing was measured there.",
    severity="note",
)


@dataclass(frozen=True)
class Standard:
    """What standardising yields.

    Attributes:
        kind: kind of record.
        records: every record put forward: the kind's fields, ``line``, ``record`` (0, 1, 2 …), ``written``, and
            ``cell``, the column of a wide sheet it comes from (null elsewhere).
        rejected: numbers of the records that an error concerns.
        faults: everything met on the way, FAULT_SCHEMA.
        ignored: lines left out, with the reason.
        columns: field name → the column a person sees, for faults found later.
        broken: True where the whole file is refused.
    """

    kind: Kind
    records: pl.DataFrame
    rejected: pl.Series
    faults: pl.DataFrame
    ignored: pl.DataFrame
    columns: Mapping[str, str] = field(default_factory=dict)
    broken: bool = False


@dataclass(frozen=True)
class _How:
    """How the cells of this sheet are understood."""

    kind: Kind
    profile: Profile | None
    style: Style
    aliases: Aliases


def standardise(
    sheet: Sheet,
    kind: Kind,
    profile: Profile | None,
    green_aliases: Mapping[str, str] | None = None,
    working_h: tuple[float | None, float | None] = (None, None),
) -> Standard:
    """Typed records of a sheet, with every fault met; grain: one row a record put forward.

    Without a profile the headers are the kind's own. Names of greens are looked for among the profile's, then among
    ``green_aliases``, those the register declares. ``working_h`` are hours of a working day and week where the
    profile says none.
    """
    if refuse_file(sheet.faults):
        return _refused(sheet, kind, sheet.faults)
    mapping = by_profile(sheet, profile) if profile else by_own_headers(sheet, kind)
    faults = concat([sheet.faults, mapping.faults, _lines_lost(sheet, profile)])
    if refuse_file(faults) or not mapping.sound:
        return _refused(sheet, kind, faults)
    aliases = dict(profile.aliases) if profile else {}
    aliases["green"] = {**(green_aliases or {}), **aliases.get("green", {})}
    how = _How(kind, profile, (profile.values if profile else Style()).working(*working_h), aliases)
    cells, ignored = _only(sheet, profile)
    cells, ignored, empty = _not_only_missing(cells, ignored, how.style)
    faults = concat([faults, empty])
    base, cells, faults = _of_columns(sheet, cells, mapping, faults, how)
    if profile and profile.line_as:
        base = base.plus(kind.by_name[profile.line_as], _numbers_of_lines(sheet, cells), how.style, aliases)
    base = base.with_constants(kind, profile.constants if profile else {}, how.style, aliases)
    columns = mapping.headers(kind)
    frames, rejected, found, left, start = [], [], [faults], [ignored], 0
    for entry in (profile.long if profile else ()) or (None,):
        records, names = base, columns
        if entry is not None:
            records, blank = _long_part(base, entry, sheet, cells, how, _late(mapping, cells))
            left.append(blank)
            names = {**columns, entry.into or kind.value_field: entry.column}
        frame, bad, met = records.finish(kind, start, names)
        frames.append(frame)
        rejected.append(bad)
        found.append(met)
        start += frame.height
    faults = once(concat(found))
    if refuse_file(faults):
        return _refused(sheet, kind, faults)
    return Standard(
        kind,
        pl.concat(frames),
        pl.concat(rejected).unique(maintain_order=True),
        faults,
        pl.concat(left),
        columns,
    )


def _of_columns(
    sheet: Sheet, cells: pl.DataFrame, mapping: Columns, faults: pl.DataFrame, how: _How
) -> tuple[Records, pl.DataFrame, pl.DataFrame]:
    """The records that the columns make, the cells of each one's line, and the faults before anything is understood."""
    kind, profile = how.kind, how.profile
    late = _late(mapping, cells)
    now = {name: origin for name, origin in mapping.origins.items() if name not in late}
    sources = {name: _cells(cells, origin, how.style) for name, origin in now.items()}
    short = concat(lacking for _, lacking in sources.values())
    given = {name: source for name, (source, _) in sources.items()}
    parted = _parted(profile, given, how) if profile and profile.several else None
    if parted is not None:
        cells, faults = cells[parted.rows], concat([faults, parted.faults])
        given = {name: parted.of(name, source) for name, source in given.items()}
    if kind.value_field in given:
        limits, odd = _row_limits(sheet, cells, mapping.origins[kind.value_field].limit, how.style)
        short, units = concat([short, odd]), _row_units(mapping, cells, profile)
        given[kind.value_field] = replace(given[kind.value_field], row_units=units, row_limits=limits)
    base = Records(cells["line"], bad_lines=error_lines(faults)).with_faults(short)
    base = base.plus_all(kind, given, how.style, how.aliases)
    return base if parted is None else _with_parts(base, parted, given, kind, how), cells, faults


def _parted(profile: Profile, given: Mapping[str, Cells], how: _How) -> Parted | None:
    from pipeline.standardise.several.several import parted_by  # few files have cells that name several

    return parted_by(profile, given, how.style, how.aliases)


def _late(mapping: Columns, cells: pl.DataFrame) -> dict[str, Origin]:
    """Fields of which a part stands in no column: each [[long]] says it (the month of a column of figures)."""
    width = cells.width - 1
    return {name: origin for name, origin in mapping.origins.items() if max(origin.columns) >= width}


def _with_parts(base: Records, parted: Parted, given: Mapping[str, Cells], kind: Kind, how: _How) -> Records:
    """The records with what each one's own part of a cell says of other fields, and the cell as it stands kept."""
    for name, text in parted.added.items():
        source = Cells(base.lines, text, given["operation"].header)
        base = base.plus(kind.by_name[name], source, how.style, how.aliases)
    whole = {name: text for name, text in parted.whole.items() if text.is_not_null().any()}
    for name, text in whole.items():
        whole[name] = pl.select(pl.coalesce(text, base.written[name])).to_series() if name in base.written else text
    return replace(base, written={**base.written, **whole})


def once(faults: pl.DataFrame) -> pl.DataFrame:
    """Faults without echoes: what concerns a whole line of a wide sheet is said once."""
    return faults.unique(["line", "column", "value", "code", "message"], keep="first", maintain_order=True)


def _refused(sheet: Sheet, kind: Kind, faults: pl.DataFrame) -> Standard:
    extra = {"line": pl.Int64, "record": pl.Int64, "cell": pl.String, "written": pl.String}
    empty = pl.DataFrame(schema={**kind.frame_schema, **extra})
    return Standard(kind, empty, pl.Series([], dtype=pl.Int64), faults, sheet.ignored, broken=True)


def _cells(cells: pl.DataFrame, origin: Origin, style: Style) -> tuple[Cells, pl.DataFrame]:
    """The cells a field comes from, joined and parted as its profile says, and those that lack the part."""
    lines, short = cells["line"], no_faults()
    names = [f"c{i}" for i in origin.columns]
    text = cells[names[0]]
    if len(names) > 1:
        text = cells.select(pl.concat_str(names, separator=origin.join, ignore_nulls=False)).to_series()
    if origin.split:
        whole = missing_out(text, style.also_missing(origin.missing))
        parts = whole.str.split(origin.split)
        text = parts.list.get(origin.part - 1, null_on_oob=True).str.strip_chars().replace("", None)
        lost = whole.is_not_null() & text.is_null()
        facts = {"part": origin.part, "split": origin.split}
        short = PART_MISSING.frame(lines.filter(lost), whole.filter(lost), origin.header, **facts)
    if origin.end:
        text = text + origin.end
    scaled = (origin.factor, origin.offset)
    limit = _fixed(origin.limit)
    return Cells(lines, text, origin.header, origin.unit, origin.missing, limit, scaled=scaled), short


def _fixed(limit: float | str | None) -> float | None:
    """The limit that holds for every row; None where a column says each row's, or none does."""
    return None if isinstance(limit, str) else limit


def _row_limits(
    sheet: Sheet, cells: pl.DataFrame, limit: float | str | None, style: Style
) -> tuple[pl.Series | None, pl.DataFrame]:
    """The limit each row gives in the column that the profile names, and faults of those that are no number."""
    if not isinstance(limit, str):
        return None, no_faults()
    done = number_column(Cells(cells["line"], cells[f"c{_position(sheet, limit)}"], limit), style)
    return done.values["value"], done.faults


def _numbers_of_lines(sheet: Sheet, cells: pl.DataFrame) -> Cells:
    """The number of each row's line, in the file the row first stood in."""
    lines = cells["line"]
    if sheet.stood is not None:
        lines = cells.select("line").join(sheet.stood, on="line", how="left", maintain_order="left")["stood"]
    return Cells(cells["line"], lines.cast(pl.String), "line")


def _lines_lost(sheet: Sheet, profile: Profile | None) -> pl.DataFrame:
    """The fault of mended rows that no longer say on which line they stood, where the line is their sample's name."""
    if profile is None or not profile.line_as or not sheet.mending or not sheet.cells.height:
        return no_faults()
    known = sheet.stood is not None and sheet.stood["stood"].null_count() == 0
    return no_faults() if known else LINES_LOST.at(None, None, "line", field=profile.line_as)


def _row_units(mapping: Columns, cells: pl.DataFrame, profile: Profile | None) -> pl.Series | None:
    """The unit each row gives its result in, as written; None where neither a column nor a constant says it."""
    if "unit" in mapping.origins:
        return cells[f"c{mapping.origins['unit'].columns[0]}"]
    said = profile.constants.get("unit") if profile else None
    return pl.Series([str(said)]).new_from_index(0, cells.height) if said else None


def _only(sheet: Sheet, profile: Profile | None) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The rows a profile's [only] lets through, and the ignored lines with those it leaves out."""
    if profile is None or not profile.only:
        return sheet.cells, sheet.ignored
    cells, ignored = sheet.cells, [sheet.ignored]
    for column, words in profile.only.items():
        here = cells[f"c{_position(sheet, column)}"]
        filled = words == (FILLED,)
        keep = missing_out(here, profile.values).is_not_null() if filled else here.is_in(list(words))
        why = f"nothing in {column}" if filled else f"{column} is not {' or '.join(words)}"
        keep = keep.fill_null(value=False)
        ignored.append(_left_out(cells.filter(~keep)["line"], why))
        cells = cells.filter(keep)
    return cells, pl.concat(ignored)


def _not_only_missing(
    cells: pl.DataFrame, ignored: pl.DataFrame, style: Style
) -> tuple[pl.DataFrame, pl.DataFrame, pl.DataFrame]:
    """The rows with a value in some cell, the ignored lines with the others', and a note that says where those are."""
    empty = pl.Series([True]).new_from_index(0, cells.height)
    for name in cells.columns[1:]:
        if not empty.any():
            return cells, ignored, no_faults()
        empty &= missing_out(cells[name], style).is_null()
    lines = cells["line"].filter(empty)
    if not len(lines):
        return cells, ignored, no_faults()
    where = on_lines(lines, MOST_RANGES)
    note = ROWS_EMPTY.at(None, counted(len(lines), "row"), were="was" if len(lines) == 1 else "were", place=where)
    return cells.filter(~empty), pl.concat([ignored, _left_out(lines, "nothing but marks for missing")]), note


def _position(sheet: Sheet, column: str) -> int:
    return next(i for i, header in enumerate(sheet.headers) if fold(header) == fold(column))


def _left_out(lines: pl.Series, reason: str) -> pl.DataFrame:
    return pl.DataFrame({"line": lines}).with_columns(pl.lit(reason).alias("reason"))


def _long_part(
    base: Records, entry: Long, sheet: Sheet, cells: pl.DataFrame, how: _How, late: Mapping[str, Origin]
) -> tuple[Records, pl.DataFrame]:
    """The records that one column of a wide sheet makes (the row's own fields and this cell), and the lines left out.

    A blank cell is a result taken back where the kind knows that (a soil test), and no record at all elsewhere.
    """
    position = _position(sheet, entry.column)
    into = entry.into or how.kind.value_field
    in_row = unit_said(sheet, position)
    unit = entry.unit or (how.profile.unit_words.get(fold(in_row), in_row) if how.profile else in_row)
    if "unit" in entry.constants:  # the record's own unit field carries it: the number stays as it is
        unit = ""
    text = missing_out(cells[f"c{position}"], how.style)
    told = [pl.lit(str(said)).alias(f"c{cells.width - 1 + at}") for at, said in enumerate(entry.says.values())]
    for name, origin in late.items():
        source, short = _cells(cells.with_columns(told), origin, how.style)
        base = base.with_faults(short).plus(how.kind.by_name[name], source, how.style, how.aliases)
    left = _left_out(cells["line"].clear(), "")
    limits, odd = _row_limits(sheet, cells, entry.limit, how.style)
    base = base.with_faults(odd)
    if how.kind.repeats:
        left = _left_out(cells["line"].filter(text.is_null()), f"{entry.column}{BLANK_CELL}")
        base = base.where(text.is_not_null())
        limits = limits.filter(text.is_not_null()) if limits is not None else None
        lines, text = cells["line"].filter(text.is_not_null()), text.drop_nulls()
    else:
        lines = cells["line"]
    part = replace(base, cell=entry.column).with_constants(how.kind, entry.constants, how.style, how.aliases)
    said = entry.constants.get("unit") if into == how.kind.value_field else None
    units = pl.Series([str(said)]).new_from_index(0, len(text)) if said else None
    scaled, limit = (entry.factor, entry.offset), _fixed(entry.limit)
    source = Cells(lines, text, entry.column, unit, limit=limit, row_units=units, row_limits=limits, scaled=scaled)
    return part.plus(how.kind.by_name[into], source, how.style, how.aliases), left
