"""The one place where text goes out: what a terminal would obey is shown, what it cannot show is replaced.

Names of files and cells come from anybody: an escape sequence in one of them could clear a screen, hide a line or turn
round what stands beside it.
"""

from __future__ import annotations

import codecs
import io
import os
import re
import shlex
import sys
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from shutil import get_terminal_size
from textwrap import fill
from typing import TextIO

from pipeline.common.shown_text import shown

_ALIKE = str.maketrans(
    {
        "²": "^2", "³": "^3", "−": "-", "–": "-", "—": "-", "‑": "-", "“": '"', "”": '"', "‘": "'", "’": "'",
        "…": "...", "·": "*", "×": "x", "→": "->", "≤": "<=", "≥": ">=", "µ": "u", "μ": "u", "°": "deg ",
        "\u00a0": " ", "\u202f": " ", "\u2009": " ",
    }
)  # fmt: skip
"""What stands for a character that standard output has no code for; a question mark for any other."""
ALIKE = "swardtally.alike"


_named: list[tuple[re.Pattern[str], str]] = []
"""The workspace that the command line names: what finds a command in a text, and the option that stands behind it."""


class OutputLost(Exception):
    """What was to be printed could not be written; the work it tells of is done."""

    def __init__(self, error: OSError) -> None:
        super().__init__(error.strerror or str(error))
        self.reader_gone = isinstance(error, BrokenPipeError)


def _alike(error: UnicodeError) -> tuple[str, int]:
    assert isinstance(error, UnicodeEncodeError)
    wanted = error.object[error.start : error.end].translate(_ALIKE)
    codec = getattr(error, "encoding", "ascii")
    return wanted.encode(codec, "replace").decode(codec), error.end


codecs.register_error(ALIKE, _alike)


def prepare() -> None:
    """Make standard output and error fit to take any text; one that is closed takes it and forgets it.

    A closed one is opened on nothing, so that no file opened later gets its number, and with it what is meant for it.
    """
    for number, name in enumerate(("stdin", "stdout", "stderr")):
        if getattr(sys, name) is None:
            with suppress(OSError):
                os.fstat(number)
                continue
            opened = os.open(os.devnull, os.O_RDWR)  # the lowest number that is free
            setattr(sys, name, os.fdopen(opened, "r" if name == "stdin" else "w", encoding="utf-8"))
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=ALIKE)


def name_workspace(folder: Path, commands: Iterable[str]) -> None:
    """Say the workspace with each of these commands that is printed from now on; the current folder is not said."""
    _named.clear()
    if folder != Path():
        command = re.compile(rf"\bswardtally ({'|'.join(commands)})(?![\w-])(?! -w | --workspace )")
        _named.append((command, f"-w {shlex.quote(str(folder))}"))


def screen_width() -> int:
    """Columns of the screen that results are shown on; 0 where they go to a file or a pipe."""
    return get_terminal_size().columns if sys.stdout.isatty() else 0


def with_workspace(text: str) -> str:
    """A text of ours with the workspace in its commands, so that they can be copied."""
    if not _named:
        return text
    command, option = _named[0]
    return command.sub(lambda found: f"{found[0]} {option}", text)


def as_printed(text: str) -> str:
    """The text as standard output prints it: with what stands there for characters it has no code for."""
    codec = getattr(sys.stdout, "encoding", None) or "utf-8"
    try:
        return text.encode(codec, ALIKE).decode(codec)
    except UnicodeError:  # half of a character, which ``shown`` writes as its number
        return text


def out(text: str = "") -> None:
    """A line on standard output."""
    _write(sys.stdout, text)


def err(text: str = "") -> None:
    """A message on standard error, broken between words where a terminal shows it; files and pipes get it as it is.

    Its commands name the workspace that this command line does.
    """
    text = with_workspace(text)
    width = get_terminal_size().columns if sys.stderr.isatty() else 0
    _write(sys.stderr, "\n".join(_wrapped(line, width) for line in text.split("\n")) if width else text)


def _wrapped(line: str, width: int) -> str:
    """A line broken to a width, what follows set in by two more than it; a word longer than that stays whole.

    So does a line that names a command: it is to be copied.
    """
    bare = "" if "swardtally " in line else line.lstrip(" ")
    inset = " " * (len(line) - len(bare) + 2)
    return fill(line, width, subsequent_indent=inset, break_long_words=False, break_on_hyphens=False) if bare else line


def prints(text: str) -> bool:
    """Whether standard output has a code for every character."""
    try:
        text.encode(getattr(sys.stdout, "encoding", None) or "utf-8")
    except UnicodeError:
        return False
    return True


def _write(stream: TextIO, text: str) -> None:
    try:
        stream.write(shown(text) + "\n")
    except OSError as error:
        raise OutputLost(error) from error


def finish() -> None:
    """Write out what still waits.

    Raises:
        OutputLost: it could not be written.
    """
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except OSError as error:
            raise OutputLost(error) from error


def give_up() -> None:
    """Let what could not be written go, so that nothing tries again when the program ends."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except OSError:
            with suppress(OSError, ValueError):
                nothing = os.open(os.devnull, os.O_WRONLY)
                os.dup2(nothing, stream.fileno())
                os.close(nothing)
