"""Range, middle half, median and the reader's own greens on one line, and what the line shows in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from string import ascii_uppercase

from pipeline.compare.comparison import Cell, Own
from reports.page import text

WIDTH, PAD = 200.0, 5.0
CLOSE = 12.0
"""Dots nearer than so many units of the view box share one place for their letters."""


@dataclass(frozen=True)
class Box:
    """Places on a line, in the units of its view box.

    Attributes:
        low: left end of the range.
        quarter: left edge of the box of the middle half.
        median: the tick.
        three_quarters: right edge of the box.
        high: right end of the range.
        marks: dots of the reader's own greens.
        letters: places of the letters above the dots, and the letters.
        title: what the line shows, in words.
    """

    low: float
    quarter: float
    median: float
    three_quarters: float
    high: float
    marks: tuple[float, ...]
    letters: tuple[tuple[float, str], ...]
    title: str


def letters_of(own: Sequence[Own]) -> dict[str, str]:
    """Code of each of the reader's own greens → the letter of its dots; past the alphabet a number."""
    greens = dict.fromkeys(one.green for one in own)
    return {green: ascii_uppercase[i] if i < len(ascii_uppercase) else str(i + 1) for i, green in enumerate(greens)}


def boxes(cells: Sequence[Cell], own: Sequence[Own], letters: Mapping[str, str]) -> list[Box]:
    """The lines of the groups of one topic, all on one scale.

    Args:
        cells: the groups.
        own: the reader's own figures.
        letters: of the reader's own greens.
    """
    marks = [[one for one in own if one.cell == cell] for cell in cells]
    every = [
        end for cell, of in zip(cells, marks, strict=True) for end in (cell.low, cell.high, *(o.value for o in of))
    ]
    left, width = min(every), max(every) - min(every) or 1.0

    def at(value: float) -> float:
        return round(PAD + (value - left) / width * (WIDTH - 2 * PAD), 1)

    return [
        Box(
            low=at(cell.low),
            quarter=at(cell.quarter),
            median=at(cell.median),
            three_quarters=at(cell.three_quarters),
            high=at(cell.high),
            marks=tuple(at(one.value) for one in of),
            letters=_beside([(at(one.value), letters[one.green]) for one in of]),
            title=_title(cell, of, letters),
        )
        for cell, of in zip(cells, marks, strict=True)
    ]


def _beside(marks: Sequence[tuple[float, str]]) -> tuple[tuple[float, str], ...]:
    """Letters with their places; those of dots close together in one place, from left to right."""
    runs: list[list[tuple[float, str]]] = []
    for place, letter in sorted(marks):
        if runs and place - runs[-1][-1][0] < CLOSE:
            runs[-1].append((place, letter))
        else:
            runs.append([(place, letter)])
    return tuple((round((run[0][0] + run[-1][0]) / 2, 1), " ".join(letter for _, letter in run)) for run in runs)


def _title(cell: Cell, own: Sequence[Own], letters: Mapping[str, str]) -> str:
    """Each dot by its green, and where it lies; then the values that the line, its box and its tick show."""
    dots = [
        f"Dot {letters[one.green]}, {text.clean(one.green_name, 60)}, "
        f"{text.quantity(one.value, one.topic.unit, one.topic.decimals)}: {_where(one.value, cell)}"
        for one in own
    ]
    unit, places = cell.topic.unit, cell.topic.decimals
    drawn = (
        f"The line of the range runs from {_from_to(cell.low, cell.high, unit, places)}, the box of the middle half "
        f"from {_from_to(cell.quarter, cell.three_quarters, unit, places)}; the tick of the median stands at "
        f"{text.quantity(cell.median, unit, places)}"
    )
    return ". ".join([*dots, drawn]) + "."


def _from_to(low: float, high: float, unit: str, places: int) -> str:
    return f"{text.number(low, places)} to {text.quantity(high, unit, places)}"


def _where(value: float, cell: Cell) -> str:
    if value < cell.quarter:
        return "left of the box, lower than the middle half"
    if value > cell.three_quarters:
        return "right of the box, higher than the middle half"
    side = "on" if value == cell.median else "left of" if value < cell.median else "right of"
    return f"in the box, {side} the median"
