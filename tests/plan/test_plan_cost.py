"""Hours and cost: what is known of each work, what a sum may say, and a quotation that adds up."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.plan.areas import Areas
from pipeline.plan.cost import (
    Facts,
    Sum,
    added,
    beyond_published,
    compared,
    cost,
    dressing_mm,
    hours,
    nitrogen_kg,
    of_job,
    of_planned,
    per,
    per_m2,
)
from pipeline.plan.quotation import quotation
from pipeline.plan.rates import Figure, RateOf, planned_hours, rate_for
from pipeline.plan.unit_price import Offers, Prices, UnitPrice
from pipeline.plan.works import Done, Planned, Unit
from tests.outside_checks import outside

GREEN, DAY = "ALD-1", date(2026, 4, 10)
FEED, MIX = "spring 11-5-5", "70/30 sand and soil"


@dataclass(frozen=True)
class AtRate:
    of: RateOf
    amount: Decimal | None = None
    operation: str = ""
    machine: str = ""
    output_m2_h: float | None = None
    holds_from: date | None = None


LABOUR = AtRate("labour", Decimal("28.50"))


def at_each(each: dict[tuple[str, Unit], Decimal]) -> Prices:
    """The prices of a kilogram or litre of materials that are sold in packs of one."""
    return {
        (name, unit): Offers((UnitPrice(name, unit, price, 1.0, price, "a", None),))
        for (name, unit), price in each.items()
    }


PRICES = at_each({(FEED, "kg"): Decimal("1.26"), (MIX, "kg"): Decimal("0.045")})


def job(operation: str = "scarifying", material: str = "", **more: object) -> Done:
    return Done(GREEN, operation, DAY, DAY, material, **more)  # type: ignore[arg-type]


def work(operation: str = "scarifying", unit: Unit = "times", size: float | None = 1, **more: object) -> Planned:
    return Planned(GREEN, operation, DAY, date(2026, 4, 30), unit, size, **more)  # type: ignore[arg-type]


def test_what_is_logged_stands_before_any_rate() -> None:
    item = of_job(job(hours=4.0, cost=Decimal("99.90")), [LABOUR], PRICES)
    assert (item.cost, item.hours) == (Figure(Decimal("99.90"), "logged"), Figure(Decimal("4.0"), "logged"))


def test_hours_by_the_rate_are_marked_so() -> None:
    """28.50 × 3.5 = 99.75, exactly; and what it is without is said."""
    item = of_job(job(hours=3.5), [LABOUR], PRICES)
    assert (item.cost.value, item.cost.how) == (Decimal("99.750"), "by rate")
    assert item.cost.why == "without machines: no rate of a machine"


@pytest.mark.parametrize(
    ("one", "why"),
    [
        (job(), "no hours logged"),
        (job("fertilising", FEED, hours=1.0), f"the amount of {FEED} is not known"),
        (job("fertilising", "other feed", hours=1.0, kg=50.0), "other feed has no price"),
        (job("top_dressing", hours=1.0, kg=500.0), "the material is not named"),
        (job("top_dressing", hours=1.0), "the material is not named"),
        (job("fertilising", FEED, kg=50.0), "no hours logged"),
    ],
)
def test_a_part_of_a_cost_is_not_the_cost(one: Done, why: str) -> None:
    assert of_job(one, [LABOUR], PRICES).cost == Figure(None, "not known", why)


def test_without_a_rate_nothing_is_made_up() -> None:
    found = of_job(job(hours=3.5), [replace(LABOUR, holds_from=date(2026, 4, 11))], PRICES).cost
    assert (found.value, found.why) == (None, "no rate of labour on 10 April 2026")


def test_what_was_put_on_is_part_of_a_cost_by_rate() -> None:
    """50 kg at 1.26 and an hour and a half at 28.50 and, of the machine, at 6: 63 + 42.75 + 9."""
    rates = [LABOUR, AtRate("machine", Decimal(6), machine="spreader")]
    assert of_job(job("fertilising", FEED, kg=50.0, hours=1.5), rates, PRICES).cost.value == Decimal("114.750")


def test_litres_have_a_price_of_their_own() -> None:
    prices = at_each({("wetting agent", "l"): Decimal(9), ("wetting agent", "kg"): Decimal(1)})
    one = job("wetting_agent", "wetting agent", l=10.0, hours=1.0)
    assert of_job(one, [LABOUR], prices).cost.value == Decimal("118.50")
    by_mass = at_each({("wetting agent", "kg"): Decimal(1)})
    assert of_job(one, [LABOUR], by_mass).cost.why == "wetting agent has no price"


def test_the_rate_of_the_work_and_of_the_day_holds() -> None:
    own = AtRate("labour", Decimal(40), operation="scarifying")
    later = AtRate("labour", Decimal(45), operation="scarifying", holds_from=date(2026, 4, 1))
    to_come = AtRate("labour", Decimal(50), operation="scarifying", holds_from=date(2026, 5, 1))
    assert rate_for([to_come, later, own, LABOUR], "labour", "scarifying", DAY) == (later, "")
    assert rate_for([to_come, later, own, LABOUR], "labour", "scarifying", date(2026, 3, 31)) == (own, "")
    assert rate_for([to_come, later, own], "labour", "scarifying", date(2026, 4, 1)) == (later, "")
    assert rate_for([own, LABOUR], "labour", "mowing", DAY) == (LABOUR, "")


def test_two_machines_of_one_work_are_a_question() -> None:
    two = [
        AtRate("output", operation="mowing", machine=name, output_m2_h=size) for name, size in (("b", 1e3), ("a", 5e3))
    ]
    assert rate_for(two, "output", "mowing", DAY) == (
        None,
        "several machines have an output an hour on 10 April 2026: a, b",
    )
    assert planned_hours(work("mowing"), two, 1369.0).value is None


@pytest.mark.parametrize(
    ("area", "output", "minutes"), [(819.2, 1092.0, 45), (819.2, 4915.0, 10), (1369.0, 1092.0, 75)]
)
def test_hours_by_output(area: float, output: float, minutes: int) -> None:
    """Our own arithmetic: a croquet lawn of 32 × 25.6 m mown in 45 or 10 minutes (oxfordcroquet.com/care/costs)."""
    found = planned_hours(work("mowing"), [AtRate("output", operation="mowing", output_m2_h=output)], area)
    assert (round((found.value or 0) * 60), found.how) == (minutes, "by rate")


def test_hours_by_output_take_passes_and_times() -> None:
    rates = [AtRate("output", operation="scarifying", output_m2_h=500.0)]
    assert planned_hours(work(size=3.0, passes=2.0), rates, 1250.0).value == 15
    assert planned_hours(work("scarifying", "kg", 60.0, times=2.0), rates, 1250.0).value == 5
    assert planned_hours(work(hours=7.0), rates, 1250.0) == Figure(Decimal("7.0"), "planned")
    assert planned_hours(work(), rates, None).why == "the area of ALD-1 is not recorded"
    assert planned_hours(work(), [], 1250.0).why == "no output an hour"


HOWELL = "Howell 1968, Bowling Greens: Construction and Maintenance, as quoted by a UK advice site"


@outside("worked example", HOWELL)
def test_the_hours_of_a_year_as_published() -> None:
    """23 weeks of 24 h, 20 days of two people's 8 h, three smaller lots: 960; with 40 h of renovation instead, 680."""
    lots = {"season": 23 * 24.0, "autumn": 20 * 2 * 8.0, "winter": 16 * 2.0, "spring": 4 * 4 * 2.0, "April": 12 * 2.0}
    year = hours(of_job(job(hours=lot), [], {}) for lot in lots.values())
    assert (year.value, year.complete) == (960, True)
    assert hours(of_job(job(hours=lot), [], {}) for lot in {**lots, "autumn": 40.0}.values()).value == 680
    assert beyond_published(year) == ""
    assert beyond_published(replace(year, value=Decimal(961))) == (
        "961 hours are more than the 960 a year published for a council green kept to a good standard: check the rates."
    )


