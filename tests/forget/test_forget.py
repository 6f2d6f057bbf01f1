"""A person who is forgotten stands nowhere any more, and what was done stands."""

from __future__ import annotations

import io
from pathlib import Path
from shutil import copytree

import pytest
from openpyxl import Workbook, load_workbook

from pipeline.cli.proving import forget as forgetting
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.figures.refresh import keep_up
from pipeline.forget.contents import CannotRedact, gone_from_bytes
from pipeline.forget.files import files_without, still_bearing
from pipeline.forget.forget import forget
from pipeline.forget.person import person
from pipeline.forget.store_texts import replace_in_tables
from pipeline.load.files import load_paths
from pipeline.publish.documents import write_reports
from pipeline.publish.prove import prove
from pipeline.store.decide import decide
from pipeline.store.opening import IN_MEMORY
from pipeline.store.store import Store
from pipeline.verify.verify import verify
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from tests.conftest import TODAY

NAME = "Zoë Example"
JOBS = (
    "date,green,operation,hours,logged_by,note\n"
    f"2026-03-02,ALD-1,rolling,2,{NAME},rained off; {NAME.upper()} came back\n"
    "2026-03-10,ALD-1,mowing,1.5,Bob,\n"
    f"2026-03-11,ALD-9,mowing,1.5,{NAME},no such green\n"
)
SPEEDS = f"date,green,value,unit,observer\n2026-05-02,ALD-1,11.5,s,Zoë  Example\n2026-05-02,ALD-1,11.9,s,{NAME}\n"
CREW = "date,green,operation,hours,logged_by\n2026-03-10,ALD-1,mowing,1.5,Zoe Example\n"
CORRECTION = (
    '[[correction]]\nfile = "speeds.csv"\nline = 3\ncolumn = "value"\nfrom = "11.9"\nto = "12.0"\n'
    f'why = "misread"\nwho = "{NAME}"\n'
)
SPELLINGS = [NAME, "Zoe Example"]


