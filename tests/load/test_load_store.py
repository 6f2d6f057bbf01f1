"""Loading: every row accounted for, loading again changes nothing, what was corrected replaces and is kept."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path

import polars as pl
import pytest

from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.indicators.base.open_matters import open_matters
from pipeline.indicators.base.reading import read_records
from pipeline.load.files import load_paths
from pipeline.load.result import Counts, FileResult
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace
from tests.conftest import CLUBS, GREENS, MATERIALS, TODAY, Load
from tests.thorough import thorough

pytestmark = pytest.mark.both_stores(ordinary=())

JOBS = "date,green,operation,hours,logged_by\n"
MOW = "2026-05-04,ALD-1,mowing,1.5,crew A\n"
SOIL = "date,green,analyte,depth_from_mm,depth_to_mm,lab,value,unit\n"


def balanced(result: FileResult) -> tuple[int, ...]:
    """(rows, loaded, unchanged, superseded, withdrawn, rejected, ignored); with closed, they balance."""
    c = result.counts
    parts = (c.loaded, c.unchanged, c.superseded, c.withdrawn, c.rejected, c.ignored)
    assert c.rows == sum(parts) + c.closed
    return (c.rows, *parts)


def codes(result: FileResult) -> list[str]:
    return result.faults["code"].to_list()


def kept(workspace: Workspace) -> dict[str, pl.DataFrame]:
    """Everything the store holds, by table that holds any: every version of every record, every load and fault."""
    with Store(workspace.store, read_only=True) as store:
        tables = store.rows(
            "SELECT schema_name || '.' || table_name FROM duckdb_tables() "
            "WHERE NOT internal AND NOT temporary AND estimated_size > 0 ORDER BY ALL"
        )
        every = {name: store.frame(f"SELECT * FROM {name}") for (name,) in tables}
        return {name: rows for name, rows in every.items() if rows.height}


def rows(workspace: Workspace, sql: str) -> list[tuple[object, ...]]:
    with Store(workspace.store, read_only=True) as store:
        return store.rows(sql)


def same(before: dict[str, pl.DataFrame], after: dict[str, pl.DataFrame]) -> bool:
    return before.keys() == after.keys() and all(rows.equals(after[name]) for name, rows in before.items())


def test_counts_that_do_not_balance_stop_the_load() -> None:
    """A row that nobody accounts for is the one fault a load must never keep to itself."""
    Counts(rows=3, loaded=1, rejected=1, ignored=1, warnings=7).check()
    with pytest.raises(AssertionError, match="rows do not balance"):
        Counts(rows=3, loaded=1, rejected=1).check()


def test_loading_again_changes_nothing(county: Load, workspace: Workspace) -> None:
    """The same export comes every week; a second load of it may not add, end or renumber anything."""
    text = JOBS + MOW + "2026-05-11,ALD-1,mowing,2,crew A\n"
    assert balanced(county("log.csv", text)) == (2, 2, 0, 0, 0, 0, 0)
    before = kept(workspace)
    again = county("log.csv", text)
    assert balanced(again) == (2, 0, 2, 0, 0, 0, 0)
    assert not again.counts.effect
    assert again.load_id is None
    renamed = county("log (1).csv", text)
    assert balanced(renamed) == (2, 0, 2, 0, 0, 0, 0)
    assert same(before, kept(workspace))
    records = rows(workspace, "SELECT * FROM history.job ORDER BY ALL")
    other = county("another crew.csv", text)  # kept as a load, for it may be another crew's: that waits for a person
    assert balanced(other) == (2, 0, 2, 0, 0, 0, 0)
    assert rows(workspace, "SELECT * FROM history.job ORDER BY ALL") == records


def test_loading_again_after_others_came_changes_nothing(county: Load, workspace: Workspace) -> None:
    """Once a later load has touched the same kind, the file is gone through row by row; the answer is the same."""
    text = JOBS + MOW
    county("log.csv", text)
    county("more.csv", JOBS + "2026-06-01,ALD-1,edging,1,crew B\n")
    before = kept(workspace)
    assert balanced(county("log.csv", text)) == (1, 0, 1, 0, 0, 0, 0)
    assert same(before, kept(workspace))


def test_loading_registers_again_changes_nothing(county: Load, workspace: Workspace) -> None:
    """Registers are loaded with every folder; none of their versions may pile up."""
    before = kept(workspace)
    for name, text in (("clubs.csv", CLUBS), ("greens.csv", GREENS), ("materials.csv", MATERIALS)):
        result = county(name, text)
        assert balanced(result)[1:3] == (0, result.counts.rows)
    assert same(before, kept(workspace))


def test_longer_export_adds_only_what_is_new(county: Load, workspace: Workspace) -> None:
    """Exports grow; what stood in the shorter one keeps its line and load."""
    county("log.csv", JOBS + MOW)
    longer = county("log.csv", JOBS + "2026-04-01,ALD-1,edging,1,crew A\n" + MOW)
    assert balanced(longer) == (2, 1, 1, 0, 0, 0, 0)
    # clubs, greens and materials were loads 1 to 3
    assert rows(workspace, "SELECT operation, load_id, line FROM job ORDER BY date") == [
        ("edging", 5, 2),
        ("mowing", 4, 2),
    ]


def test_two_identical_jobs_stay_two(county: Load, workspace: Workspace) -> None:
    """Two identical lines are two visits; loading them again, or a third of them, keeps the count right."""
    assert balanced(county("log.csv", JOBS + MOW + MOW)) == (2, 2, 0, 0, 0, 0, 0)
    assert balanced(county("log.csv", JOBS + MOW + MOW)) == (2, 0, 2, 0, 0, 0, 0)
    assert balanced(county("log.csv", JOBS + MOW + MOW + MOW)) == (3, 1, 2, 0, 0, 0, 0)
    assert balanced(county("short.csv", JOBS + MOW)) == (1, 0, 1, 0, 0, 0, 0)
    assert rows(workspace, "SELECT count(*) FROM job") == [(3,)]


def test_corrected_value_replaces_and_the_old_version_is_kept(county: Load, workspace: Workspace) -> None:
    """A correction takes the place of what it corrects, and the figure printed last month can still be explained."""
    county("log.csv", JOBS + MOW)
    mended = county("log.csv", JOBS + MOW.replace("1.5", "2.5"))
    assert balanced(mended) == (1, 0, 0, 1, 0, 0, 0)
    note = mended.faults.row(0, named=True)
    assert (note["code"], note["severity"], note["line"]) == ("load.replaces", "note", 2)
    assert note["message"] == (
        "Takes the place of what line 2 of log.csv said (hours: 1.5 there, 2.5 here); the former values are kept."
    )
    assert rows(workspace, "SELECT hours, load_id FROM job") == [(2.5, 5)]
    assert rows(workspace, "SELECT hours, load_id, ended_by, ended_as FROM history.job ORDER BY load_id") == [
        (1.5, 4, 5, "superseded"),
        (2.5, 5, None, None),
    ]
    back = county("log.csv", "# corrected again\n" + JOBS + MOW)
    assert balanced(back) == (1, 0, 0, 1, 0, 0, 0)
    assert rows(workspace, "SELECT hours FROM job") == [(1.5,)]


def test_one_of_two_identical_jobs_corrected(county: Load, workspace: Workspace) -> None:
    """The one that stayed the same is paired off first; the correction may not hit both."""
    county("log.csv", JOBS + MOW + MOW)
    assert balanced(county("log.csv", JOBS + MOW + MOW.replace("1.5", "3"))) == (2, 0, 1, 1, 0, 0, 0)
    assert rows(workspace, "SELECT hours FROM job ORDER BY hours") == [(1.5,), (3.0,)]


def test_a_corrected_register_replaces_without_a_note(county: Load, workspace: Workspace) -> None:
    """A green measured anew is one green still."""
    result = county("greens.csv", GREENS.replace("1600", "1444"))
    assert balanced(result) == (1, 0, 0, 1, 0, 0, 0)
    assert not result.faults.height
    assert rows(workspace, "SELECT area_m2 FROM green") == [(1444.0,)]


def test_blank_soil_result_withdraws_and_may_come_back(county: Load, workspace: Workspace) -> None:
    """A laboratory takes a result back by leaving it blank in the corrected sheet."""
    line = "2026-02-10,ALD-1,organic matter,0,20,Lab A,{},%\n"
    assert balanced(county("lab.csv", SOIL + line.format("4.8"))) == (1, 1, 0, 0, 0, 0, 0)
    blank = SOIL + line.format("")
    assert balanced(county("lab.csv", blank)) == (1, 0, 0, 0, 1, 0, 0)
    assert rows(workspace, "SELECT count(*) FROM soil_test") == [(0,)]
    assert rows(workspace, "SELECT value, ended_as FROM history.soil_test") == [(4.8, "withdrawn")]
    assert balanced(county("lab.csv", blank)) == (1, 0, 0, 0, 0, 0, 1)
    assert balanced(county("again.csv", blank)) == (1, 0, 0, 0, 0, 0, 1)
    assert balanced(county("lab.csv", "# issue 3\n" + SOIL + line.format("4.8"))) == (1, 1, 0, 0, 0, 0, 0)
    assert rows(workspace, "SELECT value FROM soil_test") == [(4.8,)]


def test_blank_result_that_never_was_is_left_out(county: Load, workspace: Workspace) -> None:
    """A blank is no result: neither 0 nor a record without a value."""
    text = SOIL + "2026-02-10,ALD-1,ph,0,100,Lab A,,pH\n2026-02-10,ALD-1,potassium,0,100,Lab A,60,mg/kg\n"
    assert balanced(county("lab.csv", text)) == (2, 1, 0, 0, 0, 0, 1)
    assert rows(workspace, "SELECT analyte FROM soil_test") == [("potassium",)]


def test_a_blank_bowl_takes_nothing_back(county: Load, workspace: Workspace) -> None:
    """Several bowls share a key; a blank among them is a bowl not timed, not the others withdrawn."""
    head = "date,green,rink,value,unit\n"
    text = head + "2026-06-20,ALD-1,1,12.4,s\n2026-06-20,ALD-1,1,,s\n2026-06-20,ALD-1,1,12.4,s\n"
    assert balanced(county("speed.csv", text)) == (3, 2, 0, 0, 0, 0, 1)
    assert balanced(county("blank.csv", head + "2026-06-20,ALD-1,1,,s\n")) == (1, 0, 0, 0, 0, 0, 1)
    assert rows(workspace, "SELECT count(*) FROM green_speed") == [(2,)]


def test_below_the_limit_is_a_result(county: Load, workspace: Workspace) -> None:
    """ "Not detected" without a limit says something; it may be neither left out nor zero."""
    text = SOIL + "2026-02-10,ALD-1,iron,0,100,A,<5,mg/kg\n2026-02-10,ALD-1,copper,0,100,A,nd,mg/kg\n"
    assert balanced(county("lab.csv", text)) == (2, 2, 0, 0, 0, 0, 0)
    found = rows(workspace, "SELECT analyte, value, below_limit, written FROM soil_test ORDER BY analyte")
    assert found == [("copper", None, True, '{"value": "nd"}'), ("iron", 5.0, True, '{"value": "<5"}')]


@pytest.mark.parametrize("other", ["4.9", ""])
def test_key_twice_with_different_values_is_rejected_both(county: Load, workspace: Workspace, other: str) -> None:
    """Which of two values is right only a person can say; taking the first, or the last, would be a guess."""
    line = "2026-02-10,ALD-1,organic matter,0,20,Lab A,{},%\n"
    result = county("lab.csv", SOIL + line.format("4.8") + line.format(other))
    assert balanced(result) == (2, 0, 0, 0, 0, 2, 0)
    assert codes(result) == ["key.twice", "key.twice"]
    shown = "date, green, analyte, depth from mm, depth to mm, extractant, lab, sample, reference"
    assert result.faults["message"].to_list() == [
        f"Line 3 holds the same record ({shown}) with other values.",
        f"Line 2 holds the same record ({shown}) with other values.",
    ]


def test_true_copies_are_counted_once_with_a_note(county: Load, workspace: Workspace) -> None:
    """Overlapping laboratory sheets repeat lines; blanks beside the values make two lines no less the same."""
    line = "2026-02-10,ALD-1,organic matter,0,20,Lab A,4.8,%\n"
    result = county("lab.csv", SOIL + line + line + line)
    assert balanced(result) == (3, 1, 0, 0, 0, 0, 2)
    assert codes(result) == ["key.repeated", "key.repeated"]
    assert result.faults["message"][0] == "Line 2 already holds this very record; it was counted once."
    assert not result.failed


def test_a_record_that_says_more_is_not_a_copy(load: Load) -> None:
    """A blank beside a value is a difference: which of the two is right is not ours to say."""
    result = load("clubs.csv", "club,name,region\nALD,Alder,Ostershire\nALD,Alder,\n")
    assert balanced(result) == (2, 0, 0, 0, 0, 2, 0)
    assert codes(result) == ["key.twice", "key.twice"]


def test_every_match_status_in_one_file_balances(county: Load, workspace: Workspace) -> None:
    """One file with a row of every match status: the sum must hold, and each row have gone its way."""
    line = "{},ALD-1,{},0,100,Lab A,{},{}\n"
    start = [
        ("2026-02-10", "ph", "6.1", "pH"),
        ("2026-02-10", "iron", "90", "mg/kg"),
        ("2026-02-10", "zinc", "2", "mg/kg"),
    ]
    county("lab.csv", SOIL + "".join(line.format(*one) for one in start))
    later = [
        ("2026-02-10", "ph", "6.1", "pH"),  # unchanged
        ("2026-02-10", "iron", "95", "mg/kg"),  # superseded
        ("2026-02-10", "zinc", "", "mg/kg"),  # withdrawn
        ("2026-02-10", "copper", "3", "mg/kg"),  # loaded
        ("2026-02-10", "copper", "3", "mg/kg"),  # ignored: a true copy
        ("2026-02-10", "sodium", "", "mg/kg"),  # ignored: never was
        ("2027-02-10", "ph", "6.1", "pH"),  # rejected: not come yet
        ("2026-02-10", "nosuch", "6.1", "pH"),  # rejected: unknown word
    ]
    text = SOIL + "".join(line.format(*one) for one in later)
    result = county("lab.csv", text + "# end of sheet\n" + "2026-02-10,ALD-1,ph,0\n")  # ignored, and a ragged row
    assert balanced(result) == (10, 1, 1, 1, 1, 3, 3)
    with Store(workspace.store, read_only=True) as store:
        load = store.frame("SELECT * FROM meta.load ORDER BY load_id DESC LIMIT 1").row(0, named=True)
        faults = store.rows("SELECT count(*) FROM meta.fault WHERE load_id = ?", [load["load_id"]])[0][0]
    assert tuple(load[name] for name in ("rows", "loaded", "unchanged", "superseded", "withdrawn", "rejected")) == (
        10, 1, 1, 1, 1, 3,
    )  # fmt: skip
    assert faults == result.faults.height
    assert result.span == (date(2026, 2, 10), date(2026, 2, 10))


def test_dry_run_changes_nothing_and_says_what_would_happen(county: Load, workspace: Workspace) -> None:
    """A rehearsal that writes is none; one that counts otherwise than the load misleads."""
    county("log.csv", JOBS + MOW)
    before = kept(workspace)
    text = JOBS + MOW.replace("1.5", "2") + "2027-05-04,ALD-1,mowing,1,crew A\n2026-06-01,ALD-1,edging,1,crew A\n"
    rehearsed = county("log.csv", text, dry_run=True)
    assert balanced(rehearsed) == (3, 1, 0, 1, 0, 1, 0)
    assert rehearsed.load_id is None
    assert rehearsed.rejects_file is None
    assert same(before, kept(workspace))
    assert list(workspace.rejected.iterdir()) == []
    real = county("log.csv", text)
    assert balanced(real) == balanced(rehearsed)
    assert real.faults.equals(rehearsed.faults)


@pytest.mark.in_a_file
def test_dry_run_of_a_folder_sees_the_registers_in_it(workspace: Workspace, tmp_path: Path) -> None:
    """Registers and log arrive together the first time; a rehearsal without the register rejects the log wrongly."""
    workspace.store.unlink()
    folder = tmp_path / "exports"
    folder.mkdir()
    for name, text in (("a-log.csv", JOBS + MOW), ("clubs.csv", CLUBS), ("greens.csv", GREENS)):
        (folder / name).write_text(text)
    rehearsed = load_paths(workspace, [folder], dry_run=True, today=TODAY)
    assert [balanced(one) for one in rehearsed] == [(1, 1, 0, 0, 0, 0, 0)] * 3
    assert not workspace.store.exists()
    real = load_paths(workspace, [folder], today=TODAY)
    assert [(one.file, one.kind) for one in real] == [
        ("clubs.csv", "club"), ("greens.csv", "green"), ("a-log.csv", "job"),
    ]  # fmt: skip
    assert [balanced(one) for one in real] == [balanced(one) for one in rehearsed]


def test_a_row_rejected_for_its_day_loads_once_the_day_has_come(
    county: Load, tmp_path: Path, workspace: Workspace
) -> None:
    """The same file may be judged otherwise on another day; the earlier verdict may not be repeated unasked."""
    path = tmp_path / "log.csv"
    path.write_text(JOBS + "2026-11-09,ALD-1,mowing,1,crew A\n")
    first = load_paths(workspace, [path], today=TODAY)[0]
    assert codes(first) == ["load.day_taken", "date.future"]
    assert (
        first.faults.filter(first.faults["code"] == "date.future")["message"][0] == "date: 2026-11-09 has not come yet."
    )
    later = load_paths(workspace, [path], today=date(2026, 11, 10))[0]
    assert balanced(later) == (1, 1, 0, 0, 0, 0, 0)


def test_a_file_rejected_before_its_register_loads_after_it(county: Load) -> None:
    """The hint says: load the register first, then this file again. That must work."""
    text = JOBS + MOW.replace("ALD-1", "BRA-1")
    assert codes(county("log.csv", text)) == ["reference.unknown"]
    county("greens2.csv", "green,club,area_m2\nBRA-1,ALD,1444\n")
    assert balanced(county("log.csv", text)) == (1, 1, 0, 0, 0, 0, 0)


def test_the_same_faults_are_told_again(county: Load) -> None:
    """A second load of a file with rejected rows must name them and their file again, not only count them."""
    text = JOBS + MOW + MOW.replace("mowing", "moing")
    first, again = county("log.csv", text), county("log.csv", text)
    assert balanced(again) == (2, 0, 1, 0, 0, 1, 0)
    assert again.failed
    assert again.faults.equals(first.faults)
    assert first.rejects_file is not None
    assert again.rejects_file == first.rejects_file
    first.rejects_file.unlink()
    third = county("log.csv", text)
    assert third.rejects_file is not None
    assert third.rejects_file.exists()


def test_provenance_of_every_record(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """File, hash, line and load lead back to the cell; a line break inside a cell may not shift the lines below it."""
    text = (
        "# exported by hand\ndate,green,operation,hours,note\n"
        '2026-05-04,ALD-1,mowing,1.5,"dry,\nlight\nwind"\n\n2026-05-05,ALD-1,Cut,"1,5 h",\n'
    ).replace('"1,5 h"', "90 min")
    assert not county("log.csv", text).failed
    found = rows(
        workspace,
        "SELECT j.line, j.file, l.sha256, j.load_id, j.note, j.hours, j.written FROM job AS j "
        "JOIN meta.load AS l ON l.load_id = j.load_id ORDER BY j.line",
    )
    digest = hashlib.sha256((tmp_path / "log.csv").read_bytes()).hexdigest()
    assert [one[:4] for one in found] == [(3, "log.csv", digest, 4), (7, "log.csv", digest, 4)]
    assert found[1][5:] == (1.5, '{"operation": "Cut", "hours": "90 min"}')
    kept_lines = text.split("\n")
    assert kept_lines[3 - 1].startswith("2026-05-04")
    assert kept_lines[7 - 1].startswith("2026-05-05")


def test_faults_keep_line_column_value_and_green(county: Load, workspace: Workspace) -> None:
    """A report tells the club which of its rows are missing; for that the store keeps the fault and its green."""
    county("log.csv", JOBS.replace("hours", "Man hours") + MOW + MOW.replace("1.5", "lots"))
    found = rows(workspace, "SELECT line, column_name, value, severity, green FROM meta.fault")
    assert found == [(3, "Man hours", "lots", "error", "ALD-1")]


def test_unknown_green_offers_the_closest(county: Load) -> None:
    """A slip of the pen is mended at a glance where the right name stands beside it."""
    result = county("log.csv", JOBS + MOW.replace("ALD-1", "ADL-1"))
    fault = result.faults.row(0, named=True)
    assert (fault["code"], fault["line"], fault["column"], fault["value"]) == ("reference.unknown", 2, "green", "ADL-1")
    assert fault["message"] == "green: “ADL-1” is not in the register of greens; closest: ALD-1."
    assert fault["hint"].startswith("Add it to the greens file and load that first, or map the name in the source")
    far = county("far.csv", JOBS + MOW.replace("ALD-1", "ZZZ"))
    assert far.faults["message"][0] == "green: “ZZZ” is not in the register of greens."


def test_unknown_material_is_a_warning_and_the_job_is_kept(county: Load) -> None:
    """The work was done whatever it was done with; only its nutrients cannot be counted."""
    text = "date,green,operation,material\n2026-05-04,ALD-1,fertilising,70/30 sand and sil\n"
    result = county("log.csv", text)
    assert balanced(result) == (1, 1, 0, 0, 0, 0, 0)
    assert result.counts.warnings == 1
    assert not result.failed
    assert result.faults["message"][0] == (
        "Material “70/30 sand and sil” is not in the register of materials; closest: 70/30 sand and soil; "
        "the job is kept, its nutrients are not counted."
    )


def test_declared_aliases_of_a_green(county: Load, workspace: Workspace) -> None:
    """Clubs write the green's name, not its code; the register says which is meant."""
    assert balanced(county("log.csv", JOBS + MOW.replace("ALD-1", "Alder Brook"))) == (1, 1, 0, 0, 0, 0, 0)
    assert rows(workspace, "SELECT green, written FROM job") == [("ALD-1", '{"green": "Alder Brook"}')]