def some_costs(with_cost: int, of: int) -> Sum:
    jobs = [job(cost=Decimal(10) if number < with_cost else None) for number in range(of)]
    return cost(of_job(one, [], {}) for one in jobs)


def test_a_sum_of_some_says_of_how_many() -> None:
    assert (some_costs(12, 40).value, some_costs(12, 40).said, some_costs(12, 40).complete) == (
        120,
        "logged for 12 of 40",
        False,
    )
    assert (some_costs(40, 40).said, some_costs(40, 40).complete) == ("", True)
    assert (some_costs(0, 3).value, some_costs(0, 3).said) == (None, "logged for 0 of 3")
    assert (added([]).value, added([]).said, added([]).complete) == (None, "no job logged", False)


def test_by_rate_is_whole_and_says_so() -> None:
    one = cost(of_job(each, [LABOUR], {}) for each in (job(cost=Decimal(5)), job(hours=2.0)))
    assert (one.value, one.said, one.complete) == (62, "logged for 1 of 2, 1 more by rate", True)
    assert compared(one, Decimal(60)).difference == 2
    assert compared(one, Decimal(60)).why == "logged for 1 of 2, 1 more by rate"


def test_a_sum_of_some_is_not_compared() -> None:
    """120 of a budget of 500 spent, by 12 jobs of 40: nobody knows whether it was kept."""
    budget, last = Decimal(500), some_costs(40, 40)
    for first, second in ((some_costs(12, 40), budget), (some_costs(12, 40), last), (last, some_costs(12, 40))):
        assert compared(first, second).difference is None
        assert compared(first, second).why == "not compared: logged for 12 of 40"
    assert compared(last, budget).difference == -100
    assert compared(last, budget).why == ""
    with pytest.raises(TypeError):
        _ = some_costs(12, 40) < last  # type: ignore[operator]


