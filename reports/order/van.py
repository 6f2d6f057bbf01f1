"""From a placed order to the van's list: what is loaded where, and which packs go to which green. No prices."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from pipeline.common.grouped import grouped
from pipeline.plan.ordering.placed import PlacedOrder, ToGreen, pack_at
from pipeline.plan.purchase.parts import Share
from reports.order.amounts import amount, heading_of, in_packs, rounded_note
from reports.order.data import van_files
from reports.page import remarks, text
from reports.page.document import Document, Pages
from reports.page.house_style import HouseStyle, Units
from reports.page.templating import fill

MOST_PAGES = 400
MOST_ROWS = 800
"""Rows for greens; a row takes some 20 ms. Greens that are more stand in the attached CSV; what is had at a place that
is printed is told in all, whatever is printed by green."""


Told = tuple[PlacedOrder, Units]
"""What is ordered, and the units it is told in."""


@dataclass(frozen=True)
class LoadRow:
    """A material to be had at a place: how much of it in all, and from where."""

    material: str
    amount: str
    packs: str
    source: str


@dataclass(frozen=True)
class GreenRow:
    """What a green gets of a material."""

    material: str
    amount: str
    packs: str


@dataclass(frozen=True)
class GreenBlock:
    """What a green gets."""

    green: str
    code: str
    club: str
    rows: tuple[GreenRow, ...]


@dataclass(frozen=True)
class PlaceBlock:
    """A depot or club, what is there for the greens it serves, and what each of them gets."""

    place: str
    loads: tuple[LoadRow, ...]
    greens: tuple[GreenBlock, ...]


@dataclass(frozen=True)
class VanReport:
    """The van's list; every field is final text."""

    title: str
    heading: str
    of: str
    day: str
    running_head: str
    created: str
    version: str
    density: str
    places: tuple[PlaceBlock, ...]
    more: str
    stopped: str
    rounded: str


def view(made: PlacedOrder, *, version: str, units_: Units = "metric") -> VanReport:
    """The list with every amount formatted."""
    by_place = grouped(made.order.shares, lambda share: share.drop)
    known = {one.green: one for one in made.greens}
    left, places = MOST_ROWS, []
    for drop, some in by_place.items():
        places.append(_place((made, units_), drop, some, known, left))
        left -= sum(len(green.rows) for green in places[-1].greens)
        if len({share.green for share in some}) > len(places[-1].greens):
            break
    printed = sum(len(one.greens) for one in places)
    every = len({(one.drop, one.green) for one in made.order.shares})
    return VanReport(
        title=f"Order for the van: {text.clean(made.name, 120)}",
        heading="For the van",
        of=text.clean(made.of, 300),
        day=text.day(made.day),
        running_head=heading_of(made.name),
        **remarks.stamp(made.day, version),
        density="",
        places=tuple(places),
        more=text.more(every - printed, "green", "split.csv"),
        stopped=_stopped(made),
        rounded=rounded_note((part for one in made.order.shares for part in _parts(one)), units_),
    )


def _parts(one: Share) -> tuple[Decimal, ...]:
    return (one.needed, one.from_stock, one.from_on_order, one.from_bought)


def _stopped(made: PlacedOrder) -> str:
    if not made.order.stopped:
        return ""
    number = len(made.order.stopped)
    held = "what is in it is" if number == 1 else "what is in them is"
    return f"{text.count(number, 'line')} could not be ordered: {held} not in this list. The office’s copy says why."


def _place(of: Told, drop: str, shares: Sequence[Share], known: Mapping[str, ToGreen], left: int) -> PlaceBlock:
    """What is had at a place, and of its greens as many as there are rows left."""
    loads = tuple(
        _load(of, drop, some) for some in grouped(shares, lambda share: (share.material, share.unit)).values()
    )
    by_green = grouped(sorted(shares, key=lambda one: (known[one.green].club, one.green)), lambda share: share.green)
    greens = []
    for green, some in by_green.items():
        if len(some) > left:
            break
        left -= len(some)
        greens.append(_green(of, known[green], some))
    return PlaceBlock(text.clean(drop, 80), loads, tuple(greens))


def _green(of: Told, green: ToGreen, shares: Sequence[Share]) -> GreenBlock:
    rows = tuple(_row(of, one) for one in sorted(shares, key=lambda one: one.material))
    return GreenBlock(text.name(green.name, 60), text.clean(green.green, 24), text.clean(green.club_name, 60), rows)


def _load(of: Told, drop: str, shares: Sequence[Share]) -> LoadRow:
    (made, units_), first = of, shares[0]

    def summed(name: str) -> Decimal:
        return sum((getattr(one, name) for one in shares), Decimal(0))

    needed = summed("needed")
    sources = (("from_stock", "in stock"), ("from_on_order", "on its way"), ("from_bought", "of this order"))
    known = [(where, part) for name, where in sources if (part := summed(name))]
    told = (
        [f"{amount(part, first.unit, units_)} {where}" for where, part in known]
        if len(known) > 1
        else [f"all {where}" for where, _ in known]
    )
    size = pack_at(made, first.material, drop, first.unit)
    return LoadRow(
        text.clean(first.material, 80),
        amount(needed, first.unit, units_),
        in_packs(needed, first.unit, size, units_),
        ", ".join(told),
    )


def _row(of: Told, one: Share) -> GreenRow:
    made, units_ = of
    size = pack_at(made, one.material, one.drop, one.unit)
    return GreenRow(
        text.clean(one.material, 80), amount(one.needed, one.unit, units_),
        in_packs(one.needed, one.unit, size, units_),
    )  # fmt: skip


def _drafts(made: PlacedOrder, attached: Sequence[str], version: str, house: HouseStyle) -> Iterator[Pages]:
    yield Pages(
        fill("order-van.html.j2", house, report=view(made, version=version, units_=house.units), attached=attached)
    )


DOCUMENT = Document(
    drafts=_drafts,
    attached=van_files,
    day=lambda made: made.day,
    most_pages=lambda *_: MOST_PAGES,
    styles=("order.css", "order-van.css"),
    endings=("closer.css", "wider.css"),
)
html, render = DOCUMENT.html, DOCUMENT.render
