"""Entries to check first: records under an open warning, and the figures that rest on them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Set
from dataclasses import replace
from typing import Any

import polars as pl

from pipeline.indicators.base import shares
from pipeline.indicators.base.at_least import COUNTED, missing_from, places
from pipeline.indicators.base.green_season import Evidence, Indicator, Question
from pipeline.indicators.base.records import GreenRecords
from pipeline.indicators.families import DESCRIBED
from pipeline.store.decisions import KEY_CHANGED
from pipeline.store.doubles import LIKELY_DOUBLE

PER_AREA = re.compile(r"/(?:m²|ha)\b")
"""Units of figures that rest on the green's area: a doubt about its register row is one about them."""
OF_COUNTS = pl.col("code").str.starts_with("date.") | pl.col("code").is_in([LIKELY_DOUBLE.code, KEY_CHANGED])
"""Warnings that put a number of jobs, hours and cost in question: of the day, and of whether it is a job of its own."""


def marked(figures: Iterable[Indicator], records: GreenRecords) -> tuple[Indicator, ...]:
    """The figures, each with the lines that put it in question.

    Those behind it that stand under an open warning (whether an amount, a depth or a size is right leaves counts of
    jobs, hours and cost alone; whether two lines are one job does not), those whose parts come to more than the green,
    the rejected rows that may belong to it, and what its maker doubts.
    """
    every, asked = records.open_warnings, records.asked_lines | records.parts_over
    of_counts = set(every.filter(OF_COUNTS).select("load_id", "line").iter_rows())
    green = Evidence(records.green["file"], records.green["line"], "green", records.green["load_id"])
    sizes = set(every.filter(pl.col("code") == "area.size").select("load_id", "line").iter_rows())
    area = (green,) if (green.load_id, green.line) in sizes else ()
    return tuple(
        replace(
            one,
            questioned=(
                *_among(one.evidence, of_counts if one.family in COUNTED else asked),
                *(area if PER_AREA.search(one.unit) and one.value is not None else ()),
                *places(missing_from(one, records, DESCRIBED[one.name])),
                *dict.fromkeys(doubt.place for doubt in one.doubts),
            ),
        )
        for one in figures
    )


def _among(places: tuple[Evidence, ...], asked: Set[tuple[int, int]]) -> tuple[Evidence, ...]:
    return tuple(place for place in places if (place.load_id, place.line) in asked)


def questions(figures: Iterable[Indicator], records: GreenRecords) -> Iterator[Question]:
    """The entries under a warning that figures rest on, and the rejected rows that totals lack (grain: fault).

    A value in question comes before a row that is in no figure, and of each what most figures rest on.

    Args:
        figures: of the green and season, marked.
        records: of the green.
    """
    figures = tuple(figures)
    resting: dict[Evidence, list[str]] = {}
    for one in figures:
        for place in one.questioned:
            resting.setdefault(place, []).append(one.label)
    said: dict[tuple[int, int], list[tuple[str, bool]]] = {}
    for load_id, line, message in records.open_warnings.select("load_id", "line", "message").iter_rows():
        said.setdefault((load_id, line), []).append((message, False))
    for line_of in records.parts_over:
        said.setdefault(line_of, []).append((shares.OVER_FULL, False))
    for doubt in dict.fromkeys(doubt for one in figures for doubt in one.doubts):
        said.setdefault((doubt.place.load_id, doubt.place.line), []).append((doubt.text, False))
    for row in (*records.rejected_here.iter_rows(named=True), *records.undated.iter_rows(named=True)):
        said.setdefault((row["load_id"], row["line"]), []).append((outside(row), True))
    found = [
        Question(place, message, tuple(dict.fromkeys(labels)), rejected)
        for place, labels in resting.items()
        for message, rejected in said[place.load_id, place.line]
    ]
    yield from sorted(found, key=lambda one: (one.rejected, -len(one.labels), one.place, one.text))


def outside(row: dict[str, Any]) -> str:
    """What is said of a rejected row, or of a rejected value of a line: that it is in no figure, and why."""
    if not row["rejected"]:
        return f"not in every figure it may belong to. {row['message']}"
    what = f"a value ({row['column_name']})" if row["of_value"] else "the row"
    return f"{what} is not in these figures. {row['message']}"
