"""The due list from the store: of some greens or all, as a list, a CSV, and a document."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import ceil
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.common.closest import as_known
from pipeline.common.collecting import collected_once
from pipeline.common.file_names import file_stem
from pipeline.common.money import rounded
from pipeline.common.processes import in_order, processes, start_warm
from pipeline.common.progress import SILENT, Progress
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.words import counted, long_date
from pipeline.indicators.base.green_records import GreenRecords, green_records
from pipeline.indicators.base.look import ORDINARY, Look
from pipeline.indicators.base.looked_at import as_looked_at, opened
from pipeline.indicators.base.records import Records
from pipeline.plan.account import Priced
from pipeline.plan.against import Against
from pipeline.plan.due import season_due
from pipeline.plan.due_list import WEEKS, DueList, GreenDue, Total, greens_due, totals
from pipeline.plan.due_records import due_records
from pipeline.plan.market import Kept, calendar
from pipeline.plan.pricing import pricing
from pipeline.plan.rates import Figure
from pipeline.plan.read import planned_of, without_green
from pipeline.plan.works import Planned as Plan
from pipeline.plan.works import Unit, after_closing
from pipeline.publish.branding import house_style_of
from pipeline.publish.on_record import on_record
from pipeline.publish.seals import refuse_altered, sealed_now
from pipeline.publish.whole_files import write_whole
from pipeline.publish.writer import Planned, Written, these, write_documents
from pipeline.store.last_day import last_day, last_days
from pipeline.store.planned import any_planned, planned_rows
from pipeline.store.store import Store
from pipeline.workspace.settings import Season, Workspace

MANY, AT_ONCE, TOGETHER = 600, 2000, 250
"""Greens from which on worker processes are worth their start, the most whose records a worker reads at once, and
greens that are worked on together: memory is that of so many."""
WARM = "pipeline.publish.due_warm"


@dataclass(frozen=True)
class DueDone:
    """A due list, and what became of its files.

    Attributes:
        due: the list.
        written: the document; None where none was asked for.
        files: what was written, the document's CSVs too.
    """

    due: DueList
    written: Written | None = None
    files: tuple[Path, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The form of ``due --json``."""
        done = self.due
        return {
            "day": done.day.isoformat(),
            "until": done.until.isoformat(),
            "currency": done.currency,
            "missing": list(done.missing),
            "greens": [_green_as_json(one) for one in done.greens],
            "totals": [_total_as_json(one) for one in done.totals],
            "hours": {"value": done.hours.value, "said": done.hours.said},
            "cost": {"value": done.cost.value and rounded(done.cost.value), "said": done.cost.said},
            "files": [str(path) for path in self.files],
            "fault": self.written.fault if self.written else "",
        }


def due_list(
    workspace: Workspace,
    greens: Sequence[str] = (),
    clubs: Sequence[str] = (),
    until: date | None = None,
    *,
    today: date,
    look: Look = ORDINARY,
    progress: Progress = SILENT,
) -> DueList:
    """What is due on greens by a day; on every green in play where none is named.

    Args:
        workspace: the workspace.
        greens: greens, by code or alias.
        clubs: clubs, by code.
        until: the day up to which is looked ahead; None for four weeks after the last day on record.
        today: the day it is: it stands for the last day on record where nothing is.
        look: what counts, where it is not all that is in the store now.
        progress: shows how far it is.

    Raises:
        WrongUsage: a green or club is not known, or the day lies before the last day on record.
        CannotDo: the store cannot be read, or no green is in play.
    """
    with opened(workspace, look) as store:
        records = as_looked_at(store, look, ())
        held = look.as_of or last_day(store)
        day = held or today
        named = as_known("club", clubs, set(records.clubs["club"]))
        wanted = _wanted(records, records.greens_named(greens), named, day)
        if _workers(wanted) > 1:
            start_warm(WARM)
        priced = pricing(store, records, workspace.settings).by
        kept, astray, lasts = calendar(store), len(without_green(store)), last_days(store)
        told = (*_not_logged(last_day(store), look), *_missing(store, priced, astray))
        span = workspace.season_in_hand(day) if held else workspace.season_of(day)
        known = frozenset(on_record(store, wanted, span))
        ahead = until or day + timedelta(weeks=WEEKS)
        planned = planned_rows(store, wanted, (day, ahead))
    if until is not None and until < day:
        raise WrongUsage(
            f"{long_date(until)} lies before the last day on record, {long_date(day)}.",
            "Name a later day with --until.",
        )
    whole = _Lot(look, wanted, span, ahead, workspace, priced, kept, lasts, None if held else day)
    found = tuple(one if one.green in known else replace(one, day=None) for one in _made(whole, progress))
    day = max((day, *(one.day for one in found if one.day)))
    packs = dict(_packs(records.frames["material"]))
    in_hand, season = season_due(span, day), workspace.season_of(ahead)
    later = f"What targets ask of season {season.name} is not listed: season {in_hand.name} still runs."
    bare = f"No dated record of a green is in the store: what is due is as of today, {long_date(day)}."
    closed = (f"{text}." for text in after_closing(_given_up(planned, day)))
    missing = (*(() if held else (bare,)), *((later,) if season.start > in_hand.start else ()), *told, *closed)
    return DueList(day, ahead, season.name, found, totals(found, packs), workspace.settings.currency, missing, look)


