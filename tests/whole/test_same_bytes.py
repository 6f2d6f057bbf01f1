"""Same records, same bytes: whatever the threads, the hash seed and the folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.store.store import Store
from tests.thorough import beyond
from tests.twice.comparing import STORE, compared, differences
from tests.twice.making import GREENS, start


@pytest.mark.parametrize(("what", "least_documents", "least_rows"), [("least", 10, 1_000), ("few", 30, 10_000)])
@beyond(1)
def test_two_processes_make_the_same_files_and_the_same_store(
    tmp_path: Path, what: str, least_documents: int, least_rows: int
) -> None:
    """A report that cannot be made again byte by byte is no proof a year later: rows of one line came in any order."""
    folders = [tmp_path / "one", tmp_path / "another"]
    running = [start(folder, number, what) for number, folder in enumerate(folders)]
    for process in running:
        assert process.communicate()[1] == "" and process.returncode == 0
    with Store(folders[0] / STORE, read_only=True) as store:
        shared = store.rows("SELECT green FROM soil_test GROUP BY green, file, line HAVING count(*) > 2")
    assert set(GREENS) & {green for (green,) in shared}, "no green of the test has several soil tests on one line"
    assert list(folders[0].rglob("*-condition-*.pdf"))
    documents, rows = compared(folders[0])
    assert documents > least_documents and rows > least_rows
    assert differences(*folders) == []


def test_a_difference_is_found(tmp_path: Path) -> None:
    """A comparison that cannot fail proves nothing."""
    for name in ("one", "other"):
        (tmp_path / name).mkdir()
        with Store(tmp_path / name / STORE) as store:
            store.con.execute("INSERT INTO meta.rejects VALUES (?, '', '', '')", [name])
    (tmp_path / "one" / "a.pdf").write_bytes(b"same until here 1")
    (tmp_path / "other" / "a.pdf").write_bytes(b"same until here 2")
    (tmp_path / "one" / ".hidden").touch()
    found = differences(tmp_path / "one", tmp_path / "other")
    assert [line.partition(":")[0] for line in found] == [".hidden", "a.pdf", STORE]
    assert "number 16" in found[1] and "2 of them" in found[2]
