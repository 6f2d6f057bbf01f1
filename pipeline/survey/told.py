"""Findings as a survey tells them: of one topic as one, what the visit itself showed first, each with its photos."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from pipeline.findings.findings import Finding, Rule
from pipeline.findings.topics import by_topic
from pipeline.indicators.base.green_season import Indicator
from pipeline.survey.visit_observations import Measured, Photo, VisitObservations


@dataclass(frozen=True)
class Told:
    """One finding as told.

    Attributes:
        parts: what rules found of it, that of the visit first, then gravest first.
        of_visit: whether one of them is about a figure of the visit; else all rest on records of other days.
        photos: numbers of the photos that show it, from 1 in the order of the survey's photos.
    """

    parts: tuple[Finding, ...]
    of_visit: bool
    photos: tuple[int, ...] = ()

    @property
    def lead(self) -> Finding:
        """The part that its heading is of."""
        return self.parts[0]

    @property
    def figures(self) -> tuple[Indicator, ...]:
        """The figures that it rests on, each once."""
        return tuple(dict.fromkeys(one for part in self.parts for one in (*part.figures, *part.beside)))

    @property
    def weight(self) -> int:
        """Consequence for the green if nothing is done, that of the gravest part."""
        return max(part.rule.weight for part in self.parts)

    @property
    def doubtful(self) -> bool:
        """Whether all of it may be chance."""
        return all(part.doubtful for part in self.parts)

    @property
    def works(self) -> tuple[str, ...]:
        """Operations that it asks for, as in the job log, each once."""
        return tuple(dict.fromkeys(work for part in self.parts for work in part.rule.works))

    def less(self, work: str) -> bool:
        """Whether it asks for less of a work, and no part of it for more."""
        return all(part.rule.less for part in self.parts if work in part.rule.works)

    def months(self, work: str) -> tuple[int, ...]:
        """Months in which it asks for a work; none where any will do."""
        asking = [part.rule.months for part in self.parts if work in part.rule.works]
        return () if () in asking else tuple(sorted({month for months in asking for month in months}))


def told(
    found: Iterable[Finding], held: Sequence[Rule], of_visit: Callable[[Indicator], bool], seen: VisitObservations
) -> tuple[Told, ...]:
    """The findings as told: those of the visit first, gravest first among both.

    Args:
        found: what rules find, gravest first.
        held: rules in force: of those that weigh alike the first in their order heads a topic.
        of_visit: whether a figure was made of readings of the day and of nothing else.
        seen: what the visit measured beside levels, with its photos.
    """
    order = {rule.id: place for place, rule in enumerate(held)}
    made = [_one(parts, order, of_visit, seen) for parts in by_topic(found)]
    return tuple(sorted(made, key=lambda one: (not one.of_visit, -one.weight, one.doubtful)))


def _one(
    parts: Sequence[Finding], order: Mapping[str, int], of_visit: Callable[[Indicator], bool], seen: VisitObservations
) -> Told:
    def turn(part: Finding) -> tuple[bool, int, int]:
        return not of_visit(part.figures[0]), -part.rule.weight, order[part.rule.id]

    ranked = tuple(sorted(parts, key=turn))
    figures = [one for part in ranked for one in part.figures]
    return Told(ranked, of_visit(ranked[0].figures[0]), tuple(_photos(figures, seen)))


def _photos(figures: Sequence[Indicator], seen: VisitObservations) -> Iterator[int]:
    """Photos that a reading behind one of the figures names, or that were taken where it was read."""
    keys = {(one.name, one.band) for one in figures}
    behind = [one for one in seen.measured if (one.figure, one.method) in keys]
    for number, photo in enumerate(seen.photos, start=1):
        if any(_shows(photo, one) for one in behind):
            yield number


def _shows(photo: Photo, one: Measured) -> bool:
    place = photo.place.casefold()
    return any(r.photo == photo.file or (place and r.spot.casefold() == place) for r in one.readings)
