"""The level survey of one visit, out of the green's records."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from statistics import NormalDist

import numpy as np

from pipeline.agronomy.levels.level_grid import MOST_POINTS, level_grid
from pipeline.agronomy.levels.level_map import LevelMap, level_map
from pipeline.agronomy.levels.levels import point_spacing_m
from pipeline.agronomy.levels.lows import cut_and_fill_m3
from pipeline.common.amounts import Amount, AmountText
from pipeline.common.words import long_date
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.records import evidence
from pipeline.indicators.families import judged
from pipeline.indicators.questions import marked
from pipeline.indicators.surface.height_maps import height_map
from pipeline.indicators.surface.level_surveys import Moved, Study, Unworkable, last_study, moved, only
from pipeline.indicators.surface.levels import cautions, figures
from pipeline.survey.level_survey import LevelsMoved, LevelSurvey, OddReading
from pipeline.validate.rules.levels import covered


def level_survey(records: GreenRecords, day: date) -> LevelSurvey | str:
    """The level survey of a day as the document prints it, or why there is none ("" where nothing was surveyed).

    Args:
        records: records of the green in the season of the visit.
        day: day of the visit.
    """
    return survey_of(records, day, last_study(records, day, day))


def survey_of(records: GreenRecords, day: date, study: Study | Unworkable | None) -> LevelSurvey | str:
    """The same of a survey that is worked out already."""
    if study is None:
        return ""
    if isinstance(study, Unworkable):
        return f"The level survey of {long_date(day)} is not worked out: {study.why}."
    since = moved(records, study)
    cut, fill = cut_and_fill_m3(study.residuals)
    heights = height_map(study)
    return LevelSurvey(
        n=study.rows.height,
        points_m=tuple(zip(study.across_m.tolist(), study.along_m.tolist(), strict=True)),
        spacing_m=point_spacing_m(study.across_m, study.along_m),
        as_grid=study.grid.as_surveyed,
        shape=study.shape,
        surface=study.surface,
        tolerance_mm=study.tolerance.high if study.tolerance else None,
        tolerance_source=study.tolerance.source if study.tolerance else "",
        instrument=only(study.rows["instrument"]),
        accuracy_mm=study.error_mm,
        axes=study.axes,
        figures=marked(judged(figures(study, since), records), records),
        rinks=study.rinks,
        gaps=tuple(study.gaps.items()),
        lows=study.lows if study.shape else (),
        dressing_t=sum(one.mass_t for one in study.to_dress) if study.shape else 0.0,
        not_dressed=study.not_dressed if study.shape else "",
        bulk_density_t_m3=study.bulk_density_t_m3,
        cut_m3=cut,
        fill_m3=fill,
        crown=study.crown if study.shape == "crown" else None,
        map=heights,
        cut_fill=_cut_fill(study, heights),
        moved=_moved(study, since) if isinstance(since, Moved) else None,
        odd=tuple(_odd(study)),
        notes=tuple(_notes(study, since)),
    )


def _cut_fill(study: Study, heights: LevelMap) -> LevelMap | None:
    """Ground in steps of twice the tolerance; None where the map of heights has these steps already."""
    made = level_map(study.residuals, 2.0 * study.tolerance_mm, study.surface, len(study.rinks))
    same = [(one.low_mm, one.high_mm) for one in made.bands] == [(one.low_mm, one.high_mm) for one in heights.bands]
    return None if same else made


def _moved(study: Study, since: Moved) -> LevelsMoved:
    found, certain = since.found, certain_mm(since.detectable_mm, since.found.n)
    return LevelsMoved(
        since.since,
        found.n,
        found.mean_mm,
        since.detectable_mm,
        since.beyond_pct,
        certain,
        0 if certain is None else int((np.abs(found.change_mm) > certain).sum()),
        _change_map(study, since),
        since.doubtful,
    )


def certain_mm(detectable_mm: float | None, n: int) -> float | None:
    """Change that not one of n unmoved points would show, at 95 %: the limit of one point widened for n of them.

    Source: Bonferroni's inequality, which holds whether or not the errors of neighbours go together.
    """
    if detectable_mm is None:
        return None
    normal = NormalDist()
    return detectable_mm * normal.inv_cdf(1 - 0.025 / n) / normal.inv_cdf(0.975)


def _change_map(study: Study, since: Moved) -> LevelMap | None:
    """What has risen and sunk; the middle band is what the errors of both surveys can explain."""
    found = since.found
    across, along = study.across_m[found.later], study.along_m[found.later]
    if found.n < 4 or min(np.ptp(across), np.ptp(along)) <= 0.0:
        return None
    grid = level_grid(across, along, found.change_mm)
    interval = 2.0 * (since.detectable_mm or study.tolerance_mm)
    surface = "the survey before" if found.mean_mm is not None else "the survey before, each from its own mean"
    return level_map(grid, interval, surface, len(study.rinks))


def _odd(study: Study) -> Iterator[OddReading]:
    for at in np.flatnonzero(study.odd):
        place = float(study.across_m[at]), float(study.along_m[at])
        yield OddReading(*place, float(study.odd[at]), evidence(study.rows[int(at)], "level")[0])


def _notes(study: Study, since: Moved | str) -> Iterator[str]:
    yield from cautions(study)
    found = covered(study.axes, *study.points[:2])
    for corner in found.corners_without:
        yield f"No point lies near the {corner} corner: the map shows nothing there, and no figure knows it."
    if found.share_pct < 99.5 and not found.corners_without:
        yield AmountText(
            f"{100.0 - found.share_pct:.0f} % of the rectangle around the survey has no point near, at worst at ",
            Amount(found.across_m, "m", ".1f"),
            " across and ",
            Amount(found.along_m, "m", ".1f"),
            " along.",
        )
    if not study.grid.as_surveyed:
        yield "The points are scattered: lows, straightedge and map use heights interpolated straight between them."
    if study.rows.height > MOST_POINTS:
        yield f"{study.rows.height:,} points are averaged by cell for those; all other figures are of every point."
    if not study.axes.told:
        yield "The direction of the rinks is not recorded; assumed nearest to the survey's y."
    if isinstance(since, str) and since:
        yield since
