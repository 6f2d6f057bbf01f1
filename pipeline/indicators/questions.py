"""Entries to check first: records under an open warning, and the figures that rest on them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from pipeline.indicators.base.green_season import Evidence, Indicator, Question
from pipeline.indicators.base.records import GreenRecords


def marked(figures: Iterable[Indicator], records: GreenRecords) -> tuple[Indicator, ...]:
    """The figures, each with the lines behind it that stand under an open warning."""
    asked = set(records.open_warnings.select("load_id", "line").iter_rows())
    return tuple(
        replace(one, questioned=tuple(place for place in one.evidence if (place.load_id, place.line) in asked))
        for one in figures
    )


def questions(figures: Iterable[Indicator], records: GreenRecords) -> Iterator[Question]:
    """The entries under a warning that figures rest on, those that most figures rest on first (grain: warning).

    Args:
        figures: of the green and season, marked.
        records: of the green.
    """
    resting: dict[Evidence, list[str]] = {}
    for one in figures:
        for place in one.questioned:
            resting.setdefault(place, []).append(one.label)
    said: dict[tuple[int, int], list[str]] = {}
    for load_id, line, message in records.open_warnings.select("load_id", "line", "message").iter_rows():
        said.setdefault((load_id, line), []).append(message)
    for place, labels in sorted(resting.items(), key=lambda item: (-len(item[1]), item[0])):
        for message in said[place.load_id, place.line]:
            yield Question(place, message, tuple(dict.fromkeys(labels)))
