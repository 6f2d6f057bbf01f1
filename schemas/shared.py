"""Fields that several kinds have, described once."""

from dataclasses import replace

from schemas.field import Field

OF_GREEN = Field("green", "code", "Code of the green.", required=True, key=True, refers="green",
                 also=("site", "green code"), example="ALD-1")  # fmt: skip
OF_STATION = Field("station", "code", "Weather station.", required=True, key=True,
                   also=("weather station", "station id", "station name"), example="Ostershire airfield")  # fmt: skip
DATE_TO = Field("date_to", "date", "Last day it can have been; filled in where date says a month or a year, blank where the "
                "day is known. Such a record counts only where that is true of whichever day it was.", example="",
                rests_on=("date",))  # fmt: skip
VALID_FROM = Field("valid_from", "date", "First day the row holds; blank in the row that holds from the start. Of one name "
                   "several rows may stand, each from its day until the next, and records are read by the row of their "
                   "day. A later row says what changed: what it leaves blank, or has no column for, is as before.",
                   key=True, also=("from", "holds from", "valid from", "effective from"), example="")  # fmt: skip
NOTE = Field("note", "text", "Anything else worth keeping.", also=("notes", "remarks"))
COMMENTS = replace(NOTE, also=(*NOTE.also, "comments"))
