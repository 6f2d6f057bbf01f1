"""A row whose date, green or number was corrected in its file: it is asked about beside what the file said before."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from openpyxl.workbook import Workbook

from pipeline.forms.workbook import form_workbook
from pipeline.indicators.base.open_matters import open_matters
from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.publish.forms import forms_named, registered_names
from pipeline.store.decide import decide
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace, open_workspace
from tests.conftest import TODAY
from tests.forms.hand import Row, filled, say, write
from tests.laid import laid
from tests.thorough import beyond

JOBS = "date,green,operation,hours\n"
MARCH = [f"2026-03-{day:02},ALD-1,mowing,1" for day in (3, 5, 7, 9, 11)]
TWICE = [line.replace("ALD-1", green) for line in MARCH for green in ("ALD-1", "ALD-2")]
SOIL = "date,green,analyte,value,unit\n"
RESULTS = (("ph", 6.1, "pH"), ("organic matter", 4.8, "%"), ("potassium", 120, "mg/kg"))
TITLED = """name = "titled"
kind = "soil_test"
[match]
headers = ["Test", "Result"]
[given.date]
title = 'Sampled (\\S+)'
[constants]
green = "ALD-1"
[fields]
analyte = "Test"
value = "Result"
unit = "Unit"
"""
WIDE = """name = "wide"
kind = "soil_test"
[match]
headers = ["Green", "pH", "K"]
[fields]
date = "Date"
green = "Green"
[[long]]
from = "pH"
set = { analyte = "ph", unit = "pH" }
[[long]]
from = "K"
set = { analyte = "potassium", unit = "mg/kg" }
"""
Put = Callable[..., FileResult]


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    """A workspace without profiles."""
    (tmp_path / "settings.toml").write_text("", "utf-8")
    here = open_workspace(tmp_path)
    here.profiles.mkdir()
    return here


@pytest.fixture
def put(workspace: Workspace) -> Put:
    """Loads a file of this name with these lines; two greens are there."""

    def load(name: str, head: str, *lines: str, **options: object) -> FileResult:
        path = workspace.folder / name
        path.write_text(head + "".join(f"{line}\n" for line in lines), "utf-8")
        result = laid(workspace, path, today=TODAY, **options)
        assert not result.failed, result.faults.select("code", "message").rows()
        return result

    load("clubs.csv", "club,name\n", "ALD,Alder Brook")
    load("greens.csv", "green,club,name,area_m2\n", "ALD-1,ALD,Main,1200", "ALD-2,ALD,Second,1300")
    return load


def soil(day: str, green: str = "ALD-1") -> list[str]:
    """Lines of three results."""
    return [f"{day},{green},{analyte},{value:g},{unit}" for analyte, value, unit in RESULTS]


def told(result: FileResult) -> list[tuple[int, str]]:
    """Line and message of each row whose key seems corrected."""
    rows = result.faults.filter(result.faults["code"].str.ends_with("key_changed"))
    return [(line, message) for line, message in rows.select("line", "message").rows()]


def said(line: int, load: int | None, was: int, what: str, file: str = "jobs.csv") -> tuple[int, str]:
    """The whole message."""
    return line, (
        f"line {was} of {file} (load {load}) said the same, but for {what}. "
        "The file no longer holds that row, and both count."
    )


def count(workspace: Workspace, kind: str) -> int:
    with Store(workspace.store, read_only=True) as store:
        number: int = store.rows(f"SELECT count(*) FROM {kind}")[0][0]
        return number


def test_a_corrected_date_in_a_growing_log_waits_until_it_is_decided(put: Put, workspace: Workspace) -> None:
    """Two lines of one place of one file: status has the commands, and the next issue asks nothing more."""
    first = put("jobs.csv", JOBS, *MARCH)
    issue = [*MARCH[:2], "2026-03-08,ALD-1,mowing,1", *MARCH[3:], "2026-03-13,ALD-1,mowing,1"]
    result = put("jobs.csv", JOBS, *issue)
    assert told(result) == [said(4, first.load_id, 4, "date: 2026-03-07 there, 2026-03-08 here")]
    (matter,) = open_matters(workspace)
    assert [command for command, _ in matter.next] == [
        'swardtally decide one jobs.csv:4 jobs.csv:4 --why "..." --who "..."',
        'swardtally decide two jobs.csv:4 jobs.csv:4 --why "..." --who "..."',
        f"swardtally undo {result.load_id}",
    ]
    assert count(workspace, "job") == 7
    made = decide(workspace, "one", ["jobs.csv:4", "jobs.csv:4"], "a slip", "office")
    assert (count(workspace, "job"), open_matters(workspace)) == (6, ())
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT 1 FROM job WHERE date = '2026-03-07'") == []
    assert told(put("jobs.csv", JOBS, *issue, "2026-03-15,ALD-1,mowing,1")) == []
    assert count(workspace, "job") == 7
    undo(workspace, made.entries[0][0])
    assert (count(workspace, "job"), len(open_matters(workspace))) == (8, 1)


def test_both_rows_may_be_true(put: Put, workspace: Workspace) -> None:
    put("jobs.csv", JOBS, MARCH[0])
    put("jobs.csv", JOBS, MARCH[1])
    decide(workspace, "two", ["jobs.csv:2", "jobs.csv:2"], "both days", "crew")
    assert (count(workspace, "job"), open_matters(workspace)) == (2, ())


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (MARCH, [*MARCH[2:], "2026-03-13,ALD-1,mowing,1", "2026-03-15,ALD-1,mowing,1"]),
        (MARCH[::-1], ["2026-03-15,ALD-1,mowing,1", "2026-03-13,ALD-1,mowing,1", *MARCH[:1:-1]]),
        (MARCH, [line.replace("-03-", "-04-") for line in MARCH]),
        (MARCH[2:], MARCH[:3]),
        (MARCH, [*MARCH, "2026-03-13,ALD-1,mowing,1"]),
        ([*MARCH, *(line.replace("ALD-1", "ALD-2") for line in MARCH)], [*MARCH, "2026-03-13,ALD-1,mowing,1"]),
        (TWICE, [*TWICE[3:], "2026-03-13,ALD-1,mowing,1", "2026-03-13,ALD-2,mowing,1"]),
    ],
    ids=["window", "newest first", "month after month", "an earlier window", "growing", "one green of two", "by rows"],
)
@beyond(3)
def test_exports_that_grow_or_show_a_window_ask_nothing(put: Put, first: list[str], second: list[str]) -> None:
    """Rows that an export no longer shows are no rows that were corrected, however alike the work is."""
    put("jobs.csv", JOBS, *first)
    assert told(put("jobs.csv", JOBS, *second)) == []


def test_a_corrected_row_is_found_where_the_export_sorts_it_to(put: Put) -> None:
    first = put("jobs.csv", JOBS, *MARCH)
    result = put("jobs.csv", JOBS, *MARCH[:2], MARCH[3], "2026-03-10,ALD-1,mowing,1", MARCH[4])
    assert told(result) == [said(5, first.load_id, 4, "date: 2026-03-07 there, 2026-03-10 here")]


def test_the_first_row_is_told_by_its_place(put: Put) -> None:
    """It is of a day before all others, as one that dropped out would be, but the rest did not move up."""
    first = put("jobs.csv", JOBS, *MARCH)
    result = put("jobs.csv", JOBS, "2026-03-04,ALD-1,mowing,1", *MARCH[1:])
    assert told(result) == [said(2, first.load_id, 2, "date: 2026-03-03 there, 2026-03-04 here")]


def test_a_title_that_was_corrected(put: Put, workspace: Workspace) -> None:
    (workspace.profiles / "titled.toml").write_text(TITLED, "utf-8")
    lines = ["", "Test,Result,Unit", "ph,6.1,pH", "potassium,120,mg/kg"]
    first = put("lab.csv", "Sampled 2026-02-10\n", *lines)
    result = put("lab.csv", "Sampled 2026-02-12\n", *lines)
    what = "date: 2026-02-10 there, 2026-02-12 here"
    assert told(result) == [said(line, first.load_id, line, what, "lab.csv") for line in (4, 5)]
    undo(workspace, first.load_id or 0)
    assert (count(workspace, "soil_test"), open_matters(workspace)) == (2, ())


def test_the_head_of_a_form_that_was_corrected(put: Put, workspace: Workspace) -> None:
    (form,) = forms_named(["laboratory"], [])
    path = workspace.folder / "laboratory.xlsx"
    rows: list[Row] = [{"Analyte": name, "Result": value, "Unit": unit} for name, value, unit in RESULTS]
    results = []
    for day in (10, 12):

        def fill(book: Workbook, day: int = day) -> None:
            sheet = book["Soil tests"]
            say(sheet, "Green:", "Alder Brook, Main (ALD-1)")
            say(sheet, "Date:", date(2026, 2, day))
            write(sheet, rows)

        path.write_bytes(form_workbook(form, registered_names(workspace)))
        results.append(load_paths(workspace, [filled(path, fill)], today=TODAY)[0])
    assert results[1].counts.loaded == 3
    what = "date: 2026-02-10 there, 2026-02-12 here"
    lines = [line for line, _ in told(results[1])]
    assert told(results[1]) == [
        said(line, results[0].load_id, line, what, "laboratory.xlsx [Soil tests]") for line in lines
    ]
    assert len(lines) == 3


def test_a_line_of_several_results_is_asked_about_once_and_decided_whole(put: Put, workspace: Workspace) -> None:
    (workspace.profiles / "wide.toml").write_text(WIDE, "utf-8")
    head, second = "Date,Green,pH,K\n", "2026-02-10,ALD-2,6.3,140"
    first = put("wide.csv", head, "2026-02-10,ALD-1,6.1,120", second)
    result = put("wide.csv", head, "2026-02-12,ALD-1,6.1,120", second)
    assert told(result) == [said(2, first.load_id, 2, "date: 2026-02-10 there, 2026-02-12 here", "wide.csv")]
    made = decide(workspace, "one", ["wide.csv:2", "wide.csv:2"], "a slip", "office")
    assert (len(made.entries), count(workspace, "soil_test"), open_matters(workspace)) == (2, 4, ())


def test_a_corrected_green_of_a_whole_list(put: Put) -> None:
    first = put("soil.csv", SOIL, *soil("2026-02-10"))
    result = put("soil.csv", SOIL, *soil("2026-02-10", "ALD-2"))
    what = "green: ALD-1 there, ALD-2 here"
    assert told(result) == [said(line, first.load_id, line, what, "soil.csv") for line in (2, 3, 4)]


def test_the_year_of_a_whole_log(put: Put) -> None:
    put("jobs.csv", JOBS, *(line.replace("2026", "2025") for line in MARCH))
    assert len(told(put("jobs.csv", JOBS, *MARCH))) == 5


def test_the_same_list_under_another_name_and_day(put: Put) -> None:
    """Three results that agree to the last digit are no second sampling; two readings that agree may be."""
    first = put("soil_february.csv", SOIL, *soil("2026-02-10"))
    result = put("soil_march.csv", SOIL, *soil("2026-03-10"))
    assert told(result)[0] == (
        2,
        f"line 2 of soil_february.csv (load {first.load_id}) said the same, but for date: 2026-02-10 there, 2026-03-10 "
        "here. All that the two files say differs in this alone, and both count.",
    )
    put("soil_april.csv", SOIL, *soil("2026-04-10", "ALD-2")[:2])
    assert told(put("soil_may.csv", SOIL, *soil("2026-05-10", "ALD-2")[:2])) == []


def test_who_wrote_a_line_is_not_told(put: Put) -> None:
    """The name is kept out of every report, and so out of what stands in the store about the line."""
    head = "date,green,operation,reference,logged_by,hours\n"
    second = "2026-03-05,ALD-1,scarifying,J-2,hand B,2"
    first = put("jobs.csv", head, "2026-03-04,ALD-1,scarifying,J-1,hand A,2", second)
    result = put("jobs.csv", head, "2026-03-04,ALD-1,scarifying,J-1,hand B,2", second)
    assert told(result) == [said(2, first.load_id, 2, "logged_by")]
    assert "record.likely_double" not in result.faults["code"]


def test_a_code_of_a_register(put: Put, workspace: Workspace) -> None:
    """Both greens are in the register, and only taking the former's load back removes one."""
    result = put("greens.csv", "green,club,name,area_m2\n", "ALD-7,ALD,Main,1200", "ALD-2,ALD,Second,1300")
    assert told(result) == [
        (
            2,
            "line 2 of greens.csv (load 2) said the same, but for green: ALD-1 there, ALD-7 here. The file no longer "
            "holds that row, and both are in the register.",
        )
    ]
    another = put("greens.csv", "green,club,name,area_m2\n", "ALD-8,ALD,Third,1200", "ALD-2,ALD,Second,1300")
    assert told(another) == []


