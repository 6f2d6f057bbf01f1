"""Commands on records: drafting, loading, what the store holds, what changed, taking back."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.figures_up import kept_up
from pipeline.cli.options import (
    DONE,
    FAULTS,
    HERE,
    JsonOption,
    KindOption,
    ProfileOption,
    QuietOption,
    SetOption,
    WorkspaceOption,
    days_of,
    give,
    given_of,
    print_json,
    progress_for,
    say,
)
from pipeline.common.refusal import CannotDo

if TYPE_CHECKING:
    from pipeline.workspace.settings import Workspace


def load(
    paths: Annotated[
        list[Path],
        typer.Argument(
            metavar="PATH...",
            help="Files, or folders that are searched for them with all their folders: CSV and other text, workbooks "
            "(xlsx, xlsm, xls, ods).",
        ),
    ],
    kind: KindOption = "",
    profile: ProfileOption = "",
    complete: Annotated[
        str,
        typer.Option(
            "--complete",
            metavar="FROM..TO",
            help="Days a file holds completely, such as 2026-03-01..2026-03-31: what its source said of them and it "
            "lacks is closed. Its source is its profile; without one, files named like it but for dates and numbers.",
        ),
    ] = "",
    given: SetOption = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Say everything, change nothing.")] = False,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Load exports into the store; rejected rows are written to rejected/.

    The same file again changes nothing; a row that can be read two ways is rejected, never guessed.

    Example: swardtally load exports/ --workspace ostershire
    """
    from pipeline.cli import printing
    from pipeline.load.files import load_paths, undecided_profiles
    from pipeline.load.found import found_in, not_loaded, passed_over
    from pipeline.load.idle_corrections import idle_corrections
    from pipeline.workspace.settings import open_workspace

    here = open_workspace(workspace)
    found = found_in(paths, here.settings.ignore_files, here.reports)
    results = load_paths(
        here,
        paths,
        kind=kind,
        profile=profile,
        dry_run=dry_run,
        complete=days_of(complete),
        given=given_of(given or []),
        progress=progress_for(quiet or as_json),
    )
    passed = found.left({picture for result in results for picture in result.pictures})
    if as_json:
        print_json({"files": [one.as_json() for one in results], "passed_over": [*passed, *found.written]})
    else:
        printing.load_results(results, dry_run=dry_run, quiet=quiet)
    up = dry_run or kept_up(here)
    if passed:
        say(quiet, f"{passed_over(passed)} ignore_files in settings.toml silences this.")
    if found.written:
        say(quiet, not_loaded(found.written))
    for waiting in sorted(set(undecided_profiles(here)) - {result.profile for result in results}):
        say(quiet, f"Profile {waiting} still says “?” somewhere: until it is decided, files that it fits are refused.")
    for idle in idle_corrections(here, [result.file for result in results]):
        say(quiet, idle)
    return DONE if up and not any(result.failed or result.left_out for result in results) else FAULTS


def profile_of(
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE", help="File to draft a source profile from: CSV or other text, or a workbook."),
    ],
    kind: KindOption = "",
    name: Annotated[
        str, typer.Option("--name", "-n", metavar="NAME", help="Name of the profile.", show_default="the file's")
    ] = "",
    sheet: Annotated[
        str, typer.Option("--sheet", metavar="NAME", help="Sheet of the workbook, where it has several.")
    ] = "",
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

    made = draft_profile(open_workspace(workspace), file, kind=kind, name=name, sheet=sheet, force=force)
    give(made, partial(printing.draft, path=file), as_json=as_json, quiet=quiet)
    return DONE if made.path else FAULTS