def test_a_season_that_still_runs_is_not_set_beside_one_that_is_over() -> None:
    """In June half the money is spent: that is no saving against last year."""
    last, now = some_costs(40, 40), replace(some_costs(12, 12), so_far=True)
    assert compared(now, last) == compared(last, now)
    assert (compared(now, last).difference, compared(now, last).why) == (
        None,
        "not compared: one of the two seasons still runs",
    )
    assert (compared(now, Decimal(500)).difference, compared(now, Decimal(500)).why) == (-380, "so far")
    plan = cost(of_planned(one, RATES, PRICES, 1369.0) for one in (work(hours=2.0), work(hours=1.0)))
    assert compared(now, plan).why == "so far and all by rate"


def test_nothing_logged_is_not_nothing_spent() -> None:
    assert compared(added([]), Decimal(500)).difference is None
    assert compared(added([]), Decimal(500)).why == "not compared: no job logged"


money = st.integers(0, 10**7).map(lambda pence: Decimal(pence) / 100)


@given(st.lists(money, min_size=1, max_size=30))
def test_money_adds_up_exactly(costs: list[Decimal]) -> None:
    found = cost(of_job(job(cost=one), [], {}) for one in costs).value
    assert found is not None
    assert Fraction(found) == sum(map(Fraction, costs))


def test_by_the_square_metre() -> None:
    items = [of_job(job(cost=Decimal(1369)), [], {}), of_job(job(), [], {})]
    found = per_m2(items, AREAS)
    assert (found.value, found.why) == (1, "logged for 1 of 2")
    assert per_m2(items, Areas({GREEN: ((None, None),)})).why == "the area of ALD-1 is not recorded"
    assert per_m2(items, Areas({GREEN: ((None, None),)})).value is None


