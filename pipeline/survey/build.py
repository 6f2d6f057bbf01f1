"""One visit to one green put together: what was measured, what the rules find in it, and what may be done about it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import polars as pl

from pipeline.agronomy.levels.lows import LIFT_MM
from pipeline.common.closest import offered
from pipeline.common.file_names import file_stem, former_stem
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.words import listed
from pipeline.findings import findings as rules
from pipeline.indicators.base.green_records import GreenRecords, green_records
from pipeline.indicators.base.green_season import DataNote, Evidence
from pipeline.indicators.base.periods import LAST
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.base.records import Records
from pipeline.plan.due import season_due
from pipeline.plan.next import whats_due
from pipeline.season.green import season_of_records
from pipeline.season.notes import sources
from pipeline.store.store import Store
from pipeline.survey.condition_survey import MOST_TEXT, ConditionSurvey
from pipeline.survey.days import measured, of_the_visit
from pipeline.survey.level_survey import LevelSurvey
from pipeline.survey.levels import level_survey
from pipeline.survey.observations import photo_days, photos_of, visit_observations
from pipeline.survey.programme import first_month, programme
from pipeline.survey.visit_observations import VisitObservations
from pipeline.workspace.settings import Season, Workspace
from schemas import KINDS

OWN_TEXTS = "surveys"
"""Folder of a workspace with the consultant's own texts: surveys/GREEN-DATE.md."""
MOST_DAYS = 8


def condition_survey(workspace: Workspace, green: str, day: date) -> ConditionSurvey:
    """The condition survey of a green on a day.

    Raises:
        WrongUsage: the green is not in the register, or nothing was surveyed there on that day.
        CannotDo: the store cannot be read, or a rule or the consultant's text does not fit.
    """
    with Store(workspace.store, read_only=True) as store:
        return _survey(workspace, store, read_records(store), green, day)


def last_surveys(workspace: Workspace) -> list[ConditionSurvey]:
    """The condition survey of the last visit of every green whose levels or observations were taken, by green.

    Raises:
        CannotDo: the store cannot be read, or a rule or a consultant's text does not fit.
    """
    with Store(workspace.store, read_only=True) as store:
        every = read_records(store)
        return [_survey(workspace, store, every, green, day) for green, day in sorted(_last_visits(every).items())]


def _survey(workspace: Workspace, store: Store, every: Records, green: str, day: date) -> ConditionSurvey:
    (green,) = every.greens_named([green])
    held = rules.rules(workspace.folder / rules.FOLDER)
    refuse_stray_texts(workspace, store, every)
    own = _own_text(workspace, green, day)
    photos = photos_of(store, green, day)
    records = green_records(every, green, workspace.season_of(day), workspace, as_of=day)
    days = sorted({*visit_days(records), *photo_days(store, green)})
    if day not in days:
        known = [found.isoformat() for found in days[-MOST_DAYS:]]
        hint = f"Surveyed on {listed(known)}." if known else "Load readings of any kind first, or photos."
        raise WrongUsage(f"Nothing was surveyed on {green} on {day.isoformat()}.", hint)
    whole = replace(season_of_records(records, every), due=whats_due(records, _season_planned(records, day), day))
    season = of_the_visit(whole, records, day)
    levels = level_survey(records, day)
    if isinstance(levels, str) and levels:
        season = replace(season, data_notes=(DataNote("warning", levels), *season.data_notes))
    surveyed = levels if isinstance(levels, LevelSurvey) else None
    seen = visit_observations(records, day, photos)
    season = replace(season, sources=tuple(sources(season, every, _looked_at(seen))))
    found = rules.findings(season.indicators, held)
    return ConditionSurvey(
        day=day,
        season=season,
        levels=surveyed,
        observations=seen,
        findings=found,
        programme=programme(day, found, _done(records, day), season.due, _fill(surveyed)),
        own_text=own,
        measured=measured(records, season.indicators),
    )


def _season_planned(records: GreenRecords, day: date) -> Season:
    """The season that the programme begins in, so that it asks for nothing by a day before it starts."""
    return season_due(records.season, first_month(day))


def visit_days(records: GreenRecords) -> list[date]:
    """Days on which anything was measured or sampled on the green, oldest first."""
    own_sieves = records.sieves.filter(pl.col("green") == str(records.green["green"]))
    frames = (records.levels, records.observations, own_sieves, records.soil, records.speeds)
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
    """Where the consultant's own text of a survey lies; its name begins as that of the survey's PDF."""
    return workspace.folder / OWN_TEXTS / f"{file_stem(green)}-{day.isoformat()}.md"


def refuse_stray_texts(workspace: Workspace, store: Store, every: Records) -> None:
    """Refuse a file among the consultant's texts that belongs to no visit: its name is misspelt.

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
    known = {own_text_file(workspace, green, day).name for green, day in pairs}
    former = {f"{former_stem(green)}-{day.isoformat()}.md".casefold() for green, day in pairs}
    for name in found:
        if name not in known and name.casefold() not in former:
            raise CannotDo(
                f"{OWN_TEXTS}/{name} is the text of no visit{offered(name, known)}.",
                "Name it by the green's code and the day of the visit, ending in .md; or take it out of the folder.",
            )


def _own_text(workspace: Workspace, green: str, day: date) -> str:
    path = own_text_file(workspace, green, day)
    if not path.is_file():
        _refuse_former_name(path, f"{former_stem(green)}-{day.isoformat()}.md")
        return ""
    try:
        found = path.read_text("utf-8-sig")
    except UnicodeDecodeError as error:
        raise CannotDo(f"{path.name} is not UTF-8 (byte {error.start}).", "Save it as UTF-8.") from None
    if len(found) > MOST_TEXT:
        raise CannotDo(
            f"{path.name} has {len(found):,} characters; {MOST_TEXT:,} are the most.", "Shorten it, or attach it apart."
        )
    return found


def _refuse_former_name(path: Path, former: str) -> None:
    """A text under its former name is not left out in silence, nor one taken whose name differs in capitals."""
    if path.parent.is_dir() and former in (one.name for one in path.parent.iterdir()):
        raise CannotDo(f"{former} has the name that a text of this green had before.", f"Rename it to {path.name}.")
