"""Accounts of greens: a club worked by hand to the penny, and sums that are never set beside each other half known."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from pipeline.plan.account import Account, Budget, Priced, SeasonCost, plan_cost, season_cost, together
from pipeline.plan.areas import Areas
from pipeline.plan.cost import Facts
from pipeline.plan.works import Done, Planned
from tests.plan.test_plan_cost import FEED, LABOUR, MIX, PRICES, AtRate

AREAS = Areas({"A": ((None, 1000.0),), "B": ((None, 500.0),)})
RATES = [LABOUR, AtRate("machine", Decimal("6.15")), AtRate("output", operation="mowing", output_m2_h=1000.0)]
PRICED = Priced(RATES, lambda _: PRICES, {FEED: Facts(nitrogen_pct=10.0), MIX: Facts(bulk_density_t_m3=1.5)}, AREAS)
END = date(2026, 9, 30)
NONE = Budget()


def job(green: str, operation: str, day: int, **more: object) -> Done:
    when = date(2026, 5, day)
    return Done(green, operation, when, when, **more)  # type: ignore[arg-type]


JOBS = {
    "A": [
        job("A", "mowing", 4, hours=1.5, cost=Decimal("51.98")),
        job("A", "mowing", 11, hours=1.25),
        job("A", "fertilising", 12, material=FEED, kg=50.0, hours=0.5, cost=Decimal("80.33")),
        job("A", "top_dressing", 20, material=MIX, kg=3000.0, hours=4.0, cost=Decimal("273.60")),
    ],
    "B": [job("B", "mowing", 4, hours=0.75, cost=Decimal("25.99"))],
}


def season(green: str, *, so_far: bool = False, jobs: list[Done] | None = None, short: str = "") -> SeasonCost:
    of = JOBS[green] if jobs is None else jobs
    return season_cost("2026", END, of, PRICED, so_far=so_far, short=short)


def account(green: str, this: SeasonCost, last: SeasonCost, budget: Budget = NONE) -> Account:
    nothing = plan_cost("2026", [], PRICED)
    return Account(green, green, (green,), this, last, nothing, plan_cost("2027", PLANNED[green], PRICED), budget)


PLANNED = {green: [Planned(green, "mowing", date(2027, 5, 1), date(2027, 5, 31), "times", 4.0)] for green in ("A", "B")}


def test_a_club_by_hand_to_the_penny() -> None:
    """Our own arithmetic. Mowing of 11 May is not costed: 1.25 h × 28.50 = 35.63 and × 6.15 = 7.69, by rate.

    A: 51.98 + 80.33 + 273.60 = 405.91 logged, with the rate 449.23; B: 25.99; in all 475.22 over 1,500 m².
    """
    one, other = season("A"), season("B")
    assert (one.cost_logged.value, one.cost_logged.said) == (Decimal("405.91"), "logged for 3 of 4")
    assert (one.cost.value, one.cost.said) == (Decimal("449.23"), "logged for 3 of 4, 1 more by rate")
    assert (one.hours.value, one.hours.said) == (Decimal("7.25"), "")
    assert one.per_m2.value == Decimal("0.44923")
    club = together("C", "Club", [account("A", one, one), account("B", other, other)]).this
    assert (club.cost.value, club.cost.said) == (Decimal("475.22"), "logged for 4 of 5, 1 more by rate")
    assert round(club.per_m2.value or 0, 8) == Decimal("0.31681333")
    assert [(of.operation, of.works, of.cost.value) for of in club.operations] == [
        ("mowing", 3, Decimal("121.29")),
        ("top_dressing", 1, Decimal("273.60")),
        ("fertilising", 1, Decimal("80.33")),
    ]
    assert (club.per_kg_nitrogen.value, club.per_kg_nitrogen.quantity) == (Decimal("80.33") / 5, 5.0)
    assert (club.per_mm_dressing.value, club.per_mm_dressing.quantity) == (Decimal("136.80"), 2.0)


def test_a_season_half_known_is_never_set_beside_another() -> None:
    bare = job("A", "slitting", 2)
    half, whole = season("A", jobs=[*JOBS["A"], bare]), season("A")
    known = account("A", half, whole, Budget(Decimal(500), "the committee")).against
    assert {words: found.difference for words, found in known.items()} == {
        "2026 less 2026": None, "2026 less its budget": None, "plan of 2027 less 2026": None,
    }  # fmt: skip
    assert {found.why for found in known.values()} == {"not compared: logged for 3 of 5, 1 more by rate"}
    (slitting,) = (one for one in half.operations if one.operation == "slitting")
    assert (slitting.cost.value, slitting.cost.said) == (None, "logged for 0 of 1")


def test_budget_and_actual() -> None:
    found = account("A", season("A"), season("A"), Budget(Decimal(500), "the committee")).against
    assert found["2026 less its budget"].difference == Decimal("-50.77")
    running = account("A", season("A", so_far=True), season("A"), Budget(Decimal(500), "the committee")).against
    assert running["2026 less its budget"].why == "so far and logged for 3 of 4, 1 more by rate"
    assert running["2026 less 2026"].difference is None


def test_next_season_by_plan_beside_this_one() -> None:
    """4 mowings of 1,000 m² at 1,000 m²/h: 4 h × 34.65 = 138.60, less 449.23."""
    found = account("A", season("A"), season("A")).against["plan of 2027 less 2026"]
    assert found.difference == Decimal("-310.63")
    other = replace(PRICED, rates=[LABOUR])
    unpriced = replace(account("A", season("A"), season("A")), next_plan=plan_cost("2027", PLANNED["A"], other))
    assert unpriced.against["plan of 2027 less 2026"].difference is None


@pytest.mark.parametrize("short", ["the log begins 6 March 2026, five months into this season", ""])
def test_a_log_that_lacks_rows_is_not_whole(short: str) -> None:
    """A season whose log begins in March cost at least so much: it is no saving."""
    found = account("A", season("A", short=short), season("A")).against["2026 less 2026"]
    assert (found.difference is None) is bool(short)
    assert (short in found.why) or not short


def test_a_club_lacks_what_any_of_its_greens_lacks() -> None:
    a, b = account("A", season("A"), season("A")), account("B", season("B", jobs=[]), season("B", short="x"))
    club = together("C", "Club", [a, b])
    assert club.this.short == "nothing logged of B"
    assert club.last.short == "B: x"
    assert not club.this.cost.complete
    assert club.against["2026 less 2026"].difference is None


def test_budgets_are_added_up_where_each_green_has_one() -> None:
    first = account("A", season("A"), season("A"), Budget(Decimal(500), "the committee"))
    second = account("B", season("B"), season("B"), Budget(Decimal("100.50"), "the committee"))
    club = together("C", "Club", [first, second])
    assert club.budget == Budget(Decimal("600.50"), "the committee of each green, added up")
    assert club.against["2026 less its budget"].difference == Decimal("-125.28")
    half = together("C", "Club", [first, replace(second, budget=Budget())])
    assert half.budget == Budget(None, "", "no budget of B")
    assert "2026 less its budget" not in half.against


def test_without_rates_nothing_is_made_up() -> None:
    bare = season_cost("2026", END, JOBS["A"], replace(PRICED, rates=[]), so_far=False)
    assert (bare.cost.value, bare.cost.said) == (Decimal("405.91"), "logged for 3 of 4")
    empty = season_cost("2026", END, [], PRICED, so_far=False)
    assert (empty.cost.value, empty.cost.said, empty.operations) == (None, "no job logged", ())
