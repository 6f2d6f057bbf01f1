"""The command line: commands parse, call and print; nothing else happens here."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Callable
from contextlib import redirect_stderr, suppress
from datetime import MAXYEAR, MINYEAR, date
from pathlib import Path
from typing import Annotated, Any

import typer

from pipeline.cli import terminal
from pipeline.common import interrupt
from pipeline.common.refusal import CannotDo, WrongUsage

app = typer.Typer(
    name="swardtally",
    help="Bowling-green records: CSV exports into one store, figures per green, PDF condition reports.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

WorkspaceOption = Annotated[Path, typer.Option("--workspace", "-w", help="The workspace folder.", show_default="here")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print the result as JSON.")]
QuietOption = Annotated[bool, typer.Option("--quiet", "-q", help="Print no messages, only results.")]
SeasonOption = Annotated[str, typer.Option("--season", "-s", help="Season, named by the year it ends in.")]

HERE = Path()
DONE, FAULTS, USAGE, CANNOT = 0, 1, 2, 3
INTERRUPTED = 130
"""What typer gives where a command was stopped by hand."""
READER_GONE = 141
"""What a shell gives for a program whose reader has gone (128 and the number of SIGPIPE, 13)."""


def main() -> None:
    """Run the command line; exit codes are 0 done, 1 done but faults, 2 wrong usage, 3 could not."""
    terminal.prepare()
    interrupt.watch()
    code = DONE
    try:
        code = _run()
        terminal.finish()
    except terminal.OutputLost as lost:
        terminal.give_up()
        if code in {DONE, FAULTS}:  # else there was no work of which the result could be lost
            code = READER_GONE if lost.reader_gone else _output_lost(lost)
    sys.exit(code)


def _run() -> int:
    """Exit code of the command, whatever became of it."""
    try:
        code = app(standalone_mode=False)
        if code == INTERRUPTED:
            raise KeyboardInterrupt
    except WrongUsage as error:
        code = _complain(error, USAGE)
    except CannotDo as error:
        code = _complain(error, CANNOT)
    except KeyboardInterrupt:
        code = _stopped()
    except OSError as error:
        where = f" ({error.filename})" if error.filename else ""
        code = _complain(CannotDo(f"{error.strerror or error}{where}.", "Check the path and the disk."), CANNOT)
    except terminal.OutputLost:
        raise
    except Exception as error:
        if type(error).__module__.startswith("typer"):
            code = _wrong_words(error)
        elif interrupt.came():  # in the midst of a library, which made another error of it
            code = _stopped()
        else:
            raise
    return code if isinstance(code, int) else DONE


def _stopped() -> int:
    with suppress(terminal.OutputLost):
        terminal.err("Stopped. What was not finished was not kept.")
    return CANNOT


def _output_lost(lost: terminal.OutputLost) -> int:
    terminal.err(f"What was to be printed could not be written: {lost}.\nThe work itself was done.")
    return FAULTS


def _wrong_words(error: Exception) -> int:
    """Exit code of what typer itself raises, said its own way; it has no public base class for them."""
    show: Callable[[], None] | None = getattr(error, "show", None)
    if show is not None:
        said = io.StringIO()
        with redirect_stderr(said):
            show()
        with suppress(terminal.OutputLost):
            terminal.err(said.getvalue().rstrip("\n"))
        return USAGE
    return int(getattr(error, "exit_code", USAGE))


def _complain(error: CannotDo, code: int) -> int:
    with suppress(terminal.OutputLost):  # the code tells it all the same
        terminal.err(f"{terminal.one_line(error.message)}\n{terminal.one_line(error.hint)}")
    return code


def _print_json(value: object) -> None:
    text = json.dumps(value, ensure_ascii=False, indent=2, default=str)
    terminal.out(text if terminal.prints(text) else json.dumps(value, indent=2, default=str))


def _say(quiet: bool, text: str) -> None:
    if not quiet:
        terminal.err(text)


@app.command()
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
    _say(quiet, f"Next: fill templates/ or bring your own exports, then: swardtally load FILE --workspace {folder}")
    return DONE


@app.command()
def load(
    paths: Annotated[list[Path], typer.Argument(help="Files or folders of exports.")],
    kind: Annotated[str, typer.Option("--kind", "-k", help="What the files hold, where headers cannot tell.")] = "",
    profile: Annotated[str, typer.Option("--profile", "-p", help="Source profile to use.")] = "",
    complete: Annotated[
        str,
        typer.Option(
            "--complete", metavar="FROM..TO", help="Days the files hold completely: what they lack is retired."
        ),
    ] = "",
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Say everything, change nothing.")] = False,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Load exports into the store; rejected rows are handed back in rejected/.

    Example: swardtally load exports/ --workspace ostershire
    """
    from pipeline.cli import printing as show
    from pipeline.load.files import load_paths, undecided_profiles
    from pipeline.workspace.settings import open_workspace

    here = open_workspace(workspace)
    results = load_paths(
        here,
        paths,
        kind=kind,
        profile=profile,
        dry_run=dry_run,
        complete=_days(complete),
        progress=_progress(quiet or as_json),
    )
    if as_json:
        _print_json({"files": [result.as_json() for result in results]})
    else:
        show.load_results(results, dry_run=dry_run, quiet=quiet)
    for waiting in sorted(set(undecided_profiles(here)) - {result.profile for result in results}):
        _say(quiet, f"Profile {waiting} still says “?” somewhere: until it is decided, files of its kind are refused.")
    return FAULTS if any(result.failed for result in results) else DONE


