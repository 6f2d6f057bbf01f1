"""The order as data: the CSV to a supplier, what is then on order as stock, and what is attached to the PDFs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from pipeline.indicators.base.green_season import Evidence
from pipeline.plan.ordering.placed import PlacedOrder
from pipeline.plan.purchase.parts import Delivery, Line, SupplierOrder, rounded, said
from reports.order.amounts import exact_money
from reports.page.attachments import Cell, CsvFile, csv_bytes, tables

SUPPLIER_COLUMNS = (
    "deliver_to", "item", "packs", "pack_size", "unit", "price_of_a_pack", "sum", "currency", "note",
)  # fmt: skip
NOT_KNOWN = "not known: please state it"
ORDERED_COLUMNS = ("material", "depot", "counted_on", "on_order", "reference", "mass_kg", "volume_l", "note")
"""Fields of the kind ``stock``."""

LINES = {
    "supplier": "who it is bought from",
    "place": "depot or club it goes to",
    "material": "as the register names it",
    "packs": "how many",
    "pack_size": "kg or l in one",
    "unit": "unit of pack_size",
    "price": "price of one pack without VAT",
    "from_packs": "packs from which on this price holds",
    "sum": "packs × price, exact",
    "file": "file of the price",
    "line": "physical line in that file",
}
BALANCES = {
    "material": "as the register names it",
    "place": "depot or club",
    "unit": "unit of all amounts of the row",
    "planned": "what the greens are to get, as delivered",
    "overspread": "what is added to that",
    "needed": "both",
    "from_stock": "taken from what lies there",
    "from_on_order": "taken from what is on its way",
    "bought": "in packs",
    "left_of_stock": "stays of what lies there",
    "left_on_order": "stays of what is on its way",
    "left_of_bought": "stays of the packs",
}
SPLIT = {
    "green": "code of the green",
    "name": "name of the green",
    "club": "name of its club",
    "place": "depot or club it is taken from",
    "material": "as the register names it",
    "unit": "unit of all amounts of the row",
    "needed": "what the green gets",
    "from_stock": "of what lies there",
    "from_on_order": "of what is on its way",
    "from_bought": "of what is bought",
}
ASKED = {
    "what": "not ordered, or a question",
    "material": "material it is about",
    "place": "depot or club",
    "greens": "codes of the greens",
    "text": "the reason, or the question",
    "files": "file and line of each record it rests on",
}
OF_OFFICE = {
    "lines.csv": ("Every line of the order with its price", LINES),
    "balances.csv": ("What is needed where, where it comes from and what is left over", BALANCES),
    "split.csv": ("What each green gets", SPLIT),
    "asked.csv": ("What is not ordered and what to look at first", ASKED),
}


def supplier_rows(made: PlacedOrder, one: SupplierOrder) -> Iterator[tuple[Cell, ...]]:
    """The order to a supplier, a row a line, the carriage of each place, and the sums (columns SUPPLIER_COLUMNS).

    Nothing of the greens stands in it: what is asked for, and where it goes.
    """
    for delivery in one.deliveries:
        place = delivery.drop
        for line in delivery.lines:
            yield (
                place, line.material, line.packs, said(line.pack).replace(",", ""), line.unit, exact_money(line.price),
                exact_money(line.cost), made.currency, _break(line),
            )  # fmt: skip
        yield _carriage(made, delivery, place)
    short = "" if one.carriage_known else "without the carriage that is not known"
    yield _sum(made, "net", exact_money(one.net), short)
    if one.vat is not None and one.gross is not None and made.vat_pct is not None:
        yield _sum(made, f"VAT {said(made.vat_pct)} %", exact_money(one.vat), "")
        yield _sum(made, "total", exact_money(one.gross), short)


def _break(line: Line) -> str:
    return f"price from {line.from_packs} packs on, all places together" if line.from_packs > 1 else ""


def _carriage(made: PlacedOrder, delivery: Delivery, place: str) -> tuple[Cell, ...]:
    known = delivery.carriage is not None
    sum_ = exact_money(rounded(delivery.carriage)) if delivery.carriage is not None else None
    return (place, "carriage", None, None, None, None, sum_, made.currency, "" if known else NOT_KNOWN)


def _sum(made: PlacedOrder, what: str, sum_: str, note: str) -> tuple[Cell, ...]:
    return (None, what, None, None, None, None, sum_, made.currency, note)


def supplier_csv(made: PlacedOrder, one: SupplierOrder) -> bytes:
    """The order to a supplier as CSV."""
    return csv_bytes(SUPPLIER_COLUMNS, supplier_rows(made, one))


def ordered_csv(made: PlacedOrder) -> bytes:
    """What is on order once the order is sent, as rows of the kind ``stock``: loaded, nothing is ordered twice."""
    return csv_bytes(ORDERED_COLUMNS, _ordered(made))


def _ordered(made: PlacedOrder) -> Iterator[tuple[Cell, ...]]:
    depots = dict(made.depots)
    for one in made.order.suppliers:
        for delivery in one.deliveries:
            by_material: dict[tuple[str, str], list[Line]] = {}
            for line in delivery.lines:
                by_material.setdefault((line.material, line.unit), []).append(line)
            units = Counter(material for material, _ in by_material)
            for (material, unit), lines in by_material.items():
                who = one.supplier if units[material] == 1 else f"{one.supplier} (in {unit})"
                amount = sum(line.amount for line in lines)
                kg, litres = (amount, None) if unit == "kg" else (None, amount)
                packs = " + ".join(f"{line.packs} x {said(line.pack)} {unit}" for line in lines)
                yield (
                    material, depots.get(delivery.drop, delivery.drop), made.day.isoformat(), "yes",
                    made.reference(who), kg, litres, packs,
                )  # fmt: skip


def office_files(made: PlacedOrder) -> tuple[CsvFile, ...]:
    """What is attached to the office's PDF."""
    return tables(
        OF_OFFICE,
        {
            "lines.csv": _lines(made),
            "balances.csv": _balances(made),
            "split.csv": _split(made),
            "asked.csv": _asked(made),
        },
    )


