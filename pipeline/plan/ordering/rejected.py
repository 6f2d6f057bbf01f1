"""What an order does not know of, because it stands in rows that were rejected and are not yet corrected."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import polars as pl

from pipeline.common.words import counted, listed
from pipeline.indicators.base.green_season import Evidence
from pipeline.indicators.base.rejected import rejected_rows
from pipeline.plan.ordering.open_works import PUT_ON
from pipeline.plan.purchase.parts import Question
from pipeline.store.store import Store
from pipeline.workspace.settings import Season
from schemas import KINDS

MOST_FILES = 3
"""Files named in a sentence; every line stands in the table of what is asked."""
MISSED = {
    "stock": ("what it says is there", "what they say is there", ", or on its way, is bought all the same"),
    "price": ("its price is", "their prices are", " not compared"),
    "planned_work": ("nothing is ordered for it", "nothing is ordered for them", ""),
    "material": ("what it says", "what they say", " of packs and mixes is not known"),
    "job": ("what it says was put on", "what they say was put on", " may be ordered again"),
}
"""Kind of record → what its rejected rows do to an order: of one row, of several, and how both go on."""


def rejected_of_order(store: Store, greens: Sequence[str], seasons: Sequence[Season]) -> Iterator[Question]:
    """A question for each kind of which rows are outside the store, with their places.

    Of jobs only those that may have put something on within the seasons; of rows of which the green was understood,
    those of the greens asked about.

    Args:
        store: the store.
        greens: the greens that the order is for.
        seasons: the seasons that it is for, in order.
    """
    faults = store.frame(
        "SELECT f.*, l.file FROM meta.fault AS f JOIN meta.load AS l ON l.load_id = f.load_id "
        "WHERE f.severity = 'error' AND f.line IS NOT NULL AND list_contains($kinds, l.kind)",
        kinds=list(MISSED),
    )
    if not faults.height:
        return
    frames = {name: store.frame(f'SELECT * FROM "{name}"') for name in MISSED}  # noqa: S608 (names from KINDS)
    loads, rejects = store.frame("SELECT * FROM meta.load"), store.frame("SELECT name, place, file FROM meta.rejects")
    days = {file: (first, last) for file, first, last in store.frame(_JOB_DAYS).iter_rows()}
    rows = rejected_rows(frames, days, faults, loads, rejects)
    rows = rows.filter(pl.col("green").is_null() | pl.col("green").is_in(list(greens)))
    rows = rows.filter((pl.col("kind") != "job") | (_puts_on() & _within(seasons)))
    for kind, missed in MISSED.items():
        places = rows.filter(pl.col("kind") == kind).select("file", "line").unique().sort("file", "line").rows()
        if places:
            of = f"{counted(len(places), 'row')} of {KINDS[kind].title}"
            text = f"{of} rejected, not yet corrected ({_files(places)}): {missed[len(places) > 1]}{missed[2]}."
            yield Question(text, tuple(Evidence(file, line, kind) for file, line in places))


def _files(places: Sequence[tuple[str, int]]) -> str:
    files = list(dict.fromkeys(file for file, _ in places))
    left = len(files) - MOST_FILES
    return listed([*files[:MOST_FILES], *([f"{left:,} more"] if left > 0 else [])])


_JOB_DAYS = "SELECT file, min(date) AS first, max(date) AS last FROM job GROUP BY file"


def _puts_on() -> pl.Expr:
    """Whether a job may have put something on: what it was is not understood, or it is such a work, or names one."""
    operation = pl.col("operation")
    return operation.is_null() | operation.is_in(list(PUT_ON)) | pl.col("material").is_not_null()


def _within(seasons: Sequence[Season]) -> pl.Expr:
    """Whether it may be of the seasons; of a row of no known day it may."""
    outside = (pl.col("last") < seasons[0].start) | (pl.col("first") > seasons[-1].end)
    return ~outside.fill_null(value=False)
