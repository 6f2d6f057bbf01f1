"""What the condition survey tells of one level survey: figures, rinks, lows, map, change, frozen."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from pipeline.agronomy.levels.crown import Crown
from pipeline.agronomy.levels.green_axes import Axes
from pipeline.agronomy.levels.level_map import LevelMap
from pipeline.agronomy.levels.lows import Low
from pipeline.agronomy.levels.rinks import RinkLevels
from pipeline.agronomy.levels.straightedge import Gap
from pipeline.indicators.base.green_season import Evidence, Indicator


@dataclass(frozen=True)
class OddReading:
    """A reading far off those around it, kept all the same.

    Attributes:
        across_m: where it is, across.
        along_m: the same along.
        off_mm: how far it lies above (or, negative, below) the points around it.
        evidence: line of the user's file.
    """

    across_m: float
    along_m: float
    off_mm: float
    evidence: Evidence


@dataclass(frozen=True)
class LevelsMoved:
    """What has moved since the survey before.

    Attributes:
        since: day of that survey.
        n: points both share.
        mean_mm: mean change; None where the benchmarks are not known to be the same, and the mean change is unknown.
        detectable_mm: least change of one point that is more than the errors of both; None where one is unknown.
        beyond_pct: share of the shared points that changed by more; None likewise.
        certain_mm: change that chance would show at none of the points, in nineteen pairs of surveys of twenty.
        certain: how many points changed by more than that.
        map: what has risen and sunk; None where the shared points span no area.
        doubtful: True where the two surveys bear no likeness.
    """

    since: date
    n: int
    mean_mm: float | None
    detectable_mm: float | None
    beyond_pct: float | None
    certain_mm: float | None
    certain: int
    map: LevelMap | None
    doubtful: bool


@dataclass(frozen=True)
class LevelSurvey:
    """One level survey, as the document prints it (grain: green and day).

    Every place is in the green's own axes, m from the corner of the rectangle around the survey: across the rinks from
    the left, along them from the near end.

    Attributes:
        n: points.
        points_m: where each of them is, across and along.
        spacing_m: how far apart neighbouring points are.
        as_grid: whether the points lie on a regular grid; else heights between them are interpolated.
        shape: flat or crown as the register says; "" where it does not, and nothing is judged.
        surface: what heights are counted from, in words.
        tolerance_mm: distance from the mean that counts as level; None where none is applied.
        tolerance_source: who says so.
        instrument: what it was measured with; "" where points name none, or several.
        accuracy_mm: standard error of one height; None where not given.
        axes: from the survey's coordinates to the green's own.
        figures: every figure with its target and standing, as in the condition report.
        rinks: each rink of a flat green.
        gaps: the largest under a straightedge laid along and across; None where the survey is shorter than it.
        lows: connected areas that lie too low, the largest filling first.
        dressing_t: dry dressing for those that a green can take it in, t.
        not_dressed: what of them no dressing is ordered for, and why; "" where all may be dressed.
        bulk_density_t_m3: dry bulk density their tonnes are made with.
        cut_m3: volume above the surface aimed at.
        fill_m3: volume below it.
        crown: the crown of a crown green; None on others.
        map: heights over the surface aimed at, in steps.
        cut_fill: the same in steps of twice the tolerance: what has to come off, what has to be filled, and what may
            stay; None where the map of heights has these very steps.
        moved: what has moved since the survey before; None where that cannot be told.
        odd: readings far off those around.
        notes: what a reader must know.
    """

    n: int
    points_m: tuple[tuple[float, float], ...]
    spacing_m: float
    as_grid: bool
    shape: str
    surface: str
    tolerance_mm: float | None
    tolerance_source: str
    instrument: str
    accuracy_mm: float | None
    axes: Axes
    figures: tuple[Indicator, ...]
    rinks: tuple[RinkLevels, ...]
    gaps: tuple[tuple[str, Gap | None], ...]
    lows: tuple[Low, ...]
    dressing_t: float
    not_dressed: str
    bulk_density_t_m3: float
    cut_m3: float
    fill_m3: float
    crown: Crown | None
    map: LevelMap
    cut_fill: LevelMap | None
    moved: LevelsMoved | None
    odd: tuple[OddReading, ...]
    notes: tuple[str, ...]

    def dressed(self, low: Low) -> bool:
        """Whether dressing may be ordered for a low."""
        return low.dressed and self.dressing_t > 0.0

    @property
    def size_m(self) -> tuple[float, float]:
        """Extent of the survey across and along the rinks, m."""
        return self.map.width_m, self.map.length_m
