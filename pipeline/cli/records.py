"""Commands on records: drafting, loading, what the store holds, what changed, taking back."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli.options import (
    DONE,
    FAULTS,
    HERE,
    JsonOption,
    QuietOption,
    WorkspaceOption,
    days_of,
    give,
    print_json,
    progress_for,
    say,
)


def load(
    paths: Annotated[list[Path], typer.Argument(help="Files or folders of exports.")],
    kind: Annotated[str, typer.Option("--kind", "-k", help="What the files hold, where headers cannot tell.")] = "",
    profile: Annotated[str, typer.Option("--profile", "-p", help="Source profile to use.")] = "",
    complete: Annotated[
        str,
        typer.Option(
            "--complete", metavar="FROM..TO", help="Days the files hold completely: what they lack is closed."
        ),
    ] = "",
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Say everything, change nothing.")] = False,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Load exports into the store; rejected rows are written to rejected/.

    Example: swardtally load exports/ --workspace ostershire
    """
    from pipeline.cli import printing
    from pipeline.load.files import load_paths, undecided_profiles
    from pipeline.load.found import found_in, passed_over
    from pipeline.workspace.settings import open_workspace

    here = open_workspace(workspace)
    found = found_in(paths, here.settings.ignore_files)
    results = load_paths(
        here,
        paths,
        kind=kind,
        profile=profile,
        dry_run=dry_run,
        complete=days_of(complete),
        progress=progress_for(quiet or as_json),
    )
    passed = found.left({picture for result in results for picture in result.pictures})
    if as_json:
        print_json({"files": [one.as_json() for one in results], "passed_over": passed})
    else:
        printing.load_results(results, dry_run=dry_run, quiet=quiet)
    if passed:
        say(quiet, f"{passed_over(passed)} ignore_files in settings.toml silences this.")
    for waiting in sorted(set(undecided_profiles(here)) - {result.profile for result in results}):
        say(quiet, f"Profile {waiting} still says “?” somewhere: until it is decided, files that it fits are refused.")
    return FAULTS if any(result.failed or result.left_out for result in results) else DONE


def profile_of(
    file: Annotated[Path, typer.Argument(help="File to draft a source profile from.")],
    kind: Annotated[str, typer.Option("--kind", "-k", help="What the file holds, where headers cannot tell.")] = "",
    name: Annotated[str, typer.Option("--name", "-n", help="Name of the profile.", show_default="the file's")] = "",
    force: Annotated[bool, typer.Option("--force", help="Overwrite a profile of that name.")] = False,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Draft a source profile from a file; it marks with "?" what a person must decide.

    Example: swardtally profile exports/crew.csv --workspace ostershire
    """
    from pipeline.cli import printing
    from pipeline.draft import draft_profile
    from pipeline.workspace.settings import open_workspace

    made = draft_profile(open_workspace(workspace), file, kind=kind, name=name, force=force)
    give(made, printing.draft, as_json=as_json, quiet=quiet)
    return DONE if made.path else FAULTS


def status(workspace: WorkspaceOption = HERE, as_json: JsonOption = False, quiet: QuietOption = False) -> int:
    """Print what the store holds.

    Example: swardtally status
    """
    from pipeline.cli import printing
    from pipeline.store.inventory import inventory
    from pipeline.workspace.settings import open_workspace

    give(inventory(open_workspace(workspace)), printing.inventory, as_json=as_json, quiet=quiet)
    return DONE


def history(
    file: Annotated[
        str, typer.Option("--file", "-f", help="List the values this file changed, or that were its.")
    ] = "",
    green: Annotated[str, typer.Option("--green", "-g", help="List the values of this green that were changed.")] = "",
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Print every load: what came, when, and what became of its rows; or the former values of records.

    Example: swardtally history --green ALD-1
    """
    from pipeline.cli import printing
    from pipeline.store.changes import changes
    from pipeline.store.inventory import loads
    from pipeline.workspace.settings import open_workspace

    here = open_workspace(workspace)
    if file or green:
        changed = changes(here, file=file, green=green)
        give(changed, printing.changes, as_json=as_json, quiet=quiet, name="changes")
        return DONE
    found = loads(here)
    if as_json:
        print_json({"loads": found})
    else:
        printing.history(found, quiet=quiet)
    return DONE


def undo(
    load_id: Annotated[int, typer.Argument(metavar="LOAD", help="Number of the load, as in swardtally history.")],
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Take a load back: the store is exactly what it was before it.

    Example: swardtally undo 12
    """
    from pipeline.cli import printing
    from pipeline.store.undo import undo as take_back
    from pipeline.workspace.settings import open_workspace

    give(take_back(open_workspace(workspace), load_id), printing.undone, as_json=as_json, quiet=quiet)
    return DONE
