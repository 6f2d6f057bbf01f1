"""Commands before the first record: a workspace, the demo, the check of the machine."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli import terminal
from pipeline.cli.options import (
    DONE,
    FAULTS,
    HERE,
    JsonOption,
    QuietOption,
    WorkspaceOption,
    give,
    one_folder,
    progress_for,
    say,
)


def init(
    folder: Annotated[
        Path | None,
        typer.Argument(
            metavar="DIR", help="Folder of the new workspace; it is made where it is not there, and . is this folder."
        ),
    ] = None,
    named: Annotated[
        Path | None, typer.Option("--workspace", "-w", metavar="DIR", help="The same, as other commands take it.")
    ] = None,
    quiet: QuietOption = False,
) -> int:
    """Make a workspace: commented settings and an empty CSV template for each kind of record.

    What the folder holds already is left as it is.

    Example: swardtally init ostershire
    """
    from pipeline.workspace.settings import make_workspace

    where = one_folder(folder, named, "swardtally init DIR, or . for this folder")
    where.mkdir(parents=True, exist_ok=True)
    made = make_workspace(where)
    for path in made:
        terminal.out(str(path))
    terminal.name_workspace(where, ["load"])
    say(quiet, "Next: fill templates/ or bring your own exports, then: swardtally load FILE")
    return DONE


def doctor(
    bring_up: Annotated[
        bool,
        typer.Option(
            "--bring-up",
            help="First bring a store of an older layout up to that of this version; a former version cannot read it "
            "then. Loading a file does it as well.",
        ),
    ] = False,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Check that this machine has what loading and rendering need, and what a workspace waits for.

    Of a workspace (one that --workspace names, or the current folder where it is one) it looks at settings, store,
    figures, profiles that are not decided and rejected rows.

    Example: swardtally doctor
    """
    from pipeline.cli import printing
    from pipeline.cli.doctor import brought_up, examine, look_at
    from pipeline.workspace.settings import is_workspace

    if bring_up:
        say(quiet, brought_up(workspace))
    checks = examine()
    if workspace != HERE or is_workspace(workspace):
        checks += look_at(workspace)
    give(checks, printing.checks, as_json=as_json, quiet=quiet, name="checks")
    return DONE if all(check.fine for check in checks) else FAULTS


def demo(
    out: Annotated[
        Path,
        typer.Option(
            "--out", "--workspace", "-w", metavar="DIR", help="Folder of the demo workspace; new, or an empty one."
        ),
    ] = Path("demo"),
    quiet: QuietOption = False,
) -> int:
    """Make a demo workspace of an invented county, with all its reports; it takes some minutes.

    Example: swardtally demo --out demo
    """
    from pipeline.cli import printing
    from pipeline.cli.demo import make_demo

    made = make_demo(out, progress=progress_for(quiet))
    printing.demo(made, quiet=quiet)
    return DONE if made.whole else FAULTS