def test_by_the_kilogram_of_nitrogen() -> None:
    """Two bags of 25 kg of 11 % N at 31.50: 63 for 5.5 kg; a job without an amount is left out, and that is said."""
    facts = {FEED: Facts(nitrogen_pct=11.0)}
    jobs = [
        job("fertilising", FEED, kg=50.0, cost=Decimal(63)),
        job("fertilising", FEED, cost=Decimal(40)),
        job(cost=Decimal(500)),
    ]
    found = per([of_job(one, [], {}) for one in jobs], nitrogen_kg(facts))
    assert found.quantity == pytest.approx(5.5)
    assert round(found.value or 0, 4) == Decimal("11.4545")
    assert found.why == "from 1 of 2 works"


def test_by_the_millimetre_of_dressing() -> None:
    """6 t on 1,369 m² at 1.5 t/m³ is 2.92 mm (6,000 / 1,369 / 1.5, our own arithmetic)."""
    facts = {MIX: Facts(bulk_density_t_m3=1.5)}
    item = of_job(job("top_dressing", MIX, kg=6000.0, cost=Decimal(840)), [], {})
    found = per([item], dressing_mm(facts, AREAS))
    assert round(found.quantity or 0, 2) == 2.92
    assert round(found.value or 0, 2) == Decimal("287.49")
    assert per([item], dressing_mm({}, AREAS)).why == "no work has both a cost and an amount"


def test_moisture_is_taken_off_a_dressing() -> None:
    """10 t at 6 % of the dry mass on 1,400 m² at 1.5 t/m³: 4.49 mm, our own arithmetic."""
    facts = {MIX: Facts(bulk_density_t_m3=1.5, moisture_pct=6.0)}
    item = of_job(job("top_dressing", MIX, kg=10_000.0, cost=Decimal(1)), [], {})
    assert per([item], dressing_mm(facts, Areas({GREEN: ((None, 1400.0),)}))).quantity == pytest.approx(4.49, abs=0.005)


RATES = [
    LABOUR,
    AtRate("machine", Decimal("6.15"), operation="scarifying"),
    AtRate("output", operation="scarifying", output_m2_h=450.0),
    AtRate("output", operation="fertilising", output_m2_h=4000.0),
]
AREAS = Areas({GREEN: ((None, 1369.0),)})


def test_a_quotation_adds_up_as_printed() -> None:
    """By hand: 1,369 × 2 / 450 = 6.0844 h: 173.41 and 37.42; 1,369 / 4,000 = 0.34225 h: 9.75, and 75 kg at 1.26."""
    made = quotation(
        [work(passes=2.0), work("fertilising", "kg", 75.0, material=FEED)], RATES, lambda _: PRICES, AREAS, Decimal(20)
    )
    cells = [(line.labour, line.machine, line.material, line.price) for line in made.lines]
    assert cells == [
        (Decimal("173.41"), Decimal("37.42"), Decimal("0.00"), Decimal("210.83")),
        (Decimal("9.75"), None, Decimal("94.50"), Decimal("104.25")),
    ]
    assert (made.labour, made.machine, made.material) == (Decimal("183.16"), Decimal("37.42"), Decimal("94.50"))
    assert (made.before_vat, made.vat, made.total) == (Decimal("315.08"), Decimal("63.02"), Decimal("378.10"))
    assert made.said == "without machines of fertilising (no rate of a machine)"


def test_what_a_quotation_is_without_is_named_once_for_each_reason() -> None:
    plan = [
        work("top_dressing", "kg", 6000.0, material=MIX),
        work("overseeding", "kg", 40.0, material="bent"),
        work("overseeding", "kg", None, material="bent"),
        work("slitting", hours=2.0),
    ]
    made = quotation(plan, [LABOUR, AtRate("machine", Decimal(5))], lambda _: PRICES, AREAS, None)
    assert made.without == (
        "labour and machines of top dressing and overseeding (no output an hour)",
        "material of overseeding 10 April 2026 to 30 April 2026 (bent has no price)",
        "material of overseeding 10 April 2026 to 30 April 2026 (the amount of bent is not known)",
        "VAT (no rate of it is set)",
    )
    assert not made.complete
    assert (made.before_vat, made.vat, made.total) == (Decimal("337.00"), None, Decimal("337.00"))


