"""Entries to check first: records under an open warning, and the figures that rest on them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from pipeline.indicators.base import shares
from pipeline.indicators.base.at_least import COUNTED, missing_from, passed_over, places
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Evidence, Indicator, Question
from pipeline.indicators.base.rejected import OF_DATE
from pipeline.indicators.families import DESCRIBED
from pipeline.store.decisions import KEY_CHANGED
from pipeline.store.doubles import LIKELY_DOUBLE

PER_AREA = re.compile(r"/(?:m²|ha)\b")
"""Units of figures that rest on the green's area: a doubt about its register row is one about them."""
OF_HOURS, OF_EACH = "hours.odd", "operation.of_all"
"""Warnings that question hours alone, and hours and cost of single operations alone: no total, and no amount."""


def marked(figures: Iterable[Indicator], records: GreenRecords) -> tuple[Indicator, ...]:
    """The figures, each with the lines that put it in question.

    Those behind it that stand under an open warning (whether an amount, a depth or a size is right leaves counts of
    jobs, hours and cost alone, and hours leave amounts alone; whether two lines are one job does not), those whose
    parts come to more than the green, the rejected rows that may belong to it, and what its maker doubts.
    """
    asked = _Asked(records)
    green = Evidence(records.green["file"], records.green["line"], "green", records.green["load_id"])
    of_green = records.warned.get((green.load_id, green.line), ())
    area = (green,) if any(code.startswith("area.") for code, _ in of_green) else ()

    def asking(one: Indicator) -> Iterator[Evidence]:
        yield from asked.of(one)
        yield from area if PER_AREA.search(one.unit) and one.value is not None else ()
        yield from places(missing_from(one, records, DESCRIBED[one.name]))
        yield from places(passed_over(one, records, DESCRIBED[one.name]))
        yield from dict.fromkeys(doubt.place for doubt in one.doubts)

    every = tuple(figures)  # held until all are looked at: a list of lines is known by its place in memory
    return tuple(replace(one, questioned=questioned) if (questioned := tuple(asking(one))) else one for one in every)


class _Asked:
    """Lines under an open warning, by what the warning puts in question."""

    def __init__(self, records: GreenRecords) -> None:
        self._warned, self._over = records.warned, records.parts_over
        self._asking = records.warned.keys() | records.parts_over
        self._told: dict[int, list[tuple[Evidence, tuple[int, int]]]] = {}

    def of(self, one: Indicator) -> tuple[Evidence, ...]:
        """The lines behind a figure that one of its warnings questions; figures share their lists of lines."""
        if id(one.evidence) not in self._told:
            asking, every = self._asking, one.evidence if self._asking else ()
            self._told[id(one.evidence)] = [(at, line) for at in every if (line := (at.load_id, at.line)) in asking]
        return tuple(at for at, line in self._told[id(one.evidence)] if self._asks(one, line))

    def _asks(self, one: Indicator, line: tuple[int, int]) -> bool:
        if line in self._over and one.family not in COUNTED:
            return True
        return line in self._warned and any(_asks(code, one) for code, _ in self._warned[line])


def _asks(code: str, one: Indicator) -> bool:
    """Whether a warning about a line that a figure rests on puts the figure in question."""
    if one.family not in COUNTED:
        return code not in (OF_HOURS, OF_EACH)
    if code in (OF_HOURS, OF_EACH):
        return one.unit == "h" if code == OF_HOURS else bool(one.band)
    return code.startswith(OF_DATE) or code in (
        LIKELY_DOUBLE.code,
        KEY_CHANGED,
    )  # of the day, and of whether it is a job of its own


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
    lines = {(place.load_id, place.line) for place in resting}
    said = {line: [(message, False) for _, message in records.warned[line]] for line in lines if line in records.warned}
    for line_of in records.parts_over:
        said.setdefault(line_of, []).append((shares.OVER_FULL, False))
    for doubt in dict.fromkeys(doubt for one in figures for doubt in one.doubts):
        said.setdefault((doubt.place.load_id, doubt.place.line), []).append((doubt.text, False))
    for row in (*records.rows_left_out[True], *records.rows_of_periods):
        of_line = said.setdefault((row["load_id"], row["line"]), [])
        if (told := (outside(row), True)) not in of_line:
            of_line.append(told)
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
