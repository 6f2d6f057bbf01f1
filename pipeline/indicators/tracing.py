"""The records behind a figure: from an indicator to file, line and cells, read from the store and changing nothing."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import polars as pl

from pipeline.common.closest import closest
from pipeline.common.refusal import WrongUsage
from pipeline.indicators.base.description import heading_of
from pipeline.indicators.base.green_season import Indicator, Shown
from pipeline.indicators.base.looked_at import opened
from pipeline.indicators.families import DESCRIBED
from pipeline.indicators.headings import headings_near
from pipeline.indicators.soil import soil
from pipeline.indicators.surface import readings
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS
from schemas.codes import analytes, code_list, fold

METHOD_PAGE = "docs/method.md"
MOST_NAMED = 8
"""Indicators offered where the one asked for is not there."""


@dataclass(frozen=True)
class Traced:
    """One record, and where it came from.

    Attributes:
        kind: kind of record.
        file: file as the person named it.
        line: line of the file, as a text editor counts.
        load_id: load that brought it.
        date: its day; None for registers.
        stored: its cells as stored, by field; blank ones and private ones are left out.
        written: cells as the user wrote them, by field, where that differs.
    """

    kind: str
    file: str
    line: int
    load_id: int
    date: date | None
    stored: dict[str, Any]
    written: dict[str, str]


@dataclass(frozen=True)
class Trace:
    """An indicator with everything behind it.

    Attributes:
        indicator: the figure with method, target, interval and note.
        formulas: where the formulas it is made by are explained.
        records: the records it rests on, in order of kind, file and line.
        registers: the green and the materials that those records name.
    """

    indicator: Indicator
    formulas: tuple[str, ...]
    records: tuple[Traced, ...]
    registers: tuple[Traced, ...]


def trace(workspace: Workspace, season: Shown, wanted: str) -> list[Trace]:
    """Every indicator of that name with the records behind it (grain: indicator; a name alone may have several bands).

    Args:
        workspace: the workspace whose store is read.
        season: the green's season.
        wanted: name or label of an indicator, or either with its band: ``organic_matter_pct, 0–20 mm``.

    Raises:
        WrongUsage: the green has no such indicator in that season.
        CannotDo: the store cannot be read.
    """
    return traces(workspace, season, chosen(season, wanted))


def traces(workspace: Workspace, season: Shown, found: Sequence[Indicator]) -> list[Trace]:
    """These indicators of a green's season with the records behind them (grain: indicator).

    Raises:
        CannotDo: the store cannot be read.
    """
    kinds = {place.kind for one in found for place in one.evidence}
    with opened(workspace, season.look) as store:
        frames = {name: _in_force(store, name, season.green) for name in sorted(kinds)} | store.registers_by_day()
    return [_trace(one, season.green, frames) for one in found]


def _in_force(store: Store, name: str, green: str) -> pl.DataFrame:
    """Records of a kind as :meth:`Store.current` has them; of a kind about greens those of this one, and of none."""
    kind = KINDS[name]
    if not kind.of_green:
        return store.current(name)
    sql = f'SELECT * FROM "{kind.name}" WHERE green IS NULL OR green = $green'  # noqa: S608 (a name from KINDS)
    return store.frame(sql, by=kind.reading_order, green=green)


def chosen(season: Shown, wanted: str) -> list[Indicator]:
    """The indicators called so: by name or label, with or without band.

    Raises:
        WrongUsage: there is none.
    """
    called: dict[str, list[Indicator]] = {}
    for one in season.indicators:
        for name in dict.fromkeys(map(_plain, (one.name, one.label, *_with_band(one)))):
            called.setdefault(name, []).append(one)
    if found := called.get(_plain(wanted)):
        return found
    names = dict.fromkeys(_with_band(one)[0] for one in season.indicators)
    near = closest(wanted, names, MOST_NAMED)
    headings = headings_near(wanted, season.indicators)
    offer = near or ([] if headings else list(names)[:MOST_NAMED])
    hints = [f"Closest: {'; '.join(offer)}."] if offer else []
    hints += [f"--family {name} lists the figures under “{heading_of(name)}”." for name in headings[:1]]
    where = f"{season.green} in season {season.season}"
    raise WrongUsage(f"There is no indicator “{wanted}” of {where}.", " ".join(hints) or "Nothing is on record for it.")


def _with_band(one: Indicator) -> tuple[str, str]:
    tail = f", {one.band}" if one.band else ""
    return f"{one.name}{tail}", f"{one.label}{tail}"


def _plain(text: str) -> str:
    """A name as compared: case and kind of dash say nothing."""
    return fold(text.replace("–", "-"))


def _trace(one: Indicator, green: str, frames: dict[str, pl.DataFrame]) -> Trace:
    kinds = dict.fromkeys(place.kind for place in one.evidence)
    by_kind = {kind: _behind(one, green, kind, frames[kind]) for kind in kinds}
    records = [record for kind, rows in by_kind.items() for record in _records(kind, rows)]
    days = {("green", green): [record.date for record in records if record.date]} if records else {}
    for record in records:
        if record.date and (name := record.stored.get("material")):
            days.setdefault(("material", name), []).append(record.date)
    registers = [
        found for (kind, name), at in days.items() for found in _records(kind, _held(frames[kind], kind, name, at))
    ]
    formulas = DESCRIBED[one.name].formula_names
    return Trace(one, tuple(link(formula) for formula in formulas), tuple(records), tuple(registers))


def _held(rows: pl.DataFrame, kind: str, name: str, days: Sequence[date]) -> pl.DataFrame:
    """The rows of a register that held for something on these days; every row of it where none has a day."""
    ends = pl.col("holds_from").fill_null(date.min), pl.col("holds_until").fill_null(date.max)
    held = [(day >= ends[0]) & (day < ends[1]) for day in map(pl.lit, dict.fromkeys(days))]
    return rows.filter((pl.col(kind) == name) & (pl.any_horizontal(held) if held else True))


def link(formula: str) -> str:
    """Where a formula is explained: the page and its heading."""
    return f"{METHOD_PAGE}#{formula.replace('.', '')}"


def _behind(one: Indicator, green: str, kind: str, frame: pl.DataFrame) -> pl.DataFrame:
    """The records on the lines an indicator names; of several on one line, those it can be made of."""
    places = [(place.load_id, place.line) for place in one.evidence if place.kind == kind]
    lines = pl.DataFrame(
        places, schema={"load_id": frame.schema["load_id"], "line": frame.schema["line"]}, orient="row"
    )
    rows = frame.join(lines.unique(), on=["load_id", "line"], how="semi", maintain_order="left").sort(
        "file", "line", maintain_order=True
    )
    if "green" in frame.columns:
        rows = rows.filter(pl.col("green").is_null() | (pl.col("green") == green))
    if not rows.select("load_id", "line").is_duplicated().any():
        return rows
    for fits in _MADE_OF.get(kind, ()):
        kept = pl.Series([fits(one, row) for row in rows.iter_rows(named=True)], dtype=pl.Boolean)
        rows = rows.filter(kept) if kept.any() else rows
    return rows


Fits = Callable[[Indicator, dict[str, Any]], bool]


def _of_analyte(one: Indicator, row: dict[str, Any]) -> bool:
    """Whether the result is of the indicator's analyte; what a balance makes is of organic matter."""
    named = [name for name in analytes() if one.name == name or one.name.startswith(f"{name}_")]
    return bool(row["analyte"] == max(named, key=len, default="organic_matter"))


