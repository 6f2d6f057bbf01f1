"""Rules for levels: a survey is looked at whole, since no single height is wrong by itself."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl

from pipeline.agronomy.levels.crown import crown_of, fit_quadratic
from pipeline.agronomy.levels.green_axes import Axes, green_axes
from pipeline.agronomy.levels.levels import Coverage, Floats, coverage, point_spacing_m
from pipeline.agronomy.levels.odd_levels import odd_readings
from pipeline.agronomy.levels.steps import NO_GROUND_MM, Step, step_at, step_between
from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.words import line_ranges
from pipeline.store.register import Register
from pipeline.validate.rules.level_units import BARE, LEAST_POINTS, STEEP_MM, mixed_units, unit_of

FEW = FaultKind(
    "level.few",
    "Too few points for a survey",
    "This survey has {value} points: no plane, map or figure is made from fewer than {least}.",
    "Add the other points; a grid of 1 to 2 m is usual.",
    severity="warning",
)
ON_A_LINE = FaultKind(
    "level.line",
    "Points on one line",
    "The points of this survey span no area (first point at x = {value} m).",
    "Check that x and y are two columns, and in the same unit.",
    severity="warning",
)
ODD_READING = FaultKind(
    "level.odd",
    "Level far off those around it",
    "{value} mm is far off the points around it.",
    "Check the staff reading (a decimetre misread?). It is kept, and is in every figure and on the map.",
    severity="warning",
)
TOO_LARGE = FaultKind(
    "level.extent",
    "Points reach far beyond the green",
    "The points span {value}, and the register has {green} as {size}: this survey is of another green, or in another "
    "unit.",
    "Check the code of the green and the unit of x and y (feet?); or mend the size in the register and load again.",
)
LARGER = FaultKind(
    "level.larger",
    "Points reach beyond the green",
    "The points span {value}, and the register has {green} as {size}.",
    "Check whether points of the ditch or the bank are among them: they are in every figure and on the map.",
    severity="warning",
)
SMALLER = FaultKind(
    "level.smaller",
    "Points cover a part of the green",
    "The points span {value}, and the register has {green} as {size}: the rest of the green is in no figure.",
    "Check the code of the green, or add the other points.",
    severity="warning",
)
SIZE_UNKNOWN = FaultKind(
    "level.size",
    "Extent of the survey not checked",
    "The points span {value}, and the register holds neither length and width nor area of {green}.",
    "Add the size of the green to the register; whether these points are of this green cannot be told without it.",
    severity="note",
)
CORNER = FaultKind(
    "level.corner",
    "A corner of the green without points",
    "No point near the {value} corner of the rectangle around this survey.",
    "Add the missing points; the map shows that corner as not surveyed.",
    severity="warning",
)
HOLE = FaultKind(
    "level.hole",
    "A part of the green without points",
    "{value} % of the rectangle around this survey has no point near; the widest gap is at {place}.",
    "Add the missing points; the map shows nothing there.",
    severity="warning",
)
DIFFER_MUCH = FaultKind(
    "level.steep",
    "Heights differ by more than a green's do",
    "The heights of this survey differ by {value} mm.",
    "Check their unit, and whether points of bank, ditch or benchmark are among them.",
    severity="warning",
)
STANDPOINTS = FaultKind(
    "level.standpoints",
    "Staff readings of two standpoints without a line of sight",
    "{where}, {count} points, lie {value} mm {way} where the others' ground goes on: the instrument was moved, or the "
    "staff read otherwise, and without its line of sight these readings have no common height.",
    "Fill in sight_mm, the height of the line of sight over the benchmark, for each standpoint; where the instrument "
    "did stand still, the same height in every row.",
)
STEP = FaultKind(
    "level.step",
    "A step through the survey",
    "{where}, {count} points, lie {value} mm {way} where the others' ground goes on.",
    "Check whether the instrument was moved, the benchmark changed or the staff read otherwise between them. They are "
    "kept as they are; no dressing is ordered from them until this is settled.",
    severity="warning",
)
DISHED = FaultKind(
    "level.dished",
    "A crown green that is lowest in the middle",
    "The survey of a crown green lies {value} mm lower in the middle than at its corners: readings on a staff, which "
    "are the larger the lower the ground, as heights?",
    "Put staff readings into staff_mm; or mend the shape in the register of greens.",
)
HOLLOW = FaultKind(
    "level.hollow",
    "A green much lower in the middle",
    "The survey lies {value} mm lower in the middle than at its corners.",
    "Check whether these are readings on a staff, which are the larger the lower the ground: those go into staff_mm.",
    severity="warning",
)
BESIDE_HEIGHTS = FaultKind(
    "level.beside",
    "Staff readings beside heights",
    "Other points of this survey have heights; that of the staff reading {value} mm is not known without the line of "
    "sight.",
    "Fill in sight_mm for the staff readings, or give them another name of survey.",
)
SIGHT_MIXED = FaultKind(
    "level.sight",
    "Staff readings with and without the line of sight",
    "Some staff readings of this survey have the height of the line of sight beside them, that of {value} mm has not.",
    "Fill in sight_mm for each, or leave it out altogether where the instrument was not moved.",
)

DISHED_MM = 100.0
"""Depth of the middle below the corners that no green has: a third of the height of a crown (common practice, no
source)."""
FAR_TOO_LARGE = 1.2
"""Extent over the register's from which points are of another green, or feet taken for metres (common practice, no
source)."""
RATHER_LARGE, RATHER_SMALL = 1.05, 0.75
"""Share of the register's extent beyond, or short of, which a survey is worth a warning (common practice, no
source)."""
COVERED_PCT = 97.0
"""Share of the rectangle that a whole survey covers (common practice, no source)."""
NEAR_SPACINGS, NEAR_LEAST_M = 3.0, 1.5
"""A place is covered when a point is within three point spacings, or 1.5 m (common practice, no source)."""
SETUPS = ("benchmark", "instrument", "sight_mm")
"""Columns by which points of one survey may be of two standpoints."""
MOST_RANGES = 8
"""Ranges of lines that are named of the points of a step: of a checkerboard there are hundreds."""
MOST_SETUPS = 12
"""Standpoints that are held one against the rest; a survey has one or a few (common practice, no source)."""
SURVEY = ["date", "green", "survey"]
"""What is the same in the points of one survey."""


def check(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Faults of level surveys; what concerns a whole survey is said once, at its first line, unless it is refused."""
    sizes = {row["green"]: row for row in register.greens.iter_rows(named=True)}
    faults = []
    for _, part in records.group_by(SURVEY, maintain_order=True):
        known = part.filter(pl.col("z_mm").is_not_null())
        mixed = concat([_sights(part), mixed_units(known)])
        faults.append(mixed)
        if known.height and not mixed.height:  # heights from different lines of sight would look odd without end
            faults.extend(_of_survey(known, sizes.get(known["green"][0], {})))
    return concat(faults)


