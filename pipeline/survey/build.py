"""One visit to one green put together: what was measured, what the rules find in it, and what may be done about it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import polars as pl

from pipeline.agronomy.levels.lows import LIFT_MM
from pipeline.common.closest import offered
from pipeline.common.file_names import file_stem, former_stem
from pipeline.common.own_text import read_own_text
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.toml import inside
from pipeline.common.words import listed
from pipeline.findings.findings import FOLDER, Rule, findings, rules
from pipeline.first_page.hollows import hollows
from pipeline.indicators.base.green_records import GreenRecords, green_records
from pipeline.indicators.base.green_season import DataNote, Evidence, GreenSeason, Indicator
from pipeline.indicators.base.periods import LAST
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.base.records import Records
from pipeline.indicators.surface.level_surveys import Study, last_study
from pipeline.plan.account import Priced
from pipeline.plan.cost import Item
from pipeline.plan.due import season_due
from pipeline.plan.due_list import due_priced
from pipeline.plan.next import whats_due
from pipeline.plan.pricing import pricing
from pipeline.plan.read import done_works
from pipeline.season.account import logged_seasons
from pipeline.season.green import indicators, season_of_records
from pipeline.season.notes import sources
from pipeline.store.store import Store
from pipeline.survey.advice import advice
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.survey.days import figures_of_visit, measured, of_the_visit
from pipeline.survey.earlier import Earlier, earlier
from pipeline.survey.level_survey import LevelSurvey
from pipeline.survey.levels import survey_of
from pipeline.survey.observations import photo_days, photos_of, visit_observations
from pipeline.survey.on_the_day import on_the_day
from pipeline.survey.programme import first_month, programme
from pipeline.survey.told import told
from pipeline.survey.visit_notes import visit_notes
from pipeline.survey.visit_observations import NOTHING_SEEN, VisitObservations
from pipeline.workspace.settings import Season, Workspace
from schemas import KINDS

OWN_TEXTS = "surveys"
"""Folder of a workspace with what a consultant adds to a visit: surveys/GREEN-DATE.md, the own text, and
surveys/GREEN-DATE.toml, notes that no record holds."""
SUFFIXES = (".md", ".toml")
PICTURES = (".png", ".jpg", ".jpeg", ".svg")
"""Endings of the pictures that a text may show; one that no text names lies there by mistake."""
MOST_DAYS = 8


@dataclass(frozen=True)
class _Shared:
    """What the surveys of one command are made from.

    Attributes:
        workspace: the workspace.
        store: its store, open.
        every: all records.
        held: rules of findings in force.
        priced: what works are priced by.
    """

    workspace: Workspace
    store: Store
    every: Records
    held: tuple[Rule, ...]
    priced: Priced


def condition_survey(workspace: Workspace, green: str, day: date) -> ConditionSurvey:
    """The condition survey of a green on a day.

    Raises:
        WrongUsage: the green is not in the register, or nothing was surveyed there on that day.
        CannotDo: the store cannot be read, or a rule, the consultant's text or notes do not fit.
    """
    with Store(workspace.store, read_only=True) as store:
        return _survey(_shared(workspace, store), green, day)


def last_surveys(workspace: Workspace) -> list[ConditionSurvey]:
    """The condition survey of the last visit of every green whose levels or observations were taken, by green.

    Raises:
        CannotDo: the store cannot be read, or a rule, a consultant's text or notes do not fit.
    """
    with Store(workspace.store, read_only=True) as store:
        shared = _shared(workspace, store)
        return [_survey(shared, green, day) for green, day in sorted(_last_visits(shared.every).items())]


def _shared(workspace: Workspace, store: Store) -> _Shared:
    every = read_records(store)
    held = rules(workspace.folder / FOLDER)
    refuse_stray_texts(workspace, store, every)
    return _Shared(workspace, store, every, held, pricing(store, every, workspace.settings).by.remembering)


def _survey(of: _Shared, green: str, day: date) -> ConditionSurvey:
    workspace, every = of.workspace, of.every
    (green,) = every.greens_named([green])
    own, notes = _own_text(workspace, green, day), visit_notes(own_file(workspace, green, day, ".toml"))
    photos = photos_of(of.store, green, day)
    records = green_records(every, green, workspace.season_of(day), workspace, as_of=day)
    days = sorted({*visit_days(records), *photo_days(of.store, green)})
    if day not in days:
        known = [found.isoformat() for found in days[-MOST_DAYS:]]
        hint = f"Surveyed on {listed(known)}." if known else "Load readings of any kind first, or photos."
        raise WrongUsage(f"Nothing was surveyed on {green} on {day.isoformat()}.", hint)
    ahead = _season_planned(records, day)
    whole = replace(season_of_records(records, every), due=whats_due(records, ahead, day))
    season = of_the_visit(whole, records, day)
    study = last_study(records, day, day)
    levels = survey_of(records, day, study)
    if isinstance(levels, str) and levels:
        season = replace(season, data_notes=(DataNote("warning", levels), *season.data_notes))
    surveyed = levels if isinstance(levels, LevelSurvey) else None
    seen = visit_observations(records, day, photos)
    season = replace(season, sources=tuple(sources(season, every, _looked_at(seen))))
    made = ConditionSurvey(
        day=day,
        season=season,
        levels=surveyed,
        observations=seen,
        own_text=own,
        measured=measured(records, season.indicators),
        circumstances=on_the_day(records, day, notes),
    )
    found = told(findings(season.indicators, of.held), of.held, made.of_the_visit, seen)
    low = hollows(study) if isinstance(study, Study) else None
    items = due_priced(records, ahead, ahead.end, of.priced)
    parts = tuple(part for one in found for part in one.parts)
    return replace(
        made,
        told=found,
        advice=advice(found, items, _jobs(of, records, day), ahead.name, workspace.settings.decides, low),
        programme=programme(day, parts, _done(records, day), season.due, _fill(surveyed)),
        earlier=_earlier(of, records, season, day),
    )


def _jobs(of: _Shared, records: GreenRecords, day: date) -> Sequence[Item]:
    """Jobs of the season up to the day of a visit, with what they cost."""
    green = str(records.green["green"])
    done = done_works(of.store, [green], (records.season.start, day))
    return next(logged_seasons([records], {green: done}, of.priced)).items


def _earlier(of: _Shared, records: GreenRecords, season: GreenSeason, day: date) -> Earlier | None:
    """What the visit before found and what became of it; None where none was made."""
    green = str(records.green["green"])
    before = [found for found in _survey_days(records) if found < day]
    if not before:
        return None
    last = before[-1]
    then = green_records(of.every, green, of.workspace.season_of(last), of.workspace, as_of=last)
    figures = figures_of_visit(indicators(then), then, last)
    days = {(one.name, one.band): one for one in measured(then, figures)}

    def of_visit(one: Indicator) -> bool:
        found = days.get((one.name, one.band))
        return found is not None and found.on(last)

    found = told(findings(figures, of.held), of.held, of_visit, NOTHING_SEEN)
    at_visit = {(one.name, one.band): one for one in measured(records, season.indicators)}
    now = {
        (one.name, one.band): one
        for one in season.indicators
        if (known := at_visit.get((one.name, one.band))) is not None and known.last > last
    }
    return earlier(last, found, now, (one for one in _done(records, day) if one[0] > last))


def _season_planned(records: GreenRecords, day: date) -> Season:
    """The season that the programme begins in, so that it asks for nothing by a day before it starts."""
    return season_due(records.season, first_month(day))


def visit_days(records: GreenRecords) -> list[date]:
    """Days on which anything was measured or sampled on the green, oldest first."""
    own_sieves = records.sieves.filter(pl.col("green") == str(records.green["green"]))
    frames = (records.levels, records.observations, own_sieves, records.soil, records.speeds)
    return sorted({found for frame in frames for found in frame["date"].drop_nulls().to_list()})


def _survey_days(records: GreenRecords) -> list[date]:
    """Days on which levels or observations of the green were taken, oldest first."""
    frames = (records.levels, records.observations)
    return sorted({found for frame in frames for found in frame["date"].drop_nulls().to_list()})


def _last_visits(every: Records) -> dict[str, date]:
    """The last day on which levels or observations of a green were taken, for every green that has any."""
    rows = pl.concat([frame.select("green", "date") for frame in (every.levels, every.observations)])
    return dict(rows.drop_nulls().group_by("green", maintain_order=True).agg(pl.col("date").max()).iter_rows())


def _looked_at(seen: VisitObservations) -> Iterator[Evidence]:
    """Lines of what a visit holds beside figures: layers of cores, and photos."""
    yield from (layer.evidence for core in seen.profiles for layer in core.layers)
    yield from (photo.evidence for photo in seen.photos)


def _done(records: GreenRecords, day: date) -> Iterator[tuple[date, str]]:
    """Day and operation of every work; a job logged in parts was done once, however many lines it takes.

    The programme counts by month: so a work known to its month is in it, and one known to a year is not.
    """
    of_month = pl.col("date").dt.truncate("1mo") == pl.col("date_to").dt.truncate("1mo")
    rows = pl.concat([records.jobs, records.periods["job"].filter(of_month)]).filter(day >= LAST)
    rows = rows.unique(("date", "date_to", "operation", "material"), maintain_order=True)
    yield from rows.select("date", "operation").iter_rows()


def _fill(levels: LevelSurvey | None) -> Iterator[tuple[str, str]]:
    """Dressing for the lows, for the line of levelling."""
    if levels and levels.dressing_t:
        asked = any(one.questioned for one in levels.figures)
        first = ", once the heights that are asked about are checked" if asked else ""
        much = f"{levels.dressing_t:.2f} t of dry dressing for the lows"
        yield "levelling", f"{much}, in lifts of {LIFT_MM:g} mm at most{first}"
    if levels and levels.not_dressed:
        yield "levelling", levels.not_dressed.removesuffix(".")


def own_text_file(workspace: Workspace, green: str, day: date) -> Path:
    """Where the consultant's own text of a survey lies."""
    return own_file(workspace, green, day, ".md")


