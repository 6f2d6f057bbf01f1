"""A green whose area changed in mid season: hours, cost, dose and depth are by the area of each work's own day."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import polars as pl
import pytest

from pipeline.plan.areas import Areas, areas_of
from pipeline.plan.cost import Facts, dressing_mm, of_job, per, per_m2
from pipeline.plan.entries import Place
from pipeline.plan.from_template import Ahead, from_template
from pipeline.plan.templates import template_named
from pipeline.plan.works import Done
from pipeline.publish.costs import costs
from pipeline.publish.due import due_list
from pipeline.publish.priced import price_loaded
from pipeline.workspace.settings import Season, Workspace
from tests.conftest import Load
from tests.thorough import thorough

REMADE = "green,club,area_m2,valid_from\nALD-1,ALD,1200,2026-07-01\n"
"""The green of 1,600 m² loses a ditch's width on 1 July."""
RATES = (
    "rate_of,operation,amount,output_m2_h\nlabour,,20,\nmachine,,5,\noutput,slitting,,400\noutput,fertilising,,4000\n"
)
PLAN = "programme,green,operation,material,window_from,window_to,times,rate_g_m2\n" + "".join(
    f"2026,ALD-1,{work},2026-0{month}-01,2026-0{month}-20,2,{rate}\n"
    for month in (6, 8)
    for work, rate in (("slitting,", ""), ("fertilising,feed", 20))
)
FEED = "material,sort,form,analysis,analysis_basis,pack\nfeed,fertiliser,solid,10-0-0,oxide,\n"
JOBS = "date,green,operation,cost\n2026-05-10,ALD-1,mowing,160\n2026-05-25,ALD-1,mowing,160\n"


@pytest.fixture
def remade(county: Load, workspace: Workspace) -> Workspace:
    files = {"greens": REMADE, "rates": RATES, "materials": FEED, "plan": PLAN, "jobs": JOBS}
    for name, text in files.items():
        assert not county(f"{name}-2.csv", text).failed
    return workspace


@thorough
def test_planned_hours_are_by_the_area_of_the_window(remade: Workspace) -> None:
    """By hand: 2 × 1,600 / 400 = 8 h before the change, 2 × 1,200 / 400 = 6 h after it, at 25 an hour."""
    price = price_loaded(remade, "ALD-1", "2026").programme.quotation
    slits = [line for line in price.lines if line.planned.operation == "slitting"]
    assert [(line.planned.first.month, line.hours.value, line.price) for line in slits] == [(6, 8, 200), (8, 6, 150)]
    plan = costs(remade, "ALD-1", "2026").whole.plan
    assert [one.hours.value for one in plan.items if one.operation == "slitting"] == [8, 6]
    listed = due_list(remade, ["ALD-1"], until=date(2026, 9, 30), today=date(2026, 6, 1))
    due = {item.due.first: item for item in listed.items if item.due.operation == "slitting"}
    assert [due[day].hours.value for day in sorted(filter(None, due))] == [8, 6]


@thorough
def test_a_single_dose_is_by_the_area_that_its_amount_is_of(remade: Workspace) -> None:
    """20 g/m² of 10 % N are 2 g/m², on 1,600 m² as on 1,200: by the area of May the second would be 1.5."""
    listed = due_list(remade, ["ALD-1"], until=date(2026, 9, 30), today=date(2026, 6, 1))
    fed = [item for item in listed.items if item.due.material == "feed"]
    assert [item.due.low for item in fed] == [64.0, 48.0]
    assert all(any("Each time 2 g/m² N" in said for said in item.against) for item in fed)


@thorough
def test_the_cost_of_a_square_metre_is_of_each_job_s_day(county: Load, remade: Workspace) -> None:
    """160 twice over 1,600 m² and 120 over 1,200 m²: 0.10 + 0.10 + 0.10, by hand; by the area now it were 0.37."""
    assert not county("more-2.csv", "date,green,operation,cost\n2026-07-10,ALD-1,mowing,120\n").failed
    found = costs(remade, "ALD-1", "2026").whole.this.per_m2
    assert (round(found.value or 0, 6), found.quantity) == (Decimal("0.3"), 1200.0)


