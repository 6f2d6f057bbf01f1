"""Any sequence of loads, taken back newest first, leaves the store as it was before each."""

from __future__ import annotations

import tempfile
from datetime import date
from pathlib import Path
from shutil import copyfile

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.load.files import load_paths
from pipeline.store.inventory import loads
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.verify.verify import verify
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from schemas import KINDS
from tests.conftest import TODAY, Load
from tests.thorough import beyond, examples, thorough

pytestmark = pytest.mark.both_stores(
    ordinary=("test_undo_restores_exactly_what_was_before", "test_a_load_taken_back_from_the_midst_never_was")
)

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


@settings(max_examples=examples(2, 4), suppress_health_check=[HealthCheck.too_slow])
@given(files=st.lists(st.tuples(st.one_of(JOBS, SOILS), st.booleans()), min_size=1, max_size=5))
def test_undo_restores_exactly_what_was_before(
    registers: tuple[Path, Path], files: list[tuple[tuple[str, str], bool]]
) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        workspace = _county(folder, registers[1])
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
        _assert_whole(workspace)
        for load_id, earlier in reversed(before):
            undo(workspace, load_id)
            assert state(workspace) == earlier


def _assert_whole(workspace: Workspace) -> None:
    """The store is what its chain says and what its originals make."""
    found = verify(workspace)
    assert found.whole, (found.alterations, found.differences, found.unread)


def _county(folder: Path, registers: Path) -> Workspace:
    """A workspace with one club, one green and two materials."""
    make_workspace(folder)
    workspace = open_workspace(folder)
    copyfile(registers, workspace.store)
    return workspace


def _in_force(workspace: Workspace) -> dict[str, list[tuple[object, ...]]]:
    """What the records in force say, whichever load of theirs brought them."""
    with Store(workspace.store, read_only=True) as store:
        fields = {name: ", ".join(f'"{field.name}"' for field in KINDS[name].stored) for name in ("job", "soil_test")}
        return {name: store.rows(f"SELECT {names} FROM {name} ORDER BY ALL") for name, names in fields.items()}


def _load_all(workspace: Workspace, files: list[tuple[tuple[str, str], bool]]) -> list[int | None]:
    """Loads the files one after the other, each under a name of its own; the numbers of the loads."""
    numbers = []
    for i, ((file, text), complete) in enumerate(files):
        path = workspace.folder / f"{i}-{file}"
        path.write_text(text, "utf-8")
        days = (date(2026, 1, 1), date(2026, 12, 31)) if complete else None
        numbers.append(load_paths(workspace, [path], today=TODAY, complete=days)[0].load_id)
    return numbers


@settings(max_examples=examples(2, 6), suppress_health_check=[HealthCheck.too_slow])
@given(
    files=st.lists(
        st.tuples(st.one_of(JOBS, SOILS), st.sampled_from([False, False, True])),
        min_size=2, max_size=5, unique_by=lambda one: one[0][1],
    ),
)  # fmt: skip
def test_a_load_taken_back_from_the_midst_never_was(
    registers: tuple[Path, Path], files: list[tuple[tuple[str, str], bool]]
) -> None:
    """Each load that nothing later rests on, alone: what is in force is what the others would have made without it."""
    with tempfile.TemporaryDirectory() as name:
        whole = _county(Path(name), registers[1])
        numbers = _load_all(whole, files)
        loaded = whole.store.read_bytes()
        for i, number in enumerate(numbers):
            if number is None:
                continue
            whole.store.write_bytes(loaded)
            try:
                undo(whole, number)
            except CannotDo as refused:
                assert f"Load {number} cannot be taken back" in refused.message
                assert any(f"load {later} " in refused.message for later in numbers[i + 1 :] if later), refused.message
                continue
            left = _in_force(whole)
            _assert_whole(whole)
            copyfile(registers[1], whole.store)
            _load_all(whole, files[:i] + files[i + 1 :])
            assert left == _in_force(whole), (files, i)


@thorough
def test_seven_later_loads_that_have_nothing_to_do_with_it_stay(county: Load, workspace: Workspace) -> None:
    """To mend one wrong file, seven months of logs had to be taken back and loaded again."""
    wrong = county("january.csv", "date,green,operation\n2026-01-05,ALD-1,mowing\n")
    for month in range(2, 9):
        county(f"month{month}.csv", f"date,green,operation\n2026-0{month}-05,ALD-1,mowing\n")
    done = undo(workspace, wrong.load_id or 0)
    assert (done.removed, done.restored) == (1, 0)
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT month(date) FROM job ORDER BY ALL") == [(month,) for month in range(2, 9)]


