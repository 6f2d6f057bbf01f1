"""What is no file, a folder of the workspace that is none, and words of a command line without bounds."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path
from shutil import rmtree

import pytest

from tests.cli.test_cli_commands import JOBS, Call, call, place

__all__ = ["call", "place"]

pytestmark = pytest.mark.skipif(os.name != "posix", reason="pipes, devices and links are made as POSIX has them")
_OBEYED = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202e]")
MAKE: dict[str, Callable[[Path], object]] = {
    "a link to itself": lambda path: path.symlink_to(path.name),
    "a file": lambda path: path.write_text("x"),
    "a pipe": os.mkfifo,
}


@pytest.mark.parametrize("command", ["load", "profile", "words"])
def test_what_is_no_file_is_not_waited_for(call: Call, place: Path, tmp_path: Path, command: str) -> None:
    """A pipe that nobody writes into and a device that never ends would hold the command for good."""
    os.mkfifo(tmp_path / "pipe.csv")
    (tmp_path / "loop.csv").symlink_to("loop.csv")
    (tmp_path / "zero.csv").symlink_to("/dev/zero")
    for path in (tmp_path / "pipe.csv", tmp_path / "loop.csv", tmp_path / "zero.csv", "/dev/null", "x" * 300):
        done = call(command, path, "-w", place)
        assert done.code in {2, 3}, (path, done.err)
        assert done.out == ""


def test_a_folder_of_odd_things(call: Call, place: Path, tmp_path: Path) -> None:
    """What can be read is; the rest is named or passed over, and nothing of it reaches the screen as it is."""
    odd = tmp_path / "odd"
    odd.mkdir()
    os.mkfifo(odd / "pipe.csv")
    (odd / "zero.csv").symlink_to("/dev/zero")
    (odd / "up").symlink_to(odd)
    (odd / "folder.csv").mkdir()
    (odd / "empty.csv").write_bytes(b"")
    (odd / "broken.xlsx").write_bytes(b"PK\x03\x04junk")
    (odd / "n\x1b[2J\u202e\n.csv").write_text("a,b\n1,2\n")
    (odd / "good.csv").write_text(JOBS.replace("05-04", "05-11"))
    done = call("load", odd, "-w", place)
    assert done.code == 1
    assert "good.csv" in done.out
    assert not _OBEYED.search(done.out + done.err)


@pytest.mark.parametrize("what", MAKE)
def test_a_folder_of_the_workspace_that_is_none(call: Call, place: Path, tmp_path: Path, what: str) -> None:
    """Rejected rows that cannot be written, profiles that cannot be read: a sentence, and the load changes nothing."""
    log = tmp_path / "more.csv"
    log.write_text("date,green,operation,hours\n2026-05-11,ALD-1,mowing,1.5\n2026-05-12,ALD-1,moing,1\n")
    for name in ("rejected", "reports", "profiles", "corrections", "decisions"):
        rmtree(place / name)
        MAKE[what](place / name)
        done = call("load", log, "-w", place, "--dry-run")
        assert done.code in {1, 3}, (name, done.err)
        (place / name).unlink()
        (place / name).mkdir()
    rmtree(place / "rejected")
    MAKE[what](place / "rejected")
    before = (place / "store.duckdb").read_bytes()
    done = call("load", log, "-w", place)
    assert done.code == 3, done.err
    assert (place / "store.duckdb").read_bytes() == before


ODD_WORDS = (
    ("undo", "99999999999999999999"), ("undo", "-1"), ("undo", "9223372036854775807"),
    ("show", "ALD-1", "-s", "9999"), ("show", "ALD-1", "-s", "0001"), ("show", "ALD-1", "-s", "９９９９"),
    ("show", "ALD-1", "--as-of", "0002-01-01"), ("show", "ALD-1", "--known-by", "9998-01-01"),
    ("due", "--as-of", "0002-01-01"), ("due", "--as-of", "9998-12-31"), ("due", "--as-of", "2199-12-31"),
    ("due", "--as-of", "1800-01-01"), ("changed", "--since", "9999-12-31"),
    ("decide", "one", "a.csv:99999999999999999999999", "b.csv:1", "--why", "x", "--who", "y"),
    ("show", "\udcff\x1b[2J"), ("show", "x" * 100_000), ("history", "--file", "\x1b\u2066"),
    ("compare", "--club", "\x9b"),
)  # fmt: skip
"""Words of a command line beyond what anybody means."""


@pytest.mark.parametrize("words", ODD_WORDS, ids=lambda words: " ".join(words)[:40].encode("unicode-escape").decode())
def test_words_without_bounds(call: Call, place: Path, words: tuple[str, ...]) -> None:
    """Refused as wrong usage or as what cannot be done; or, of a day that may be, answered."""
    done = call(*words, "-w", place)
    assert done.code in {0, 2, 3}, done.err
    assert not _OBEYED.search(done.out + done.err)