@dataclass(frozen=True)
class _Lot:
    """Some greens to be listed, and what all greens share; their records are read where they are worked on."""

    look: Look
    greens: Sequence[str]
    span: Season
    ahead: date
    workspace: Workspace
    priced: Priced
    kept: Sequence[Kept]
    last_days: Mapping[str, date]
    today: date | None


def _listed(lot: _Lot) -> list[GreenDue]:
    """What is due on the greens of a lot."""
    with collected_once():
        return list(_greens(lot))


def _greens(lot: _Lot) -> Iterator[GreenDue]:
    with opened(lot.workspace, lot.look) as store:
        records = due_records(store, lot.look, lot.greens, lot.span, lot.last_days)
    stands, priced = Against(lot.kept), lot.priced.remembering
    for at in range(0, len(lot.greens), TOGETHER):
        each = [_of(lot, records, green) for green in lot.greens[at : at + TOGETHER]]
        yield from greens_due([(own, stands.of(own)) for own in each], lot.ahead, priced)


def _of(lot: _Lot, records: Records, green: str) -> GreenRecords:
    """The records of a green."""
    own = green_records(records, green, lot.span, lot.workspace)
    if lot.today is None:
        return own
    return replace(own, last_day=lot.today, as_of=min(lot.today, own.as_of))


def _made(whole: _Lot, progress: Progress) -> tuple[GreenDue, ...]:
    """What is due on every green of a lot; of many, in worker processes."""
    greens = whole.greens
    workers = _workers(greens)
    if not workers:
        return tuple(progress.over(_greens(whole), len(greens), "Greens"))
    parts = _alike(greens, workers * ceil(len(greens) / (workers * AT_ONCE)))
    lots = (replace(whole, greens=part, last_days=_of_these(whole.last_days, part)) for part in parts)
    with collected_once(), closing(in_order(_listed, lots, workers, WARM)) as done:
        return tuple(one for part in progress.over(done, len(parts), "Lots of greens") for one in part)


