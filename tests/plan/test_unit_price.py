"""What a kilogram or a litre costs: which pack, on which day, and when it is not known."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from pipeline.common.money import rounded
from pipeline.indicators.base.green_season import Evidence
from pipeline.plan.cost import material_of
from pipeline.plan.market import Price
from pipeline.plan.unit_price import PriceBook
from pipeline.plan.works import Planned

DAY = date(2026, 4, 10)
SAND = "sand"


def price(amount: str, pack_kg: float | None = 25.0, supplier: str = "a", **more: object) -> Price:
    told: dict[str, object] = {"pack_l": None, "from_packs": 1, "carriage": None, "holds_from": None}
    place = Evidence("prices.csv", 2, "price", 1)
    return Price(SAND, supplier, pack_kg, price=Decimal(amount), place=place, **{**told, **more})  # type: ignore[arg-type]


def each(*every: Price, day: date = DAY, **named: float) -> dict[str, Decimal]:
    book = PriceBook(every, {SAND: ("kg", named["kg"])} if named else {})
    return {unit: one.each for (_, unit), one in book.on(day).items()}


def test_the_pack_that_the_register_names_comes_before_a_cheaper_one() -> None:
    """A club that buys bags is not asked the price of a 10-t load."""
    bag, load = price("6.00"), price("420.00", 10_000.0)
    assert each(bag, load, kg=25.0) == {"kg": Decimal("0.24")}
    assert each(bag, load) == {"kg": Decimal("0.042")}
    assert each(bag, price("5.50", supplier="b"), load, kg=25.0) == {"kg": Decimal("0.22")}


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
    prices = PriceBook((price("10.00", 30.0),), {}).plain(DAY)
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
