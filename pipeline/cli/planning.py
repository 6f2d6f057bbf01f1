"""Commands on the year ahead."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli.options import (
    DONE,
    FAULTS,
    HERE,
    JsonOption,
    OverEditedOption,
    QuietOption,
    WorkspaceOption,
    day_of,
    give,
    print_json,
)
from pipeline.common.refusal import WrongUsage


def programme(
    whose: Annotated[
        str, typer.Argument(metavar="GREEN|CLUB", help="Green, by its code or an alias, or club, by its code.")
    ],
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
            "--km", metavar="NUMBER", min=0, help="Kilometres driven for all of it, for the price of travel.",
            show_default="travel is not priced",
        ),
    ] = None,
    force: OverEditedOption = False,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:  # fmt: skip
    """Write a programme of the year ahead as a workbook and CSV to edit and load back, and as a PDF with its price.

    Never a pesticide. Prices stand in a CSV of their own beside the PDF: the sheet that is loaded back has none.

    Example: swardtally programme ALD-1 --season 2027 --template gma-season --template trade-autumn-sand
    """
    from pipeline.cli.printing.planning import priced, schools
    from pipeline.cli.printing.planning import programme as show
    from pipeline.publish.priced import price_loaded, price_made
    from pipeline.publish.programme import SeveralSchools, Wanted, write_programme
    from pipeline.workspace.settings import open_workspace

    if loaded:
        if templates or last or only_targets or no_targets or feed or since or replace:
            raise WrongUsage(
                "--loaded makes nothing anew.", "Leave out what a programme is to be made from, or leave out --loaded."
            )
        document = price_loaded(open_workspace(workspace), whose, season, out, travel_km=km)
        give(document, priced, as_json=as_json, quiet=quiet)
        return FAULTS if document.written.fault else DONE
    if only_targets and (templates or last or no_targets):
        raise WrongUsage(
            "--only-targets stands alone.", "Leave out --template, --last-season and --no-targets, or leave it out."
        )
    day = day_of(since) if since else None
    wanted = Wanted(templates or [], last, not no_targets, only_targets, feed, since=day, replace=replace)
    try:
        done = write_programme(open_workspace(workspace), whose, season, wanted, out, force=force)
    except SeveralSchools as several:
        schools(several.found)
        raise
    made = None if done.fault else price_made(open_workspace(workspace), whose, done.programmes, out, travel_km=km)
    if as_json:
        print_json({**done.as_json(), "document": made.as_json() if made else None})
    else:
        show(done, quiet=quiet)
        if made:
            priced(made, quiet=quiet)
    return FAULTS if done.fault or (made and made.written.fault) else DONE