def _workers(greens: Sequence[str]) -> int:
    """How many processes list so many greens, each a fair part of them; 0 where they are not worth their start."""
    return processes(2 * len(greens) // MANY) if len(greens) >= MANY else 0


def _alike(greens: Sequence[str], number: int) -> list[Sequence[str]]:
    """The greens in so many parts of one size, so that no worker waits for another."""
    size = ceil(len(greens) / number)
    return [greens[at : at + size] for at in range(0, len(greens), size)]


def _of_these(last_days: Mapping[str, date], greens: Sequence[str]) -> dict[str, date]:
    return {green: last_days[green] for green in greens if green in last_days}


def _wanted(records: Records, greens: Sequence[str], clubs: Sequence[str], day: date) -> list[str]:
    """The greens to list; of a club, or of all, those that are in play on the day."""
    open_ = pl.col("closed_on").is_null() | (pl.col("closed_on") > day)
    played = records.greens.filter(open_).sort("club", "green", maintain_order=True)
    if greens or clubs:
        every = records.greens.sort("club", "green", maintain_order=True)
        of_clubs = pl.col("club").is_in(clubs) & open_
        played = every.filter(pl.col("green").is_in(greens) | of_clubs)
    if not played.height:
        raise CannotDo("There is no green in play to list.", "Load the registers of clubs and greens first.")
    return played["green"].to_list()


def _given_up(planned: pl.DataFrame, day: date) -> Iterator[Plan]:
    """Of works planned those of greens for after they are given up, of windows that are open on a day or later."""
    late = (pl.col("closed_on") <= pl.col("window_from")) & (pl.col("window_to") >= day)
    yield from planned_of(planned.filter(late))


def _packs(materials: pl.DataFrame) -> Iterator[tuple[str, tuple[Unit, float]]]:
    for material, kg, litres in materials.select("material", "pack_kg", "pack_l").iter_rows():
        if kg or litres:
            yield material, ("kg", kg) if kg else ("l", litres)


def _not_logged(last: date | None, look: Look) -> Iterator[str]:
    """That the records end before the day they are looked at as of."""
    if look.as_of and last and last < look.as_of:
        yield f"Records end on {long_date(last)}: what was done after that is not known, and counts as open."


def _missing(store: Store, priced: Priced, astray: int) -> Iterator[str]:
    """What the workspace lacks of what a due list is made from, each in a sentence with what to do."""
    if not any_planned(store):
        yield "No programme is loaded: what is due is what targets ask for. Make one with: swardtally programme GREEN."
    if astray:
        lines = counted(astray, "planned work of a club", "planned works of clubs")
        yield f"{lines} had no green in force when {'its window' if astray == 1 else 'their windows'} opened."
    kinds = {one.of for one in priced.rates}
    if "labour" not in kinds:
        yield "No rate of labour is loaded: no cost can be told."
    if "output" not in kinds:
        yield "No output an hour is loaded: hours are known where the programme gives them."
    if not store.rows("SELECT 1 FROM price LIMIT 1"):
        yield "No price is loaded: no cost of material can be told."
    if not store.rows("SELECT 1 FROM calendar LIMIT 1"):
        yield "No calendar is loaded: closed days and matches are not known."


def write_due(workspace: Workspace, done: DueList, stem: str, *, force: bool = False) -> DueDone:
    """The list as a document with its tables beside it, in the reports of its season."""
    from reports.due.data import csv_files

    refuse_altered(workspace)
    path = workspace.reports / done.season / f"{stem}-{done.until.isoformat()}{done.look.stem}.pdf"
    beside = {f"{path.stem}-{file.name}": file.content for file in csv_files(done)}
    content: Callable[[], DueList] = lambda: done  # noqa: E731 (a name of its own would say less)
    seal = sealed_now(workspace, [one.green for one in done.greens])
    planned = Planned("due", done.season, path, content, beside=these(beside), seal=seal)
    (written,) = write_documents([planned], house=house_style_of(workspace), force=force)
    files = () if written.fault else (path, *(path.with_name(name) for name in beside))
    return DueDone(done, written, files)


def stem_of(greens: Sequence[str], clubs: Sequence[str]) -> str:
    """The start of the name of a due list's files: that of the one green or club it is of."""
    named = [*greens, *clubs]
    return f"{file_stem(named[0])}-due" if len(named) == 1 else "due-part" if named else "due"


def write_csv(done: DueList, path: Path) -> None:
    """The lines of the list as a CSV.

    Raises:
        CannotDo: it cannot be written.
    """
    from reports.due.data import csv_files

    (lines,) = (file for file in csv_files(done) if file.name == "due.csv")
    try:
        write_whole({path: lines.content})
    except OSError as error:
        raise CannotDo(f"{path} could not be written: {error.strerror or error}.", "Name another file.") from error


def _green_as_json(one: GreenDue) -> dict[str, Any]:
    return {
        "green": one.green,
        "name": one.name,
        "club": one.club,
        "day": one.day.isoformat() if one.day else None,
        "weather": one.weather,
        "due": [
            {
                "state": item.due.state or ("overdue" if item.due.overdue else ""),
                "what": item.due.what,
                "operation": item.due.operation,
                "material": item.due.material,
                "quantity": item.due.quantity,
                "low": item.due.low,
                "high": item.due.high,
                "unit": item.due.unit,
                "from": item.due.first.isoformat() if item.due.first else None,
                "by": item.due.by,
                "day": item.due.day.isoformat() if item.due.day else None,
                "why": item.due.why,
                "against": list(item.against),
                "hours": _figure(item.hours),
                "cost": _figure(item.cost),
            }
            for item in one.items
        ],
    }


def _figure(one: Figure) -> dict[str, Any]:
    return {"value": None if one.value is None else rounded(one.value), "how": one.how, "why": one.why}


def _total_as_json(one: Total) -> dict[str, Any]:
    return {
        "what": one.what, "unit": one.unit, "amount": one.amount, "packs": one.packs, "packs_in_words": one.held,
        "lines": one.lines, "unknown": one.unknown, "greens": one.greens,
    }  # fmt: skip