def test_alias_of_two_greens_stands_for_neither(county: Load, workspace: Workspace) -> None:
    """ "1" at two clubs is two greens; a job put on the wrong one in silence would spoil both reports."""
    county(
        "g.csv", "green,club,area_m2,aliases\nBRA-1,ALD,1444,1|top\nCUL-1,ALD,1444,top|BRA-1\nDRA-1,ALD,1444,ALD-1\n"
    )
    result = county("log.csv", JOBS + MOW.replace("ALD-1", "top") + MOW.replace("ALD-1", "1"))
    assert balanced(result) == (2, 1, 0, 0, 0, 1, 0)
    assert codes(result) == ["reference.unknown"]
    county("own.csv", JOBS + MOW + MOW.replace("ALD-1", "BRA-1"))
    found = rows(workspace, "SELECT green, count(*) FROM job GROUP BY ALL ORDER BY ALL")
    assert found == [("ALD-1", 1), ("BRA-1", 1)], "a green's own code always stands for itself"


def test_a_file_nobody_knows(load: Load, workspace: Workspace) -> None:
    """What cannot be told is said once, for the file, with what to do."""
    result = load("strange.csv", "alpha,beta,gamma\n1,2,3\n4,5,6\n")
    assert balanced(result) == (2, 0, 0, 0, 0, 2, 0)
    assert result.kind == ""
    assert result.failed
    assert codes(result) == ["file.kind_unknown"]
    assert (
        result.faults["message"][0]
        == "The headers fit no source profile and no single kind of record: alpha, beta, gamma."
    )


