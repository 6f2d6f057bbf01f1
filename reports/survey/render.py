"""From a frozen condition survey to its PDF: what one visit measured, what it may mean, what may be done and when."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache, partial

from markupsafe import Markup

from pipeline.common.words import listed
from pipeline.indicators.base import judgement
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.surface.readings import Change
from pipeline.statistics.difference import Difference
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.survey.visit_observations import Measured, SieveCurve, SieveMatch
from reports.page import changes as over_years
from reports.page import figures, remarks, text
from reports.page.charts.charts import ChartGroup, pictures
from reports.page.document import Document, Image, Pages
from reports.page.evidence import MethodLine, SourceLine, method_lines, source_lines
from reports.page.figures import FigureTable, figure, figure_tables, numbered
from reports.page.house_style import HouseStyle
from reports.page.layout_levels import LayoutLevel
from reports.page.own_text import html_of
from reports.page.templating import fill
from reports.survey import charts as survey_charts
from reports.survey.data import csv_files
from reports.survey.findings import CalendarLine, FindingBlock, block, initials, line_of, printed, sentence, span
from reports.survey.levels import LevelPart, level_images, level_part

MOST_PAGES = 12
LAYOUT_LEVELS = (
    LayoutLevel("open", 60, 1.0, 25, 12, 12, 10, 10, 240),
    LayoutLevel("close", 48, 0.85, 20, 8, 12, 8, 4, 160),
    LayoutLevel("tight", 30, 0.66, 15, 6, 12, 5, 2, 100),
)
ELSEWHERE = frozenset({"levels", "sward", "physical", "sieve"})
"""Families that have a section of their own; other figures of the visit stand in tables, and those that are not of the
visit, or are read off a curve, only where a finding rests on them."""
NO_FIGURE = Indicator("", "", "", None, "", 0)
"""What stands for the figure of a thing that has none: nothing is set for it."""
MOST_TOLD = 4
MOST_PHOTOS = 6

CERTIFIES_NOTHING = (
    "This survey states what was measured on one day, and what it may mean; what was measured on another day has that "
    "day beside it. It certifies nothing: not that a green is level, safe or fit for play. Product labels, local codes "
    "and licensed practice decide what may be applied."
)


@dataclass(frozen=True)
class MeasuredRow:
    """One thing by one method as printed."""

    ref: str
    label: str
    method: str
    value: str
    interval: str
    spread: str
    n: str
    target: str
    mark: str
    standing: str
    marked: bool
    since: str


@dataclass(frozen=True)
class SieveTable:
    """One sample's fractions against the band held against it."""

    heading: str
    source: str
    rows: tuple[tuple[str, str, str, str], ...]
    note: str


@dataclass(frozen=True)
class PhotoBox:
    """A photo as placed."""

    key: str
    alt: str
    caption: str


@dataclass(frozen=True)
class SurveyReport:
    """A condition survey as printed; every field is final text."""

    title: str
    green: str
    club: str
    region: str
    day: str
    running_head: str
    long_name: bool
    created: str
    version: str
    density: str
    questions: tuple[str, ...]
    matters: tuple[str, ...]
    facts: tuple[remarks.Fact, ...]
    levels: LevelPart | None
    sward: tuple[MeasuredRow, ...]
    sward_since: str
    by_chance: str
    physical: tuple[MeasuredRow, ...]
    physical_since: str
    readings: tuple[FigureTable, ...]
    sieve_tables: tuple[SieveTable, ...]
    matches: tuple[str, ...]
    findings: tuple[FindingBlock, ...]
    others: tuple[FigureTable, ...]
    months: tuple[tuple[float, str], ...]
    calendar_span: str
    calendar: tuple[CalendarLine, ...]
    calendar_more: str
    own_text: Markup
    photos: tuple[PhotoBox, ...]
    photos_more: str
    cautions: tuple[remarks.CautionLine, ...]
    notes: tuple[remarks.NoteLine, ...]
    notes_more: str
    methods: tuple[MethodLine, ...]
    sources: tuple[SourceLine, ...]
    disclaimer: str = CERTIFIES_NOTHING


