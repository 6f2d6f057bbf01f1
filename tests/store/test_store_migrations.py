"""A store of a former layout: brought up, it is the store that today's code makes of the same files."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path
from shutil import copytree

import duckdb
import polars as pl
import pytest
from polars.testing import assert_frame_equal

from pipeline.common.refusal import CannotDo
from pipeline.figures.refresh import refresh
from pipeline.load.files import load_paths
from pipeline.store.changes import changes
from pipeline.store.inventory import loads
from pipeline.store.layout import SCHEMA_VERSION
from pipeline.store.migrations import HASHES
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from schemas import KINDS
from tests.conftest import MATERIALS, TODAY, Load
from tests.thorough import thorough

FORMER = Path(__file__).parent / "former"
MARCH = (date(2026, 3, 1), date(2026, 3, 31))
STEPS = (
    "clubs.csv",
    "greens.csv",
    "lab_february.csv",
    "lab_february_corrected.csv",
    "log_march.csv",
    "log_march_complete.csv",
    "log_april.csv",
    "crew.csv",
    "greens_2026.csv",
    "lab_february.csv",
)
"""Files in the order of loading; a complete one is complete for March, and the load of April was taken back."""

WHEN = {
    "load": ["loaded_at"],
    "undone": ["loaded_at", "undone_at"],
    "layout": [],
    "rejects": ["sha256"],
    "fault": ["record", "of_value", "hint"],
}
"""Columns that tell when, in which no two stores agree; what no store of a former layout kept of a fault; and its hint,
which a store keeps in the words of its day."""


def _workspace(folder: Path) -> Workspace:
    folder.mkdir()
    make_workspace(folder)
    copytree(FORMER / "files", folder / "inbox", dirs_exist_ok=True)
    return open_workspace(folder)


@pytest.fixture
def former(tmp_path: Path) -> Workspace:
    """A workspace whose store was written by the last version of layout 2."""
    workspace = _workspace(tmp_path / "former")
    with duckdb.connect(str(workspace.store)) as con:
        con.execute((FORMER / "layout2.sql").read_text("utf-8"))
    return workspace


@pytest.fixture
def today(tmp_path: Path) -> Workspace:
    """A workspace into which the same files were loaded by the code as it is."""
    workspace = _workspace(tmp_path / "today")
    for name in STEPS:
        complete = MARCH if "complete" in name else None
        (result,) = load_paths(workspace, [workspace.folder / "inbox" / name], today=TODAY, complete=complete)
        if name == "log_april.csv":
            undo(workspace, result.load_id or 0)
    return workspace


def _as_they_stand(store: Store, kind: str) -> pl.DataFrame:
    """Every version of a kind's records, with its place among them: twins are paired by it."""
    return store.con.sql(f"SELECT row_number() OVER (ORDER BY rowid) AS place, * FROM history.{kind}").pl()


def _frames(workspace: Workspace) -> dict[str, pl.DataFrame]:
    """All that a store holds: every version of every record, what is in force, loads, faults, loads taken back."""
    with Store(workspace.store, read_only=True) as store:
        frames = {f"history {name}": _as_they_stand(store, name) for name in KINDS}
        frames |= {name: store.current(name) for name in KINDS} | {"application": store.frame("FROM application")}
        frames |= {name: store.frame(f"FROM meta.{name}").drop(when) for name, when in WHEN.items()}
        comments = "SELECT schema_name, table_name, column_name, comment FROM duckdb_columns() WHERE NOT internal"
        frames["comments"] = store.frame(comments)
    frames["changes"] = pl.DataFrame([one.as_json() for one in changes(workspace)]).drop("when")
    return frames


def _same(one: Workspace, other: Workspace) -> None:
    mine, its = _frames(one), _frames(other)
    assert mine.keys() == its.keys()
    for frames in (mine, its):  # what versions after the sample's layout say: a note, and the values in a warning
        for name, frame in frames.items():
            if "code" in frame.columns:
                message = pl.col("message").str.replace(r"the same record, .*\); what", "the same record; what")
                since = pl.col("code").is_in(["load.changed", "load.withdrawn"])
                closed = pl.col("code") == "load.closed"  # it names files and lines by now
                frame = frame.filter(~since).with_columns(message)  # noqa: PLW2901
                frames[name] = frame.with_columns(pl.when(~closed).then(one).alias(one) for one in ("value", "message"))
    for name, frame in mine.items():
        order = [column for column in frame.columns if frame[column].dtype != pl.Binary]
        assert_frame_equal(frame.sort(order), its[name].sort(order), check_column_order=False)


