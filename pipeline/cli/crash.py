"""A fault of the program itself: told in two lines with how to report it, and never by a code that means another thing.

A trace is written where one was asked for, and nowhere else: it may hold words of a person's records.
"""

from __future__ import annotations

import traceback
from contextlib import suppress
from pathlib import Path

from pipeline.cli import terminal
from pipeline.cli.options import CANNOT, CRASHED
from pipeline.common.shown_text import one_line

_ROOT = Path(__file__).parents[2]
_MOST_SHOWN = 200
"""Characters of what the fault itself says."""
_wanted: list[Path] = []


def trace_to(path: Path | None) -> None:
    """Name the file that a trace goes to; None for none."""
    _wanted[:] = [] if path is None else [path]


def told(error: BaseException) -> int:
    """Say what happened, write the trace where one is wanted, and give the exit code."""
    if isinstance(error, MemoryError):
        return say("The memory ran out.", "Close other programs, or do less at once. Nothing was changed.", CANNOT)
    what = f"{type(error).__name__}{_place(error)}"
    said = str(error).split("\n")[0][:_MOST_SHOWN]
    first = f"A fault of the program, not of your files, stopped it: {what}{': ' if said else ''}{said}"
    return say(first, _written(error), CRASHED)


def _written(error: BaseException) -> str:
    """What to do, after the trace was written where one is wanted."""
    from importlib.metadata import version

    kept = f"What was not finished was not kept. Report it with the line above (swardtally {version('swardtally')})"
    if not _wanted:
        return f"{kept}; the same again as swardtally --trace FILE COMMAND … writes a trace that goes with the report."
    try:
        _wanted[0].write_text("".join(traceback.format_exception(error)), "utf-8", errors="backslashreplace")
    except (OSError, ValueError) as failed:
        return f"{kept}. The trace could not be written to {_wanted[0]}: {getattr(failed, 'strerror', None) or failed}."
    return f"{kept} and the trace in {_wanted[0]}, which may hold words of your records: read it before you send it."


def _place(error: BaseException) -> str:
    """The last line of ours that it came through."""
    for frame in reversed(traceback.extract_tb(error.__traceback__)):
        with suppress(ValueError):
            return f" in {Path(frame.filename).relative_to(_ROOT).as_posix()}, line {frame.lineno}"
    return ""


def say(first: str, second: str, code: int) -> int:
    """Say a fault and what to do, each on a line; gives the exit code, which tells it where nobody reads."""
    with suppress(terminal.OutputLost):
        terminal.err(f"{one_line(first)}\n{one_line(second)}")
    return code
