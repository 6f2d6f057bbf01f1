"""What the store holds of plans and of what was done, as the plan counts it: read only, as it stands.

A club's line is read as one of each of its greens that were in force when its window opens; rates become amounts by
the green's area and packs by the material's pack, both as they held on that day (of a job: on its day). What cannot be
known is None with the reason, never 0.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

import polars as pl

from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Evidence
from pipeline.plan.together import Together, by_number
from pipeline.plan.works import HOW_OFTEN, Done, Planned, Unit
from pipeline.store.planned import LINES, asked_for, held, planned_rows
from pipeline.store.store import Store

G_OF_KG = 1000.0
"""Grams in a kilogram, and millilitres in a litre."""
_FIELDS = (
    "green", "operation", "date", "date_to", "material", "hours", "cost", "treated_area_m2", "mass_kg", "volume_l",
    "packs", "file", "line", "load_id",
)  # fmt: skip
_OF_JOB = f"{', '.join(_FIELDS)}, coalesce(rate_g_m2, rate_ml_m2) AS rate"
_BY = ("green", "date", "operation", "file", "line")
_JOBS = f"""
WITH done AS (
    SELECT {_OF_JOB} FROM application
    UNION ALL SELECT {_OF_JOB} FROM job WHERE material IS NULL AND operation <> 'top_dressing'
)
SELECT p.*, coalesce(p.date_to, p.date) AS last, g.area_m2
FROM done AS p {held("green_by_day", "green", "g", "p.date")}
"""  # noqa: S608 (SQL of ours)
"""Jobs, with what packs and rates come to where something was put on (view ``application``)."""


def planned_works(
    store: Store, greens: Sequence[str] | None = None, days: tuple[date, date] | None = None
) -> tuple[Planned, ...]:
    """Every planned work in force, each of one green, by green and window.

    Lines of templates are of no green, and lines that say 0 times are taken out.

    Args:
        store: the store.
        greens: the greens they are of; None for all.
        days: first and last day, one of which lies in their window; None for all.
    """
    return tuple(planned_of(planned_rows(store, greens, days)))


def planned_of(rows: pl.DataFrame) -> Iterable[Planned]:
    """Rows of planned works (:func:`pipeline.store.planned.planned_rows`) as the plan counts them."""
    return (_planned(row) for row in rows.iter_rows(named=True))


def _planned(row: Mapping[str, Any]) -> Planned:
    times = row["times"] if row["times"] is not None else None if row["times_open"] else 1
    unit, once, unsized = _size(row)
    if times is None:
        once, unsized = None, f"{HOW_OFTEN}; {unsized}" if unsized else HOW_OFTEN
    return Planned(
        green=row["green"],
        operation=row["operation"],
        first=row["window_from"],
        last=row["window_to"],
        unit=unit,
        size=None if once is None or times is None else once * times,
        material=row["material"] or "",
        depth_mm=row["depth_mm"],
        passes=row["passes"],
        hours=None if row["hours"] is None or times is None else row["hours"] * times,
        programme=row["programme"] or "",
        basis=row["basis"] or "",
        place=_place(row, "planned_work"),
        unsized=unsized,
        times=times,
        pack=row["pack_kg"] if unit == "kg" else row["pack_l"] if unit == "l" else None,
        note=row["note"] or "",
        unregistered=row["material"] is not None and not row["in_register"],
        given_up=row["closed_on"] if row["closed_on"] and row["closed_on"] <= row["window_from"] else None,
        given_up_by=row["closed_by"],
    )


def _place(row: Mapping[str, Any], kind: str) -> Evidence:
    return Evidence(row["file"], row["line"], kind, row["load_id"])


def _size(row: Mapping[str, Any]) -> tuple[Unit, float | None, str]:
    """Of one time over the whole green: what it is counted in, how much, and why that is not known."""
    for unit, whole in (("kg", row["mass_kg"]), ("l", row["volume_l"])):
        if whole is not None:
            return unit, whole, ""  # type: ignore[return-value]
    if row["packs"] is not None:
        return _of_packs(row)
    for unit, rate in (("kg", row["rate_g_m2"]), ("l", row["rate_ml_m2"])):
        if rate is not None:
            why = "" if row["area_m2"] else f"the area of {row['green']} is not recorded"
            return unit, None if why else rate * row["area_m2"] / G_OF_KG, why  # type: ignore[return-value]
    if row["material"] is None:
        return "times", 1.0, ""
    return _by_form(row), None, f"the programme says no amount or rate of {row['material']}"


def _of_packs(row: Mapping[str, Any]) -> tuple[Unit, float | None, str]:
    for unit, pack in (("kg", row["pack_kg"]), ("l", row["pack_l"])):
        if pack is not None:
            return unit, row["packs"] * pack, ""  # type: ignore[return-value]
    if row["material"] is None:
        return "kg", None, "the programme says packs and no material"
    known = "the register does not say what a pack of it holds" if row["in_register"] else "it is not in the register"
    return _by_form(row), None, f"the programme says packs of {row['material']}, and {known}"


def _by_form(row: Mapping[str, Any]) -> Unit:
    return "l" if row["form"] == "liquid" else "kg"


def without_green(store: Store) -> tuple[Evidence, ...]:
    """Lines of clubs that had no green in force when their window opened: they ask for nothing, and should be told."""
    rows = store.frame(
        f"SELECT file, line, load_id FROM planned_work WHERE club IS NOT NULL AND (times IS NULL OR times > 0) "  # noqa: S608
        f"EXCEPT SELECT file, line, load_id FROM ({LINES})",
        by=("file", "line"),
    )
    return tuple(_place(row, "planned_work") for row in rows.iter_rows(named=True))


def done_works(
    store: Store,
    greens: Sequence[str] | None = None,
    days: tuple[date, date] | None = None,
    asked: Iterable[Planned] | None = None,
) -> tuple[Done, ...]:
    """Every job in force as the plan counts it, by green and day.

    Args:
        store: the store.
        greens: the greens they are of; None for all.
        days: first and last day, between which they can have been done; None for all.
        asked: only jobs of the green and the operation of one of these works; None for all.
    """
    where, values = asked_for(greens, days, "date", "last")
    jobs = _JOBS
    if asked is not None:
        works = sorted({(one.green, one.operation) for one in asked})
        values |= {"of_green": [green for green, _ in works], "of_work": [work for _, work in works]}
        jobs = f"FROM ({_JOBS}) SEMI JOIN ({_WORKS}) USING (green, operation)"
    rows = store.frame(f"SELECT * FROM ({jobs}){where}", by=_BY, **values)  # noqa: S608 (SQL of ours)
    return tuple(_done(row) for row in rows.iter_rows(named=True))


_WORKS = "SELECT unnest($of_green::VARCHAR[]) AS green, unnest($of_work::VARCHAR[]) AS operation"


def done_of(records: GreenRecords, first: date, last: date) -> tuple[Done, ...]:
    """The same of one green from its records, of jobs that can have been done between two days."""
    return tuple(done(jobs_of([records], [(first, last)])).get(0, ()))


def jobs_of(each: Sequence[GreenRecords], days: Sequence[tuple[date, date]]) -> pl.DataFrame:
    """Jobs of greens that can have been done between two days, as the plan counts them (grain: job).

    Args:
        each: the greens.
        days: of each green, first and last day.
    """
    of = Together(each)
    put_on = [of.applications, of.numbered(one.periods["application"] for one in each)]
    bare = [
        frame.filter(pl.col("material").is_null() & (pl.col("operation") != "top_dressing"))
        for frame in (of.jobs, of.numbered(one.periods["job"] for one in each))
    ]
    until = pl.coalesce("date_to", "date").alias("last")
    rate = pl.coalesce("rate_g_m2", "rate_ml_m2").alias("rate")
    columns = ("of", *_FIELDS, rate, until, pl.col("green_m2").alias("area_m2"))
    rows = pl.concat([frame.select(columns) for frame in (*put_on, *bare)])
    schema = {"of": pl.UInt32, "first_day": pl.Date, "last_day": pl.Date}
    spans = pl.DataFrame([(at, *span) for at, span in enumerate(days)], schema=schema, orient="row")
    rows = rows.join(spans, on="of", how="left", maintain_order="left")
    rows = rows.filter((pl.col("date") <= pl.col("last_day")) & (pl.col("last") >= pl.col("first_day")))
    return rows.drop("first_day", "last_day").sort("of", *_BY, maintain_order=True)


def done(jobs: pl.DataFrame) -> dict[int, list[Done]]:
    """Rows of :func:`jobs_of` as the plan counts them, by the number of their green."""
    return {of: list(map(_done, rows)) for of, rows in by_number(jobs, *jobs.columns[1:]).items()}


def _done(row: Mapping[str, Any]) -> Done:
    treated, area = row["treated_area_m2"], row["area_m2"]
    part = 1.0 if treated is None or not area else min(treated / area, 1.0)
    return Done(
        green=row["green"],
        operation=row["operation"],
        first=row["date"],
        last=row["last"],
        material=row["material"] or "",
        kg=row["mass_kg"],
        l=row["volume_l"],
        part=part,
        hours=row["hours"],
        cost=row["cost"],
        place=_place(row, "job"),
        unsure="; ".join(_unsure(row)),
    )


def _unsure(row: Mapping[str, Any]) -> Iterable[str]:
    if row["treated_area_m2"] is not None and not row["area_m2"]:
        area = f"{row['treated_area_m2']:g} m²"
        yield f"what part of the green {area} are, its area not being recorded: it is taken as the whole"
    put_on = row["material"] is not None or row["operation"] == "top_dressing"
    if not put_on or row["mass_kg"] is not None or row["volume_l"] is not None:
        return
    material = row["material"] or "the dressing"
    if row["packs"] is not None:
        yield f"what a pack of {material} holds"
    elif row["rate"] is not None:
        yield "over what area the rate was put on"
    else:
        yield f"how much of {material} was put on"


def greens_logged(store: Store, first: date, last: date) -> frozenset[str]:
    """Codes of the greens of which a job is logged that can have been done between two days."""
    sql = "SELECT DISTINCT green FROM job WHERE date <= ? AND coalesce(date_to, date) >= ?"
    return frozenset(green for (green,) in store.rows(sql, [last, first]))
