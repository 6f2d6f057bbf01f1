"""A clock that was set back: it is said, nothing is refused, and loads count in the order of their numbers."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from pipeline.cli.doctor import look_at
from pipeline.figures.changed import changed
from pipeline.figures.refresh import keep_up
from pipeline.load import clock, ledger
from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.store.clock import Entry, set_back, told
from pipeline.store.inventory import inventory
from pipeline.store.known import Known
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load

NOON = datetime.fromisoformat("2026-11-01T12:00")
HEAD = "date,green,operation,hours\n"


def january(day: int) -> datetime:
    return datetime.fromisoformat(f"2026-01-{day:02}")


def loaded(workspace: Workspace, monkeypatch: pytest.MonkeyPatch, at: datetime, *files: Path) -> list[FileResult]:
    """Load files at a time of this machine."""
    monkeypatch.setattr(ledger, "now", lambda: at)
    monkeypatch.setattr(clock, "now", lambda: at)
    return load_paths(workspace, files, today=at.date())


@pytest.fixture
def files(tmp_path: Path) -> list[Path]:
    """Four files of a job each."""
    made = [tmp_path / f"jobs-{number}.csv" for number in range(4)]
    for number, path in enumerate(made):
        path.write_text(f"{HEAD}2026-03-0{number + 1},ALD-1,mowing,1\n")
    return made


def notes(result: FileResult) -> list[str]:
    return [text for code, text in result.faults.select("code", "message").rows() if code == "load.clock_back"]


def test_a_load_before_the_last_one_says_so_once_a_call(
    county: Load, workspace: Workspace, files: list[Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A laptop whose battery was flat wakes up in the past: what it loads must not look older than it is."""
    with Store(workspace.store) as store:
        store.con.execute("UPDATE meta.load SET loaded_at = ?", [NOON - timedelta(days=40)])
    (first,) = loaded(workspace, monkeypatch, NOON, files[0])
    assert notes(first) == []
    second, third = loaded(workspace, monkeypatch, NOON - timedelta(days=31), *files[1:3])
    assert notes(second) == [
        "It is 2026-10-01 12:00 UTC by this machine, and entry 4 of 2026-11-01 12:00 UTC lies ahead: a clock was set "
        "back."
    ]
    assert notes(third) == []
    assert [one.load_id for one in (first, second, third)] == [4, 5, 6]
    assert not any(one.failed or one.counts.warnings for one in (second, third))
    said = (
        "A clock was set back: entry 5 of 2026-10-01 12:00 UTC comes after entry 4 of 2026-11-01 12:00 UTC. Loads "
        "count in the order of their numbers."
    )
    assert inventory(workspace).clock == said
    assert inventory(workspace).as_json()["clock"] == said
    (check,) = (one for one in look_at(workspace.folder) if one.what == "Clock")
    assert (check.fine, check.found) == (True, said)
    # the same files again: what is true of one load alone is not said of another
    assert notes(loaded(workspace, monkeypatch, NOON + timedelta(days=1), files[1])[0]) == []


def test_what_the_store_held_on_a_day_goes_by_numbers(
    county: Load, workspace: Workspace, files: list[Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A load made later by a clock set back did not stand in the store before what it came after."""
    with Store(workspace.store) as store:
        store.con.execute("UPDATE meta.load SET loaded_at = ?", [NOON - timedelta(days=40)])
    loaded(workspace, monkeypatch, NOON, files[0])
    loaded(workspace, monkeypatch, NOON - timedelta(days=31), files[1])
    loaded(workspace, monkeypatch, NOON + timedelta(days=2), files[2])
    for day, jobs in ((date(2026, 10, 15), 0), (date(2026, 11, 1), 2), (date(2026, 11, 3), 3)):
        with Known(workspace.store, day) as store:
            assert store.rows("SELECT count(*) FROM job") == [(jobs,)], day


def test_a_machine_whose_time_lies_before_the_last_load_is_told(county: Load, workspace: Workspace) -> None:
    with Store(workspace.store) as store:
        store.con.execute("UPDATE meta.load SET loaded_at = TIMESTAMP '2999-01-01 10:30:00' WHERE load_id = 2")
    (check,) = (one for one in look_at(workspace.folder) if one.what == "Clock")
    assert not check.fine
    assert check.found.endswith(" UTC by this machine, and entry 2 of 2999-01-01 10:30 UTC lies ahead")
    assert check.hint.startswith("Look at date and time of this machine")


def test_several_set_backs_are_counted(county: Load, workspace: Workspace) -> None:
    """Entries in a row after one set back are one; of two the second is counted; equal seconds are none."""
    days = {1: 10, 2: 10, 3: 8}
    with Store(workspace.store) as store:
        for number, day in days.items():
            store.con.execute("UPDATE meta.load SET loaded_at = ? WHERE load_id = ?", [january(day), number])
        found = set_back(store)
    assert found == ((Entry(3, january(8)), Entry(2, january(10))),)
    assert told((*found, *found)) == (
        "A clock was set back: entry 3 of 2026-01-08 00:00 UTC comes after entry 2 of 2026-01-10 00:00 UTC, and 1 time "
        "more. Loads count in the order of their numbers."
    )
    assert told(()) == ""


def test_a_date_to_come_says_which_day_was_today(county: Load) -> None:
    """ "Has not come yet" is said by a clock; where that is wrong, the reader must see it."""
    text = f"{HEAD}2026-11-02,ALD-1,mowing,1\n2026-11-01,ALD-1,mowing,2\n"
    result = county("jobs.csv", text)
    assert result.counts.rejected == 1
    (said,) = (
        result.faults.filter(result.faults["code"] == "load.day_taken").select("message", "severity", "line").rows()
    )
    assert said == (
        f"Today was taken to be {TODAY.isoformat()}, by this machine's clock (UTC): later dates have not come yet.",
        "note",
        None,
    )
    assert "load.day_taken" not in county("more.csv", f"{HEAD}2026-10-30,ALD-1,mowing,1\n").faults["code"]


def test_a_day_is_found_by_the_clock_and_said_so_where_one_was_set_back(county: Load, workspace: Workspace) -> None:
    """A load of the day may bear an earlier time then: the list must not look whole."""
    keep_up(workspace)
    assert changed(workspace, since="2026-01-01", today=TODAY).notes == ()
    with Store(workspace.store) as store:
        for number, day in {1: 10, 2: 8}.items():
            store.con.execute("UPDATE meta.load SET loaded_at = ? WHERE load_id = ?", [january(day), number])
    notes_of = {since: changed(workspace, since=since, today=TODAY).notes for since in ("2026-01-09", "1")}
    assert notes_of["1"] == ()
    (said,) = notes_of["2026-01-09"]
    assert said.startswith("A clock was set back: entry 2 of 2026-01-08")
    assert said.endswith(" A day is found by the clock: name a load to be sure.")
