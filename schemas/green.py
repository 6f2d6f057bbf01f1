"""Greens, the things that every fact is about."""

from schemas.field import Field
from schemas.kind import Kind
from schemas.shared import VALID_FROM

GREEN = Kind(
    name="green",
    title="greens",
    grain="a green, from a day on",
    register=True,
    order=("club", "green"),
    fields=(
        Field("green", "code", "Short code of the green, as the other files use it.", required=True, key=True,
              also=("green code", "green id"), example="ALD-1"),
        Field("club", "code", "Code of the club it belongs to.", required=True, refers="club",
              also=("club code",), example="ALD"),
        Field("name", "text", "Name of the green, as a report prints it.", label="Green",
              also=("green name",), example="Main green"),
        Field("area_m2", "number", "Measured playing area, without surround. Without it no figure per square metre is made.",
              unit="m²", label="Area", above=0, high=20000, also=("area", "area m2", "green area"), example="1444",
              rests_on=("length_m", "width_m")),
        Field("length_m", "number", "Length in the direction of play.", unit="m", above=0, high=200, example="38",
              rests_on=("area_m2", "width_m")),
        Field("width_m", "number", "Width across the rinks.", unit="m", above=0, high=200, example="38",
              rests_on=("area_m2", "length_m")),
        Field("shape", "choice", "Flat or crown; a crown green is never judged by flat-green levels.",
              choices="green_shape", also=("flat or crown",), example="flat"),
        Field("construction", "text", "What the green is built of, in words. A spelling of construction_type's list stands for "
              "its code; any other words stay words, and the code is asked for.",
              label="Construction", also=("rootzone", "root zone"), example="soil push-up", rests_on=("construction_type",)),
        Field("construction_type", "choice", "How the green is built, as a code: targets made for one construction hold for no "
              "other, and like is compared with like.", choices="construction",
              example="soil_push_up", rests_on=("construction",)),
        Field("gravel", "code", "Gravel right under the root zone, as the register of materials names it; blank where there is "
              "none, or a layer between.", also=("drainage gravel", "gravel layer"), example="drainage gravel",
              rests_on=("construction", "construction_type")),
        Field("grasses", "text", "Main grasses, in words; like is compared with like.", label="Grasses",
              also=("grass", "sward"), example="fescue and bent"),
        Field("laid_on", "date", "Day the green was laid; a record before it is a fault. Where only the month or the year is "
              "known, write that alone (May 1926, 1926-05, 1926): its first day.", label="Laid on", fills=("laid_by",),
              also=("laid", "opened"), example="1926-05-01"),
        Field("laid_by", "date", "Last day the green can have been laid on; filled in where laid_on says a month or a year.",
              example="", rests_on=("laid_on",)),
        Field("closed_on", "date", "Day the green was given up, blank while it is played on; a record after it is asked about. "
              "A month or a year alone is its first day.", fills=("closed_by",), also=("closed", "given up"), example=""),
        Field("closed_by", "date", "Last day the green can have been given up on; filled in where closed_on says a month or a "
              "year.", example="", rests_on=("closed_on",)),
        Field("latitude_deg", "number", "Latitude, for day length and evaporation.", unit="°", low=-90, high=90,
              also=("latitude", "lat"), example="52.4"),
        Field("elevation_m", "number", "Height above sea level, for evaporation; blank is taken as sea level.", unit="m",
              low=-450, high=6000, also=("elevation", "altitude", "height above sea level"), example="85"),
        Field("station", "code", "Weather station whose days stand beside the green's works.",
              also=("weather station",), example="Ostershire airfield"),
        Field("aliases", "text", "Other names of the green in users' files, separated by |.",
              also=("also known as",), example="Alder Brook|1"),
        VALID_FROM,
        Field("note", "text", "Anything else worth keeping.", also=("notes", "remarks"), private=True),
    ),
)  # fmt: skip
