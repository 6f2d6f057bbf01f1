"""Level surveys of a green, each worked out once: what figures, map and document are made from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np
import polars as pl

from pipeline.agronomy.levels.crown import Crown, Quadratic, crown_of, fit_quadratic
from pipeline.agronomy.levels.green_axes import Axes, green_axes, rinks_across
from pipeline.agronomy.levels.level_change import LevelChange, detectable_mm, level_change
from pipeline.agronomy.levels.level_grid import LevelGrid, level_grid
from pipeline.agronomy.levels.levels import Floats, Plane, fit_plane
from pipeline.agronomy.levels.lows import LIFT_MM, MOST_LIFTS, MOST_MEAN_MM, Low, lows
from pipeline.agronomy.levels.odd_levels import odd_readings
from pipeline.agronomy.levels.rinks import RinkLevels, rink_levels
from pipeline.agronomy.levels.steps import NO_GROUND_MM, Step, step_between
from pipeline.agronomy.levels.straightedge import Gap, largest_gap
from pipeline.common.amounts import Amount, AmountText
from pipeline.common.words import counted, long_date
from pipeline.indicators.base.description import MUMFORD
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Doubt
from pipeline.indicators.base.records import evidence
from pipeline.indicators.base.standing import Target, target_for
from pipeline.indicators.surface.level_descriptions import DEVIATION, TOLERANCE_MM
from schemas.codes import fold

LEAST_POINTS = 9
"""Fewest points a survey is worked out from: a grid of three by three (common practice, no source)."""
TOLERANCE = Target(None, TOLERANCE_MM, "mm", MUMFORD)
"""Distance from the mean that still counts as level on a flat green, where no target is in force."""
CROWN_LOW_MM = 10.0
"""Depth under the fitted crown from which ground counts as a low: common practice, no source. The tolerance of flat
greens is never used on a crown."""
LOOKS_LIKE_A_CROWN_MM = 100.0
"""Height of a fitted crown from which a green registered as flat is asked about (crowns are 250 to 380 mm high)."""


@dataclass(frozen=True, eq=False)
class Study:
    """One level survey, worked out.

    Attributes:
        day: day of the survey.
        survey: its name, "" where it has none.
        rows: its points.
        shape: flat or crown as the register says; "" where it does not.
        axes: the green's axes.
        across_m: place of each point across the rinks.
        along_m: place along them.
        z_mm: height.
        tolerance: distance from the mean that counts as level; None where the green is not judged by it.
        bulk_density_t_m3: of the dressing that would fill the lows.
        others: further surveys of the same day, by name.
        asked: its points under an open warning: every figure rests on all points, so these question each of them.
    """

    day: date
    survey: str
    rows: pl.DataFrame
    shape: str
    axes: Axes
    across_m: Floats
    along_m: Floats
    z_mm: Floats
    tolerance: Target | None
    bulk_density_t_m3: float
    others: tuple[str, ...]
    asked: pl.DataFrame

    @property
    def flat(self) -> bool:
        """Whether the green is registered as flat."""
        return self.shape == "flat"

    @property
    def tolerance_mm(self) -> float:
        """How far from the surface aimed at still counts: the target of a flat green, a stated depth on others."""
        return self.tolerance.high if self.tolerance and self.tolerance.high is not None else CROWN_LOW_MM

    @cached_property
    def plane(self) -> Plane:
        """The best-fit plane, in the green's axes."""
        return fit_plane(self.across_m, self.along_m, self.z_mm)

    @cached_property
    def curved(self) -> Quadratic:
        """The curved surface fitted to the points, in the green's axes."""
        return fit_quadratic(self.across_m, self.along_m, self.z_mm)

    @cached_property
    def crown(self) -> Crown:
        """The crown of that surface."""
        return crown_of(self.curved, self.across_m, self.along_m, self.z_mm)

    @property
    def surface(self) -> str:
        """What heights are counted from, in words."""
        return "the fitted crown" if self.shape == "crown" else "the green's mean height"

    @cached_property
    def off_mm(self) -> Floats:
        """Height of each point over the surface aimed at, mm."""
        if self.shape == "crown":
            return self.z_mm - self.curved.at(self.across_m, self.along_m)
        return np.asarray(self.z_mm - self.z_mm.mean(), dtype=np.float64)

    @cached_property
    def grid(self) -> LevelGrid:
        """The points as a grid."""
        return level_grid(self.across_m, self.along_m, self.z_mm)

    @cached_property
    def residuals(self) -> LevelGrid:
        """The grid over the surface aimed at."""
        if self.shape == "crown":
            across, along = self.grid.places()
            fitted = self.curved.at(across.ravel(), along.ravel()).reshape(across.shape)
            return self.grid.less(fitted)
        return self.grid.less(np.full_like(self.grid.height_mm, self.z_mm.mean()))

    @cached_property
    def lows(self) -> tuple[Low, ...]:
        """Lows to fill."""
        return lows(self.residuals, self.tolerance_mm, self.bulk_density_t_m3)

    @cached_property
    def step(self) -> Step | None:
        """The clearest step between points in the order in which they were read; its block as ``rows`` stand."""
        read = (
            self.rows.select("load_id", "line")
            .with_row_index("at")
            .sort("load_id", "line", maintain_order=True)["at"]
            .to_numpy()
        )
        found = step_between(self.across_m[read], self.along_m[read], self.z_mm[read])
        if found is None:
            return None
        block = np.zeros(len(read), dtype=np.bool_)
        block[read] = found.block
        return Step(block, found.step_mm)

    @cached_property
    def doubts(self) -> tuple[Doubt, ...]:
        """What is to be checked first of a survey that came in several loads, each sound by itself.

        Of one load loading has asked; what was answered there is not asked again.
        """
        if self.rows["load_id"].n_unique() == 1:
            return ()
        found = []
        if self.step is not None:
            found.append((int(np.flatnonzero(self.step.block)[0]), f"{step_in_words(self.step)}."))
        found += [(int(at), ODD_AMONG_ALL) for at in np.flatnonzero(self.odd)]
        return tuple(Doubt(evidence(self.rows[at], "level")[0], text) for at, text in found)

    @cached_property
    def unordered(self) -> str:
        """Why no dressing is ordered for the lows, in a sentence; "" where it may be."""
        if self.step is not None:
            return AmountText("No dressing is ordered: ", step_in_words(self.step), f". {LOOK_FIRST}")
        over = 1000.0 * sum(one.volume_m3 for one in self.lows) / float(self.residuals.areas_m2.sum())
        if over > MOST_MEAN_MM:
            return AmountText(
                "No dressing is ordered: filling the lows would take ",
                Amount(over, "mm", ".0f"),
                " over the whole green, more than the ",
                Amount(MOST_MEAN_MM, "mm"),
                f" that are dressed in (common practice, no source). {LOOK_FIRST}",
            )
        return ""

    @property
    def to_dress(self) -> tuple[Low, ...]:
        """The lows that dressing may be ordered for."""
        return () if self.unordered else tuple(one for one in self.lows if one.dressed)

    @property
    def not_dressed(self) -> str:
        """What of the lows is not for dressing, and why, in a sentence; "" where all may be dressed."""
        deep = [one for one in self.lows if not one.dressed]
        if self.unordered or not deep:
            return self.unordered
        which, deepest = counted(len(deep), "low is", "lows are"), max(one.deepest_mm for one in deep)
        return AmountText(
            f"{which} deeper than {MOST_LIFTS} lifts of ",
            Amount(LIFT_MM, "mm"),
            ", to ",
            Amount(deepest, "mm", ".0f"),
            ": no dressing is ordered for that. Check the heights there; if they are right, the turf is lifted and the "
            "ground under it levelled (common practice, no source).",
        )

    @cached_property
    def gaps(self) -> dict[str, Gap | None]:
        """Largest gap under a straightedge along and across."""
        return {name: largest_gap(self.grid, name == "along") for name in ("along", "across")}

    @cached_property
    def rinks(self) -> tuple[RinkLevels, ...]:
        """The rinks of a flat green; a crown green has none."""
        if not self.flat:
            return ()
        count = rinks_across(self.axes.width_m)
        return rink_levels(self.across_m, self.along_m, self.z_mm, self.grid, count, self.tolerance_mm)

    @cached_property
    def odd(self) -> Floats:
        """How far odd readings lie from those around them, zero for all others."""
        return odd_readings(self.across_m, self.along_m, self.z_mm)

    @property
    def error_mm(self) -> float | None:
        """Standard error of one height: the largest that the survey gives; None where it gives none."""
        known = self.rows["accuracy_mm"].drop_nulls().to_list()
        return max(known) if len(known) == self.rows.height else None

    @property
    def benchmark(self) -> str:
        """The point heights are counted from; "" where points name none, or several."""
        return only(self.rows["benchmark"])

    @property
    def points(self) -> tuple[Floats, Floats, Floats]:
        """The points in the survey's own coordinates."""
        x, y, z = (self.rows[name].to_numpy() for name in ("x_m", "y_m", "z_mm"))
        return x, y, z