def _of_extractant(one: Indicator, row: dict[str, Any]) -> bool:
    by = row["extractant"]
    return bool(by) and code_list("extractant")[by].label in one.band.split(", ")


def _of_layer(one: Indicator, row: dict[str, Any]) -> bool:
    return soil.band_name(row["depth_from_mm"], row["depth_to_mm"]) in one.band.split(", ")


def _of_unit(one: Indicator, row: dict[str, Any]) -> bool:
    return bool(row["unit"] == (one.unit or "pH"))


def _of_thing(one: Indicator, row: dict[str, Any]) -> bool:
    """Whether the reading is of what the indicator is named after."""
    code = code_list("observation")[row["observed"]]
    return one.name in (code.facts["figure"], *readings.figure_names(code))


def _of_method(one: Indicator, row: dict[str, Any]) -> bool:
    return readings.method_key(row) == one.band


_MADE_OF: dict[str, tuple[Fits, ...]] = {
    "soil_test": (_of_analyte, _of_extractant, _of_layer, _of_unit),
    "observation": (_of_thing, _of_method),
}
"""Kinds of which one line of a wide sheet holds many records, and what tells an indicator's own among them."""


def _records(kind: str, rows: pl.DataFrame) -> Iterator[Traced]:
    fields = [one for one in KINDS[kind].stored if not one.private and one.type != "image"]
    private = {one.name for one in KINDS[kind].fields if one.private}
    for row in rows.iter_rows(named=True):
        stored = {one.name: row[one.name] for one in fields if row[one.name] is not None}
        written = json.loads(row["written"]) if row["written"] else {}
        yield Traced(
            kind,
            row["file"],
            row["line"],
            row["load_id"],
            row.get("date"),
            stored,
            {name: text for name, text in written.items() if name not in private},
        )