def test_a_load_that_others_rest_on_names_each_and_why(county: Load, workspace: Workspace) -> None:
    """One later load says its records again, one changed one, one is of other days and is not named."""
    head = "date,green,operation,hours\n"
    first = county("jobs.csv", f"{head}2026-03-01,ALD-1,mowing,1\n2026-03-02,ALD-1,mowing,1\n")
    county("other.csv", f"{head}2026-05-02,ALD-1,mowing,1\n")
    county("jobs_2.csv", f"{head}2026-03-01,ALD-1,mowing,1\n2026-03-02,ALD-1,mowing,2\n")
    county("jobs_3.csv", f"{head}2026-03-01,ALD-1,mowing,1\n2026-03-04,ALD-1,mowing,2\n")
    with pytest.raises(CannotDo) as caught:
        undo(workspace, first.load_id or 0)
    assert caught.value.message == (
        "Load 4 cannot be taken back, for what came later rests on it: load 6 (jobs_2.csv) changed or ended 1 record "
        "of it and says 1 record of it again; load 7 (jobs_3.csv) says 1 record of it again."
    )
    assert caught.value.hint == "Take back those first, newest first: swardtally undo 7"
    for load_id in (7, 6, 4):
        undo(workspace, load_id)
    with pytest.raises(WrongUsage, match="has been taken back already"):
        undo(workspace, first.load_id or 0)
    with pytest.raises(WrongUsage, match="There is no load 99"):
        undo(workspace, 99)
    assert [one["file"] for one in loads(workspace) if not one["undone_at"]][-1] == "other.csv"


def test_what_was_closed_and_came_again_is_not_there_twice(county: Load, workspace: Workspace) -> None:
    """Taking the closing back would put the closed job beside the one that came for it since."""
    head = "date,green,operation,hours\n"
    county("jobs.csv", f"{head}2026-03-01,ALD-1,mowing,1\n2026-03-02,ALD-1,mowing,1\n")
    closing = county("jobs_2.csv", f"{head}2026-03-02,ALD-1,mowing,1\n", complete=(date(2026, 3, 1), date(2026, 3, 31)))
    county("jobs_3.csv", f"{head}2026-03-01,ALD-1,mowing,1\n")
    with pytest.raises(CannotDo, match=r"load 6 \(jobs_3.csv\) holds 1 record in place of what it ended"):
        undo(workspace, closing.load_id or 0)


def test_what_two_files_took_back_stays_taken_back(county: Load, workspace: Workspace) -> None:
    """Each of the two leaves the result blank: without the one, the other would have taken it back."""
    head = "date,green,analyte,value,unit\n2026-02-02,ALD-1,ph,"
    county("lab.csv", f"{head}5.5,pH\n")
    taken = county("lab_2.csv", f"{head},pH\n")
    county("lab_3.csv", f"{head},pH\n2026-02-03,ALD-1,ph,6,pH\n")
    with pytest.raises(CannotDo, match=r"load 6 \(lab_3.csv\) lacks 1 record that it took back"):
        undo(workspace, taken.load_id or 0)


def test_what_two_complete_files_lack_stays_closed(county: Load, workspace: Workspace) -> None:
    head = "date,green,operation,hours\n2026-03-02,ALD-1,mowing,1\n"
    county("jobs.csv", f"{head}2026-03-01,ALD-1,mowing,1\n")
    march = (date(2026, 3, 1), date(2026, 3, 31))
    closing = county("jobs_2.csv", f"{head}2026-03-05,ALD-1,rolling,1\n", complete=march)
    county("jobs_3.csv", head.replace("03-02,ALD-1,mowing", "03-08,ALD-1,rolling"), complete=march)
    with pytest.raises(
        CannotDo, match=r"load 6 \(jobs_3.csv\) changed or ended 1 record of it and lacks 1 record that"
    ):
        undo(workspace, closing.load_id or 0)


def test_a_load_taken_back_stays_in_the_history(county: Load, workspace: Workspace) -> None:
    """With what it held and when it was taken back: it was gone without a trace."""
    gone = county("jobs.csv", "date,green,operation\n2026-03-01,ALD-1,mowing\n2026-03-02,ALD-1,mowing\n")
    undo(workspace, gone.load_id or 0)
    last = loads(workspace)[-1]
    assert (last["load_id"], last["file"], last["rows"], last["loaded"]) == (gone.load_id, "jobs.csv", 2, 2)
    assert last["undone_at"] is not None
    assert all(one["undone_at"] is None for one in loads(workspace)[:-1])


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
    assert warning == (
        "No longer in force, for the file does not hold what its source (files named like a2.csv but for dates and "
        "numbers) said between 2026-03-01 and 2026-03-31: 1 record (line 3 of a.csv)."
    )
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT date FROM job ORDER BY date") == [(date(2026, 3, 1),), (date(2026, 4, 1),)]
        assert store.rows("SELECT ended_as FROM history.job WHERE ended_by IS NOT NULL") == [("closed",)]


@pytest.mark.parametrize(
    ("others", "closes"),
    [
        pytest.param("crewB.csv", False, id="another crew's file"),
        pytest.param("crewA March whole.csv", True, id="a month of it"),
        pytest.param("crewA.rejected.csv", True, id="its rejected rows, mended"),
    ],
)
@beyond(1)
def test_a_complete_file_without_a_profile_closes_what_files_named_like_it_said(
    county: Load, others: str, closes: bool
) -> None:
    """Two crews that use the known headers were one source: the file of one closed the other's jobs."""
    head = "date,green,operation,hours\n"
    county(others, f"{head}2026-03-08,ALD-1,mowing,1\n")
    march = (date(2026, 3, 1), date(2026, 3, 31))
    result = county("crewA2.csv", f"{head}2026-03-01,ALD-1,mowing,1\n", complete=march)
    assert result.counts.closed == int(closes)


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
