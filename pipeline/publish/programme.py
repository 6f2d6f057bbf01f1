"""Programmes of the year ahead as files: a workbook and a CSV that a person edits and loads back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.common.closest import as_known
from pipeline.common.file_names import file_stem
from pipeline.common.grouped import grouped
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.whole_files import write_whole
from pipeline.common.words import listed, long_date, period
from pipeline.forms.description import Form, Table
from pipeline.forms.workbook import Names, form_workbook
from pipeline.indicators.base.green_records import LATE_LOG_DAYS, GreenRecords, green_records
from pipeline.indicators.base.programmes import season_on
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.base.records import Records
from pipeline.plan.entries import LeftOut, Logged
from pipeline.plan.from_last import LAST
from pipeline.plan.from_targets import Feed, from_targets
from pipeline.plan.logged import logged, place_of
from pipeline.plan.programme import Programme, Schools, Sources, programme, schools, up_to_closing
from pipeline.plan.read import done_works
from pipeline.plan.sheet import COLUMNS, KIND, Cell, OnRecord, ending, gone, rows
from pipeline.plan.templates import template_named, templates
from pipeline.plan.templates.model import Template
from pipeline.plan.works import Done
from pipeline.store.last_day import last_day
from pipeline.store.register import Register
from pipeline.store.store import Store
from pipeline.workspace.settings import Season, Workspace
from schemas.codes import code_list

SHEET = "Programme"
EDITED = "stands there with other content, perhaps edited; load it, move it away, or write over it with --force"
EDITED_BOTH = (
    "stand there with other content, perhaps edited; load one, move both away, or write over them with --force"
)


class SeveralSchools(WrongUsage):
    """Several templates hold for a green of one part of the year, and nobody has chosen.

    Attributes:
        found: the templates by part of the year, each with what the register does not say of it.
    """

    def __init__(self, green: str, found: Schools) -> None:
        super().__init__(
            f"Several schools hold for {green}, and none is chosen for you.",
            "Name templates with --template, or take --last-season or --only-targets.",
        )
        self.found = found


@dataclass(frozen=True)
class Wanted:
    """What a programme is to be made from.

    Attributes:
        templates: names of template programmes.
        last: whether last season's works are planned again.
        targets: whether targets and findings are planned.
        only_targets: whether nothing else is.
        feed: name of the feed that nitrogen is planned as; "" leaves it open.
        since: plan only what is still to come from this day on; None for the last day on record.
        replace: whether lines loaded earlier that the programme no longer has are listed to be taken out.
    """

    templates: Sequence[str] = ()
    last: bool = False
    targets: bool = True
    only_targets: bool = False
    feed: str = ""
    since: date | None = None
    replace: bool = False


@dataclass(frozen=True)
class WrittenProgramme:
    """A programme of one green or of a club's greens, and what became of its files.

    Attributes:
        programmes: one a green.
        files: workbook and CSV.
        unchanged: whether they stood there already as they would come out.
        fault: why they were not written; "" where they were.
    """

    programmes: tuple[Programme, ...]
    files: tuple[Path, ...]
    unchanged: bool = False
    fault: str = ""

    def as_json(self) -> dict[str, Any]:
        """The form of ``programme --json``."""
        return {
            "season": self.programmes[0].season.name,
            "lines": [row for one in self.programmes for row in rows(one)],
            "left_out": [
                {"green": one.place.green, "operation": left.operation, "of": left.source, "why": left.why}
                for one in self.programmes
                for left in one.left_out
            ],
            "cautions": list(dict.fromkeys(text for one in self.programmes for text in one.cautions)),
            "files": [str(path) for path in self.files],
            "unchanged": self.unchanged,
            "fault": self.fault,
        }


def write_programme(
    workspace: Workspace, whose: str, season: str, wanted: Wanted, out: Path | None = None, *, force: bool = False
) -> WrittenProgramme:
    """The programme of a green, or of each green of a club, written as a workbook and a CSV: both or neither.

    Files that stand there with other content are left, unless ``force`` is given.

    Raises:
        WrongUsage: the green, club, template or feed is not known; templates clash; or nothing to plan from is chosen
            where several schools hold, which are then listed.
        CannotDo: the store cannot be read, no season can be told, or a file not written.
    """
    with Store(workspace.store, read_only=True) as store:
        span = workspace.season(season) if season else season_ahead(workspace, store)
        greens, stem = greens_of(store.register(workspace.settings.season_start), whose, span.start)
        records = read_records(store, greens)
        jobs = grouped(done_works(store, greens), lambda one: one.green)
        before = _on_record(store, greens, span.name)
    chosen = tuple(template_named(name) for name in dict.fromkeys(wanted.templates))
    made = tuple(_programme((records, jobs.get(green, [])), green, span, workspace, wanted, chosen) for green in greens)
    old = {one.place.green: gone(one, before, jobs.get(one.place.green, [])) for one in made}
    made = tuple(replace(one, left_out=(*_stays(old[one.place.green], wanted), *one.left_out)) for one in made)
    ends = ending(span.name, (line for lines in old.values() for line in lines)) if wanted.replace else []
    folder = out or workspace.reports / span.name
    path = folder / f"{stem}-programme-{span.name}.xlsx"
    every = [*(row for one in made for row in rows(one)), *ends]
    files = {path: _workbook(made, records, every), path.with_suffix(".csv"): _csv(every)}
    return _written(WrittenProgramme(made, tuple(files)), files, force=force)


def _on_record(store: Store, greens: Sequence[str], name: str) -> list[OnRecord]:
    """The lines in force of greens under a programme's name, by green and window."""
    found = store.frame(
        "SELECT green, operation, material, reference, window_from, window_to, basis FROM planned_work "
        "WHERE programme = $name AND green IN (SELECT unnest($greens)) AND (times IS NULL OR times > 0)",
        by=("green", "window_from", "operation", "material", "reference"), name=name, greens=list(greens),
    )  # fmt: skip
    return [
        OnRecord((green, operation, material or "", reference or ""), first, last, basis or "")
        for green, operation, material, reference, first, last, basis in found.iter_rows()
    ]


