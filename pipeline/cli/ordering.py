"""The command that orders what planned works still need."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
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
    progress_for,
)
from pipeline.common.refusal import WrongUsage


def order(
    season: Annotated[
        str,
        typer.Option(
            "--season", "-s", metavar="YEAR", help="Season whose works are ordered for, named by the year it ends in.",
            show_default="the one that can still be added to on the day",
        ),
    ] = "",
    until: Annotated[
        str,
        typer.Option(
            "--until", metavar="DATE", help="Order for works whose window begins by this day, instead of for a season."
        ),
    ] = "",
    clubs: Annotated[
        list[str] | None,
        typer.Option("--club", "-c", metavar="CLUB", help="Club to order for; may be repeated.", show_default="all"),
    ] = None,
    as_of: Annotated[
        str,
        typer.Option(
            "--as-of", metavar="DATE", help="Day of the order, which may be still to come, as with due: the log, stock "
            "and prices up to it count.",
            show_default="the last day that is logged or stock was counted on",
        ),
    ] = "",
    to: Annotated[
        str,
        typer.Option(
            "--to", metavar="PLACE", help="Where everything goes: a depot by its name, or clubs, to each its own.",
            show_default="packs to the one depot there is, dressing, gravel and turf to the clubs",
        ),
    ] = "",
    loads_to: Annotated[
        str,
        typer.Option("--loads-to", metavar="PLACE", help="The same for dressing, gravel and turf alone."),
    ] = "",
    targets: Annotated[
        bool,
        typer.Option(
            "--targets", help="Order also the dressing and nitrogen that targets ask for on greens whose programme has "
            "none. Without this only what is planned is ordered, and what is left aside is said.",
        ),
    ] = False,
    feed: Annotated[
        str,
        typer.Option(
            "--feed", metavar="MATERIAL", help="Solid feed that the nitrogen of targets is ordered as.",
            show_default="left open, and not ordered",
        ),
    ] = "",
    overspread: Annotated[
        str,
        typer.Option(
            "--overspread", metavar="PERCENT", help="Order so much more than is planned, for what misses the green and "
            "stays in the spreader.",
        ),
    ] = "0",
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", metavar="DIR", help="Folder for the files.",
            show_default="one of the order's own, in that of the season under reports/",
        ),
    ] = None,
    force: OverEditedOption = False,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:  # fmt: skip
    """Order what planned works still need, at the least cost: files for suppliers, office and van; never a pesticide.

    Example: swardtally order --season 2027 --to clubs
    """
    from pipeline.cli.printing.order import order as show
    from pipeline.plan.ordering.placing import Request
    from pipeline.publish.order import write_order
    from pipeline.workspace.settings import open_workspace

    if feed and not targets:
        raise WrongUsage("--feed is of the nitrogen that targets ask for.", "Say --targets as well, or leave it out.")
    asked = Request(
        season,
        day_of(until) if until else None,
        clubs or [],
        day_of(as_of) if as_of else None,
        to,
        loads_to,
        targets,
        feed,
        _percent(overspread),
    )
    done = write_order(open_workspace(workspace), asked, out, force=force, progress=progress_for(quiet))
    give(done, show, as_json=as_json, quiet=quiet)
    return FAULTS if done.fault else DONE


def _percent(text: str) -> Decimal:
    try:
        found = Decimal(text.removesuffix("%").strip())
    except InvalidOperation:
        found = Decimal("NaN")
    if not found.is_finite():
        raise WrongUsage(f"“{text}” is no percentage.", "Write a number, such as 5.")
    return found
