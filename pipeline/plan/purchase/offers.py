"""Offers as the order counts them: packs in grams or millilitres, price breaks in order, and what is odd about them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from pipeline.common.amounts import AmountText, in_list
from pipeline.plan.purchase.parts import (
    MINOR,
    SMALLEST,
    Material,
    Offer,
    Question,
    Unit,
    money,
    places_of,
    weighed,
)

TIMES_APART = 10
"""Prices of one material so many times apart are asked about: the price of a tonne stands at a bag, or the other way
about (common practice, no source)."""


@dataclass(frozen=True)
class Break:
    """A price from so many packs on, in :data:`MINOR` of the currency, and the offer it is from."""

    packs: int
    price: int
    offer: Offer


@dataclass(frozen=True)
class Ware:
    """Packs of one size of a material from one supplier.

    Attributes:
        material: as the register names it.
        supplier: who sells it.
        size: g or ml in one, in the unit the material is needed in, rounded down: never less than needed.
        breaks: its prices, from the least number of packs up.
    """

    material: str
    supplier: str
    size: int
    breaks: tuple[Break, ...]

    @property
    def offer(self) -> Offer:
        """The offer of its least number of packs: what all its offers share is read from it."""
        return self.breaks[0].offer

    @property
    def rank(self) -> tuple[str, str, int, str, Decimal]:
        """What decides between wares that are alike in everything else, and puts them in order."""
        pack = self.offer.pack
        assert pack is not None
        return self.material, self.supplier, self.size, self.offer.unit, pack

    def in_force(self, packs: int) -> Break | None:
        """The break that so many packs reach; None where they are fewer than can be ordered."""
        return next((one for one in reversed(self.breaks) if one.packs <= packs), None)


@dataclass(frozen=True)
class Catalogue:
    """What can be bought.

    Attributes:
        wares: of each material, in order.
        carriage: a drop of each supplier in :data:`MINOR`; None where it is not known.
        left_out: of each material, offers that cannot be ordered by: why, in words.
        questions: what is odd about the offers.
    """

    wares: Mapping[str, tuple[Ware, ...]]
    carriage: Mapping[str, int | None]
    left_out: Mapping[str, tuple[str, ...]]
    questions: tuple[Question, ...]


def catalogue(offers: Iterable[Offer], materials: Mapping[str, Material], units: Mapping[str, Unit]) -> Catalogue:
    """What can be bought of the materials needed.

    An offer that cannot be ordered by is left out with the reason, two prices of one pack both: which holds is not
    guessed. Carriage is one a supplier: where its offers state several the largest is counted, and asked about.

    Args:
        offers: every offer; those of materials that nothing asks for are passed over.
        materials: by name.
        units: the unit each material is needed in.
    """
    alike: dict[tuple[str, str, Decimal | None, Unit], list[Offer]] = defaultdict(list)
    wanted = sorted((one for one in offers if one.material in units), key=_in_order)
    for one in wanted:
        alike[one.material, one.supplier, one.pack, one.unit].append(one)
    wares: dict[str, list[Ware]] = {material: [] for material in units}
    left_out: dict[str, list[str]] = {material: [] for material in units}
    questions: list[Question] = []
    for (material, *_), same in alike.items():
        made = _ware(same, units[material], materials[material].density_kg_l)
        if isinstance(made, Ware):
            wares[material].append(made)
            questions += _rising(made)
        else:
            left_out[material].append(made)
            questions.append(
                Question(AmountText(f"{material}: an offer is left out. ", _sentence(made)), places_of(same))
            )
    carriage, asked = _carriage(wanted)
    ordered = {material: tuple(sorted(some, key=lambda one: one.rank)) for material, some in wares.items()}
    for some in ordered.values():
        questions += _far_apart(some)
    reasons = {material: tuple(sorted(why)) for material, why in left_out.items()}
    return Catalogue(ordered, carriage, reasons, (*questions, *asked))


def minor(money: Decimal) -> int | None:
    """Money in :data:`MINOR`; None where it is finer than that."""
    counted = money / MINOR
    return int(counted) if counted == counted.to_integral_value() else None


def converted(amount: int, unit: Unit, to: Unit, density_kg_l: Decimal | None, *, up: bool) -> int | None:
    """What g are in ml or ml in g, rounded to a whole one; None where that needs a density that is not known."""
    if unit == to:
        return amount
    if density_kg_l is None or density_kg_l <= 0:
        return None
    other = amount * density_kg_l if to == "kg" else amount / density_kg_l
    return int(other.to_integral_value(ROUND_CEILING if up else ROUND_FLOOR))


def _in_order(offer: Offer) -> tuple[object, ...]:
    nothing = Decimal(0)
    money = (offer.price or nothing, offer.carriage or nothing)
    return offer.material, offer.supplier, offer.pack or nothing, offer.unit, offer.from_packs, *money, str(offer.place)


def _ware(same: Sequence[Offer], unit: Unit, density: Decimal | None) -> Ware | str:
    """The ware that offers of one pack are of; or why it cannot be ordered."""
    first = same[0]
    if first.pack is None or first.pack <= 0:
        return f"how much is in a pack of {first.supplier}'s is not known"
    what = AmountText(weighed(first.pack, first.unit), f" from {first.supplier}")
    size = converted(int((first.pack / SMALLEST).to_integral_value(ROUND_FLOOR)), first.unit, unit, density, up=False)
    if size is None:
        return AmountText(what, f": it is needed in {unit}, and what a litre of it weighs is not known")
    if size == 0:
        return AmountText(what, ": less than a gram or millilitre is in a pack")
    return _priced(same, what, size)


def _priced(same: Sequence[Offer], what: AmountText, size: int) -> Ware | str:
    breaks: dict[int, Break] = {}
    for one in same:
        assert one.from_packs >= 1
        if one.price is None or one.price <= 0:
            return AmountText(what, ": its price is not known")
        price = minor(one.price)
        if price is None:
            return AmountText(what, ": its price of ", money(one.price), f" is finer than {MINOR} can tell")
        if (known := breaks.get(one.from_packs)) and known.price != price:
            low, high = (money(each) for each in sorted((known.offer.price or Decimal(0), one.price)))
            return AmountText(what, f": it has two prices from {one.from_packs} on, ", low, " and ", high)
        breaks.setdefault(one.from_packs, Break(one.from_packs, price, one))
    return Ware(same[0].material, same[0].supplier, size, tuple(breaks[packs] for packs in sorted(breaks)))


def _carriage(offers: Iterable[Offer]) -> tuple[dict[str, int | None], list[Question]]:
    by_supplier: dict[str, list[Offer]] = defaultdict(list)
    for one in offers:
        by_supplier[one.supplier].append(one)
    carriage: dict[str, int | None] = {}
    questions = []
    for supplier in sorted(by_supplier):
        stated = {one.carriage for one in by_supplier[supplier]}
        known = sorted(one for one in stated if one is not None)
        counted = [minor(one) for one in known]
        carriage[supplier] = None if not counted or None in counted else max(one for one in counted if one is not None)
        if len(stated) > 1:
            told = in_list([AmountText(money(one)) for one in known])
            bare = ", and some of them do not say" if None in stated else ""
            text = AmountText(
                f"{supplier} charges for carriage ", told, f" by its several prices{bare}: the largest is counted once "
                "a drop.",
            )  # fmt: skip
            questions.append(Question(text, places_of(by_supplier[supplier])))
    return carriage, questions


def _rising(ware: Ware) -> list[Question]:
    """A pack that costs more the more are bought."""
    return [
        Question(
            AmountText(
                f"{ware.material} from {ware.supplier}: a pack costs more from {after.packs} packs on (",
                money(_price(after)),
                f") than from {before.packs} (",
                money(_price(before)),
                "). It is ordered as it stands.",
            ),
            places_of([before.offer, after.offer]),
        )
        for before, after in zip(ware.breaks, ware.breaks[1:], strict=False)
        if after.price > before.price
    ]


def _far_apart(wares: Sequence[Ware]) -> list[Question]:
    """The dearest and the cheapest ware of a material, where one costs many times the other for the same amount."""
    if len(wares) < 2:
        return []
    cheap = min(wares, key=lambda one: (Decimal(one.breaks[0].price) / one.size, one.rank))
    dear = max(wares, key=lambda one: (Decimal(one.breaks[0].price) / one.size, one.rank))
    times = Decimal(dear.breaks[0].price * cheap.size) / Decimal(cheap.breaks[0].price * dear.size)
    if times <= TIMES_APART:
        return []
    text = AmountText(
        f"{cheap.material}: ", _told(dear), f" is {times:,.0f} times as dear for the same amount as ", _told(cheap),
        ". Is one the price of a load or of a pallet, the other of a bag?",
    )  # fmt: skip
    return [Question(text, places_of([cheap.offer, dear.offer]))]


def _told(ware: Ware) -> AmountText:
    pack = ware.offer.pack
    assert pack is not None
    price = money(_price(ware.breaks[0]))
    return AmountText(weighed(pack, ware.offer.unit), " at ", price, f" from {ware.supplier}")


def _price(one: Break) -> Decimal:
    assert one.offer.price is not None
    return one.offer.price


def _sentence(words: str) -> AmountText:
    first, *rest = words.parts if isinstance(words, AmountText) else (words,)
    return AmountText(f"{str(first)[:1].upper()}{str(first)[1:]}", *rest, ".")
