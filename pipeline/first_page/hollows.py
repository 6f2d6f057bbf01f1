"""Where a surveyed green is low, and its map: of the season's last level survey."""

from __future__ import annotations

from typing import Literal

from pipeline.agronomy.levels.level_map import LevelMap
from pipeline.agronomy.levels.lows import LIFT_MM
from pipeline.indicators.base.first_page import Hollows
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.surface.height_maps import height_map
from pipeline.indicators.surface.level_surveys import Study, last_study

FALL_SHARE = 0.5
"""Share of the variance of heights that a plane tells, above which the green falls to a side."""


def study_of(records: GreenRecords) -> Study | None:
    """The season's last level survey; None where there is none, or nothing can be made of it."""
    found = last_study(records, records.season.start, records.as_of)
    return found if isinstance(found, Study) else None


def hollows(study: Study) -> Hollows | None:
    """What lies too low, the deepest place named; None where nothing does, or the green's shape is not recorded."""
    if not study.lows or not study.shape:
        return None
    deepest = max(study.lows, key=lambda one: one.deepest_mm)
    dressed = study.to_dress
    return Hollows(
        number=len(study.lows),
        deepest_mm=deepest.deepest_mm,
        across_m=deepest.across_m,
        along_m=deepest.along_m,
        lifts=max((one.lifts for one in dressed), default=0),
        lift_mm=LIFT_MM,
        fill_t=sum(one.mass_t for one in dressed) if dressed else None,
        worst=bool(-study.off_mm.min() >= study.off_mm.max()),
        deep=sum(not one.dressed for one in study.lows),
        one_side=study.flat and falls(study),
        unfit="" if dressed else _unfit(study),
    )


def _unfit(study: Study) -> Literal["deep", "much", "step"]:
    """Why none of what lies low may be dressed."""
    if not study.unordered:
        return "deep"
    return "much" if study.step is None else "step"


def falls(study: Study) -> bool:
    """Whether the best-fit plane tells more of the heights than what is left about it.

    Source: coefficient of determination (NIST/SEMATECH e-Handbook of Statistical Methods, 4.4.4); the share is common
    practice, no source.
    """
    left = study.z_mm - study.plane.at(study.across_m, study.along_m)
    whole = float(study.z_mm.var())
    return whole > 0 and 1.0 - float(left.var()) / whole > FALL_SHARE


def map_of(study: Study) -> LevelMap:
    """The map of its heights."""
    return height_map(study)
