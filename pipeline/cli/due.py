"""The command on what is due."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli.options import (
    DONE,
    FAULTS,
    HERE,
    ForceOption,
    JsonOption,
    KnownByOption,
    QuietOption,
    WorkspaceOption,
    day_of,
    give,
    look_of,
    progress_for,
    say,
    tell_look,
)
from pipeline.common.refusal import CannotDo


def due(
    named: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[GREEN]...", help="Greens, by code or alias.", show_default="every green in play"
        ),
    ] = None,
    greens: Annotated[
        list[str] | None,
        typer.Option("--green", "-g", metavar="GREEN", help="Green to list, as the argument; may be repeated."),
    ] = None,
    clubs: Annotated[
        list[str] | None,
        typer.Option("--club", "-c", metavar="CLUB", help="Club, by its code, whose greens to list; may be repeated."),
    ] = None,
    until: Annotated[
        str,
        typer.Option(
            "--until", metavar="DATE", help="Look ahead to this day.",
            show_default="four weeks after the last day on record",
        ),
    ] = "",
    table: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write every line to this CSV as well.")
    ] = None,
    pdf: Annotated[
        bool, typer.Option("--pdf", help="Write the list as a PDF under reports/ as well, its tables beside it as CSV.")
    ] = False,
    as_of: Annotated[
        str,
        typer.Option(
            "--as-of", metavar="DATE", help="What is due as of this day, which may be still to come, as with order: "
            "the log up to it counts, registers as they held then. Of days that are not logged nothing is known.",
            show_default="the last day on record",
        ),
    ] = "",
    known_by: KnownByOption = "",
    force: ForceOption = False,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:  # fmt: skip
    """List what is due on greens, with quantities, what stands against it, hours and cost, and totals by material.

    Example: swardtally due --club ALD --until 2026-12-31
    """
    from pipeline.cli.printing.due import due as show
    from pipeline.publish.due import DueDone, due_list, stem_of, write_csv, write_due
    from pipeline.workspace.settings import open_workspace

    opened = open_workspace(workspace)
    look, wanted = look_of(opened, as_of, known_by, to_come=True), [*(named or []), *(greens or [])]
    today = date.today()  # noqa: DTZ011 (the day where the person is)
    bar = progress_for(quiet or as_json)
    ahead = day_of(until) if until else None
    found = due_list(opened, wanted, clubs or [], ahead, today=today, look=look, progress=bar)
    done = write_due(opened, found, stem_of(wanted, clubs or []), force=force) if pdf else DueDone(found)
    apart = ""  # what was asked for beside documents that stand already
    try:
        if table is not None:
            write_csv(found, table)
    except CannotDo as error:
        if done.written is None:
            raise
        apart = f"{error.message} {error.hint}"
    tell_look(opened, look, [one.green for one in found.greens], quiet=quiet)
    give(done, show, as_json=as_json, quiet=quiet)
    if apart:
        say(False, apart)
    return FAULTS if apart or (done.written and done.written.fault) else DONE