def van_files(made: PlacedOrder) -> tuple[CsvFile, ...]:
    """What is attached to the van's PDF: no price in it."""
    return tables({"split.csv": OF_OFFICE["split.csv"]}, {"split.csv": _split(made)})


def _lines(made: PlacedOrder) -> Iterator[tuple[Cell, ...]]:
    for one in made.order.suppliers:
        for delivery in one.deliveries:
            for line in delivery.lines:
                place = line.place
                yield (
                    one.supplier, delivery.drop, line.material, line.packs, line.pack, line.unit,
                    exact_money(line.price), line.from_packs, exact_money(line.cost), place.file if place else None,
                    place.line if place else None,
                )  # fmt: skip


def _balances(made: PlacedOrder) -> Iterator[tuple[Cell, ...]]:
    for one in made.order.balances:
        yield (
            one.material, one.drop, one.unit, one.planned, one.overspread, one.needed, one.from_stock,
            one.from_on_order, one.bought, one.left_of_stock, one.left_on_order, one.left_of_bought,
        )  # fmt: skip


def _split(made: PlacedOrder) -> Iterator[tuple[Cell, ...]]:
    known = {one.green: one for one in made.greens}
    for share in made.order.shares:
        green = known[share.green]
        yield (
            share.green, green.name, green.club_name, share.drop, share.material, share.unit, share.needed,
            share.from_stock, share.from_on_order, share.from_bought,
        )  # fmt: skip


def _asked(made: PlacedOrder) -> Iterator[tuple[Cell, ...]]:
    for stop in made.order.stopped:
        place = stop.drop
        yield ("not ordered", stop.material, place, " ".join(stop.greens), stop.reason, _files(stop.places))
    for question in made.order.questions:
        yield ("question", None, None, None, question.text, _files(question.places))


def _files(places: Iterable[Evidence]) -> str:
    return "; ".join(f"{one.file}, line {one.line}" for one in places)
