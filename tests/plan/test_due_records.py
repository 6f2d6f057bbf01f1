"""What is due is read from a part of the records: it must be what all of them come to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import polars as pl
import pytest

from pipeline.indicators.base.by_green import BY_DAY, by_green, shared
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.look import ORDINARY, Look
from pipeline.indicators.base.looked_at import as_looked_at, opened
from pipeline.indicators.base.records import Records
from pipeline.plan.account import Priced
from pipeline.plan.against import of_green
from pipeline.plan.areas import Areas
from pipeline.plan.due_list import GreenDue, greens_due
from pipeline.plan.due_records import due_records
from pipeline.store.last_day import last_days
from pipeline.workspace.settings import Season, Workspace
from tests.thorough import beyond

UNPRICED = Priced((), lambda _: {}, {}, Areas())
LOOKS = (ORDINARY, Look(as_of=date(2025, 6, 20)), Look(as_of=date(2025, 10, 1)), Look(as_of=date(2027, 4, 10)))


def due_of(records: Records, greens: Sequence[str], span: Season, workspace: Workspace) -> list[GreenDue]:
    """What is due on greens as far ahead as programmes and targets say anything."""
    own = [green_records(records, green, span, workspace) for green in greens]
    each = [(one, of_green(replace(one, as_of=one.last_day), ())) for one in own]
    return list(greens_due(each, span.end + timedelta(days=400), UNPRICED))


@pytest.mark.parametrize("look", LOOKS, ids=lambda look: str(look.as_of))
@beyond(1)
def test_a_part_of_the_records_comes_to_what_all_of_them_do(demo_county: Workspace, look: Look) -> None:
    """Words and numbers of every line, not only those printed: the list is read in part, documents from all records."""
    with opened(demo_county, look) as store:
        whole = as_looked_at(store, look)
        lasts = last_days(store)
    greens = whole.greens["green"].to_list()
    day = look.as_of or whole.last_day
    assert day
    span = demo_county.season_in_hand(day)
    with opened(demo_county, look) as store:
        part = due_records(store, look, greens, span, lasts)
    assert part.frames["job"].height < whole.frames["job"].height or day < date(2025, 10, 2)
    told, found = (due_of(records, greens, span, demo_county) for records in (whole, part))
    assert list(map(repr, found)) == list(map(repr, told))
    assert sum(len(green.items) for green in found) > len(greens)


def test_the_last_day_of_a_green_is_that_of_all_its_records(demo_county: Workspace) -> None:
    """Records that no line asks for, such as level surveys, still say how far the record goes."""
    with opened(demo_county, ORDINARY) as store:
        whole, lasts = as_looked_at(store, ORDINARY), last_days(store)
    season = demo_county.season("2026")
    told = {green: green_records(whole, green, season, demo_county).last_day for green in lasts}
    assert told == lasts


def test_shares_of_many_greens_are_those_by_the_area_of_each_day() -> None:
    """A first area holds for the days before it; a later one from its day on; a green without one has no share."""
    held = pl.DataFrame(
        {
            "green": ["A", "A", "B", "C"],
            "holds_from": [date(2025, 1, 1), date(2026, 1, 1), None, None],
            "area_m2": [1000.0, 800.0, 500.0, None],
        }
    )
    days = [date(2024, 5, 1), date(2025, 12, 31), date(2026, 1, 1)]
    jobs = pl.DataFrame(
        {
            "green": [green for green in "CBA" for _ in days],
            "date": days * 3,
            "file": "jobs.csv",
            "line": range(9),
            "treated_area_m2": [None, 400.0, 400.0] * 3,
        },
        schema_overrides={"treated_area_m2": pl.Float64},
    )
    parted = shared(by_green(jobs, *BY_DAY), held)
    assert parted.of("A")["green_m2"].to_list() == [1000.0, 1000.0, 800.0]
    assert parted.of("B")["green_m2"].to_list() == [500.0] * 3
    assert parted.of("A")["share"].to_list() == [1.0, 0.4, 0.5]
    assert parted.of("C")["share"].to_list() == [1.0, None, None]
    assert parted.of("D").height == 0
