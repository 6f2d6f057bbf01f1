"""What the visit before found and asked for, and whether it was done since: by the rules in force and the job log."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from pipeline.indicators.base.green_season import Indicator
from pipeline.survey.told import Told


@dataclass(frozen=True)
class DoneSince:
    """A work that was asked for, and what the log has of it since.

    Attributes:
        operation: code of the operation.
        days: days on which it was done, oldest first; none where the log has none.
    """

    operation: str
    days: tuple[date, ...]


@dataclass(frozen=True)
class EarlierFinding:
    """One finding of the visit before.

    Attributes:
        told: the finding as it was told then.
        now: the same figure at this visit; None where it was not measured again.
        works: what was asked for, in the order of the finding.
    """

    told: Told
    now: Indicator | None
    works: tuple[DoneSince, ...]


@dataclass(frozen=True)
class Earlier:
    """The visit before.

    Attributes:
        day: its day.
        findings: what was found on it, of its own readings; gravest first.
    """

    day: date
    findings: tuple[EarlierFinding, ...]


def earlier(
    day: date, then: Sequence[Told], now: Mapping[tuple[str, str], Indicator], done: Iterable[tuple[date, str]]
) -> Earlier:
    """What the visit before found, and what became of it.

    Args:
        day: day of that visit.
        then: its findings.
        now: figures of this visit, by name and band.
        done: day and operation of every work since that day.
    """
    days: dict[str, list[date]] = {}
    for one, operation in sorted(done):
        days.setdefault(operation, []).append(one)
    return Earlier(day, tuple(_findings(then, now, days)))


def _findings(
    then: Sequence[Told], now: Mapping[tuple[str, str], Indicator], days: Mapping[str, list[date]]
) -> Iterator[EarlierFinding]:
    for one in then:
        if not one.of_visit:
            continue
        figure = one.lead.figures[0]
        works = tuple(DoneSince(work, tuple(days.get(work, ()))) for work in one.works)
        yield EarlierFinding(one, now.get((figure.name, figure.band)), works)
