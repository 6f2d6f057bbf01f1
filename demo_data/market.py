"""What things cost and what is there: three price lists, a count of two yards, rates. All of it invented."""

from __future__ import annotations

from datetime import date
from typing import Any

from demo_data.county import AUTUMN, IRON, LIME, LIQUID, MIX_70, MIX_80, MOSS, SAND, SEED, SLOW, SPRING, SUMMER, WETTER
from demo_data.sheets import Cells, Sheet, Spoil, canonical
from demo_data.works import LABOUR

Row = dict[str, Any]

PRICE_HEADERS = ("material", "supplier", "pack_kg", "pack_l", "price", "from_packs", "carriage", "holds_from", "note")
JANUARY, OCTOBER, FEBRUARY = date(2026, 1, 1), date(2026, 10, 1), date(2027, 2, 1)
_BAGS = (
    (SPRING, "pack_kg", 25, OCTOBER, ((1, "27.50"), (20, "25.90"), (40, "24.60"))),
    (SPRING, "pack_kg", 25, FEBRUARY, ((1, "28.90"), (20, "27.20"), (40, "25.80"))),
    (SPRING, "pack_kg", 25, JANUARY, ((1, "26.80"), (10, "25.40"))),
    (SUMMER, "pack_kg", 25, OCTOBER, ((1, "31.00"), (20, "29.40"))),
    (SLOW, "pack_kg", 25, OCTOBER, ((1, "44.00"), (10, "41.80"))),
    (AUTUMN, "pack_kg", 25, OCTOBER, ((1, "26.00"), (20, "24.70"))),
    (LIQUID, "pack_l", 20, OCTOBER, ((1, "58.00"), (10, "54.50"))),
    (IRON, "pack_l", 10, OCTOBER, ((1, "34.00"),)),
    (WETTER, "pack_l", 10, OCTOBER, ((1, "92.00"), (6, "86.00"))),
    (SEED, "pack_kg", 20, OCTOBER, ((1, "164.00"),)),
    (LIME, "pack_kg", 25, OCTOBER, ((1, "9.00"),)),
    (MOSS, "pack_kg", 25, OCTOBER, ((1, "19.00"),)),
    (SAND, "pack_kg", 25, OCTOBER, ((1, "5.60"), (40, "4.90"))),
    (SAND, "pack_kg", 1000, OCTOBER, ((1, "92.00"),)),
)


def merchant() -> Sheet:
    """The county merchant's list in the kind's own columns: price breaks, and a rise that is announced."""
    return canonical("prices_merchant.csv", PRICE_HEADERS, [
        {"material": material, "supplier": "county merchant", size: pack, "price": price, "from_packs": packs,
         "carriage": "18.50", "holds_from": day}
        for material, size, pack, day, breaks in _BAGS for packs, price in breaks
    ])  # fmt: skip


QUARRY_HEADERS = ("Ref", "Product", "Sold as", "Price (ex VAT)", "Delivery", "Remarks")
QUARRY = (
    ("Q1", MIX_70, "1 t", "£74.00", "bulk bag"), ("Q2", MIX_70, "10 t", "£645.00", "loose, tipped"),
    ("Q3", MIX_70, "20 t", "£1,180.00", "loose, tipped"), ("Q4", MIX_80, "1 t", "£72.00", "bulk bag"),
    ("Q5", MIX_80, "10 t", "£628.00", "loose, tipped"), ("Q6", SAND, "1 t", "£64.50", "bulk bag"),
    ("Q7", SAND, "10 t", "£562.00", "loose, tipped"), ("Q8", SAND, "20 t", "£1,040.00", "loose, tipped"),
    ("Q9", SAND, "25 kg", "£4.80", "bagged, dry"),
)  # fmt: skip


def quarry() -> Sheet:
    """The quarry's list: a dated title line, pounds with thousands separators; a tonne's price stands at a bag."""
    sheet = Sheet("prices_quarry_2026-10.csv", line_end="\r\n", encoding="utf-8-sig")
    sheet.add(["Quarry at Tarnfold - trade price list"])
    sheet.add(["Prices from 01/10/2026 until further notice"])
    sheet.add([])
    sheet.add(QUARRY_HEADERS)
    rows: list[Cells] = [
        dict(zip(QUARRY_HEADERS, (number, product, pack, price, "£85.00", remark), strict=True))
        for number, product, pack, price, remark in QUARRY
    ]
    sheet.fill(QUARRY_HEADERS, rows, (
        Spoil("Price (ex VAT)", "£59.00", "the price of a tonne given at a bag of 25 kg", "asked by the order",
              lambda row: row["Sold as"] == "25 kg"),
    ))  # fmt: skip
    return sheet


