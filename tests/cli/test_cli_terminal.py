"""What leaves the tool and what stops it: odd terminals, names made to deceive, Ctrl-C, a store with a bit turned."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import duckdb
import pytest

from pipeline.cli import app as cli
from pipeline.cli.terminal import ALIKE, err
from pipeline.common import interrupt
from pipeline.common.shown_text import one_line, shown
from pipeline.load import files as loading
from pipeline.load import load
from pipeline.load import loading as one_file
from pipeline.load.load import Loader
from pipeline.store import store
from pipeline.store.layout import Connection
from pipeline.workspace.settings import Workspace
from tests.cli.test_cli_commands import JOBS, Call, Run, call, place
from tests.conftest import Load
from tests.load.test_load_store import kept, rows, same
from tests.thorough import beyond, thorough

__all__ = ["call", "place"]

HERE = Path(cli.__file__).parents[2]
DRESSED = "date,green,operation,material,quantity\n2026-03-20,ALD-1,top dressing,70/30 sand and soil,2 t\n"
EVIL = "e\x1b[2Jv\x07i\rl\x9b31m\u202e\n.csv"
OBEYED = "\x1b\x07\r\x9b\u202e"


def run(*words: object, env: dict[str, str] | None = None, **how: object) -> subprocess.CompletedProcess[bytes]:
    """The command line in a process of its own, as ``python -m pipeline.cli`` runs it."""
    return subprocess.run(
        [sys.executable, "-m", "pipeline.cli", *map(str, words)],
        cwd=HERE,
        env={**os.environ, **(env or {})},
        check=False,
        **{"capture_output": True, **how},  # type: ignore[call-overload]
    )


@pytest.fixture
def dressed(county: Load, workspace: Workspace) -> Path:
    """A workspace whose figures have a unit with a raised two in it."""
    assert not county("log.csv", DRESSED).failed
    return workspace.folder


@pytest.mark.parametrize(("encoding", "unit"), [("ascii", "kg/m^2"), ("latin-1", "kg/m²"), ("utf-8", "kg/m²")])
@beyond(1)
def test_a_terminal_that_lacks_characters_gets_others(dressed: Path, encoding: str, unit: str) -> None:
    """A figure may not be lost for the sign behind it; what stands in its place is no other figure."""
    done = run("show", "ALD-1", "-w", dressed, env={"PYTHONIOENCODING": encoding})
    text = done.stdout.decode(encoding)
    assert (done.returncode, b"Traceback" in done.stderr) == (0, False)
    assert f"1.25 {unit}" in " ".join(text.split())
    plain = run("show", "ALD-1", "-w", dressed, "--json", env={"PYTHONIOENCODING": encoding})
    units = {one["unit"] for one in json.loads(plain.stdout.decode(encoding))["indicators"]}
    assert "kg/m²" in units, "a program reads what was meant, whatever the terminal"


def test_characters_that_stand_for_others() -> None:
    """A minus stays a minus, a square a square; what has no like is a question mark, never a digit."""
    for encoding, wanted in (
        ("ascii", "-4 - 5 g/m^2, 4 * 2? <= 3, ?, ?"),
        ("latin-1", "-4 - 5 g/m², 4 · 2½ <= 3, é, ?"),
    ):
        assert "−4 – 5 g/m², 4 · 2½ ≤ 3, é, 漢".encode(encoding, ALIKE).decode(encoding) == wanted


def test_a_reader_that_has_gone_ends_it_quietly(dressed: Path) -> None:
    """``| head -1`` takes what it wants and leaves; that is no fault of anybody's."""
    reading, writing = os.pipe()
    os.close(reading)
    done = run("show", "ALD-1", "-w", dressed, capture_output=False, stdout=writing, stderr=subprocess.PIPE)
    os.close(writing)
    assert done.returncode == cli.READER_GONE == 141
    assert b"Traceback" not in done.stderr
    assert len(done.stderr.splitlines()) <= 3, done.stderr


