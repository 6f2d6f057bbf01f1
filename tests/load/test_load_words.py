"""Unknown words: asked for in one go, written into the profile, and nothing else of it changed."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from pipeline.cli.app import app
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.load.files import load_paths
from pipeline.load.words import add_aliases, unknown_words
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load

LOG = (
    "Date,Where,What,Stuff\n"
    "2026-04-03,ALD-1,zippering,\n"
    "2026-04-04,ALD-1,zippering,\n"
    "2026-04-05,Aldr Brook,mowing,\n"
    "2026-04-06,ALD-1,moing,\n"
)
PROFILE = (
    '# kept\nname = "crew"\nkind = "job"\n\n[match]\nheaders = ["Date", "Where", "What"]\n\n'
    '[fields]\ndate = "Date"\ngreen = "Where"  # kept too\noperation = "What"\nmaterial = "Stuff"\n'
)


@pytest.fixture
def log(county: Load, workspace: Workspace, tmp_path: Path) -> Path:
    """A crew's log with words that nobody knows, and its profile."""
    (workspace.profiles / "crew.toml").write_text(PROFILE, "utf-8")
    path = tmp_path / "crew.csv"
    path.write_text(LOG, "utf-8")
    return path


def run(workspace: Workspace, log: Path, *options: str) -> int:
    return int(app(["words", str(log), "--workspace", str(workspace.folder), *options], standalone_mode=False))


def test_unknown_words_are_listed_with_the_nearest(
    log: Path, workspace: Workspace, capsys: pytest.CaptureFixture[str]
) -> None:
    before = (workspace.profiles / "crew.toml").read_text("utf-8")
    assert run(workspace, log) == 1
    out, err = capsys.readouterr()
    assert out.splitlines() == [
        "operation: “zippering” (2 times, first on line 2)",
        "green: “Aldr Brook” (once on line 4); closest: ALD-1",
        "operation: “moing” (once on line 5); closest: mowing, hollow_coring, liming",
    ]
    assert err.splitlines() == [f'3 words not known. Say each: swardtally words {log} --say "WORD=CODE"']
    assert (workspace.profiles / "crew.toml").read_text("utf-8") == before


def test_words_that_are_said_are_written_and_load(
    log: Path, workspace: Workspace, capsys: pytest.CaptureFixture[str]
) -> None:
    """A code may be said by any of its known names; what is said stands first in its table, all else as it stood."""
    said = ["--say", "zippering=slit tining", "--say", "Aldr Brook=ALD-1", "--say", "moing=mowing"]
    assert run(workspace, log, *said) == 0
    assert "Wrote 3 words into" in capsys.readouterr().err
    text = (workspace.profiles / "crew.toml").read_text("utf-8")
    assert text.startswith(PROFILE)
    assert tomllib.loads(text)["aliases"] == {
        "operation": {"zippering": "slitting", "moing": "mowing"},
        "green": {"Aldr Brook": "ALD-1"},
    }
    result = load_paths(workspace, [log], today=TODAY)[0]
    assert (result.counts.loaded, result.counts.rejected) == (4, 0)
    assert run(workspace, log) == 0
    assert capsys.readouterr().err == "Every word of crew.csv is known.\n"


def test_words_of_a_draft_replace_its_comments(log: Path, workspace: Workspace) -> None:
    """The line that a draft left as a comment is taken up, not doubled."""
    (workspace.profiles / "crew.toml").unlink()
    log.write_text(LOG.replace("What", "Job"), "utf-8")
    options = ["--kind", "job", "--workspace", str(workspace.folder), "--quiet"]
    assert app(["profile", str(log), *options], standalone_mode=False) == 0
    drafted = (workspace.profiles / "crew.toml").read_text("utf-8")
    assert '# zippering = "…"  # 2 times' in drafted
    assert run(workspace, log, "--say", "zippering=slit_tining") == 1  # two words are left
    text = (workspace.profiles / "crew.toml").read_text("utf-8")
    assert text == drafted.replace('# zippering = "…"  # 2 times', 'zippering = "slitting"')


@pytest.mark.parametrize(
    ("said", "message"),
    [
        ("zippering", "does not say what a word stands for"),
        ("zippering=", "does not say what a word stands for"),
        ("zipering=mowing", "“zipering” is no unknown word of crew.csv"),
        ("mowing=mowing", "“mowing” is no unknown word of crew.csv"),
        ("zippering=mowwing", "“mowwing” is no operation; closest: mowing"),
        ("Aldr Brook=ALD-9", "“ALD-9” is no green"),
    ],
)
def test_what_cannot_be_meant_is_refused_and_nothing_is_written(
    log: Path, workspace: Workspace, said: str, message: str
) -> None:
    with pytest.raises(WrongUsage, match=message):
        run(workspace, log, "--say", "moing=mowing", "--say", said)
    assert (workspace.profiles / "crew.toml").read_text("utf-8") == PROFILE


