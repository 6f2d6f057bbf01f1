"""Any sequence of loads, taken back newest first, leaves the store as it was before each."""

from __future__ import annotations

import tempfile
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.load.files import load_paths
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from schemas import KINDS
from tests.conftest import CLUBS, GREENS, MATERIALS, TODAY, Load

State = dict[str, list[tuple[object, ...]]]

JOB = st.tuples(st.integers(1, 4), st.sampled_from(["mowing", "rolling"]), st.sampled_from(["", "1", "2.5"]))
SOIL = st.tuples(
    st.integers(1, 3), st.sampled_from(["ph", "organic matter"]), st.sampled_from(["", "5.5", "6.1", "<0.5"])
)
JOBS = st.lists(JOB, max_size=6).map(
    lambda rows: (
        "jobs.csv",
        "date,green,operation,hours\n" + "".join(f"2026-03-0{d},ALD-1,{o},{h}\n" for d, o, h in rows),
    )
)
SOILS = st.lists(SOIL, max_size=5, unique_by=lambda row: row[:2]).map(
    lambda rows: (
        "soil.csv",
        "date,green,analyte,value,unit\n"
        + "".join(f"2026-02-0{d},ALD-1,{a},{v},{'pH' if a == 'ph' else '%'}\n" for d, a, v in rows),
    )
)


def state(workspace: Workspace) -> State:
    """Every version of every record, and the loads in force with what was told of them."""
    with Store(workspace.store, read_only=True) as store:
        tables = {name: store.rows(f"SELECT * FROM history.{name} ORDER BY ALL") for name in KINDS}
        tables["fault"] = store.rows("SELECT * FROM meta.fault ORDER BY ALL")
        return {**tables, "load": store.rows("SELECT * FROM meta.load ORDER BY load_id")}


@settings(max_examples=4, suppress_health_check=[HealthCheck.too_slow])
@given(files=st.lists(st.tuples(st.one_of(JOBS, SOILS), st.booleans()), min_size=1, max_size=5))
def test_undo_restores_exactly_what_was_before(files: list[tuple[tuple[str, str], bool]]) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        make_workspace(folder)
        workspace = open_workspace(folder)
        for register, text in (("clubs.csv", CLUBS), ("greens.csv", GREENS), ("materials.csv", MATERIALS)):
            (folder / register).write_text(text, "utf-8")
            load_paths(workspace, [folder / register], today=TODAY)
        before: list[tuple[int, State]] = []
        for (file, text), complete in files:
            (folder / file).write_text(text, "utf-8")
            earlier = state(workspace)
            days = (date(2026, 1, 1), date(2026, 12, 31)) if complete else None
            (result,) = load_paths(workspace, [folder / file], today=TODAY, complete=days)
            result.counts.check()
            if result.load_id is None:
                assert state(workspace) == earlier
            else:
                before.append((result.load_id, earlier))
        for load_id, earlier in reversed(before):
            undo(workspace, load_id)
            assert state(workspace) == earlier


def test_a_load_that_others_build_on_is_not_taken_back(county: Load, workspace: Workspace) -> None:
    first = county("jobs.csv", "date,green,operation\n2026-03-01,ALD-1,mowing\n")
    second = county("jobs.csv", "date,green,operation\n2026-03-01,ALD-1,mowing\n2026-03-02,ALD-1,mowing\n")
    assert (second.counts.unchanged, second.counts.loaded) == (1, 1)
    with pytest.raises(CannotDo, match=f"1 later load of the same kind \\({second.load_id}\\)"):
        undo(workspace, first.load_id or 0)
    undo(workspace, second.load_id or 0)
    undo(workspace, first.load_id or 0)
    with pytest.raises(WrongUsage, match="has been taken back already"):
        undo(workspace, first.load_id or 0)
    with pytest.raises(WrongUsage, match="There is no load 99"):
        undo(workspace, 99)


