"""The frozen bundles that the season summary of a club and the contractor's round-up are made from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from pipeline.indicators.base.green_season import (
    NO_SEAL,
    Due,
    DueBasis,
    DueState,
    GreenSeason,
    Indicator,
    Question,
    Seal,
)
from pipeline.indicators.base.look import ORDINARY, Look

GapKind = Literal["jobs", "area", "soil test", "timed bowls", "material", "handed back", "hours"]


@dataclass(frozen=True)
class Effort:
    """Hours and cost of some jobs (grain: any set of jobs).

    Attributes:
        jobs: number of jobs.
        hours: sum of the hours that jobs give, h; None where none gives any.
        with_hours: jobs that give hours; fewer than ``jobs`` means that the true sum is larger.
        cost: sum of the costs that jobs give, in the workspace's currency; None where none gives any.
        with_cost: jobs that give a cost.
    """

    jobs: int
    hours: float | None
    with_hours: int
    cost: Decimal | None
    with_cost: int


@dataclass(frozen=True)
class Topic:
    """A figure that greens are set side by side on: an indicator's name and band."""

    name: str
    label: str
    band: str = ""


KEY_FIGURES = (
    Topic("organic_matter_pct", "Organic matter"),
    Topic("dressing_kg_m2", "Top dressing"),
    Topic("nitrogen_kg_ha", "Nitrogen"),
    Topic("speed_s", "Green speed"),
)
"""The figures that tell how a green stands: a committee asks about them first."""


@dataclass(frozen=True)
class Days:
    """When one kind of work was done on one green (grain: green and operation).

    ``undated`` is how many works of it are known to the month or year only, and so are on none of the days.
    """

    operation: str
    green: str
    days: tuple[date, ...]
    effort: Effort
    undated: int = 0


@dataclass(frozen=True)
class SharedText:
    """A text said of several greens, once: a caution with its source, or a note with its severity.

    Attributes:
        text: the text; of a sort whose texts hold figures, the gravest.
        source: its source or severity.
        greens: codes of the greens.
        gravest: the green whose figures the text holds; "" where it holds no green's own.
    """

    text: str
    source: str
    greens: tuple[str, ...]
    gravest: str = ""


@dataclass(frozen=True)
class ClubSeason:
    """Everything a club's season summary needs (grain: club and season).

    Attributes:
        greens: the club's greens in order of their codes, without the records themselves.
        topics: figures they are set side by side on.
        efforts: hours and cost of each green, in the order of ``greens``.
        total: hours and cost of all of them.
        calendar: what was done and when, in the order of work, then of greens.
        cautions: each caution once; of one sort with figures the gravest.
        notes: each note on the records once.
        as_of: last day counted of the green whose records go farthest; each green's own stands with it.
        known_to: the last day on record of any of them; what is due on a green counts to its own.
        look: where it is looked at as of another day, or from what was in the store then.
    """

    club: str
    club_name: str
    region: str
    season: str
    season_start: date
    season_end: date
    as_of: date
    currency: str
    greens: tuple[GreenSeason, ...]
    topics: tuple[Topic, ...]
    efforts: tuple[Effort, ...]
    total: Effort
    calendar: tuple[Days, ...]
    cautions: tuple[SharedText, ...]
    notes: tuple[SharedText, ...]
    known_to: date | None = None
    look: Look = ORDINARY

    @property
    def seal(self) -> Seal:
        """The last load that touched any of its greens."""
        return max((green.seal for green in self.greens), default=NO_SEAL)

    @property
    def due(self) -> tuple[tuple[GreenSeason, Due], ...]:
        """What is due on its greens, by day, then by what it is and by green."""
        every = [(green, due) for green in self.greens for due in green.due]
        return tuple(sorted(every, key=lambda pair: (pair[1].turn, pair[1].what)))


@dataclass(frozen=True)
class KeyFigure:
    """One of the few figures that tell how a green stands.

    Attributes:
        indicator: the figure, its evidence left out.
        records: files and lines behind it ("jobs.csv: 2–5, 9").
    """

    indicator: Indicator
    records: str


@dataclass(frozen=True)
class Behind:
    """A running total that lags its planned line on the day of the round-up.

    Attributes:
        what: what is put on ("Top dressing").
        unit: unit of the totals.
        done: total so far; 0 where jobs are logged, but none of this kind.
        planned: the planned line on that day.
        goal: where the planned line ends.
        note: what a reader must know beside the total: jobs without an amount, for one.
        records: files and lines behind the total.
        questioned: whether the total rests on an entry to be checked, or a rejected row may belong to it.
    """

    what: str
    unit: str
    done: float
    planned: float
    goal: float
    note: str
    records: str
    questioned: bool = False

    @property
    def share(self) -> float:
        """How far it lags, as a share of the season's goal, 0 to 1."""
        return (self.planned - self.done) / self.goal