ODD_AMONG_ALL = "The height is far off the points around it that other files hold."
"""What is asked about a point where only all files of a survey together show it."""
LOOK_FIRST = (
    "Check first that every height is from one standpoint and benchmark, in one unit and with one sign; if all are so "
    "the green is to be relaid rather than dressed."
)
"""What to do where heights ask for more than a green takes."""


def step_in_words(step: Step) -> str:
    """What a step through a survey is, as the middle of a sentence."""
    way = "above" if step.step_mm > 0 else "below"
    points = counted(int(step.block.sum()), "point")
    size = Amount(abs(step.step_mm), "mm", ".0f")
    return AmountText(f"{points} lie ", size, f" {way} where the others' ground goes on")


@dataclass(frozen=True)
class Unworkable:
    """A survey no figure can be made from, and why."""

    day: date
    rows: pl.DataFrame
    why: str


def only(cells: pl.Series) -> str:
    """The one thing that every row of a survey says; "" where some say nothing, or something else."""
    said = cells.unique(maintain_order=True).to_list()
    return str(said[0]) if len(said) == 1 and said[0] is not None else ""


def last_study(records: GreenRecords, since: date, until: date) -> Study | Unworkable | None:
    """The last survey of these days, worked out; None where there is none.

    Of several on one day the one with the most points is taken.
    """
    rows = records.levels.filter(pl.col("date").is_between(since, until) & pl.col("z_mm").is_not_null())
    day = rows["date"].max()
    if not isinstance(day, date):
        return None
    today = rows.filter(pl.col("date") == day).with_columns(pl.col("survey").fill_null(""))
    sizes = (
        today.group_by("survey", maintain_order=True)
        .len()
        .sort(["len", "survey"], descending=[True, False], maintain_order=True)
    )
    name = str(sizes["survey"][0])
    return _study(records, today.filter(pl.col("survey") == name), day, tuple(sizes["survey"][1:]))


