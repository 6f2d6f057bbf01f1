"""The records behind a green's season as tables in the form of each kind's template, so that they load elsewhere."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import polars as pl

from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import RecordTable
from pipeline.indicators.cautions.weather import DROUGHT_DAYS
from schemas import KINDS, Kind
from schemas.field import Field

NOT_HANDED_ON = ("note", "aliases")
"""Fields no figure needs: what a crew remarks about a job, and what it calls a green, stay in the store."""


def own_records(records: GreenRecords) -> tuple[RecordTable, ...]:
    """The records behind the season, a table a kind, registers first; kinds without a row are left out.

    Only what the green's figures rest on: its own records up to ``as_of`` in SI units, the register rows of itself,
    its club and the materials it was given, targets that hold for it, and its station's weather since the first of its
    records and the weeks before that a drought is told by. Private fields and remarks are left out; photos too.
    """
    facts = {kind.name: _facts(records, kind) for kind in KINDS.values() if kind.attached and kind.of_green}
    days = [records.season.start, *(frame["date"].min() for frame in facts.values() if frame.height)]
    first = min(day for day in days if isinstance(day, date)) - timedelta(days=DROUGHT_DAYS)
    weather = {
        kind.name: records.of(kind.name).filter(pl.col("date") >= first)
        for kind in KINDS.values()
        if kind.attached and kind.dated and not kind.of_green
    }
    tables = {**_registers(records), **facts, **weather}
    return tuple(_table(kind, tables[kind.name]) for kind in KINDS.values() if len(tables.get(kind.name, ())))


def _registers(records: GreenRecords) -> dict[str, pl.DataFrame]:
    used = _materials_used(records)
    begun = pl.col("holds_from").is_null() | (pl.col("holds_from") <= records.as_of)
    held = {name: rows.filter(begun).select(*KINDS[name].frame_schema) for name, rows in records.by_day.items()}
    return {
        "club": _register_row("club", records.club),
        "green": held["green"],
        "material": held["material"].filter(pl.col("material").is_in(used)),
        "target": _targets(records),
    }


def _materials_used(records: GreenRecords) -> pl.Expr:
    """Materials the green was given up to ``as_of``, as one list."""
    used = records.of("job")["material"]
    return pl.lit(used.drop_nulls().unique().implode())


def _facts(records: GreenRecords, kind: Kind) -> pl.DataFrame:
    """The green's records of a kind; of those about no green, the ones about a material it was given."""
    rows = records.of(kind.name)
    if kind.by_name["green"].required:
        return rows
    own = pl.col("green") == records.green["green"]
    if "material" in kind.by_name:
        own |= pl.col("material").is_in(_materials_used(records))
    return rows.filter(own).sort(kind.order, maintain_order=True)


def _register_row(kind: str, row: dict[str, object]) -> pl.DataFrame:
    return pl.DataFrame({name: [row[name]] for name in KINDS[kind].frame_schema}, KINDS[kind].frame_schema)


def _targets(records: GreenRecords) -> pl.DataFrame:
    """Targets that may hold for the green, of no past season: its own, its club's, its region's, the standard ones."""
    names = records.scope_names
    mine = pl.col("scope") == "standard"
    for scope, name in names.items():
        mine |= (pl.col("scope") == scope) & (pl.col("scope_name") == pl.lit(name, dtype=pl.String))
    season = pl.col("season").is_null() | (pl.col("season") >= records.season.name)
    return records.targets.filter(mine & season).sort(
        "indicator", "scope", "season", "band", nulls_last=True, maintain_order=True
    )


def _table(kind: Kind, frame: pl.DataFrame) -> RecordTable:
    fields = [one for one in kind.asked if handed_on(one) and one.name in frame.columns]
    columns = tuple(one.name for one in fields)
    return RecordTable(kind.name, columns, tuple(frame.select(map(_cells(frame), columns)).iter_rows()))


def handed_on(field: Field) -> bool:
    """Whether a field stands in the tables: stored, not private, no remark."""
    return field.stored and not field.private and field.name not in NOT_HANDED_ON


def _cells(frame: pl.DataFrame) -> Callable[[str], pl.Expr]:
    """Gives a column as a template's cells: a day as year-month-day, yes and no, text and numbers as they are."""

    def cells(name: str) -> pl.Expr:
        kind = frame.schema[name]
        if kind == pl.Boolean:
            return pl.col(name).replace_strict({True: "yes", False: "no"}, return_dtype=pl.String)
        if kind == pl.Date:
            return pl.col(name).cast(pl.String)
        assert kind in (pl.String, pl.Null) or kind.is_numeric(), f"{name}: {kind} has no form in a template"
        return pl.col(name)

    return cells