def view(survey: ConditionSurvey, level: LayoutLevel = LAYOUT_LEVELS[0], *, version: str) -> SurveyReport:
    """The survey with every figure formatted."""
    season = survey.season
    head, noted = remarks.green_head(season), remarks.notes(season)
    every = numbered(season.indicators)
    refs = {(one.name, one.band): ref for ref, one in every}
    named = {one for found in survey.findings for one in (*found.figures, *found.beside)}
    own = {one for one in season.indicators if survey.of_the_visit(one)}
    shown = {one for one in own if one.family != "sieve"}
    tested = tuple((ref, one) for ref, one in every if one in shown and one.family not in ELSEWHERE and _told(one))
    beside = tuple((ref, _dated(one, survey)) for ref, one in every if one in named and one not in shown)
    used = tuple((ref, one) for ref, one in every if one in own | named or one.family == "sieve")
    seen = survey.observations
    sward, physical = (tuple(m for m in seen.measured if m.family == name) for name in ("sward", "physical"))
    lines, said = printed(survey.programme), partial(_days, survey)
    return SurveyReport(
        title=f"Condition survey: {head['green']}, {head['club']}, {text.day(survey.day)}",
        **head,
        day=text.day(survey.day),
        **remarks.stamp(survey.day, version),
        density=level.name,
        questions=_questions(survey, own | named),
        matters=tuple(_matters(survey)),
        facts=remarks.facts(season),
        levels=level_part(survey.levels, refs) if survey.levels else None,
        sward=_rows(sward, survey, refs),
        sward_since=_since_heading(sward),
        by_chance=over_years.comparisons(sum(map(_compared, (*sward, *physical)))),
        physical=_rows(physical, survey, refs),
        physical_since=_since_heading(physical),
        readings=figure_tables(tested, level.text),
        sieve_tables=tuple(_sieve_table(one, survey.day) for one in seen.curves),
        matches=tuple(_match(one, survey) for one in seen.matches),
        findings=tuple(block(i, found, refs, said) for i, found in enumerate(survey.findings, start=1)),
        others=figure_tables(beside, level.text),
        months=initials(survey.programme),
        calendar_span=span(survey.programme),
        calendar=tuple(line_of(line, survey.programme, survey.findings) for line in lines),
        calendar_more=text.more(len(survey.programme.lines) - len(lines), "work", "programme.csv"),
        own_text=html_of(survey.own_text),
        photos=tuple(
            PhotoBox(f"photo:{i}", _photo_alt(one.caption, one.place), _photo_alt(one.caption, one.place))
            for i, one in enumerate(seen.photos[:MOST_PHOTOS])
        ),
        photos_more=text.more(len(seen.photos) - MOST_PHOTOS, "photo", "photos.csv"),
        cautions=remarks.cautions(season.cautions[: level.cautions]),
        notes=(
            *(remarks.NoteLine("Check", text.sentence(text.clean(note))) for note in seen.notes),
            *noted[: level.notes],
        ),
        notes_more=remarks.more_notes(len(noted) - level.notes),
        methods=method_lines(used, level.ranges),
        sources=source_lines(season.sources, level.text),
    )


def _photo_alt(caption: str, place: str) -> str:
    return text.clean(", ".join(part for part in (caption, place) if part)) or "Photo of the green, without a caption"


def _days(survey: ConditionSurvey, one: Indicator) -> str:
    """When a figure was measured, in words; "" where on the visit alone, or where it rests on no reading."""
    found = survey.measured_on(one)
    if found is None or found.first == found.last == survey.day:
        return ""
    last = "" if found.first == found.last else f" to {text.day(found.last)}"
    return f"measured {text.day(found.first)}{last}"


def _told(one: Indicator) -> bool:
    """Whether a figure of the visit is a reading, and not a series of which the visit is the first."""
    return one.standing not in ("too few", "not comparable")


def _dated(one: Indicator, survey: ConditionSurvey) -> Indicator:
    """The figure with its days before its band, where they are not the visit's."""
    return replace(one, band="; ".join(filter(None, (_days(survey, one), one.band))))


