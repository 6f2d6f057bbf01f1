"""A store whose rows are fewer or more than its loads have brought says so."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.cli.doctor import look_at
from pipeline.load.files import load_paths
from pipeline.store.balance import Imbalance, imbalances
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load
from tests.load.test_load_store import JOBS, MOW

pytestmark = pytest.mark.both_stores(ordinary=("test_rows_that_were_lost_or_stand_twice_are_told",))


def found(workspace: Workspace) -> list[Imbalance]:
    with Store(workspace.store, read_only=True) as store:
        return list(imbalances(store))


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("DELETE FROM history.job WHERE line = 2", "job: 1 counted, 1 met, 2 by the ledger"),
        ("INSERT INTO history.job FROM history.job", "job: 4 counted, 4 met, 2 by the ledger"),
        ("UPDATE meta.load SET loaded = 5 WHERE kind = 'job'", "job: 2 counted, 2 met, 5 by the ledger"),
    ],
)
def test_rows_that_were_lost_or_stand_twice_are_told(
    county: Load, workspace: Workspace, tmp_path: Path, change: str, told: str
) -> None:
    path = tmp_path / "log.csv"
    path.write_text(JOBS + MOW + MOW.replace("2026-05", "2026-06"), "utf-8")
    load_paths(workspace, [path], today=TODAY)
    assert not found(workspace)
    with Store(workspace.store) as store, store.transaction() as con:
        con.execute(change)
    assert [str(one) for one in found(workspace)] == [told]
    (row,) = (one for one in look_at(workspace.folder) if one.what == "Rows")
    assert not row.fine
    assert row.found == told


def test_what_is_superseded_taken_back_and_loaded_again_adds_up(
    county: Load, workspace: Workspace, tmp_path: Path
) -> None:
    path = tmp_path / "log.csv"
    for text in (JOBS + MOW, JOBS + MOW.replace("1.5", "2"), JOBS + MOW + MOW, JOBS + MOW):
        path.write_text(text, "utf-8")
        load_paths(workspace, [path], today=TODAY)
        assert not found(workspace)
    with Store(workspace.store, read_only=True) as store:
        ((last,),) = store.rows("SELECT max(load_id) FROM meta.load")
    undo(workspace, last)
    assert not found(workspace)
    (row,) = (one for one in look_at(workspace.folder) if one.what == "Rows")
    assert row.fine
