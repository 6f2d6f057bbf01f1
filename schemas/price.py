"""Prices: what a supplier asks for a material, by the pack, from a day on."""

from dataclasses import replace

from schemas.field import Field
from schemas.kind import Kind
from schemas.material import MATERIAL
from schemas.shared import NOTE

PACK = ("pack_kg", "pack_l")
"""Ways to say what one pack holds, of which a row gives one."""
PRICE = Kind(
    name="price",
    title="prices",
    grain="the price of one pack of a material at one supplier, from a number of packs and a day on",
    order=("material", "supplier"),
    often_constant=("supplier", "holds_from", "carriage"),
    draft_asks=(("holds_from", "these prices hold from the start"),),
    attached=False,
    ahead=True,
    suggested=False,
    fields=(
        Field("material", "code", "Name of the material, as the register of materials has it.", label="Material",
              required=True, key=True, refers="material", open=True, also=("product",), example="70/30 sand and soil"),
        Field("supplier", "code", "Who sells it.", label="Supplier", required=True, key=True, also=("merchant", "sold by"),
              example="quarry"),
        replace(MATERIAL.by_name["pack"], meaning="What one pack holds in one cell; fills pack_kg or pack_l. A load of loose "
                "dressing is a pack too: 1 t, 10 t.", also=("pack size", "load size", "bag", "sold as"), example="10 t"),
        Field("pack_kg", "number", "Mass of one pack or load; one of pack_kg and pack_l is given.", unit="kg", above=0,
              high=50000, key=True),
        Field("pack_l", "number", "Volume of one pack.", unit="l", above=0, high=50000, key=True),
        Field("price", "money", "Price of one pack or load, without VAT, in the workspace's currency.", required=True, low=0,
              high=1000000, also=("pack price", "price each", "net price"), example="420.00"),
        Field("from_packs", "whole", "Price break: the price holds where so many packs of this material and size or more are "
              "taken in one order; from the first pack where left blank.", low=1, high=100000, key=True,
              also=("from quantity", "packs from", "minimum packs"), example="1"),
        Field("carriage", "money", "What the supplier charges for one delivery to one place, without VAT. Blank: not known, "
              "which is not 0.", low=0, high=100000, also=("delivery", "delivery charge"), example="65"),
        Field("holds_from", "date", "First day it holds; blank: from the start. A later day's prices of the same material, supplier "
              "and pack take the place of all before them, price breaks too, and a blank is not taken from the row before.", key=True,
              also=("price from", "prices from"), example="2026-01-01"),
        NOTE,
    ),
)  # fmt: skip
