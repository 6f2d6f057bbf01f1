"""What commands share: options, exit codes, days on the command line, messages."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pipeline.cli import terminal
from pipeline.cli.parsing import of_a_workspace
from pipeline.common.refusal import WrongUsage
from pipeline.common.years import EARLIEST, LATEST

if TYPE_CHECKING:
    from pipeline.indicators.base.look import Look
    from pipeline.workspace.settings import Workspace


def _remembered(ctx: typer.Context, folder: Path) -> Path:
    """The workspace named, which the commands that are printed name as well."""
    terminal.name_workspace(folder, of_a_workspace(ctx))
    return folder


WorkspaceOption = Annotated[
    Path,
    typer.Option(
        "--workspace", "-w", metavar="DIR", callback=_remembered, help="Folder of the workspace.", show_default="here"
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print the result as JSON, for a program to read.")]
QuietOption = Annotated[bool, typer.Option("--quiet", "-q", help="Print results and what went wrong, nothing else.")]
ForceOption = Annotated[bool, typer.Option("--force", help="Write again what would come out the same.")]
OverEditedOption = Annotated[bool, typer.Option("--force", help="Write over files that were perhaps edited.")]
SeasonOption = Annotated[
    str,
    typer.Option(
        "--season",
        "-s",
        metavar="YEAR",
        help="Season, named by the year it ends in, such as 2026.",
        show_default="the latest that has run for 60 days",
    ),
]
AsOfOption = Annotated[
    str,
    typer.Option(
        "--as-of",
        metavar="DATE",
        help="Leave out records dated after this day; registers as they held then. Without --season: the season it "
        "lies in.",
    ),
]
KnownByOption = Annotated[
    str,
    typer.Option(
        "--known-by",
        metavar="DATE",
        help="Count only what was in the store at the end of this day (UTC), whatever its date. With --as-of: what "
        "was known by this day of how things stood on that one. Settings are those of now.",
    ),
]
IssuedOption = Annotated[
    str,
    typer.Option(
        "--issued", metavar="DATE", help="Day printed as that of issue, year-month-day; else none is printed."
    ),
]
KindOption = Annotated[
    str,
    typer.Option(
        "--kind",
        "-k",
        metavar="KIND",
        help="What the files hold (such as job or soil_test), where headers cannot tell.",
    ),
]
ProfileOption = Annotated[
    str,
    typer.Option(
        "--profile",
        "-p",
        metavar="NAME",
        help="Source profile to read by.",
        show_default="the one that fits the headers",
    ),
]
SetOption = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="FIELD=VALUE",
        help="A field that is the same in every row, such as green=ALD-1; may be given again for another.",
    ),
]

HERE = Path()

DONE, FAULTS, USAGE, CANNOT = 0, 1, 2, 3
CRASHED = 70
"""A fault of the program itself (EX_SOFTWARE of sysexits.h, 4.3BSD); never 1, which says that rows were rejected."""
INTERRUPTED = 130
"""What typer gives where a command was stopped by hand."""
READER_GONE = 141
"""What a shell gives for a program whose reader has gone (128 and the number of SIGPIPE, 13)."""


def print_json(value: object) -> None:
    """Print a result as JSON, in plain ASCII where the terminal lacks a character."""
    text = json.dumps(value, ensure_ascii=False, indent=2, default=_plain)
    terminal.out(text if terminal.prints(text) else json.dumps(value, indent=2, default=_plain))


def _plain(value: object) -> float | str:
    """What JSON has no form for: money as the number it is (its digits come out unchanged), anything else as text."""
    return float(value) if isinstance(value, Decimal) else str(value)


def give(result: Any, show: Callable[..., None], *, as_json: bool, quiet: bool, name: str = "") -> None:
    """Print a result as JSON (of a list: under this name), or as a person reads it."""
    if as_json:
        print_json({name: [one.as_json() for one in result]} if name else result.as_json())
    else:
        show(result, quiet=quiet)


def say(quiet: bool, text: str) -> None:
    """Print a message on standard error, unless messages are off."""
    if not quiet:
        terminal.err(text)


def one_folder(folder: Path | None, named: Path | None, example: str) -> Path:
    """The folder that is named as an argument or by --workspace.

    Raises:
        WrongUsage: neither names one, or they name two.
    """
    if folder and named and folder != named:
        raise WrongUsage(f"Two folders are named: {folder} and {named}.", f"Name one: {example}")
    if (where := folder or named) is None:
        raise WrongUsage("No folder is named.", f"Name one: {example}")
    return where


def days_of(text: str) -> tuple[date, date] | None:
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


def given_of(texts: list[str]) -> dict[str, str]:
    """FIELD=VALUE as a field and its value, each."""
    given: dict[str, str] = {}
    for text in texts:
        name, mark, value = (part.strip() for part in text.partition("="))
        if not (name and mark and value):
            raise WrongUsage(f"“{text}” is not FIELD=VALUE.", "Write a field and its value, such as green=ALD-1.")
        if given.setdefault(name, value) != value:
            raise WrongUsage(f"--set says {name} twice: {given[name]} and {value}.", "Keep one of the two.")
    return given


def day_of(text: str) -> date:
    """A day, of a year that records may be of."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise WrongUsage(f"“{text}” is not a day.", "Write year-month-day, such as 2026-09-14.") from None
    if not EARLIEST <= day.year <= LATEST:
        raise WrongUsage(f"{text} is no day of {EARLIEST} to {LATEST}.", "Look at the year.")
    return day


def look_of(workspace: Workspace, as_of: str, known_by: str, *, to_come: bool = False) -> Look:
    """What counts, by the days given on the command line.

    Args:
        workspace: the workspace.
        as_of: the day that records are dated by; "" for any.
        known_by: the day by whose end they were in the store; "" for now.
        to_come: whether ``as_of`` may be a day to come: of what is planned something can be said as of it.

    Raises:
        WrongUsage: one is no day, or still to come: nothing can be said as of it.
    """
    from pipeline.indicators.base.look import Look

    look = Look(day_of(as_of) if as_of else None, day_of(known_by) if known_by else None)
    told = replace(look, as_of=None) if to_come else look
    if not told.ordinary:
        from pipeline.indicators.base.looked_at import refuse_to_come

        today = max(date.today(), datetime.now(UTC).date())  # noqa: DTZ011 (the day where the person is counts as well)
        refuse_to_come(workspace, told, today)
    return look


def tell_look(
    workspace: Workspace, look: Look, greens: Iterable[str] = (), clubs: Iterable[str] = (), *, quiet: bool
) -> None:
    """Say on standard error what of this look was not in the store then, or is there no more."""
    if quiet or look.ordinary:
        return
    from pipeline.indicators.base.looked_at import told_of_look

    for text in told_of_look(workspace, look, sorted(set(greens)), sorted(set(clubs))):
        terminal.err(text)


def progress_for(quiet: bool) -> Any:
    """A progress bar on standard error; none where messages are off or nobody watches."""
    from pipeline.common.progress import Progress

    return Progress(shown=not quiet and sys.stderr.isatty())
