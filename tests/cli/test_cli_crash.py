"""A fault of the program is told as one: exit code 70, two lines, no traceback, a trace where one was asked for."""

from __future__ import annotations

import subprocess
import sys
import warnings
from pathlib import Path

import pytest

from pipeline.common.shown_text import take_warnings
from pipeline.load.load import Loader
from tests.cli.test_cli_commands import JOBS, Call, call, place

__all__ = ["call", "place"]


class Panic(BaseException):
    """What a library written in Rust raises is no ``Exception``."""


def failing(monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    def fail(*_: object) -> None:
        raise error

    monkeypatch.setattr(Loader, "detect", fail)


@pytest.mark.parametrize(
    "error", [AssertionError("ours\n\x1b[2J"), RecursionError("deep"), KeyError("x"), Panic("rust"), SystemError()]
)
def test_a_crash_is_never_code_1(
    call: Call, place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: BaseException
) -> None:
    """1 says that rows were rejected: a program that calls this one would go on."""
    failing(monkeypatch, error)
    (tmp_path / "more.csv").write_text(JOBS)
    done = call("load", tmp_path / "more.csv", "-w", place)
    first, second = done.err.splitlines()
    assert (done.code, done.out) == (70, "")
    assert first.startswith(f"A fault of the program, not of your files, stopped it: {type(error).__name__} in ")
    assert "Report it" in second
    assert "--trace FILE" in second
    assert "\x1b" not in done.err


def test_memory_that_runs_out_is_no_fault_of_the_program(
    call: Call, place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    failing(monkeypatch, MemoryError())
    (tmp_path / "more.csv").write_text(JOBS)
    done = call("load", tmp_path / "more.csv", "-w", place)
    assert (done.code, done.err.splitlines()[0]) == (3, "The memory ran out.")


def test_a_trace_is_written_where_one_was_asked_for(
    call: Call, place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is named, with a word on what may stand in it; one that cannot be written is told; the code stays."""
    failing(monkeypatch, AssertionError("ours"))
    (tmp_path / "more.csv").write_text(JOBS)
    trace = tmp_path / "trace.txt"
    done = call("--trace", trace, "load", tmp_path / "more.csv", "-w", place)
    assert (done.code, str(trace) in done.err) == (70, True)
    assert "AssertionError: ours" in trace.read_text()
    done = call("--trace", tmp_path / "none" / "t", "load", tmp_path / "more.csv", "-w", place)
    assert (done.code, "could not be written" in done.err) == (70, True)
    done = call("load", tmp_path / "more.csv", "-w", place)
    assert "--trace FILE" in done.err, "the next call has none"


def test_what_libraries_warn_of_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    """A warning may hold a cell or a name of a file, and Python prints it as it is, with a line of code."""
    before = warnings.showwarning
    try:
        take_warnings()
        with warnings.catch_warnings():
            warnings.simplefilter("always")
            warnings.showwarning(UserWarning("a\x1b[2J\nb"), UserWarning, "x\x9b.py", 3)
        assert capsys.readouterr().err == "UserWarning: a\\u001b[2J\\u000ab (x\\u009b.py, line 3)\n"
    finally:
        warnings.showwarning = before


def test_ctrl_c_while_modules_are_read(tmp_path: Path) -> None:
    """Nothing of ours is there yet to take it: the way in says the sentence."""
    code = (
        "import sys, signal\n"
        "class Pressed:\n"
        "    def find_spec(self, name, *_):\n"
        "        if name == 'pipeline.cli.app':\n"
        "            signal.raise_signal(signal.SIGINT)\n"
        "sys.meta_path.insert(0, Pressed())\n"
        "from pipeline.cli.start import run\n"
        "run()\n"
    )
    root = Path(__file__).parents[2]
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=root)
    assert (done.returncode, done.stderr) == (3, "Stopped. What was not finished was not kept.\n")
