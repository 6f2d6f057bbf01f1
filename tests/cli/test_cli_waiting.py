"""What ``status`` prints of what waits for a person: lines to be pasted whole, and one block for the rows of a file."""

from __future__ import annotations

import shlex

import pytest

from pipeline.cli import printing
from pipeline.indicators.base.open_matters import open_matters
from pipeline.store.inventory import inventory
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.thorough import thorough

HEAD = "date,green,operation\n"
ASKED = '--why "..." --who "..."'


def printed(workspace: Workspace, capsys: pytest.CaptureFixture[str], title: str) -> list[str]:
    """The lines under a title, up to the next blank one."""
    capsys.readouterr()
    printing.inventory(inventory(workspace), open_matters(workspace), quiet=True)
    lines = capsys.readouterr().out.splitlines()
    part = lines[lines.index(title) + 1 :]
    return part[: part.index("")] if "" in part else part


def test_rejected_rows_of_a_file_are_one_block(
    county: Load, workspace: Workspace, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each row had its two commands under it: 25 rows were 75 lines."""
    county("log.csv", HEAD + "".join(f"2026-04-{31 + at},ALD-1,mowing\n" for at in range(25)))
    county("other.csv", HEAD + "2026-02-30,ALD-1,mowing\n")
    lines = printed(workspace, capsys, "Rejected rows outside the store: 26")
    assert lines[0] == "  log.csv, line 2: There is no such day: 2026-04-31"
    assert lines[10:] == [
        f"    → swardtally load {workspace.rejected / 'log.rejected.csv'}  # once they are mended there",
        f"    → swardtally decide aside log.csv:2 {ASKED}  # line 2: it came in another way, or is not wanted",
        "  and 16 more (--json lists all)",
    ]
    for line in lines[10:12]:
        words = shlex.split(line.partition("→")[2], comments=True)
        assert words[0] == "swardtally"
        assert "(" not in "".join(words), "a shell stops at it"


@thorough
def test_an_undo_that_status_prints_is_one_that_works(county: Load, workspace: Workspace) -> None:
    """A later load of the same file rests on it, so that the number by itself was refused."""
    head = "green,club,area_m2\n"
    county("office.csv", head + "ALD-1,ALD,1000\n")
    later = county("book.csv", head + "ALD-1,ALD,1200\n")
    last = county("book.csv", head + "ALD-1,ALD,1200\nALD-9,ALD,900\n")
    (matter,) = [one for one in open_matters(workspace) if one.sort == "double" and one.file == "book.csv"]
    command, means = matter.next[-1]
    assert command == f"swardtally undo {last.load_id} && swardtally undo {later.load_id}"
    assert (
        means
        == f"the former was right: takes the whole later load back, and first what rests on it (load {last.load_id})"
    )
    for number in (last.load_id, later.load_id):
        undo(workspace, number or 0)
    assert [one for one in open_matters(workspace) if one.file == "book.csv"] == []


def test_hints_name_the_load_by_its_number(county: Load) -> None:
    """“undo LOAD” stood there where the number was known."""
    county("office.csv", "green,club,area_m2\nALD-1,ALD,1000\n")
    later = county("book.csv", "green,club,area_m2\nALD-1,ALD,1200\n")
    hints = " ".join(later.faults["hint"].to_list())
    assert f"(undo {later.load_id})" in hints
    assert "undo LOAD" not in hints


def test_a_warning_is_listed_once_and_not_beside_its_confirmation(county: Load, workspace: Workspace) -> None:
    head = "date,green,operation,hours\n2026-03-09,ALD-1,rolling,200\n"
    county("log.csv", head)
    county("log.csv", head + "2026-03-10,ALD-1,mowing,1\n")
    asked = [one for one in open_matters(workspace) if one.sort == "question"]
    assert [(one.file, one.line) for one in asked] == [("log.csv", 2)]
    workspace.corrections.mkdir(exist_ok=True)
    (workspace.corrections / "log.toml").write_text(
        '[[correction]]\nfile = "log.csv"\nline = 2\ncolumn = "hours"\nfrom = "200"\nto = "200"\n'
        'why = "a whole week of eight"\nwho = "office"\n'
    )
    again = county("log.csv", head + "2026-03-10,ALD-1,mowing,1\n")
    said = again.faults.filter(again.faults["line"] == 2).select("severity", "code").rows()
    assert said == [("note", "correction.confirmed")]
    assert [one for one in open_matters(workspace) if one.sort == "question"] == []
