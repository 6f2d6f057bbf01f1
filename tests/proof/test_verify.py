"""What was changed by another way than loading is found and named; what was loaded is told whole."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from shutil import copyfile

import duckdb
import pytest

from pipeline.cli.copying import backup
from pipeline.cli.doctor import look_at
from pipeline.cli.options import DONE, FAULTS
from pipeline.common.refusal import CannotDo
from pipeline.load.files import load_paths
from pipeline.publish.documents import write_reports
from pipeline.store.decide import decide
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.verify.rebuild import rebuilt
from pipeline.verify.verify import verify
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from tests.conftest import TODAY, Load

JOBS = (
    "date,green,operation,material,mass_kg,hours,logged_by,note\n"
    "2026-03-02,ALD-1,fertilising,spring granular 11-5-5 + 8 Fe,50,2,A. Person,by hand\n"
    "2026-03-09,ALD-1,top dressing,70/30 sand and soil,848,6,,\n"
    "2026-03-10,ALD-1,rolling,,,1.5,,\n"
    "2026-03-11,ALD-9,rolling,,,1,,\n"
)
LATER = "date,green,operation,material,mass_kg,hours\n2026-03-10,ALD-1,rolling,,,2.5\n2026-03-12,ALD-1,mowing,,,1\n"
SOIL = "date,green,analyte,value,unit\n2026-02-02,ALD-1,ph,5.5,pH\n2026-02-03,ALD-1,ph,6.1,pH\n"
SOIL_TAKEN_BACK = "date,green,analyte,value,unit\n2026-02-02,ALD-1,ph,,pH\n2026-02-03,ALD-1,ph,6.1,pH\n"


@pytest.fixture(scope="module")
def made(registers: tuple[Path, Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with loads that brought, superseded, withdrew and rejected; one was taken back; read by two profiles."""
    folder = tmp_path_factory.mktemp("verify")
    workspace = _county(folder / "w", registers[1])
    for name, text in (("jobs.csv", JOBS), ("soil.csv", SOIL), ("soil2.csv", SOIL_TAKEN_BACK), ("more.csv", LATER)):
        (folder / name).write_text(text)
        load_paths(workspace, [folder / name], today=TODAY)
    (folder / "gone.csv").write_text("date,green,operation\n2026-04-01,ALD-1,mowing\n")
    (gone,) = load_paths(workspace, [folder / "gone.csv"], today=TODAY)
    assert gone.load_id is not None
    undo(workspace, gone.load_id)
    from pipeline.figures.refresh import keep_up

    keep_up(workspace)
    return workspace.folder


def _county(folder: Path, store: Path) -> Workspace:
    folder.mkdir()
    make_workspace(folder)
    copyfile(store, folder / "store.duckdb")
    return open_workspace(folder)


@pytest.fixture
def here(made: Path, tmp_path: Path) -> Workspace:
    """A copy of it to be changed."""
    from shutil import copytree

    return open_workspace(Path(copytree(made, tmp_path / "w")))


def _sql(workspace: Workspace, *statements: str) -> None:
    with duckdb.connect(str(workspace.store)) as con:
        for one in statements:
            con.execute(one)


def test_a_store_that_was_only_loaded_is_whole(here: Workspace) -> None:
    """A check that cries out about what loading does would be switched off."""
    found = verify(here)
    assert found.whole, (found.alterations, found.differences, found.unread)
    assert (found.loads, found.read_again, found.entries) == (7, 7, 9)
    assert found.carried == ()


def test_what_is_said_of_a_load_by_its_number_is_so_after_another_was_taken_back(
    here: Workspace, tmp_path: Path
) -> None:
    """A hint says "undo 9": read again as load 8, it would seem changed, and no report would be written any more."""
    unknown = "date,green,operation,material,mass_kg\n2026-05-01,ALD-1,fertilising,seaweed stuff,20\n"
    for name, text in (("unknown.csv", unknown), ("unknown2.csv", unknown.replace("-01,", "-02,"))):
        (tmp_path / name).write_text(text)
        (done,) = load_paths(here, [tmp_path / name], today=TODAY)
        assert f"undo {done.load_id}" in done.faults["hint"].str.join(" ").item()
        assert done.load_id is not None
        undo(here, done.load_id)
        (again,) = load_paths(here, [tmp_path / name], today=TODAY)
        assert again.load_id == done.load_id + 1
    found = verify(here)
    assert found.whole, (found.alterations, found.differences, found.unread)
    assert found.read_again == 9


