"""Levels: heights of surveyed points, from which the lie of a green is made."""

from schemas.field import Field
from schemas.kind import Kind
from schemas.shared import NOTE, OF_GREEN

LEVEL = Kind(
    name="level",
    title="levels",
    grain="one surveyed point",
    value_field="z_mm",
    value_from=(("staff_mm",),),
    order=("green", "date"),
    # by far the most rows of a store
    figured=("date", "green", "survey", "x_m", "y_m", "z_mm", "staff_mm", "sight_mm", "accuracy_mm", "instrument",
             "benchmark"),
    fields=(
        Field("date", "date", "Day of the survey.", required=True, key=True, also=("day", "date of survey"),
              example="2026-09-16"),
        OF_GREEN,
        Field("survey", "code", "Name or number of the survey, where one day has several.", key=True,
              also=("survey no", "survey name"), example="S-26"),
        Field("x_m", "number", "Across the rinks from any point, or the easting of any grid.", unit="m", required=True,
              low=-10_000_000, high=10_000_000, key=True, also=("x", "easting", "eastings"), example="12.5", words="Across"),
        Field("y_m", "number", "Along the rinks from the same point, or the northing.", unit="m", required=True,
              low=-10_000_000, high=10_000_000, key=True, also=("y", "northing", "northings"), example="20", words="Along"),
        Field("z_mm", "number", "Height of the point over the benchmark. Blank where the staff reading gives it; a point "
              "left blank altogether was not read.", unit="mm", low=-1_000_000, high=10_000_000, nines="long",
              also=("height mm", "level mm"), example="1012", words="Height"),
        Field("staff_mm", "number", "Reading on the staff of an optical or laser level: the larger, the lower the point.",
              unit="mm", low=-10_000, high=10_000, nines="long", also=("staff reading mm", "staff mm"), example="1488", words="Staff reading"),
        Field("sight_mm", "number", "Height of the instrument's line of sight over the benchmark; needed with staff readings "
              "where the instrument was moved.", unit="mm", low=-1_000_000, high=10_000_000,
              also=("height of collimation mm", "height of instrument mm"), example="2500",
              words="Line of sight"),
        Field("point", "code", "Name or number of the point.", also=("point no", "point name"), example="R3-14"),
        Field("rink", "code", "Rink, as the club numbers it.", also=("rink no",), example="3"),
        Field("instrument", "text", "What it was measured with.", also=("level used",), example="rotating laser"),
        Field("accuracy_mm", "number", "Standard error of one height, as the instrument's certificate or a check gives it.",
              unit="mm", above=0, high=100, also=("accuracy mm", "standard error mm"), example="1.5", words="Standard error"),
        Field("benchmark", "text", "Point that heights are measured from. Two surveys from the same one show how the whole "
              "green has moved; else only how its shape has.", also=("bench mark", "datum"), example="pavilion step"),
        Field("observer", "text", "Who surveyed. Kept out of every report.", private=True, also=("by", "surveyor"),
              example="consultant"),
        NOTE,
    ),
)  # fmt: skip
