"""The command that says which figures changed, and why."""

from __future__ import annotations

from typing import Annotated

import typer

from pipeline.cli.options import DONE, HERE, JsonOption, QuietOption, WorkspaceOption, give


def changed(
    since: Annotated[
        str,
        typer.Option(
            "--since",
            metavar="LOAD|DATE",
            help="Number of a load or decision, as in swardtally history, or a day, year-month-day (UTC), of which the "
            "first load is found by the clock it went by: what that one and all that came after it changed.",
            show_default="the last load, undo or decision",
        ),
    ] = "",
    greens: Annotated[
        list[str] | None,
        typer.Option("--green", "-g", metavar="GREEN", help="Green to list; may be repeated.", show_default="all"),
    ] = None,
    clubs: Annotated[
        list[str] | None,
        typer.Option("--club", "-c", metavar="CLUB", help="Club whose greens to list; may be repeated."),
    ] = None,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Print which figures changed, from what to what, and because of which records.

    Over several loads it is what a figure was before them and what it is now; one that came back to what it was is left
    out.

    Example: swardtally changed --since 5 --green ALD-1
    """
    from datetime import UTC, datetime

    from pipeline.cli.printing.figure_changes import figure_changes
    from pipeline.figures.changed import changed as changed_since
    from pipeline.workspace.settings import open_workspace

    found = changed_since(
        open_workspace(workspace),
        since=since.strip(),
        greens=greens or [],
        clubs=clubs or [],
        today=datetime.now(UTC).date(),
    )
    give(found, figure_changes, as_json=as_json, quiet=quiet)
    return DONE
