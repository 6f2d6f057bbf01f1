"""Rows that were rejected and are still outside the store: of which green, of what days, and what they may add to."""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Mapping, Sequence
from contextlib import suppress
from datetime import date
from typing import Any

import polars as pl

from pipeline.common.file_names import whose_of, without_ending
from pipeline.common.grouped import grouped
from pipeline.store.keys import key_text
from pipeline.workspace.settings import rejects_name
from schemas import KINDS

SCHEMA = {
    "load_id": pl.Int64, "file": pl.String, "line": pl.Int64, "kind": pl.String, "green": pl.String,
    "column_name": pl.String, "message": pl.String, "of_value": pl.Boolean, "operation": pl.String,
    "material": pl.String, "feeds": pl.Boolean, "first": pl.Date, "last": pl.Date,
    "rejected": pl.Boolean,
}  # fmt: skip
"""Columns of :func:`rejected_rows`."""
NUTRIENTS = ("n_pct", "p_pct", "k_pct", "mg_pct", "s_pct", "fe_pct", "ca_pct", "mn_pct")
"""What a material may feed; one in the register that says none of them adds to no total of nutrients."""
Span = tuple[date | None, date | None]
Row = Mapping[str, Any]
OF_DATE = "date."
"""How the codes of faults begin that are of the day of a row."""
IN_THE_FUTURE = "date.future"
"""Fault of a day that has not come yet: it cannot be the day that is meant."""
_ORDERS = ((0, 1, 2), (2, 1, 0), (2, 0, 1))
"""Where year, month and day stand among three numbers: year first, day first, month first."""


def rejected_rows(
    frames: Mapping[str, pl.DataFrame],
    file_days: Mapping[str, Span],
    faults: pl.DataFrame,
    loads: pl.DataFrame,
    rejects: pl.DataFrame,
    greens: Sequence[str] | None = None,
) -> pl.DataFrame:
    """What was rejected and has not come in since (grain: line, or value of a line that holds several records).

    Of each file its last load is asked. What the file of rejected rows, or a workbook of them, still lacks once it has
    come in is said of that file, until the file itself comes again. A record that a later load of another file brought
    is not outside, nor is a row that somebody has set aside. ``green`` is null where it was not understood. ``first``
    and ``last`` are the days it may be of, both null where nothing tells; ``operation`` and ``material`` are null where
    not understood; ``feeds`` is whether the material may hold nutrients. ``rejected`` is true: a record of a period
    that a figure leaves out stands in the same form (pipeline/indicators/base/periods.py).

    Args:
        frames: records in force, by kind: at least those of the greens asked about.
        file_days: first and last day of what files brought, whatever green it is about.
        faults: with their file.
        loads: every load.
        rejects: files of rejected rows, and whose rows they hold.
        greens: those asked about; lines of which none of them is understood are left out. None for all.
    """
    latest = loads.group_by("file", maintain_order=True).agg(pl.col("load_id").max())
    said = faults.filter(
        (pl.col("severity") == "error") & pl.col("line").is_not_null() & pl.col("settled_by").is_null()
    )
    since = said.group_by("file", "record", maintain_order=True).agg(pl.col("load_id").min().alias("since"))
    said = said.join(latest, on=["file", "load_id"], how="semi", maintain_order="left")
    said = said.join(since, on=["file", "record"], how="left", nulls_equal=True, maintain_order="left")
    said = said.filter(~pl.col("file").is_in(_told_elsewhere(latest, rejects)))
    said = said.join(loads.select("load_id", "kind"), on="load_id", how="left", maintain_order="left")
    said = said.sort("file", "line", "column_name", "code", "value", maintain_order=True)
    said = said.join(
        _brought(said, frames), on=["kind", "record", "line", "load_id"], how="anti", maintain_order="left"
    )
    spans = {file: _span(file_days.get(file, (None, None)), days) for file, *days in _days_known(said).iter_rows()}
    if greens is not None:
        said = said.filter(pl.col("green").is_in(greens).any().over("file", "line"))
    bare = frozenset(barren(frames["material"]))
    parts = grouped(said.iter_rows(named=True), _record_of)
    return pl.DataFrame([_told(part, spans[part[0]["file"]], bare) for part in parts.values()], schema=SCHEMA)


def _record_of(row: Row) -> tuple[object, ...]:
    """What tells the record of a fault from others: its line, and the column of a line that holds several."""
    return row["file"], row["line"], row["column_name"] if row["of_value"] else None


def _told(part: Sequence[Row], span: Span, bare: Collection[str]) -> dict[str, object]:
    """The faults of one record as a row of :func:`rejected_rows`."""
    first, key = part[0], _key(part)
    days = _days(part, key, span)
    named = {name: first[name] for name in ("load_id", "file", "line", "kind", "green", "column_name", "message")}
    told: dict[str, object] = {name: key.get(name) for name in ("operation", "material")}
    told["feeds"] = key.get("material") is not None and key["material"] not in bare
    return {**named, **told, "of_value": bool(first["of_value"]), "first": days[0], "last": days[1], "rejected": True}