@pytest.mark.skipif(os.name != "posix", reason="numbers of open files are closed as a shell does it")
@pytest.mark.parametrize("number", [0, 1, 2])
@beyond(1)
def test_standard_streams_that_are_closed(dressed: Path, number: int) -> None:
    """What is meant for a closed one may not land in the store, whose file would get its number."""
    before = (dressed / "store.duckdb").read_bytes()
    command = [sys.executable, "-m", "pipeline.cli", "show", "ALD-1", "-w", str(dressed)]
    shell = ["sh", "-c", f'exec "$@" {number}>&-', "sh"]  # no function before exec: that copies all this process maps
    done = subprocess.run([*shell, *command], cwd=HERE, check=False, capture_output=True)
    assert done.returncode == 0
    assert (number == 1) == (done.stdout == b"")
    assert b"Traceback" not in done.stderr
    assert (dressed / "store.duckdb").read_bytes() == before


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
@thorough
def test_output_that_cannot_be_written_is_told(dressed: Path) -> None:
    """A list cut short without a word is taken for the whole."""
    with open("/dev/full", "wb") as full:  # noqa: PTH123
        done = run("status", "-w", dressed, capture_output=False, stdout=full, stderr=subprocess.PIPE)
        refused = run("status", "-w", dressed / "none", capture_output=False, stdout=full, stderr=full)
        untold = run("status", "-w", dressed, capture_output=False, stdout=subprocess.PIPE, stderr=full)
    assert refused.returncode == 3, "what could not be done stays so, even where it cannot be said"
    assert (untold.returncode, b"ALD-1" in untold.stdout) == (1, True)
    assert done.returncode == 1
    assert done.stderr.decode().endswith(
        "What was to be printed could not be written: No space left on device.\nThe work itself was done.\n"
    )


def plain(done: Run) -> bool:
    return not any(sign in done.out + done.err for sign in OBEYED)


@pytest.mark.skipif(os.name != "posix", reason="such names are not possible elsewhere")
def test_names_and_cells_reach_no_terminal_as_they_are(call: Call, place: Path, tmp_path: Path) -> None:
    """A name may clear the screen, ring, write over its own line, turn the text round or look like two lines."""
    text = "date,green,operation\n2026-05-11,ALD-1,mo\x1b[31ming\u202e\n"
    path = tmp_path / EVIL
    path.write_text(text)
    done = call("load", path, "-w", place)
    assert done.code == 1
    assert plain(done)
    name = "e\\u001b[2Jv\\u0007i\\u000dl\\u009b31m\\u202e\\u000a.csv"
    assert f"\n{name} " in done.out
    assert f"\n{name}\n" in done.err
    assert "“mo\\u001b[31ming\\u202e” is not a known operation" in done.err
    told = call("load", path, "-w", place, "--json")
    assert plain(told)
    assert json.loads(told.out)["files"][0]["file"] == EVIL
    for words in (
        ("history",),
        ("load", tmp_path / f"no{EVIL}", "-w", place),
        ("show", EVIL),
        (f"lo{EVIL}",),
        ("load", f"--{EVIL}"),
    ):
        done = call(*words, *(("-w", place) if words[0] in {"history", "show"} else ()))
        assert plain(done), words
        assert "\\u001b" in done.out + done.err or "\\x1b" in done.err, words


@pytest.mark.skipif(sys.platform != "linux", reason="names that are no text exist on Linux alone")
def test_a_name_that_is_no_text(call: Call, place: Path, tmp_path: Path) -> None:
    """A disk of another age names its files in another encoding; they load, and can be named again."""
    path = tmp_path / os.fsdecode(b"caf\xe9.csv")
    path.write_text(JOBS.replace("1.5", "3") + "2026-05-11,ALD-1,moing,1\n")
    done = call("load", path, "-w", place)
    assert done.code == 1
    assert "caf\\udce9.csv" in done.out
    assert (place / "rejected" / "caf_udce9.rejected.csv").exists()
    assert call("history", "--file", "caf\udce9.csv", "-w", place).out.count("hours") == 1


def test_what_is_shown_of_text() -> None:
    """Only what a terminal obeys is written out; letters of any script, signs and emoji stay as they are."""
    for fine in ("2 t · 1,444 m² – “café”\n\tdone", "Ωμέγα", "שלום", "naïve", "👩‍🌾", "a\u200cb"):
        assert shown(fine) == fine
    assert one_line("a\nb\tc") == "a\\u000ab\\u0009c"
    assert shown("\u2066\u061c\x7f\ud800") == "\\u2066\\u061c\\u007f\\ud800"


