"""What an order leaves out, takes from stock, and asks about."""

from __future__ import annotations

from decimal import Decimal

import pytest

from pipeline.indicators.base.green_season import Evidence
from pipeline.plan.purchase import ways
from pipeline.plan.purchase.order import WrongOrderError, _check, order
from pipeline.plan.purchase.parts import Material, Need, Offer, Order, Stock, in_currency
from tests.plan.orders import cost_and_left

D = Decimal
SEED = Material("seed", "seed")
WETTER = Material("wetter", "wetting_agent", density_kg_l=D("1.04"))


def place(line: int) -> Evidence:
    return Evidence("prices.csv", line, "price")


def need(amount: str | None, drop: str = "depot", green: str = "ALD-1", **more: object) -> Need:
    return Need(
        **{"material": "seed", "amount": amount and D(amount), "unit": "kg", "drop": drop, "green": green} | more
    )  # type: ignore[arg-type]


def offer(price: str | None, pack: str | None = "25", supplier: str = "north", **more: object) -> Offer:
    known = {"material": "seed", "supplier": supplier, "pack": pack and D(pack), "unit": "kg", "carriage": D(0)}
    return Offer(**known | {"price": price and D(price)} | more)  # type: ignore[arg-type]


def made(
    needs: list[Need], offers: list[Offer], *materials: Material, stock: tuple[Stock, ...] = (), **more: object
) -> Order:
    return order(needs, stock, offers, materials or (SEED,), **{"vat_pct": None} | more)  # type: ignore[arg-type]


def reasons(one: Order) -> list[str]:
    return [in_currency(stopped.reason, "GBP") for stopped in one.stopped]


def asked(one: Order) -> list[str]:
    """The questions of an order, in its currency."""
    return [in_currency(question.text, "GBP") for question in one.questions]


@pytest.mark.parametrize(
    ("asked", "reason"),
    [
        (need(None), "how much of it is needed is not known"),
        (need(None, lacking="the area of the green is not known"), "the area of the green is not known"),
        (need("5", drop=""), "where to deliver it is not known"),
        (need("5", delivered_of_dry=None), "it is planned as dry mass, and its moisture is not known"),
        (need("5", material=""), "no material is named"),
        (
            need("5", material="unheard of"),
            "it is not in the register of materials, so nothing says that it is no plant protection product",
        ),
        (
            need("5", material="sortless"),
            "the register does not say its sort, so nothing says that it is no plant protection product",
        ),
        (need("5", material="poison"), "it is a plant protection product: those are never ordered here"),
        (need(None, material="poison", drop=""), "it is a plant protection product: those are never ordered here"),
        (need("5", material="unpriced"), "no offer of it is known, and so no price: 5 kg are needed"),
    ],
)
def test_what_is_missing_stops_its_line_and_no_other(asked: Need, reason: str) -> None:
    """Ordered as nothing it would be missed on the day; and the greens beside it are still supplied."""
    register = (SEED, Material("sortless", ""), Material("poison", "plant_protection"), Material("unpriced", "seed"))
    poison = offer("1", material="poison")
    one = made([asked, need("20", green="ALD-2")], [offer("80"), poison], *register)
    assert reasons(one) == [reason]
    assert one.stopped[0].greens == ("ALD-1",)
    assert not one.complete
    assert [(share.green, share.from_bought) for share in one.shares] == [("ALD-2", 20)]
    assert one.net == 80


