"""What an indicator is, and the frozen bundle of a green's season that reports are made from."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Literal, NamedTuple

from pipeline.common.amounts import Amount
from pipeline.indicators.base.look import ORDINARY, Look
from pipeline.workspace.targets.fit import NO_BASIS, Basis

if TYPE_CHECKING:
    from pipeline.indicators.base.first_page import FirstPage

Standing = Literal["within", "below", "above", "too early", "no target", "too few", "not comparable"]
Change = Literal["falling", "rising", "slower", "faster", "no clear change", "too few", "not comparable"]
Severity = Literal["note", "warning", "error"]
NoteTopic = Literal["", "rejected", "material", "laboratory"]
"""What a data note is about, where notes of many greens are gathered: rejected rows, unknown materials, a step of a
laboratory."""
Cell = str | int | float | Decimal | None
Day = date
"""The type, where a field is called ``date``."""


@dataclass(frozen=True, order=True)
class Evidence:
    """The place a figure comes from: one line of one file a user handed in."""

    file: str
    line: int
    kind: str
    load_id: int = 0


@dataclass(frozen=True)
class Verdict:
    """Whether a figure changed over time: the one word that every document, table and message prints.

    Attributes:
        word: the verdict.
        why: what it rests on, a few words without a full stop ("8 comparable samples, p 0.061").
        p: two-sided p of the test; None where none was made.
        p_adjusted: the same for all changes of the green and season that were tested together; None where it was
            the only one, or none was made.
    """

    word: Change
    why: str
    p: float | None = None
    p_adjusted: float | None = None

    @property
    def clear(self) -> bool:
        """Whether there is a change that chance hardly makes."""
        return self.word in ("falling", "rising", "slower", "faster")


@dataclass(frozen=True)
class Doubt:
    """A line that puts a figure in question and stands under no warning: what is to be checked shows among all records.

    Attributes:
        place: the line.
        text: what is to be checked there, a sentence.
    """

    place: Evidence
    text: str


@dataclass(frozen=True)
class Indicator:
    """One figure about one green in one season.

    Attributes:
        name: machine name, unique together with ``band``; its suffix is the unit (``dressing_kg_m2``).
        label: what a reader calls it ("Top dressing applied").
        band: what the name alone does not say: a depth ("0–20 mm"), an analyte and its method, a material.
        value: the figure in ``unit``; None where the records cannot carry one (the note says why).
        unit: SI unit as printed; "" for counts.
        low: lower end of the interval named in ``method``; None where there is none.
        high: upper end of that interval.
        n: number of records the value rests on.
        target_low: lower end of the target in force; None where the target has no lower end.
        target_high: upper end of the target in force.
        target_source: where the target comes from, as printed.
        standing: the value against the target, in words; "too early" of a total below its target in a season that
            still runs.
        verdict: of a change over time, whether it is one; None for any other figure.
        method: how the figure was made, one sentence.
        note: what a reader must know beside it.
        family: the table of the report it stands in.
        decimals: digits after the point that its uncertainty carries.
        evidence: the lines of the users' files behind it.
        basis: how a laboratory made it, which a target may ask for.
        questioned: those of them that stand under an open warning: the figure may rest on a slip; and the lines of
            rejected rows that may belong to it.
        doubts: what puts it in question beside warnings, as whoever made the figure found.
        reached: whether the upper end of its target is missed as soon as it is reached.
        so_far: whether it is a total within its target of a season that still runs.
        judged_as: what was said of it in SI, where it is shown in other units; "" where it is in SI itself.
        unsure: of a laboratory's reading without an interval of its own, how far another laboratory's may lie from it,
            in ``unit``: nearer to a limit than that it is close; None for any other figure.
        of: number of its green and season among those asked for together.
    """

    name: str
    label: str
    band: str
    value: float | None
    unit: str
    n: int
    low: float | None = None
    high: float | None = None
    target_low: float | None = None
    target_high: float | None = None
    target_source: str = ""
    standing: Standing = "no target"
    method: str = ""
    note: str = ""
    family: str = "works"
    decimals: int = 1
    evidence: tuple[Evidence, ...] = ()
    verdict: Verdict | None = None
    basis: Basis = NO_BASIS
    questioned: tuple[Evidence, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    reached: bool = False
    so_far: bool = False
    judged_as: str = ""
    unsure: float | None = None
    of: int = field(default=0, compare=False, repr=False)


@dataclass(frozen=True)
class Question:
    """An entry to be checked first: a record under an open warning that figures rest on, or a row that totals lack.

    Attributes:
        place: its line of a user's file.
        text: the warning, or why the row was rejected.
        labels: labels of the figures that rest on it, or that it may belong to, in their order.
        rejected: whether it is a rejected row.
    """

    place: Evidence
    text: str
    labels: tuple[str, ...]
    rejected: bool = False


@dataclass(frozen=True)
class Work:
    """One operation on the green, as printed in "what was done and what it cost".

    Attributes:
        date: its day; the first it can have been, where the day is not known.
        operation: what was done, as printed.
        detail: with what and how, in words.
        amount: how much, in words.
        hours: working hours, h; None where not recorded.
        cost: money; None where not recorded.
        evidence: its line.
        weather: weather of the day at the green's station; "" where none is on record.
        date_to: the last day it can have been, where the day is not known.
        code: code of the operation; "" where it is none of the list's.
        material: what was put on, the first words of ``detail``; "" where none is named.
        given: what was put on or taken off, as logged and not rounded; None where the log gives no amount.
        dry_t: of a dressing whose moisture is known, its dry mass, t, which the figures count.
    """

    date: date
    operation: str
    detail: str
    amount: str
    hours: float | None
    cost: Decimal | None
    evidence: Evidence
    weather: str = ""
    date_to: Day | None = None
    code: str = ""
    material: str = ""
    given: Amount | None = None
    dry_t: float | None = None


@dataclass(frozen=True)
class RunningPoint:
    """One step of a running total: the total after this date, in the unit of its series."""

    date: date
    total: float


@dataclass(frozen=True)
class Running:
    """A running total through the season against a planned line.

    Attributes:
        name: what is summed ("Top dressing").
        unit: unit of the totals.
        points: totals after each application, in date order; empty where nothing was applied.
        target_low: lower end of the season's target; None without a target.
        target_high: upper end of the season's target.
        plan: planned total by date, straight between the points; empty where no plan can be drawn.
        target_source: where the target comes from.
        rejected: whether rejected rows of the season may belong to it.
        questioned: whether it rests on an entry to be checked, or a rejected row may belong to it.
    """

    name: str
    unit: str
    points: tuple[RunningPoint, ...]
    plan: tuple[RunningPoint, ...] = ()
    target_low: float | None = None
    target_high: float | None = None
    target_source: str = ""
    rejected: bool = False
    questioned: bool = False


@dataclass(frozen=True)
class Sample:
    """One sampling of organic matter at one depth, or one session of timed bowls.

    Attributes:
        date: day of sampling.
        value: mean of the results of that day.
        low: lower end of its interval, None where n does not allow one.
        high: upper end of its interval.
        n: results behind the mean.
        readings: every single result, for the shown points.
        method: comparability key in words; two samples are comparable only where it is the same.
        comparable: False where the method differs from that of the latest sample.
        evidence: the lines of its results.
        questioned: whether one of them stands under an open warning.
    """

    date: date
    value: float
    low: float | None
    high: float | None
    n: int
    readings: tuple[float, ...] = ()
    method: str = ""
    comparable: bool = True
    evidence: tuple[Evidence, ...] = ()
    questioned: bool = False


@dataclass(frozen=True)
class Series:
    """Samples of one thing over time, with the target that holds for it."""

    name: str
    band: str
    unit: str
    samples: tuple[Sample, ...]
    target_low: float | None = None
    target_high: float | None = None
    target_source: str = ""


DueBasis = Literal["", "as delivered", "as delivered, moisture not known"]
DueState = Literal["", "due", "overdue", "not due yet", "not known"]
"""How a line of a programme stands; "" of what a target or a last work asks for. Not known is one that a job of the log
may have done, or of a season of which nothing is logged."""


@dataclass(frozen=True)
class Due:
    """Something that comes next: what, how much, by when, and why.

    Attributes:
        what: what is to be done.
        quantity: how much, in words.
        by: by when, in words.
        why: what asks for it.
        day: the day ``by`` speaks of; None where it names a season.
        low: least quantity on the whole green, in ``unit`` (dressing as delivered, moisture and all: what is
            ordered); None where the words give no number.
        high: most of it; None where there is no upper end.
        unit: unit of both, with what it is of ("kg N" has unit "kg").
        applied: what is logged already of the season it is due in, taken off both, in ``unit`` (dressing as
            delivered, which is what the log says); None likewise.
        overdue: whether its day has passed by the last day on record, and nothing logged since has met it.
        basis: of a mass that may be moist, what ``low``, ``high`` and ``applied`` are; "" of anything else.
        operation: code of the work it asks for; "" where it asks for none of the log's.
        state: how a line of a programme stands; "" of anything else.
        first: first day of a programme's window; None of anything else.
        material: what is to be put on, as the register names it; "" where that is open.
        waits: whether its amount is not known until an entry under a warning is checked.
        lacking: why a line of a programme has no amount; "" where it has one, and of anything else.
    """

    what: str
    quantity: str
    by: str
    why: str
    day: date | None = None
    low: float | None = None
    high: float | None = None
    unit: str = ""
    applied: float | None = None
    overdue: bool = False
    basis: DueBasis = ""
    operation: str = ""
    state: DueState = ""
    first: date | None = None
    material: str = ""
    waits: bool = False
    lacking: str = ""

    @property
    def turn(self) -> tuple[bool, date]:
        """Its place among what is due: by day, then what names a season; the same in every document."""
        return self.day is None, self.day or date.max


@dataclass(frozen=True)
class Caution:
    """A caution whose trigger stands in the data, with the lines of the users' files that set it off.

    Attributes:
        text: the caution; it names no green, so that it can be printed for a club.
        source: who says so.
        trigger: the works behind it, in words.
        evidence: their lines.
        sort: what it has in common with another green's whose text holds other figures; "" where the text is all.
        degree: how grave it is among those of its sort; more is graver.
        brief: the same warning in one line of a page, nothing of what is to be done left out; "" where ``text`` is one.
        by: the source in a few words, for that line; "" where ``source`` is short.
    """

    text: str
    source: str
    trigger: str
    evidence: tuple[Evidence, ...] = ()
    sort: str = ""
    degree: float = 0.0
    brief: str = ""
    by: str = ""


@dataclass(frozen=True)
class DataNote:
    """What a reader must know about the records themselves: a gap, a rejected row, a break of method."""

    severity: Severity
    text: str
    topic: NoteTopic = ""


@dataclass(frozen=True)
class Latest:
    """The last days on record up to the day of the report, whatever their season; None where there is none.

    Where only the month or year is known, ``job_to`` and ``soil_test_to`` are the last day it can have been.
    """

    job: date | None = None
    soil_test: date | None = None
    green_speed: date | None = None
    job_to: date | None = None
    soil_test_to: date | None = None


class Seal(NamedTuple):
    """The last load that touched what a document says, and the head of the store's chain after it.

    ``head`` is 64 hexadecimal digits, "" of a store without a chain. Of two the later is the greater.
    """

    load_id: int = 0
    head: str = ""


NO_SEAL = Seal()


@dataclass(frozen=True)
class SourceFile:
    """A file that figures of the report come from."""

    file: str
    sha256: str
    kind: str
    rows: int
    lines: str
    loaded_on: str
    load_id: int = 0


@dataclass(frozen=True)
class RecordTable:
    """Records of one kind in the form of its template: SI units, dates as year-month-day, "yes" and "no".

    Attributes:
        kind: kind of record.
        columns: names of its fields.
        rows: a cell for each column; None where nothing is recorded.
    """

    kind: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


@dataclass(frozen=True)
class GreenFigures:
    """Figures of one green in one season and what must be known beside them (grain: green and season).

    ``known_to``: the last day on record, of the green or of its station.
    """

    green: str
    green_name: str
    club: str
    club_name: str
    season: str
    season_start: date
    season_end: date
    as_of: date
    indicators: tuple[Indicator, ...]
    questions: tuple[Question, ...]
    data_notes: tuple[DataNote, ...]
    known_to: date
    look: Look = ORDINARY


@dataclass(frozen=True)
class GreenSeason:
    """Everything a condition report needs about one green in one season (grain: green and season).

    ``log_begins``: the first job on record, where it lies late in this season; totals are of what is logged since.
    ``known_to``: the last day on record, which what is due counts to; after ``as_of`` where the season is over.
    ``look``: where it is looked at as of another day, or from what was in the store then.
    ``first``: the first page of its condition report; None where it is put together for another document.
    ``seal``: the last load that touched it.
    """

    green: str
    green_name: str
    club: str
    club_name: str
    region: str
    season: str
    season_start: date
    season_end: date
    as_of: date
    facts: tuple[tuple[str, str], ...]
    indicators: tuple[Indicator, ...]
    works: tuple[Work, ...]
    running: tuple[Running, ...] = ()
    series: tuple[Series, ...] = ()
    due: tuple[Due, ...] = ()
    cautions: tuple[Caution, ...] = ()
    data_notes: tuple[DataNote, ...] = ()
    sources: tuple[SourceFile, ...] = ()
    headline: tuple[str, ...] = field(default=())
    currency: str = ""
    records: tuple[RecordTable, ...] = ()
    area_m2: float | None = None
    latest: Latest = Latest()
    log_begins: date | None = None
    questions: tuple[Question, ...] = ()
    known_to: date | None = None
    look: Look = ORDINARY
    first: FirstPage | None = None
    seal: Seal = NO_SEAL


Shown = GreenFigures | GreenSeason
"""What figures are printed from: alone, or with all that a condition report has beside them."""
