"""Planned works, prices, stock, rates, the calendar as users' files: what is told and kept, and what no figure sees."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import polars as pl
import pytest

from pipeline.figures.refresh import refresh
from pipeline.load.result import FileResult
from pipeline.publish.documents import season_of_green
from pipeline.store.changes import changes
from pipeline.store.last_day import last_day
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import AHEAD, KINDS
from schemas.material import UNREGISTERED
from tests.conftest import Load

PLAN = "programme,green,club,template,operation,material,window_from,window_to,times,rate,quantity,reference\n"
FILES = {
    "planned_work": PLAN + "2027,ALD-1,,,top dressing,70/30 sand and soil,2026-10-05,2026-10-16,,3.5 kg/m2,,R-1\n",
    "price": "material,supplier,pack,price,carriage\n70/30 sand and soil,quarry,10 t,420.50,65\n",
    "stock": "material,depot,counted_on,quantity\n70/30 sand and soil,yard,2026-02-02,3 t\n",
    "rate": "rate_of,amount,holds_from\nlabour,28.50,2026-04-01\n",
    "calendar": "club,from_day,occasion,title\nALD,2027-05-09,match,county pairs\n",
}
JOBS = (
    "date,green,operation,material,mass_kg,hours,cost\n"
    "2026-03-16,ALD-1,top dressing,70/30 sand and soil,4000,6,240.25\n"
    "2026-04-02,ALD-1,fertiliser,spring granular 11-5-5 + 8 Fe,50,1,63\n2026-06-02,ALD-1,mowing,,,2,\n"
)


def faults(result: FileResult) -> list[tuple[int, str, str, str]]:
    """Line, column, code and message of a load's errors and warnings."""
    told = result.faults.filter(pl.col("severity") != "note")
    return told.select("line", "column", "code", "message").rows()


@pytest.mark.parametrize("name", AHEAD)
def test_each_is_told_by_its_own_headers_and_read_again_without_a_change(county: Load, name: str) -> None:
    """A file of prices that needed a profile would not be loaded by the office."""
    done = county(f"{name}s.csv", FILES[name])
    assert (done.kind, done.counts.loaded, faults(done)) == (name, 1, [])
    again = county(f"{name}s.csv", FILES[name])
    assert (again.counts.changed, again.counts.unchanged) == (0, 1)


def test_no_figure_sees_what_is_to_come(county: Load, workspace: Workspace) -> None:
    """A plan for next year would move the last day on record, a price the cost: nothing of them was done."""
    county("jobs.csv", JOBS)
    figures = "FROM derived.figure"
    with Store(workspace.store) as store:
        refresh(store, workspace)
    with Store(workspace.store, read_only=True) as store:
        before, day = store.frame(figures), last_day(store)
    season = season_of_green(workspace, "ALD-1", "2026")
    assert before.height > 20
    for name in AHEAD:
        county(f"{name}s.csv", FILES[name])
        with Store(workspace.store, read_only=True) as store:
            assert store.frame(figures).equals(before), f"{name}: data_version and values stay"
            assert last_day(store) == day
            assert store.rows(f'SELECT count(*) FROM "{name}"') == [(1,)]
    assert season_of_green(workspace, "ALD-1", "2026") == season
    with Store(workspace.store) as store:
        assert refresh(store, workspace).made == 0


def test_a_rejected_line_of_a_plan_is_none_of_the_greens_record(county: Load, workspace: Workspace) -> None:
    """It would be said in the report that a job of the green was not read."""
    county("jobs.csv", JOBS)
    before = season_of_green(workspace, "ALD-1", "2026")
    done = county("plan.csv", PLAN + "2027,ALD-1,,,top dressing,,2026-03-16,2026-03-10,,,,\n")
    assert done.counts.rejected == 1
    assert season_of_green(workspace, "ALD-1", "2026") == before


