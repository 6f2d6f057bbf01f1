"""What somebody meets who uses the commands for the first time, and from a folder that is no workspace."""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path

import pytest

from pipeline.cli import app as cli
from pipeline.cli.parsing import Command
from pipeline.workspace.settings import Workspace
from scripts.docs.commands import commands, help_of
from tests.cli.test_cli_commands import COMMANDS, JOBS, Call, call, place
from tests.thorough import thorough

__all__ = ["call", "place"]
pytestmark = pytest.mark.usefixtures("county")
WITHOUT_WORKSPACE = [
    ("load", "log.csv"),
    ("profile", "log.csv"),
    ("words", "log.csv"),
    ("forms", "crew"),
    ("show", "ALD-1"),
    ("report", "--all"),
    ("survey", "ALD-1", "2026-09-16"),
    ("compare",),
    ("status",),
    ("decide", "one", "a.csv:2", "b.csv:2", "--why", "x", "--who", "y"),
    ("history",),
    ("undo", "1"),
    ("doctor", "--bring-up"),
]


@pytest.mark.parametrize("words", WITHOUT_WORKSPACE, ids=lambda words: words[0])
def test_a_folder_that_is_no_workspace_is_left_alone(
    call: Call,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    words: tuple[str, ...],
) -> None:
    """A load in the wrong folder made a store and rejected/ there, and drafted its profiles into it."""
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    (folder / "log.csv").write_text(JOBS)
    monkeypatch.chdir(folder)
    done = call(*words)
    assert (done.code, done.out) == (3, "")
    assert done.err == (
        f"{folder} is no workspace: it holds neither settings.toml nor store.duckdb.\n"
        "Name the workspace with --workspace DIR, or make one: swardtally init DIR\n"
    )
    assert [path.name for path in folder.iterdir()] == ["log.csv"]


def test_there_is_nothing_to_change_before_the_first_load(call: Call, tmp_path: Path) -> None:
    """undo and decide made an empty store in a new workspace."""
    assert call("init", tmp_path / "new", "-q").code == 0
    for words in (("undo", "1"), ("decide", "one", "a.csv:2", "b.csv:2", "--why", "x", "--who", "y")):
        done = call(*words, "-w", tmp_path / "new")
        assert (done.code, done.err.splitlines()[0]) == (3, f"There is no store at {tmp_path / 'new/store.duckdb'}.")
        assert not (tmp_path / "new" / "store.duckdb").exists()


def test_a_store_without_settings_is_a_workspace(call: Call, place: Path, tmp_path: Path) -> None:
    """One that was made before by loading alone loads as ever, by the standard settings."""
    (place / "settings.toml").unlink()
    (tmp_path / "more.csv").write_text(JOBS.replace("1.5", "2"))
    assert call("load", tmp_path / "more.csv", "-w", place).code == 0


@pytest.mark.parametrize(
    ("words", "option"),
    [
        (("compare", "-c", "ALD", "-c", "KET"), "--club"),
        (("compare", "-r", "North", "--region", "South"), "--region"),
        (("compare", "--out", "a", "--out=b"), "--out"),
        (("show", "ALD-1", "-s2025", "-s", "2026"), "--season"),
        (("status", "-w", "one", "--workspace", "two"), "--workspace"),
        (("load", "a.csv", "-k", "job", "-k", "level"), "--kind"),
    ],
)
def test_an_option_of_one_value_is_given_once(call: Call, words: tuple[str, ...], option: str) -> None:
    """The last was taken and the others were lost: compare -c ALD -c KET compared KET alone."""
    done = call(*words)
    assert (done.code, done.out) == (2, "")
    assert done.err == f"{option} is given twice; it takes one value.\nKeep one {option}.\n"


def test_what_may_be_repeated_may_be(call: Call, place: Path) -> None:
    """Lists of greens, clubs, kinds and fields; a flag given twice says no more than once. Help comes before all."""
    listed = call("forms", "-k", "job", "-k", "level", "--json", "--json", "-w", place, "--out", place / "made")
    assert {Path(one["path"]).stem for one in json.loads(listed.out)["forms"]} == {"job", "level"}
    assert call("compare", "-c", "ALD", "-c", "KET", "--help").code == 0


