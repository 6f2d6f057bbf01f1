"""Unknown words: asked for in one go, written into the profile, and nothing else of it changed."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from openpyxl.workbook import Workbook

from pipeline.cli.app import app
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.forms.workbook import form_workbook
from pipeline.load.files import load_paths
from pipeline.load.words import add_aliases, unknown_words
from pipeline.publish.forms import forms_named, registered_names
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load
from tests.forms.hand import filled, say, write

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
    again = f'swardtally words -w {workspace.folder} {log} --say "WORD=CODE"'
    assert err.splitlines() == [f"3 words not known. Say each: {again}"]
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
    first = {"list": "operation", "word": "zippering", "count": 2, "line": 2, "closest": [], "sheet": ""}
    assert said["words"][0] == first
    assert (said["undo_first"], said["unread"]) == ([], [])


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
    again = f'swardtally words -w {workspace.folder} {log} --set green=ALD-1 --say "WORD=CODE"'
    assert err == f"1 word not known. Say each: {again}\n"
    assert run(workspace, log, "--set", "green=ALD-1", "--say", "zippering=slit tining") == 0
    assert capsys.readouterr().err.endswith(f"Next: swardtally load -w {workspace.folder} {log} --set green=ALD-1\n")
    result = load_paths(workspace, [log], today=TODAY, given={"green": "ALD-1"})[0]
    assert (result.counts.loaded, result.counts.rejected) == (1, 0)


def test_words_of_rows_rejected_for_another_reason_are_told_too(
    log: Path, workspace: Workspace, capsys: pytest.CaptureFixture[str]
) -> None:
    """A green on a line whose date is wrong was "no unknown word", though the draft had just listed it."""
    log.write_text(LOG + "2026-13-07,Far end,mowing,\n2026-04-08,ALD-1,mowing,new sand\n", "utf-8")
    assert run(workspace, log) == 1
    out = capsys.readouterr().out.splitlines()
    assert "green: “Far end” (once on line 6)" in out
    assert "material: “new sand” (once on line 7)" in out
    assert run(workspace, log, "--say", "Far end=ALD-1") == 1
    assert tomllib.loads((workspace.profiles / "crew.toml").read_text("utf-8"))["aliases"] == {
        "green": {"Far end": "ALD-1"}
    }


def test_a_word_that_was_taught_says_where(log: Path, workspace: Workspace) -> None:
    taught = PROFILE + '\n[aliases.green]\n"Aldr Brook" = "ALD-2"\n\n[several.green.words]\nboth = ["ALD-1", "ALD-2"]\n'
    path = workspace.profiles / "crew.toml"
    path.write_text(taught, "utf-8")
    with pytest.raises(WrongUsage) as refused:
        run(workspace, log, "--say", "aldr brook=ALD-1")
    assert refused.value.message == (
        f"“aldr brook” is no unknown word of crew.csv: it stands for ALD-2 in {path}, line 15."
    )
    assert refused.value.hint == (
        "If that is wrong, mend it there, and load the file again; loading says what to take back first."
    )
    with pytest.raises(WrongUsage, match=r"it stands for ALD-1 and ALD-2 in .*crew\.toml, line 18\."):
        run(workspace, log, "--say", "Both=ALD-1")
    with pytest.raises(WrongUsage, match="it is known as the operation mowing"):
        run(workspace, log, "--say", "mown=brushing")


def test_a_word_for_several_greens_is_sent_to_its_table(
    log: Path, workspace: Workspace, county: Load, capsys: pytest.CaptureFixture[str]
) -> None:
    county("greens2.csv", "green,club\nALD-8,ALD\n")
    log.write_text("Date,Where,What,Stuff\n2026-04-03,both greens,mowing,\n2026-04-04,ALD-1 & ALD-8,mowing,\n", "utf-8")
    assert run(workspace, log) == 1
    path = workspace.profiles / "crew.toml"
    assert capsys.readouterr().err.splitlines()[1] == (
        f'Of several, write under [several.green] of {path}: words = {{ "both greens" = ["…", "…"] }}'
    )
    with pytest.raises(WrongUsage) as refused:
        run(workspace, log, "--say", "both greens=ALD-1 & ALD-8")
    assert '"the word" = ["ALD-1", "ALD-8"]' in refused.value.hint
    (result,) = load_paths(workspace, [log], today=TODAY)
    assert result.faults["hint"][0].endswith(
        "; of several greens, say which under [several.green]. A green is known by its code and aliases, not by its "
        "name."
    )


def test_what_is_to_be_taken_back_first_is_said(
    log: Path, workspace: Workspace, capsys: pytest.CaptureFixture[str]
) -> None:
    """A job whose material was loaded as written is another record once the name is an alias: the load is refused."""
    log.write_text("Date,Where,What,Stuff\n2026-04-03,ALD-1,fertilising,spring feed\n", "utf-8")
    (first,) = load_paths(workspace, [log], today=TODAY)
    assert first.faults["hint"][0] == (
        "Add it to the materials file; nothing need be loaded again then. If it is another name of one that is there, "
        "map it in the source profile under [aliases.material] (words FILE asks for it), take the load back (undo "
        f"{first.load_id}) and load again."
    )
    with Store(workspace.store, read_only=True) as store:
        ((material,), *_) = store.rows("SELECT material FROM material ORDER BY ALL")
    assert run(workspace, log, "--say", f"spring feed={material}") == 0
    assert capsys.readouterr().err.endswith(
        f"Next: swardtally undo -w {workspace.folder} {first.load_id}, then swardtally load -w {workspace.folder} "
        f"{log} (its rows would be other records now)\n"
    )
    assert load_paths(workspace, [log], today=TODAY)[0].refused


def test_a_form_has_its_words_told_and_nothing_is_kept(
    county: Load, workspace: Workspace, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It has no profile: drafting one was no way out. Every sheet of it is gone through."""
    (form,) = forms_named(["crew"], [])
    path = tmp_path / "log.xlsx"
    path.write_bytes(form_workbook(form, registered_names(workspace)))

    def fill(book: Workbook) -> None:
        sheet = book["Job log"]
        copy = book.copy_worksheet(sheet)
        copy.title = "Job log (2)"
        for one, word in ((sheet, "jigged"), (copy, "zippered")):
            say(one, "Green:", "Nowhere")
            write(one, [{"Date": "2026-04-03", "Operation": word}])

    assert run(workspace, filled(path, fill)) == 1
    out, err = capsys.readouterr()
    assert out.splitlines() == [
        "green: “Nowhere” (2 times, first on line 7)",
        "operation: “jigged” (once on line 7); closest: turfing",
        "operation: “zippered” (once on line 7 of [Job log (2)]); closest: dew_removal, edging",
    ]
    assert err.startswith("3 words not known. A form has no source profile to keep them in: choose a word of the list")
    with pytest.raises(WrongUsage, match=r"log\.xlsx is a form: nothing keeps what its words stand for"):
        run(workspace, path, "--say", "jigged=mowing")
    shown = [one.shown for one in load_paths(workspace, [path], today=TODAY)]
    assert shown == ["log.xlsx", "log.xlsx [Job log (2)]"]


def test_a_file_that_is_refused_has_not_every_word_known(log: Path, workspace: Workspace) -> None:
    log.write_text(LOG.replace("Stuff", "Other"), "utf-8")
    assert load_paths(workspace, [log], today=TODAY, dry_run=True)[0].refused
    with pytest.raises(CannotDo, match=r"crew\.csv is refused as a whole: "):
        unknown_words(workspace, log)
