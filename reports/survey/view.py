"""The frozen view-model of a condition survey: everything formatted, nothing left to work out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

from markupsafe import Markup

from pipeline.indicators.base.green_season import Indicator
from pipeline.survey.condition_survey import ConditionSurvey
from reports.page import changes as over_years
from reports.page import remarks, text
from reports.page.evidence import MethodLine, SourceLine, method_lines, source_lines
from reports.page.figures import FigureTable, figure_tables, numbered
from reports.page.house_style import Units
from reports.page.layout_levels import LayoutLevel
from reports.page.own_text import html_of
from reports.page.units import unit_in
from reports.survey.advice import AdviceTable, EarlierPart, advice_table, earlier_part
from reports.survey.cores import MOST_CORES, CoreBox, core_boxes
from reports.survey.findings import (
    CalendarLine,
    FindingBlock,
    Place,
    block,
    finding_place,
    initials,
    line_of,
    printed,
    span,
)
from reports.survey.level_drawing import NOTHING, Beside
from reports.survey.levels import LevelPart, level_part
from reports.survey.matters import days_of, matters
from reports.survey.measured import MeasuredRow, compared, measured_rows, since_heading
from reports.survey.photos import PhotoBox, photo_box
from reports.survey.plan_drawing import PlanRow, plan_rows
from reports.survey.samples import samples
from reports.survey.sieves import SieveTable, match_words, sieve_table
from reports.survey.units import survey_in
from reports.survey.visit import visit_facts

LAYOUT_LEVELS = (
    LayoutLevel("open", 60, 1.0, 25, 12, 12, 10, 10, 240),
    LayoutLevel("close", 48, 0.85, 20, 8, 12, 8, 4, 160),
    LayoutLevel("tight", 30, 0.66, 15, 6, 12, 5, 2, 100),
)
ELSEWHERE = frozenset({"levels", "sward", "physical", "sieve"})
"""Families that have a section of their own; other figures of the visit stand in tables, and those that are not of the
visit, or are read off a curve, only where a finding rests on them."""
MOST_PHOTOS = 6

CERTIFIES_NOTHING = (
    "This survey states what was measured on one day, and what it may mean; what was measured on another day has that "
    "day beside it. It certifies nothing: not that a green is level, safe or fit for play. Product labels, local codes "
    "and licensed practice decide what may be applied."
)


PICTURE = "asset:survey/"
"""The address on the page of a picture that the consultant's text shows: this and its name."""


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
    visit: tuple[remarks.Fact, ...]
    facts: tuple[remarks.Fact, ...]
    levels: LevelPart | None
    of_levels: tuple[Place, ...]
    sward: tuple[MeasuredRow, ...]
    sward_since: str
    by_chance: str
    physical: tuple[MeasuredRow, ...]
    physical_since: str
    of_surface: tuple[Place, ...]
    plans: tuple[PlanRow, ...]
    readings: tuple[FigureTable, ...]
    cores: tuple[CoreBox, ...]
    cores_more: str
    depth_unit: str
    sieve_tables: tuple[SieveTable, ...]
    matches: tuple[str, ...]
    of_profile: tuple[Place, ...]
    findings: tuple[FindingBlock, ...]
    findings_before: tuple[FindingBlock, ...]
    others: tuple[FigureTable, ...]
    advice: AdviceTable
    earlier: EarlierPart | None
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
    head: str
    disclaimer: str = CERTIFIES_NOTHING


