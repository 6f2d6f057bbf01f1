"""What a kilogram or a litre costs: which pack, on which day, and when it is not known."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.common.money import rounded
from pipeline.indicators.base.green_season import Evidence
from pipeline.plan.cost import material_of
from pipeline.plan.market import Price
from pipeline.plan.unit_price import PriceBook, unpriced
from pipeline.plan.works import Planned

DAY = date(2026, 4, 10)
SAND = "sand"


def price(amount: str, pack_kg: float | None = 25.0, supplier: str = "a", **more: object) -> Price:
    told: dict[str, object] = {"pack_l": None, "from_packs": 1, "carriage": None, "holds_from": None}
    place = Evidence("prices.csv", 2, "price", 1)
    return Price(SAND, supplier, pack_kg, price=Decimal(amount), place=place, **{**told, **more})  # type: ignore[arg-type]


def each(*every: Price, day: date = DAY, need: float = 1000.0, **named: float) -> dict[str, Decimal]:
    """What a kilogram and a litre cost of a need of so many."""
    book = PriceBook(every, {SAND: ("kg", named["kg"])} if named else {})
    return {unit: one.asked(need).by.each for (_, unit), one in book.on(day).items()}


def test_the_pack_that_the_register_names_comes_before_a_cheaper_one() -> None:
    """A club that buys bags is not asked the price of a 10-t load."""
    bag, load = price("6.00"), price("420.00", 10_000.0)
    assert each(bag, load, kg=25.0) == {"kg": Decimal("0.24")}
    assert each(bag, load, need=12_000.0, kg=25.0) == {"kg": Decimal("0.24")}
    assert each(bag, load, need=12_000.0) == {"kg": Decimal("0.042")}
    assert each(bag, price("5.50", supplier="b"), load, kg=25.0) == {"kg": Decimal("0.22")}
    assert each(bag, load, need=12_000.0, kg=800.0) == {"kg": Decimal("0.042")}, "a size that nobody sells"


BAG, SACK, LOAD, LORRY = (
    price("6.00"), price("88.00", 800.0), price("420.00", 10_000.0), price("760.00", 20_000.0)
)  # fmt: skip


@pytest.mark.parametrize(
    ("need", "pack", "money"),
    [
        (10.0, 25.0, "2.40"),  # the smallest, a part of it
        (25.0, 25.0, "6.00"),
        (300.0, 25.0, "72.00"),  # by the bag: a sack of 800 kg is larger than that
        (3000.0, 800.0, "330.00"),
        (12_000.0, 10_000.0, "504.00"),
        (40_000.0, 20_000.0, "1520.00"),
    ],
)
def test_no_pack_larger_than_what_is_needed(need: float, pack: float, money: str) -> None:
    """Our own arithmetic: 3 t are asked for by the sack at 0.11 a kg, 330, where a lorry's 0.038 would say 114."""
    (offers,) = PriceBook((BAG, SACK, LOAD, LORRY), {}).on(DAY).values()
    found = offers.asked(need)
    assert (found.by.pack, found.money, found.whole) == (pack, Decimal(money), False)


def test_no_more_is_asked_than_for_a_whole_larger_pack() -> None:
    """9 t by the sack are 990; a load of 10 t is 420, and holds them."""
    (offers,) = PriceBook((BAG, SACK, LOAD, LORRY), {}).on(DAY).values()
    found = offers.asked(9000.0)
    assert (found.by.pack, found.money, found.whole) == (10_000.0, Decimal("420.00"), True)
    work = Planned("A", "top_dressing", DAY, DAY, "kg", 9000.0, SAND)
    assert material_of(work, {(SAND, "kg"): offers}).why == "a whole pack of 10,000 kg, 420"
    assert material_of(replace(work, size=3000.0), {(SAND, "kg"): offers}).why == "0.11 a kg by a pack of 800 kg"


def test_of_several_suppliers_the_cheapest_of_the_packs_allowed() -> None:
    other = price("80.00", 800.0, supplier="b"), price("5.00", supplier="c")
    (offers,) = PriceBook((BAG, SACK, LOAD, *other), {}).on(DAY).values()
    assert (offers.asked(900.0).by.supplier, offers.asked(900.0).money) == ("b", Decimal("90.00"))
    assert (offers.asked(20.0).by.supplier, offers.asked(20.0).money) == ("c", Decimal("4.00"))