AREAS = Areas({"A": ((None, 1000.0), (date(2026, 7, 1), 500.0)), "B": ((None, 500.0),), "C": ((None, None),)})


def job(green: str, month: int, money: int, **more: object) -> Done:
    day = date(2026, month, 10)
    return Done(green, "top_dressing", day, day, cost=Decimal(money), **more)  # type: ignore[arg-type]


def test_several_greens_are_put_together_by_the_square_metre() -> None:
    """A costs 0.2 + 0.2 a square metre, B 0.1, on 500 m² each: 0.25, by hand. Without a change it is the whole cost
    over the whole area."""
    items = [of_job(one, [], {}) for one in (job("A", 5, 200), job("A", 8, 100), job("B", 8, 50))]
    found = per_m2(items, AREAS)
    assert (found.value, found.quantity) == (Decimal("0.25"), 1000.0)
    assert per_m2(items[1:], AREAS).value == Decimal("0.15")
    bare = per_m2([*items, of_job(job("C", 8, 50), [], {})], AREAS)
    assert (bare.value, bare.why) == (None, "the area of C is not recorded")


def test_a_depth_of_dressing_is_of_the_area_it_went_on() -> None:
    """1.5 t at 1.5 t/m³ are 1 mm on 1,000 m² and 2 mm on 500 m²."""
    items = [of_job(job("A", month, 30, material="sand", kg=1500.0), [], {}) for month in (5, 8)]
    found = per(items, dressing_mm({"sand": Facts(bulk_density_t_m3=1.5)}, AREAS))
    assert found.quantity == pytest.approx(3.0)


def test_a_template_s_amount_is_of_the_area_that_is_to_be() -> None:
    """A green that the register says smaller from July on gets less in August than in May, as when it is read back."""
    season = Season.from_day(date(2025, 10, 1))
    place = Place("A", area_m2=1000.0, areas=AREAS)
    entries, _ = from_template(template_named("gma-materials-year"), place, Ahead(season, season.start))
    fed = [one for one in entries if one.rate and one.rate_unit == "g/m²" and one.work.unit == "kg"]
    assert len({AREAS.of(one.work) for one in fed}) == 2
    for one in fed:
        assert one.work.size == pytest.approx((one.rate or 0) * one.times * (AREAS.of(one.work) or 0) / 1000)


def test_the_register_says_which_area_when() -> None:
    held = pl.DataFrame(
        {
            "green": ["A", "A", "A"],
            "holds_from": [date(2026, 7, 1), None, date(2027, 1, 1)],
            "area_m2": [500.0, None, 700.0],
        }
    )
    areas = areas_of(held)
    days = (date(2026, 6, 30), date(2026, 7, 1), date(2026, 12, 31), date(2030, 1, 1))
    assert [areas.on("A", day) for day in days] == [None, 500.0, 500.0, 700.0]
    assert areas.on("B", days[0]) is None


def test_what_a_target_asks_for_says_by_which_area_it_is(county: Load, remade: Workspace) -> None:
    """The season's 5 kg/m² are 8 t of the green as it was and 6 t of what is left of it: a reader must know which."""
    target = (
        "indicator,scope,scope_name,season,low,high,unit,source\ndressing_kg_m2,green,ALD-1,,5,,kg/m²,the committee\n"
    )
    assert not county("targets-2.csv", target).failed
    listed = due_list(remade, ["ALD-1"], until=date(2026, 9, 30), today=date(2026, 6, 1))
    (dressed,) = [item.due for item in listed.items if item.due.what.startswith("Top dressing")]
    assert dressed.low == 8
    assert "The green's area changed within the season: amounts are by 1,600 m², its area at first." in dressed.why