def test_a_former_row_that_is_closed_is_asked_about_no_more(put: Put, workspace: Workspace) -> None:
    put("jobs.csv", JOBS, MARCH[0])
    put("jobs.csv", JOBS, MARCH[1])
    assert len(open_matters(workspace)) == 1
    whole = put("jobs.csv", JOBS, MARCH[1], MARCH[2], complete=(date(2026, 3, 1), date(2026, 3, 31)))
    assert (whole.counts.closed, open_matters(workspace)) == (1, ())


def test_a_later_issue_of_another_name(put: Put) -> None:
    """A cumulative export named by its month: most of what it said before stands in it, so it is the same export."""
    first = put("jobs_2026-03.csv", JOBS, *MARCH)
    issue = [*MARCH[:2], "2026-03-08,ALD-1,mowing,1", *MARCH[3:], "2026-04-01,ALD-1,mowing,1"]
    result = put("jobs_2026-04.csv", JOBS, *issue)
    what = "date: 2026-03-07 there, 2026-03-08 here"
    assert told(result) == [said(4, first.load_id, 4, what, "jobs_2026-03.csv")]


@pytest.mark.parametrize(
    ("name", "other", "lines"),
    [
        ("jobs_2026-03.csv", "jobs_2026-04.csv", [*MARCH[3:], *(line.replace("-03-", "-04-") for line in MARCH)]),
        ("ann.csv", "bob.csv", [f"2026-03-{day:02},ALD-1,mowing,1" for day in (2, 4, 6, 9)]),
    ],
    ids=["months that overlap", "two crews with one job in common"],
)
def test_files_of_other_names_ask_nothing(put: Put, name: str, other: str, lines: list[str]) -> None:
    put(name, JOBS, *MARCH)
    assert told(put(other, JOBS, *lines)) == []


def test_what_the_file_itself_takes_back_is_not_asked_about(put: Put, workspace: Workspace) -> None:
    """The result is blank at its former day: it is withdrawn, and so told and counted already."""
    put("soil.csv", SOIL, *soil("2026-02-10"))
    blank = [f"2026-02-10,ALD-1,{analyte},,{unit}" for analyte, _, unit in RESULTS]
    result = put("soil.csv", SOIL, *blank, *soil("2026-02-12"))
    assert (result.counts.withdrawn, result.counts.loaded, told(result)) == (3, 3, [])
    assert count(workspace, "soil_test") == 3
