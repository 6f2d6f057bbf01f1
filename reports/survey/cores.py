"""Cores of a visit as placed on the page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.survey.visit_observations import LayerProfile
from reports.page.house_style import Units
from reports.page.rendering import Image
from reports.survey import core_drawing
from reports.survey.core_drawing import name_of

MOST_CORES = 4


@dataclass(frozen=True)
class CoreBox:
    """A core as placed."""

    key: str
    title: str
    alt: str


def core_boxes(profiles: Sequence[LayerProfile], units: Units) -> tuple[CoreBox, ...]:
    """The cores that are drawn."""
    return tuple(
        CoreBox(f"core:{i}", name_of(one), core_drawing.alt(one, units)) for i, one in enumerate(profiles[:MOST_CORES])
    )


def core_images(profiles: Sequence[LayerProfile], units: Units) -> dict[str, Image]:
    """Their drawings by key, all on one scale."""
    shown = profiles[:MOST_CORES]
    deepest = max((one.deepest_mm for one in shown), default=0.0)
    return {f"core:{i}": Image("image/svg+xml", core_drawing.svg(one, deepest, units)) for i, one in enumerate(shown)}
