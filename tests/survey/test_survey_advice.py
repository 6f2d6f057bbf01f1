"""What a survey advises: each work once, with the findings that ask for it, amounts and costs of the plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from pipeline.findings.findings import Finding, rules
from pipeline.indicators.base.first_page import Hollows
from pipeline.indicators.base.green_season import Due, Evidence
from pipeline.plan.due_list import DueItem
from pipeline.plan.rates import Figure, unknown
from pipeline.survey.advice import Advice, advice
from pipeline.survey.earlier import earlier
from pipeline.survey.told import told
from pipeline.survey.visit_observations import NOTHING_SEEN
from reports.survey.advice import advice_table, earlier_part
from tests.survey.test_survey_told import BY_ID, FIGURES, tell

LOW = Hollows(1, 14.8, 30.0, 28.0, 5, 3.0, 0.8)


def due(operation: str, low: float | None, unit: str, cost: str | None) -> DueItem:
    one = Due("Work", "", "", "", operation=operation, low=low, high=low, unit=unit)
    figure = unknown("no price") if cost is None else Figure(Decimal(cost), "by rate")
    return DueItem("KET-1", one, cost=figure)


def made(*items: DueItem, hollows: Hollows | None = None) -> tuple[Advice, ...]:
    found = tell("levels-out", "cover-thin", "bare-ground", "thatch-deep")
    return advice(found, items, (), "2027", {}, hollows)


def test_each_work_stands_once_with_every_finding_that_asks_for_it() -> None:
    """Top dressing answered one finding and the works beside it were told of none."""
    every = made(due("top_dressing", 4.5, "t", "782.46"), due("solid_tining", None, "", "90.30"))
    told = {one.action.operations: (one.findings, one.weight) for one in every}
    assert len(told) == len(every)
    assert told["top_dressing",] == ((1, 3), 4)
    assert told["overseeding",] == ((2,), 4)
    assert told["scarifying",] == ((3,), 3)
    assert told["solid_tining",] == ((), 0)
    assert every[-1].action.operations == ("solid_tining",)


def test_amounts_and_costs_are_those_of_the_plan_and_hollows_those_of_the_survey() -> None:
    every = {one.action.operations[0]: one.action for one in made(due("top_dressing", 4.5, "t", "782.46"), hollows=LOW)}
    assert (every["top_dressing"].amounts[0].low, every["top_dressing"].cost) == (4.5, Decimal("782.46"))
    assert (every["levelling"].what, every["levelling"].amounts[0].low) == ("Fill the hollow", 0.8)
    assert (every["turfing"].cost, every["turfing"].why) == (None, "how much is open")


def test_lows_that_no_finding_asks_for_are_to_be_filled_all_the_same() -> None:
    """A crown green has no rule on its levels: its lows stood in a table, and nobody was told to fill them."""
    found = tell("cover-thin")
    told_of = {one.action.what: one.findings for one in advice(found, (), (), "2027", {}, LOW)}
    assert told_of["Fill the hollow"] == ()
    too_deep = replace(LOW, fill_t=None)
    assert "levelling" not in {one.action.operations[0] for one in advice(found, (), (), "2027", {}, too_deep)}


def test_filling_waits_for_heights_under_a_warning() -> None:
    """0.8 t stood as an order beside a height of which loading asked whether it is right."""
    asked = replace(FIGURES["levels-out"], questioned=(Evidence("levels.csv", 7, "level", 1),))
    found = told([Finding(BY_ID["levels-out"], (asked,), (), doubtful=False)], rules(), bool, NOTHING_SEEN)
    every = advice(found, (), (), "2027", {}, LOW)
    row = next(one for one in advice_table(every, "GBP", "metric").rows if one.what == "Fill the hollow")
    assert (row.amount, row.cost) == ("waits", "waits")
    assert row.detail.startswith("once the heights under a warning are checked")


def test_the_sum_says_how_many_of_the_works_it_is_of() -> None:
    table = advice_table(made(due("top_dressing", 4.5, "t", "782.46")), "GBP", "metric")
    assert table.total == "from £780"
    assert table.total_label.startswith(f"Priced so far (1 of {len(table.rows)} in full)")
    assert [one.priority for one in table.rows if one.what == "Overseeding"] == ["high"]
    us = advice_table(made(due("top_dressing", 4.5, "t", "782.46")), "USD", "US")
    assert [one.amount.replace("\u202f", " ") for one in us.rows if one.what == "Dress the green"] == [
        "4.96 short tons"
    ]


def test_what_was_asked_for_before_is_held_against_the_log_since() -> None:
    then = tell("cover-thin", "organic-matter-high")
    done = [(date(2026, 3, 1), "overseeding"), (date(2025, 10, 13), "overseeding"), (date(2026, 4, 1), "mowing")]
    now = {("cover_pct", "point quadrat"): FIGURES["cover-thin"]}
    part = earlier_part(earlier(date(2025, 9, 18), then, now, done))
    (row,) = part.rows  # what was not of that visit is not told again
    assert (row.lead, row.now) == ("Thin turf", "82.0\u202f%")
    assert [one.replace("\u00a0", " ") for one in row.done] == [
        "Overseeding: 2 days, last 1 Mar 2026",
    ]
    gone = earlier_part(earlier(date(2025, 9, 18), then, {}, ()))
    assert gone.rows[0].now == "not measured"
