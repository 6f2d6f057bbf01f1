"""A file read again says nothing new: what a later file changed stays changed, and an inbox may be loaded daily."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.load.files import load_paths
from pipeline.load.load import Loader
from pipeline.load.result import FileResult
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Settings, Workspace
from tests.conftest import CLUBS, GREENS, MATERIALS, TODAY, Load
from tests.load.test_load_store import JOBS, MOW, SOIL, balanced, codes, kept, rows, same
from tests.thorough import examples

pytestmark = pytest.mark.both_stores(ordinary=("test_an_inbox_loaded_three_times_is_changed_once",))

LINE = "2026-02-{day},ALD-1,{what},0,20,Lab A,{value},{unit}\n"
MARCH = (date(2026, 3, 1), date(2026, 3, 31))


def soil(**values: str) -> str:
    """A laboratory's sheet: pH, iron and zinc of one day, and iron of the next day."""
    units = {"ph": "pH", "iron": "mg/kg", "zinc": "mg/kg"}
    return SOIL + "".join(LINE.format(day=10, what=w, value=v, unit=units[w]) for w, v in values.items())


def told(result: FileResult, code: str) -> list[str]:
    return result.faults.filter(result.faults["code"] == code)["message"].to_list()


def test_an_inbox_loaded_three_times_is_changed_once(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """Two issues of one sheet lie in it: pass by pass, each took back what the other said."""
    inbox = tmp_path / "inbox"
    inbox.mkdir()
    files = {
        "lab_2026.csv": soil(ph="6.1", iron="90", zinc=""),
        "lab_2026_reissue.csv": soil(ph="6.4", iron="", zinc="2"),
        "greens_2025.csv": GREENS.replace("1600", "1444"),
        "greens_2026.csv": GREENS.replace("1600", "1450"),
        "log_may.csv": JOBS + MOW + MOW,
        "log_june.csv": JOBS + MOW + MOW.replace("1.5", "3"),
    }
    for name, text in files.items():
        (inbox / name).write_text(text)
    first = load_paths(workspace, [inbox], today=TODAY)
    assert all(one.counts.effect for one in first)
    before = kept(workspace)
    for _ in range(2):
        passed = {one.file: one for one in load_paths(workspace, [inbox], today=TODAY)}
        assert [one.file for one in passed.values() if one.counts.effect or one.load_id or one.failed] == []
        assert same(before, kept(workspace))
        assert balanced(passed["lab_2026.csv"]) == (3, 0, 2, 0, 0, 0, 1)
        assert balanced(passed["log_june.csv"]) == (2, 0, 2, 0, 0, 0, 0)
        (note,) = told(passed["lab_2026.csv"], "load.superseded")
        number = rows(workspace, "SELECT load_id FROM meta.load WHERE file = 'lab_2026_reissue.csv'")[0][0]
        assert note == (
            f"This file was loaded before. Since then lab_2026_reissue.csv (load {number}) changed 3 rows of it; "
            "the later values stand."
        )
        assert told(passed["greens_2025.csv"], "load.superseded")
        # log_june.csv came first, by name: log_may.csv gave one of its jobs the former hours
        assert told(passed["log_june.csv"], "load.superseded")
        assert codes(passed["lab_2026_reissue.csv"]) == []
    assert rows(workspace, "SELECT analyte, value FROM soil_test ORDER BY ALL") == [("ph", 6.4), ("zinc", 2.0)]
    assert rows(workspace, "SELECT area_m2 FROM green") == [(1450.0,)]


def test_the_older_issue_loaded_alone_stays_the_older(county: Load, workspace: Workspace) -> None:
    """The note names the load to take back for it, and taking that back does it; under a new name it is a warning."""
    older, newer = soil(ph="6.1"), soil(ph="6.4")
    county("lab.csv", older)
    second = county("lab_reissue.csv", newer)
    copy = county("lab (1).csv", older)
    assert balanced(copy) == (1, 0, 1, 0, 0, 0, 0)
    assert (copy.load_id, copy.counts.warnings) == (None, 1)
    assert told(copy, "load.superseded_copy") == [
        "These very bytes were loaded before, as lab.csv. Since then lab_reissue.csv (load 5) changed 1 row of them; "
        "the later values stand."
    ]
    again = county("lab.csv", older)
    assert balanced(again) == (1, 0, 1, 0, 0, 0, 0)
    assert (again.load_id, again.counts.warnings) == (None, 0)
    (hint,) = again.faults.filter(again.faults["code"] == "load.superseded")["hint"].to_list()
    assert hint == (
        f"To go back to what this file says, take the later load back (undo {second.load_id}). "
        "What it changed: history --file lab_reissue.csv."
    )
    assert rows(workspace, "SELECT value FROM soil_test") == [(6.4,)]
    undo(workspace, second.load_id or 0)
    assert rows(workspace, "SELECT value FROM soil_test") == [(6.1,)]
    assert codes(county("lab.csv", older)) == []
    assert balanced(county("lab.csv", older)) == (1, 0, 1, 0, 0, 0, 0)
    assert balanced(county("lab_reissue.csv", newer)) == (1, 0, 0, 1, 0, 0, 0)


def test_a_file_whose_load_was_taken_back_is_new_again(county: Load, workspace: Workspace) -> None:
    """Nothing of it is known any more: it may take a later file's place, as any new one may."""
    first = county("lab.csv", soil(ph="6.1"))
    undo(workspace, first.load_id or 0)
    county("lab_reissue.csv", soil(ph="6.4"))
    assert balanced(county("lab.csv", soil(ph="6.1"))) == (1, 0, 0, 1, 0, 0, 0)


@pytest.mark.parametrize("third", ["lab_3.csv", "quillbrook.csv"])
def test_another_file_that_says_the_former_value_goes_back_and_says_so(
    county: Load, workspace: Workspace, third: str
) -> None:
    """A third issue that equals the first in value is a correction: it counts, and is never taken in silence."""
    county("lab_1.csv", soil(ph="6.1", iron="90"))
    county("lab_2.csv", soil(ph="6.4", iron=""))
    result = county(third, "# issue 3\n" + soil(ph="6.1", iron="90"))
    assert balanced(result) == (2, 1, 0, 1, 0, 0, 0)
    assert rows(workspace, "SELECT value FROM soil_test ORDER BY 1") == [(6.1,), (90.0,)]
    back = "Says again what line {} of lab_1.csv (load 4) said before lab_2.csv (load 5) changed it or took it back; "
    back += "this file came last, so it stands."
    values = "value: 6.4 there, 6.1 here"
    record = "2026-02-10, ALD-1, ph, 0, 20, Lab A"
    other = f"line 2 of lab_2.csv said something else of the same record, {record} ({values}); what {{}} says took its "
    other += "place, the former values are kept."
    changed = f"{record}: {values}. What line 2 of lab_2.csv said is kept as its former value."
    own = [("load.changed", changed), ("load.goes_back", back.format(2))]
    ph = own if third == "lab_3.csv" else [("record.other_file", other.format(third))]
    assert list(zip(codes(result), result.faults["message"], strict=True)) == [*ph, ("load.goes_back", back.format(3))]
    assert result.counts.warnings == 2
    assert codes(county(third, "# issue 3\n" + soil(ph="6.1", iron="90"))) == []
    assert not county("lab_2.csv", soil(ph="6.4", iron="")).counts.effect
    assert not county("lab_1.csv", soil(ph="6.1", iron="90")).counts.effect


def test_a_longer_export_that_repeats_a_former_value_warns(county: Load, workspace: Workspace) -> None:
    """The source was not mended: the export that comes last stands, by the rule for any other file, and is named."""
    county("log_05.csv", JOBS + MOW)
    county("log_05_corrected.csv", JOBS + MOW.replace("1.5", "2.5"))
    longer = county("log_06.csv", JOBS + MOW + "2026-06-01,ALD-1,edging,1,crew A\n")
    assert balanced(longer) == (2, 1, 0, 1, 0, 0, 0)
    assert codes(longer) == ["load.replaces", "load.goes_back"]


def test_what_was_taken_back_stays_so(county: Load, workspace: Workspace) -> None:
    """Withdrawn by a blank result, or closed by a complete file: the older file may not bring it back unasked."""
    county("lab.csv", soil(ph="6.1", iron="90"))
    county("lab_2.csv", soil(ph="6.1", iron=""))
    assert balanced(county("lab.csv", soil(ph="6.1", iron="90"))) == (2, 0, 2, 0, 0, 0, 0)
    head = "date,green,operation,hours\n"
    whole = head + "2026-03-01,ALD-1,mowing,1\n2026-03-08,ALD-1,mowing,1\n"
    county("log.csv", whole)
    county("log_2.csv", head + "2026-03-01,ALD-1,mowing,1\n", complete=MARCH)
    for complete in (None, MARCH):
        again = county("log.csv", whole, complete=complete)
        assert balanced(again) == (2, 0, 2, 0, 0, 0, 0)
        assert codes(again) == ["load.superseded"]
    assert rows(workspace, "SELECT date FROM job") == [(date(2026, 3, 1),)]


def test_a_complete_file_read_again_closes_nothing_that_came_since(county: Load, workspace: Workspace) -> None:
    """Complete it was when it came; what a later export added it could not hold."""
    head = "date,green,operation,hours\n"
    march = head + "2026-03-01,ALD-1,mowing,1\n"
    county("log.csv", march, complete=MARCH)
    county("log_2.csv", march + "2026-03-08,ALD-1,mowing,1\n", complete=MARCH)
    again = county("log.csv", march, complete=MARCH)
    assert balanced(again) == (1, 0, 1, 0, 0, 0, 0)
    assert told(again, "load.spared") == [
        "Still in force, for it came after the file was first loaded, though the file does not hold it: 1 record of "
        "its source (files named like log.csv but for dates and numbers) between 2026-03-01 and 2026-03-31 (line 3 of "
        "log_2.csv)."
    ]
    assert len(rows(workspace, "SELECT date FROM job")) == 2


def test_a_file_read_by_other_rules_obeys_them_but_for_what_a_later_file_changed(
    county: Load, workspace: Workspace
) -> None:
    """A mended profile reads two values anew; the one a re-issue has replaced since stays the re-issue's."""
    profile = workspace.profiles / "lab.toml"
    text = (
        'name = "lab"\nkind = "soil_test"\n[match]\nheaders = ["Tested", "Site"]\n[constants]\nunit = "{unit}"\n'
        '[fields]\ndate = "Tested"\ngreen = "Site"\nanalyte = "What"\nvalue = "Result"\n'
    )
    profile.write_text(text.format(unit="%"))
    head = "Tested,Site,What,Result\n"
    older = head + "2026-02-10,ALD-1,organic matter,4\n2026-02-11,ALD-1,organic matter,5\n"
    newer = head + "2026-02-10,ALD-1,organic matter,6\n"
    assert not county("lab.csv", older).failed
    county("lab_2.csv", newer)
    profile.write_text(text.format(unit="g/kg"))
    assert balanced(county("lab.csv", older)) == (2, 0, 1, 1, 0, 0, 0)
    assert rows(workspace, "SELECT value FROM soil_test ORDER BY date") == [(6.0,), (0.5,)]
    assert balanced(county("lab_2.csv", newer)) == (1, 0, 0, 1, 0, 0, 0)
    assert not county("lab.csv", older).counts.effect
    profile.write_text(text.format(unit="%"))
    assert balanced(county("lab.csv", older)) == (2, 0, 1, 1, 0, 0, 0)
    assert rows(workspace, "SELECT round(value, 3) FROM soil_test ORDER BY date") == [(0.6,), (5.0,)]


def test_a_file_with_rejected_rows_is_told_each_time_and_kept_once(county: Load, workspace: Workspace) -> None:
    """Each pass over an inbox added a load to the history and said in reports that rows mended since were missing."""
    text = JOBS + MOW + MOW.replace("mowing", "moing")
    county("log.csv", text)
    again = county("log (1).csv", text)  # under another source's name it would be kept, for a person to decide about
    assert (again.counts.rejected, again.load_id) == (1, None)
    assert rows(workspace, "SELECT count(*) FROM meta.load WHERE kind = 'job'") == [(1,)]
    assert rows(workspace, "SELECT count(*) FROM meta.fault") == [(1,)]


DAY, VALUE = st.integers(1, 2), st.sampled_from(["", "5", "6", "7"])
SHEET = st.lists(st.tuples(DAY, VALUE), min_size=1, max_size=2, unique_by=lambda row: row[0]).map(
    lambda found: ("soil", SOIL + "".join(LINE.format(day=10 + d, what="ph", value=v, unit="pH") for d, v in found))
)
LOG = st.lists(st.tuples(DAY, st.sampled_from("123")), min_size=1, max_size=4).map(
    lambda found: ("log", JOBS + "".join(f"2026-03-0{d},ALD-1,mowing,{h},\n" for d, h in found))
)
FILES = st.lists(
    st.tuples(st.one_of(SHEET, LOG), st.booleans()), min_size=2, max_size=6, unique_by=lambda one: one[0][1]
)


@pytest.fixture(scope="module")
def small_county() -> Iterator[Callable[..., FileResult]]:
    """Loads a text as a file of that name into a store in memory that holds the registers."""
    with tempfile.TemporaryDirectory() as name, Store(Path(":memory:")) as store:
        workspace = Workspace(Path(name), Settings())

        def load(file: str, text: str, complete: tuple[date, date] | None = None) -> FileResult:
            path = Path(name) / file
            path.write_text(text)
            loader = Loader(store, workspace, (), TODAY, complete=complete)
            (found,) = loader.detect(path, file)
            return loader.load(found)

        load.store = store  # type: ignore[attr-defined]
        for register, text in (("clubs.csv", CLUBS), ("greens.csv", GREENS), ("materials.csv", MATERIALS)):
            load(register, text)
        yield load


@settings(max_examples=examples(1, 3), suppress_health_check=list(HealthCheck))
@given(files=FILES)
def test_any_files_loaded_again_in_the_same_order_change_nothing(
    small_county: Callable[..., FileResult], files: list[tuple[tuple[str, str], bool]]
) -> None:
    """Whatever they replace, repeat, take back and close of each other, the second pass finds all of it done."""
    store: Store = small_county.store  # type: ignore[attr-defined]
    year = (date(2026, 1, 1), date(2026, 12, 31))
    with store.rehearsal():
        for turn in range(3):
            for number, ((name, text), complete) in enumerate(files):
                result = small_county(f"{name}_{number}.csv", text, year if complete else None)
                balanced(result)
                assert not result.failed
                assert not (turn and result.counts.effect), (turn, number)


def test_two_issues_of_one_call_are_told_whichever_name_comes_first(workspace: Workspace, county: Load) -> None:
    """Files of a folder are read by name: a re-issue that sorts first lost without a word."""
    folder = workspace.folder / "inbox"
    (folder / "lab_1.csv").write_text(soil(ph="6.4"), "utf-8")
    (folder / "lab_2.csv").write_text(soil(ph="6.1"), "utf-8")
    first, second = load_paths(workspace, [folder], today=TODAY)
    assert told(first, "load.one_call") == []
    assert told(second, "load.one_call") == [
        "1 record of lab_1.csv, loaded just before, took other values from this file; files of one call are read by "
        "kind and name, and the last one stands."
    ]
    assert [told(one, "load.one_call") for one in load_paths(workspace, [folder], today=TODAY)] == [[], []]
