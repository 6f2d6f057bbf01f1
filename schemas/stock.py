"""Stock: what lies in a depot on a day, and what is ordered and has not come."""

from dataclasses import replace

from schemas.field import Field
from schemas.job import JOB
from schemas.kind import Kind
from schemas.shared import NOTE

AMOUNT = ("mass_kg", "volume_l", "packs")
"""Ways to say how much there is, of which a row gives one."""


def _there(name: str, meaning: str) -> Field:
    return replace(JOB.by_name[name], meaning=meaning, high=10_000_000, also=(), rests_on=())


STOCK = Kind(
    name="stock",
    title="stock",
    grain="one material in one depot on the day it was counted, or one order that has not come",
    order=("material", "depot", "counted_on"),
    often_constant=("depot", "counted_on"),
    draft_asks=(("depot", "no depot is named, in the settings too: stock that lies nowhere serves no green"),),
    attached=False,
    ahead=True,
    suggested=False,
    fields=(
        Field("material", "code", "Name of the material, as the register of materials has it.", label="Material",
              required=True, key=True, refers="material", open=True, also=("product",), example="spring granular 9-4-6 + 2 Fe"),
        Field("depot", "code", "Where it lies, or is to be delivered.", key=True, also=("store", "yard", "where"),
              example="yard"),
        Field("counted_on", "date", "Day of the count; of what is on order the day it still was. The latest count of a material "
              "in a depot holds; what was on order before that day is taken to have come, and is counted with it.",
              required=True, key=True, also=("day counted", "counted", "stock date"), example="2026-02-02"),
        Field("on_order", "flag", "Yes: ordered and not here yet; it is added to what was counted.", key=True,
              also=("ordered", "on its way"), example="no"),
        Field("reference", "code",
              "Number of the order, where several of one material are on their way. Rows of one number, or of none, are one "
              "order: the latest day holds.", key=True,
              also=("order no", "order number")),
        replace(JOB.by_name["quantity"], meaning="How much in one cell; fills mass, volume or packs.", fills=AMOUNT,
                also=("qty", "in stock"), example="12 x 25 kg"),
        _there("mass_kg", "Mass there is in all; one of mass_kg, volume_l and packs is given, 0 where there is none."),
        _there("volume_l", "Volume there is in all."),
        _there("packs", "Number of packs; mass or volume comes from the material's pack size."),
        Field("expected", "date", "Day on which what is on order is to come.", also=("expected on", "due in"),
              example=""),
        NOTE,
    ),
)  # fmt: skip
