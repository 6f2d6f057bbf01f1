"""Green speed: one timed bowl, or one ball of a Stimpmeter series."""

from schemas.field import Field
from schemas.kind import Kind
from schemas.shared import NOTE, OF_GREEN

GREEN_SPEED = Kind(
    name="green_speed",
    title="green speeds",
    grain="one timed bowl (or one ball)",
    repeats=True,
    value_field="value",
    order=("green", "date"),
    often_constant=("device", "distance_m"),
    fields=(
        Field("date", "date", "Day of the reading.", required=True, key=True, also=("day",), example="2026-06-20"),
        OF_GREEN,
        Field("rink", "code", "Rink, as the club numbers it.", key=True, also=("rink no",), example="3"),
        Field("direction", "code", "Direction or hand.", key=True, also=("dir", "hand", "end"), example="N"),
        Field("device", "choice", "Timed bowl or Stimpmeter; the two are never converted into each other.",
              choices="speed_device", key=True, also=("method",), example="timed bowl"),
        Field("value", "number", "The reading: seconds of a bowl, or distance of a ball. Fewer seconds is a slower green.",
              above=0, high=100, nines="never", also=("seconds", "time", "reading", "speed"), example="12.4", words="Reading"),
        Field("unit", "choice", "s for a timed bowl; m or ft for a ball.", choices="speed_unit", required=True,
              also=("units",), example="s"),
        Field("distance_m", "number", "Distance from mat line to rest, for a timed bowl; 27 m where left blank.",
              unit="m", above=0, high=60, also=("distance", "length"), example="27.5"),
        Field("hours_since_cut", "number", "Hours since mowing.", unit="h", low=0, high=2000,
              also=("hours since cutting",), example="5"),
        Field("cut_height_mm", "number", "Height of cut.", unit="mm", above=0, high=100, also=("hoc", "height of cut"),
              example="5"),
        Field("observer", "text", "Who timed it. Kept out of every report.", private=True, also=("timed by", "by"),
              example="green committee"),
        NOTE,
    ),
)  # fmt: skip
