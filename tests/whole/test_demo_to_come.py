"""What the demo county says of the year ahead, and that every trouble planted in the demo is met."""

from __future__ import annotations

import csv
from datetime import date
from decimal import Decimal
from importlib.resources import files

from pipeline.plan.market import calendar, prices, prices_on, stock_on
from pipeline.plan.purchase.offers import catalogue
from pipeline.plan.purchase.parts import Material, Offer
from pipeline.plan.read import planned_works
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace

DAY = date(2026, 10, 20)
"""The last day on record."""
SEASON = (date(2026, 10, 1), date(2027, 9, 30))
TO_COME = ("programme_volunteers_2027.csv", "prices_quarry_2026-10.csv", "stock_yards_2026-10.csv")


def planted() -> list[dict[str, str]]:
    """The troubles put in on purpose."""
    text = files("demo_data").joinpath("planted.csv").read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))


def test_every_planted_row_that_is_to_be_rejected_is(demo_county: Workspace) -> None:
    """A trouble that nobody meets is read as if it were right."""
    wanted = {(one["file"], int(one["line"])) for one in planted() if one["outcome"] == "rejected"}
    with Store(demo_county.store, read_only=True) as store:
        met = set(store.rows(
            "SELECT load.file, fault.line FROM meta.fault JOIN meta.load USING (load_id) WHERE severity = 'error'"
        ))  # fmt: skip
    assert len(wanted) > 60
    assert wanted - met == set()


def test_the_troubles_of_what_is_to_come_are_named(demo_county: Workspace) -> None:
    """A window that runs backwards would never be due, a count without a unit be taken for kilograms."""
    with Store(demo_county.store, read_only=True) as store:
        told = store.rows(
            "SELECT load.file, fault.line, code FROM meta.fault JOIN meta.load USING (load_id) "
            f"WHERE severity <> 'note' AND load.file IN {TO_COME} ORDER BY ALL"
        )  # fmt: skip
    lines = {one["file"]: int(one["line"]) for one in planted()}
    volunteers, _, yards = TO_COME
    assert told == [(volunteers, lines[volunteers], "plan.window"), (yards, lines[yards], "amount.no_unit")]


def test_the_price_of_a_tonne_at_a_bag_is_asked_about(demo_county: Workspace) -> None:
    """It is a price like any other when it is loaded: beside another price of the same it is not."""
    with Store(demo_county.store, read_only=True) as store:
        held = prices_on(prices(store), DAY)
    sand = "dried medium-fine sand"
    offers = [
        Offer(one.material, one.supplier, Decimal(str(one.pack_kg)), "kg", one.price, one.from_packs, place=one.place)
        for one in held
        if one.material == sand
    ]
    asked = catalogue(offers, {sand: Material(sand, "top_dressing")}, {sand: "kg"}).questions
    ((file, line),) = {(one["file"], int(one["line"])) for one in planted() if one["outcome"] == "asked by the order"}
    (question,) = [one for one in asked if "times as dear" in one.text]
    assert "25 kg at 59.00 currency from quarry at Tarnfold" in question.text
    assert (file, line) in {(place.file, place.line) for place in question.places}


def test_the_demo_holds_what_the_year_ahead_is_shown_on(demo_county: Workspace) -> None:
    """A due list, an order and a price on a county where all is known would show none of their reasons."""
    with Store(demo_county.store, read_only=True) as store:
        planned = planned_works(store, days=SEASON)
        before = planned_works(store, days=(date(2025, 10, 1), date(2026, 9, 30)))
        held, there, kept = prices_on(prices(store), DAY), stock_on(store, DAY), calendar(store)
        paid = {rate for (rate,) in store.rows("SELECT DISTINCT rate_of FROM rate")}
    greens = {one.green for one in planned}
    assert "TOR-1" not in greens
    assert len({green.split("-")[0] for green in greens}) == 14
    assert {one.green for one in before} == {"ALD-1", "KET-1"}
    unsized = {one.green: one.unsized for one in planned if one.size is None}
    assert unsized["WIC-1"] == "the area of WIC-1 is not recorded"
    assert unsized["KET-1"] == "the programme says no amount or rate of 70/30 sand and soil"
    carriage = {one.supplier: one.carriage for one in held}
    assert {supplier for supplier, one in carriage.items() if one is None} == {"farm store at Quillbrook"}
    assert len(carriage) == 3
    assert {one.depot for one in there} == {"north yard", "south barn"}
    assert sum(one.on_order for one in there) == 1
    assert paid == {"labour", "machine", "mileage", "output"}
    assert {one.occasion for one in kept} == {"closed", "match"}