@dataclass(frozen=True)
class Gap:
    """A gap in the records of a green: its kind, what is known of it, and how many records it is about."""

    kind: GapKind
    detail: str
    records: int = 1


@dataclass(frozen=True)
class WorkedOn:
    """Hours and cost of one kind of work on one green, with the files and lines behind them."""

    operation: str
    effort: Effort
    records: str


@dataclass(frozen=True)
class GreenLine:
    """What the round-up says of one green in one season.

    Attributes:
        last_visit: day of the last job on record, whatever its season; None where there is none. Where only its month
            or year is known, the first day of it, and ``last_visit_to`` the last.
        days_worked: days with a job in the season.
        figures: the key figures that can be made, in a fixed order.
        behind: what lags its plan, the farthest first.
        overdue: what was due from a day that has passed.
        due: what comes next.
        gaps: where records are missing.
        effort: hours and cost of the season.
        work: the same by kind of work, in the order of work.
        changes: figures whose change over time was tested, with their verdicts, the evidence left out.
        questions: entries to be checked first.
        laboratory: steps of laboratories that its samples were measured by, in words that name no green.
        as_of: last day counted.
        known_to: the last day on record, which what is due counts to.
        seal: the last load that touched it.
    """

    green: str
    green_name: str
    club: str
    club_name: str
    region: str
    area_m2: float | None
    as_of: date
    last_visit: date | None
    days_worked: int
    figures: tuple[KeyFigure, ...]
    behind: tuple[Behind, ...]
    overdue: tuple[Due, ...]
    due: tuple[Due, ...]
    gaps: tuple[Gap, ...]
    effort: Effort
    work: tuple[WorkedOn, ...]
    changes: tuple[Indicator, ...] = ()
    questions: tuple[Question, ...] = ()
    laboratory: tuple[str, ...] = ()
    last_visit_to: date | None = None
    seal: Seal = NO_SEAL
    known_to: date | None = None


@dataclass(frozen=True)
class SharedDue:
    """The same thing due by the same time on several greens.

    Attributes:
        what: what is due.
        by: by when, in words.
        day: the day of it; None where it is a season.
        unit: unit of the quantities; "" where none is known.
        low: sum of the least quantities (dressing as delivered, as all three sums), None where no green has one.
        high: sum of the largest; None where a green has no upper end.
        greens: codes of the greens.
        counted: greens whose quantity is in the sums.
        applied: what is logged already on those greens and taken off the sums, in ``unit``; None where none is known.
        overdue: whether its day has passed and nothing logged since has met it.
        basis: of a mass that may be moist, what the three sums are; "" of anything else.
        state: how the lines of programmes stand; "" of anything else.
        words: the quantity in words, where it is the same on every green; "" where it is not.
    """

    what: str
    by: str
    day: date | None
    unit: str
    low: float | None
    high: float | None
    greens: tuple[str, ...]
    counted: int
    applied: float | None = None
    overdue: bool = False
    basis: DueBasis = ""
    state: DueState = ""
    words: str = ""


@dataclass(frozen=True)
class RoundUp:
    """Everything the contractor's round-up needs (grain: season).

    Attributes:
        greens: every green, by name of club, then by code.
        due: what is due on them, by date, then what names a season.
        clubs: hours and cost by club, in order of names: code, name, number of greens, sums.
        operations: hours and cost by kind of work, in the order of work.
        total: hours and cost of everything.
        as_of: last day counted of the green whose records go farthest; each green's own stands with it.
        known_to: the last day on record of any of them; what is due on a green counts to its own.
        look: where it is looked at as of another day, or from what was in the store then.
    """

    season: str
    season_start: date
    season_end: date
    as_of: date
    currency: str
    greens: tuple[GreenLine, ...]
    due: tuple[SharedDue, ...]
    clubs: tuple[tuple[str, str, int, Effort], ...]
    operations: tuple[tuple[str, Effort], ...]
    total: Effort
    known_to: date | None = None
    look: Look = ORDINARY

    @property
    def seal(self) -> Seal:
        """The last load that touched any of its greens."""
        return max((green.seal for green in self.greens), default=NO_SEAL)
