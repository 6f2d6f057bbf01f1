"""``--as-of`` and ``--known-by`` on the command line: what is printed, written and refused."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from pipeline.cli.app import app
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.thorough import beyond, thorough

HEAD = "date,green,operation,hours\n"


@pytest.fixture
def place(county: Load, workspace: Workspace) -> Path:
    """One job was in the store on 15 June; another of May came in July, with one of July."""
    assert not county("log.csv", f"{HEAD}2026-05-04,ALD-1,mowing,1.5\n").failed
    assert not county("late.csv", f"{HEAD}2026-05-20,ALD-1,mowing,2\n2026-07-01,ALD-1,mowing,4\n").failed
    with Store(workspace.store) as store:
        store.con.execute("UPDATE meta.load SET loaded_at = TIMESTAMP '2026-06-15 23:59:59'")
        store.con.execute("UPDATE meta.load SET loaded_at = TIMESTAMP '2026-07-02 00:00:00' WHERE file = 'late.csv'")
    return workspace.folder


def show(place: Path, *words: str) -> Result:
    return CliRunner().invoke(app, ["show", "ALD-1", "-w", str(place), *words])


def hours(place: Path, *words: str) -> tuple[float, str, str | None]:
    """Hours of the season, the last day counted, and the day that what counts was in the store by."""
    told = json.loads(show(place, "--json", "-q", *words).stdout)
    (value,) = [one["value"] for one in told["indicators"] if one["name"] == "hours_h"]
    return value, told["as_of"], told["known_by"]


def test_each_day_counts_what_it_says(place: Path) -> None:
    assert hours(place) == (7.5, "2026-07-01", None)
    assert hours(place, "--as-of", "2026-06-15") == (3.5, "2026-06-15", None)
    assert hours(place, "--known-by", "2026-06-15") == (1.5, "2026-05-04", "2026-06-15")
    assert hours(place, "--as-of", "2026-05-31", "--known-by", "2026-07-02") == (3.5, "2026-05-31", "2026-07-02")


@thorough
def test_what_came_later_is_said_on_standard_error_alone(place: Path) -> None:
    done = show(place, "--as-of", "2026-06-15")
    said = (
        "1 of the 2 records dated up to 15 June 2026 were loaded, or changed, after that day. "
        "Add --known-by 2026-06-15 for what was in the store then."
    )
    assert said in done.stderr
    assert said not in done.stdout
    assert "as of 15 June 2026" in done.stdout
    for words in (("-q", "--as-of", "2026-06-15"), ("--as-of", "2026-06-15", "--known-by", "2026-06-15"), ()):
        assert "after that day" not in show(place, *words).stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--as-of", "15/06/2026"), "“15/06/2026” is not a day."),
        (("--known-by", "June"), "“June” is not a day."),
        (("--as-of", "2025-06-15", "-s", "2026"), "Season 2026 begins on 1 October 2025, after 15 June 2025."),
        (("--as-of", "9000-01-01"), "1 January 9000 is still to come."),
        (("--known-by", "9000-01-01"), "1 January 9000 is still to come."),
        (("--as-of", "2026-06-15", "--known-by", "9000-01-01"), "1 January 9000 is still to come."),
    ],
)
@beyond(2)
def test_a_day_that_is_none_or_is_to_come_or_lies_before_the_season_is_refused(
    place: Path, words: tuple[str, ...], said: str
) -> None:
    from pipeline.common.refusal import WrongUsage

    done = show(place, *words)
    assert isinstance(done.exception, WrongUsage)
    assert str(done.exception) == said


@thorough
def test_every_record_behind_a_figure_is_one_of_then(place: Path) -> None:
    told = json.loads(show(place, "-e", "hours_h", "--known-by", "2026-06-15", "--json", "-q").stdout)
    assert [one["file"] for one in told["indicators"][0]["records"]] == ["log.csv"]
