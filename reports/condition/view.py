"""The frozen view-model of a condition report: everything formatted, nothing left to work out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from pipeline.indicators.base.green_season import Caution, Due, GreenSeason, Indicator
from reports.condition import wording
from reports.page import text
from reports.page.evidence import MethodLine, SourceLine, method_lines, source_lines
from reports.page.figures import FigureTable, figure_tables, numbered, printed
from reports.page.layout_levels import LAYOUT_LEVELS, LayoutLevel
from reports.page.works import WorkList, work_list

MOST_FACTS = 12
LONG_NAME = 36
"""Characters past which the green's name is set smaller."""

CERTIFIES_NOTHING = (
    "This report states what was recorded and measured, and what it may mean. It certifies nothing. "
    "Product labels, local codes and licensed practice decide what may be applied."
)


@dataclass(frozen=True)
class Fact:
    """One fact of the green: a label and its printed value."""

    label: str
    value: str


@dataclass(frozen=True)
class DueLine:
    """One line of what comes next."""

    what: str
    quantity: str
    by: str
    why: str


@dataclass(frozen=True)
class CautionLine:
    """One caution, what set it off, and who says so."""

    text: str
    trigger: str
    source: str


@dataclass(frozen=True)
class NoteLine:
    """One note on the records, with its weight as a word."""

    weight: str
    text: str


@dataclass(frozen=True)
class ConditionReport:
    """A condition report as printed (grain: green and season); every field is final text."""

    title: str
    green: str
    club: str
    region: str
    season: str
    period: str
    as_of: str
    running_head: str
    long_name: bool
    created: str
    version: str
    density: str
    headline: tuple[str, ...]
    facts: tuple[Fact, ...]
    tables: tuple[FigureTable, ...]
    tables_more: str
    works: WorkList
    due: tuple[DueLine, ...]
    due_more: str
    cautions: tuple[CautionLine, ...]
    cautions_more: str
    methods: tuple[MethodLine, ...]
    sources: tuple[SourceLine, ...]
    notes: tuple[NoteLine, ...]
    notes_more: str
    disclaimer: str = CERTIFIES_NOTHING


def view(
    season: GreenSeason, level: LayoutLevel = LAYOUT_LEVELS[0], *, created: datetime, version: str
) -> ConditionReport:
    """The report of one green in one season, every figure formatted.

    Args:
        season: the frozen data.
        level: how closely it is set, and so how much is left to the attachment.
        created: time written into the document; taken from the data, never from the clock.
        version: version of the calculation; printed by no shipped template.
    """
    green, club, label = text.name(season.green_name), text.name(season.club_name), text.name(season.season)
    every = numbered(season.indicators)
    pairs = printed(every, level.figures, level.judged)
    notes = _notes(season)
    return ConditionReport(
        title=f"Condition report: {green}, {club}, season {label}",
        green=green,
        club=club,
        region=text.clean(season.region, text.NAME_LIMIT),
        season=label,
        period=f"{text.day(season.season_start)} – {text.day(season.season_end)}",
        as_of=text.day(season.as_of),
        running_head=f"{text.clean(green, 60)}, {text.clean(club, 60)}",
        long_name=len(green) > LONG_NAME,
        created=text.moment(created),
        version=text.clean(version, 40),
        density=level.name,
        headline=wording.headline(season),
        facts=tuple(_fact(label, value) for label, value in season.facts[:MOST_FACTS]),
        tables=figure_tables(pairs, level.text),
        tables_more=_figures_left(every, pairs),
        works=work_list(
            season.works, (season.season_start, season.season_end), level.works, level.text, season.currency
        ),
        due=tuple(_due(d, level.text) for d in season.due[: level.due]),
        due_more=_more(len(season.due) - level.due),
        cautions=tuple(_caution(c) for c in season.cautions[: level.cautions]),
        cautions_more=_more(len(season.cautions) - level.cautions),
        methods=method_lines(pairs, level.ranges),
        sources=source_lines(season.sources, level.text),
        notes=notes[: level.notes],
        notes_more=_more(len(notes) - level.notes),
    )


def _figures_left(every: tuple[tuple[int, Indicator], ...], shown: tuple[tuple[int, Indicator], ...]) -> str:
    refs = {ref for ref, _ in shown}
    left = [one for ref, one in every if ref not in refs]
    if not left:
        return ""
    judged = sum(one.standing != "no target" for one in left)
    those = f"{judged} of them with a target or a standing to tell" if judged else "none of them with a target"
    are = "further figure is" if len(left) == 1 else "further figures are"
    return f"{len(left)} {are} in the attached indicators.csv, {those}."


def _more(left: int) -> str:
    return f"And {left} more in the attached notes.csv." if left > 0 else ""


def _fact(label: str, value: str) -> Fact:
    return Fact(text.clean(label, 60), text.clean(value, 160) or text.MISSING)


DUE_TEXT = 320
"""Characters of what is due that stand however closely a report is set: cut short, a figure in it says another."""


def _due(due: Due, most: int) -> DueLine:
    return DueLine(
        text.clean(due.what, min(most, 160)),
        text.clean(due.quantity, DUE_TEXT) or "quantity not known",
        text.clean(due.by, 80) or "no date set",
        text.clean(due.why, max(most, DUE_TEXT)),
    )


def _caution(caution: Caution) -> CautionLine:
    source = text.clean(caution.source, 200) or "common practice, no source"
    return CautionLine(text.sentence(text.clean(caution.text)), text.clean(caution.trigger, 200), source)


def _notes(season: GreenSeason) -> tuple[NoteLine, ...]:
    weights = {"error": "Fault", "warning": "Check", "note": "Note"}
    order = {"error": 0, "warning": 1, "note": 2}
    ordered = sorted(season.data_notes, key=lambda note: order[note.severity])
    lines = [NoteLine(weights[n.severity], text.sentence(text.clean(n.text))) for n in ordered]
    if any(text.undrawable(part) for part in _free_text(season)):
        lines.insert(0, NoteLine(weights["warning"], text.replaced_words("names or texts", "report")))
    return tuple(lines)


def _free_text(season: GreenSeason) -> list[str]:
    """Every text of the season that users wrote."""
    found = [season.green_name, season.club_name, season.region, season.season, *season.headline]
    for label, value in season.facts:
        found += [label, value]
    for work in season.works:
        found += [work.operation, work.detail, work.amount, work.evidence.file]
    for indicator in season.indicators:
        found += _indicator_text(indicator)
    for due in season.due:
        found += [due.what, due.quantity, due.by, due.why]
    for caution in season.cautions:
        found += [caution.text, caution.source, caution.trigger]
    return found + [note.text for note in season.data_notes] + [source.file for source in season.sources]


def _indicator_text(indicator: Indicator) -> list[str]:
    return [indicator.label, indicator.band, indicator.unit, indicator.note, indicator.target_source]