def test_every_way_a_row_may_go_stands_in_the_sample(former: Workspace) -> None:
    """A sample without them would let a migration that spoils them pass."""
    with duckdb.connect(str(former.store), read_only=True) as con:
        ways = con.execute(
            "SELECT ended_as FROM kept.job WHERE ended_by IS NOT NULL "
            "UNION SELECT ended_as FROM kept.soil_test WHERE ended_by IS NOT NULL ORDER BY ALL"
        ).fetchall()
        counts = con.execute(
            "SELECT sum(rejected), sum(retired), sum(withdrawn), sum(replaced) FROM meta.load"
        ).fetchall()
        undone = con.execute("SELECT file FROM meta.undone").fetchall()
        layout = con.execute("SELECT version FROM meta.layout").fetchall()
    assert ways == [("replaced",), ("retired",), ("withdrawn",)]
    assert counts == [(2, 1, 2, 4)]
    assert undone == [("log_april.csv",)]
    assert layout == [(2,)]


def test_a_store_of_the_former_layout_reads_as_one_made_today(former: Workspace, today: Workspace) -> None:
    """Every record, former value, load, fault, load taken back and explanation; and loading again changes nothing."""
    with Store(former.store) as store:
        assert store.rows("SELECT version FROM meta.layout") == [(SCHEMA_VERSION,)]
        schemas = store.rows("SELECT schema_name FROM duckdb_schemas() WHERE NOT internal ORDER BY ALL")
    assert schemas == [("derived",), ("history",), ("meta",)]
    _same(former, today)
    ended = {one["file"]: (one["superseded"], one["withdrawn"], one["closed"]) for one in loads(former)}
    assert ended["lab_february_corrected.csv"] == (1, 1, 0)
    assert ended["log_march_complete.csv"] == (1, 0, 1)
    (again,) = load_paths(former, [former.folder / "inbox" / "crew.csv"], today=TODAY)
    assert (again.counts.changed, again.counts.unchanged) == (0, 1)


@thorough
def test_loads_made_before_can_be_taken_back(former: Workspace, today: Workspace) -> None:
    """Newest first, those of the log and of the laboratory: what they ended is in force again."""
    for load_id in (8, 6, 5, 4):
        assert undo(former, load_id).as_json() == undo(today, load_id).as_json()
    _same(former, today)


def test_reading_alone_says_what_to_do(former: Workspace) -> None:
    """A report may not bring a store up, and may not read it wrongly either."""
    before = former.store.read_bytes()
    with pytest.raises(CannotDo) as caught:
        Store(former.store, read_only=True)
    assert caught.value.message == "The store store.duckdb has an older layout."
    assert caught.value.hint == (
        "swardtally doctor --bring-up brings it up, and so does loading a file; a former version cannot read it then."
    )
    assert former.store.read_bytes() == before