def _questions(survey: ConditionSurvey, used: set[Indicator]) -> tuple[str, ...]:
    """The entries to be checked that figures of the survey rest on."""
    lines = {place for one in used for place in one.questioned}
    return remarks.questions(
        replace(survey.season, questions=tuple(q for q in survey.season.questions if q.place in lines))
    )


def _matters(survey: ConditionSurvey) -> Iterator[str]:
    """What stands out, by these rules: how much was found, the gravest findings, and how much is on target."""
    found = survey.findings
    own = [one for one in survey.season.indicators if one.value is not None and survey.of_the_visit(one)]
    said = [judgement.judgement(one) for one in own if judgement.judged(one)]
    if len(said) == 1:
        yield f"The one figure of this visit that has a target is {said[0]}."
    elif said:
        yield f"Of {len(said)} checks of this visit, {figures.tally(said)}."
    elif own:
        yield "No figure of this visit has a target, so the figures stand without a judgement."
    else:
        yield _without_figures(survey)
    for one in found[:MOST_TOLD]:
        asked = f" This holds {remarks.IF_RIGHT}." if any(figure.questioned for figure in one.figures) else ""
        yield (
            sentence(one, partial(_days, survey))
            + (" It is close to the limit: this may be chance." if one.doubtful else "")
            + asked
        )
    if len(found) > MOST_TOLD:
        left = text.count(len(found) - MOST_TOLD, "further finding stands", "further findings stand")
        yield f"{left} under “Findings”."
    if own and not found:
        yield "No rule for findings holds: nothing measured here asks for more than the usual work."


def _without_figures(survey: ConditionSurvey) -> str:
    """What a visit holds that gave no figure."""
    seen = survey.observations
    parts = []
    if seen.profiles:
        parts.append(text.count(len(seen.profiles), "described core"))
    if seen.photos:
        parts.append(text.count(len(seen.photos), "photo"))
    return f"This visit gave no figure; it holds {listed(parts)}." if parts else "This visit gave no figure."


def _rows(
    measured: tuple[Measured, ...], survey: ConditionSurvey, refs: dict[tuple[str, str], int]
) -> tuple[MeasuredRow, ...]:
    dated = _same_day(measured) is None
    return tuple(_row(one, survey, refs, dated=dated) for one in measured)


def _same_day(measured: tuple[Measured, ...]) -> date | None:
    """The day that every comparison goes back to; None where they go back to several, or none is made."""
    days = {one.change.since for one in measured if one.change}
    return days.pop() if len(days) == 1 else None


def _compared(one: Measured) -> bool:
    """Whether it is said of a thing whether it changed: against a visit before, and with an interval."""
    return one.change is not None and one.change.difference.low is not None


def _since_heading(measured: tuple[Measured, ...]) -> str:
    day = _same_day(measured)
    return f"Since {text.short_day(day)}" if day else "Since the last visit"


def _row(one: Measured, survey: ConditionSurvey, refs: dict[tuple[str, str], int], *, dated: bool) -> MeasuredRow:
    own = survey.season.indicators
    held = next((i for i in own if (i.name, i.band) == (one.figure, one.method)), None)
    unit = text.clean(one.unit, 24)
    judged = figure(0, held or NO_FIGURE)
    places = judgement.digits(held) if held else one.decimals
    return MeasuredRow(
        ref=str(refs[held.name, held.band]) if held else "",
        label=text.clean(one.label, 60),
        method=text.clean(one.method, 120),
        value=figures.marked(text.quantity(one.value, unit, places), held or NO_FIGURE),
        interval=text.interval(one.low, one.high, one.decimals),
        spread="" if one.cv_pct is None else text.quantity(one.cv_pct, "%", 0),
        n=f"{one.n:,}",
        target=judged.target,
        mark=judged.mark,
        standing=judged.standing,
        marked=judged.marked,
        since=_since(one.change, one.decimals, text.clean(one.note, 160), dated=dated),
    )