def test_a_needed_column_missing_is_said_once(county: Load) -> None:
    """Once, not once a row; the whole file is refused and nothing written."""
    result = county("log.csv", "date,green,hours\n" + "2026-05-04,ALD-1,1\n" * 3, kind="job")
    assert balanced(result) == (3, 0, 0, 0, 0, 3, 0)
    assert codes(result) == ["header.missing"]
    assert result.faults["message"][0] == "The job file has no column for “operation”."
    assert "known headers: operation, job, task, work, activity" in result.faults["hint"][0]


def test_two_columns_for_one_field(county: Load) -> None:
    """Which of two columns is meant only a person can say."""
    result = county("log.csv", "date,green,operation,task\n2026-05-04,ALD-1,mowing,edging\n")
    assert "header.twice" in codes(result)
    shown = result.faults.filter(pl.col("code") == "header.twice")["message"][0]
    assert shown == "Columns “operation”, “task” all stand for “operation”."
    assert balanced(result) == (1, 0, 0, 0, 0, 1, 0)


def test_columns_not_used_are_named_in_a_note(county: Load) -> None:
    """A column left out in silence is data lost in silence."""
    result = county("log.csv", "date,green,operation,fax\n2026-05-04,ALD-1,mowing,1\n")
    assert codes(result) == ["header.unused"]
    assert result.faults["message"][0] == "Not used: “fax”."
    assert not result.failed