@pytest.fixture
def ctrl_c() -> Iterator[Callable[..., None]]:
    """Presses Ctrl-C, whatever it is called with; the process takes it as Python does by itself."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield lambda *_, **__: signal.raise_signal(signal.SIGINT)
    signal.signal(signal.SIGINT, before)


@pytest.fixture
def inbox(tmp_path: Path) -> Path:
    """A folder of three files, the second of them with a rejected row."""
    folder = tmp_path / "inbox"
    folder.mkdir()
    for name, day in (("a", 11), ("b", 12), ("c", 13)):
        (folder / f"{name}.csv").write_text(JOBS.replace("05-04", f"05-{day}"))
    (folder / "b.csv").write_text(JOBS.replace("05-04", "05-12") + "2026-05-12,ALD-1,moing,1\n")
    return folder


SO_FAR = "Load the rest when you like. {} of this call had been loaded by then and {} loaded.\n"


def at_second(monkeypatch: pytest.MonkeyPatch, name: str, then: Callable[..., None]) -> None:
    """Something happens as the second file calls a function of pipeline.load.load or of pipeline.load.loading."""
    module = load if hasattr(load, name) else one_file
    original, calls = getattr(module, name), []

    def called(*words: object, **more: object) -> object:
        calls.append(1)
        if len(calls) == 2:
            then()
        return original(*words, **more)

    monkeypatch.setattr(module, name, called)


def test_ctrl_c_while_a_file_is_read_changes_nothing_of_it(
    call: Call,
    place: Path,
    inbox: Path,
    monkeypatch: pytest.MonkeyPatch,
    workspace: Workspace,
    ctrl_c: Callable[..., None],
) -> None:
    """The file before it is in and told; of the one at hand there is nothing, neither rows nor rejected rows."""
    at_second(monkeypatch, "validate", ctrl_c)
    done = call("load", inbox, "-w", place)
    assert (done.code, done.out) == (3, "")
    assert done.err == "Stopped at b.csv: nothing of it was changed.\n" + SO_FAR.format("1 file", "stays")
    assert rows(workspace, "SELECT file FROM job ORDER BY date") == [("log.csv",), ("a.csv",)]
    assert list(workspace.rejected.iterdir()) == []


def test_ctrl_c_while_a_file_is_written_waits_for_its_end(
    call: Call,
    place: Path,
    inbox: Path,
    monkeypatch: pytest.MonkeyPatch,
    workspace: Workspace,
    ctrl_c: Callable[..., None],
) -> None:
    """Half a commit is none to explain: the file is in whole, with its rejected rows, and is counted among those."""
    at_second(monkeypatch, "drop_temporary", ctrl_c)
    done = call("load", inbox, "-w", place)
    assert done.code == 3
    assert done.err == "Stopped after b.csv.\n" + SO_FAR.format("2 files", "stay")
    assert rows(workspace, "SELECT file FROM job ORDER BY date") == [("log.csv",), ("a.csv",), ("b.csv",)]
    assert [path.name for path in workspace.rejected.iterdir()] == ["b.rejected.csv"]


def test_ctrl_c_that_a_library_makes_another_error_of(
    call: Call,
    place: Path,
    inbox: Path,
    monkeypatch: pytest.MonkeyPatch,
    workspace: Workspace,
    ctrl_c: Callable[..., None],
) -> None:
    """The store says "Query interrupted", an import half done says something else yet; neither is a crash."""

    def muddled(*_: object) -> None:
        try:
            ctrl_c()
        except KeyboardInterrupt:
            raise RuntimeError("Query interrupted") from None

    at_second(monkeypatch, "validate", muddled)
    done = call("load", inbox, "-w", place)
    assert (done.code, done.err.splitlines()[0]) == (3, "Stopped at b.csv: nothing of it was changed.")
    before = kept(workspace)
    monkeypatch.setattr(Loader, "detect", muddled)
    done = call("load", inbox, "-w", place)
    assert (done.code, done.err) == (3, "Stopped. What was not finished was not kept.\n")
    assert same(before, kept(workspace))
    assert interrupt.came()
    monkeypatch.setattr(loading, "read_corrections", lambda _: 1 / 0)
    assert call("load", inbox, "-w", place).code == 70, "without Ctrl-C an error of ours is named as one"


COMMANDS = (
    ("status",), ("show", "ALD-1"), ("history",), ("history", "--green", "ALD-1"), ("undo", "4"), ("load", "{log}"),
    ("report", "--all"), ("compare",), ("survey", "ALD-1", "2026-05-04"),
)  # fmt: skip


@pytest.mark.parametrize("damage", ["header", "first block", "last block", "every block", "cut"])
def test_a_damaged_store_ends_in_a_sentence(call: Call, place: Path, tmp_path: Path, damage: str) -> None:
    """One bit is enough. Every command that meets it says so and leaves 3; one that does not meet it does its work."""
    path = place / "store.duckdb"
    raw = path.read_bytes()
    first, step = 12288, 262144  # DuckDB's file: three headers of 4,096 bytes, then blocks of 256 KiB with a checksum
    blocks = range(first, len(raw), step)
    at = {"header": [4096 + 20, 8192 + 20], "first block": [blocks[0] + 40], "last block": [blocks[-1] + 40]}
    hurt = bytearray(raw)
    for position in at.get(damage, [block + 100 for block in blocks]):
        hurt[position] ^= 4
    if damage == "cut":
        del hurt[len(hurt) - step :]
    met = 0
    for words in COMMANDS:
        path.write_bytes(hurt)
        path.with_name("store.duckdb.wal").unlink(missing_ok=True)
        (tmp_path / "log.csv").write_text(JOBS + "2026-05-11,ALD-1,mowing,1\n")
        done = call(*(word.format(log=tmp_path / "log.csv") for word in words), "-w", place)
        if done.code == 3 and "store.duckdb" in done.err:
            met += 1
            first_line, hint = done.err.splitlines()
            assert first_line.startswith("The store store.duckdb c"), first_line
            assert hint == "If it is damaged, restore it from a backup, or load the files into a new workspace."
            assert done.out == ""
            assert path.read_bytes() == hurt, "nothing was changed"
    assert met, "the damage was met by some command"


def test_a_store_that_fails_in_the_midst_says_what_is_in(
    call: Call, place: Path, inbox: Path, monkeypatch: pytest.MonkeyPatch, workspace: Workspace
) -> None:
    """A block is read only when it is needed: by then files may have been loaded."""
    original, calls = store._connect, []

    class Hurt:
        """A connection that meets a bad block as it looks for what it holds already of the second file."""

        def __init__(self, con: Connection) -> None:
            self.con = con

        def __getattr__(self, name: str) -> object:
            return getattr(self.con, name)

        def execute(self, text: str, *words: Any) -> object:
            calls.append(text)
            if sum("SELECT 1 FROM history.job LIMIT 1" in one for one in calls) == 2:
                raise duckdb.IOException("Corrupt database file: computed checksum 1\nand more")
            return self.con.execute(text, *words)

    monkeypatch.setattr(store, "_connect", lambda *words, **more: Hurt(original(*words, **more)))
    done = call("load", inbox, "-w", place)
    monkeypatch.undo()
    assert (done.code, done.err) == (
        3,
        "The store store.duckdb could not be written: Corrupt database file: computed checksum 1\n"
        "If it is damaged, restore it from a backup, or load the files into a new workspace. 1 file of this call had "
        "been loaded by then and stays loaded.\n",
    )
    assert len(rows(workspace, "SELECT * FROM job")) == 2


class _Screen(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("screen", [True, False], ids=["terminal", "file"])
def test_messages_are_broken_between_words_on_a_terminal_alone(monkeypatch: pytest.MonkeyPatch, screen: bool) -> None:
    """What goes into a file or a pipe stays one line a message; a command stays whole, to be copied."""
    stream = _Screen() if screen else io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setenv("COLUMNS", "30")
    command = "Next: swardtally load " + "a" * 20
    err("  error (line 2): this is longer than thirty characters " + "b" * 40)
    err(command)
    err("\nshort")
    lines = ["  error (line 2): this is", "    longer than thirty", "    characters", "    " + "b" * 40]
    whole = " ".join(line.strip() for line in lines)
    assert stream.getvalue().splitlines() == [*(lines if screen else ["  " + whole]), command, "", "short"]


@thorough
def test_a_long_hint_is_said_once(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """The words of a list stood under every file that lacks one; another list's are said beside them."""
    for name in ("a", "b"):
        (tmp_path / f"{name}.csv").write_text("date,green,operation\n2026-04-03,ALD-1,zippering\n", "utf-8")
    done = run("load", tmp_path / "a.csv", tmp_path / "b.csv", "-w", workspace.folder)
    text = done.stderr.decode("utf-8")
    assert text.count("ditch_and_bank_work, inspection.") == 1
    assert text.count("    → As said above of a.csv.") == 1
