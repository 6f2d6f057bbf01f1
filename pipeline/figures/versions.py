"""What a season's figures were made of, as one mark that changes with any record, setting or code behind them."""

from __future__ import annotations

from functools import reduce
from operator import xor
from typing import TYPE_CHECKING, Any

import polars as pl

from pipeline.common.marks import mark
from pipeline.figures.state import LENGTH, settings_version
from schemas import KINDS

if TYPE_CHECKING:
    from pipeline.indicators.base.asked import Asked
    from pipeline.indicators.base.green_records import GreenRecords

NO_CONTENT = ("load_id", "of", "origin", "written")
"""Columns that say nothing of what a record is: where it was loaded, and how it is numbered here."""

CONTENT = pl.all().exclude(*NO_CONTENT)
PLACE = pl.col("file", "line", "load_id")
"""Columns that say where a record came from."""


def data_versions(asked: Asked) -> dict[int, str]:
    """Of each green and season a mark of its records up to the last day counted, registers, targets and questions.

    Never of a load's number or a time: the same records from the same lines have the same mark, whichever way and in
    whichever order they came.
    """
    marks: dict[int, list[Any]] = {of: [_registers(records)] for of, records in asked.each.items()}
    for kind in KINDS.values():
        if kind.of_green or kind.dated:
            _add(marks, kind.name, asked.so_far(asked.frames[kind.name]))
    for name, rows in asked.periods.items():
        _add(marks, f"{name} of a period", asked.so_far(rows))
    _add(marks, "material", _materials(asked))
    for of, warnings in _warnings(asked).items():
        marks[of].append(warnings)
    settings = settings_version(asked.settings)
    return {of: mark(settings, *found)[:LENGTH] for of, found in marks.items()}


def load_marks(asked: Asked) -> dict[int, str]:
    """Of each green and season a mark of which load brought each of its lines: figures name them, and the lines alone.

    The same records may come by another load (taken back and loaded again): they say the same, from elsewhere.
    """
    marks: dict[int, list[Any]] = {}
    for of, records in asked.each.items():
        marks[of] = [frame["load_id"].to_list() for frame in (records.by_day["green"], records.rejected)]
    for kind in KINDS.values():
        if kind.of_green or kind.dated:
            _add(marks, kind.name, asked.so_far(asked.frames[kind.name]), PLACE)
    for name, rows in asked.periods.items():
        _add(marks, f"{name} of a period", asked.so_far(rows), PLACE)
    _add(marks, "material", _materials(asked), PLACE)
    return {of: mark(*found)[:LENGTH] for of, found in marks.items()}


def _add(marks: dict[int, list[Any]], name: str, rows: pl.DataFrame, of_what: pl.Expr = CONTENT) -> None:
    """Add what rows come to: the number of each green's, and their marks put together whatever their order."""
    if not rows.height:
        return
    content = rows.select(of_what)
    each = rows.select("of", content.hash_rows().alias("mark"), content.hash_rows(seed=1).alias("other"))
    for of, first, second in each.group_by("of", maintain_order=True).agg("mark", "other").iter_rows():
        marks[of].append((name, len(first), reduce(xor, first), sum(first) % 2**64, reduce(xor, second)))


def _materials(asked: Asked) -> pl.DataFrame:
    """What the register says of the materials that the jobs and sieve analyses of each name."""
    used = pl.concat([asked.frames[kind].select("of", "material") for kind in ("job", "sieve")]).drop_nulls().unique()
    held = next(iter(asked.each.values())).by_day["material"]
    return used.join(held, on="material", how="inner", maintain_order="left_right")


def _registers(records: GreenRecords) -> tuple[Any, ...]:
    """Season, registers, targets and rejected rows of a green."""
    whole = records.as_of >= records.last_day
    green = _rows(records.by_day["green"], "load_id", "written")
    club = {name: value for name, value in records.club.items() if name not in NO_CONTENT}
    targets = [
        {name: value for name, value in row.items() if name not in NO_CONTENT}
        for rows in records.own_targets.values()
        for row in rows
    ]
    rejected = _rows(records.rejected, "load_id")
    return records.season, records.as_of, whole, green, club, targets, rejected


def _rows(frame: pl.DataFrame, *but: str) -> list[tuple[Any, ...]]:
    """The rows of a small frame without some columns."""
    return list(zip(*(column.to_list() for column in frame.iter_columns() if column.name not in but), strict=True))


def _warnings(asked: Asked) -> dict[int, list[tuple[Any, ...]]]:
    """Open warnings on the records of each, by the line they are on."""
    found: dict[int, list[tuple[Any, ...]]] = {}
    warned = next(iter(asked.each.values())).warned
    if not warned:
        return found
    lines = pl.DataFrame(list(warned), schema={"load_id": pl.Int64, "line": pl.Int64}, orient="row")
    for kind in KINDS.values():
        if kind.of_green or kind.dated:
            rows = asked.frames[kind.name].select("of", "file", "line", "load_id")
            rows = rows.join(lines, on=["load_id", "line"], how="semi", maintain_order="left").unique()
            for of, file, line, load_id in rows.sort("of", "file", "line", maintain_order=True).iter_rows():
                found.setdefault(of, []).append((kind.name, file, line, sorted(warned[load_id, line])))
    for of, records in asked.each.items():
        row = records.green
        for code, message in warned.get((row["load_id"], row["line"]), ()):
            found.setdefault(of, []).append(("green", row["file"], row["line"], code, message))
    return found
