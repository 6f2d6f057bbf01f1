"""The table of works: every kind once, with range, amount and sums that lack nothing in silence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import chain

import pytest

from pipeline.common.amounts import Amount
from pipeline.indicators.base.first_page import LoggedSum, Spent
from pipeline.indicators.base.green_season import Evidence, Work
from reports.page.works import GROUPS, WorkLine, WorkTable, work_table
from schemas.codes import code_list
from tests.reports import sample

NARROW = "\u202f"


def work(operation: str, nth: int = 0, **given: object) -> Work:
    """A work of the log; what is given besides stands in its place."""
    code = code_list("operation")[operation]
    bare = Work(
        date(2026, 4, 1 + nth), code.label, "", "", None, None, Evidence("j.csv", nth + 2, "job"), code=operation
    )
    return replace(bare, **given)  # type: ignore[arg-type]


def lines(table: WorkTable) -> list[WorkLine]:
    return list(chain.from_iterable(group.lines for group in table.groups))


def line(works: Sequence[Work]) -> WorkLine:
    """The one line of works of one kind, its spaces plain."""
    (one,) = lines(work_table(works))
    return replace(one, range=plain(one.range), amount=plain(one.amount))


def plain(words: str) -> str:
    return words.replace(NARROW, " ").replace("\u00a0", " ")


def test_every_operation_has_a_group_with_a_heading() -> None:
    assert {str(code.facts["group"]) for code in code_list("operation").values()} == set(GROUPS) - {""}


def test_nothing_is_dropped_however_many_kinds_there_are() -> None:
    """A table cut after so many lines lost kinds of work that began late in the season."""
    every = [work(name, hours=0.5, cost=Decimal("1.25")) for name in code_list("operation")]
    unlisted = replace(every[0], operation="Something else", code="")
    table = work_table([*every, unlisted])
    assert {one.operation for one in lines(table)} == {one.operation for one in (*every, unlisted)}
    assert [group.sums.what for group in table.groups] == list(GROUPS.values())
    assert (table.total.times, table.total.hours, table.total.cost) == ("27", "13.5", "33.75")  # 27 × 0.5 h; 27 × 1.25


def test_the_digits_of_lines_groups_and_total_add_up() -> None:
    """Sums are of unrounded figures; 7,172 + 7,209 was printed as 14,382."""
    table = work_table([work("mowing", i, hours=0.25, cost=Decimal("0.335")) for i in range(3)]
                       + [work("edging", i, hours=0.5, cost=Decimal("0.335")) for i in range(3)])  # fmt: skip
    assert [one.hours for one in lines(table)] == ["0.75", "1.50"]
    assert table.total.hours == "2.25"
    assert table.total.cost == "2.01"  # 6 × 0.335, rounded once
    of_groups = sum(Decimal(group.sums.cost) for group in table.groups)
    assert abs(of_groups - Decimal(table.total.cost)) <= Decimal("0.01")


def test_a_sum_that_is_not_whole_says_of_how_many_works_it_is() -> None:
    table = work_table(sample.works(190))
    mowing = next(one for one in lines(table) if one.operation == "Mowing")
    assert (mowing.times, mowing.hours) == ("190", f"{171 * 1.5}†")  # 19 of 190 have no hours: marked, not filled up
    assert "Hours logged for 181 of 200 jobs" in table.note and "cost logged for 8 of 200 jobs" in table.note
    bare = work_table([work("mowing")])
    assert not bare.with_hours and not bare.with_cost
    assert bare.note == "No hours are logged. No cost is logged."
    assert work_table([]).groups == ()


def test_the_season_before_stands_below_the_total_with_what_it_lacks() -> None:
    known, part = LoggedSum(Decimal("7468.30"), 138, 138), LoggedSum(Decimal("243.25"), 130, 138)
    spent = Spent("2026", "2025", False, known, known, None, last_cost=known, last_hours=part, last_per_m2=None)
    table = work_table([work("mowing", hours=1.0, cost=Decimal(26))], spent)
    assert table.last is not None
    assert (table.last.times, table.last.hours, table.last.cost) == ("138", "243.25†", "7,468.30")
    assert table.note == "Last season: hours logged for 130 of 138 jobs."


def test_ranges_are_of_each_part_of_how_it_was_done() -> None:
    """ "cut at 6 mm; and 2 other ways" told no range, and a way with one more part stood by itself."""
    cuts = ("cut at 6 mm", "1 pass, cut at 8 mm", "cut at 5 mm", "4 passes, cut at 5.5 mm")
    assert line([work("mowing", i, detail=how) for i, how in enumerate(cuts)]).range == "cut at 5–8 mm, 1–4 passes"
    assert line([work("verticutting", detail="1 pass, 2 mm deep")]).range == "1 pass, 2 mm deep"


def fed(nth: int, material: str, kg: float) -> Work:
    return work("fertilising", nth, material=material, detail=material, given=Amount(kg, "kg"))


def test_products_are_not_added_to_each_other() -> None:
    """ "90 kg in all" was a sum of different fertilisers."""
    two = line([fed(0, "9-4-6", 50.0), fed(1, "11-5-5", 40.0), fed(2, "9-4-6", 25.5)])
    assert (two.range, two.amount) == ("9-4-6 75.5 kg, 11-5-5 40 kg", "2 products")
    one = line([fed(0, "9-4-6", 25.0), fed(1, "9-4-6", 37.5)])
    assert (one.range, one.amount) == ("9-4-6; 25.0–37.5 kg at a time", "62.5 kg")
    some = line([fed(0, "9-4-6", 25.0), work("fertilising", 1, material="9-4-6", detail="9-4-6")])
    assert some.amount == "25 kg, logged for 1 of 2"
    many = line([fed(i, f"a product of a long name, number {i}", 10.0) for i in range(9)])
    assert many.range.endswith("and 5 more in works.csv") and many.amount == "9 products"


def test_a_dressing_has_both_its_weights_and_what_has_no_amount_says_so() -> None:
    each = [(5750.0, 5.42), (500.0, 0.472), (3250.0, 3.066)]  # kg as delivered, t dry
    dressings = [work("top_dressing", i, given=Amount(kg, "kg"), dry_t=dry) for i, (kg, dry) in enumerate(each)]
    told = line(dressings)
    assert (told.range, told.amount) == ("0.50–5.75 t at a time; 8.96 t dry in all", "9.50 t")  # sums by hand
    assert line([work("turfing")]).amount == "not given"
    assert line([work("mowing")]).amount == ""
    assert line([work("wetting_agent", given=Amount(25.0, "g/m²"))]).range == "at 25 g/m²"


def test_amounts_are_turned_into_customary_units_after_they_are_added_up() -> None:
    (one,) = lines(work_table([fed(0, "9-4-6", 50.0), fed(1, "9-4-6", 50.0)], units="US"))
    assert plain(one.amount) == "220 lb"  # 100 kg / 0.45359237 kg a pound (NIST SP 811) = 220.46
    tonnes = [work("top_dressing", i, given=Amount(1000.0 * (1 + 2 * i), "kg")) for i in range(2)]
    (one,) = lines(work_table(tonnes, units="US"))
    # 1, 3 and 4 t by 907.18474 kg a short ton (NIST SP 811): 1.102, 3.307, 4.409, and not 1, 3 and 4
    assert (plain(one.range), plain(one.amount)) == ("1.10–3.31 short tons at a time", "4.41 short tons")


@pytest.mark.parametrize(("hours", "said"), [(3.0, "took 75 % of the hours"), (None, "2 jobs of 2 kinds.")])
def test_the_lead_says_what_took_most_where_all_is_logged(hours: float | None, said: str) -> None:
    lead = work_table([work("mowing", hours=hours), work("edging", hours=1.0)]).lead
    assert said in plain(lead)
