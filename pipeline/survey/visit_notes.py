"""What a surveyor notes of a visit that no record holds: surveys/GREEN-DATE.toml, beside the own text."""

from __future__ import annotations

from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from pipeline.common.misfits import misfits
from pipeline.common.refusal import CannotDo
from pipeline.common.toml import inside, read_toml, text_of

EXAMPLE = """\
surveyor = "Ann Example, Example Consulting"
conditions = "Dry, light wind, dew until nine. Cut to 5 mm the day before."
instruments = ["moisture probe, checked in water that morning"]
closing_error_mm = 1.5
y_bearing_deg = 0
"""


class VisitNotes(BaseModel):
    """What stands in surveys/GREEN-DATE.toml; every key may be left out, and is then told as not recorded.

    Attributes:
        surveyor: who surveyed, as printed. The observer of the records is kept out of every report.
        conditions: weather, cut and ground on the day, in the surveyor's words.
        instruments: what was used beside the instrument of the levels, which their records name.
        closing_error_mm: by how much the levels failed to close on the benchmark, mm.
        y_bearing_deg: compass bearing of the way in which y of the survey's coordinates grows, degrees clockwise from
            north; 0 where y is the northing of a grid. With it the maps have an arrow to north.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    surveyor: str = Field(default="", max_length=120)
    conditions: str = Field(default="", max_length=400)
    instruments: tuple[str, ...] = Field(default=(), max_length=8)
    closing_error_mm: float | None = Field(default=None, ge=0, le=1000, allow_inf_nan=False)
    y_bearing_deg: float | None = Field(default=None, ge=0, lt=360, allow_inf_nan=False)


NO_NOTES = VisitNotes()


def visit_notes(path: Path) -> VisitNotes:
    """The notes in a file; none where there is no such file.

    Raises:
        CannotDo: the file is no TOML, leads out of the workspace, or holds a key or value that does not fit.
    """
    if not path.is_file():
        return NO_NOTES
    try:
        return VisitNotes.model_validate(read_toml(inside(path)))
    except ValidationError as error:
        hint = "docs/records.md says under “Notes of a visit” what such a file may hold."
        raise CannotDo(
            f"{path.name} does not fit: {misfits(error, 'notes', VisitNotes, text_of(path))}", hint
        ) from None