@pytest.mark.parametrize(
    ("line", "column", "code", "message"),
    [
        ("2027,,,,mowing,,2027-04-01,2027-04-30,,,,", "green", "plan.for_nothing",
         "The line says neither a green, nor a club, nor a template."),
        ("2027,ALD-1,ALD,,mowing,,2027-04-01,2027-04-30,,,,", "green", "plan.for_two",
         "The line is for green, club: it can be of one of them alone."),
        (",ALD-1,,,mowing,,2027-04-01,2027-04-30,,,,", "programme", "plan.unnamed",
         "The line of ALD-1 names no programme: next season's line of the same work would take its place."),
        ("2027,ALD-1,,,mowing,,2027-04-30,2027-04-01,,,,", "window_to", "plan.window",
         "The window ends on 2027-04-01, before it begins on 2027-04-30."),
        ("2027,ALD-1,,,mowing,,2026-04-01,2027-04-30,,,,", "window_to", "plan.window_long",
         "The window to 2027-04-30 is 395 days long: most of that time the work is neither early nor late."),
        ("2027,ALD-1,,,top dressing,70/30 sand and soil,2027-04-01,2027-04-30,,3 kg/m2,4 t,", "quantity",
         "plan.amounts",
         "The line says how much in more than one way: mass_kg, rate_g_m2."),
        (",,,autumn,top dressing,70/30 sand and soil,2027-04-01,2027-04-30,,,4 t,", "quantity", "plan.total",
         "mass_kg is said of a template, and it may be of each green or of all together."),
        ("2027,ALD-9,,,mowing,,2027-04-01,2027-04-30,,,,", "green", "reference.unknown",
         "green: “ALD-9” is not in the register of greens; closest: ALD-1."),
        ("2027,ALD-1,,,top dressing,70/30 sand,2027-04-01,2027-04-30,,3 kg/m2,,", "material",
         "reference.material_to_come",
         "Material “70/30 sand” is not in the register of materials; closest: 70/30 sand and soil; the line is kept: "
         f"{UNREGISTERED}. It may be another name of one that is there."),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_planned_work_is_told(
    county: Load, line: str, column: str, code: str, message: str
) -> None:
    """Each says its line, column, and what it is."""
    (found,) = faults(county("plan.csv", f"{PLAN}{line}\n"))
    assert found == (2, column, code, message)


def test_a_whole_amount_of_a_club_is_that_of_its_one_green_alone(county: Load) -> None:
    """6 t for a club of two greens may be 6 t or 12 t."""
    line = "2027,,ALD,,top dressing,70/30 sand and soil,2027-04-01,2027-04-30,,,6 t,\n"
    assert faults(county("plan.csv", PLAN + line)) == []
    county("greens2.csv", "green,club,area_m2\nALD-2,ALD,1500\n")
    (found,) = faults(county("plan2.csv", PLAN + line.replace("2027,", "2028,", 1)))
    assert found[2:] == (
        "plan.total",
        "mass_kg is said of a club of several greens, and it may be of each green or of all together.",
    )


@pytest.mark.parametrize(
    ("name", "text", "column", "code", "message"),
    [
        ("price", "material,supplier,price\n70/30 sand and soil,quarry,42\n", "pack_kg", "price.pack",
         "None of the two pack sizes are given: the price is of one pack, and one of mass and volume says how large."),
        ("price", "material,supplier,pack_kg,pack_l,price\n70/30 sand and soil,quarry,25,20,42\n", "pack_kg",
         "price.pack",
         "2 of the two pack sizes are given: the price is of one pack, and one of mass and volume says how large."),
        ("stock", "material,counted_on\n70/30 sand and soil,2026-02-02\n", "mass_kg", "stock.amount",
         "None of mass, volume and packs are given: the row must say how much there is in one way."),
        ("stock", "material,counted_on,quantity,expected\n70/30 sand and soil,2026-02-02,3 t,2026-02-09\n", "expected",
         "stock.expected", "What is counted as here is expected on 2026-02-09."),
        ("rate", "rate_of,amount,output_m2_h\nlabour,,900\n", "amount", "rate.amount",
         "A rate of labour has money in amount, and no other figure."),
        ("rate", "rate_of,operation,amount,output_m2_h\noutput,mowing,28,900\n", "output_m2_h", "rate.amount",
         "A rate of output has an area in output_m2_h, and no other figure."),
        ("rate", "rate_of,output_m2_h\noutput,900\n", "operation", "rate.operation",
         "An output of 900 m²/h says nothing without the work that is done."),
        ("calendar", "from_day,to_day,occasion\n2026-12-24,2026-12-20,closed\n", "to_day", "calendar.backwards",
         "The last day 2026-12-20 lies before the first, 2026-12-24."),
        ("calendar", "green,club,from_day,occasion\nALD-1,ALD,2026-12-24,closed\n", "green", "calendar.for_two",
         "The line names green ALD-1 and a club: it may be about the one green or about all of the club's."),
    ],
)  # fmt: skip
def test_what_is_wrong_with_the_others_is_told(
    county: Load, name: str, text: str, column: str, code: str, message: str
) -> None:
    """Each rejects its line, with what to do."""
    done = county(f"{name}.csv", text)
    assert (done.kind, done.counts.rejected) == (name, 1)
    assert faults(done) == [(2, column, code, message)]


@pytest.mark.parametrize(
    ("name", "former", "now", "column", "value"),
    [
        ("planned_work", "2026-10-16", "2026-10-23", "CAST(window_to AS VARCHAR)", "2026-10-23"),
        ("planned_work", "2026-10-05", "2026-10-01", "CAST(window_from AS VARCHAR)", "2026-10-01"),
        ("price", "420.50", "431.75", "price", Decimal("431.75")),
        ("stock", "3 t", "2 t", "mass_kg", 2000.0),
        ("rate", "28.50", "29", "amount", Decimal(29)),
        (
            "calendar",
            ",title\nALD,2027-05-09,match,",
            ",home_or_away,title\nALD,2027-05-09,match,away,",
            "home_or_away",
            "away",
        ),
    ],
)
def test_an_edited_file_takes_the_former_lines_place(
    county: Load, workspace: Workspace, name: str, former: str, now: str, column: str, value: Any
) -> None:
    """A window that was moved, or a price mended, would else stand beside the former one, and both would count."""
    county(f"{name}.csv", FILES[name])
    county(f"{name}.csv", FILES[name].replace(former, now))
    with Store(workspace.store, read_only=True) as store:
        assert store.rows(f'SELECT {column} FROM "{name}"') == [(value,)]


def test_blank_and_said_are_one_record(county: Load, workspace: Workspace) -> None:
    """A price from the first pack and one that says 1, or a count that says no, would stand twice."""
    county("price.csv", FILES["price"])
    county("price.csv", FILES["price"].replace("carriage\n", "carriage,from_packs\n").replace(",65", ",65,1"))
    county("stock.csv", FILES["stock"])
    county("stock.csv", FILES["stock"].replace("quantity\n", "quantity,on_order\n").replace("3 t", "3 t,no"))
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT from_packs, carriage FROM price") == [(1, Decimal(65))]
        assert store.rows("SELECT on_order, mass_kg FROM stock") == [(False, 3000.0)]


def test_a_blank_carriage_is_not_nought_and_not_the_former(county: Load, workspace: Workspace) -> None:
    """A new list without it would be ordered by at last year's."""
    county("price.csv", FILES["price"])
    county(
        "price.csv",
        FILES["price"]
        .replace(",65", ",")
        .replace("carriage\n", "carriage,holds_from\n")
        .replace("420.50,", "431,,2027-01-01"),
    )
    with Store(workspace.store, read_only=True) as store:
        rows = store.rows(
            "SELECT CAST(holds_from AS VARCHAR), price, carriage FROM price ORDER BY holds_from NULLS FIRST"
        )
    assert rows == [(None, Decimal("420.5"), Decimal(65)), ("2027-01-01", Decimal(431), None)]


def test_none_of_them_is_offered_for_an_unknown_file() -> None:
    """A job log with a column of prices, or a fixture list, drafted as one of these would be lost to the records."""
    assert [kind.name for kind in KINDS.values() if not kind.suggested and kind.ahead] == list(AHEAD)


def test_a_changed_cost_is_told_without_the_zeros_it_is_kept_with(county: Load, workspace: Workspace) -> None:
    """The warning, the history and a draft of it speak of 240.25, as the file did."""
    county("jobs.csv", JOBS)
    done = county("jobs, office.csv", JOBS.replace("240.25", "241.5"))
    said = [message for *_, code, message in faults(done) if code == "record.other_file"]
    assert [one for one in said if "240.25" in one and "241.5 " in one.replace("here", "here ")], said
    (changed,) = [one for one in changes(workspace) if one.field == "cost"]
    assert (changed.former, changed.now) == ("240.25", "241.5")
