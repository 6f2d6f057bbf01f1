"""Rates: what an hour of work, an hour of a machine or a kilometre costs, and how much an hour's work comes to."""

from schemas.field import Field
from schemas.kind import Kind
from schemas.shared import NOTE

RATE = Kind(
    name="rate",
    title="rates",
    grain="one rate, from a day on",
    order=("rate_of", "operation", "machine"),
    attached=False,
    ahead=True,
    suggested=False,
    fields=(
        Field("rate_of", "choice", "What it is the rate of: an hour of one person (labour), an hour of a machine, a kilometre "
              "(mileage), or the green area that one hour's work does (output).", choices="rate_of", required=True, key=True,
              also=("rate for", "kind of rate"), example="labour"),
        Field("operation", "choice", "Work it holds for; blank: any that has no rate of its own. Needed of an output.",
              choices="operation", key=True, also=("work", "activity"), example=""),
        Field("machine", "code", "Machine it holds for; blank: any.", key=True, also=("equipment",), example=""),
        Field("amount", "money", "Money an hour, or a kilometre of mileage, without VAT, in the workspace's currency.",
              low=0, high=100000, also=("amount per unit", "charge per unit"), example="28.50"),
        Field("output_m2_h", "number", "Area of green that one person, or one machine, does in an hour.", unit="m²/h", above=0,
              high=100000, also=("output", "area per hour"), example=""),
        Field("holds_from", "date", "First day it holds, until the first day of the next row of the same; blank in the row "
              "that holds from the start.", key=True, also=("rate from", "rates from"), example="2026-04-01"),
        NOTE,
    ),
)  # fmt: skip
