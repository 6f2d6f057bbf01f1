"""Fields that several kinds have, described once."""

from dataclasses import replace

from schemas.field import Field

OF_GREEN = Field("green", "code", "Code of the green.", required=True, key=True, refers="green",
                 also=("site", "green code"), example="ALD-1")  # fmt: skip
OF_STATION = Field("station", "code", "Weather station.", required=True, key=True,
                   also=("weather station", "station id", "station name"), example="Ostershire airfield")  # fmt: skip
NOTE = Field("note", "text", "Anything else worth keeping.", also=("notes", "remarks"))
COMMENTS = replace(NOTE, also=(*NOTE.also, "comments"))
