"""What a store says of plans and work done, as the plan counts it: amounts by area and pack, or why one is unknown."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

import pytest

from pipeline.plan.market import calendar, prices, prices_on, rates_on, stock_on
from pipeline.plan.read import done_works, planned_works, without_green
from pipeline.plan.works import Planned
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.outside_checks import outside

SAND, FEED = "70/30 sand and soil", "spring granular 11-5-5 + 8 Fe"
PLAN = "programme,green,club,template,operation,material,window_from,window_to,times,rate,quantity,hours,reference\n"
GREENS = (
    "green,club,area_m2,laid_on,closed_on,valid_from\nALD-2,ALD,1500,,,\nALD-2,ALD,1200,,,2027-01-01\n"
    "ALD-3,ALD,,,,\nALD-4,ALD,900,,2026-05-01,\nALD-5,ALD,800,2028-01-01,,\n"
)
DAY = date(2027, 3, 1)


@pytest.fixture
def store(county: Load, workspace: Workspace) -> Iterator[Store]:
    """The small county with four more greens: of two areas, of none, given up, and not laid yet."""
    county("more.csv", GREENS)
    county("liquids.csv", "material,sort,form,pack\nwetter,wetting agent,liquid,10 l\nlime,lime,solid,\n")
    with Store(workspace.store) as opened:
        yield opened


def plan(county: Load, *lines: str) -> None:
    """Loads lines of a programme."""
    done = county("plan.csv", PLAN + "".join(f"{line}\n" for line in lines))
    assert not done.counts.rejected, done.faults


def sizes(works: tuple[Planned, ...]) -> list[tuple[str, str, float | None, str]]:
    """Green, unit, size and why that is unknown."""
    return [(one.green, one.unit, one.size, one.unsized) for one in works]


def reading(workspace: Workspace) -> Store:
    """The store, to be read."""
    return Store(workspace.store, read_only=True)


def test_a_clubs_line_is_one_of_each_of_its_greens_in_force(store: Store, county: Load, workspace: Workspace) -> None:
    """By the area that holds when the window opens; a green given up or not laid yet needs none; one without an area is
    told, for an order without it would be short."""
    store.con.close()
    plan(
        county,
        f"2027,,ALD,,top dressing,{SAND},2027-04-01,2027-04-30,,3 kg/m2,,,",
        f"2026,,ALD,,top dressing,{SAND},2026-10-01,2026-10-30,2,3 kg/m2,,,",
    )
    with reading(workspace) as held:
        works = planned_works(held)
        assert without_green(held) == ()
        one = planned_works(held, ["ALD-2"])
        last = planned_works(held, ["ALD-2"], days=(date(2027, 4, 30), date(2027, 12, 31)))
        none = planned_works(held, days=(date(2027, 5, 1), date(2027, 12, 31)))
    assert sizes(works) == [
        ("ALD-1", "kg", 9600.0, ""), ("ALD-1", "kg", 4800.0, ""),
        ("ALD-2", "kg", 9000.0, ""), ("ALD-2", "kg", 3600.0, ""),
        *[("ALD-3", "kg", None, "the area of ALD-3 is not recorded")] * 2,
    ]  # fmt: skip
    assert (one, last, none) == (works[2:4], works[3:4], ())
    assert (works[0].first, works[0].programme, works[0].material) == (date(2026, 10, 1), "2026", SAND)
    place = works[0].place
    assert place is not None
    assert (place.file, place.line, place.kind) == ("plan.csv", 3, "planned_work")


@pytest.mark.parametrize(
    ("line", "unit", "size", "unsized"),
    [
        (f"2027,ALD-1,,,fertiliser,{FEED},2027-04-01,2027-04-30,,,2 x 25 kg,,", "kg", 50.0, ""),
        (f"2027,ALD-1,,,fertiliser,{FEED},2027-04-01,2027-04-30,3,,2 bags,,", "kg", 150.0, ""),
        ("2027,ALD-1,,,wetting agent,wetter,2027-04-01,2027-04-30,2,,2 packs,,", "l", 40.0, ""),
        ("2027,ALD-1,,,wetting agent,wetter,2027-04-01,2027-04-30,,2 ml/m2,,,", "l", 3.2, ""),
        ("2027,ALD-1,,,mowing,,2027-04-01,2027-09-30,78,,,,", "times", 78.0, ""),
        ("2027,ALD-1,,,verticutting,,2027-04-01,2027-09-30,,,,,", "times", 1.0, ""),
        ("2027,ALD-1,,,wetting agent,wetter,2027-04-01,2027-04-30,,,,,", "l", None,
         "the programme says no amount or rate of wetter"),
        ("2027,ALD-1,,,liming,lime,2027-04-01,2027-04-30,,,3 bags,,", "kg", None,
         "the programme says packs of lime, and the register does not say what a pack of it holds"),
        ("2027,ALD-1,,,liming,dolomite,2027-04-01,2027-04-30,,,3 bags,,", "kg", None,
         "the programme says packs of dolomite, and it is not in the register"),
    ],
)  # fmt: skip
def test_what_a_line_comes_to(
    store: Store, county: Load, workspace: Workspace, line: str, unit: str, size: float | None, unsized: str
) -> None:
    """In kilograms or litres as it is bought, all its times together, or None with the reason."""
    store.con.close()
    plan(county, line)
    with reading(workspace) as held:
        assert sizes(planned_works(held)) == [("ALD-1", unit, size, unsized)]


def test_hours_are_those_of_all_times_and_a_line_of_0_times_is_none(
    store: Store, county: Load, workspace: Workspace
) -> None:
    """Templates are of no green."""
    store.con.close()
    plan(
        county,
        "2027,ALD-1,,,mowing,,2027-04-01,2027-09-30,78,,,1.5,",
        "2027,ALD-1,,,brushing,,2027-04-01,2027-09-30,0,,,1.5,",
        ",,,spring,rolling,,2027-04-01,2027-09-30,,,,1.5,",
    )
    with reading(workspace) as held:
        (work,) = planned_works(held)
    assert (work.operation, work.hours) == ("mowing", 117.0)


def test_a_club_without_a_green_is_told(county: Load, workspace: Workspace) -> None:
    """Its line would else ask for nothing, and nobody would see why."""
    county("clubs2.csv", "club,name\nBRI,Bridge End\n")
    plan(county, "2027,,BRI,,mowing,,2027-04-01,2027-09-30,,,,,", "2027,,ALD,,mowing,,2027-04-01,2027-09-30,,,,,")
    with reading(workspace) as held:
        assert [(one.file, one.line) for one in without_green(held)] == [("plan.csv", 2)]


def test_jobs_are_what_was_put_on_of_the_area_gone_over(store: Store, county: Load, workspace: Workspace) -> None:
    """Packs and rates come to kilograms as in the figures; a part is a part; what is not known is said."""
    store.con.close()
    county(
        "jobs.csv",
        "date,green,operation,material,quantity,treated_area_m2,hours,cost\n"
        f"2026-03-16,ALD-1,top dressing,{SAND},4 t,800,6,240.25\n2026-04-02,ALD-1,fertiliser,{FEED},2 bags,,1,\n"
        f"2026-04-03,ALD-1,fertiliser,{FEED},30 g/m2,2000,,\n2026-05-02,ALD-1,liming,lime,3 bags,,,\n"
        "2026-06-02,ALD-1,mowing,,,,2,\n2026-06-03,ALD-3,verticutting,,,400,,\n2026-07,ALD-1,hollow coring,,,,,\n",
    )
    with reading(workspace) as held:
        done = done_works(held)
        assert done_works(held, ["ALD-3"]) == done[-1:]
        july = (date(2026, 7, 31), date(2026, 12, 31))
        assert [one.operation for one in done_works(held, days=july)] == ["hollow_coring"], "any day of July it may be"
        spring = (date(2026, 3, 17), date(2026, 4, 2))
        assert done_works(held, ["ALD-1"], days=spring) == done[1:2]
    told = [(one.operation, one.kg, one.l, one.part, one.hours, one.cost, one.unsure) for one in done]
    assert told == [
        ("top_dressing", 4000.0, None, 0.5, 6.0, Decimal("240.25"), ""),
        ("fertilising", 50.0, None, 1.0, 1.0, None, ""),
        ("fertilising", 60.0, None, 1.0, None, None, ""),
        ("liming", None, None, 1.0, None, None, "what a pack of lime holds"),
        ("mowing", None, None, 1.0, 2.0, None, ""),
        ("hollow_coring", None, None, 1.0, None, None, ""),
        ("verticutting", None, None, 1.0, None, None,
         "what part of the green 400 m² are, its area not being recorded: it is taken as the whole"),
    ]  # fmt: skip
    assert (done[5].first, done[5].last) == (date(2026, 7, 1), date(2026, 7, 31))


@outside("worked example", "own arithmetic: 6 t on 1,369 m² at 1.5 t/m³ = 2.92 mm")
def test_six_tonnes_are_read_as_six_tonnes(county: Load, workspace: Workspace) -> None:
    """A plan in t, and the depth that it comes to."""
    county("greens2.csv", "green,club,area_m2\nALD-2,ALD,1369\n")
    plan(county, f"2027,ALD-2,,,top dressing,{SAND},2027-04-01,2027-04-30,,,6 t,,")
    with reading(workspace) as held:
        (work,) = planned_works(held)
    assert work.size is not None
    assert round(work.size / 1000 / 1.5 / 1369 * 1000, 2) == 2.92


def test_a_new_price_list_takes_the_place_of_the_whole_former_one(county: Load, workspace: Workspace) -> None:
    """A break of last year's list beside this year's price would make large orders look cheap."""
    head = "material,supplier,pack,price,from_packs,carriage,holds_from\n"
    county(
        "prices.csv",
        f"{head}{SAND},quarry,10 t,420.50,,65,\n{SAND},quarry,10 t,399.99,3,65,\n{SAND},quarry,10 t,431,,,2027-01-01\n"
        f"{SAND},merchant,1 t,58.1,,0,2027-06-01\n{SAND},quarry,1 t,60,,65,\n",
    )
    with reading(workspace) as held:
        every = prices(held)
    told = {
        day: [(one.pack_kg, one.price, one.from_packs, one.carriage) for one in prices_on(every, day)]
        for day in (date(2026, 12, 31), date(2027, 1, 1))
    }
    small = (1000.0, Decimal(60), 1, Decimal(65))
    assert told[date(2026, 12, 31)] == [
        small, (10_000.0, Decimal("420.5"), 1, Decimal(65)), (10_000.0, Decimal("399.99"), 3, Decimal(65))
    ]  # fmt: skip
    assert told[date(2027, 1, 1)] == [small, (10_000.0, Decimal(431), 1, None)]


def test_the_latest_count_holds_and_orders_since_are_added(store: Store, county: Load, workspace: Workspace) -> None:
    """An order that came before the count is in it; taken twice, too little would be ordered."""
    store.con.close()
    county(
        "stock.csv",
        "material,depot,counted_on,quantity,on_order,reference,expected\n"
        f"{SAND},yard,2027-01-05,9 t,,,\n{SAND},yard,2027-01-06,10 t,yes,A1,2027-01-20\n"
        f"{SAND},yard,2027-02-02,3 t,,,\n"
        f"{SAND},yard,2027-02-02,10 t,yes,A2,2027-02-20\n{SAND},yard,2027-02-09,5 t,yes,A3,\n"
        f"{SAND},yard,2027-04-01,1 t,,,\n"
        f"{SAND},barn,2027-01-01,2 t,,,\nlime,,2027-01-01,4 bags,,,\n"
        f"{FEED},,2027-01-01,4 bags,,,\nwetter,,2027-01-01,0 l,,,\n",
    )
    with reading(workspace) as held:
        found = stock_on(held, DAY)
        late = [one.kg for one in stock_on(held, date(2027, 4, 2)) if one.depot == "yard"]
    assert [(one.material, one.depot, one.kg, one.l, one.on_order, one.expected, one.unsized) for one in found] == [
        (SAND, "barn", 2000.0, None, False, None, ""),
        (SAND, "yard", 3000.0, None, False, None, ""),
        (SAND, "yard", 10_000.0, None, True, date(2027, 2, 20), ""),
        (SAND, "yard", 5000.0, None, True, None, ""),
        ("lime", "", None, None, False, None,
         "packs of lime are counted, and the register does not say what a pack of it holds"),
        (FEED, "", 100.0, None, False, None, ""),
        ("wetter", "", None, 0.0, False, None, ""),
    ]  # fmt: skip
    assert late == [1000.0]


def test_the_rate_of_a_day_is_the_latest_that_began(county: Load, workspace: Workspace) -> None:
    """Each work and machine has its own; an output is no money."""
    county(
        "rates.csv",
        "rate_of,operation,machine,amount,output_m2_h,holds_from\nlabour,,,27.5,,\nlabour,,,28.5,,2027-03-01\n"
        "labour,,,30,,2027-03-02\nlabour,mowing,,25,,\nmachine,,corer,18.25,,\nmileage,,,0.45,,\noutput,verticutting,,,900,\n",
    )
    with reading(workspace) as held:
        found = rates_on(held, DAY)
    assert {(one.of, one.operation, one.machine): (one.amount, one.output_m2_h) for one in found} == {
        ("labour", "", ""): (Decimal("28.5"), None), ("labour", "mowing", ""): (Decimal(25), None),
        ("machine", "", "corer"): (Decimal("18.25"), None), ("mileage", "", ""): (Decimal("0.45"), None),
        ("output", "verticutting", ""): (None, 900.0),
    }  # fmt: skip


def test_the_calendar_takes_greens_of_a_club_one_or_all(store: Store, county: Load, workspace: Workspace) -> None:
    """An away match takes no green; a closure without a green and club takes every one."""
    store.con.close()
    county(
        "fixtures.csv",
        "green,club,date,to_day,occasion,h/a,fixture\n,ALD,2027-05-09,,match,H,pairs\n,ALD,2027-05-16,,match,A,league\n"
        "ALD-2,,2027-05-20,2027-05-22,closed,,\n,,2027-12-24,2027-12-26,closed,,Christmas\n",
    )
    with reading(workspace) as held:
        found = calendar(held)
    assert [(one.first, one.last, one.occasion, one.title) for one in found] == [
        (date(2027, 5, 9), date(2027, 5, 9), "match", "pairs"), (date(2027, 5, 20), date(2027, 5, 22), "closed", ""),
        (date(2027, 12, 24), date(2027, 12, 26), "closed", "Christmas"),
    ]  # fmt: skip
    taken = {
        (green, day.isoformat()[5:])
        for one in found
        for green in ("ALD-1", "ALD-2", "XYZ-1")
        for day in (date(2027, 5, 9), date(2027, 5, 16), date(2027, 5, 21), date(2027, 12, 25))
        if one.takes(green, day)
    }
    christmas = {("ALD-1", "12-25"), ("ALD-2", "12-25"), ("XYZ-1", "12-25")}
    assert taken == {("ALD-1", "05-09"), ("ALD-2", "05-09"), ("ALD-2", "05-21"), *christmas}
