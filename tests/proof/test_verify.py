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
    former: Callable[..., object] = loading.match

    def change(*args: object) -> object:
        path.write_text(LATER)
        return former(*args)

    monkeypatch.setattr(loading, "match", change)
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