def test_travel_is_quoted_or_named() -> None:
    rates = [LABOUR, AtRate("machine", Decimal(5)), AtRate("mileage", Decimal("0.45"))]
    plan = [work(hours=2.0)]
    asked = quotation(plan, rates, lambda _: PRICES, AREAS, Decimal(0), travel_km=121.0)
    assert (asked.travel, asked.before_vat, asked.total, asked.complete) == (
        Decimal("54.45"),
        Decimal("121.45"),
        Decimal("121.45"),
        True,
    )
    assert quotation(plan, rates, lambda _: PRICES, AREAS, Decimal(0)).said == "without travel (kilometres not said)"


def pence(amount: Fraction) -> Decimal:
    """To the penny, a half up, in whole numbers alone."""
    return Decimal((200 * amount.numerator + amount.denominator) // (2 * amount.denominator)) / 100


@given(st.lists(st.tuples(st.integers(1, 400), st.integers(1, 10**5)), min_size=1, max_size=12), st.integers(0, 250))
def test_every_column_and_row_adds_up(asked: list[tuple[int, int]], tenths: int) -> None:
    """Whatever the hours and amounts: each cell is rounded once, and printed cells make the printed sums."""
    plan = [work("fertilising", "kg", size / 100, material=FEED, hours=quarters / 4) for quarters, size in asked]
    rates = [LABOUR, AtRate("machine", Decimal("6.15"))]
    made = quotation(plan, rates, lambda _: PRICES, AREAS, Decimal(tenths) / 10)
    for line, (quarters, size) in zip(made.lines, asked, strict=True):
        assert line.labour == pence(Fraction(quarters, 4) * Fraction(57, 2))
        assert line.material == pence(Fraction(size, 100) * Fraction(63, 50))
        assert line.price == sum(cell for cell in (line.labour, line.machine, line.material) if cell is not None)
    assert made.before_vat == made.labour + made.machine + made.material == sum(line.price for line in made.lines)
    assert made.vat == pence(Fraction(made.before_vat) * Fraction(tenths, 1000))
    assert made.total == made.before_vat + made.vat
    assert made.complete


@outside("worked example", "GMA, Cost of materials, bowling green, spring 2003 (lines recomputed)")
def test_the_materials_of_a_green_in_2003() -> None:
    """Dressing 2 + 7 + 1 t at 30 a tonne is 300; feed 75 kg at 30 a bag of 25 and 100 kg at 16 is 154."""
    prices = at_each({
        ("dressing", "kg"): Decimal(30) / 1000,
        ("spring feed", "kg"): Decimal(30) / 25,
        ("feed", "kg"): Decimal(16) / 25,
    })  # fmt: skip
    plan = [work("top_dressing", "kg", tonnes * 1000.0, material="dressing") for tonnes in (2, 7, 1)]
    plan += [work("fertilising", "kg", kg, material=name) for name, kg in (("spring feed", 75.0), ("feed", 100.0))]
    made = quotation(plan, [], lambda _: prices, AREAS, None)
    by_work = [line.material for line in made.lines]
    assert (sum(one or 0 for one in by_work[:3]), sum(one or 0 for one in by_work[3:])) == (300, 154)


def test_next_season_by_plan_is_added_up_like_a_log() -> None:
    items = [of_planned(one, RATES, PRICES, 1369.0) for one in (work(), work("mowing"), work(hours=3.0))]
    assert (hours(items).said, cost(items).said) == (
        "given for 1 of 3, 1 more by rate",
        "by rate for 2 of 3",
    )
    assert compared(cost(items), some_costs(2, 2)).difference is None
