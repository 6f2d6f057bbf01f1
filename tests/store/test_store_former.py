"""A store of every layout since the first: once brought up it shows what it held, and works as one of now."""

from __future__ import annotations

import gzip
from decimal import Decimal
from pathlib import Path
from shutil import copytree
from typing import Any

import duckdb
import pytest

from pipeline.common.refusal import CannotDo
from pipeline.load.files import load_paths
from pipeline.store.balance import imbalances
from pipeline.store.layout import META, SCHEMA_VERSION
from pipeline.store.migrations import FORMER_CODES, FORMER_WORDS
from pipeline.store.store import BROUGHT_UP, Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from schemas import KINDS
from tests.conftest import TODAY
from tests.thorough import beyond

FORMER = Path(__file__).parent / "former"
SAMPLES = {int(path.name.split(".")[0].removeprefix("layout")): path for path in FORMER.glob("layout*.sql*")}
"""Layout → its sample: the files of former/files and former/more, loaded by the last version that wrote that layout."""
OF_PERSONS = ("load", "undone", "fault", "rejects", "rests_on", "decision")
"""Tables of what loads, faults and decisions were; ``rests_on`` is worked out anew up to layout 4."""
RESTS_SINCE = DECISIONS_SINCE = 5

Rows = list[dict[str, Any]]


def held(path: Path) -> dict[str, Rows]:
    """What a store holds by table, its rows in order, in the words of now: whatever its layout, read without ours."""
    with duckdb.connect(str(path), read_only=True) as con:
        sql = "SELECT schema_name, table_name FROM duckdb_tables() WHERE schema_name IN ('kept', 'history', 'meta')"
        found = {}
        for schema, table in sorted(con.execute(sql).fetchall()):
            rows = con.execute(f'SELECT * FROM {schema}."{table}" ORDER BY rowid')
            names = [one[0] for one in rows.description or ()]
            told = [dict(zip(names, row, strict=True)) for row in rows.fetchall()]
            found[table] = [_in_words_of_now(row) for row in told]
    return found


def _in_words_of_now(row: dict[str, Any]) -> dict[str, Any]:
    """A row in the words of now: what was called replaced is superseded, what was closed is counted once."""
    told = {FORMER_WORDS.get(name, name): value for name, value in row.items()}
    if "retired" in row:
        told["withdrawn"] -= told["closed"]
    if "ended_as" in told:
        told["ended_as"] = FORMER_WORDS.get(told["ended_as"], told["ended_as"])
    if "code" in told:
        told["code"] = FORMER_CODES.get(told["code"], told["code"])
    return told


def same(before: Any, after: Any) -> bool:
    """Whether a value is the same; of money that was a binary fraction, whether its shortest text is."""
    return bool(
        Decimal(str(before)) == after if isinstance(before, float) and isinstance(after, Decimal) else before == after
    )


def made(layout: int, folder: Path) -> Workspace:
    """A workspace whose store is the sample of a layout."""
    make_workspace(folder)
    here = open_workspace(folder)
    if layout >= DECISIONS_SINCE:
        copytree(FORMER / "decisions", here.decisions, dirs_exist_ok=True)
    content = SAMPLES[layout].read_bytes()
    with duckdb.connect(str(here.store)) as con:
        told = (gzip.decompress(content) if SAMPLES[layout].suffix == ".gz" else content).decode()
        con.execute(f"BEGIN; {told} COMMIT;")
    return here


def test_every_layout_has_its_sample() -> None:
    """A layout that is left behind without one could not be read any more, and no test would say so."""
    assert {*range(1, SCHEMA_VERSION)} <= SAMPLES.keys(), "python -m tests.store.former.dumped writes one"


