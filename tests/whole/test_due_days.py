"""What is due reads the same in every document: every green of the demo, as of every tenth day of two seasons.

With a programme on record and without one. The ordinary run takes a few of the days; ``make fuzz`` takes them all.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from pipeline.indicators.base.green_records import GreenRecords, green_records
from pipeline.indicators.base.green_season import Due, GreenSeason
from pipeline.indicators.base.look import Look
from pipeline.indicators.base.looked_at import as_looked_at, opened
from pipeline.load.files import load_paths
from pipeline.plan.account import Priced
from pipeline.plan.against import of_green
from pipeline.plan.areas import Areas
from pipeline.plan.due import season_due
from pipeline.plan.due_list import greens_due
from pipeline.plan.next import due_next, whats_due
from pipeline.plan.read import done_works, planned_works
from pipeline.publish import due as listing
from pipeline.publish.due import due_list
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.summaries.club import club_season
from pipeline.survey.programme import first_month
from pipeline.workspace.settings import Workspace, open_workspace
from reports.condition import view as condition
from reports.condition.levels import REPORT_LEVELS
from reports.page.text import days
from reports.round_up import render as round_up_page
from reports.round_up.data import csv_files as round_up_tables
from reports.summary import render as summary
from tests.conftest import TODAY
from tests.programmes import programme_of
from tests.reports.club_sample import round_up
from tests.thorough import FUZZ, beyond
from tests.whole.test_due_everywhere import plain

FIRST, LAST = date(2024, 10, 1), date(2026, 9, 30)
DAYS = tuple(FIRST + timedelta(days=number) for number in range(0, (LAST - FIRST).days + 1, 10))
LOOKED_AT = DAYS if FUZZ else DAYS[22::36]
UNPRICED = Priced((), lambda day: {}, {}, Areas())


@pytest.fixture(scope="module")
def bare(demo_county: Workspace, tmp_path_factory: pytest.TempPathFactory) -> Workspace:
    """The demo county without its programmes."""
    return without_programmes(demo_county, tmp_path_factory.mktemp("bare") / "county")


@pytest.fixture(scope="module")
def planned(demo_county: Workspace, tmp_path_factory: pytest.TempPathFactory) -> Workspace:
    """The demo county with a programme of ours for each club, of three seasons, and none of its own."""
    folder = tmp_path_factory.mktemp("planned") / "county"
    workspace = without_programmes(demo_county, folder)
    with Store(workspace.store, read_only=True) as store:
        clubs = [club for (club,) in store.rows("SELECT DISTINCT club FROM green ORDER BY club")]
    path = folder / "programme.csv"
    path.write_text(programme_of(clubs, (2025, 2026, 2027)), "utf-8")
    (done,) = load_paths(workspace, [path], today=TODAY)
    assert not done.failed and not done.counts.rejected, done.faults
    return workspace


def without_programmes(demo: Workspace, folder: Path) -> Workspace:
    """A copy of a workspace without its planned works."""
    shutil.copytree(demo.folder, folder)
    workspace = open_workspace(folder)
    with Store(workspace.store) as store:
        store.con.execute("DELETE FROM history.planned_work")
    return workspace


def looked_at(workspace: Workspace, day: date) -> Iterator[GreenRecords]:
    """The records of every green as of the end of a day."""
    look = Look(as_of=day)
    with opened(workspace, look) as store:
        records = as_looked_at(store, look)
    for green in records.greens["green"]:
        yield green_records(records, green, workspace.season_of(day), workspace)


def of_the_list(own: GreenRecords) -> list[Due]:
    """What the due list says of a green, as far ahead as a document looks."""
    ends = season_due(own.season, own.last_day).end
    until = ends + timedelta(days=400)
    stands = of_green(replace(own, as_of=own.last_day), ())
    (green,) = greens_due([(own, stands)], until, UNPRICED)
    return [item.due for item in green.items if item.due.first is None or item.due.first <= ends]


def of_a_survey(own: GreenRecords, workspace: Workspace) -> tuple[Due, ...]:
    """What the survey of a visit on the last day says, whose programme begins with the next month."""
    begins = season_due(own.season, first_month(own.last_day))
    return whats_due(own, begins, own.last_day)


@pytest.mark.parametrize("day", LOOKED_AT, ids=str)
@pytest.mark.parametrize("county", ["bare", "planned", "demo_county"])
@beyond(2)
def test_every_document_asks_one_engine(request: pytest.FixtureRequest, county: str, day: date) -> None:
    """Without a programme, with ours, with those of the demo."""
    workspace: Workspace = request.getfixturevalue(county)
    lines = 0
    for own in looked_at(workspace, day):
        told = due_next(own)
        assert of_the_list(own) == list(told)
        surveyed = of_a_survey(own, workspace)
        season = season_due(own.season, own.last_day)
        if season_due(own.season, first_month(day)) == season:
            assert sorted(map(repr, surveyed)) == sorted(map(repr, told))
        else:  # the survey looks a season further: every line of a programme is there, in the same words
            assert {one for one in told if one.state} <= set(surveyed)
        assert all(one.day is not None and one.day < day for one in told if one.overdue)
        lines += sum(bool(one.state) for one in told)
    assert bool(lines) == (county == "planned") or county == "demo_county"


@pytest.mark.parametrize("day", LOOKED_AT, ids=str)
@beyond(1)
def test_nothing_that_was_done_is_overdue(planned: Workspace, day: date) -> None:
    """Held against the log itself: of work done once in its window or up to a fortnight before, none is asked for."""
    begins = planned.season_of(day).start - timedelta(days=400)
    with Store(planned.store, read_only=True) as store:
        jobs = [job for job in done_works(store, days=(begins, day)) if job.last <= day]
        once = [one for one in planned_works(store) if one.size == 1.0 and one.unit == "times"]
    done = {
        (one.green, one.operation, one.last)
        for one in once
        for job in jobs
        if job.green == one.green and job.operation == one.operation and one.first <= job.first and job.last <= one.last
        and job.part == 1.0
    }  # fmt: skip
    asked = {(str(own.green["green"]), one.operation, one.day) for own in looked_at(planned, day)
             for one in due_next(own) if one.state}  # fmt: skip
    assert not done & asked


def test_a_later_day_asks_for_no_more_of_what_was_done(planned: Workspace) -> None:
    """From day to day what is left of a line only shrinks, until its season is over."""
    left: dict[tuple[str, str, date | None, str], float] = {}
    for day in (date(2026, 4, 12), date(2026, 9, 29)):
        for own in looked_at(planned, day):
            for one in due_next(own):
                if one.state and one.low is not None:
                    key = (str(own.green["green"]), one.what, one.day, one.unit)
                    assert one.low <= left.get(key, one.low) + 1e-9, key
                    left[key] = one.low
    assert len(left) > 30


@pytest.fixture(scope="module")
def seasons(planned: Workspace) -> tuple[GreenSeason, ...]:
    """Every green of four clubs in the season of 20 June 2026, put together as documents put it."""
    look = Look(as_of=date(2026, 6, 20))
    with opened(planned, look) as store:
        records = as_looked_at(store, look)
    codes = records.greens.sort("club", "green")["green"].to_list()[:5]
    return tuple(green_season(records, code, planned.season("2026"), planned) for code in codes)


def test_documents_print_the_lines_of_a_programme(seasons: Sequence[GreenSeason], planned: Workspace) -> None:
    """Their final texts: condition report, summary, round-up."""
    listed = {str(own.green["green"]): of_the_list(own) for own in looked_at(planned, date(2026, 6, 20))}
    whole = round_up(seasons)
    (table,) = (file for file in round_up_tables(whole) if file.name == "due.csv")
    text = table.content.decode("utf-8")
    for season in seasons:
        assert list(season.due) == listed[season.green]
        assert any(one.state == "due" for one in season.due)
        page = condition.view(season, REPORT_LEVELS[0], version="test")
        assert [(plain(row.what), plain(row.quantity), plain(row.by)) for row in page.due] == [
            (one.what, one.quantity, one.by) for one in season.due[: len(page.due)]
        ]
        assert all(one.quantity in text for one in season.due)
    (club,) = {season.club for season in seasons[:2]}
    of_club = club_season([season for season in seasons if season.club == club])
    rows = [(plain(row.what), plain(row.by)) for row in summary.view(of_club, version="test").due]
    due = [one for _, one in of_club.due[: len(rows)]]
    assert rows == [(one.what, plain(days(one.first, one.day)) if _is_to_come(one) else one.by) for one in due]
    assert len(of_club.due) == sum(len(season.due) for season in seasons if season.club == club)


def _is_to_come(one: Due) -> bool:
    """Whether the summary tells its days as a range."""
    return one.state == "not due yet" and one.first is not None and one.day is not None


def test_the_round_up_tells_what_may_be_done_from_what_is_due(seasons: Sequence[GreenSeason]) -> None:
    """Visits have no number that adds up: their words stand. What a job may have done is no amount that is due."""
    much = "not known: slitting of June 2026 may have done it: the day is not known, planned: once"
    perhaps = Due(
        "Slitting", much, "in June 2026", "Programme 2026.", date(2026, 6, 30), state="not known", operation="slitting"
    )
    later = replace(perhaps, quantity="once", state="not due yet")
    first, second, *others = seasons
    whole = round_up([replace(first, due=(perhaps,)), replace(second, due=(later,)), *others])
    page = round_up_page.view(whole, version="test")
    rows = {(row.quantity, row.greens) for row in page.due if row.what == "Slitting" and row.by == "in June 2026"}
    assert rows == {("perhaps done: see due.csv", first.green), ("once", second.green)}


def test_the_summary_counts_what_is_not_due_yet_apart(seasons: Sequence[GreenSeason]) -> None:
    of_club = club_season([season for season in seasons if season.club == seasons[0].club])
    later = sum(one.state == "not due yet" for _, one in of_club.due)
    (said,) = (line for line in summary.view(of_club, version="test").matters if " due" in line and "first:" in line)
    assert plain(said).startswith(f"{len(of_club.due) - later} things are due, {later} not due yet; first: ")
    assert later


def test_a_list_of_many_greens_is_that_of_each(planned: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    """Figures of many are made together, and of very many in worker processes."""
    until = date(2027, 6, 30)
    whole = due_list(planned, until=until, today=TODAY)
    codes = [one.green for one in whole.greens]
    for one in (codes[0], codes[-1]):
        assert due_list(planned, [one], until=until, today=TODAY).greens == (whole.greens[codes.index(one)],)
    monkeypatch.setattr(listing, "MANY", 2)
    monkeypatch.setattr(listing, "AT_ONCE", 7)
    assert due_list(planned, until=until, today=TODAY).greens == whole.greens