def test_a_need_that_a_rate_comes_to_fills_its_pack() -> None:
    """18.3 g/m² over 1,366.120218… m² are 25 kg less a rounding: a bag is not too large for them."""
    (offers,) = PriceBook((price("20.00", 10.0), BAG), {}).on(DAY).values()
    assert offers.asked(25.0 - 1e-12).by.pack == 25.0
    assert offers.asked(24.99).by.pack == 10.0 or offers.asked(24.99).whole


prices_of_packs = st.lists(
    st.tuples(st.integers(1, 40), st.integers(1, 10**5)), min_size=1, max_size=6, unique_by=lambda one: one[0]
)
needs = st.integers(1, 60_000)


@given(prices_of_packs, needs, needs)
def test_less_is_never_cheaper_by_the_kilogram_and_more_never_costs_less(
    packs: list[tuple[int, int]], one: int, other: int
) -> None:
    """Of a need of grams, up to the penny that each sum is rounded by; whatever the packs, also where 2 t cost less."""
    every = [price(str(Decimal(pence) / 100), float(kg)) for kg, pence in packs]
    (offers,) = PriceBook(tuple(every), {}).on(DAY).values()
    small, large = sorted((one, other))
    low, high, both = (offers.asked(grams / 1000).money for grams in (small, large, small + large))
    half = Decimal("0.005")
    assert low - half <= high + half
    assert (low + half) * large >= (high - half) * small
    assert low + high + 2 * half >= both - half, "in two parts it is no cheaper"
    assert both <= min(Decimal(pence) / 100 * max(1, -(-(small + large) // (kg * 1000))) for kg, pence in packs), (
        "whole packs of one size would come to less"
    )


def test_a_price_holds_from_its_day_and_the_former_until_then() -> None:
    old, new = price("5.00", holds_from=date(2025, 1, 1)), price("6.00", holds_from=date(2026, 4, 10))
    assert each(old, new, day=date(2026, 4, 9)) == {"kg": Decimal("0.2")}
    assert each(old, new) == {"kg": Decimal("0.24")}
    assert each(old, new, day=date(2024, 12, 31)) == {}


def test_a_price_of_several_packs_is_not_that_of_one() -> None:
    book = PriceBook((price("4.00", from_packs=40),), {})
    assert book.on(DAY) == {}
    assert book.without_single([SAND, "other"], DAY) == (SAND,)
    assert each(price("4.00", from_packs=40), price("6.00")) == {"kg": Decimal("0.24")}


def test_two_prices_of_one_pack_are_not_chosen_between() -> None:
    assert each(price("6.00", carriage=Decimal(1)), price("7.00")) == {}


def test_litres_and_kilograms_have_prices_of_their_own() -> None:
    assert each(price("10.00"), price("20.00", None, pack_l=10.0)) == {"kg": Decimal("0.4"), "l": Decimal(2)}


def test_a_pack_that_does_not_divide_costs_its_price_again() -> None:
    """30 kg at 10.00 are 0.333… a kg: 30 kg come to 10.00 again, 0.045 kg to a penny and a half."""
    prices = PriceBook((price("10.00", 30.0),), {}).on(DAY)
    known = [
        material_of(Planned("A", "top_dressing", DAY, DAY, "kg", kg, SAND), prices).value or Decimal(0)
        for kg in (30.0, 0.045)
    ]
    assert known[0] == 10
    assert rounded(known[1]) == Decimal("0.02")


def test_a_price_of_nothing_is_no_price() -> None:
    """The order does not buy by it either; a club would be asked nothing for what it is to pay."""
    assert each(price("0"), price("6.00", supplier="b")) == {"kg": Decimal("0.24")}
    assert PriceBook((price("0"),), {}).without_single([SAND], DAY) == (SAND,)


def test_why_a_material_has_no_price_is_said_with_the_day_of_the_first() -> None:
    """“No price” of a material that has one from next week on sends a reader to look for it."""
    book = PriceBook((price("6.00", holds_from=date(2026, 10, 1)),), {})
    assert unpriced(book.on(date(2026, 3, 1)), "sand", date(2026, 3, 1)) == "sand has no price before 1 October 2026"
    assert unpriced(book.on(date(2026, 3, 1)), "loam", date(2026, 3, 1)) == "loam has no price on any day"
    later = unpriced(book.on(date(2026, 12, 1)), "sand", date(2026, 12, 1))
    assert later == "sand has prices, but none of a single pack in the unit that it is planned in"