@pytest.fixture(scope="module")
def made(registers: tuple[Path, Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace in which the name stands wherever one can."""
    folder = tmp_path_factory.mktemp("forget")
    make_workspace(folder / "w")
    workspace = open_workspace(folder / "w")
    workspace.store.write_bytes(registers[1].read_bytes())
    (workspace.corrections / "speeds.toml").write_text(CORRECTION, "utf-8")
    book = Workbook()
    for row in (["date", "green", "operation", "hours", "logged_by"], ["2026-06-01", "ALD-1", "mowing", 1, NAME]):
        book.active.append(row)
    book.save(folder / "book.xlsx")
    (folder / "jobs.csv").write_text(JOBS, "cp1252")
    (folder / "speeds.csv").write_text(SPEEDS, "utf-8-sig")
    (folder / "crew.csv").write_text(CREW, "utf-8")
    for name in ("jobs.csv", "speeds.csv", "crew.csv", "book.xlsx"):
        (done,) = load_paths(workspace, [folder / name], today=TODAY)
        assert done.counts.loaded
    decide(workspace, "one", ["jobs.csv:3", "crew.csv:2"], f"{NAME} wrote it down too", NAME)
    keep_up(workspace)
    write_reports(workspace, greens=["ALD-1"], season="2026", workers=1)
    (workspace.folder / "inbox" / "letter.txt").write_text(f"Dear {NAME}", "utf-8")
    return workspace.folder


@pytest.fixture
def here(made: Path, tmp_path: Path) -> Workspace:
    """A copy of it."""
    return open_workspace(Path(copytree(made, tmp_path / "w")))


def bearing(workspace: Workspace) -> list[str]:
    """Files in which the name stands, in any case and encoding; of a text also what is packed in the store."""
    ways = [one.encode(code) for one in (NAME, NAME.upper(), "Zoë  Example", "Zoe Example")
            for code in ("utf-8", "cp1252", "utf-16-le")]  # fmt: skip
    return [
        path.relative_to(workspace.folder).as_posix()
        for path in sorted(workspace.folder.rglob("*"))
        if path.is_file() and any(way in path.read_bytes() for way in ways)
    ]


def _work(workspace: Workspace) -> list[tuple[object, ...]]:
    with Store(workspace.store, read_only=True) as store:
        jobs = "SELECT date, green, operation, hours, 0 FROM job"
        return store.rows(f"{jobs} UNION ALL SELECT date, green, 'speed', 0, value FROM green_speed ORDER BY ALL")


def test_name_is_gone_from_every_byte_and_the_work_stays(here: Workspace) -> None:
    """Rejected rows, warnings, corrections, decisions, the history and the free blocks of the store's file."""
    before = _work(here)
    assert {"store.duckdb", "corrections/speeds.toml", "decisions/decided.toml"} <= set(bearing(here))
    done = forget(here, SPELLINGS)
    assert bearing(here) == ["inbox/letter.txt"]
    assert done.left == ("inbox/letter.txt",)
    assert _work(here) == before
    with Store(here.store, read_only=True) as store:
        assert store.rows("SELECT DISTINCT logged_by FROM job WHERE logged_by <> 'Bob'") == [(done.token,)]


def test_a_file_of_ours_from_which_the_name_cannot_be_taken_is_named(here: Workspace) -> None:
    """Rejected rows that somebody saved as a workbook of the old format."""
    old = here.rejected / "jobs.rejected.xls"
    old.write_bytes(b"\xd0\xcf\x11\xe0" + NAME.encode("utf-16-le"))
    who = person(SPELLINGS)
    assert old not in files_without(here, who)
    assert still_bearing(here, who) == ("inbox/letter.txt", "rejected/jobs.rejected.xls")


@pytest.mark.parametrize("name", ["Jörg Strauß", "Zoe\u0308 Example", "İrem Ö", 'Ann O"Neil'])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-16-be"])
def test_names_of_letters_with_several_forms_go_from_every_encoding(name: str, encoding: str) -> None:
    """“ß” was looked for as “ss”; UTF-16 was taken for one byte a letter."""
    from unicodedata import normalize

    who = person([normalize("NFC", name)])
    gone = gone_from_bytes(f"note: {name} was here".encode(encoding), who)
    assert gone.decode(encoding) == f"note: {who.token} was here"
    with Store(IN_MEMORY) as store:
        store.con.execute("INSERT INTO meta.rejects VALUES ('a', ?, 'b', 'c')", [f"by {name}.csv"])
        assert replace_in_tables(store.con, who) == {"meta.rejects": 1}
        assert store.rows("SELECT place FROM meta.rejects") == [(f"by {who.token}.csv",)]


def test_a_name_goes_from_folders_elsewhere_too(here: Workspace, tmp_path: Path) -> None:
    """Settings may name folders outside the workspace: what was changed there is told by its whole path."""
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "crew.toml").write_text(f'name = "crew"\ntitle = "By {NAME}"\nkind = "job"\n', "utf-8")
    settings = here.folder / "settings.toml"
    settings.write_text(
        settings.read_text("utf-8").replace('profiles = "profiles"', f'profiles = "{elsewhere}"'), "utf-8"
    )
    done = forget(open_workspace(here.folder), SPELLINGS)
    assert str(elsewhere / "crew.toml") in done.files
    assert NAME not in (elsewhere / "crew.toml").read_text("utf-8")


def test_originals_are_without_the_name_too(here: Workspace) -> None:
    """They are packed, so that the bytes of the store's file cannot tell."""
    from pipeline.store.proof.originals import kept_bytes

    forget(here, SPELLINGS)
    who = person(SPELLINGS)
    with Store(here.store, read_only=True) as store:
        for (mark,) in store.rows("SELECT DISTINCT sha256 FROM meta.original"):
            content = kept_bytes(store.con, mark)
            assert gone_from_bytes(content, who) == content


def test_verify_says_redacted_and_not_altered(here: Workspace) -> None:
    """And the originals, read again without the name, still make the very records that stand."""
    forget(here, SPELLINGS)
    found = verify(here)
    assert found.whole, (found.alterations, found.differences, found.unread)
    assert {entry for _, entry in found.redacted} == {found.entries}
    assert {load for load, _ in found.redacted} >= {4, 5, 6, 7}


def test_a_figure_changed_under_cover_of_forgetting_is_told(here: Workspace) -> None:
    """What names nobody is held by the seal of its load, whatever was covered anew since."""
    import duckdb

    with duckdb.connect(str(here.store)) as con:
        con.execute("UPDATE history.job SET hours = 20 WHERE hours = 2")
    forget(here, SPELLINGS)
    assert "Load 4 (jobs.csv): what its records say under hours is not what was loaded." in [
        one.message for one in verify(here, quick=True).alterations
    ]


def test_document_from_before_is_found_still(here: Workspace) -> None:
    (document,) = here.reports.rglob("*condition*.pdf")
    assert prove(here, document).holds
    forget(here, SPELLINGS)
    assert prove(here, document).holds


def test_what_names_a_club_or_a_profile_is_refused_and_nothing_changed(here: Workspace) -> None:
    before = here.store.read_bytes()
    with pytest.raises(CannotDo, match=r"stands in what is no person's name: Alder Brook Bowls Club"):
        forget(here, ["Alder Brook"])
    with pytest.raises(WrongUsage, match="stands nowhere in the store or its rules"):
        forget(here, ["Nobody Whatever"])
    with pytest.raises(WrongUsage, match="too short"):
        forget(here, ["Z."])
    assert here.store.read_bytes() == before


def test_dry_run_changes_nothing(here: Workspace) -> None:
    before = bearing(here)
    done = forget(here, SPELLINGS, dry_run=True)
    assert done.texts and done.files
    assert bearing(here) == before
    assert verify(here, quick=True).redacted == ()


def test_next_load_goes_on_from_there(here: Workspace, tmp_path: Path) -> None:
    """The rules' marks, decisions and rejected rows are those of the files as they are now: nothing is asked anew."""
    forget(here, SPELLINGS)
    (tmp_path / "more.csv").write_text("date,green,operation,hours\n2026-07-01,ALD-1,mowing,1\n")
    (done,) = load_paths(here, [tmp_path / "more.csv"], today=TODAY)
    assert done.counts.loaded == 1
    found = verify(here)
    assert found.whole, (found.alterations, found.differences, found.unread)
    with Store(here.store, read_only=True) as store:
        assert store.rows("SELECT count(*) FROM history.job WHERE ended_as = 'counted_once'") == [(1,)]


@pytest.mark.parametrize("at", ["forget.copied", "compact.Store", "forget.written_anew", "forget.write_whole"])
def test_one_that_was_stopped_changed_nothing(here: Workspace, monkeypatch: pytest.MonkeyPatch, at: str) -> None:
    """Half of it would leave the name in free blocks, or files and store that fit no more."""
    before = bearing(here)

    def stop(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch, pytest.raises(CannotDo, match=r"could not be taken out: No space left"):
        patch.setattr(f"pipeline.forget.{at}", stop)
        forget(here, SPELLINGS)
    assert bearing(here) == before
    assert [path.name for path in here.folder.iterdir() if path.name.startswith(".")] == []
    forget(here, SPELLINGS)
    assert bearing(here) == ["inbox/letter.txt"]
    assert verify(here, quick=True).whole


def test_one_that_was_killed_between_two_renames_is_finished_by_the_next(here: Workspace, tmp_path: Path) -> None:
    """Its files stand without the name and its store with it: another token stands in the one than in the other."""
    for path, content in files_without(here, person(SPELLINGS)).items():
        path.write_bytes(content)
    assert set(bearing(here)) == {"inbox/letter.txt", "store.duckdb"}
    forget(here, SPELLINGS)
    assert bearing(here) == ["inbox/letter.txt"]
    (tmp_path / "more.csv").write_text("date,green,operation,hours\n2026-07-01,ALD-1,mowing,1\n")
    load_paths(here, [tmp_path / "more.csv"], today=TODAY)
    assert verify(here, quick=True).whole
    with Store(here.store, read_only=True) as store:
        assert store.rows("SELECT count(*) FROM history.job WHERE ended_as = 'counted_once'") == [(1,)]


def test_two_persons_stay_two_and_one_forgotten_twice_is_told_apart() -> None:
    """The token is no hash that anybody could try a name against."""
    assert person(["Ann Example"]).token != person(["Bob Example"]).token


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("Ann Example, ann  example; ANN\texample", "T, T; T"),
        ("Joann Example and Ann Examples", "Joann Example and Ann Examples"),
        ('{"who": "Ann Example"}', '{"who": "T"}'),
        ("A. E. and AE2", "T and AE2"),
    ],
)
def test_name_is_found_as_whole_words(text: str, left: str) -> None:
    who = person(["Ann Example", "A. E.", "AE"])
    assert who.gone_from(text).replace(who.token, "T") == left


