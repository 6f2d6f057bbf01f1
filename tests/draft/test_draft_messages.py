"""A pasted list of messages: read a message a row, told as a job log where it tells of work."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.load.files import load_paths
from pipeline.read.sheet import Reading
from pipeline.read.table import read_sheet
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load
from tests.draft.conftest import Drafted, data_of, decide

LIST = (
    "12/03/2026, 08:14 - Sam: scarified\n"
    "14/03/2026, 07:55 - Kit: mowing\n"
    "and left the boxes: by the shed\n"
    "\n"
    "15/03/2026, 09:00 - Sam: top dressing\n"
)


def test_a_list_of_messages_is_a_job_log_and_loads(
    county: Load, drafted: Drafted, workspace: Workspace, tmp_path: Path
) -> None:
    """What a message says beyond the operation is refused whole, with its line; nothing of it is guessed."""
    draft = drafted(LIST, "chat.txt")
    data = data_of(draft)
    assert (data["kind"], data["reading"]) == ("job", {"messages": True})
    assert data["fields"] == {"date": "date", "operation": "message", "logged_by": "by"}
    assert data["values"] == {"date_order": "dmy"}
    assert [ask.key for ask in draft.asks] == ["constants.green"]
    decide(draft, {r"constants\|green": "ALD-1"})
    result = load_paths(workspace, [tmp_path / "chat.txt"], today=TODAY)[0]
    assert (result.profile, result.counts.rows, result.counts.loaded, result.counts.rejected) == ("chat", 3, 2, 1)
    (bad,) = result.faults.filter(result.faults["code"] == "choice.unknown").iter_rows(named=True)
    assert (bad["line"], bad["value"]) == (2, "mowing\nand left the boxes: by the shed")
    with Store(workspace.store, read_only=True) as store:
        assert [
            (str(day), what, line)
            for day, what, line in store.rows("SELECT date, operation, line FROM job ORDER BY date")
        ] == [
            ("2026-03-12", "scarifying", 1),
            ("2026-03-15", "top_dressing", 5),
        ]


@pytest.mark.parametrize(
    ("line", "row"),
    [
        ("12/03/2026, 08:14 - Sam: cut 2:1 mix", ("12/03/2026", "08:14", "Sam", "cut 2:1 mix")),
        ("[12/03/2026, 08:14:33] Sam T: cut", ("12/03/2026", "08:14:33", "Sam T", "cut")),
        ("2026-03-12 8:14 am – Sam: cut", ("2026-03-12", "8:14 am", "Sam", "cut")),
        ("12.03.26 08.14: Sam: cut", ("12.03.26", "08.14", "Sam", "cut")),
        ("12/03/2026, 08:14 - Sam joined", ("12/03/2026", "08:14", None, "Sam joined")),
    ],
)
def test_ways_in_which_a_message_begins(tmp_path: Path, line: str, row: tuple[str | None, ...]) -> None:
    path = tmp_path / "chat.txt"
    path.write_text(f"{line}\n{line}\n", "utf-8")
    sheet = read_sheet(path, Reading(messages=True))
    assert sheet.headers == ("date", "sent at", "by", "message")
    assert tuple(cell or None for cell in sheet.cells.row(0)[1:]) == row


def test_a_list_that_tells_of_no_work_is_no_job_log(drafted: Drafted) -> None:
    draft = drafted("12/03/2026, 08:14 - Pat: the urn\n13/03/2026, 08:20 - Lee: I can\n", "chat.txt")
    assert draft.kind == "?"


def test_a_table_is_no_list_of_messages(drafted: Drafted, tmp_path: Path) -> None:
    """Rows of a table begin with a day and a time too; a table declared to be messages is refused."""
    draft = drafted("Date,Time,Green,Operation\n2026-03-12,08:14,ALD-1,mowing\n2026-03-13,08:14,ALD-1,mowing\n")
    assert "reading" not in data_of(draft)
    sheet = read_sheet(tmp_path / "export.csv", Reading(messages=True))
    (fault,) = sheet.faults.iter_rows(named=True)
    assert (fault["code"], fault["line"], fault["severity"]) == ("read.messages", None, "error")
    assert "line 1 does not begin one: Date,Time,Green,Operation" in fault["message"]