MASS = "UPDATE history.job SET mass_kg = mass_kg * 10 WHERE mass_kg = 848"
TAMPERED = {
    "figure of a record": (MASS, "Load 4 (jobs.csv): what its records say under mass_kg is not what was loaded."),
    "ledger row": (
        "UPDATE meta.load SET rejected = 0, rows = rows - 1 WHERE load_id = 4",
        "Load 4 (jobs.csv): the ledger says rows 3, and said 4 when it was loaded.",
    ),
    "original": (
        "UPDATE meta.original SET content = (SELECT content FROM meta.original WHERE sha256 <> o.sha256 LIMIT 1) "
        "FROM meta.source AS o WHERE o.sha256 = original.sha256 AND o.load_id = 4 AND o.role = 'file'",
        "Load 4 (jobs.csv): the kept original is not what was loaded.",
    ),
    "figure in the table of figures": (
        "UPDATE derived.figure SET value = value * 10 WHERE value > 0",
        "Figures of ALD-1 in season 2026: what stands in the store is not what was worked out.",
    ),
    "record deleted": (
        "DELETE FROM history.job WHERE line = 3 AND load_id = 4",
        "Load 4 (jobs.csv): it brought 3 records, and 2 are there.",
    ),
    "record added": (
        "INSERT INTO history.job BY NAME SELECT * REPLACE (99 AS load_id) FROM history.job LIMIT 1",
        "1 jobs are of load 99, which the ledger does not hold.",
    ),
    "superseded record in force again": (
        "UPDATE history.job SET ended_by = NULL, ended_as = NULL WHERE ended_by IS NOT NULL",
        "Load 7 (more.csv): the records it put out of force are not those any more.",
    ),
    "load taken out of the ledger": (
        "DELETE FROM meta.load WHERE load_id = 7",
        "Load 7 is gone from the ledger, and was not taken back.",
    ),
    "load put back that was taken back": (
        "INSERT INTO meta.load SELECT * EXCLUDE (undone_at) FROM meta.undone",
        "Load 8 (gone.csv) was taken back, and is in the ledger again.",
    ),
    "name in a note": (
        "UPDATE history.job SET logged_by = 'B. Person' WHERE logged_by IS NOT NULL",
        "Load 4 (jobs.csv): what its records say under logged_by is not what was loaded.",
    ),
    "file renamed": (
        "UPDATE meta.load SET file = 'other.csv' WHERE load_id = 4",
        "Load 4 (other.csv): the file had another name when it was loaded.",
    ),
    "list of sources": (
        "DELETE FROM meta.source WHERE load_id = 4 AND role = 'rules'",
        "Load 4 (jobs.csv): the list of what it was read from (rules) was changed.",
    ),
    "entry of the chain": (
        "UPDATE meta.chain SET covers = replace(covers, '\"rejected\":1', '\"rejected\":0') WHERE number = 4",
        "Entry 4 of the chain does not follow from the one before it.",
    ),
    "list of loads taken back": (
        "UPDATE meta.undone SET loaded = 0, unchanged = 1",
        "Load 8 was taken back, and the list of such loads says of it what was not so.",
    ),
    "load taken back is nowhere": (
        "DELETE FROM meta.undone",
        "Load 8 was taken back, and the list of such loads lacks it.",
    ),
    "hash of a file": (
        "UPDATE meta.load SET sha256 = repeat('a', 64) WHERE load_id = 4",
        "Load 4 (jobs.csv): the ledger knows its file by another hash than its bytes have.",
    ),
    "record of a load of another kind": (
        "INSERT INTO history.job BY NAME SELECT * REPLACE (5 AS load_id) FROM history.job LIMIT 1",
        "1 jobs are of loads that brought none.",
    ),
    "record ended by a load of another kind": (
        "UPDATE history.job SET ended_by = 5, ended_as = 'withdrawn' WHERE load_id = 4 AND line = 2",
        "1 jobs are out of force in a way in which no load and no decision puts them.",
    ),
    "record ended by nothing": (
        "UPDATE history.job SET ended_as = 'closed' WHERE load_id = 4 AND line = 2",
        "1 jobs are out of force in a way in which no load and no decision puts them.",
    ),
    "view that says ten times as much": (
        "CREATE OR REPLACE VIEW soil_test AS SELECT s.* REPLACE (s.value * 10 AS value), l.file "
        "FROM history.soil_test AS s JOIN meta.load AS l USING (load_id) WHERE s.ended_by IS NULL",
        "The view soil_test is not as it was made: what is read through it is not what was loaded.",
    ),
    "function in the place of one of DuckDB's": (
        "CREATE MACRO list_contains(a, b) AS false",
        "The store holds a function of its own, list_contains, which loading does not make.",
    ),
    "column of another type": (
        "ALTER TABLE meta.fault ALTER line TYPE VARCHAR",
        "The column line of meta.fault is not as it was made: VARCHAR, for BIGINT.",
    ),
    "view in the place of a table": (
        "ALTER TABLE history.price RENAME TO other; CREATE VIEW history.price AS SELECT * FROM history.other",
        "history.price is no table of the store any more.",
    ),
}


