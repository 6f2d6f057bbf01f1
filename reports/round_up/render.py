"""From a frozen round-up to the bytes of its PDF: what is due, behind and missing on all greens, hours and cost."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pipeline.common.grouped import grouped
from pipeline.common.words import listed
from pipeline.first_page.standing import waiting_lines
from pipeline.indicators.base import judgement
from pipeline.indicators.base.green_season import Evidence, Indicator
from pipeline.summaries.club_season import KEY_FIGURES, Behind, Effort, GapKind, GreenLine, RoundUp, SharedDue
from reports.page import figures, remarks, text
from reports.page.document import Document, Pages
from reports.page.effort import SumDigits, digits_of, effort_cells, effort_note
from reports.page.house_style import HouseStyle
from reports.page.templating import fill
from reports.round_up import wording
from reports.round_up.data import csv_files
from reports.round_up.units import round_up_in_units

MOST_PAGES = 6
GAPS: dict[GapKind, tuple[str, str, str]] = {
    "jobs": ("No job logged this season", "nothing can be said of the season", "no job"),
    "area": ("No playing area", "no figure by area, no quantity due", "area"),
    "soil test": ("No soil test this season or the last", "no organic matter, no soil chemistry", "soil test"),
    "timed bowls": ("No timed bowls this season", "no green speed", "timed bowls"),
    "material": ("Material not in the register", "its nutrients are not counted", "material"),
    "handed back": ("Rejected rows, not yet corrected", "they are in no figure", "rejected rows"),
    "hours": ("Jobs without hours", "sums of hours are a part", "hours"),
}
"""Kind of gap → its name, what it costs, and its name in the table of greens; in order of weight."""


@dataclass(frozen=True)
class RoundUpLevel:
    """How much is printed: the first level with which the pages are no more than six is taken."""

    greens: int
    behind: int
    due: int
    names: int
    clubs: int
    operations: int


LAYOUT_LEVELS = (
    RoundUpLevel(90, 30, 30, 8, 40, 30),
    RoundUpLevel(60, 24, 24, 7, 30, 26),
    RoundUpLevel(40, 16, 16, 5, 20, 26),
)


@dataclass(frozen=True)
class Cell:
    """A key figure of a green: its value, mark and standing in words; all empty where there is none."""

    value: str
    mark: str
    standing: str
    marked: bool


@dataclass(frozen=True)
class GreenRow:
    """One green in the table of all greens."""

    green: str
    code: str
    last_visit: str
    cells: tuple[Cell, ...]
    behind: str
    missing: str


@dataclass(frozen=True)
class ClubGreens:
    """The greens of one club under its name."""

    club: str
    rows: tuple[GreenRow, ...]


@dataclass(frozen=True)
class BehindRow:
    """A total that lags its plan."""

    where: str
    what: str
    note: str
    done: str
    planned: str
    short: str
    share: str


@dataclass(frozen=True)
class DueRow:
    """The same thing due by the same time."""

    by: str
    passed: bool
    what: str
    quantity: str
    count: str
    greens: str


@dataclass(frozen=True)
class GapRow:
    """One kind of gap and the greens that have it."""

    what: str
    so: str
    count: str
    greens: str


@dataclass(frozen=True)
class EffortRow:
    """Hours and cost of a club, a kind of work, or all."""

    name: str
    greens: str
    jobs: str
    hours: str
    cost: str


@dataclass(frozen=True)
class RoundUpReport:
    """A round-up as printed; every field is final text."""

    title: str
    heading: str
    about: str
    season: str
    period: str
    as_of: str
    counted: str
    running_head: str
    created: str
    version: str
    density: str
    questions: tuple[str, ...]
    matters: tuple[str, ...]
    headings: tuple[str, ...]
    clubs: tuple[ClubGreens, ...]
    greens_more: str
    behind: tuple[BehindRow, ...]
    behind_more: str
    due: tuple[DueRow, ...]
    due_more: str
    gaps: tuple[GapRow, ...]
    note: str
    by_club: tuple[EffortRow, ...]
    by_club_more: str
    by_operation: tuple[EffortRow, ...]
    by_operation_more: str
    total: EffortRow
    effort_note: str
    cost_heading: str
    disclaimer: str = remarks.CERTIFIES_NOTHING


def view(whole: RoundUp, level: RoundUpLevel = LAYOUT_LEVELS[0], *, version: str) -> RoundUpReport:
    """The round-up with every figure formatted."""
    head = remarks.season_head(whole)
    shown = _most_pressing(whole.greens, level.greens)
    lags = wording.lags_of(whole.greens)
    names = {line.green: wording.short(line) for line in whole.greens}
    units = _units(whole.greens)
    clubs = text.count(len(whole.clubs), "club")
    greens = text.count(len(whole.greens), "green")
    by_club = sorted(whole.clubs, key=lambda club: -(club[3].hours or 0.0))[: level.clubs]
    total = whole.total
    digits = digits_of([*(one for *_, one in whole.clubs), *(one for _, one in whole.operations), total])
    return RoundUpReport(
        title=f"Round-up of all greens, season {head['season']}",
        heading="Round-up of all greens",
        about=f"{greens} of {clubs}",
        **head,
        running_head=f"Round-up, {greens} of {clubs}",
        **remarks.stamp(whole.as_of, version),
        density="",
        questions=remarks.questions_of([(wording.short(line), line.questions) for line in whole.greens]),
        matters=tuple(wording.matters(whole)),
        headings=tuple(
            ", ".join(filter(None, (key.label, text.clean(units.get(key.name, ""), 24)))) for key in KEY_FIGURES
        ),
        clubs=tuple(_by_club(shown, units)),
        greens_more=text.more(len(whole.greens) - len(shown), "green", "greens.csv and figures.csv"),
        behind=tuple(_behind_row(line, lag) for line, lag in lags[: level.behind]),
        behind_more=text.more(len(lags) - level.behind, "line", "behind.csv"),
        due=tuple(_due_row(due, names, level.names) for due in whole.due[: level.due]),
        due_more=text.more(len(whole.due) - level.due, "line", "due.csv"),
        gaps=tuple(_gap_rows(whole.greens, level.names)),
        note=_undrawable(whole),
        by_club=tuple(_effort_row(text.name(name, 60), n, e, digits) for _, name, n, e in by_club),
        by_club_more=text.more(len(whole.clubs) - len(by_club), "club", "greens.csv"),
        by_operation=tuple(
            _effort_row(text.clean(o, 60), None, e, digits) for o, e in whole.operations[: level.operations]
        ),
        by_operation_more=text.more(len(whole.operations) - level.operations, "line", "effort.csv"),
        total=_effort_row("In all", len(whole.greens), total, digits),
        effort_note=effort_note(total),
        cost_heading=text.cost_heading(whole.currency),
    )


def urgency(line: GreenLine) -> tuple[float, int, int]:
    """How pressing a green is, the most pressing first: the farthest lag, then figures outside target, then gaps."""
    outside = sum(judgement.judgement(key.indicator) == "off" for key in line.figures)
    return -max((lag.share for lag in line.behind), default=0.0), -outside, -len(line.gaps)


def _most_pressing(greens: Sequence[GreenLine], most: int) -> list[GreenLine]:
    """So many of the greens as there is room for, the most pressing, in their own order."""
    if len(greens) <= most:
        return list(greens)
    kept = sorted(range(len(greens)), key=lambda i: (*urgency(greens[i]), i))[:most]
    return [greens[i] for i in sorted(kept)]


def _by_club(greens: Sequence[GreenLine], units: dict[str, str]) -> Iterator[ClubGreens]:
    for (club, name), lines in grouped(greens, lambda line: (line.club, line.club_name)).items():
        yield ClubGreens(text.clean(name, 80) or text.clean(club, 24), tuple(_green_row(line, units) for line in lines))


def _green_row(line: GreenLine, units: dict[str, str]) -> GreenRow:
    by_name = {key.indicator.name: key.indicator for key in line.figures}
    lines = waiting_lines(line.questions)
    kinds = [GAPS[kind][2] for kind in GAPS if any(gap.kind == kind for gap in line.gaps)]
    return GreenRow(
        green=text.name(line.green_name, 40),
        code=text.clean(line.green, 24),
        last_visit=text.when(line.last_visit, line.last_visit_to) if line.last_visit else "none on record",
        cells=tuple(_cell(by_name.get(key.name), units.get(key.name, ""), lines) for key in KEY_FIGURES),
        behind=listed([text.clean(lag.what, 30) for lag in line.behind]),
        missing=", ".join(kinds[:2]) + (f" and {len(kinds) - 2} more" if len(kinds) > 2 else ""),
    )


def _units(greens: Sequence[GreenLine]) -> dict[str, str]:
    """The unit of each key figure: that of the first green which has it."""
    units: dict[str, str] = {}
    for line in greens:
        for key in line.figures:
            units.setdefault(key.indicator.name, key.indicator.unit)
    return units


def _cell(found: Indicator | None, unit: str, lines: frozenset[Evidence]) -> Cell:
    """The figure without its unit, which stands in the heading; with it where it has another."""
    if found is None or found.value is None:
        return Cell("", "", text.MISSING if found is None or found.n == 0 else "no figure", False)
    shown = text.number(found.value, judgement.digits(found)) if found.unit == unit else figures.value_text(found)
    mark, standing, marked = figures.stands(found, lines)
    return Cell(shown if mark == figures.QUESTIONED else figures.marked(shown, found), mark, standing, marked)


def _behind_row(line: GreenLine, lag: Behind) -> BehindRow:
    return BehindRow(
        where=f"{wording.short(line)}, {wording.place(line)}",
        what=text.clean(lag.what, 40),
        note=text.sentence(text.clean(lag.note, 160)),
        done=wording.done_text(lag),
        planned=wording.total_text(lag.planned, lag.unit),
        short=wording.total_text(lag.planned - lag.done, lag.unit),
        share=f"{100 * lag.share:.0f}{text.NARROW}%",
    )


def _due_row(due: SharedDue, names: dict[str, str], most: int) -> DueRow:
    return DueRow(
        by=remarks.by_when(due.by),
        passed=due.overdue,
        what=text.clean(due.what, 90),
        quantity=_quantity(due),
        count=f"{len(due.greens):,}",
        greens=_codes([names[green] for green in due.greens], most),
    )


def _quantity(due: SharedDue) -> str:
    """The sum of the quantities, of what sort, what was taken off, and of how many greens it is where not of all."""
    if due.state == "not known":
        return "perhaps done: see due.csv"
    if due.low is None:
        return "not known" if due.unit else _words(due)
    unit = text.clean(due.unit, 12)
    shown = text.quantity(due.low, unit, 1) if due.high in (None, due.low) else text.span(due.low, due.high, unit, 1)
    if due.basis:
        shown = f"{shown} {due.basis}"
    told = [f"{wording.total_text(due.applied, unit)} already applied"] if due.applied else []
    if due.counted < len(due.greens):
        told.append(f"{due.counted} of {len(due.greens)} greens")
    return f"{shown} ({'; '.join(told)})" if told else shown


def _words(due: SharedDue) -> str:
    """How often a programme asks for a work, which adds up to nothing; "" of anything else, or where greens differ."""
    said = text.clean(due.words, 60) if due.state else ""
    return f"{said} each" if said and len(due.greens) > 1 else said


def _codes(codes: Sequence[str], most: int) -> str:
    left = len(codes) - most
    return ", ".join(codes[:most]) + (f" and {left} more" if left > 0 else "")


def _gap_rows(greens: Sequence[GreenLine], most: int) -> Iterator[GapRow]:
    for kind, (what, so, _) in GAPS.items():
        having = [wording.short(line) for line in greens if any(gap.kind == kind for gap in line.gaps)]
        if having:
            yield GapRow(what, so, f"{len(having):,}", _codes(having, most))


def _effort_row(name: str, greens: int | None, effort: Effort, digits: SumDigits) -> EffortRow:
    return EffortRow(name=name, greens="" if greens is None else f"{greens:,}", **effort_cells(effort, digits))


def _undrawable(whole: RoundUp) -> str:
    texts = [part for line in whole.greens for part in (line.green, line.green_name, line.club, line.club_name)]
    texts += [due.what for due in whole.due] + [operation for operation, _ in whole.operations]
    return text.replaced_words(texts, "names", "round-up")


def _drafts(whole: RoundUp, attached: Sequence[str], version: str, house: HouseStyle) -> Iterator[Pages]:
    shown = round_up_in_units(whole, house.units)
    for level in LAYOUT_LEVELS:
        report = view(shown, level, version=version)
        yield Pages(fill("round-up.html.j2", house, report=report, attached=attached, left_out=house.left_out))


DOCUMENT = Document(
    drafts=_drafts,
    attached=csv_files,
    day=lambda whole: whole.as_of,
    most_pages=lambda *_: MOST_PAGES,
    styles=("round-up.css",),
    endings=("closer.css",),
)
html, render = DOCUMENT.html, DOCUMENT.render