FARM_HEADERS = ("Item", "Bag", "Each", "Carriage", "Minimum")


def farm_store() -> Sheet:
    """The farm store's list: semicolons, decimal commas, carriage on asking, which is not known and not nothing."""
    sheet = Sheet("prices_farm_store_2026.csv", delimiter=";", line_end="\r\n", encoding="cp1252")
    sheet.add(["Farm store at Quillbrook, list of 5 October 2026", "", "", "", ""])
    sheet.add(FARM_HEADERS)
    items = (
        (SPRING, "25 kg", "£ 26,80", ""), (SUMMER, "25 kg", "£ 30,20", ""), (AUTUMN, "25 kg", "£ 25,20", ""),
        (SEED, "20 kg", "£ 158,00", ""), (LIME, "25 kg", "£ 8,40", "10"), (MIX_70, "1 t", "£ 71,00", "2"),
    )  # fmt: skip
    rows: list[Cells] = [
        dict(zip(FARM_HEADERS, (item, bag, each, "ask", least), strict=True)) for item, bag, each, least in items
    ]
    sheet.fill(FARM_HEADERS, rows)
    return sheet


YARD_HEADERS = ("Item", "Where", "Amount", "On its way?", "Due", "Remark")
YARDS = (
    (SPRING, "north yard", "14 x 25 kg", "", "", ""), (SPRING, "south barn", "6 x 25 kg", "", "", ""),
    (SUMMER, "north yard", "3 x 25 kg", "", "", ""), (AUTUMN, "south barn", "12 x 25 kg", "", "", ""),
    (LIQUID, "north yard", "5 x 20 l", "", "", "one is opened"), (WETTER, "south barn", "20 l", "", "", ""),
    (MIX_70, "north yard", "3 t", "", "", "under the sheet"), (SAND, "south barn", "0 kg", "", "", "swept out"),
    (SUMMER, "south barn", "9 x 25 kg", "", "", ""), (SEED, "north yard", "40 kg", "", "", ""),
    (MIX_70, "north yard", "10 t", "yes", "10/03/2027", "ordered at the quarry"),
)  # fmt: skip


def yard_count() -> Sheet:
    """The office's count of two yards, one load on its way; at one item the unit is missing."""
    sheet = Sheet("stock_yards_2026-10.csv")
    sheet.add(["Yards counted 14/10/2026"])
    sheet.add(YARD_HEADERS)
    rows: list[Cells] = [dict(zip(YARD_HEADERS, item, strict=True)) for item in YARDS]
    sheet.fill(YARD_HEADERS, rows, (
        Spoil("Amount", "9", "a count with the unit missing: bags or kilograms",
              where=lambda row: row["Item"] == SUMMER and row["Where"] == "south barn"),
    ))  # fmt: skip
    return sheet


RATE_HEADERS = ("rate_of", "operation", "machine", "amount", "output_m2_h", "holds_from", "note")
COMMON = "common practice, no source"
_OUTPUTS = (
    ("mowing", 950), ("scarifying", 480), ("solid_tining", 480), ("hollow_coring", 290), ("top_dressing", 400),
    ("drag_matting", 1450), ("fertilising", 1450), ("wetting_agent", 1450), ("overseeding", 950), ("verticutting", 950),
    ("slitting", 720), ("brushing", 1900), ("rolling", 1450), ("edging", 950), ("spiking", 1450), ("dew_removal", 2900),
    ("debris_collection", 720), ("irrigation", 1450), ("ditch_and_bank_work", 480), ("inspection", 1900),
)  # fmt: skip


def rates() -> Sheet:
    """Labour from two days on, two machines and any other, mileage, and the area an hour's work does."""
    return canonical("rates.csv", RATE_HEADERS, [
        {"rate_of": "labour", "amount": f"{LABOUR:.2f}", "note": "invented"},
        {"rate_of": "labour", "amount": "27.50", "holds_from": date(2027, 4, 1), "note": "invented"},
        {"rate_of": "machine", "amount": "4.00", "note": "invented: small machines and their fuel"},
        {"rate_of": "machine", "operation": "hollow_coring", "machine": "corer", "amount": "18.00", "note": "invented"},
        {"rate_of": "machine", "operation": "scarifying", "machine": "scarifier", "amount": "12.50",
         "note": "invented"},
        {"rate_of": "mileage", "amount": "0.45", "note": "invented"},
        *({"rate_of": "output", "operation": work, "output_m2_h": area, "note": COMMON} for work, area in _OUTPUTS),
    ])  # fmt: skip
