"""Commands that tell whether records are what was loaded."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli.options import DONE, FAULTS, HERE, JsonOption, QuietOption, WorkspaceOption, give, progress_for


def verify(
    quick: Annotated[
        bool,
        typer.Option(
            "--quick", help="Hold the store against its chain of hashes alone; the originals are not read again."
        ),
    ] = False,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Check that the records are those that were loaded, and name each that is not.

    The store keeps the bytes of every loaded file, and a chain of hashes over what each load did. The chain is worked
    out anew, every original is read again by the rules of its day, and what comes of it is compared with the store row
    by row. Nothing is changed. The code is 1 where something differs.

    Example: swardtally verify
    """
    from pipeline.cli.printing.proof import verified
    from pipeline.verify.verify import verify as verify_store
    from pipeline.workspace.settings import open_workspace

    found = verify_store(open_workspace(workspace), quick=quick, progress=progress_for(quiet))
    give(found, verified, as_json=as_json, quiet=quiet)
    return DONE if found.whole else FAULTS


def prove(
    document: Annotated[
        Path, typer.Argument(metavar="PDF", help="A document that swardtally wrote, or the hash that it prints.")
    ],
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Find the hash that a document bears, and tell whether the records of then were altered since.

    It needs the store that the document was written from. That the pages are as they were written is told of those
    that stand in the reports now, under whatever name the file came back; of an earlier one it is not known. The code
    is 1 where the hash is in no entry of this store's chain, a record was altered, or the file in the reports was.

    Example: swardtally prove reports/2026/ALD-1-condition-2026.pdf
    """
    from pipeline.cli.printing.proof import proved
    from pipeline.publish.prove import prove as prove_document
    from pipeline.workspace.settings import open_workspace

    found = prove_document(open_workspace(workspace), document)
    give(found, proved, as_json=as_json, quiet=quiet)
    return DONE if found.holds and found.as_written is not False else FAULTS


def forget(
    names: Annotated[
        list[str], typer.Argument(metavar="NAME...", help="The person's name, and other ways in which it is written.")
    ],
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Say what it would come to, and change nothing.")] = False,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Take a person's name out of the store, its originals and the workspace's own files; the work stays.

    What stands in place of the name is a hash under a salt that is kept nowhere. The store is written anew, so that no
    block of it holds the name; verify says "redacted", not "altered". It cannot be taken back. Left are files
    of your own (those that bear the name in their text are listed), documents already written, and backups.

    Example: swardtally forget "Ann Example" "A. Example" --dry-run
    """
    from pipeline.cli.figures_up import kept_up
    from pipeline.cli.printing.proof import forgotten
    from pipeline.forget.forget import forget as forget_person
    from pipeline.workspace.settings import open_workspace

    here = open_workspace(workspace)
    found = forget_person(here, names, dry_run=dry_run)
    give(found, partial(forgotten, dry_run=dry_run), as_json=as_json, quiet=quiet)
    return DONE if dry_run or kept_up(here) else FAULTS
