"""The command on forms: workbooks and paper to fill in, rejected rows to mend."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli.options import DONE, FAULTS, HERE, JsonOption, QuietOption, WorkspaceOption, give
from pipeline.common.refusal import WrongUsage


def forms(
    names: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="FORM...", help="Forms to write: crew, laboratory, speeds, survey; all where none is named."
        ),
    ] = None,
    kinds: Annotated[
        list[str] | None,
        typer.Option(
            "--kind",
            "-k",
            metavar="KIND",
            help="Kind of record (such as job) to write a form with every field of; may be repeated.",
        ),
    ] = None,
    rejected: Annotated[
        bool, typer.Option("--rejected", help="Write rejected rows as workbooks to mend, each beside its CSV.")
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="DIR", help="Folder for the forms.", show_default="forms/ of the workspace"),
    ] = None,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Write forms to fill in, as workbooks and as paper; filled in, the workbooks load without a profile.

    Example: swardtally forms crew survey --workspace ostershire
    """
    from datetime import UTC, datetime

    from pipeline.cli import printing
    from pipeline.publish.forms import write_forms, write_rejected
    from pipeline.workspace.settings import open_workspace

    if rejected and (names or kinds or out):
        raise WrongUsage("--rejected takes no form, kind or folder.", "Rejected rows are written beside their CSV.")
    here = open_workspace(workspace)
    if rejected:
        written = write_rejected(here, datetime.now(UTC).date())
    else:
        written = write_forms(here, names or [], kinds or [], out)
    give(written, printing.forms, as_json=as_json, quiet=quiet, name="forms")
    return FAULTS if any(one.fault or one.left for one in written) else DONE
