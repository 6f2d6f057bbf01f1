"""The programme with its price as a document, of lines just made or of those loaded, and its lines as a CSV."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any

from pipeline.common.refusal import CannotDo
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.base.records import Records
from pipeline.plan.priced import NotPlanned, OfGreen, PricedProgramme, prices_used, quoted, rates_used
from pipeline.plan.pricing import Pricing, pricing
from pipeline.plan.programme import Programme
from pipeline.plan.read import planned_works
from pipeline.plan.sheet import note_of
from pipeline.plan.works import Planned, of_season, why_given_up
from pipeline.publish.branding import house_style_of
from pipeline.publish.programme import greens_of, season_ahead
from pipeline.publish.seals import seal_of_all
from pipeline.publish.writer import Planned as Document
from pipeline.publish.writer import Written, these, write_documents
from pipeline.store.last_day import last_day
from pipeline.store.store import Store
from pipeline.workspace.settings import Season, Workspace


@dataclass(frozen=True)
class PricedDocument:
    """The programme with its price, and what became of its files.

    Attributes:
        programme: what the document says.
        written: what became of the PDF.
        files: PDF and CSV; none where it could not be written.
    """

    programme: PricedProgramme
    written: Written
    files: tuple[Path, ...]

    def as_json(self) -> dict[str, Any]:
        """The form of ``programme --loaded --json``; a part of ``programme --json``."""
        made = self.programme
        price = made.quotation
        return {
            "season": made.season.name,
            "loaded": made.loaded,
            "currency": made.currency,
            "lines": len(made.lines),
            "hours": {"value": made.hours.value, "said": made.hours.said, "complete": made.hours.complete},
            "labour": price.labour,
            "machines": price.machine,
            "materials": price.material,
            "travel": price.travel,
            "net": price.before_vat,
            "vat_pct": price.vat_pct,
            "vat": price.vat,
            "total": price.total,
            "without": list(price.without),
            "issued": made.issue_day.isoformat(),
            "valid_until": made.valid_until.isoformat() if made.valid_until else None,
            "files": [str(path) for path in self.files],
            "unchanged": self.written.unchanged,
            "fault": self.written.fault,
        }


def price_made(
    workspace: Workspace,
    whose: str,
    made: Sequence[Programme],
    out: Path | None = None,
    *,
    travel_km: float | None = None,
    issued: date | None = None,
) -> PricedDocument:
    """The document of programmes just made, of a green or of each green of a club.

    Args:
        workspace: the workspace.
        whose: green or club.
        made: its programmes.
        out: folder for the files; None for that of the season.
        travel_km: kilometres driven; None where not said.
        issued: its day of issue; None for the day from which on it was planned.

    Raises:
        WrongUsage: the green or club is not known.
        CannotDo: the store cannot be read.
    """
    works = [replace(one.work, note=note_of(one)) for each in made for one in each.entries]
    left = tuple(
        NotPlanned(each.place.green, one.operation, one.source, one.why) for each in made for one in each.left_out
    )
    day = max(each.day for each in made)
    with Store(workspace.store, read_only=True) as store:
        return _written(workspace, store, whose, made[0].season, (works, left, day, False), out, (travel_km, issued))


def price_loaded(
    workspace: Workspace,
    whose: str,
    season: str = "",
    out: Path | None = None,
    *,
    travel_km: float | None = None,
    issued: date | None = None,
) -> PricedDocument:
    """The document of what is loaded of a season: all lines in force whose window ends in it.

    Args:
        workspace: the workspace.
        whose: green or club.
        season: name of the season; "" for the one after the one in hand.
        out: folder for the files; None for that of the season.
        travel_km: kilometres driven; None where not said.
        issued: its day of issue; None for the last day on record.

    Raises:
        WrongUsage: the green or club is not known.
        CannotDo: the store cannot be read, or nothing is planned there.
    """
    with Store(workspace.store, read_only=True) as store:
        span = workspace.season(season) if season else season_ahead(workspace, store)
        greens, _ = greens_of(store.register(workspace.settings.season_start), whose, span.start)
        works = of_season(planned_works(store, greens, (span.start, span.end)), span)
        if not works:
            raise CannotDo(
                f"Nothing is planned for {whose} in season {span.name}.",
                "Load the workbook that the command programme wrote, or leave out --loaded to make one.",
            )
        day = last_day(store) or span.start
        stand = [one for one in works if one.given_up is None]
        left = tuple(
            NotPlanned(one.green, one.operation, _programme_of(one), why_given_up(one))
            for one in works
            if one.given_up is not None
        )
        return _written(workspace, store, whose, span, (stand, left, day, True), out, (travel_km, issued))


def _programme_of(work: Planned) -> str:
    return f"programme {work.programme}" if work.programme else "a line of no programme"


_Said = tuple[float | None, date | None]
"""Kilometres driven and day of issue, as far as they are said."""
_Told = tuple[Sequence[Planned], tuple[NotPlanned, ...], date, bool]
"""Works, what is not planned, the day, and whether they are loaded."""


def _written(
    workspace: Workspace, store: Store, whose: str, span: Season, told: _Told, out: Path | None, given: _Said
) -> PricedDocument:
    from reports.page.attachments import csv_bytes
    from reports.programme.data import LINES, line_rows

    since = span.start if told[3] else None  # what is loaded of a green stays in its club's price
    greens, stem = greens_of(store.register(workspace.settings.season_start), whose, since)
    records = read_records(store, greens)
    made = _content(records, greens, pricing(store, records, workspace.settings), span, told, workspace, given)
    draft = "" if told[3] else "-draft"  # a price the committee was given is not written over by another
    path = (out or workspace.reports / span.name) / f"{stem}-programme-{span.name}{draft}.pdf"
    beside = {f"{path.stem}-prices.csv": csv_bytes(LINES, line_rows(made))}
    club = next(row["club"] for row in records.greens.iter_rows(named=True) if row["green"] == greens[0])
    green = whose if whose in greens else ""
    plan = Document("programme", span.name, path, partial(_same, made), green, club, beside=these(beside))
    plan = replace(plan, seal=seal_of_all(store, greens))
    (done,) = write_documents([plan], house=house_style_of(workspace), what="Programmes")
    return PricedDocument(made, done, () if done.fault else (path, *map(path.with_name, beside)))


def _same(one: PricedProgramme) -> PricedProgramme:
    return one


def _content(
    records: Records, greens: Sequence[str], pricing_: Pricing, span: Season, told: _Told, workspace: Workspace,
    given: _Said,
) -> PricedProgramme:  # fmt: skip
    (works, left, day, loaded), (travel_km, issued) = told, given
    by, settings = pricing_.by, workspace.settings
    names = {row["green"]: row for row in records.greens.iter_rows(named=True)}
    clubs = dict(records.frames["club"].select("club", "name").iter_rows())
    code = greens[0] if len(greens) == 1 else names[greens[0]]["club"]
    club = clubs.get(names[greens[0]]["club"]) or names[greens[0]]["club"]
    materials = {one.material for one in works if one.material}
    last = max((one.first for one in works), default=span.start)
    return PricedProgramme(
        about=code,
        name=(names[code]["name"] or code) if len(greens) == 1 else club,
        club=club if len(greens) == 1 else "",
        season=span,
        day=day,
        loaded=loaded,
        greens=tuple(OfGreen(one, names[one]["name"] or one, names[one]["area_m2"]) for one in greens),
        quotation=quoted(works, by, _vat(settings.vat_pct), travel_km),
        prices=prices_used(works, by.prices),
        rates=rates_used(works, by.rates),
        unused_prices=pricing_.book.without_single(materials, last),
        not_planned=left,
        currency=settings.currency,
        with_vat=settings.prices_with_vat,
        travel_km=travel_km,
        issued=issued,
        valid_days=None if settings.price_valid_days == "not stated" else settings.price_valid_days,
    )


def _vat(of: Decimal | str) -> Decimal | None:
    return of if isinstance(of, Decimal) else None
