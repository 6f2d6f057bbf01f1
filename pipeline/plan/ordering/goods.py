"""Materials, offers and stock as the order counts them, of what the store holds as of a day."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from math import fsum
from typing import Any

from pipeline.common.amounts import AmountText, in_list
from pipeline.common.grouped import grouped
from pipeline.common.words import counted, listed, long_date
from pipeline.indicators.base.green_season import Evidence
from pipeline.plan.market import InStock, Price, last_counted
from pipeline.plan.ordering.places import NOT_SAID, Places
from pipeline.plan.purchase.needs import PESTICIDE
from pipeline.plan.purchase.parts import Material, Need, Offer, Question, Stock, Unit, money, weighed
from pipeline.plan.rates import exact
from pipeline.plan.read import done_works
from pipeline.plan.works import Done
from pipeline.store.store import Store
from schemas.material import LABEL

LONG_DAYS = 28
"""Days after which an order without a day of delivery is asked about: common practice, no source."""


@dataclass(frozen=True)
class Registered:
    """A material of the register as of a day.

    Attributes:
        material: what the order goes by.
        pack: kg or l in a pack; None where the register does not say.
        unit: of that.
        n_pct: nitrogen by the label, %; None where it is not said.
        no_nitrogen: whether the label, as far as it is recorded, has none.
        solid: whether it is no liquid.
        price: price of a pack in the register, from no supplier; None where it has none.
    """

    material: Material
    pack: Decimal | None
    unit: Unit
    n_pct: float | None
    no_nitrogen: bool
    solid: bool
    price: Decimal | None


def materials_on(store: Store, day: date, overspread_pct: Decimal) -> dict[str, Registered]:
    """The register of materials as it holds on a day; one that is only to begin later as it begins.

    What is a plant protection product on the day or will be one is one: it would be used then.
    """
    held: dict[str, Mapping[str, Any]] = {}
    banned = set()
    rows = store.frame("FROM material_by_day", by=("material", "holds_from"))
    for row in rows.iter_rows(named=True):
        if row["material"] not in held or (row["holds_from"] or date.min) <= day:
            held[row["material"]] = row
        if row["sort"] == PESTICIDE and (row["holds_until"] or date.max) > day:
            banned.add(row["material"])
    held |= {name: {**held[name], "sort": PESTICIDE} for name in banned}
    return {name: _registered(row, overspread_pct) for name, row in held.items()}


def _registered(row: Mapping[str, Any], overspread_pct: Decimal) -> Registered:
    unit: Unit = "kg" if row["pack_l"] is None else "l"
    pack = row["pack_kg"] if row["pack_l"] is None else row["pack_l"]
    density = row["density_kg_l"]
    return Registered(
        Material(
            row["material"],
            row["sort"] or "",
            None if density is None else exact(density),
            overspread_pct,
            Evidence(row["file"], row["line"], "material", row["load_id"]),
        ),
        None if pack is None else exact(pack),
        unit,
        row["n_pct"],
        row["n_pct"] == 0 or (row["n_pct"] is None and any(row[name] is not None for name in LABEL)),
        row["form"] != "liquid",
        row["price"],
    )


def offers_of(prices: Iterable[Price]) -> tuple[Offer, ...]:
    """Prices as offers."""
    return tuple(_offer(one) for one in prices)


def _offer(one: Price) -> Offer:
    unit: Unit = "kg" if one.pack_l is None else "l"
    pack = one.pack_kg if one.pack_l is None else one.pack_l
    return Offer(
        one.material, one.supplier, None if pack is None else exact(pack), unit, one.price, one.from_packs,
        one.carriage, one.place,
    )  # fmt: skip


@dataclass
class Counted:
    """Stock as the order counts it.

    Attributes:
        stock: what lies where, and what is on its way there.
        unknown: material and place of stock whose amount is not known, with the reason.
        questions: what to look at.
    """

    stock: list[Stock] = field(default_factory=list)
    unknown: dict[tuple[str, str], str] = field(default_factory=dict)
    questions: list[Question] = field(default_factory=list)


def counted_stock(found: Iterable[InStock], where: Places) -> Counted:
    """Stock at the places of an order.

    Args:
        found: what is counted and on order, as known on the day.
        where: the places.
    """
    made = Counted()
    bare: dict[str, list[InStock]] = {}
    for one in found:
        place = where.stock_at(one.depot)
        if not one.depot:
            bare.setdefault(place, []).append(one)
        if one.unsized:
            made.unknown[one.material, place] = f"{one.unsized}, so that how much is there is not known"
            continue
        unit: Unit = "kg" if one.l is None else "l"
        amount = exact(one.kg or 0.0) if one.l is None else exact(one.l)
        if one.instead_of:
            made.questions.append(_told_again(one))
        there, coming = (Decimal(0), amount) if one.on_order else (amount, Decimal(0))
        made.stock.append(Stock(one.material, there, unit, place, coming, one.place))
    for place, some in bare.items():
        names = listed(sorted({one.material for one in some}))
        said = (
            "it serves no green until the count names one"
            if place == NOT_SAID
            else f"it is taken to lie at {place}, the only depot"
        )
        lines = tuple(sorted({one.place for one in some}, key=lambda one: (one.file, one.line)))
        made.questions.append(Question(f"No depot is said of the stock of {names}: {said}.", lines))
    return made


def _told_again(one: InStock) -> Question:
    """That orders of several days without a number are taken for one."""
    days = listed([long_date(day) for day in one.instead_of])
    return Question(
        f"{one.material}{f' to {one.depot}' if one.depot else ''} was on order on {days} and on "
        f"{long_date(one.counted_on)}, without a number: it is taken to be one order, and the latest holds. Give each "
        "its reference where they are several.",
        (one.place,),
    )


Taken = Collection[tuple[str, str]]
"""Material and place of what an order takes."""


def perhaps_gone(
    store: Store, found: Iterable[InStock], taken: tuple[Taken, Taken], where: Places, day: date
) -> Iterator[Question]:
    """What the order takes from stock, or counts as on its way, and may no longer be there.

    Jobs put some of it on since it was counted or ordered; or an order should have come long ago. Nothing is taken
    off, for the log does not say where a material came from.

    Args:
        store: the store.
        found: stock as known on the day.
        taken: what the order takes from stock, and what from what is on its way.
        where: the places.
        day: the day of the order.
    """
    counts: dict[tuple[bool, str, str], InStock] = {}
    for one in sorted(found, key=lambda one: one.counted_on):
        place = where.stock_at(one.depot)
        if (one.material, place) in taken[one.on_order]:
            counts.setdefault((one.on_order, one.material, place), one)
    if not counts:
        return
    days = min(one.counted_on for one in counts.values()), day
    jobs = grouped((job for job in done_works(store, None, days) if job.last <= day), lambda job: job.material)
    for (on_order, material, place), one in sorted(counts.items(), key=lambda entry: entry[0]):
        since = [job for job in jobs.get(material, []) if job.last > one.counted_on]
        if on_order and (since or (one.expected or one.counted_on + timedelta(days=LONG_DAYS)) < day):
            yield Question(_on_its_way(one, place, since), (one.place,))
        elif since:
            yield Question(
                AmountText(
                    f"{material}: ",
                    _put_on(since),
                    f" since it was counted at {place} on {long_date(one.counted_on)}, "
                    "and the order takes what was there then. What of it came from there is gone: count again.",
                ),
                (one.place,),
            )


def _on_its_way(one: InStock, place: str, since: Sequence[Done]) -> str:
    """That an order may have come, and have been used."""
    expected = f", expected on {long_date(one.expected)}" if one.expected else ""
    used = AmountText(", and ", _put_on(since), " since") if since else ""
    return AmountText(
        f"{one.material}: ordered for {place} by {long_date(one.counted_on)}{expected}",
        used,
        ". It is counted as still on its way: where it has come, count what is there (0 where nothing is).",
    )


def _put_on(jobs: Sequence[Done]) -> str:
    """How much jobs put on, and how many of them say no amount."""
    sums = [(fsum(job.kg or 0.0 for job in jobs), "kg"), (fsum(job.l or 0.0 for job in jobs if job.kg is None), "l")]
    told = in_list([AmountText(weighed(exact(amount), unit)) for amount, unit in sums if amount]) or "some of it"
    bare = sum(job.kg is None and job.l is None for job in jobs)
    return AmountText(f"{counted(len(jobs), 'job')} put on ", told, f" ({bare} without an amount)" if bare else "")


def with_known_stock(needs: Iterable[Need], unknown: Mapping[tuple[str, str], str]) -> tuple[Need, ...]:
    """The needs; those of a material whose stock at their place is not known are not counted, with that reason."""
    return tuple(
        replace(one, amount=None, lacking=one.lacking or unknown[one.material, one.drop])
        if (one.material, one.drop) in unknown
        else one
        for one in needs
    )


def later_prices(prices: Iterable[Price], wanted: set[str], day: date) -> Iterable[Question]:
    """That prices of what is needed begin after the day of the order, and are not counted."""
    later = [one for one in prices if one.material in wanted and one.holds_from is not None and one.holds_from > day]
    if later:
        first = min(one.holds_from for one in later if one.holds_from is not None)
        names = listed(sorted({one.material for one in later})[:5])
        places = tuple(sorted({one.place for one in later}, key=lambda one: (one.file, one.line)))
        yield Question(
            f"Other prices of {names} hold from {long_date(first)} on: this order is by those of {long_date(day)}.",
            places,
        )


def later_stock(store: Store, day: date) -> Iterable[Question]:
    """That stock was counted or ordered after the day of the order."""
    last = last_counted(store)
    if last is not None and last > day:
        yield Question(
            f"Stock was counted or ordered up to {long_date(last)}: what came after {long_date(day)} is not in."
        )


def priced_by_the_register(
    registered: Mapping[str, Registered], wanted: set[str], offers: Iterable[Offer]
) -> Iterable[Question]:
    """That the register has a price of what no supplier offers: an order needs a supplier."""
    offered = {one.material for one in offers}
    for name in sorted(wanted - offered):
        one = registered.get(name)
        if one is not None and one.price is not None:
            yield Question(
                AmountText(
                    f"{name}: the register of materials has a price, ",
                    money(one.price),
                    " a pack, and nobody who sells it: load a price with its supplier.",
                ),
                () if one.material.place is None else (one.material.place,),
            )