def _stays(lines: Sequence[OnRecord], wanted: Wanted) -> list[LeftOut]:
    """What becomes of lines loaded earlier that the programme no longer has."""
    why = "no source asks for it now"
    then = "the sheet takes it out" if wanted.replace else "it stays on record unless --replace is given"
    return [LeftOut(one.key[1], f"the lines loaded earlier ({period(one.first, one.last)})", f"{why}; {then}")
            for one in lines]  # fmt: skip


def season_ahead(workspace: Workspace, store: Store) -> Season:
    """The season after the one in hand."""
    last = last_day(store)
    if last is None:
        raise CannotDo("The store holds no dated record of a green yet.", "Name the season to plan with --season.")
    return season_on(workspace.season_in_hand(last), 1)


def in_play(register: Register, since: date | None = None) -> pl.DataFrame:
    """Greens in play, by club and green; those given up only after a day count as such, where one is named."""
    closed = pl.col("closed_on")
    open_ = closed.is_null() if since is None else closed.is_null() | (closed > since)
    return register.greens.filter(open_).sort("club", "green", maintain_order=True)


def asked_for(workspace: Workspace, names: Sequence[str], *, every: bool) -> list[str]:
    """The greens and clubs that programmes are asked for; of all, the clubs that have a green in play.

    Raises:
        WrongUsage: one is not known, or is a green and a club of other greens.
        CannotDo: the store cannot be read, or nothing is in play.
    """
    with Store(workspace.store, read_only=True) as store:
        register = store.register(workspace.settings.season_start)
        last = last_day(store)
    if every:
        clubs = in_play(register, last)["club"].drop_nulls().unique().sort().to_list()
        if not clubs:
            raise CannotDo("There is no club with a green in play.", "Load the registers of clubs and greens first.")
        return clubs
    known = register.names("green") | register.names("club")
    return list(dict.fromkeys(as_known("green or club", names, known, register.green_aliases)))


def greens_of(register: Register, whose: str, since: date | None = None) -> tuple[list[str], str]:
    """The greens of a name, of a green or a club, and the start of the names of their files.

    Args:
        register: of clubs and greens.
        whose: green or club.
        since: a green given up after this day is one of them; None for those alone that are not given up.

    Raises:
        WrongUsage: it is not known, or is a green and a club of other greens.
        CannotDo: no green of it is in play.
    """
    played = in_play(register, since)
    greens, clubs = register.names("green"), register.names("club")
    (name,) = as_known("green or club", [whose], greens | clubs, register.green_aliases)
    of_club = played.filter(pl.col("club") == name)["green"].to_list()
    if name not in greens:
        if not of_club:
            raise CannotDo(f"Club {name} has no green in play.", "Load its register of greens first.")
        return of_club, file_stem(name)
    if name in clubs and of_club != [name]:
        raise WrongUsage(
            f"“{name}” is a green and a club with {listed(of_club) or 'no green'}.",
            "Name the greens by aliases of the register.",
        )
    if name not in set(played["green"]):
        (closed,) = register.greens.filter(pl.col("green") == name)["closed_on"]
        raise CannotDo(
            f"Green {name} is given up from {long_date(closed)} on.",
            "Name a season that it was in play in.",
        )
    return [name], file_stem(name)


