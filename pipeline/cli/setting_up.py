"""Commands before the first record: a workspace, the demo, the check of the machine."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli import terminal
from pipeline.cli.options import DONE, FAULTS, JsonOption, QuietOption, give, progress_for, say


def init(
    folder: Annotated[Path, typer.Argument(help="Folder to make.")],
    quiet: QuietOption = False,
) -> int:
    """Make a workspace: commented settings and an empty CSV template for each kind of record.

    Example: swardtally init ostershire
    """
    from pipeline.workspace.settings import make_workspace

    folder.mkdir(parents=True, exist_ok=True)
    made = make_workspace(folder)
    for path in made:
        terminal.out(str(path))
    say(quiet, f"Next: fill templates/ or bring your own exports, then: swardtally load FILE --workspace {folder}")
    return DONE


def doctor(as_json: JsonOption = False, quiet: QuietOption = False) -> int:
    """Check that this machine has what loading and rendering need.

    Example: swardtally doctor
    """
    from pipeline.cli import printing
    from pipeline.cli.doctor import examine

    checks = examine()
    give(checks, printing.checks, as_json=as_json, quiet=quiet, name="checks")
    return DONE if all(check.fine for check in checks) else FAULTS


def demo(
    out: Annotated[Path, typer.Option("--out", help="Folder for the demo workspace.")] = Path("demo"),
    quiet: QuietOption = False,
) -> int:
    """Make a demo workspace of an invented county, with all its reports.

    Example: swardtally demo --out demo
    """
    from pipeline.cli import printing
    from pipeline.cli.demo import make_demo

    made = make_demo(out, progress=progress_for(quiet))
    printing.demo(made, quiet=quiet)
    return DONE