def barren(materials: pl.DataFrame) -> list[str]:
    """Materials of the register that feed nothing by all that it says of them."""
    held = materials.group_by("material", maintain_order=True)
    fed = held.agg(pl.sum_horizontal(pl.col(NUTRIENTS).fill_null(0)).sum().alias("fed"))
    return fed.filter(pl.col("fed") == 0)["material"].to_list()


def _told_elsewhere(latest: pl.DataFrame, rejects: pl.DataFrame) -> list[str]:
    """Files of whose rejected rows a later load of another file tells.

    Those whose file of rejected rows came after them, as which sort of file ever it was saved; and files of rejected
    rows after which the file came again that they are of, for its own last load tells of all its rows.
    """
    last: dict[str, int] = {}
    for file, load_id in latest.iter_rows():
        last[without_ending(file)] = max(load_id, last.get(without_ending(file), 0))
    whose: dict[str, list[str]] = {}
    for name, file in rejects.select("name", "file").unique(maintain_order=True).iter_rows():
        whose.setdefault(without_ending(name), []).append(file)
    named = {file for files in whose.values() for file in files}
    held = {file: [name for name, files in whose.items() if file in files] for file in named}
    again = _by_place(latest, rejects)
    found = []
    for file, load_id in latest.iter_rows():
        stem = without_ending(file)
        mended = held.get(file, [without_ending(rejects_name(file))])
        later = [last.get(name, 0) for name in mended] + [again.get(file, 0)]
        if stem in whose:
            later += [last[stem], *(again.get(one, 0) for one in whose_of(file, whose))]
        if max(later) > load_id:
            found.append(file)
    return found


def _by_place(latest: pl.DataFrame, rejects: pl.DataFrame) -> dict[str, int]:
    """Of each file the last load of it, by whatever folder it was named."""
    places = rejects.select("place", "file").unique(maintain_order=True)
    one = latest.join(places, on="file", how="left", maintain_order="left").with_columns(
        pl.coalesce("place", "file").alias("place")
    )
    one = one.with_columns(pl.col("load_id").max().over("place").alias("last"))
    return dict(one.group_by("file", maintain_order=True).agg(pl.col("last").max()).iter_rows())


def _brought(said: pl.DataFrame, frames: Mapping[str, pl.DataFrame]) -> pl.DataFrame:
    """Those whose very record has come since they were rejected; of jobs none, for one may be done twice."""
    found = [said.select("kind", "record", "line", "load_id").clear()]
    for (name,), part in said.filter(pl.col("record").is_not_null()).group_by("kind", maintain_order=True):
        kind = KINDS[str(name)]
        if kind.repeats or not all(field in frames[kind.name].columns for field in kind.key):
            continue
        held = frames[kind.name].select(key_text(kind), pl.col("load_id").alias("brought"))
        both = part.join(held, on="record", how="inner", maintain_order="left")
        found.append(both.filter(pl.col("brought") > pl.col("since")).select(found[0].columns))
    return pl.concat(found)


def _key(part: Sequence[Row]) -> dict[str, str | None]:
    """The key fields of the record some faults are about, as far as understood; none where the store is older."""
    record = next((row["record"] for row in part if row["record"] is not None), None)
    return {} if record is None else dict(json.loads(record))


def _days_known(said: pl.DataFrame) -> pl.DataFrame:
    """First and last day of each file's rejected rows, of those whose day is known; null where none is."""
    day = pl.col("record").str.json_path_match("$.date").str.to_date("%Y-%m-%d", strict=False)
    known = pl.when(~pl.col("code").str.starts_with(OF_DATE)).then(day)
    by_file = said.select("file", day=known).group_by("file", maintain_order=True)
    return by_file.agg(pl.col("day").min().alias("first"), pl.col("day").max().alias("last"))


def _span(brought: Span, rejected: Sequence[date | None]) -> Span:
    """First and last day of what a file brought, and of its rejected rows whose day is known."""
    days = [day for day in (*rejected, *brought) if day]
    return min(days, default=None), max(days, default=None)


def _of_date(row: Row) -> bool:
    return str(row["code"]).startswith(OF_DATE)


def _days(part: Sequence[Row], key: Mapping[str, str | None], span: Span) -> Span:
    """The first and the last day a rejected row may be of.

    Its day is the one it gives; where that is what is wrong, those it can be read as, so far as they lie among the days
    of its file; else any day of its file.
    """
    wrong = [row for row in part if _of_date(row)]
    if not wrong and key.get("date"):
        day = date.fromisoformat(str(key["date"]))
        return day, day
    readable = [row["value"] for row in wrong if row["code"] != IN_THE_FUTURE and row["value"] is not None]
    days = [day for text in readable for day in readings(text)]
    if span[0] and span[1]:
        days = [day for day in days if span[0] <= day <= span[1]]
    return (min(days), max(days)) if days else span


def readings(text: str) -> list[date]:
    """Every day that a date of three numbers with a year of four digits can be read as, whatever the order."""
    numbers = [int(one) for one in re.findall(r"\d+", text)[:3]]
    found = []
    for order in _ORDERS:
        if len(numbers) == 3 and numbers[order[0]] > 1000:
            with suppress(ValueError):
                found.append(date(*(numbers[at] for at in order)))
    return sorted(set(found))