def view(
    survey: ConditionSurvey, level: LayoutLevel = LAYOUT_LEVELS[0], *, version: str, units: Units = "metric"
) -> SurveyReport:
    """The survey with every figure formatted.

    Args:
        survey: the survey, in SI.
        level: how closely it is set.
        version: version of the calculation.
        units: units of display.
    """
    survey = survey_in(survey, units)
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
    lines, said = printed(survey.programme), partial(days_of, survey)
    blocks = [(found, block(i, found, refs, said)) for i, found in enumerate(survey.told, start=1)]
    return SurveyReport(
        title=f"Condition survey: {head['green']}, {head['club']}, {text.day(survey.day)}",
        **head,
        day=text.day(survey.day),
        **remarks.stamp(survey.day, version),
        density=level.name,
        questions=_questions(survey, own | named),
        matters=tuple(matters(survey)),
        visit=visit_facts(survey, units),
        facts=remarks.facts(season),
        levels=level_part(survey.levels, refs, units, beside_levels(survey)) if survey.levels else None,
        of_levels=_asking(survey, "levels"),
        sward=measured_rows(sward, survey, refs),
        sward_since=since_heading(sward),
        by_chance=over_years.comparisons(sum(map(compared, (*sward, *physical)))),
        physical=measured_rows(physical, survey, refs),
        physical_since=since_heading(physical),
        of_surface=_asking(survey, "sward", "physical"),
        plans=plan_rows(seen.measured, survey.levels),
        readings=figure_tables(tested, level.text),
        cores=core_boxes(seen.profiles, units),
        cores_more=text.more(len(seen.profiles) - MOST_CORES, "core", "layers.csv"),
        depth_unit=unit_in("mm", units),
        sieve_tables=tuple(sieve_table(one, survey.day) for one in seen.curves),
        matches=tuple(match_words(one, survey) for one in seen.matches),
        of_profile=_asking(survey, "sieve"),
        findings=tuple(one for found, one in blocks if found.of_visit),
        findings_before=tuple(one for found, one in blocks if not found.of_visit),
        others=figure_tables(beside, level.text),
        advice=advice_table(survey.advice, season.currency, units),
        earlier=earlier_part(survey.earlier) if survey.earlier else None,
        months=initials(survey.programme),
        calendar_span=span(survey.programme),
        calendar=tuple(line_of(line, survey.programme, survey.told) for line in lines),
        calendar_more=text.more(len(survey.programme.lines) - len(lines), "work", "programme.csv"),
        own_text=html_of(survey.own_text, pictures=survey.pictures or None, at=PICTURE),
        photos=tuple(photo_box(number, one, survey) for number, one in enumerate(seen.photos[:MOST_PHOTOS], start=1)),
        photos_more=text.more(len(seen.photos) - MOST_PHOTOS, "photo", "photos.csv"),
        cautions=remarks.cautions(season.cautions[: level.cautions]),
        notes=(
            *(remarks.NoteLine("Check", text.sentence(text.clean(note))) for note in seen.notes),
            *noted[: level.notes],
        ),
        notes_more=remarks.more_notes(len(noted) - level.notes),
        methods=method_lines(used, level.ranges),
        sources=source_lines(season.sources, level.text),
        head=survey.seal.head,
    )


def beside_levels(survey: ConditionSurvey) -> Beside:
    """What the map of levels shows beside its bands: where samples were taken, levelled points, north."""
    levels, bearing = survey.levels, survey.circumstances.notes.y_bearing_deg
    if levels is None:
        return NOTHING
    north = None if bearing is None else -((bearing + levels.axes.turn_deg) % 360.0)
    return Beside(samples(survey.observations, levels), levels.points_m, north)


def _asking(survey: ConditionSurvey, *families: str) -> tuple[Place, ...]:
    """The findings that rest on figures of these families."""
    return tuple(
        finding_place(number)
        for number, one in enumerate(survey.told, start=1)
        if any(figure.family in families for figure in one.figures)
    )


def _told(one: Indicator) -> bool:
    """Whether a figure of the visit is a reading, and not a series of which the visit is the first."""
    return one.standing not in ("too few", "not comparable")


def _dated(one: Indicator, survey: ConditionSurvey) -> Indicator:
    """The figure with its days before its band, where they are not the visit's."""
    return replace(one, band="; ".join(filter(None, (days_of(survey, one), one.band))))


def _questions(survey: ConditionSurvey, used: set[Indicator]) -> tuple[str, ...]:
    """The entries to be checked that figures of the survey rest on."""
    lines = {place for one in used for place in one.questioned}
    return remarks.questions(
        replace(survey.season, questions=tuple(q for q in survey.season.questions if q.place in lines))
    )