def _study(records: GreenRecords, rows: pl.DataFrame, day: date, others: tuple[str, ...]) -> Study | Unworkable:
    if rows.height < LEAST_POINTS:
        return Unworkable(day, rows, f"{rows.height} points: nothing is made from fewer than {LEAST_POINTS}")
    green = records.green_on(day)
    x, y, z = (rows[name].to_numpy() for name in ("x_m", "y_m", "z_mm"))
    try:
        axes = green_axes(x, y, green["length_m"], green["width_m"])
    except ValueError:
        return Unworkable(day, rows, "the points lie on one line")
    across, along = axes.of(x, y)
    shape = green["shape"] or ""
    tolerance = (target_for(records, DEVIATION) or TOLERANCE) if shape == "flat" else None
    name = str(rows["survey"][0] or "")
    density = records.settings.bulk_density_t_m3
    asked = records.asked(rows)
    made = Study(day, name, rows, shape, axes, across, along, z, tolerance, density, others, asked)
    bare = rows.filter(pl.col("staff_mm").is_not_null() & pl.col("sight_mm").is_null()).height
    if bare and made.step is not None and abs(made.step.step_mm) > NO_GROUND_MM:
        why = f"{step_in_words(made.step)}: staff readings of two standpoints, whose lines of sight are not given"
        return Unworkable(day, rows, why)
    return made


@dataclass(frozen=True, eq=False)
class Moved:
    """What has moved since an earlier survey.

    Attributes:
        since: day of that survey.
        found: the change at shared points.
        detectable_mm: least change of one point that is more than the error of both; None where an error is unknown.
        beyond_pct: share of the shared points that changed by more; None likewise.
        doubtful: True where the heights of both surveys bear no likeness: another green, or other coordinates.
        asked: points of the earlier survey under an open warning.
        doubts: what is to be checked of it beside these.
    """

    since: date
    found: LevelChange
    detectable_mm: float | None
    beyond_pct: float | None
    doubtful: bool
    asked: pl.DataFrame
    doubts: tuple[Doubt, ...]


UNLIKE = 0.3
"""Correlation below which two surveys of one green bear no likeness (common practice, no source)."""
LIKENESS_FROM = 20
"""Shared points from which the likeness is looked at."""
NOISE_TIMES, LEAST_ERROR_MM = 2.0, 1.0
"""Heights that scatter by less than twice the error of one, or of the best of levels, have no shape to be likened
(common practice, no source)."""


def moved(records: GreenRecords, now: Study) -> Moved | str:
    """What has moved since the survey before, or why that cannot be told; "" where there was none."""
    before = last_study(records, date.min, date.fromordinal(now.day.toordinal() - 1))
    if before is None:
        return ""
    since = long_date(before.day)
    if isinstance(before, Unworkable):
        return f"The survey of {since} cannot be compared: {before.why}."
    same = bool(now.benchmark) and fold(now.benchmark) == fold(before.benchmark)
    found = level_change(now.points, before.points, same)
    if found is None:
        where = "its coordinates may start elsewhere"
        return f"The survey of {since} shares no points with this one ({where}): no change is worked out."
    least = detectable_mm(now.error_mm, before.error_mm) if now.error_mm and before.error_mm else None
    beyond = None if least is None else 100.0 * float((np.abs(found.change_mm) > least).mean())
    return Moved(before.day, found, least, beyond, _unlike(found, now, before), before.asked, before.doubts)


def _unlike(found: LevelChange, now: Study, before: Study) -> bool:
    """Whether both surveys have a shape to tell, and it is not the same one."""
    if found.likeness is None or found.n < LIKENESS_FROM:
        return False
    spreads = (np.std(now.z_mm[found.later]), np.std(before.z_mm[found.earlier]))
    noise = max(now.error_mm or 0.0, before.error_mm or 0.0, LEAST_ERROR_MM)
    return found.likeness < UNLIKE and float(min(spreads)) > NOISE_TIMES * noise