@pytest.mark.parametrize("case", TAMPERED)
def test_what_was_changed_with_sql_is_named(here: Workspace, case: str) -> None:
    """A mass multiplied by ten with SQL was certified as what had been loaded."""
    statement, said = TAMPERED[case]
    _sql(here, statement)
    found = verify(here, quick=True)
    assert said in [one.message for one in found.alterations]
    assert not found.whole


@pytest.mark.parametrize("case", ["figure of a record", "ledger row", "original", "figure in the table of figures"])
def test_doctor_and_report_find_it_too(here: Workspace, case: str) -> None:
    """Before a document says the same as before, or anything at all."""
    statement, said = TAMPERED[case]
    _sql(here, statement)
    (records,) = [one for one in look_at(here.folder) if one.what == "Records"]
    assert not records.fine
    assert said in records.found or case == "ledger row"
    with pytest.raises(CannotDo, match="The store is not what was loaded"):
        write_reports(here, greens=["ALD-1"])
    assert not list(here.reports.rglob("*.pdf"))


def test_a_backup_of_it_says_so(here: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    """A mass multiplied by ten was backed up without a word."""
    assert backup(workspace=here.folder) == DONE
    assert "is not what was loaded" not in capsys.readouterr().err
    _sql(here, MASS)
    assert backup(workspace=here.folder, quiet=True) == FAULTS
    assert (
        "The store is not what was loaded. Load 4 (jobs.csv): what its records say under mass_kg is not what was "
        "loaded. The backup holds it as it is, earlier ones as it was. swardtally verify names each difference."
    ) in capsys.readouterr().err


UNREADABLE = (
    "UPDATE meta.chain SET covers = repeat('[', 200000) WHERE entry = 3",
    "UPDATE meta.chain SET covers = '[]' WHERE entry = 3",
    'UPDATE meta.chain SET covers = \'{"records": 5, "ledger": 7}\' WHERE entry = 3',
    "UPDATE meta.chain SET what = 'forgotten', covers = '{\"forgotten\": {\"x\": 1}}' WHERE entry = 3",
    "UPDATE meta.chain SET what = 'forgotten', covers = '{\"forgotten\": {\"4\": 1}}' WHERE entry = 3",
    "UPDATE meta.chain SET number = 7 WHERE number = 4",
    "UPDATE meta.chain SET what = 'x' WHERE entry = 3",
    "UPDATE meta.chain SET salt = 'no digits' WHERE number = 4",
    "UPDATE meta.source SET sha256 = 'no hash' WHERE role = 'file' AND load_id = 4",
)


@pytest.mark.parametrize("statement", UNREADABLE)
def test_whatever_stands_in_chain_and_sources_is_named_and_ends_nothing(here: Workspace, statement: str) -> None:
    """What is no JSON, no hexadecimal digits or of another form ended verify, and whatever else opens the store."""
    _sql(here, statement)
    assert verify(here, quick=True).alterations


KEPT_OTHERWISE = (
    ("UPDATE meta.source SET name = 'store.duckdb' WHERE role = 'file' AND load_id = 5", ""),
    ("UPDATE meta.source SET name = 'profiles' WHERE role = 'file' AND load_id = 5", ""),
    ("UPDATE meta.source SET name = 'a' || chr(0) || '.csv' WHERE role = 'file' AND load_id = 5", "laid at its place"),
    ("UPDATE meta.source SET name = repeat('x', 5000) WHERE role = 'file' AND load_id = 5", "laid at its place"),
    ("DELETE FROM meta.source WHERE role = 'when' AND load_id = 5", "is not what was loaded"),
    ("UPDATE meta.source SET sha256 = (SELECT sha256 FROM meta.source WHERE role = 'file' AND load_id = 5) "
     "WHERE role = 'when' AND load_id = 5", "is not what was loaded"),
)  # fmt: skip


def test_no_name_and_no_source_stops_the_reading_of_originals(here: Workspace) -> None:
    """A file that is said to be the store was written over the one that is made to compare with."""
    for statement, said in KEPT_OTHERWISE:
        before = here.store.read_bytes()
        _sql(here, statement)
        with Store(here.store, read_only=True) as store, rebuilt(store) as anew:
            assert said in anew.unread.get(5, ""), statement
            assert anew.results.keys() >= {4, 6}
        here.store.write_bytes(before)


def test_who_decided_and_which_green_a_warning_is_about_are_told_by_the_originals(
    here: Workspace, tmp_path: Path
) -> None:
    """A warning without its green is none of any figure; a decision was said to be another's."""
    (tmp_path / "hand.csv").write_text("date,green,operation,logged_by,hours\n2026-03-12,ALD-1,mowing,Bob,1\n")
    load_paths(here, [tmp_path / "hand.csv"], today=TODAY)
    decide(here, "one", ["more.csv:3", "hand.csv:2"], "both wrote it down", "the office")
    _sql(here, "UPDATE meta.decision SET who = 'nobody'", "UPDATE meta.fault SET green = NULL")
    found = verify(here)
    assert not found.alterations
    assert {("decision", "who", "nobody", "the office")} == {
        (one.what, one.name, one.stored, one.original) for one in found.differences if one.what == "decision"
    }
    assert any(one.what == "warning" for one in found.differences)


def test_tables_of_somebodys_own_are_left_alone(here: Workspace) -> None:
    """Who asks with SQL may keep the answers beside the records."""
    _sql(here, "CREATE TABLE mine AS FROM job", "CREATE VIEW wet AS SELECT * FROM history.job")
    assert not verify(here, quick=True).alterations


def test_row_and_field_are_named_by_the_original(here: Workspace) -> None:
    """The chain tells that a load's records differ; only the original tells which, and what they were."""
    _sql(here, MASS)
    (one,) = verify(here).differences
    assert (one.load_id, one.file, one.line, one.name, one.stored, one.original) == (
        4, "jobs.csv", 3, "mass_kg", "8480.0", "848.0",
    )  # fmt: skip


def test_a_warning_that_was_taken_out_is_told_by_the_original(here: Workspace) -> None:
    """Without it a figure stands as if nothing were asked about it; no entry of the chain covers what is said."""
    _sql(here, "DELETE FROM meta.fault WHERE severity = 'warning' AND NOT starts_with(code, 'load.')")
    found = verify(here).differences
    assert found
    assert {(one.what, one.stored) for one in found} == {("warning", None)}
    assert all(one.original for one in found)


def test_a_chain_made_anew_over_changed_records_is_told_by_the_originals(here: Workspace) -> None:
    """Whoever can write to the store can seal it anew; the files it was made from say otherwise."""
    _sql(here, MASS, "DELETE FROM meta.chain")
    from pipeline.store.proof.chain import take_over

    with Store(here.store) as store, store.transaction() as con:
        take_over(con)
    found = verify(here)
    assert not found.alterations
    assert [(one.line, one.name) for one in found.differences] == [(3, "mass_kg")]


def test_decisions_are_followed_again(here: Workspace, tmp_path: Path) -> None:
    """What a person decided is part of what the store holds, and is kept as the files are."""
    (tmp_path / "hand.csv").write_text("date,green,operation,logged_by,hours\n2026-03-12,ALD-1,mowing,Bob,1\n")
    load_paths(here, [tmp_path / "hand.csv"], today=TODAY)
    decide(here, "one", ["more.csv:3", "hand.csv:2"], "both wrote it down", "the office")
    found = verify(here)
    assert found.whole, (found.alterations, found.differences, found.unread)
    with Store(here.store, read_only=True) as store:
        assert store.rows("SELECT count(*) FROM history.job WHERE ended_as = 'counted_once'") == [(1,)]
    _sql(here, "UPDATE history.job SET ended_by = NULL, ended_as = NULL WHERE ended_as = 'counted_once'")
    assert verify(here, quick=True).alterations


def test_files_are_read_by_the_rules_of_their_day(here: Workspace, tmp_path: Path) -> None:
    """A profile that was changed since, or is gone, makes no other records of what was loaded by it."""
    profile = here.profiles / "log.toml"
    profile.parent.mkdir(exist_ok=True)
    profile.write_text('name = "log"\nkind = "job"\n[fields]\ndate = "Day"\ngreen = "Green"\noperation = "Work"\n')
    (tmp_path / "log.csv").write_text("Day,Green,Work\n2026-05-01,ALD-1,mowing\n")
    (done,) = load_paths(here, [tmp_path / "log.csv"], today=TODAY)
    assert done.counts.loaded == 1
    profile.unlink()
    found = verify(here)
    assert found.whole, (found.alterations, found.differences, found.unread)


def test_the_same_files_make_the_same_chain_anywhere(registers: tuple[Path, Path], tmp_path: Path) -> None:
    """No clock, no path and no machine is in a hash."""
    heads = []
    for place in ("here", "there/far away"):
        folder = tmp_path / place
        folder.mkdir(parents=True)
        workspace = _county(folder / "w", registers[0])
        for name, text in (("clubs.csv", "club,name\nALD,Alder Brook\n"), ("greens.csv", "green,club\nALD-1,ALD\n")):
            (folder / name).write_text(text)
            load_paths(workspace, [folder / name])
        heads.append(verify(workspace, quick=True).head)
    assert heads[0] == heads[1]


def test_a_file_changed_while_it_is_loaded_is_refused(county: Load, workspace: Workspace, tmp_path: Path,
                                                      monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    """What is kept as the original must be what was read."""
    from pipeline.load import loading

    path = tmp_path / "jobs.csv"
    path.write_text(JOBS)
    former: Callable[..., object] = loading.pack

    def change(*args: object) -> object:
        path.write_text(LATER)
        return former(*args)

    monkeypatch.setattr(loading, "pack", change)
    with pytest.raises(CannotDo, match=r"jobs\.csv was changed while it was being loaded"):
        load_paths(workspace, [path], today=TODAY)
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT count(*) FROM history.job") == [(0,)]


def test_empty_and_large_files_are_kept_whole(county: Load, workspace: Workspace,
                                              monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    """Of several parts, in their order."""
    from pipeline.store.proof import originals

    monkeypatch.setattr(originals, "PART_BYTES", 64)
    county("jobs.csv", JOBS)
    with Store(workspace.store, read_only=True) as store:
        ((mark, parts),) = store.rows(
            "SELECT s.sha256, count(*) FROM meta.source AS s JOIN meta.original AS o USING (sha256) "
            "WHERE s.role = 'file' AND s.load_id = 4 GROUP BY ALL"
        )
        assert parts == -(-len(JOBS) // 64)
        assert originals.kept_bytes(store.con, mark).decode() == JOBS