def _since(found: Change | None, decimals: int, note: str, *, dated: bool) -> str:
    if found is None:
        return text.sentence(note) or "first by this method"
    gap = found.difference
    shown = "no interval" if gap.low is None else "no change shown"
    if gap.shown:
        shown = "higher" if gap.change > 0 else "lower"
    change = text.number(gap.change, decimals)
    signed = f"+{change}" if gap.change > 0 else change
    interval = text.interval(gap.low, gap.high, _telling(gap, decimals))
    when = f" since {text.short_day(found.since)}" if dated else ""
    return f"{signed}{f' ({interval})' if interval else ''}{when}: {shown}"


def _telling(gap: Difference, decimals: int) -> int:
    """Digits with which the interval of a change shows whether it leaves zero out: −14 to 0 would not."""
    ends = [end for end in (gap.low, gap.high) if end is not None]
    for places in range(decimals, decimals + judgement.MOST_DIGITS):
        if not gap.shown or all(round(end, places) for end in ends):
            return places
    return decimals + judgement.MOST_DIGITS


def _sieve_table(one: SieveCurve, visit: date) -> SieveTable:
    held = {True: "● within", False: "≠ outside", None: "– not judged"}
    rows = tuple(
        (
            text.clean(v.name, 60),
            text.quantity(v.value, "%", 1) if v.value is not None else "sieves do not reach",
            text.target(v.low, v.high, "%", 0),
            held[v.holds if one.judged else None],
        )
        for v in one.checks
    )
    sizes = ", ".join(f"{name} {text.quantity(size, 'mm', 2)}" for name, size in one.sizes_mm if size is not None)
    uniform = f"; D60 ÷ D10 {text.number(one.uniformity, 1)}" if one.uniformity is not None else ""
    note = " ".join(part for part in (text.sentence(f"{sizes}{uniform}"), text.sentence(text.clean(one.note))) if part)
    day = text.day(one.day) if one.day == visit else f"sampled {text.day(one.day)}, not on this visit"
    sample = ", ".join(part for part in (text.clean(one.owner, 60), text.clean(one.sample, 60), day) if part)
    band = ", ".join(part for part in (text.clean(one.band, 120), text.clean(one.source, 200)) if part)
    return SieveTable(sample[:1].upper() + sample[1:], band, rows, note)


def _match(one: SieveMatch, survey: ConditionSurvey) -> str:
    """A dressing against the root zone in words, with the day of each sample that was not taken on the visit."""
    days = {curve.owner: curve.day for curve in survey.observations.curves}
    others = [f"{owner} {text.day(days[owner])}" for owner in ("root zone", one.material) if days[owner] != survey.day]
    sampled = f" Sampled: {', '.join(others)}." if others else ""
    return text.sentence(text.clean(f"{one.material}: {one.words}{sampled}"))


def _images(survey: ConditionSurvey, drawn: Sequence[ChartGroup]) -> dict[str, Image]:
    """Every picture of the survey by its key: charts, photos, maps."""
    photos = {f"photo:{i}": Image("image/jpeg", one.jpeg) for i, one in enumerate(survey.observations.photos)}
    return {**pictures(drawn), **photos, **(level_images(survey.levels) if survey.levels else {})}


def _drafts(survey: ConditionSurvey, attached: Sequence[str], version: str, house: HouseStyle) -> Iterator[Pages]:
    seen = survey.observations
    groups = {"cores": survey_charts.cores(seen.profiles), "sieves": survey_charts.sieves(seen.curves, survey.day)}
    plans = survey_charts.plans(seen.measured, survey.levels)
    images = cache(partial(_images, survey, [*filter(None, groups.values()), *plans]))
    for level in LAYOUT_LEVELS:
        report = view(survey, level, version=version)
        yield Pages(fill("survey.html.j2", house, report=report, groups=groups, plans=plans, attached=attached), images)


DOCUMENT = Document(
    drafts=_drafts,
    attached=csv_files,
    day=lambda survey: survey.day,
    most_pages=lambda *_: MOST_PAGES,
    styles=("survey.css",),
)
html, render = DOCUMENT.html, DOCUMENT.render