@pytest.mark.parametrize("layout", sorted(SAMPLES))
def test_a_store_of_this_layout_shows_what_it_held(layout: int, tmp_path: Path) -> None:
    """Every version of every record in its place, every load, fault, decision; and it works as a store of now."""
    here = made(layout, tmp_path)
    before = held(here.store)
    assert before["layout"][0]["version"] == layout
    ways = {row["ended_as"] for kind in ("job", "soil_test", "green") for row in before[kind]}
    assert ways == {None, "superseded", "withdrawn", "closed"}, "the sample has something of each"
    assert [row["file"] for row in before["undone"]] == ["log_april.csv"]
    assert sum(row["rejected"] for row in before["load"]) >= 2
    assert layout < RESTS_SINCE or before["decision"]
    with Store(here.store) as store:
        assert store.rows("SELECT version FROM meta.layout") == [(SCHEMA_VERSION,)]
        for kind in KINDS:  # the views of all records and of all figures can be read
            in_force = [row for row in before.get(kind, []) if row["ended_by"] is None]
            assert store.current(kind).height == len(in_force), kind
        for (view,) in store.rows("SELECT view_name FROM duckdb_views() WHERE NOT internal"):
            store.frame(f'SELECT * FROM "{view}"')
        assert not list(imbalances(store))
    after = held(here.store)
    wanted = [
        name for name in (*KINDS, *OF_PERSONS) if name in before and (name != "rests_on" or layout >= RESTS_SINCE)
    ]
    for name in wanted:
        _all_there(name, before[name], after[name])


def _all_there(table: str, before: Rows, after: Rows) -> None:
    """Every row in its place with every value; what its layout did not know is not known."""
    assert len(before) == len(after), table
    for was, now in zip(before, after, strict=True):
        lost = was.keys() - now.keys() - {"key_hash", "row_hash"}
        assert not lost, f"{table}: {lost}"
        differing = {name for name in was.keys() & now.keys() if not same(was[name], now[name])}
        settled = {"settled_by"} if "settled_by" not in was else set()
        assert not differing, f"{table}: {differing} of {was} became {now}"
        gained = {name for name in now.keys() - was.keys() if now[name] is not None}
        assert gained <= settled | {"species_named", "closed"}, f"{table}: {gained}"


@beyond(2)
@pytest.mark.parametrize("layout", [min(SAMPLES), max(SAMPLES), *sorted(SAMPLES)[1:-1]])
def test_a_store_of_this_layout_takes_one_more_file_and_gives_it_back(layout: int, tmp_path: Path) -> None:
    """A store that can only be read any more, or that keeps a trace of what was taken back, is not the one it was."""
    here = made(layout, tmp_path)
    with Store(here.store):
        pass
    before = held(here.store)
    path = here.folder / "inbox" / "log_july.csv"
    path.write_text("date,green,operation,hours,cost\n2026-07-01,ALD-1,mowing,2,0.3\n2026-07-02,ALD-2,moing,1,\n")
    (result,) = load_paths(here, [path], today=TODAY)
    assert (result.counts.loaded, result.counts.rejected) == (1, 1)
    loaded = held(here.store)
    assert len(loaded["job"]) == len(before["job"]) + 1
    assert loaded["job"][-1]["cost"] == Decimal("0.3")
    assert undo(here, result.load_id or 0).removed == 1
    after = held(here.store)
    assert [row["file"] for row in after["undone"]] == ["log_april.csv", "log_july.csv"]
    for name in (*KINDS, "load", "fault", "rests_on", "decision"):
        assert after[name] == before[name], name
    assert set(after) >= set(META)


def test_what_fails_after_the_layout_was_brought_up_says_that_it_was(tmp_path: Path) -> None:
    """Exit code 3 means that nothing was changed; a former version can read this store no more."""
    here = made(SCHEMA_VERSION - 1, tmp_path)
    with pytest.raises(CannotDo) as told:
        undo(here, 999)
    assert told.value.hint.endswith(BROUGHT_UP)
    with pytest.raises(CannotDo) as again:
        undo(here, 999)
    assert not again.value.hint.endswith(BROUGHT_UP)
