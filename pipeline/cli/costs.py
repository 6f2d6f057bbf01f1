"""The command on hours and cost."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli.options import DONE, HERE, JsonOption, QuietOption, SeasonOption, WorkspaceOption, give


def costs(
    whose: Annotated[
        str,
        typer.Argument(
            metavar="GREEN|CLUB", help="Green, by its code or an alias, or club, by its code.",
            show_default="every green in play",
        ),
    ] = "",
    season: SeasonOption = "",
    table: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write every sum to this CSV as well.")
    ] = None,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:  # fmt: skip
    """Show hours and cost of a season, the one before and plans, beside the budget; each sum says of how many jobs.

    Example: swardtally costs ALD --season 2026
    """
    from pipeline.cli.printing.costs import costs as show
    from pipeline.publish import costs as made
    from pipeline.workspace.settings import open_workspace

    done = made.costs(open_workspace(workspace), whose, season)
    if table is not None:
        made.written(done, table)
    give(done, show, as_json=as_json, quiet=quiet)
    return DONE
