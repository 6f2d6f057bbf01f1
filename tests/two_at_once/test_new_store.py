"""Two first loads of one workspace: the store that one has made and filled is not replaced by the other's empty one."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import duckdb
import pytest

from pipeline.load.files import load_paths
from pipeline.store import checkpoint
from pipeline.store.store import Store
from pipeline.workspace.settings import make_workspace, open_workspace
from tests.conftest import TODAY
from tests.two_at_once.held import STORE_IS_MADE, held

if sys.platform == "win32":
    pytest.skip("pipes are passed by their numbers", allow_module_level=True)


def test_two_first_loads(tmp_path: Path) -> None:
    make_workspace(tmp_path)
    workspace = open_workspace(tmp_path)
    for name, club in (("one.csv", "ALD"), ("two.csv", "BRA")):
        (tmp_path / name).write_text(f"club,name\n{club},Some club\n")
    with held(STORE_IS_MADE, "load", tmp_path / "one.csv", "-w", tmp_path) as first:
        assert load_paths(workspace, [tmp_path / "two.csv"], today=TODAY)[0].counts.loaded == 1
        code, _, err = first.let_go()
    with Store(workspace.store, read_only=True) as store:
        assert [club for (club,) in store.rows("SELECT club FROM club ORDER BY club")] == ["ALD", "BRA"]
    assert (code, err.count("Traceback")) == (0, 0)


@pytest.mark.parametrize("read_only", [False, True])
def test_the_file_that_had_the_name_a_moment_ago_is_let_go(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, read_only: bool
) -> None:
    """Another process settles its log while this one opens the store: what is written to the former file is lost."""
    path, newer, plain = tmp_path / "store.duckdb", tmp_path / "newer", duckdb.connect
    for made, number in ((path, 1), (newer, 2)):
        with plain(str(made)) as con:
            con.execute(f"CREATE TABLE which AS SELECT {number} AS n")

    def replaced_meanwhile(*args: Any, **more: Any) -> duckdb.DuckDBPyConnection:
        con = plain(*args, **more)
        if newer.exists():
            newer.replace(path)
        return con

    monkeypatch.setattr(checkpoint.duckdb, "connect", replaced_meanwhile)
    with checkpoint.surely(path, read_only=read_only) as con:
        assert con.execute("SELECT n FROM which").fetchall() == [(2,)]
    assert not newer.exists()
