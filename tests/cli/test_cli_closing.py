"""The last sentence of a load, for everything that a load can come to: it is true of every file of the call."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.cli import app as cli
from pipeline.load.load import Loader
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load
from tests.thorough import beyond

HEAD = "date,green,operation,hours\n"
GOOD, OTHER, BAD = "2026-05-04,ALD-1,mowing,1\n", "2026-05-05,ALD-1,mowing,1\n", "2026-05-06,ALD-1,moing,1\n"
MARKS = "-,-,-,-\n"
NOTHING = "Nothing in the store changed."
HELD = "Nothing in the store changed: every row was there already."
REFUSED = "1 file refused as a whole: what to do stands above."
SHEET = "Of 1 file not all was read: what was left out stands above."


@pytest.mark.parametrize(
    ("before", "now", "said", "code"),
    [
        ((), {"a.csv": HEAD + GOOD}, "1 record new or changed.", 0),
        ((GOOD,), {"a.csv": HEAD + GOOD}, HELD, 0),
        ((GOOD,), {"a.csv": HEAD + GOOD + OTHER}, "1 record new or changed.", 0),
        (
            (GOOD,),
            {"a.csv": HEAD + GOOD + MARKS},
            "Nothing in the store changed: every record was there already, and the other rows were left out.",
            0,
        ),
        ((), {"a.csv": HEAD + MARKS}, NOTHING, 0),
        ((), {"a.csv": HEAD}, NOTHING, 0),
        ((GOOD,), {"a.csv": HEAD + GOOD, "b.csv": HEAD}, NOTHING, 0),
        ((GOOD,), {"a.csv": "what,is,this\n1,2,3\n"}, f"{NOTHING} {REFUSED}", 1),
        ((GOOD,), {"a.csv": HEAD + GOOD, "b.csv": "what,is\n1,2\n"}, f"{NOTHING} {REFUSED}", 1),
        ((GOOD,), {"a.csv": HEAD + OTHER, "b.csv": ""}, f"1 record new or changed. {REFUSED}", 1),
        (
            (),
            {"a.csv": HEAD + BAD},
            f"{NOTHING} 1 row rejected: mend it in the file named above and load that.",
            1,
        ),
        (
            (),
            {"a.csv": HEAD + GOOD + BAD, "b.csv": HEAD + BAD},
            "1 record new or changed. 2 rows rejected: mend them in the files named above and load those.",
            1,
        ),
    ],
)
@pytest.mark.parametrize("rehearsed", [False, True])
@beyond(3)
def test_the_last_sentence_of_a_load(
    county: Load,
    workspace: Workspace,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    before: tuple[str, ...],
    now: dict[str, str],
    said: str,
    code: int,
    rehearsed: bool,
) -> None:
    """“Every row was there already” stood under a refused file, and “the files named above” under none."""
    monkeypatch.setattr(Loader, "__post_init__", _on_the_day(Loader.__post_init__))
    for rows in before:
        county("a.csv", HEAD + rows)
    folder = tmp_path / "in"
    folder.mkdir()
    for name, text in now.items():
        (folder / name).write_text(text)
    words = ["load", str(folder), "-w", str(workspace.folder), *(["--dry-run"] if rehearsed else [])]
    assert cli.app(words, standalone_mode=False) == code
    if rehearsed:
        said = f"Dry run: nothing was written. It would have been: {said[0].lower()}{said[1:]}"
        for where in (
            ": mend it in the file named above and load that",
            ": mend them in the files named above and load those",
        ):
            said = said.replace(where, "")
    assert capsys.readouterr().err.splitlines()[-1] == said


def _on_the_day(begin: object) -> object:
    def started(loader: Loader) -> None:
        object.__setattr__(loader, "today", TODAY)
        begin(loader)  # type: ignore[operator]

    return started


def test_what_was_left_out_is_said_last(
    county: Load, workspace: Workspace, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file of which a sheet was not read is no full success: said, and exit code 1; other types change no code."""
    from tests.load.test_load_parts import book

    folder = tmp_path / "in"
    folder.mkdir()
    log = [("date", "green", "operation"), ("2026-05-04", "ALD-1", "mowing")]
    (folder / "map.pdf").write_text("x")
    (folder / "~$log.xlsx").write_text("x")
    book(folder / "log.xlsx", Log=log)
    where = ["-w", str(workspace.folder)]
    assert cli.app(["load", str(folder), *where], standalone_mode=False) == 0
    assert capsys.readouterr().err.splitlines()[-2:] == [
        "1 record new or changed.",
        "Passed over: 1 file of type .pdf (map.pdf). ignore_files in settings.toml silences this.",
    ]
    book(folder / "log.xlsx", Log=log, Fuel=[("week", "litres"), ("19", "40")])
    assert cli.app(["load", str(folder / "log.xlsx"), *where], standalone_mode=False) == 1
    assert capsys.readouterr().err.splitlines()[-1] == f"{HELD} {SHEET}"
