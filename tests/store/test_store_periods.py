"""Records known to the month or year only, in the store: closing, doubles, decisions, and how they are told."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from pipeline.common.words import period
from pipeline.indicators.base.reading import read_records
from pipeline.season.green import green_season
from pipeline.store.doubles import likely_doubles
from reports.page.attachments import rows_of
from tests.inputs.harness import Bench, bench

HEAD = "date,green,operation,logged_by,hours\n"
Put = Callable[..., object]


@pytest.fixture
def county(tmp_path: Path) -> object:
    with bench(tmp_path) as made:
        yield made


def load(county: Bench, name: str, rows: str, **options: object) -> None:
    path = county.workspace.folder / name
    path.write_text(HEAD + rows)
    assert not county.load(path, **options).failed  # type: ignore[arg-type]


def days(county: Bench) -> list[tuple[date, date | None]]:
    return [(row["date"], row["date_to"]) for row in county.records("job")]


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        (date(2024, 3, 15), None, "15 March 2024"),
        (date(2024, 2, 1), date(2024, 2, 29), "February 2024"),
        (date(2023, 2, 1), date(2023, 2, 27), "1 February 2023 to 27 February 2023"),
        (date(2024, 1, 1), date(2024, 12, 31), "2024"),
        (date(2023, 1, 1), date(2024, 12, 31), "1 January 2023 to 31 December 2024"),
    ],
)
def test_a_month_is_never_told_as_its_first_day(first: date, last: date | None, said: str) -> None:
    """November 2024 would stand as 1 November 2024 in every document."""
    assert period(first, last) == said


def test_a_complete_file_closes_a_month_only_where_all_of_it_is_declared(county: Bench) -> None:
    """A file complete for the first half of November may lack a job of November, which was in the second."""
    load(county, "a.csv", "Nov 2024,ALD-1,scarifying,,\n2024-11-03,ALD-1,mowing,,\n")
    half = (date(2024, 11, 1), date(2024, 11, 15))
    load(county, "a-2.csv", "2024-11-04,ALD-1,rolling,,\n", complete=half)
    month = (date(2024, 11, 1), date(2024, 11, 30))
    assert days(county) == [(month), (date(2024, 11, 4), None)]
    load(county, "a-2.csv", "2024-11-04,ALD-1,rolling,,\n2024-11-05,ALD-1,rolling,,\n", complete=month)
    assert days(county) == [(date(2024, 11, 4), None), (date(2024, 11, 5), None)]


def test_a_day_of_a_month_may_be_the_job_of_the_month(county: Bench) -> None:
    """Two hands that both say November may mean one job, and one that names its day may mean the same: it is asked.

    Of work that is done every few days a month's entry says nothing: mowing is not asked about.
    """
    load(county, "a.csv", "Nov 2024,ALD-1,scarifying,Ann,3\n")
    load(county, "b.csv", "2024-11-01,ALD-1,scarifying,Bob,3\n")
    load(county, "c.csv", "2024-11,ALD-1,scarifying,Cas,3\n")
    load(county, "d.csv", "2024-11-14,ALD-1,scarifying,Dan,\n2024-12-01,ALD-1,scarifying,Dan,3\n")
    load(county, "e.csv", "Nov 2024,ALD-1,mowing,Eve,3\n2024-11-14,ALD-1,mowing,Eve,3\n")
    pairs = likely_doubles(county.store).select("file", "line", "other_file", "other_line").rows()
    assert pairs == [("c.csv", 2, "a.csv", 2), ("b.csv", 2, "a.csv", 2), ("d.csv", 2, "a.csv", 2)]


def test_the_list_of_works_prints_the_month(county: Bench) -> None:
    load(county, "a.csv", "Nov 2024,ALD-1,scarifying,,\n2024-11-03,ALD-1,mowing,,\n2025-10-03,ALD-1,mowing,,\n")
    workspace = county.workspace
    done = green_season(read_records(county.store), "ALD-1", workspace.season("2025"), workspace)
    attached = [row[:2] for row in rows_of(done)["works.csv"]]
    assert attached == [("2024-11-01", "2024-11-30"), ("2024-11-03", None)]
    (job,) = [table for table in done.records if table.kind == "job"]
    cells = [dict(zip(job.columns, row, strict=True)) for row in job.rows]
    assert [(row["date"], row["date_to"]) for row in cells] == [
        ("2024-11-01", "2024-11-30"),
        ("2024-11-03", None),
    ]