@pytest.mark.in_a_file
def test_paths_kinds_and_profiles_that_are_not_there(workspace: Workspace, tmp_path: Path) -> None:
    """Wrong words of a call are told with what would be right, before anything is opened."""
    workspace.store.unlink()
    file = tmp_path / "a.csv"
    file.write_text(CLUBS)
    for paths, options, message in (
        ([tmp_path / "no.csv"], {}, f"There is no file {tmp_path / 'no.csv'}."),
        ([tmp_path / "workspace"], {"kind": "jobs"}, "“jobs” is not a kind of record; closest: job."),
        ([file], {"profile": "lab-z"}, "There is no profile “lab-z”."),
        ([workspace.reports], {}, "No file to load was found."),
    ):
        with pytest.raises(WrongUsage) as caught:
            load_paths(workspace, paths, **options)  # type: ignore[arg-type]
        assert caught.value.message == message
        assert caught.value.hint
    assert not workspace.store.exists()


def test_a_load_that_fails_midway_leaves_the_store_as_it_was(
    county: Load, workspace: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk may cost the load, never half of it."""
    import duckdb

    county("log.csv", JOBS + MOW)
    before = kept(workspace)

    def full(*_: object) -> None:
        raise duckdb.IOException("Could not write: No space left on device\nmore")

    monkeypatch.setattr("pipeline.load.loading.record_faults", full)
    with pytest.raises(CannotDo) as caught:
        county("log.csv", JOBS + MOW.replace("1.5", "2") + "2026-06-01,ALD-1,edging,1,crew A\n")
    name = f"{'' if isinstance(workspace.store, Path) else 'shared '}store {workspace.store.name}"
    assert caught.value.message == f"The {name} could not be written: Could not write: No space left on device"
    assert caught.value.hint == "Nothing of this file was kept. Make room on the disk and load again."
    monkeypatch.undo()
    assert same(before, kept(workspace))


def test_two_files_of_one_name_do_not_overwrite_each_others_rejected_rows(
    county: Load, workspace: Workspace, tmp_path: Path
) -> None:
    """Every club's export is called log.csv; the rejected rows of one may not take the place of another's."""
    paths = []
    for place, word in (("a", "moing"), ("b", "egding")):
        (tmp_path / place).mkdir()
        paths.append(tmp_path / place / "log.csv")
        paths[-1].write_text(JOBS + MOW.replace("mowing", word))
    results = load_paths(workspace, paths, today=TODAY)
    texts = [one.rejects_file.read_text("utf-8-sig") for one in results if one.rejects_file]
    assert "moing" in texts[0]
    assert "egding" in texts[1]


HALF = "date,green,operation,treated_area_m2,hours\n2026-03-01,ALD-1,hollow coring,800,2\n"


def test_equal_halves_of_two_crews_are_told_with_both_lines(county: Load, workspace: Workspace) -> None:
    """Each crew wrote down its half, word for word alike: half of the work was lost without a sentence."""
    county("crew_ann.csv", HALF)
    other = county("crew_bob.csv", HALF.replace("\n2026", "\n2026-02-20,ALD-1,mowing,,1\n2026", 1))
    assert (other.counts.loaded, other.counts.unchanged) == (1, 1)
    said = "line 3 of crew_bob.csv and line 2 of crew_ann.csv say the very same, and it counts once."
    hint = "If both are true (two crews did half each): decide two; if it is one job that two files hold: decide one. "
    hint += "status has the commands."
    told = other.faults.select("line", "code", "severity", "message", "hint").rows()
    assert told == [(3, "record.said_twice", "warning", said, hint)]
    assert [one.text for one in open_matters(workspace)] == [said]
    with Store(workspace.store, read_only=True) as store:
        done = green_season(read_records(store), "ALD-1", workspace.season("2026"), workspace)
    assert f"Line 2 of crew_ann.csv: {said}" in [note.text for note in done.data_notes]
    assert not done.questions, "it questions no value of the line"
    assert county("crew_ann.csv", HALF + "2026-03-02,ALD-1,mowing,,1\n").faults.is_empty()
    assert [one.text for one in open_matters(workspace)] == [said], "reading one file again decides nothing"


def test_each_half_with_its_name_is_asked_about(county: Load, workspace: Workspace) -> None:
    """Both count, each under its name; whether they are two halves or one job that two wrote down, nobody has said."""
    county("crew_ann.csv", HALF)
    undo(workspace, county("crew_bob.csv", HALF + "2026-03-02,ALD-1,mowing,,1\n").load_id or 0)
    assert open_matters(workspace) == ()
    named = county("crew_bob.csv", HALF.replace("hours", "hours,logged_by").replace(",2\n", ",2,Bob\n"))
    assert (named.counts.loaded, codes(named)) == (1, ["record.likely_double"])


def test_a_copy_under_another_name_is_told_and_stays_to_be_decided(county: Load, workspace: Workspace) -> None:
    """Its very bytes were loaded before, and it may be another crew's: nothing stood in status, and was not decided."""
    county("crew_ann.csv", HALF)
    copy = county("crew_bob.csv", HALF)
    assert (copy.load_id, codes(copy)) == (5, ["record.said_twice"])
    assert [one.sort for one in open_matters(workspace)] == ["double"]
    assert county("crew_bob.csv", HALF).load_id is None, "it says nothing new a second time"


@pytest.mark.parametrize("later", ["log_april.csv", "log (1).csv", "log_2026-04.csv"])
@thorough
def test_the_next_issue_of_an_export_repeats_the_former_without_a_word(county: Load, later: str) -> None:
    county("log_march.csv", HALF)
    assert county(later, HALF + "2026-04-02,ALD-1,mowing,,1\n").faults.is_empty()


def test_equal_readings_of_a_kind_that_does_not_repeat_are_one(county: Load) -> None:
    soil = "date,green,analyte,value,unit\n2026-02-01,ALD-1,ph,6.1,pH\n"
    county("lab.csv", soil)
    assert county("office.csv", soil).faults.is_empty()
