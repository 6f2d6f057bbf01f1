"""Hours and cost added up, works in the order of work, and the places of records in few words."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from math import fsum

from pipeline.common import money
from pipeline.common.grouped import grouped
from pipeline.common.words import line_ranges
from pipeline.indicators.base.green_season import Evidence, Work
from pipeline.summaries.club_season import Effort
from schemas.codes import code_list


def effort(works: Iterable[Work]) -> Effort:
    """Hours and cost of the works, each the sum of what is given."""
    every = list(works)
    hours = [work.hours for work in every if work.hours is not None]
    costs = [work.cost for work in every if work.cost is not None]
    return Effort(len(every), _sum(hours), len(hours), money.total(costs), len(costs))


def total_effort(parts: Iterable[Effort]) -> Effort:
    """The sum of several sums; what none of them knows stays unknown."""
    every = list(parts)
    return Effort(
        sum(part.jobs for part in every),
        _sum([part.hours for part in every if part.hours is not None]),
        sum(part.with_hours for part in every),
        money.total(part.cost for part in every),
        sum(part.with_cost for part in every),
    )


def _sum(values: list[float]) -> float | None:
    return fsum(values) if values else None


def by_operation(works: Iterable[Work]) -> dict[str, list[Work]]:
    """Works by their kind, in the order of work."""
    return grouped(sorted(works, key=lambda work: (place_of(work.operation), work.date)), lambda work: work.operation)


@cache
def _places() -> dict[str, int]:
    return {code.label: place for place, code in enumerate(code_list("operation").values())}


def place_of(operation: str) -> tuple[int, str]:
    """Where a kind of work comes in the order of work; one not listed comes last, by name."""
    return _places().get(operation, len(_places())), operation


def records_of(evidence: Iterable[Evidence]) -> str:
    """Files with their lines: "jobs.csv: 2–5, 9; soil.csv: 3"; "" without any."""
    by_file = grouped(evidence, lambda place: place.file)
    return "; ".join(f"{file}: {line_ranges(one.line for one in places)}" for file, places in sorted(by_file.items()))
