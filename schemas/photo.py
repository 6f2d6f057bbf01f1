"""Photos: one picture of a green, its file beside the CSV; a small copy without metadata goes into the store."""

from schemas.field import Field
from schemas.kind import Kind
from schemas.shared import NOTE, OF_GREEN

PHOTO = Kind(
    name="photo",
    title="photos",
    grain="one photo of a green",
    order=("green", "date", "picture"),
    attached=False,
    fields=(
        Field("date", "date", "Day it was taken.", required=True, key=True, also=("day", "taken on"),
              example="2026-09-16"),
        OF_GREEN,
        Field("picture", "text", "Where the picture lies, from the folder of this CSV on.", required=True, key=True,
              also=("photo", "file", "image", "file name", "filename"), example="photos/moss.jpg"),
        Field("caption", "text", "What it shows, as a report prints it.", label="Caption", also=("title", "shows"),
              example="Moss along rink 3"),
        Field("place", "code", "Where on the green, as the surveyor names it.", also=("position", "spot"), example="Q3"),
        Field("survey", "code", "Name or number of the survey the visit belongs to.", also=("survey no", "survey name"),
              example="S-26"),
        Field("taken_by", "text", "Who took it. Kept out of every report.", private=True, also=("by", "photographer"),
              example="consultant"),
        NOTE,
        Field("jpeg", "image", "The picture scaled to at most 1,200 pixels, upright, without metadata; made from the "
              "file while loading."),
    ),
)  # fmt: skip