def test_a_person_is_asked_word_by_word_and_says_yes_at_the_end(
    log: Path, workspace: Workspace, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Enter leaves a word; a wrong answer is asked again; without the last yes nothing is written."""
    import typer

    questions: list[str] = []
    answers = iter(["", "nowhere", "ALD-1", "mowing", "", "ALD-1", "mowing"])

    def prompt(text: str, **_: object) -> str:
        questions.append(text)
        return next(answers)

    yes = iter([False, True])
    monkeypatch.setattr("sys.stdin.isatty", lambda: True)
    monkeypatch.setattr(typer, "prompt", prompt)
    monkeypatch.setattr(typer, "confirm", lambda *_, **__: next(yes))
    assert run(workspace, log) == 1
    assert (workspace.profiles / "crew.toml").read_text("utf-8") == PROFILE
    assert "operation “zippering” (2 times, first on line 2)" in questions[0]
    assert questions[1] == questions[2]
    assert "“nowhere” is no green" in capsys.readouterr().err
    assert run(workspace, log) == 1
    aliases = tomllib.loads((workspace.profiles / "crew.toml").read_text("utf-8"))["aliases"]
    assert aliases == {"green": {"Aldr Brook": "ALD-1"}, "operation": {"moing": "mowing"}}


def test_json_says_the_same(log: Path, workspace: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(workspace, log, "--json", "--say", "moing=mowing") == 1
    said = json.loads(capsys.readouterr().out)
    assert said["written"] == {"operation": {"moing": "mowing"}}
    assert said["words"][0] == {"list": "operation", "word": "zippering", "count": 2, "line": 2, "closest": []}


def test_a_file_without_a_profile_is_refused(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    path = tmp_path / "own.csv"
    path.write_text("date,green,operation\n2026-04-03,ALD-1,zippering\n", "utf-8")
    with pytest.raises(WrongUsage, match="is read without a source profile, and words are kept in one"):
        unknown_words(workspace, path)
    with pytest.raises(WrongUsage, match="There is no file"):
        unknown_words(workspace, tmp_path / "none.csv")


def test_a_profile_that_is_not_decided_is_refused(log: Path, workspace: Workspace) -> None:
    profile = workspace.profiles / "crew.toml"
    profile.write_text(PROFILE.replace('"Stuff"', '"?"'), "utf-8")
    with pytest.raises(CannotDo, match=r"Profile crew still says “\?”"):
        unknown_words(workspace, log)


@pytest.mark.parametrize(
    "before",
    [
        'name = "a"\n',
        'name = "a"',
        'name = "a"\n\n[aliases.operation]\n"old" = "mowing"\n\n[ignore]\nheaders = ["x"]\n',
        'name = "a"\n[aliases."operation"] # words\nold = "mowing"\n# "say \\"hi\\"" = "…"  # once\n',
        'name = "a"\n[aliases.green]\nx = "ALD-1"\n',
    ],
)
def test_odd_words_and_tables_are_written_whole(tmp_path: Path, before: str) -> None:
    path = tmp_path / "a.toml"
    path.write_text(before, "utf-8")
    words = {'say "hi"': "mowing", "a.b = c": "brushing", "naïve # x": "edging"}
    add_aliases(path, {"operation": words})
    wanted = tomllib.loads(before)
    wanted.setdefault("aliases", {}).setdefault("operation", {}).update(words)
    assert tomllib.loads(path.read_text("utf-8")) == wanted
    assert path.read_text("utf-8").count("say ") == 1


@pytest.mark.parametrize(
    "before", ['aliases = { operation = { x = "mowing" } }\n', '[aliases]\noperation.x = "mowing"\n']
)
def test_a_profile_that_would_not_hold_is_left_as_it_is(tmp_path: Path, before: str) -> None:
    path = tmp_path / "a.toml"
    path.write_text(before, "utf-8")
    with pytest.raises(CannotDo, match=r"could not be written into a.toml"):
        add_aliases(path, {"operation": {"y": "edging"}})
    assert path.read_text("utf-8") == before


def test_what_is_the_same_in_every_row_may_be_said_as_while_loading(
    workspace: Workspace, county: Load, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A log without its green loads with --set, and so are its words asked for; what is to be typed next repeats it."""
    bare = PROFILE.replace(', "Where"', "").replace('green = "Where"  # kept too\n', "")
    (workspace.profiles / "crew.toml").write_text(bare, "utf-8")
    log = tmp_path / "crew.csv"
    log.write_text("Date,What,Stuff\n2026-04-03,zippering,\n", "utf-8")
    assert run(workspace, log, "--set", "green=ALD-1") == 1
    out, err = capsys.readouterr()
    assert out == "operation: “zippering” (once on line 2)\n"
    assert err == '1 word not known. Say each: swardtally words crew.csv --set green=ALD-1 --say "WORD=CODE"\n'
    assert run(workspace, log, "--set", "green=ALD-1", "--say", "zippering=slit tining") == 0
    assert capsys.readouterr().err.endswith("Next: swardtally load crew.csv --set green=ALD-1\n")
    result = load_paths(workspace, [log], today=TODAY, given={"green": "ALD-1"})[0]
    assert (result.counts.loaded, result.counts.rejected) == (1, 0)