def own_file(workspace: Workspace, green: str, day: date, suffix: str) -> Path:
    """Where a consultant's text (.md) or notes (.toml) of a visit lie; the name begins as that of the survey's PDF."""
    return workspace.folder / OWN_TEXTS / f"{file_stem(green)}-{day.isoformat()}{suffix}"


def refuse_stray_texts(workspace: Workspace, store: Store, every: Records) -> None:
    """Refuse a file among the consultant's texts and notes that belongs to no visit: its name is misspelt.

    Raises:
        CannotDo: with the closest name of a visit's text.
    """
    folder = workspace.folder / OWN_TEXTS
    found = [one.name for one in sorted(folder.iterdir()) if not one.name.startswith(".")] if folder.is_dir() else []
    if not found:
        return
    frames = (every.frames[kind.name] for kind in KINDS.values() if kind.of_green and kind.dated)
    days = pl.concat([frame.select("green", "date") for frame in frames]).drop_nulls().unique().sort("green", "date")
    pairs = [*days.iter_rows(), *((green, day) for green in every.greens["green"] for day in photo_days(store, green))]
    known = {own_file(workspace, green, day, suffix).name for green, day in pairs for suffix in SUFFIXES}
    former = {f"{former_stem(green)}-{day.isoformat()}.md".casefold() for green, day in pairs}
    texts = [one for one in folder.iterdir() if one.name in known and one.suffix == ".md" and one.is_file()]
    shown = [inside(one).read_bytes() for one in texts]
    for name in found:
        if name.lower().endswith(PICTURES) and any(name.encode() in text for text in shown):
            continue
        if name not in known and name.casefold() not in former:
            raise CannotDo(
                f"{OWN_TEXTS}/{name} belongs to no visit{offered(name, known)}.",
                "Name it by the green's code and the day of the visit, ending in .md (own text) or .toml (notes); show "
                "a picture in a text (![what it shows](name.png)); or take it out of the folder.",
            )


def _own_text(workspace: Workspace, green: str, day: date) -> str:
    path = own_text_file(workspace, green, day)
    if not path.is_file():
        _refuse_former_name(path, f"{former_stem(green)}-{day.isoformat()}.md")
        return ""
    return read_own_text(path, path.name, "Shorten it, or attach it apart.")


def _refuse_former_name(path: Path, former: str) -> None:
    """A text under its former name is not left out in silence, nor one taken whose name differs in capitals."""
    if path.parent.is_dir() and former in (one.name for one in path.parent.iterdir()):
        raise CannotDo(f"{former} has the name that a text of this green had before.", f"Rename it to {path.name}.")
