"""What to do: every line of the due list once, costs rounded as printed, and nobody told to spray."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.first_page.actions import actions, folded, looks
from pipeline.first_page.deciders import COMMITTEE, LICENSED, decides
from pipeline.indicators.base.first_page import Action, Counts, FirstPage, Found, Hollows
from pipeline.indicators.base.green_season import Due, Indicator
from pipeline.plan.cost import Item
from pipeline.plan.due_list import DueItem
from pipeline.plan.rates import Figure, unknown
from pipeline.plan.works import Done
from reports.condition.first.actions import table
from reports.condition.first.level import FIRST_LEVELS
from reports.page.actions import UNFIT, to_tens
from schemas.codes import code_list
from tests.reports import sample

SEASON = "2027"
OFF = Indicator("thatch_mm", "Thatch", "", 18.0, "mm", 5, target_high=12.0, standing="above")


def item(operation: str, month: int, cost: str | None, **more: Any) -> DueItem:
    due = Due(operation, "so much", "then", "why", date(2027, month, 28), operation=operation, state="not due yet",
              first=date(2027, month, 1), **more)  # fmt: skip
    return DueItem("A-1", due, cost=Figure(Decimal(cost), "by rate") if cost else unknown("it has no price"))


DRESSING = [
    item("top_dressing", month, cost, low=size, high=size, unit="t", material="70/30 mix")
    for month, cost, size in ((3, "330.30", 3.0), (5, "150.72", 0.5), (6, "150.72", 0.5), (7, "150.72", 0.5))
]


def printed(every: tuple[Action, ...], level: int = 0, **more: Any) -> Any:
    page, season = FirstPage(("Sound.",), Counts(), actions=every, **more), replace(sample.empty(), currency="GBP")
    return table(page, FIRST_LEVELS[level], season, "metric")


def test_four_dressings_are_one_row_with_their_months_and_their_sum() -> None:
    (row,) = printed(actions(DRESSING, (), (), SEASON, {})).rows
    assert row.amount.replace("\u202f", " ") == "4.5 t"
    assert (row.when, row.cost, row.who) == ("March–July", "£780", "Committee")
    assert row.detail == "in four goes; 70/30 mix"


def test_nitrogen_that_a_target_asks_for_is_no_mass_of_a_feed() -> None:
    """ "Feed, 12.8–32 kg" was nitrogen, and with a feed of the programme both were added to one sum."""
    target = Due("Nitrogen", "so much", "season 2027", "why", low=12.8, high=32.0, unit="kg", operation="fertilising")
    both = [item("fertilising", 4, "80", low=100.0, high=100.0, unit="kg", material="spring granular"),
            DueItem("A-1", target)]  # fmt: skip
    (row,) = printed(actions(both, (), (), SEASON, {})).rows
    assert row.amount.replace("\u202f", " ") == "100 kg, 12.8–32 kg of nitrogen"


OPERATIONS = sorted(code_list("operation"))
ITEMS = st.lists(
    st.tuples(
        st.sampled_from(["", *OPERATIONS]),
        st.integers(1, 12),
        st.one_of(st.none(), st.decimals(0, 999, places=2)),
        st.one_of(st.none(), st.floats(0.5, 50)),
    ),
    max_size=40,
)


@given(ITEMS, st.integers(1, 8))
def test_no_line_of_the_due_list_is_lost_or_counted_twice(
    drawn: list[tuple[str, int, Decimal | None, float | None]], room: int
) -> None:
    """Grouped, answered by a finding or folded into one row: lines, money and amounts are those of the due list."""
    items = [
        item(name, month, None if cost is None else str(cost), low=size, high=size, unit="kg" if size else "")
        for name, month, cost, size in drawn
    ]
    found = (Found("Thatch", OFF, works=("scarifying", "top_dressing")),)
    works = [one for one in items if one.due.operation]
    known = [one.cost.value for one in works if one.cost.value is not None]
    for every in (whole := actions(items, found, (), SEASON, {}), folded(whole, room)):
        assert sum(one.lines for one in every) == len(works)
        assert sum(one.cost or 0 for one in every) == sum(known)
        assert sum(one.priced for one in every if one.lines) == len(known)
    by_kg = sum(each.low for one in whole for each in one.amounts)
    sprays = LICENSED & {one.due.operation for one in works}
    if not sprays:
        assert by_kg == pytest.approx(sum(one.due.low or 0 for one in works))
    assert len(looks(items)) == len({one.due.what for one in items if not one.due.operation})


def test_actions_carry_the_number_of_the_finding_they_answer_then_come_routine_ones() -> None:
    found = (
        Found("Thatch", OFF, works=("scarifying",)),
        Found("Thin", OFF, works=("overseeding", "scarifying", "top_dressing")),
    )
    every = actions([*DRESSING, item("fertilising", 4, "60"), item("scarifying", 9, "200")], found, (), SEASON, {})
    assert [(one.findings, one.operations) for one in every] == [
        ((1, 2), ("scarifying",)),
        ((2,), ("top_dressing",)),
        ((), ("fertilising",)),
    ]


def test_of_a_finding_that_is_not_printed_no_number_stands_in_the_table() -> None:
    found = (Found("A", OFF, works=("scarifying",)), Found("B", OFF, works=("top_dressing",)),
             Found("C", OFF, works=("turfing",)))  # fmt: skip
    every = actions([*DRESSING, item("scarifying", 9, "200")], found, (), SEASON, {})
    level = next(place for place, one in enumerate(FIRST_LEVELS) if one.found == 1)
    assert [row.number for row in printed(every, level).rows] == ["1", ""]
    assert [row.number for row in printed(every).rows] == ["1", "2", "3"]


def test_what_two_findings_ask_for_is_repeated_once_and_carries_both_numbers() -> None:
    """Its cost stood in two rows, and in the sum twice."""
    found = (Found("Bare", OFF, works=("overseeding", "turfing")), Found("Thin", OFF, works=("overseeding",)))
    (one,) = actions([], found, (), SEASON, {})
    assert (one.findings, one.operations) == ((1, 2), ("overseeding", "turfing"))


def done(cost: str | None) -> Item:
    job = Done("A-1", "solid_tining", date(2026, 3, 1), date(2026, 3, 1))
    return Item(job, unknown("-"), Figure(Decimal(cost), "logged") if cost else unknown("not logged"))


def test_works_without_a_line_are_told_as_this_season_with_its_cost_only_where_every_job_has_one() -> None:
    found = (Found("Slow", OFF, works=("solid_tining", "inspection"), months=(9, 10, 11, 3)),)
    (row,) = printed(actions((), found, [done("100"), done("120.50")], SEASON, {})).rows
    assert (row.amount, row.when, row.cost) == ("2\u00a0jobs", "Mar, Sep–Nov", "£220")
    assert row.detail == "as often as this season"
    (row,) = printed(actions((), found, [done("100"), done(None)], SEASON, {})).rows
    assert row.cost == "not priced"
    (row,) = printed(actions((), found, (), SEASON, {})).rows
    assert (row.amount, row.cost) == ("–", "not priced")


def test_a_hollow_is_filled_by_the_survey_and_one_too_deep_is_not() -> None:
    hollow = Hollows(1, 15.0, 30.0, 28.0, 5, 3.0, 0.8)
    found = (Found("Low", OFF, works=("levelling", "top_dressing"), months=(4, 5), hollows=hollow),)
    row, dressing = printed(actions(DRESSING, found, (), SEASON, {}, hollow)).rows
    assert (row.what, row.amount.replace("\u202f", " "), row.when) == ("Fill the hollow", "0.8 t", "April–May")
    assert row.detail.replace("\u202f", " ") == "in five layers of 3 mm at most; no price for this work on record"
    assert dressing.number == ""
    for unfit, said in UNFIT.items():
        deep = replace(hollow, fill_t=None, deep=1, unfit=unfit)
        found = (replace(found[0], hollows=deep),)
        row, _ = printed(actions(DRESSING, found, (), SEASON, {}, deep)).rows
        assert (row.what, row.amount, row.cost) == ("Check heights, then level", "–", "not priced")
        assert row.detail == said


def test_what_depends_on_a_doubtful_entry_waits_without_a_figure() -> None:
    due = Due("Nitrogen", "not known", "season 2027", "why", unit="kg", operation="fertilising", waits=True)
    shown = printed(actions([DueItem("A-1", due), *DRESSING], (), (), SEASON, {}))
    row = next(one for one in shown.rows if one.what == "Feed")
    assert (row.amount, row.cost, row.detail) == ("waits", "waits", "once the entry above is settled")
    assert (shown.total_label, shown.total) == (
        "Priced so far (1 of 2 in full), by the rates and prices loaded",
        "£780",
    )


def test_neither_product_nor_amount_of_a_spray_is_printed() -> None:
    spray = item("plant_protection", 5, "80", low=3.0, high=3.0, unit="l", material="some weedkiller")
    (row,) = printed(actions([spray], (), (), SEASON, {"plant_protection": "Greenkeeper"})).rows
    assert (row.what, row.amount, row.who) == ("Plant protection", "once", "Licensed person")
    assert row.detail == "whether and with what, by the label"
    assert "weedkiller" not in repr(row)


def test_the_sum_is_that_of_what_is_printed() -> None:
    """780 and 56 are printed as 780 and 60: a reader adds them up to 840."""
    shown = printed(actions([*DRESSING, item("fertilising", 4, "56.40")], (), (), SEASON, {}))
    assert [row.cost for row in shown.rows] == ["£780", "£60"]
    assert (shown.total_label, shown.total) == ("Both priced, by the rates and prices loaded", "£840")
    assert [to_tens(Decimal(one)) for one in ("4.4", "15", "14.99", "1234.5")] == [4, 20, 10, 1230]


def test_a_work_without_a_price_is_said_so_with_the_reason() -> None:
    bare = printed(actions([item("overseeding", 4, None)], (), (), SEASON, {}))
    assert (bare.rows[0].cost, bare.rows[0].detail) == ("not priced", "it has no price")
    assert (bare.total_label, bare.total) == ("Nothing of this is priced", "–")
    part = printed(actions([item("overseeding", 4, None), item("overseeding", 5, "100")], (), (), SEASON, {}))
    assert (part.rows[0].cost, part.rows[0].detail) == ("from £100", "1 of 2 priced")
    assert part.total == "from £100"


def test_what_may_be_done_already_is_in_no_amount_and_what_is_overdue_is_to_be_done_now() -> None:
    unsure = replace(DRESSING[0], due=replace(DRESSING[0].due, state="not known"), cost=unknown("it may be done"))
    late = replace(DRESSING[1], due=replace(DRESSING[1].due, state="overdue", overdue=True))
    (row,) = printed(actions([unsure, late, *DRESSING[2:]], (), (), SEASON, {})).rows
    assert (row.amount.replace("\u202f", " "), row.when, row.cost) == ("1.5 t", "now–July", "from £450")
    assert row.detail == "overdue; 1 of 4 maybe done"
    (row,) = printed(actions([unsure], (), (), SEASON, {})).rows
    assert (row.amount, row.cost) == ("not known", "not priced")


def test_nothing_due_is_said() -> None:
    assert printed(()).empty == "Nothing is due, and no finding asks for work."


def test_who_decides_goes_by_the_work_and_a_workspace_may_say_otherwise_but_not_of_sprays() -> None:
    assert set(OPERATIONS) >= COMMITTEE | LICENSED
    assert decides(["mowing"], {}) == "Greenkeeper"
    assert decides(["mowing", "top_dressing"], {}) == "Committee"
    assert decides(["top_dressing"], {"top_dressing": "Greenkeeper"}) == "Greenkeeper"
    assert decides(["moss_treatment", "mowing"], {"moss_treatment": "Greenkeeper"}) == "Licensed person"


def test_the_heading_says_which_months_the_actions_are_of() -> None:
    """Months alone would be read in another year; nothing is said where no season is known."""
    assert printed((), season_due="2027").heading == "What to do, October 2026 to September 2027"
    assert printed(()).heading == "What to do"