@pytest.mark.parametrize(
    ("wrong", "reason"),
    [
        ([offer(None)], "25 kg from north: its price is not known"),
        ([offer("0")], "25 kg from north: its price is not known"),
        ([offer("80", None)], "how much is in a pack of north's is not known"),
        ([offer("80.00001")], "25 kg from north: its price of 80.00001 GBP is finer than 0.0001 can tell"),
        ([offer("80"), offer("90")], "25 kg from north: it has two prices from 1 on, 80.00 GBP and 90.00 GBP"),
        (
            [offer("80", unit="l")],
            "25 l from north: it is needed in kg, and what a litre of it weighs is not known",
        ),
    ],
)
def test_an_offer_that_says_too_little_is_left_out(wrong: list[Offer], reason: str) -> None:
    """A price taken for nothing would win every comparison; and which of two prices holds is not guessed."""
    alone = made([need("102")], wrong, stock=(Stock("seed", D(30), "kg", "depot"),))
    assert reasons(alone) == [f"{reason}: 102 kg are needed, 30 kg of them there or on order"]
    assert alone.suppliers == ()
    beside = made([need("102")], [*wrong, offer("95", "20", "south")])
    assert beside.complete and beside.net == 6 * 95
    assert [one for one in asked(beside) if "left out." in one] == [
        f"seed: an offer is left out. {reason[0].upper()}{reason[1:]}."
    ]


def test_litres_are_bought_for_kilograms_where_the_density_is_known() -> None:
    """20 l at 1.04 kg/l are 20.8 kg: for 41 kg two are enough, for 42 they are not."""
    for amount, packs in (("41", 2), ("41.6", 2), ("41.601", 3), ("42", 3)):
        one = made([need(amount, material="wetter")], [offer("90", "20", unit="l", material="wetter")], WETTER)
        ((line,),) = [delivery.lines for delivery in one.suppliers[0].deliveries]
        assert (line.packs, line.pack, line.unit) == (packs, 20, "l")
        assert one.balances[0].bought == packs * D("20.8")


def test_needs_in_both_units_need_a_density() -> None:
    both = [need("5", material="wetter"), need("5", material="wetter", unit="l", green="ALD-2")]
    bottle = offer("90", "10", unit="l", material="wetter")
    assert made(both, [bottle], WETTER).balances[0].needed == D("5") + D("5.2")
    without = made(both, [bottle], Material("wetter", "wetting_agent"))
    assert reasons(without) == ["it is counted in kg and l, and what a litre of it weighs is not known"]
    lots = (Stock("wetter", D(3), "l", "depot"),)
    stocked = made(
        [need("5", material="wetter")], [offer("90", "10", material="wetter")], Material("wetter", "other"), stock=lots
    )
    assert reasons(stocked) == ["it is counted in kg and l, and what a litre of it weighs is not known"]
    assert stocked.balances[0].left_of_stock == 3


def test_stock_serves_its_own_depot_first_there_then_on_order() -> None:
    """What lies at one depot is no use at another, and what is left of it is said."""
    lots = (Stock("seed", D(30), "kg", "depot", on_order=D(20)), Stock("seed", D(500), "kg", "shed"))
    one = made([need("40"), need("62", green="ALD-2")], [offer("80")], stock=lots)
    depot, shed = one.balances
    assert (depot.from_stock, depot.from_on_order, depot.bought, depot.left_of_bought) == (30, 20, 75, 23)
    assert (shed.needed, shed.left_of_stock, shed.bought) == (0, 500, 0)
    assert [(share.from_stock, share.from_on_order, share.from_bought) for share in one.shares] == [
        (D("11.765"), D("7.843"), D("20.392")),
        (D("18.235"), D("12.157"), D("31.608")),
    ]
    assert [question.text for question in one.questions if "stock" in question.text] == [
        "seed: 500 kg at shed stay in stock, while it is bought for depot. Stock is not moved between drops here."
    ]


def test_what_is_on_its_way_elsewhere_is_told_before_it_is_bought_again() -> None:
    """Ten tonnes ordered to the yard and bought once more for the clubs is the dearest fault of an order."""
    lots = (Stock("seed", D(30), "kg", "shed", on_order=D(20)), Stock("seed", D(0), "kg", "barn", on_order=D(7)))
    one = made([need("40")], [offer("80")], stock=lots)
    assert (
        "seed: 30 kg at shed, 7 kg on its way to barn and 20 kg on its way to shed are left unused, while it is "
        in ("".join(question.text for question in one.questions))
    )


