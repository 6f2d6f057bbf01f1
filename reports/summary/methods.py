"""How the figures of a season summary were made, by the number of the panel or table that prints them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from pipeline.indicators.base.green_season import Indicator
from pipeline.summaries.club_season import ClubSeason
from reports.page import text
from reports.page.evidence import MethodLine, made_by, method_lines
from reports.summary import wording


def methods_of(club: ClubSeason) -> tuple[MethodLine, ...]:
    """How the figures of the panels, the hours and the cost were made, by the number of the panel or table.

    Where a figure of some greens was made in another way than that of others, each way names its greens.
    """
    pairs: list[tuple[int, Indicator]] = []
    greens: dict[int, dict[str, str]] = {}
    for number, topic in enumerate(club.topics, start=1):
        for green in club.greens:
            if (one := wording.figure_of(green, topic)) is not None:
                pairs.append((number, one))
                greens.setdefault(number, {})[text.name(green.green_name, 48)] = made_by(one)
    table = len(club.topics) + 1
    for green in club.greens:
        pairs += [(table, one) for one in green.indicators if one.name in ("hours_h", "hours", "cost", "cost_m2")]
    return tuple(_of_greens(line, greens) for line in method_lines(tuple(pairs), 4))


def _of_greens(line: MethodLine, greens: Mapping[int, Mapping[str, str]]) -> MethodLine:
    """The line with the names of its greens, where others' figure of that number was made in another way."""
    of = greens.get(int(line.numbers[0]), {}) if len(line.numbers) == 1 else {}
    names = [name for name, method in of.items() if method == line.method]
    if not names or len(set(of.values())) < 2:
        return line
    return replace(line, method=f"{wording.named(names)}: {line.method}")
