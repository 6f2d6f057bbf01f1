"""Clubs whose greens are kept."""

from schemas.field import Field
from schemas.kind import Kind

CLUB = Kind(
    name="club",
    title="clubs",
    grain="a club",
    register=True,
    order=("club",),
    fields=(
        Field("club", "code", "Short code of the club, as the other files use it.", required=True, key=True,
              also=("club code", "club id"), example="ALD"),
        Field("name", "text", "Name of the club, as a report prints it.", label="Club", required=True,
              also=("club name",), example="Alder Brook Bowls Club"),
        Field("region", "text", "County or district the club is compared within.", label="Region",
              also=("county", "district"), example="Ostershire"),
        Field("contact", "text", "Whom to write to. Kept out of every report.", private=True,
              also=("secretary", "email"), example="Hon. Secretary"),
        Field("note", "text", "Anything else worth keeping.", also=("notes", "remarks"), private=True),
    ),
)  # fmt: skip