def test_a_register_whose_materials_sieves_name_is_not_taken_back(county: Load, workspace: Workspace) -> None:
    """A job may name a material that is in no register, a sieve analysis may not: loading refuses it, so does undo."""
    named = "70/30 sand and soil"
    assert not county("jobs.csv", f"date,green,operation,material\n2026-03-01,ALD-1,top dressing,{named}\n").failed
    head = "date,material,size_mm,basis,value,unit\n"
    sieves = county("sieves.csv", f"{head}2026-03-04,{named},0.25,passing,25,%\n")
    assert not sieves.failed
    with pytest.raises(CannotDo, match="1 sieve would name a material that is not in the register"):
        undo(workspace, 3)
    undo(workspace, sieves.load_id or 0)
    undo(workspace, 3)


def test_a_register_whose_greens_are_named_is_not_taken_back(county: Load, workspace: Workspace) -> None:
    county("jobs.csv", "date,green,operation\n2026-03-01,ALD-1,mowing\n")
    before = state(workspace)
    with pytest.raises(CannotDo, match="1 job would name a green that is not in the register"):
        undo(workspace, 2)
    assert state(workspace) == before


def test_a_number_taken_back_is_not_given_again(county: Load, workspace: Workspace) -> None:
    first = county("jobs.csv", "date,green,operation\n2026-03-01,ALD-1,mowing\n")
    undo(workspace, first.load_id or 0)
    again = county("jobs.csv", "date,green,operation\n2026-03-01,ALD-1,mowing\n")
    assert again.counts.loaded == 1
    assert (again.load_id or 0) > (first.load_id or 0)


def test_a_complete_file_closes_what_it_lacks_and_only_of_its_own_source(county: Load, workspace: Workspace) -> None:
    county(
        "a.csv",
        "date,green,operation,hours\n2026-03-01,ALD-1,mowing,1\n2026-03-08,ALD-1,mowing,1\n2026-04-01,ALD-1,rolling,2\n",
    )
    march = (date(2026, 3, 1), date(2026, 3, 31))
    result = county("a2.csv", "date,green,operation,hours\n2026-03-01,ALD-1,mowing,1\n", complete=march)
    assert (result.counts.unchanged, result.counts.closed, result.counts.rows) == (1, 1, 2)
    (warning,) = result.faults.filter(result.faults["code"] == "load.closed")["message"].to_list()
    assert "1 records of this source between 2026-03-01 and 2026-03-31" in warning
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT date FROM job ORDER BY date") == [(date(2026, 3, 1),), (date(2026, 4, 1),)]
        assert store.rows("SELECT ended_as FROM history.job WHERE ended_by IS NOT NULL") == [("closed",)]


def test_a_complete_file_with_rejected_rows_closes_nothing(county: Load) -> None:
    county("a.csv", "date,green,operation\n2026-03-01,ALD-1,mowing\n2026-03-08,ALD-1,mowing\n")
    march = (date(2026, 3, 1), date(2026, 3, 31))
    result = county(
        "a2.csv", "date,green,operation\n2026-03-01,ALD-1,mowing\n2026-03-08,ALD-1,mowning\n", complete=march
    )
    assert (result.counts.unchanged, result.counts.rejected, result.counts.closed) == (1, 1, 0)
    assert "load.not_closed" in result.faults["code"].to_list()


def test_a_mended_row_stands_beside_the_twin_that_was_loaded(county: Load, workspace: Workspace) -> None:
    """Two mowings of one day, one misspelt: mended, it is a second job, and never takes the first one's place."""
    first = county("jobs.csv", "date,green,operation,hours\n2026-03-01,ALD-1,mowing,2\n2026-03-01,ALD-1,mowning,3\n")
    assert (first.counts.loaded, first.counts.rejected) == (1, 1)
    assert first.rejects_file is not None
    mended = first.rejects_file.read_text("utf-8-sig").replace("mowning", "mowing", 1)
    second = county(first.rejects_file.name, mended)
    assert (second.counts.loaded, second.counts.superseded) == (1, 0)
    again = county(first.rejects_file.name, mended + "\n")
    assert (again.counts.loaded, again.counts.unchanged) == (0, 1)
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT hours FROM job ORDER BY hours") == [(2.0,), (3.0,)]
