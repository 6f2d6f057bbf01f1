"""The map of a level survey: heights over the surface aimed at in steps, with the places that stand out."""

from __future__ import annotations

import numpy as np

from pipeline.agronomy.levels.level_map import LevelMap, Mark, level_map
from pipeline.indicators.surface.level_surveys import Study

BANDS_TO_TOLERANCE = 3.0
"""Bands a tolerance is wide: its two edges are edges of bands, with one middle band of what is level within a third."""
COARSE = 3
"""How much wider bands get where a green has more than the narrow ones can show; odd, so that edges stay edges."""


def band_interval_mm(tolerance_mm: float, reach_mm: float) -> float:
    """Width of a map's bands: a third of the tolerance both ways, thrice that where heights reach far beyond it."""
    narrow = 2.0 * tolerance_mm / BANDS_TO_TOLERANCE
    interval = narrow
    while reach_mm > 5.5 * interval:
        interval *= COARSE
    return interval


def height_map(study: Study) -> LevelMap:
    """Heights over the surface aimed at, in steps whose edges are those of the tolerance."""
    off = study.off_mm
    high, low = int(off.argmax()), int(off.argmin())
    marks = [
        Mark(what, float(study.across_m[at]), float(study.along_m[at]), float(off[at]))
        for what, at in (("highest", high), ("lowest", low))
    ]
    crown = study.crown
    if study.shape == "crown" and crown.across_m is not None and crown.along_m is not None:
        marks.append(Mark("top of the crown", crown.across_m, crown.along_m, 0.0))
    interval = band_interval_mm(study.tolerance_mm, float(np.quantile(np.abs(off), 0.99)))
    return level_map(study.residuals, interval, study.surface, len(study.rinks), tuple(marks))