def test_a_migration_that_fails_leaves_the_store_as_it_was(former: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    """All of it or nothing: records half in one schema and half in another would be lost to both versions."""

    def full(*_: object) -> None:
        raise duckdb.IOException("No space left on device")

    monkeypatch.setattr("pipeline.store.migrations._rename_counts", full)
    with pytest.raises(CannotDo, match="could not be written: No space left on device"):
        Store(former.store)
    monkeypatch.undo()
    with duckdb.connect(str(former.store), read_only=True) as con:
        assert con.execute("SELECT count(*) FROM kept.job").fetchall() == [(6,)]
        assert con.execute("SELECT version FROM meta.layout").fetchall() == [(2,)]
    with Store(former.store) as store:
        assert store.rows("SELECT count(*) FROM history.job") == [(6,)]


@thorough
def test_a_store_of_the_first_layout_takes_both_steps(former: Workspace, today: Workspace) -> None:
    """It holds hashes that must not be null: with them no record could be added any more; and counts nothing closed."""
    with duckdb.connect(str(former.store)) as con:
        for name in HASHES:
            con.execute(f"ALTER TABLE kept.club ADD COLUMN {name} UUID DEFAULT uuid()")
            con.execute(f"ALTER TABLE kept.club ALTER COLUMN {name} SET NOT NULL")
        con.execute("UPDATE meta.layout SET version = 1")
    with Store(former.store):
        pass
    _same(former, today)


@thorough
def test_a_store_that_never_counted_what_was_closed_counts_none(former: Workspace) -> None:
    """The first stores had no such column, or NULL in it: a NULL would make the sum of a load's rows unknown."""
    with duckdb.connect(str(former.store)) as con:
        con.execute("ALTER TABLE meta.load DROP COLUMN retired")
        con.execute("ALTER TABLE meta.undone ALTER COLUMN retired DROP NOT NULL")
        con.execute("UPDATE meta.undone SET retired = NULL")
    with Store(former.store) as store:
        assert store.rows("SELECT sum(closed), count(closed), sum(withdrawn) FROM meta.load") == [(0, 8, 2)]
        assert store.rows("SELECT closed FROM meta.undone") == [(0,)]
    assert undo(former, 9).restored == 1


@thorough
def test_what_was_settled_in_layout_3_stays_settled(workspace: Workspace, county: Load) -> None:
    """Confirmed or mended before, a warning that came back with the upgrade could not be settled by loading again."""
    slip = "date,green,operation,material,packs\n2026-04-0{},ALD-1,fertiliser,spring granular 11-5-5 + 8 Fe,20\n"
    for day in (1, 2, 3):
        county(f"jobs{day}.csv", slip.format(day))
    (workspace.corrections / "confirmed.toml").write_text(
        '[[correction]]\nfile = "jobs1.csv"\nline = 2\ncolumn = "packs"\nfrom = "20"\nto = "20"\n'
        'why = "as ordered"\nwho = "office"\n'
    )
    county("jobs1.csv", slip.format(1))
    county("materials.csv", MATERIALS.replace("25 kg", "2.5 kg"))
    county("jobs2.csv", slip.format(2))
    asked = "SELECT DISTINCT file FROM meta.fault AS f JOIN meta.load USING (load_id) WHERE code = 'dose.high'"
    with Store(workspace.store) as store:
        before = store.rows(f"{asked} AND settled_by IS NULL ORDER BY ALL")
        for column in ("of_load", "of_line", "settled_by"):
            store.con.execute(f"ALTER TABLE meta.fault DROP COLUMN {column}")
        store.con.execute("UPDATE meta.layout SET version = 3, parts = ''")
    with Store(workspace.store) as store:
        assert store.rows(f"{asked} AND settled_by IS NULL ORDER BY ALL") == before == [("jobs3.csv",)]


def test_layout_5_is_told_the_species_its_words_named(workspace: Workspace, county: Load) -> None:
    """Its key held the class alone: read again, the same file would stand beside itself and be added up twice."""
    counts = (
        "date,green,observed,place,value,unit\n2026-03-16,ALD-1,Chewings fescue,Q1,40,%\n"
        "2026-03-16,ALD-1,fescue,Q2,30,%\n2026-03-16,ALD-1,Annual meadow-grass,Q1,20,%\n"
        "2026-03-16,ALD-1,clegg hardness,Q1,80,gravities\n"
    )
    county("counts.csv", counts)
    as_of = "SELECT place, observed, species_named FROM history.observation ORDER BY line"
    with Store(workspace.store, read_only=True) as store:
        now = store.rows(as_of)
    with duckdb.connect(str(workspace.store)) as con:
        con.execute('DROP VIEW "observation"; ALTER TABLE history.observation DROP COLUMN species_named')
        con.execute("UPDATE meta.layout SET version = 5")
    with Store(workspace.store) as store:
        assert store.rows(as_of) == now
    assert now[0] == ("Q1", "fescue", "chewings fescue")
    assert now[1:] == [("Q2", "fescue", None), ("Q1", "meadow_grass", None), ("Q1", "hardness", None)]
    again = county("counts.csv", counts)
    assert (again.counts.changed, again.counts.unchanged) == (0, 4)


@thorough
def test_what_is_made_from_records_loses_a_column_it_no_longer_has(workspace: Workspace, county: Load) -> None:
    """A column left behind that may not be empty would refuse every figure made from then on."""
    county("jobs.csv", "date,green,operation,hours\n2026-04-01,ALD-1,mowing,2\n")
    kept = "SELECT green, hours FROM job ORDER BY ALL"
    with Store(workspace.store) as store:
        store.con.execute("ALTER TABLE derived.figure ADD COLUMN judged_as VARCHAR")
        store.con.execute("ALTER TABLE derived.figure ALTER COLUMN judged_as SET NOT NULL")
        store.con.execute("UPDATE meta.layout SET parts = ''")
        before = store.rows(kept)
    with Store(workspace.store) as store:
        assert "judged_as" not in store.frame("SELECT * FROM derived.figure").columns
        assert refresh(store, workspace).made == 1
        assert store.rows(kept) == before


def test_layout_6_is_told_its_money_in_decimal(workspace: Workspace, county: Load) -> None:
    """A cost of 0.1 kept as a binary fraction is not 0.1; one with more decimals than are kept stands beside it as it
    was."""
    jobs = (
        "date,green,operation,hours,cost\n2026-04-01,ALD-1,mowing,2,240.1\n2026-04-02,ALD-1,mowing,3 hrs,0.3\n"
        "2026-04-03,ALD-1,mowing,2,\n2026-04-04,ALD-1,mowing,2,12.3456\n2026-04-05,ALD-1,mowing,2,1000000\n"
    )
    county("jobs.csv", jobs)
    as_of = "SELECT line, cost, written FROM history.job ORDER BY line"
    with Store(workspace.store, read_only=True) as store:
        now, prices = store.rows(as_of), store.rows("SELECT material, price FROM history.material ORDER BY ALL")
    with duckdb.connect(str(workspace.store)) as con:
        con.execute("ALTER TABLE history.job ALTER COLUMN cost TYPE DOUBLE")
        con.execute("ALTER TABLE history.material ALTER COLUMN price TYPE DOUBLE")
        con.execute("UPDATE history.job SET cost = 12.34565, written = NULL WHERE line = 5")
        con.execute("UPDATE history.job SET cost = 0.30005 WHERE line = 3")
        con.execute("UPDATE meta.layout SET version = 6")
    with Store(workspace.store) as store:
        assert store.rows("SELECT version FROM meta.layout") == [(SCHEMA_VERSION,)]
        found = store.rows(as_of)
        assert store.rows("SELECT material, price FROM history.material ORDER BY ALL") == prices
        types = (
            "SELECT DISTINCT data_type FROM duckdb_columns() WHERE column_name IN ('cost', 'price') AND NOT internal"
        )
        assert store.rows(f"{types} AND schema_name = 'history'") == [("DECIMAL(14,4)",)]
    assert found[0] == now[0] == (2, Decimal("240.1"), None)
    assert found[1] == (3, Decimal("0.3001"), '{"hours": "3 hrs", "cost": "0.30005"}')
    assert found[2] == now[2] == (4, None, None)
    assert found[3] == (5, Decimal("12.3457"), '{"cost": "12.34565"}')
    assert found[4] == (6, Decimal(1000000), None)
    assert ("spring granular 11-5-5 + 8 Fe", Decimal("31.5")) in prices


def test_a_store_of_layout_6_says_nothing_new_of_the_same_file(workspace: Workspace, county: Load) -> None:
    """A cost that came back as another number would be a correction that nobody made."""
    jobs = "date,green,operation,hours,cost\n2026-04-01,ALD-1,mowing,2,240.1\n2026-04-02,ALD-1,mowing,2,0.29\n"
    county("jobs.csv", jobs)
    with duckdb.connect(str(workspace.store)) as con:
        con.execute("ALTER TABLE history.job ALTER COLUMN cost TYPE DOUBLE")
        con.execute("UPDATE meta.layout SET version = 6")
    again = county("jobs, copied.csv", jobs)
    assert (again.counts.changed, again.counts.unchanged) == (0, 2)
