"""From a club's frozen season to the bytes of its season summary: its greens side by side, two to four pages."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from pipeline.first_page.standing import waiting_lines
from pipeline.indicators.base import judgement
from pipeline.indicators.base.green_season import Due, GreenSeason, Indicator
from pipeline.summaries.club import club_season
from pipeline.summaries.club_season import ClubSeason, Effort, SharedText, Topic
from reports.page import figures, remarks, text
from reports.page.charts.charts import ChartGroup, pictures
from reports.page.document import Document, Pages
from reports.page.effort import PARTIAL, SumDigits, digits_of, effort_cells, effort_note, rounded_apart
from reports.page.evidence import MethodLine
from reports.page.house_style import HouseStyle
from reports.page.templating import fill
from reports.page.units import in_units
from reports.summary import charts as summary_charts
from reports.summary import wording
from reports.summary.calendar import Calendar, calendar_of
from reports.summary.checks import ChecksRow, checks_row
from reports.summary.data import csv_files
from reports.summary.methods import methods_of

MOST_PAGES, MOST_PAGES_OF_ONE = 4, 3
FEW_GREENS, MOST_OFF = 4, 8
"""Of so few greens everything off target is told, up to so many figures each, however closely the pages are set."""


@dataclass(frozen=True)
class SummaryLevel:
    """How much is printed: the first level with which the pages are no more than four is taken."""

    name: str
    greens: int
    charted: int
    groups: int
    chart_height: int
    calendar: int
    due: int
    cautions: int
    notes: int
    methods: int
    apart: int


LAYOUT_LEVELS = (
    SummaryLevel("", 14, 12, 2, 118, 30, 24, 10, 10, 24, 8),
    SummaryLevel("close", 14, 12, 2, 100, 30, 16, 8, 6, 12, 6),
    SummaryLevel("tight", 14, 12, 2, 78, 24, 16, 8, 6, 12, 4),
    SummaryLevel("tight", 14, 12, 1, 78, 24, 12, 6, 4, 8, 3),
    SummaryLevel("tight", 14, 12, 1, 60, 16, 6, 4, 2, 4, 1),
    SummaryLevel("tight", 12, 0, 0, 0, 14, 6, 4, 2, 4, 1),
)


def levels_for(greens: int) -> tuple[SummaryLevel, ...]:
    """The levels worth trying for so many greens: a layout that cannot fit is not tried, for it costs a second."""
    return LAYOUT_LEVELS if greens <= 3 else LAYOUT_LEVELS[1:] if greens <= 6 else LAYOUT_LEVELS[4:]


@dataclass(frozen=True)
class PanelRow:
    """One green in a panel."""

    green: str
    value: str
    missing: bool
    target: str
    strip: figures.Strip | None
    mark: str
    standing: str
    marked: bool


@dataclass(frozen=True)
class Panel:
    """One figure on all greens, all on one scale, with the target where it is the same for all."""

    number: str
    heading: str
    target: str
    rows: tuple[PanelRow, ...]
    note: str


@dataclass(frozen=True)
class EffortRow:
    """Hours and cost of one green, or of all."""

    green: str
    area: str
    days: str
    jobs: str
    hours: str
    cost: str
    cost_m2: str


@dataclass(frozen=True)
class DueRow:
    """Something due on a green."""

    green: str
    what: str
    quantity: str
    by: str


@dataclass(frozen=True)
class SummaryReport:
    """A season summary as printed; every field is final text."""

    title: str
    club: str
    long_name: bool
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
    rejected: tuple[str, ...]
    matters: tuple[str, ...]
    checks: tuple[ChecksRow, ...]
    panels: tuple[Panel, ...]
    greens_more: str
    efforts: tuple[EffortRow, ...]
    effort_note: str
    cost_heading: str
    cost_m2_heading: str
    calendar: Calendar
    due: tuple[DueRow, ...]
    due_more: str
    cautions: tuple[tuple[str, str, str], ...]
    cautions_more: str
    notes: tuple[tuple[str, str, str], ...]
    notes_more: str
    methods: tuple[MethodLine, ...]
    methods_more: str
    disclaimer: str = remarks.CERTIFIES_NOTHING


def view(club: ClubSeason, level: SummaryLevel = LAYOUT_LEVELS[0], *, version: str) -> SummaryReport:
    """The summary with every figure formatted."""
    name, head = text.name(club.club_name or club.club), remarks.season_head(club)
    shown = club.greens[: level.greens]
    most_off = MOST_OFF if len(shown) <= FEW_GREENS else 0
    greens = text.count(len(club.greens), "green")
    region = text.clean(club.region, text.NAME_LIMIT)
    every, methods, digits = _every_note(club), methods_of(club), digits_of([*club.efforts, club.total])
    return SummaryReport(
        title=f"Season summary: {name}, season {head['season']}",
        club=name,
        long_name=len(name) > remarks.LONG_NAME,
        about=f"{greens}, {region}" if region else greens,
        **head,
        running_head=text.clean(name, 100),
        **remarks.stamp(club.as_of, version),
        density=level.name,
        questions=_entries(club, rejected=False),
        rejected=_entries(club, rejected=True),
        matters=tuple(wording.matters(club)),
        checks=tuple(checks_row(green, level.apart, most_off) for green in shown),
        panels=tuple(_panel(n, topic, shown) for n, topic in enumerate(club.topics, start=1)),
        greens_more=text.more(len(club.greens) - len(shown), "green", "indicators.csv"),
        efforts=tuple(_efforts(club, level.greens, digits)),
        effort_note=f"{effort_note(club.total)} {rounded_apart(club.efforts, club.total, digits)}".strip(),
        cost_heading=text.cost_heading(club.currency),
        cost_m2_heading=_cost_m2_heading(club),
        calendar=calendar_of(club, level.calendar),
        due=tuple(_due_row(green, due) for green, due in club.due[: level.due]),
        due_more=text.more(len(club.due) - level.due, "line", "notes.csv"),
        cautions=tuple(_caution(one, club) for one in club.cautions[: level.cautions]),
        cautions_more=text.more(len(club.cautions) - level.cautions, "caution", "notes.csv"),
        notes=every[: level.notes],
        notes_more=text.more(len(every) - level.notes, "note", "notes.csv"),
        methods=methods[: level.methods],
        methods_more=text.more(len(methods) - level.methods, "way", "indicators.csv"),
    )


def _entries(club: ClubSeason, *, rejected: bool) -> tuple[str, ...]:
    """Entries under a warning, on which figures rest, or the rows that were rejected, of which none does."""
    return remarks.questions_of(
        [
            (text.name(green.green_name, 48), [one for one in green.questions if one.rejected == rejected])
            for green in club.greens
        ]
    )


def _panel(number: int, topic: Topic, greens: Sequence[GreenSeason]) -> Panel:
    """The topic on every green: one scale from a quarter below to a quarter above all it has to show."""
    found = [wording.figure_of(green, topic) for green in greens]
    known = [one for one in found if one is not None and one.value is not None]
    goals = {figures.target_text(one) for one in known}
    strips = figures.strips(found)
    rows = tuple(
        _panel_row(green, one, strip, told=len(goals) > 1)
        for green, one, strip in zip(greens, found, strips, strict=True)
    )
    return Panel(str(number), figures.named(topic, 60), _goal(goals), rows, _panel_note(greens, found))


def _goal(goals: set[str]) -> str:
    """The target for a panel's heading, where all greens have the same; or where it is to be found."""
    if len(goals) != 1:
        return "target beside each green" if goals else ""
    same = next(iter(goals))
    return "no target set" if same == "none set" else f"target {same}"