def _sights(part: pl.DataFrame) -> pl.DataFrame:
    """Staff readings cannot be brought together, nor with heights, where they lack the line of sight."""
    bare = part.filter(BARE)
    rest = part.filter(~BARE & pl.col("z_mm").is_not_null())
    if not bare.height or not rest.height:
        return no_faults()
    kind = SIGHT_MIXED if rest["sight_mm"].count() else BESIDE_HEIGHTS
    return kind.of(bare, "sight_mm", pl.col("staff_mm"))


def _of_survey(part: pl.DataFrame, green: dict[str, Any]) -> Iterator[pl.DataFrame]:
    first = part["line"][0]
    if part.height < LEAST_POINTS:
        yield FEW.at(first, str(part.height), "x_m", least=LEAST_POINTS)
        return
    x, y, z = (part[name].to_numpy() for name in ("x_m", "y_m", "z_mm"))
    try:
        axes = green_axes(x, y, green.get("length_m"), green.get("width_m"))
    except ValueError:
        yield ON_A_LINE.at(first, f"{x[0]:g}", "x_m")
        return
    yield from _extent(part, axes, green)
    unit = unit_of(part, green)
    yield unit
    if unit.filter(pl.col("severity") == "error").height:  # nothing else can be said of heights in another unit
        return
    off = odd_readings(x, y, z)
    yield ODD_READING.of(part.filter(pl.Series(off != 0.0)), "z_mm")
    if (spread := float(np.ptp(z))) > STEEP_MM:
        yield DIFFER_MUCH.at(first, f"{spread:.3g}", "z_mm")
    yield from _gaps(first, axes, x, y)
    if hollow := _hollow_mm(x, y, z):
        kind = DISHED if green.get("shape") == "crown" else HOLLOW
        yield kind.of(part if kind is DISHED else part[:1], "z_mm", pl.lit(f"{hollow:.0f}"))
    else:
        yield _step(part, axes)


