"""Commands on the year ahead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pipeline.cli import terminal
from pipeline.cli.options import (
    DONE,
    FAULTS,
    HERE,
    JsonOption,
    OverEditedOption,
    QuietOption,
    WorkspaceOption,
    day_of,
    print_json,
)
from pipeline.common.refusal import CannotDo, WrongUsage

if TYPE_CHECKING:
    from pipeline.publish.programme import Wanted
    from pipeline.workspace.settings import Workspace


def programme(
    named: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[GREEN|CLUB]...", help="Greens, by code or alias, and clubs, by code: files of its own for each.",
            show_default=False,
        ),
    ] = None,
    every: Annotated[
        bool, typer.Option("--all", help="Every club with a green in play: files of its own for each.")
    ] = False,
    season: Annotated[
        str,
        typer.Option(
            "--season", "-s", metavar="YEAR", help="Season to plan, named by the year it ends in, such as 2027.",
            show_default="the one after the latest that has run for 60 days",
        ),
    ] = "",
    templates: Annotated[
        list[str] | None,
        typer.Option(
            "--template", "-t", metavar="NAME", help="Template programme to plan from, such as gma-season; may be "
            "repeated. Without one the command lists those that hold for the green.",
        ),
    ] = None,
    last: Annotated[
        bool, typer.Option("--last-season", help="Plan last season's works again, each in its week of the year.")
    ] = False,
    only_targets: Annotated[
        bool, typer.Option("--only-targets", help="Plan from targets and findings, from nothing else.")
    ] = False,
    no_targets: Annotated[bool, typer.Option("--no-targets", help="Leave targets and findings aside.")] = False,
    feed: Annotated[
        str,
        typer.Option(
            "--feed", metavar="MATERIAL", help="Solid feed, as the register of materials names it, that the nitrogen "
            "of a target is planned as.", show_default="left open",
        ),
    ] = "",
    since: Annotated[
        str,
        typer.Option(
            "--from", metavar="DATE", help="Plan only what is still to come from this day on.",
            show_default="the last day on record",
        ),
    ] = "",
    replace: Annotated[
        bool,
        typer.Option(
            "--replace", help="List lines loaded earlier that the programme no longer has with 0 in times, so that "
            "loading the sheet takes them out. Only lines that this command named, still to come or not begun.",
        ),
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", metavar="DIR", help="Folder for the files.", show_default="that of the season under reports/"
        ),
    ] = None,
    loaded: Annotated[
        bool,
        typer.Option(
            "--loaded", help="Make nothing anew: write PDF and prices of the lines that are loaded already."
        ),
    ] = False,
    km: Annotated[
        float | None,
        typer.Option(
            "--km", metavar="NUMBER", min=0, help="Kilometres driven for all of it, for the price of travel; of one "
            "green or club alone.", show_default="travel is not priced",
        ),
    ] = None,
    issued: Annotated[
        str,
        typer.Option(
            "--issued", metavar="DATE", help="Day of issue printed with the price; price_valid_days of the settings "
            "says how long it holds.", show_default="the last day on record, or that of --from",
        ),
    ] = "",
    force: OverEditedOption = False,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:  # fmt: skip
    """Write a programme of the year ahead as a workbook and CSV to edit and load back, and as a PDF with its price.

    Never a pesticide. Prices stand in a CSV of their own beside the PDF: the sheet that is loaded back has none. Of
    several greens or clubs each has its own files.

    Example: swardtally programme ALD-1 --season 2027 --template gma-season --template trade-autumn-sand
    """
    from pipeline.publish.programme import Wanted, asked_for
    from pipeline.workspace.settings import open_workspace

    if every == bool(named):
        raise WrongUsage(
            "Programmes are made of greens or clubs that are named, or of all."
            if every
            else "No green or club is named.",
            "Name greens or clubs, such as ALD-1 or ALD, or say --all: not both.",
        )
    made_from = templates or last or only_targets or no_targets or feed or since or replace
    if loaded and made_from:
        raise WrongUsage(
            "--loaded makes nothing anew.", "Leave out what a programme is to be made from, or leave out --loaded."
        )
    if only_targets and (templates or last or no_targets):
        raise WrongUsage(
            "--only-targets stands alone.", "Leave out --template, --last-season and --no-targets, or leave it out."
        )
    day = day_of(since) if since else None
    wanted = None if loaded else Wanted(
        templates or [], last, not no_targets, only_targets, feed, since=day, replace=replace
    )  # fmt: skip
    opened = open_workspace(workspace)
    whose = asked_for(opened, named or [], every=every)
    if km is not None and len(whose) > 1:
        raise WrongUsage(
            f"--km says how far is driven for one programme, and there are {len(whose)}.",
            "Name one green or club with it, or leave it out.",
        )
    asked = _Asked(opened, season, wanted, out, km, day_of(issued) if issued else None, force)
    return _each(asked, whose, as_json=as_json, quiet=quiet)


@dataclass(frozen=True)
class _Asked:
    """What is asked of each green or club; ``wanted`` is None where what is loaded is priced."""

    workspace: Workspace
    season: str
    wanted: Wanted | None
    out: Path | None
    km: float | None
    issued: date | None
    force: bool


def _each(asked: _Asked, whose: Sequence[str], *, as_json: bool, quiet: bool) -> int:
    """The files of each green or club; of several, one that cannot be done is said and does not stop the rest."""
    done, code = [], DONE
    for one in whose:
        try:
            told, fault = _one(asked, one, show=not as_json, quiet=quiet)
        except WrongUsage:
            raise
        except CannotDo as error:
            if len(whose) == 1:
                raise
            terminal.err(f"{one}: {error.message} {error.hint}")
            told, fault = {"fault": error.message}, True
        done.append({"of": one, **told})
        code = FAULTS if fault else code
    if as_json:
        print_json({"programmes": done} if len(done) > 1 else told)
    return code


def _one(asked: _Asked, whose: str, *, show: bool, quiet: bool) -> tuple[dict[str, Any], bool]:
    """The form of ``--json`` of one green or club, and whether a file could not be written; shown where it is to be."""
    from pipeline.cli.printing.planning import priced, schools
    from pipeline.cli.printing.planning import programme as printed
    from pipeline.publish.priced import price_loaded, price_made
    from pipeline.publish.programme import SeveralSchools, write_programme

    given: dict[str, Any] = {"travel_km": asked.km, "issued": asked.issued}
    if asked.wanted is None:
        document = price_loaded(asked.workspace, whose, asked.season, asked.out, **given)
        if show:
            priced(document, quiet=quiet)
        return document.as_json(), bool(document.written.fault)
    try:
        done = write_programme(asked.workspace, whose, asked.season, asked.wanted, asked.out, force=asked.force)
    except SeveralSchools as several:
        schools(several.found)
        raise
    made = None if done.fault else price_made(asked.workspace, whose, done.programmes, asked.out, **given)
    if show:
        printed(done, quiet=quiet)
        if made:
            priced(made, quiet=quiet)
    fault = bool(done.fault or (made and made.written.fault))
    return {**done.as_json(), "document": made.as_json() if made else None}, fault
