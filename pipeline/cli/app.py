"""The command line: commands parse, call and print; nothing else happens here."""

from __future__ import annotations

import gc
import io
import os
import sys
from collections.abc import Callable
from contextlib import redirect_stderr, suppress
from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli import (
    changed,
    copying,
    costs,
    crash,
    documents,
    due,
    forms,
    ordering,
    planning,
    proving,
    records,
    setting_up,
    terminal,
    words,
)
from pipeline.cli.options import CANNOT, CRASHED, DONE, FAULTS, INTERRUPTED, READER_GONE, USAGE
from pipeline.cli.parsing import Command, Commands
from pipeline.common import interrupt
from pipeline.common.refusal import CannotDo, WrongUsage

__all__ = ["CRASHED", "READER_GONE", "app", "main"]

OTHERS = 0o007
"""Rights of other users of the machine, which no file or folder is made with: records hold names. The group's are those
of the umask, so that an office that shares a folder goes on sharing it; a file that is there keeps its mode."""

app = typer.Typer(
    name="swardtally",
    cls=Commands,
    help="Bowling-green records: CSV exports into one store, figures per green, PDF condition reports.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _say_version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        terminal.out(f"swardtally {version('swardtally')}")
        raise typer.Exit


@app.callback()
def _before(
    version: Annotated[
        bool, typer.Option("--version", callback=_say_version, is_eager=True, help="Print the version and end.")
    ] = False,
    trace: Annotated[
        Path | None,
        typer.Option(
            "--trace",
            metavar="FILE",
            help="Should the program itself break down (exit code 70), write into this file where; it may hold words "
            "of your records.",
        ),
    ] = None,
) -> None:
    """Bowling-green records: CSV exports into one store, figures per green, PDF condition reports."""
    crash.trace_to(trace)


app.command("init", cls=Command)(setting_up.init)
app.command("load", cls=Command)(records.load)
app.command("profile", cls=Command)(records.profile_of)
app.command("words", cls=Command)(words.words)
app.command("forms", cls=Command)(forms.forms)
app.command("show", cls=Command)(documents.show_green)
app.command("report", cls=Command)(documents.report)
app.command("survey", cls=Command)(documents.survey)
app.command("compare", cls=Command)(documents.compare)
app.command("programme", cls=Command)(planning.programme)
app.command("due", cls=Command)(due.due)
app.command("costs", cls=Command)(costs.costs)
app.command("order", cls=Command)(ordering.order)
app.command("status", cls=Command)(records.status)
app.command("decide", cls=Command)(records.decide)
app.command("history", cls=Command)(records.history)
app.command("changed", cls=Command)(changed.changed)
app.command("undo", cls=Command)(records.undo)
app.command("backup", cls=Command)(copying.backup)
app.command("restore", cls=Command)(copying.restore)
app.command("copy", cls=Command)(copying.copy)
app.command("verify", cls=Command)(proving.verify)
app.command("prove", cls=Command)(proving.prove)
app.command("forget", cls=Command)(proving.forget)
app.command("doctor", cls=Command)(setting_up.doctor)
app.command("demo", cls=Command)(setting_up.demo)


def main() -> None:
    """Run the command line.

    Exit codes are 0 done, 1 done but faults, 2 wrong usage, 3 could not, 70 a fault of the program.
    """
    gc.set_threshold(20_000, 20, 20)  # what is imported stays: looking through it for waste is a tenth of a short load
    os.umask(os.umask(0) | OTHERS)
    terminal.prepare()
    interrupt.watch()
    crash.trace_to(None)
    code = DONE
    try:
        code = _run()
        terminal.finish()
    except terminal.OutputLost as lost:
        terminal.give_up()
        if code in {DONE, FAULTS}:  # else there was no work of which the result could be lost
            code = READER_GONE if lost.reader_gone else _output_lost(lost)
    except KeyboardInterrupt:  # before the command began, or once more while the first was being told
        code = _stopped()
    sys.exit(code)


def _run() -> int:
    """Exit code of the command, whatever became of it."""
    try:
        code = app(standalone_mode=False)
        if code == INTERRUPTED:
            raise KeyboardInterrupt
    except terminal.OutputLost:
        raise
    except SystemExit as error:
        code = error.code if isinstance(error.code, int) else CANNOT
    except BaseException as error:
        code = _ended_by(error)
    finally:
        terminal.name_workspace(Path(), ())
    return code if isinstance(code, int) else DONE


def _ended_by(error: BaseException) -> int:
    """Exit code of a command that did not come to its end, after the reason was said."""
    if isinstance(error, CannotDo):
        return crash.say(error.message, error.hint, USAGE if isinstance(error, WrongUsage) else CANNOT)
    if isinstance(error, KeyboardInterrupt):
        return _stopped()
    if isinstance(error, OSError):
        where = f" ({error.filename})" if error.filename else ""
        return crash.say(f"{error.strerror or error}{where}.", "Check the path and the disk.", CANNOT)
    if type(error).__module__.startswith("typer"):
        return _wrong_words(error)
    # In the midst of a library, which made another error of it; one written in Rust raises what is no Exception.
    return _stopped() if interrupt.came() else crash.told(error)


def _stopped() -> int:
    with suppress(terminal.OutputLost):
        terminal.err("Stopped. What was not finished was not kept.")
    return CANNOT


def _output_lost(lost: terminal.OutputLost) -> int:
    terminal.err(f"What was to be printed could not be written: {lost}.\nThe work itself was done.")
    return FAULTS


def _wrong_words(error: BaseException) -> int:
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