def test_more_stock_than_needed_buys_nothing() -> None:
    one = made([need("40")], [], stock=(Stock("seed", D(100), "kg", "depot", on_order=D(25)),))
    assert (one.complete, one.net, one.over_least) == (True, 0, 0)
    assert (one.balances[0].left_of_stock, one.balances[0].left_on_order) == (60, 25)


def test_overspread_is_told_apart_from_what_is_planned() -> None:
    one = made([need("100")], [offer("80")], Material("seed", "seed", overspread_pct=D("2.5")))
    assert (one.balances[0].planned, one.balances[0].overspread, one.balances[0].needed) == (100, D("2.5"), D("102.5"))
    assert one.balances[0].bought == 125


def test_a_float_that_is_not_quite_whole_buys_no_pack_more() -> None:
    """0.1 + 0.2 kg are 300 g: noise below a gram must not open another bag, a gram must."""
    noisy = need(str(0.1 + 0.2))
    assert made([noisy], [offer("8", "0.3")]).balances[0].bought == D("0.3")
    assert made([need("0.301")], [offer("8", "0.3")]).balances[0].bought == D("0.6")


def test_a_break_counts_the_packs_of_all_drops() -> None:
    """Four packs each at two clubs are eight in one order."""
    breaks = [offer("10"), offer("9", from_packs=8)]
    one = made([need("100", "A"), need("100", "B", "B-1")], breaks)
    lines = [line for delivery in one.suppliers[0].deliveries for line in delivery.lines]
    assert [(line.packs, line.price, line.from_packs, line.cost) for line in lines] == [(4, 9, 8, 36)] * 2
    fewer = made([need("100", "A"), need("50", "B", "B-1")], breaks)
    assert fewer.net == 60


def test_packs_bought_for_a_break_alone_are_asked_about() -> None:
    """Eight at 8.00 cost less than seven at 10.00; whoever orders should know there is one too many."""
    one = made([need("170")], [offer("10"), offer("8", from_packs=8)])
    assert one.net == 64
    assert [question.text for question in one.questions] == [
        "seed: more whole packs are ordered than are needed, left over are depot 30 kg. A price break or the least "
        "number that can be ordered asks for them."
    ]


def test_carriage_is_charged_once_for_all_that_a_drop_gets() -> None:
    """Apart, each material would be cheaper from the other; together, one delivery is."""
    feed = Material("feed", "fertiliser")
    offers = [
        offer("50", supplier="north", carriage=D(30)),
        offer("40", supplier="north", material="feed", carriage=D(30)),
        offer("60", supplier="south", carriage=D(30)),
        offer("20", supplier="south", material="feed", carriage=D(30)),
    ]
    one = made([need("25"), need("25", material="feed"), need("25", "far", "F-1")], offers, SEED, feed)
    assert [
        (each.supplier, [(two.drop, two.carriage, two.goods) for two in each.deliveries]) for each in one.suppliers
    ] == [
        ("north", [("far", 30, 50)]),
        ("south", [("depot", 30, 80)]),
    ]
    assert one.net == 190


def test_carriage_not_known_is_named_and_compared() -> None:
    """Counted as nothing it wins; that is said with what it would have to be to lose."""
    one = made(
        [need("100")], [offer("80"), offer("75", supplier="south", carriage=None, place=place(3))], vat_pct=D(20)
    )
    assert one.carriage_not_known == ("south",)
    assert not one.complete
    assert (one.net, one.vat, one.gross) == (300, 60, 360)
    assert one.suppliers[0].deliveries[0].carriage is None
    assert [(in_currency(question.text, "GBP"), question.places) for question in one.questions] == [
        (
            "Carriage is not known from south (1 drop): it is counted as nothing, and the sums are short of it. "
            "From suppliers whose carriage is known the order would cost 20.00 GBP more: carriage above that in all "
            "makes this order the dearer one.",
            (place(3),),
        )
    ]
    alone = made([need("100")], [offer("75", carriage=None)])
    assert alone.questions[0].text.endswith("Nobody whose carriage is known offers the same.")