@thorough
def test_commands_to_copy_name_the_workspace(
    call: Call, place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever loaded with -w was told "swardtally load FILE", which is no command of that workspace."""
    (tmp_path / "bad.csv").write_text(JOBS + "2026-05-11,ALD-1,moing,1\n")
    monkeypatch.chdir(tmp_path)
    call("load", "bad.csv", "-w", place.name)
    shown = call("status", "-w", place.name)
    (load,) = (line.partition("→ ")[2] for line in shown.out.splitlines() if "→ swardtally load" in line)
    assert load == f"swardtally load -w {place.name} {place.name}/rejected/bad.rejected.csv  # once it is mended there"
    rejects = place / "rejected" / "bad.rejected.csv"
    rejects.write_text(rejects.read_text("utf-8-sig").replace("moing", "mowing"), "utf-8")
    assert call(*shlex.split(load, comments=True)[1:]).code == 0
    monkeypatch.chdir(place)
    here = call("undo", "99")
    assert here.err.endswith("swardtally history lists the loads.\n")
    named = call("undo", "99", "-w", place.parent / place.name)
    assert named.err.endswith(f"swardtally history -w {place} lists the loads.\n")


def test_quiet_says_what_went_wrong(call: Call, place: Path, tmp_path: Path) -> None:
    """A refused file ended a quiet load with exit code 1 and no reason."""
    (tmp_path / "what.csv").write_text("what,is,this\n1,2,3\n")
    done = call("load", tmp_path / "what.csv", "-w", place, "-q")
    assert done.code == 1
    (line,) = done.err.splitlines()
    assert line.startswith("what.csv: ")
    assert " → " in line
    assert call("load", tmp_path / "log.csv", "-w", place, "-q").err == ""


def test_init_takes_its_folder_either_way(call: Call, tmp_path: Path) -> None:
    """Other commands name it by -w; none is no folder, and two are one too many."""
    assert call("init", "-w", tmp_path / "a").code == call("init", tmp_path / "b").code == 0
    assert (tmp_path / "a" / "settings.toml").read_bytes() == (tmp_path / "b" / "settings.toml").read_bytes()
    none, two = call("init"), call("init", tmp_path / "c", "-w", tmp_path / "d")
    assert (none.code, none.err.splitlines()[0]) == (2, "No folder is named.")
    assert (two.code, two.err.splitlines()[0]) == (2, f"Two folders are named: {tmp_path / 'c'} and {tmp_path / 'd'}.")
    assert not (tmp_path / "c").exists()


def test_doctor_looks_at_a_workspace(call: Call, place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Settings, store, figures, profiles and rejected rows; each with what to do where it is not fine."""
    from pipeline.cli import doctor as machine

    monkeypatch.setattr(machine, "examine", list)
    (tmp_path / "bad.csv").write_text(JOBS.replace("mowing", "moing"))
    assert call("load", tmp_path / "bad.csv", "-w", place).code == 1

    def found() -> dict[str, tuple[bool, str]]:
        checks = json.loads(call("doctor", "-w", place, "--json").out)["checks"]
        assert all(bool(one["hint"]) != one["fine"] for one in checks)
        return {one["what"]: (one["fine"], one["found"]) for one in checks}

    now = found()
    assert now["Source profiles"] == (True, "0 profiles")
    assert now["Store"] == (True, "store.duckdb can be read")
    assert now["Figures"] == (True, "1 season of a green")
    assert now["Rejected rows"] == (False, "1 row outside the store")
    (place / "profiles").mkdir(exist_ok=True)
    (place / "profiles" / "crew.toml").write_text('name = "crew"\nkind = "?"\n[match]\nheaders = ["Day"]\n')
    (place / "settings.toml").write_text('season_start = "01-01"\n')
    now = found()
    assert now["Source profiles"] == (False, "“?” stands in crew")
    assert now["Figures"] == (False, "1 season of a green: settings were changed since they were made")
    (place / "settings.toml").write_text('stroe = "x"\n')
    assert list(found()) == ["Workspace"]
    monkeypatch.chdir(tmp_path)
    assert json.loads(call("doctor", "--json").out)["checks"] == []


@thorough
def test_a_store_of_an_older_layout_is_brought_up_when_asked(call: Call, place: Path) -> None:
    """Only a load brought it up; nothing that reads does it unasked, for a former version cannot read it then."""
    import duckdb

    with duckdb.connect(str(place / "store.duckdb")) as con:
        con.execute("UPDATE meta.layout SET version = 5, parts = NULL")
    before = (place / "store.duckdb").read_bytes()
    refused = call("status", "-w", place)
    assert (refused.code, refused.err) == (
        3,
        "The store store.duckdb has an older layout.\n"
        f"swardtally doctor -w {place} --bring-up brings it up, and so does loading a file; a former version cannot "
        "read it then.\n",
    )
    assert call("doctor", "-w", place).code == 1
    assert (place / "store.duckdb").read_bytes() == before
    assert "was brought up to the layout of this version.\n" in call("doctor", "-w", place, "--bring-up").err
    assert call("status", "-w", place).code == 0
    assert "has this version's layout already.\n" in call("doctor", "-w", place, "--bring-up").err


def test_help_is_not_cut_and_says_forms_plainly(monkeypatch: pytest.MonkeyPatch) -> None:
    """At 80 columns the list of commands cut eleven sentences short; arguments and options named types of Python."""
    monkeypatch.setattr("scripts.docs.commands.WIDTH", 80)
    listed = help_of()
    assert not re.search(r"\w(\.\.\.|…)$", listed, re.MULTILINE)
    for command in cli.app.registered_commands:
        assert command.cls is Command, "an option given twice would be taken once"
        assert command.callback is not None
        first = " ".join(str(command.callback.__doc__).split("\n\n")[0].split())
        assert first in " ".join(listed.split())
    for name in COMMANDS:
        told = help_of(name)
        assert "<" not in told, name
        assert "{" not in told, name
        assert max(map(len, told.splitlines())) <= 80, name


@thorough
def test_every_example_of_the_help_runs(
    call: Call, workspace: Workspace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One that cannot be copied teaches a newcomer that none can."""
    exports = tmp_path / "exports"
    exports.mkdir()
    day = "2026-05-{:02},ALD-1,{}\n"
    log = "date,green,operation\n" + "".join(day.format(at, "mowing") for at in range(1, 12))
    (exports / "log.csv").write_text(log)
    crew = "Day,Lawn,Work,By\n" + "".join(
        f"2026-05-{at:02},ALD-1,{work},Sam\n" for at, work in ((20, "combed"), (11, "mowing"))
    )
    (exports / "crew.csv").write_text(crew)
    (exports / "seen.csv").write_text("date,green,observed,value,unit\n2026-09-16,ALD-1,moss,3,%\n")
    workspace.folder.rename(tmp_path / "ostershire")
    examples = {name: shlex.split(line)[1:] for name, line in commands()}
    del examples["demo"]  # tests of the demo run it
    in_order = ("init", "profile", "words", "load", *(name for name in examples if name != "undo"), "undo")
    for name in dict.fromkeys(in_order):
        outside = {"ostershire"} & set(examples[name])
        monkeypatch.chdir(tmp_path if outside else tmp_path / "ostershire")
        done = call(*examples[name])
        assert done.code == 0, (name, done.err)


@pytest.mark.parametrize(
    ("words", "name"),
    [
        (["load", ""], "PATH"),
        (["load", "a.csv", ""], "PATH"),
        (["restore", "backups", ""], "DIR"),
        (["status", "--workspace", ""], "--workspace"),
        (["--trace", "", "status"], "--trace"),
    ],
)
def test_an_empty_path_is_wrong_usage(
    call: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], name: str
) -> None:
    """A script's variable with nothing in it: the current folder would be loaded, or written to."""
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    done = call(*words)
    assert (done.code, done.out) == (2, "")
    assert done.err == f"{name} is empty.\nName a file or a folder; the current folder is a full stop.\n"
    assert not list(Path().iterdir())