def _panel_note(greens: Sequence[GreenSeason], found: Sequence[Indicator | None]) -> str:
    """Notes that say more than the figure in another unit, with the green they are of; the first two."""
    notes = [
        f"{text.name(green.green_name, 48)}: {text.sentence(text.clean(one.note, 120))}"
        for green, one in zip(greens, found, strict=True)
        if one is not None and len(one.note.split()) > 2
    ]
    left = f" {text.count(len(notes) - 2, 'further note')} in indicators.csv." if len(notes) > 2 else ""
    return " ".join(notes[:2]) + left


def _panel_row(green: GreenSeason, found: Indicator | None, strip: figures.Strip | None, *, told: bool) -> PanelRow:
    if found is None:
        return PanelRow(text.name(green.green_name, 48), text.MISSING, True, "", None, "", "", False)
    goal = text.target(found.target_low, found.target_high, "", judgement.digits(found))
    mark, standing, marked = figures.stands(found, waiting_lines(green.questions))
    return PanelRow(
        green=text.name(green.green_name, 48),
        value=figures.marked(figures.value_text(found), found),
        missing=found.value is None,
        target=goal if told and goal != "none set" else "",
        strip=strip,
        mark=mark,
        standing=standing,
        marked=marked,
    )


def _cost_m2_heading(club: ClubSeason) -> str:
    """The unit of the greens' own figure, with the sign of the currency."""
    units = (i.unit for green in club.greens for i in green.indicators if i.name == "cost_m2")
    _, _, area = next(units, "").partition("/")
    return f"{text.cost_heading(club.currency)}/{text.clean(area, 24)}" if area else "Cost per area"


