"""What a season's figures were made of, as one mark that changes with any record, setting or code behind them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate
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


def marks_of(asked: Asked) -> dict[int, tuple[str, str]]:
    """Of each green and season a mark of what its figures are made from, and one of which load brought each line.

    The first is of its records up to the last day counted, registers, targets and questions, never of a load's number
    or a time: the same records from the same lines have the same mark, whichever way and in whichever order they came.
    The same records may come by another load (taken back and loaded again): they say the same, from elsewhere, which
    the second tells.
    """
    data: dict[int, list[Any]] = {of: [_registers(records)] for of, records in asked.each.items()}
    loads: dict[int, list[Any]] = {
        of: [frame["load_id"].to_list() for frame in (records.by_day["green"], records.rejected)]
        for of, records in asked.each.items()
    }
    for name, marked in _marked(asked):
        for of, of_content, of_place in marked:
            data[of].append((name, *of_content))
            loads[of].append((name, *of_place))
    for of, warnings in _warnings(asked).items():
        data[of].append(warnings)
    settings = settings_version(asked.settings)
    return {of: (mark(settings, *data[of])[:LENGTH], mark(*loads[of])[:LENGTH]) for of in data}


_Marks = Iterator[tuple[int, tuple[int, ...], tuple[int, ...]]]
"""Number of a green and season, and what its rows come to, whatever their order: what they say, and where they are."""


def _marked(asked: Asked) -> Iterator[tuple[str, _Marks]]:
    """What the records of each come to up to the last day counted, by what they are."""
    each = asked.each.values()
    for kind in KINDS.values():
        if kind.of_green or kind.dated:
            yield kind.name, _summed(asked.so_far(_of_frames(asked, [one.frames[kind.name] for one in each])))
    for name in next(iter(each)).periods:
        yield f"{name} of a period", _summed(asked.so_far(_of_frames(asked, [one.periods[name] for one in each])))
    yield "material", _summed(_with_marks(_materials(asked)))


def _of_frames(asked: Asked, frames: Sequence[pl.DataFrame]) -> pl.DataFrame:
    """Rows of all of them with what tells so far, and their marks; seasons of a green share frames, marked once."""
    parts = {id(frame): frame for frame in frames}
    marks = _with_marks(pl.concat(parts.values()))
    begins = accumulate((part.height for part in parts.values()), initial=0)
    of_part = {key: marks.slice(at, part.height) for (key, part), at in zip(parts.items(), begins, strict=False)}
    return asked.numbered([of_part[id(frame)] for frame in frames])


def _with_marks(rows: pl.DataFrame) -> pl.DataFrame:
    """Rows with their marks, two of what each says and two of where it came from, and without what these are of."""
    left = rows.select(pl.col([name for name in ("of", "green", "date") if name in rows.columns]))
    return left.with_columns(
        rows.select(what).hash_rows(seed=seed).alias(f"{name}{seed}")
        for name, what in (("content", CONTENT), ("place", PLACE))
        for seed in (0, 1)
    )


def _summed(rows: pl.DataFrame) -> _Marks:
    if not rows.height:
        return
    marks = [f"{name}{seed}" for name in ("content", "place") for seed in (0, 1)]
    every_xor, sums = pl.col(*marks).bitwise_xor(), pl.col("content0", "place0").sum().name.suffix("_sum")
    for row in rows.group_by("of", maintain_order=True).agg(pl.len(), every_xor, sums).iter_rows(named=True):
        content, place = (
            (row["len"], row[f"{name}0"], row[f"{name}0_sum"], row[f"{name}1"]) for name in ("content", "place")
        )
        yield row["of"], content, place


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
            rows, part_of = asked.shared(kind.name, "file", "line", "load_id")
            rows = rows.join(lines, on=["load_id", "line"], how="semi", maintain_order="left").unique()
            rows = rows.join(part_of, on="part", how="inner", maintain_order="left_right")
            rows = rows.select("of", "file", "line", "load_id").sort("of", "file", "line", maintain_order=True)
            for of, file, line, load_id in rows.iter_rows():
                found.setdefault(of, []).append((kind.name, file, line, sorted(warned[load_id, line])))
    for of, records in asked.each.items():
        row = records.green
        for code, message in warned.get((row["load_id"], row["line"]), ()):
            found.setdefault(of, []).append(("green", row["file"], row["line"], code, message))
    return found
