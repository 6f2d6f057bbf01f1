"""Photos of a visit as placed: numbered, captioned, each with the findings that it shows."""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.survey.visit_observations import Photo
from reports.page import text
from reports.survey.findings import Place, finding_place, photo_anchor


@dataclass(frozen=True)
class PhotoBox:
    """A photo as placed: its number, its anchor, and the findings that it shows."""

    number: str
    anchor: str
    key: str
    alt: str
    caption: str
    shows: tuple[Place, ...]


def photo_box(number: int, one: Photo, survey: ConditionSurvey) -> PhotoBox:
    """A photo with its number and the findings that it shows."""
    told = _photo_alt(one.caption, one.place)
    shows = tuple(finding_place(i) for i, found in enumerate(survey.told, start=1) if number in found.photos)
    return PhotoBox(str(number), photo_anchor(number), f"photo:{number - 1}", told, told, shows)


def _photo_alt(caption: str, place: str) -> str:
    return text.clean(", ".join(part for part in (caption, place) if part)) or "Photo of the green, without a caption"