def status(workspace: WorkspaceOption = HERE, as_json: JsonOption = False, quiet: QuietOption = False) -> int:
    """Print what the store holds, and what waits for a person: lines to decide about, rejected rows, questions.

    Example: swardtally status
    """
    from pipeline.cli import printing
    from pipeline.common.words import counted
    from pipeline.figures.state import standing
    from pipeline.indicators.base.open_matters import open_matters
    from pipeline.store.inventory import inventory
    from pipeline.workspace.settings import open_workspace

    here = open_workspace(workspace)
    held, matters, figures = inventory(here), open_matters(here), standing(here)
    if as_json:
        print_json({**held.as_json(), "open": [one.as_json() for one in matters], "figures": figures.as_json()})
    else:
        printing.inventory(held, matters, quiet=quiet)
        if figures.stale and any(number for _, number, *_ in held.kinds):
            number = counted(figures.seasons, "season of a green", "seasons of greens")
            seen = "shown by no view" if figures.hidden else "as they were made"
            say(
                quiet,
                f"The figures in the store ({number}) are {seen}: {figures.stale}. show and report make theirs from "
                "the records; the next load, undo or decision brings these up.",
            )
    return DONE


def decide(
    word: Annotated[
        str,
        typer.Argument(
            metavar="WORD", help="one: the lines are one job; two: both were done; aside: a rejected row is not wanted."
        ),
    ],
    lines: Annotated[
        list[str],
        typer.Argument(
            metavar="FILE:LINE...", help="The lines, as status names them; of one and two the one that counts first."
        ),
    ],
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help="The reason, which is kept; needed.")] = "",
    who: Annotated[str, typer.Option("--who", metavar="TEXT", help="Who says so, which is kept; needed.")] = "",
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Say of two lines whether they are one job, or set a rejected row aside; undo takes it back.

    Example: swardtally decide one log.csv:12 crew.csv:3 --why "both wrote it down" --who office
    """
    from pipeline.cli import printing
    from pipeline.store.decide import decide as decide_on

    here = _with_store(workspace)
    made = decide_on(here, word, lines, why, who)
    give(made, printing.decided, as_json=as_json, quiet=quiet)
    return DONE if kept_up(here) else FAULTS


def history(
    file: Annotated[
        str,
        typer.Option("--file", "-f", metavar="FILE", help="List the values this file changed, or that were its."),
    ] = "",
    green: Annotated[
        str, typer.Option("--green", "-g", metavar="GREEN", help="List the values of this green that were changed.")
    ] = "",
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Print every load and decision, those taken back too; or the former values of records.

    Example: swardtally history --green ALD-1
    """
    from pipeline.cli import printing
    from pipeline.store.changes import changes
    from pipeline.store.inventory import decisions, loads
    from pipeline.workspace.settings import open_workspace

    here = open_workspace(workspace)
    if file or green:
        changed = changes(here, file=file, green=green)
        give(changed, printing.changes, as_json=as_json, quiet=quiet, name="changes")
        return DONE
    found, decided = loads(here), decisions(here)
    if as_json:
        print_json({"loads": found, "decisions": decided})
    else:
        printing.history(found, decided, quiet=quiet)
    return DONE


def undo(
    load_id: Annotated[
        int, typer.Argument(metavar="LOAD", help="Number of the load or decision, as in swardtally history.")
    ],
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Take a load or a decision back: the store holds what it would hold without it.

    Where later loads rest on it, it says which to take back first.

    Example: swardtally undo 5
    """
    from pipeline.cli import printing
    from pipeline.store.undo import undo as take_back

    here = _with_store(workspace)
    give(take_back(here, load_id), printing.undone, as_json=as_json, quiet=quiet)
    return DONE if kept_up(here) else FAULTS


def _with_store(folder: Path) -> Workspace:
    """The workspace in a folder, for what changes records that are there.

    Raises:
        CannotDo: the folder is no workspace, or nothing was loaded into it yet.
    """
    from pipeline.workspace.settings import open_workspace

    here = open_workspace(folder)
    if not here.store.exists():  # opened for writing it would be made
        raise CannotDo(f"There is no store at {here.store}.", "Load files first: swardtally load PATH")
    return here