def test_old_workbook_that_bears_the_name_cannot_be_redacted() -> None:
    """Its texts have their length before them: the load stands by its records, and its original is dropped."""
    old = b"\xd0\xcf\x11\xe0" + "Ann Example".encode("utf-16-le")
    with pytest.raises(CannotRedact):
        gone_from_bytes(old, person(["Ann Example"]))
    assert gone_from_bytes(old, person(["Bob Example"])) == old


def test_workbook_reads_the_same_but_for_the_name() -> None:
    book = Workbook()
    book.active.append(["Ann Example & Sons", 2.5, "<b>", "=1+1"])
    made = io.BytesIO()
    book.save(made)
    who = person(["Ann Example"])
    gone = load_workbook(io.BytesIO(gone_from_bytes(made.getvalue(), who)))
    assert [cell.value for cell in gone.active[1]] == [f"{who.token} & Sons", 2.5, "<b>", "=1+1"]


def test_words_say_what_would_undo_it(here: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    """A file loaded again brings the name back and the work twice: who logged it is part of a job's key."""
    forgetting(SPELLINGS, dry_run=True, workspace=here.folder)
    said = capsys.readouterr()
    assert "Still bears the name, and is yours to change or delete: inbox/letter.txt" in said.out
    assert "Do not load these files again before the name is out of them" in said.err
    assert said.err.endswith("Nothing was changed. Without --dry-run it cannot be taken back.\n")
