"""What the first page of a condition report says, frozen; made in ``pipeline/first_page``, worded by the report.

Sums, dates and figures stand here as they are; how they are rounded and said is the page's.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from pipeline.agronomy.levels.level_map import LevelMap
    from pipeline.indicators.base.green_season import Indicator, Question, Verdict

Decider = Literal["Committee", "Greenkeeper", "Licensed person"]


@dataclass(frozen=True)
class Counts:
    """How many checks (figures that have a target) stand how; they add up to ``of``.

    Attributes:
        of: checks in all.
        on_target: on their target.
        close: close to a limit of it.
        off: off it.
        early: of which it is too early to say.
        few: of which there are too few records to say.
        waiting: resting on an entry under a warning: neither on target nor off until it is settled.
        off_names: what is off, in short names, the farthest first, each with how many figures of it are.
    """

    of: int = 0
    on_target: int = 0
    close: int = 0
    off: int = 0
    early: int = 0
    few: int = 0
    waiting: int = 0
    off_names: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True)
class LoggedSum:
    """Hours or money of a season as its log gives them.

    Attributes:
        value: the sum; None where nothing is logged.
        known: jobs whose figure the log gives.
        jobs: jobs of the season.
        short: what else of the log is not in it, in words; "" where nothing is known to be missing.
    """

    value: Decimal | None
    known: int
    jobs: int
    short: str = ""

    @property
    def whole(self) -> bool:
        """Whether it is of all jobs, and there are any."""
        return 0 < self.known == self.jobs and not self.short


@dataclass(frozen=True)
class Spent:
    """What a season took, beside the one before.

    Attributes:
        season: its name.
        last_season: name of the one before.
        so_far: whether it still runs.
        cost: money.
        hours: hours of all people.
        per_m2: money a square metre; None where it is not known.
        last_cost: money of the season before.
        last_hours: hours of it.
        last_per_m2: money a square metre of it.
        less_last: this season's money less the last one's; None where one of them is not whole.
        budget: what the season may cost; None where none is set, or it cannot be told.
        less_budget: money less the budget; None where the money is not whole.
        why: why it is not set beside the last season, or the budget; "" where it is.
        log_begins: the day its log begins, where that is so far into it that works before are not counted; else None.
    """

    season: str
    last_season: str
    so_far: bool
    cost: LoggedSum
    hours: LoggedSum
    per_m2: Decimal | None
    last_cost: LoggedSum
    last_hours: LoggedSum
    last_per_m2: Decimal | None
    less_last: Decimal | None = None
    budget: Decimal | None = None
    less_budget: Decimal | None = None
    why: str = ""
    log_begins: date | None = None


@dataclass(frozen=True)
class Hollows:
    """Ground of a surveyed green that lies too low.

    Attributes:
        number: connected areas.
        deepest_mm: depth of the deepest place.
        across_m: where that is, across.
        along_m: the same along.
        lifts: thin dressings that the deepest takes.
        lift_mm: thickness of one.
        fill_t: dry dressing that fills what may be dressed, t; None where none is ordered.
        deep: areas too deep to be dressed up: there the heights are to be checked and the turf lifted.
        worst: whether the deepest place is farther off than any bump.
        one_side: whether the green as a whole falls to a side, and what lies low is that side and no hollow.
        unfit: why no dressing is ordered: every place is too deep ("deep"), it would take more than is dressed in
            ("much"), or one part of the survey lies a step above the rest ("step"); "" where one is.
    """

    number: int
    deepest_mm: float
    across_m: float
    along_m: float
    lifts: int
    lift_mm: float
    fill_t: float | None
    deep: int = 0
    worst: bool = True
    one_side: bool = False
    unfit: Literal["", "deep", "much", "step"] = ""


@dataclass(frozen=True)
class Found:
    """One finding of the first page.

    Attributes:
        lead: its first words, with {label}, {band}, {value}, {target} and {standing} of its figure.
        figure: the figure it is about.
        for_play: what it means for play or grass.
        verdict: two to five words on what is to be done; "" for none.
        doubtful: whether it may be chance.
        untrue: whether bowls run untrue over it.
        works: operations it asks for, as in the job log.
        less: whether it asks for less of them.
        helps: what usually helps, in sentences; "" where no rule says so.
        months: months for them, 1 to 12; empty for any.
        change: the verdict on its change over time; None where none is made.
        last: the same figure of last season; None where there is none.
        of_laboratory: whether its change may be a step of the laboratory's.
        hollows: where the green is low, where that is what was found.
    """

    lead: str
    figure: Indicator
    for_play: str = ""
    verdict: str = ""
    doubtful: bool = False
    works: tuple[str, ...] = ()
    less: bool = False
    helps: str = ""
    months: tuple[int, ...] = ()
    change: Verdict | None = None
    last: Indicator | None = None
    of_laboratory: bool = False
    hollows: Hollows | None = None
    untrue: bool = False


@dataclass(frozen=True)
class Amounts:
    """How much of one unit: from ``low`` to ``high`` (None for no upper end).

    ``of`` is "N" where it is nitrogen, whose product is open, and not what is put on.
    """

    low: float
    high: float | None
    unit: str
    of: str = ""


@dataclass(frozen=True)
class Action:
    """What to do, works of one operation together.

    Attributes:
        what: the work, as a reader calls it.
        who: who decides about it.
        operations: codes of the works in it.
        findings: numbers of the findings it answers; none of a routine one.
        less: those of them that ask for less of it.
        lines: lines of the due list in it; 0 where none asks for it.
        unsized: of how many of them no amount is known.
        unsure: how many of them a job of the log may have done already; they are in no amount.
        amounts: what is put on, by unit.
        materials: of which materials.
        first: first day of the first window; None where it is not known.
        last: last day of the last one; None likewise.
        months: months for it, where no window is known.
        season: the season it is asked of, where neither is known.
        overdue: whether the day of one of them has passed.
        waits: whether its amount waits for an entry to be checked.
        cost: money of what is priced; None where nothing is.
        priced: works that are priced.
        of: works that take money, priced or not.
        why: why the others are not priced.
        lacking: why no amount is known, where the programme gives none; "" else.
        at_least: whether the cost is of the least amount asked for.
        as_this_season: jobs of this season that it would repeat; 0 where the due list asks for it.
        hollows: the hollows it fills.
        parts: the actions that are told together in it; empty of one by itself.
    """

    what: str
    who: Decider
    operations: tuple[str, ...]
    findings: tuple[int, ...] = ()
    less: tuple[int, ...] = ()
    lines: int = 0
    unsized: int = 0
    unsure: int = 0
    amounts: tuple[Amounts, ...] = ()
    materials: tuple[str, ...] = ()
    first: date | None = None
    last: date | None = None
    months: tuple[int, ...] = ()
    season: str = ""
    overdue: bool = False
    waits: bool = False
    cost: Decimal | None = None
    priced: int = 0
    of: int = 0
    why: str = ""
    lacking: str = ""
    at_least: bool = False
    as_this_season: int = 0
    hollows: Hollows | None = None
    parts: tuple[Action, ...] = ()


@dataclass(frozen=True)
class Closed:
    """Days on which the green is closed that fall within the days set for works.

    Attributes:
        first: first day.
        last: last day.
        why: why it is closed, as the calendar says it; "" where it does not.
        operations: the works, as in the job log.
    """

    first: date
    last: date
    why: str
    operations: tuple[str, ...]


@dataclass(frozen=True)
class Check:
    """An entry under a warning, and what judged figures that rest on it would be without it.

    Attributes:
        question: the entry.
        now: the figures as they are printed.
        without: the same figures, in their order, made from all other records.
    """

    question: Question
    now: tuple[Indicator, ...] = ()
    without: tuple[Indicator, ...] = ()


@dataclass(frozen=True)
class Rejected:
    """A row of the season that was rejected and is not corrected: its line, and why."""

    file: str
    line: int
    message: str


@dataclass(frozen=True)
class Measure:
    """One of the six measures.

    Attributes:
        label: what it is called.
        figure: the figure; None where it is not measured.
        last: the same of last season; None where there is none.
        waits: whether it rests on an entry under a warning.
        absent: what stands there where it is not measured.
    """

    label: str
    figure: Indicator | None
    last: Indicator | None = None
    waits: bool = False
    absent: str = "not measured"


@dataclass(frozen=True)
class FirstPage:
    """The first page of a condition report (grain: green and season).

    Attributes:
        verdict: two short sentences at most.
        counts: how the checks stand.
        found: what was found, gravest first, three at most.
        actions: what to do: what answers a finding first, then routine.
        looks: what is to be looked at or measured, no work of the log.
        closed: when the green is closed within the days set for works, and why.
        season_due: name of the season the actions are of.
        checks: entries under a warning.
        rejected: rows that were rejected and are not corrected.
        warned: notes on the records that ask for a look, beside entries that figures rest on and rejected rows.
        gaps: what the law wants on record and the log lacks, in sentences.
        measures: the six measures.
        not_measured: what else a report can hold that was not measured, in words.
        spent: what the season took.
        levels: the level survey as a map; None where there is none.
        tolerance_mm: distance from the surface aimed at that counts as level there.
        hollows: where the green is low.
    """

    verdict: tuple[str, ...]
    counts: Counts
    found: tuple[Found, ...] = ()
    actions: tuple[Action, ...] = ()
    looks: tuple[str, ...] = ()
    closed: tuple[Closed, ...] = ()
    season_due: str = ""
    checks: tuple[Check, ...] = ()
    rejected: tuple[Rejected, ...] = ()
    warned: int = 0
    gaps: tuple[str, ...] = ()
    measures: tuple[Measure, ...] = ()
    not_measured: tuple[str, ...] = ()
    spent: Spent | None = None
    levels: LevelMap | None = None
    tolerance_mm: float = 0.0
    hollows: Hollows | None = None