def test_a_price_of_a_tonne_at_a_bag_is_asked_about() -> None:
    """The likeliest slip of a price list, and the order would go to it."""
    one = made([need("100")], [offer("95", "1000", place=place(7)), offer("95", supplier="south", place=place(2))])
    assert (asked(one)[0], one.questions[0].places) == (
        "seed: 25 kg at 95.00 GBP from south is 40 times as dear for the same amount as 1,000 kg at 95.00 GBP from "
        "north. Is one the price of a load or of a pallet, the other of a bag?",
        (place(2), place(7)),
    )


def test_odd_price_lists_are_asked_about() -> None:
    assert asked(made([need("100")], [offer("80", carriage=D(5)), offer("85", from_packs=4, carriage=D(9))])) == [
        "seed from north: a pack costs more from 4 packs on (85.00 GBP) than from 1 (80.00 GBP). It is ordered as it "
        "stands.",
        "north charges for carriage 5.00 GBP and 9.00 GBP by its several prices: the largest is counted once a drop.",
    ]


def test_a_moss_treatment_may_be_a_pesticide() -> None:
    moss = Material("moss powder", "moss_treatment", place=place(9))
    one = made([need("25", material="moss powder")], [offer("80", material="moss powder")], moss)
    assert [(in_currency(question.text, "GBP"), question.places) for question in one.questions] == [
        (
            "moss powder is a moss treatment: some are sold as plant protection products, which are never ordered "
            "here. Look at its label, and correct its sort in the register of materials if it is one.",
            (place(9),),
        )
    ]


def test_orders_alike_in_all_sums_are_told_apart_by_name() -> None:
    """Two suppliers at one price: the same one on every machine."""
    one = made([need("50"), need("25", "far", "F-1")], [offer("80", supplier="south"), offer("80")])
    assert [supplier.supplier for supplier in one.suppliers] == ["north"]
    assert one.settled


@pytest.mark.parametrize(
    ("steps", "offers"),
    [
        (
            0,
            [offer("80", carriage=D(5)), offer("64", "20", carriage=D(5)), offer("60", supplier="south", from_packs=9)],
        ),
        (ways.MOST_STEPS, [offer("80"), offer("70", from_packs=20), offer("65", "20", "south", from_packs=19)]),
    ],
)
def test_without_time_the_order_still_covers_its_needs_and_says_how_far_it_may_be_off(
    monkeypatch: pytest.MonkeyPatch, steps: int, offers: list[Offer]
) -> None:
    """A bound that is no bound would call a dear order the least."""
    monkeypatch.setattr(ways, "MOST_STEPS", steps)
    needs = [need("102", drop, f"{drop}-1") for drop in ("A", "B", "C")]
    best, hurried = (made(needs, offers, seconds=seconds) for seconds in (60, 0))
    assert best.over_least == 0 and best.settled
    assert not hurried.settled
    assert all(balance.left_of_bought >= 0 for balance in hurried.balances)
    cost, least = cost_and_left(hurried)[0], cost_and_left(best)[0]
    assert cost - hurried.over_least <= least <= cost
    assert best.proof == "No order costs less: proved."
    assert hurried.over_least == 0 or hurried.proof.startswith("An order that costs less, by ")


def test_an_order_that_fails_its_own_check_is_not_handed_out() -> None:
    one = made([need("102")], [offer("80")])
    with pytest.raises(WrongOrderError):
        _check(one.balances, one.suppliers, 399_9999)
    short = tuple(
        type(balance)(**vars(balance) | {"bought": D(100), "left_of_bought": D(-2)}) for balance in one.balances
    )
    with pytest.raises(WrongOrderError):
        _check(short, one.suppliers, 400_0000)