def _programme(
    of: tuple[Records, Sequence[Done]],
    green: str,
    season: Season,
    workspace: Workspace,
    wanted: Wanted,
    chosen: Sequence[Template],
) -> Programme:
    """The programme of one green from all records and its jobs."""
    records, jobs = of
    own = green_records(records, green, season, workspace)
    place, log = place_of(own), logged(own, jobs)
    if not chosen and not wanted.last and not wanted.only_targets:
        chosen = _fitting(own)
    day = wanted.since or (own.last_day if log else records.last_day) or season.start
    if day > season.end:
        raise CannotDo(
            f"Season {season.name} ended on {long_date(season.end)}: on {long_date(day)} nothing of it is to come.",
            "Name a later season, or an earlier day with --from.",
        )
    if not log:
        own = replace(own, last_day=day)  # nothing is on record: the season's end is not a day that was read up to
    before = season_on(season, -1)
    last = [job for job in log if before.start <= job.done.first and job.done.last <= before.end]
    feed = _feed(own, wanted.feed) if wanted.feed else None
    done = programme(
        place,
        season,
        day,
        Sources(
            chosen,
            from_targets(own, place, day, feed) if wanted.targets else None,
            last if wanted.last else None,
            log,
            frozenset(own.frames["material"]["material"]),
        ),
    )
    told = _of_the_log(log, last, before) if wanted.last else ()
    done = up_to_closing(done, own.green["closed_on"], own.green["closed_by"])
    return replace(done, left_out=(*told, *done.left_out))


def _of_the_log(log: Sequence[Logged], last: Sequence[Logged], before: Season) -> tuple[LeftOut, ...]:
    """What the log lacks of the season that is to be planned again."""
    if not last:
        return (LeftOut("every work", LAST, f"no job of season {before.name} is logged"),)
    until = max(job.done.last for job in log)
    if until >= before.end - timedelta(days=LATE_LOG_DAYS):
        return ()
    return (LeftOut("what came later", LAST, f"season {before.name} is logged up to {long_date(until)} only"),)


def _fitting(own: GreenRecords) -> tuple[Template, ...]:
    """The templates that hold for a green, where there is one school of each part of the year.

    Raises:
        SeveralSchools: there are several.
    """
    found = schools(list(templates().values()), place_of(own))
    if all(len(ones) == 1 for ones in found.values()):
        return tuple(ones[0][0] for ones in found.values())
    raise SeveralSchools(own.green["green"], found)


def _feed(own: GreenRecords, name: str) -> Feed:
    rows = own.frames["material"].select("material", "n_pct", "form").iter_rows()
    return Feed.named(name, {one: n_pct if (form or "solid") == "solid" else None for one, n_pct, form in rows})


def _workbook(made: Sequence[Programme], records: Records, every: Sequence[Mapping[str, Cell]]) -> bytes:
    """The programmes as one form that loads without a profile."""
    columns = tuple(COLUMNS.values())
    title = f"Programme of season {made[0].season.name}"
    hint = (
        "One line is one work in one window of days, amounts are of each time. Edit, save, load this workbook. A line "
        "that was loaded is taken out by 0 in its times."
    )
    form = Form("programme", title, (Table(SHEET, KIND, columns, rows=20, hint=hint),))
    names = _names(records, [one.place.green for one in made])
    shown = dict(names.greens)
    labels = {name: code.label for name, code in code_list("operation").items()}
    return form_workbook(form, names, {SHEET: [_shown(row, shown, labels) for row in every]})


def _shown(row: Mapping[str, Cell], greens: Mapping[str, str], operations: Mapping[str, str]) -> dict[str, Cell]:
    """The row as the drop-downs of the form have it."""
    return {**row, "green": greens[str(row["green"])], "operation": operations[str(row["operation"])]}


def _names(records: Records, greens: Sequence[str]) -> Names:
    """The names that the form offers: these greens and every material."""
    own = records.greens.filter(pl.col("green").is_in(greens))
    shown = tuple(
        (code, f"{name} ({code})" if name else code) for code, name in own.select("green", "name").iter_rows()
    )
    return Names(greens=shown, materials=tuple(sorted(records.frames["material"]["material"])))


def _csv(every: Sequence[Mapping[str, Cell]]) -> bytes:
    """The programmes as a CSV with the fields of the kind as headers."""
    from reports.page.attachments import csv_bytes

    return csv_bytes(COLUMNS.values(), (tuple(row.values()) for row in every))


def _written(made: WrittenProgramme, files: Mapping[Path, bytes], *, force: bool) -> WrittenProgramme:
    """The files, written but where they stand there with other content."""
    there = {path: path.read_bytes() for path in files if path.exists()}
    if there == files:
        return replace(made, unchanged=True)
    other = [path.name for path, content in there.items() if content != files[path]]
    if other and not force:
        return replace(made, fault=f"{listed(other)} {EDITED}" if len(other) == 1 else f"{listed(other)} {EDITED_BOTH}")
    try:
        write_whole(files)
    except OSError as error:
        where = error.filename or "the programme"
        raise CannotDo(
            f"{where} could not be written: {error.strerror or error}.", "Close it where it is open, and make room."
        ) from error
    return made