def _hollow_mm(x: Floats, y: Floats, z: Floats) -> float:
    """How far the middle lies below the corners, where that is deeper than any green is dished; else zero."""
    upside_down = crown_of(fit_quadratic(x - x.min(), y - y.min(), -z), x - x.min(), y - y.min(), -z)
    return upside_down.height_mm if (upside_down.height_mm or 0.0) > DISHED_MM else 0.0  # type: ignore[return-value]


def _step(part: pl.DataFrame, axes: Axes) -> pl.DataFrame:
    """The clearest step between points of a survey; bare staff readings with one that no ground has are refused."""
    read = part.sort("line", maintain_order=True)
    places = axes.of(read["x_m"].to_numpy(), read["y_m"].to_numpy())
    found = [_setup_step(read, places, name) for name in SETUPS]
    found.append((step_between(*places, read["z_mm"].to_numpy()), ""))
    step, setup = max(found, key=lambda one: abs(one[0].step_mm) if one[0] else 0.0)
    if step is None:
        return no_faults()
    off = read.filter(pl.Series(step.block))
    facts = {
        "where": setup or f"The points of lines {line_ranges(off['line'].to_list(), MOST_RANGES)}",
        "count": off.height,
        "way": "above" if step.step_mm > 0 else "below",
    }
    value = f"{abs(step.step_mm):.0f}"
    if abs(step.step_mm) > NO_GROUND_MM and read.filter(BARE).height:
        return STANDPOINTS.of(read, "staff_mm", pl.lit(value), **facts)
    return STEP.at(off["line"][0], value, "z_mm", **facts)


def _setup_step(read: pl.DataFrame, places: tuple[Floats, Floats], name: str) -> tuple[Step | None, str]:
    """The clearest step between points of which a column says several things."""
    best: Step | None = None
    words = ""
    told = read[name].unique(maintain_order=True).to_list()
    for one in told if 1 < len(told) <= MOST_SETUPS else ():
        block = read[name].eq_missing(pl.Series([one], dtype=read.schema[name])).to_numpy()
        size = step_at(*places, read["z_mm"].to_numpy(), block)
        if abs(size) > (abs(best.step_mm) if best else 0.0):
            best = Step(block, size)
            words = f"The points with {name} " + (
                "blank" if one is None else f"“{one:g}”" if isinstance(one, float) else f"“{one}”"
            )
    return best, words


@dataclass(frozen=True)
class _Size:
    """The size of a green in the register, and how many times larger a survey is, at its longest and shortest."""

    words: str
    most: float
    least: float


def _extent(part: pl.DataFrame, axes: Axes, green: dict[str, Any]) -> Iterator[pl.DataFrame]:
    """The rectangle around the points against the register, whichever way the survey was turned."""
    first, span = part["line"][0], f"{axes.width_m:.1f} × {axes.length_m:.1f} m"
    facts = {"green": part["green"][0]}
    size = _against(axes, green)
    if size is None:
        yield SIZE_UNKNOWN.at(first, span, "x_m", **facts)
    elif size.most > FAR_TOO_LARGE:
        yield TOO_LARGE.of(part.sort("line", maintain_order=True), "x_m", pl.lit(span), size=size.words, **facts)
    elif size.most > RATHER_LARGE or size.least < RATHER_SMALL:
        yield (LARGER if size.most > RATHER_LARGE else SMALLER).at(first, span, "x_m", size=size.words, **facts)


def _against(axes: Axes, green: dict[str, Any]) -> _Size | None:
    length, width, area = (green.get(name) for name in ("length_m", "width_m", "area_m2"))
    if length and width:
        sides = zip(sorted((axes.width_m, axes.length_m)), sorted((width, length)), strict=True)
        shares = [one / other for one, other in sides]
        return _Size(f"{width:g} × {length:g} m", max(shares), min(shares))
    if area:
        share = math.sqrt(axes.width_m * axes.length_m / area)
        return _Size(f"{area:g} m²", share, share)
    return None


def _gaps(first: int, axes: Axes, x: Floats, y: Floats) -> Iterator[pl.DataFrame]:
    found = covered(axes, x, y)
    for corner in found.corners_without:
        yield CORNER.at(first, corner, "x_m")
    if found.share_pct < COVERED_PCT:
        place = f"{found.across_m:.1f} m across and {found.along_m:.1f} m along"
        yield HOLE.at(first, f"{100.0 - found.share_pct:.0f}", "x_m", place=place)


def covered(axes: Axes, x_m: Floats, y_m: Floats) -> Coverage:
    """How much of the rectangle around a survey its points cover."""
    near = max(NEAR_LEAST_M, NEAR_SPACINGS * point_spacing_m(x_m, y_m))
    return coverage(*axes.of(x_m, y_m), near)