def _efforts(club: ClubSeason, most: int, digits: SumDigits) -> Iterator[EffortRow]:
    for green, effort in list(zip(club.greens, club.efforts, strict=True))[:most]:
        days = len({work.date for work in green.works if not work.date_to})
        cells = effort_cells(effort, digits)
        yield _effort_row(text.name(green.green_name, 48), cells, days, _area(green), _per_area(green, effort))
    if len(club.greens) > 1:
        yield _effort_row("All greens", effort_cells(club.total, digits), None, "", "")


def _effort_row(name: str, cells: Mapping[str, str], days: int | None, area: str, cost_m2: str) -> EffortRow:
    return EffortRow(
        green=name,
        area=area,
        days="" if days is None else f"{days:,}",
        **cells,
        cost_m2=cost_m2,
    )


def _area(green: GreenSeason) -> str:
    return next((text.clean(value, 24) for label, value in green.facts if label == "Playing area"), text.MISSING)


def _per_area(green: GreenSeason, effort: Effort) -> str:
    found = next((one for one in green.indicators if one.name == "cost_m2"), None)
    if found is None or found.value is None:
        return "–"
    return text.number(found.value, found.decimals) + (PARTIAL if effort.with_cost < effort.jobs else "")


def _due_row(green: GreenSeason, due: Due) -> DueRow:
    return DueRow(
        text.name(green.green_name, 48),
        text.clean(due.what, 100),
        remarks.quantity_of(due.quantity.partition("; ")[0], 120),
        _when(due),
    )


def _when(due: Due) -> str:
    """When it is due: the days of a window that is still to come as a range, which stands in one line."""
    if due.state == "not due yet" and due.first is not None and due.day is not None:
        return text.days(due.first, due.day)
    return remarks.by_when(due.by)


def _where(greens: Sequence[str], club: ClubSeason) -> str:
    """On which greens, "" where it is said of every one of them."""
    if len(greens) == len(club.greens):
        return ""
    return "On " + wording.named([text.name(green.green_name, 48) for green in club.greens if green.green in greens])


def _raised(one: SharedText, club: ClubSeason) -> str:
    """On which greens a caution is raised; whose figures it holds, where it holds one green's."""
    others = [code for code in one.greens if code != one.gravest]
    if not one.gravest or len(club.greens) == 1:
        return _where(one.greens, club)
    names = {green.green: text.name(green.green_name, 48) for green in club.greens}
    if not others:
        return f"On {names[one.gravest]}"
    return f"Worst on {names[one.gravest]}; no more than that on {wording.named([names[code] for code in others])}"


def _caution(one: SharedText, club: ClubSeason) -> tuple[str, str, str]:
    return text.sentence(text.clean(one.text, 300)), _raised(one, club), remarks.source_of(one.source, 160)


def _every_note(club: ClubSeason) -> tuple[tuple[str, str, str], ...]:
    lines = [
        (weight, _where(n.greens, club).removeprefix("On "), text.sentence(text.clean(n.text, 220)))
        for severity, weight in remarks.WEIGHTS.items()
        for n in club.notes
        if n.source == severity
    ]
    replaced = text.replaced_words(_free_text(club), "names or texts", "summary")
    return (*([(remarks.WEIGHTS["warning"], "", replaced)] if replaced else []), *lines)


def _free_text(club: ClubSeason) -> Iterator[str]:
    yield from (club.club_name, club.region, club.season)
    for green in club.greens:
        yield green.green_name
        for due in green.due:
            yield from (due.what, due.quantity)
    yield from (days.operation for days in club.calendar)
    yield from (one.text for one in (*club.cautions, *club.notes))


def _in_units(club: ClubSeason, house: HouseStyle) -> ClubSeason:
    """The club's season made anew from its greens in the units of the house; what is attached stays in SI."""
    if house.units == "metric":
        return club
    return club_season([in_units(one, house.units) for one in club.greens])


def _drafts(club: ClubSeason, attached: Sequence[str], version: str, house: HouseStyle) -> Iterator[Pages]:
    shown = _in_units(club, house)
    for level in levels_for(len(club.greens)):
        groups: tuple[ChartGroup, ...] = ()
        if level.groups and "charts" not in house.left_out:
            groups = summary_charts.chart_groups(shown, height=level.chart_height, most=level.charted)[: level.groups]
        report = view(shown, level, version=version)
        made = fill("summary.html.j2", house, report=report, groups=groups, attached=attached, left_out=house.left_out)
        yield Pages(made, partial(pictures, groups))


DOCUMENT = Document(
    drafts=_drafts,
    attached=csv_files,
    day=lambda club: club.as_of,
    most_pages=lambda club, _: MOST_PAGES if len(club.greens) > 1 else MOST_PAGES_OF_ONE,
    styles=("summary.css",),
    endings=("closer.css",),
)
html, render = DOCUMENT.html, DOCUMENT.render
