"""What holds of every order, whatever is needed and offered."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.plan.purchase.needs import shared_out
from pipeline.plan.purchase.order import order
from pipeline.plan.purchase.parts import Material, Need, Offer, Order, Stock
from tests.plan.orders import cost_and_left

DROPS = ("Alder Brook", "depot")
NAMES = ("feed", "seed")
kg = st.integers(0, 90_000).map(lambda grams: Decimal(grams) / 1000)
needs = st.lists(
    st.builds(Need, st.sampled_from(NAMES), kg, st.just("kg"), st.sampled_from(DROPS), st.sampled_from("123")),
    min_size=1,
    max_size=6,
)
stocks = st.lists(st.builds(Stock, st.sampled_from(NAMES), kg, st.just("kg"), st.sampled_from(DROPS), kg), max_size=3)
offers = st.lists(
    st.builds(
        Offer,
        st.sampled_from(NAMES),
        st.sampled_from(("north", "south", "west")),
        st.sampled_from((Decimal("12.5"), Decimal(20), Decimal(25), Decimal(1000))),
        st.just("kg"),
        st.integers(1, 5_000).map(lambda pence: Decimal(pence) / 100),
        st.sampled_from((1, 1, 1, 3, 8)),
    ),
    min_size=1, max_size=7,
    unique_by=lambda one: (one.material, one.supplier, one.pack, one.from_packs),
)  # fmt: skip
carriages = st.fixed_dictionaries(
    {name: st.sampled_from((None, Decimal(0), Decimal(15), Decimal("37.50"))) for name in ("north", "south", "west")}
)
materials = st.tuples(*(
    st.builds(Material, st.just(name), st.just("seed"), overspread_pct=st.sampled_from((Decimal(0), Decimal("2.5"))))
    for name in NAMES
))  # fmt: skip


def carried(some: list[Offer], carriage: dict[str, Decimal | None]) -> list[Offer]:
    return [replace(one, carriage=carriage[one.supplier]) for one in some]


def packs(made: Order) -> list[tuple[object, ...]]:
    return [
        (supplier.supplier, delivery.drop, line.material, line.pack, line.packs, line.from_packs)
        for supplier in made.suppliers
        for delivery in supplier.deliveries
        for line in delivery.lines
    ]


@settings(max_examples=60)
@given(needs, stocks, offers, carriages, materials)
def test_never_less_than_needed_and_every_gram_is_told(
    asked: list[Need],
    there: list[Stock],
    some: list[Offer],
    carriage: dict[str, Decimal | None],
    of: tuple[Material, ...],
) -> None:
    """Needs are met or stopped; stock goes where it is said; the split per green adds up to its balance exactly."""
    made = order(asked, there, carried(some, carriage), of, vat_pct=None)
    for one in made.balances:
        assert one.from_stock + one.from_on_order + one.bought - one.left_of_bought == one.needed
        assert min(one.left_of_bought, one.left_of_stock, one.left_on_order, one.bought) >= 0
        assert not (one.bought and (one.left_of_stock or one.left_on_order))
        shares = [share for share in made.shares if (share.drop, share.material) == (one.drop, one.material)]
        assert sum(share.needed for share in shares) == one.needed
        assert sum(share.from_stock for share in shares) == one.from_stock
        assert sum(share.from_on_order for share in shares) == one.from_on_order
        assert all(min(share.from_stock, share.from_on_order, share.from_bought) >= 0 for share in shares)
    met = {(one.drop, one.material): one.planned for one in made.balances if one.needed}
    stopped = {(one.drop, one.material) for one in made.stopped}
    for drop, material in {(one.drop, one.material) for one in asked}:
        wanted = sum((one.amount or Decimal(0)) for one in asked if (one.drop, one.material) == (drop, material))
        assert (drop, material) in stopped or met.get((drop, material), 0) == wanted
    lots = {(one.depot, one.material) for one in there} - stopped
    assert all(
        sum(one.amount for one in there if (one.depot, one.material) == lot)
        == sum(one.from_stock + one.left_of_stock for one in made.balances if (one.drop, one.material) == lot)
        for lot in lots
    )


@settings(max_examples=60)
@given(needs, offers, carriages, st.data())
def test_another_offer_never_makes_it_dearer(
    asked: list[Need], some: list[Offer], carriage: dict[str, Decimal | None], data: st.DataObject
) -> None:
    """An offer of a supplier with new carriage or a pack of another size; a price below its break is no other offer."""
    known = {name: one or Decimal(0) for name, one in carriage.items()}
    more = data.draw(st.builds(replace, st.sampled_from(some), supplier=st.just("east"), pack=st.just(Decimal(40))))
    both = tuple(Material(name, "seed") for name in NAMES)
    offered = carried(some, known)
    before, after = (
        order(asked, (), one, both, vat_pct=None) for one in (offered, [*offered, replace(more, carriage=Decimal(9))])
    )
    assert before.over_least == after.over_least == 0
    if len(before.stopped) == len(after.stopped):
        assert cost_and_left(after)[0] <= cost_and_left(before)[0]


@settings(max_examples=60)
@given(needs, stocks, offers, carriages, materials, st.randoms(use_true_random=False))
def test_the_order_of_what_is_handed_in_changes_nothing(
    asked: list[Need],
    there: list[Stock],
    some: list[Offer],
    carriage: dict[str, Decimal | None],
    of: tuple[Material, ...],
    draw: object,
) -> None:
    given_in = [list(asked), list(there), carried(some, carriage), list(of)]
    shuffled = [list(one) for one in given_in]
    for one in shuffled:
        draw.shuffle(one)  # type: ignore[attr-defined]
    first, second = (order(*one, vat_pct=Decimal(20)) for one in (given_in, shuffled))  # type: ignore[arg-type]
    assert first.settled
    assert first == second


@settings(max_examples=40)
@given(needs, offers, carriages, st.integers(2, 9))
def test_prices_all_times_as_high_change_no_packs(
    asked: list[Need], some: list[Offer], carriage: dict[str, Decimal | None], times: int
) -> None:
    """Another currency is another number, and not another order."""
    both = tuple(Material(name, "seed") for name in NAMES)
    offered = carried(some, carriage)
    dearer = [
        replace(one, price=(one.price or 0) * times, carriage=None if one.carriage is None else one.carriage * times)
        for one in offered
    ]
    first, second = (order(asked, (), one, both, vat_pct=None) for one in (offered, dearer))
    assert packs(first) == packs(second)
    assert second.net == first.net * times


@given(st.lists(st.integers(0, 1000), max_size=12), st.data())
def test_what_is_shared_out_adds_up_and_is_next_to_its_quota(weights: list[int], data: st.DataObject) -> None:
    amount = data.draw(st.integers(0, sum(weights)))
    parts = shared_out(amount, weights)
    assert sum(parts) == amount
    for part, weight in zip(parts, weights, strict=True):
        assert part <= weight
        assert abs(part - Fraction(amount * weight, sum(weights) or 1)) < 1
