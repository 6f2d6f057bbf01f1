"""What was committed is in the store's file, or in the log beside it: never between, whatever fails on the way."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import duckdb
import pytest

from pipeline.store import checkpoint
from pipeline.store.checkpoint import log_of
from pipeline.store.store import Store


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A store with one row of a table of ours."""
    made = tmp_path / "store.duckdb"
    with Store(made) as store, store.transaction() as con:
        con.execute("CREATE TABLE main.tried (n BIGINT)")
        con.execute("INSERT INTO main.tried VALUES (1)")
    assert [one.name for one in tmp_path.iterdir()] == ["store.duckdb"]
    return made


def add(path: Path) -> None:
    """Commit one more row."""
    with Store(path) as store, store.transaction() as con:
        con.execute("INSERT INTO main.tried SELECT count(*) + 1 FROM main.tried")


def held(path: Path) -> int:
    """How many rows a reader sees."""
    with Store(path, read_only=True) as store:
        return int(store.rows("SELECT count(*) FROM main.tried")[0][0])


def test_a_log_that_cannot_go_into_the_store_stays_until_it_can(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full disk has no room for the copy: what was committed is read from the two files, and goes in later."""

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(shutil, "copyfileobj", full)
    before = path.read_bytes()
    add(path)
    assert (path.read_bytes(), log_of(path).exists(), held(path)) == (before, True, 2)
    monkeypatch.undo()
    add(path)
    assert held(path) == 3
    assert [one.name for one in path.parent.iterdir()] == ["store.duckdb"]


@pytest.mark.parametrize("writing", [True, False])
@pytest.mark.parametrize("storage", ["v1.0.0", "v1.4.0"])
@pytest.mark.parametrize("after", range(6))
def test_wherever_it_ends_nothing_is_lost_and_nothing_read_twice(
    path: Path, monkeypatch: pytest.MonkeyPatch, writing: bool, storage: str, after: int
) -> None:
    """A log that was in the store already was read once more where the store is of an older format of DuckDB."""
    path.unlink()
    duckdb.connect(str(path), config={"storage_compatibility_version": storage}).close()
    with Store(path) as store, store.transaction() as con:
        con.execute("CREATE TABLE main.tried (n BIGINT)")
        con.execute("INSERT INTO main.tried VALUES (1)")
    steps: list[int] = []

    def stopping(real: Callable[..., object]) -> Callable[..., object]:
        def call(*given: object, **named: object) -> object:
            if len(steps) == after:
                raise OSError(5, "Input/output error")
            steps.append(1)
            return real(*given, **named)

        return call

    with monkeypatch.context() as patch:
        for owner, name in ((checkpoint, "sync"), (Path, "replace"), (Path, "unlink")):
            patch.setattr(owner, name, stopping(getattr(owner, name)))
        add(path)
    if writing:
        add(path)
    assert held(path) == (3 if writing else 2)
    if writing or after not in {0, 1}:
        assert [one.name for one in path.parent.iterdir()] == ["store.duckdb"]


def test_nobody_else_writes_while_the_copy_is_made(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A process that closes any handle of a file lets go of its locks on it: another one's load would be lost."""
    real, said = shutil.copyfileobj, []
    code = f"import duckdb; duckdb.connect({str(path)!r})"

    def copied(*given: object) -> None:
        real(*given)  # type: ignore[arg-type]
        said.append(subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False).stderr)

    monkeypatch.setattr(shutil, "copyfileobj", copied)
    add(path)
    assert len(said) == 2
    assert all("Could not set lock" in one for one in said)
    assert held(path) == 2