@app.command("profile")
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
    from pipeline.cli import printing as show
    from pipeline.draft import draft_profile
    from pipeline.workspace.settings import open_workspace

    made = draft_profile(open_workspace(workspace), file, kind=kind, name=name, force=force)
    if as_json:
        _print_json(made.as_json())
    else:
        show.draft(made, quiet=quiet)
    return DONE if made.path else FAULTS


@app.command("show")
def show_green(
    green: Annotated[str, typer.Argument(help="Code of the green.")],
    season: SeasonOption = "",
    evidence: Annotated[
        str, typer.Option("--evidence", "-e", metavar="INDICATOR", help="Print every record behind this indicator.")
    ] = "",
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Print the indicators of a green for a season, or every record behind one of them.

    Example: swardtally show ALD-1 --season 2026
    """
    from pipeline.cli import printing as show
    from pipeline.publish.documents import season_of_green
    from pipeline.workspace.settings import open_workspace

    opened = open_workspace(workspace)
    result = season_of_green(opened, green, season)
    if evidence:
        from pipeline.indicators.tracing import trace

        found = trace(opened, result, evidence)
        if as_json:
            _print_json(show.traces_as_json(result, found))
        else:
            show.traces(result, found, quiet=quiet)
    elif as_json:
        _print_json(show.green_as_json(result))
    else:
        show.green(result, quiet=quiet)
    return DONE


@app.command()
def report(
    greens: Annotated[
        list[str] | None, typer.Option("--green", "-g", help="Green to report on; may be repeated.")
    ] = None,
    clubs: Annotated[list[str] | None, typer.Option("--club", "-c", help="Club whose greens to report on.")] = None,
    every: Annotated[bool, typer.Option("--all", help="Every green.")] = False,
    season: SeasonOption = "",
    only: Annotated[
        list[str] | None, typer.Option("--only", help="One kind of document: condition, summary or round-up.")
    ] = None,
    short: Annotated[bool, typer.Option("--short", help="Two pages a green instead of four.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Write again what would come out the same.")] = False,
    workers: Annotated[int, typer.Option("--workers", min=0, help="Processes; 0 takes one a core.")] = 0,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Write condition reports, season summaries and the round-up as PDF; what would come out the same is left as it is.

    Example: swardtally report --all --season 2026
    """
    from pipeline.cli import printing as show
    from pipeline.publish.documents import DOCUMENTS, write_reports
    from pipeline.workspace.settings import open_workspace

    for kind in only or ():
        if kind not in DOCUMENTS:
            raise WrongUsage(f"There is no document “{kind}”.", f"Documents are {', '.join(DOCUMENTS)}.")
    if not (greens or clubs or every):
        raise WrongUsage("No green was named.", "Name greens with --green, clubs with --club, or take --all.")
    written = write_reports(
        open_workspace(workspace), greens=greens or [], clubs=clubs or [], every=every, season=season,
        only=only or [], short=short, force=force, workers=workers, progress=_progress(quiet or as_json),
    )  # fmt: skip
    if as_json:
        _print_json({"reports": [one.as_json() for one in written]})
    else:
        show.reports(written, quiet=quiet)
    return FAULTS if any(one.fault for one in written) else DONE


@app.command()
def survey(
    green: Annotated[str, typer.Argument(help="Code of the green.")],
    day: Annotated[str, typer.Argument(metavar="DATE", help="Day of the visit, year-month-day.")],
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Write the condition survey of one visit as PDF: levels, sward, profile, findings, programme.

    Example: swardtally survey ALD-1 2026-09-14
    """
    from pipeline.cli import printing as show
    from pipeline.publish.survey import write_survey
    from pipeline.workspace.settings import open_workspace

    written = write_survey(open_workspace(workspace), green, _day(day))
    if as_json:
        _print_json({"reports": [written.as_json()]})
    else:
        show.reports([written], quiet=quiet)
    return FAULTS if written.fault else DONE


@app.command()
def compare(
    region: Annotated[str, typer.Option("--region", "-r", help="Region whose groups are wanted.")] = "",
    season: SeasonOption = "",
    club: Annotated[str, typer.Option("--club", "-c", help="Club whose greens are named; without it none is.")] = "",
    indicators: Annotated[
        list[str] | None, typer.Option("--indicator", "-i", help="Indicator to compare; may be repeated.")
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for the files.", show_default="reports/")] = None,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Compare greens with their like, as PDF and CSV; no club's figure can be worked out by another.

    Example: swardtally compare --club ALD --season 2026
    """
    from pipeline.cli import printing as show
    from pipeline.publish.comparison import compare as compared
    from pipeline.workspace.settings import open_workspace

    done = compared(open_workspace(workspace), region=region, season=season, club=club, names=indicators or [], out=out)
    if as_json:
        _print_json(done.as_json())
    else:
        show.comparison(done, quiet=quiet)
    return DONE


@app.command()
def status(workspace: WorkspaceOption = HERE, as_json: JsonOption = False, quiet: QuietOption = False) -> int:
    """Print what the store holds.

    Example: swardtally status
    """
    from pipeline.cli import printing as show
    from pipeline.store.inventory import inventory
    from pipeline.workspace.settings import open_workspace

    held = inventory(open_workspace(workspace))
    if as_json:
        _print_json(held.as_json())
    else:
        show.inventory(held, quiet=quiet)
    return DONE


@app.command()
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
    from pipeline.cli import printing as show
    from pipeline.store.changes import changes
    from pipeline.store.inventory import loads
    from pipeline.workspace.settings import open_workspace

    here = open_workspace(workspace)
    if file or green:
        changed = changes(here, file=file, green=green)
        if as_json:
            _print_json({"changes": [one.as_json() for one in changed]})
        else:
            show.changes(changed, quiet=quiet)
        return DONE
    found = loads(here)
    if as_json:
        _print_json({"loads": found})
    else:
        show.history(found, quiet=quiet)
    return DONE


@app.command()
def undo(
    load_id: Annotated[int, typer.Argument(metavar="LOAD", help="Number of the load, as in swardtally history.")],
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Take a load back: the store is exactly what it was before it.

    Example: swardtally undo 12
    """
    from pipeline.cli import printing as show
    from pipeline.store.undo import undo as take_back
    from pipeline.workspace.settings import open_workspace

    done = take_back(open_workspace(workspace), load_id)
    if as_json:
        _print_json(done.as_json())
    else:
        show.undone(done, quiet=quiet)
    return DONE


@app.command()
def doctor(as_json: JsonOption = False, quiet: QuietOption = False) -> int:
    """Check that this machine has what loading and rendering need.

    Example: swardtally doctor
    """
    from pipeline.cli import printing as show
    from pipeline.cli.doctor import examine

    checks = examine()
    if as_json:
        _print_json({"checks": [check.as_json() for check in checks]})
    else:
        show.checks(checks, quiet=quiet)
    return DONE if all(check.fine for check in checks) else FAULTS


@app.command()
def demo(
    out: Annotated[Path, typer.Option("--out", help="Folder for the demo workspace.")] = Path("demo"),
    quiet: QuietOption = False,
) -> int:
    """Make a demo workspace of an invented county, with all its reports.

    Example: swardtally demo --out demo
    """
    from pipeline.cli import printing as show
    from pipeline.cli.demo import make_demo

    made = make_demo(out, progress=_progress(quiet))
    show.demo(made, quiet=quiet)
    return DONE


def _days(text: str) -> tuple[date, date] | None:
    """FROM..TO as two days; None where nothing was said."""
    if not text:
        return None
    try:
        first, last = (date.fromisoformat(part) for part in text.split(".."))
    except ValueError:
        raise WrongUsage(f"“{text}” is not FROM..TO.", "Write two days, such as 2026-03-01..2026-03-31.") from None
    if last < first:
        raise WrongUsage(f"{text} ends before it begins.", "Write the earlier day first.")
    return first, last


def _day(text: str) -> date:
    """A day, of a year that has one before and one after it."""
    try:
        day = date.fromisoformat(text)
        if not MINYEAR < day.year < MAXYEAR:
            raise ValueError
        return day
    except ValueError:
        raise WrongUsage(f"“{text}” is not a day.", "Write year-month-day, such as 2026-09-14.") from None


def _progress(quiet: bool) -> Any:
    """A progress bar on standard error; none where messages are off or nobody watches."""
    from pipeline.common.progress import Progress

    return Progress(shown=not quiet and sys.stderr.isatty())
