"""Rules for the unit of heights: two units in one column, and heights that cannot be millimetres."""

from __future__ import annotations

from typing import Any

import numpy as np
import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.words import listed

UNITS_MIXED = FaultKind(
    "level.units",
    "Heights in two units",
    "{value} is one of {count} that are about {times} times {way} than the others, which lie about {rest}: two "
    "units in one column.",
    "Write all of them in one unit, or each unit in a column of its own.",
)
NOT_MM = FaultKind(
    "level.not_mm",
    "Heights that cannot be millimetres",
    "As millimetres the heights of this survey differ by {value} mm in all, less than any level reads: {others}.",
    "Write millimetres, or name the unit of this column in a profile (profile FILE).",
)
SIGHT_TOO_LOW = FaultKind(
    "level.sight_low",
    "Staff readings that cannot be millimetres",
    "As millimetres these staff readings, about {value} mm, put the line of sight nearer to the ground than any "
    "instrument stands: {others}.",
    "Write millimetres, or name the unit of this column in a profile (profile FILE).",
)
HARDLY_DIFFER = FaultKind(
    "level.even",
    "Heights hardly differ",
    "The heights of this survey differ by {value} mm in all, less than those of a {shape} do{others}.",
    "Check their unit and, where it is right, what the register says of the shape. They are kept as millimetres.",
    severity="warning",
)
SIGHT_LOW = FaultKind(
    "level.sight_near",
    "Staff readings of a line of sight near the ground",
    "The staff readings of this survey lie about {value} mm{others}.",
    "Check their unit. They are kept as millimetres: right for an instrument that stands on the ground.",
    severity="warning",
)

BARE = pl.col("staff_mm").is_not_null() & pl.col("sight_mm").is_null() & (pl.col("z_mm") + pl.col("staff_mm") == 0.0)
"""A height made of the staff reading alone, so counted downwards from a line of sight that nobody gave."""
LEAST_POINTS = 9
"""Fewest points a survey is judged from: a grid of three by three (common practice, no source)."""
FEW_OF_A_UNIT = 0.2
"""Share of points up to which one unit is taken for the slip and the other for the survey's; else both are refused."""
FACTOR_APART, LEAST_OF_A_UNIT = 0.08, 3
"""How far two heaps of heights may be off such a factor, and their fewest points (common practice, no source)."""
WHOLE = 1e-3
"""Heights that lie nearer to a whole millimetre are written in whole ones, mm."""
UNITS = {"centimetres": 10.0, "inches": 25.4, "decimetres": 100.0, "feet": 304.8, "metres": 1000.0}
"""Units a height may be written in, in mm."""
READ_TO_MM = 1.0
"""Heights of a whole green that differ by less are no millimetres: a level is read to one (common practice, no
source)."""
EVEN_MM = 6.0
"""Heights of a flat green that differ by less are asked about where they are written in parts of a millimetre: 3 mm
either way is the ideal (Comba 2013)."""
LOW_CROWN_MM = 60.0
"""Heights of a crown green that differ by less are asked about: a crown of 250 to 380 mm in centimetres, or inches,
lies below (common practice, no source)."""
STEEP_MM = 600.0
"""Greatest difference of heights that a green has: a crown reaches 380 mm today and 18 in (457 mm) of old (Britannica
1911); the rest is margin (common practice, no source)."""
LEAST_OF_A_GREEN = {"flat": 2.0, "crown": 100.0}
"""Least difference that a green of this shape is taken to have, where another unit is tried, mm (common practice, no
source)."""
NO_SIGHT_MM, NEAR_SIGHT_MM = 20.0, 200.0
"""A line of sight nearer to the ground than the first is none: grass stands as high; nearer than the second it is that
of an instrument on the ground (common practice, no source)."""
SIGHT_MM = (300.0, 2500.0)
"""Heights of a line of sight over the ground, from a low stand to a raised tripod, mm (common practice, no source)."""
ONE_SIGHT = 1.0 / 3.0
"""Readings of one line of sight differ by less than this share of themselves; those counted from the lowest point, or
about nought, by more (common practice, no source)."""


def mixed_units(part: pl.DataFrame) -> pl.DataFrame:
    """Heights that fall into two heaps, the one as many times the other as one unit of length is another."""
    sizes = part.with_columns(pl.col("z_mm").abs().alias("size")).sort("size", "line", maintain_order=True)
    size = sizes["size"].to_numpy()
    if len(size) < LEAST_POINTS:
        return no_faults()
    at = int(np.diff(size).argmax()) + 1
    small, large = size[:at], size[at:]
    apart = large[0] - small[-1] > max(np.ptp(small), np.ptp(large))
    if not apart or min(len(small), len(large)) < LEAST_OF_A_UNIT:
        return no_faults()
    times = float(np.median(large)) / max(float(np.median(small)), 1e-9)
    factor = next((one for one in UNITS.values() if abs(times / one - 1.0) <= FACTOR_APART), None)
    if factor is None:
        return no_faults()
    column = "staff_mm" if part.filter(BARE).height == part.height else "z_mm"
    faults = []
    for heap, rest, way in ((sizes[:at], sizes[at:], "smaller"), (sizes[at:], sizes[:at], "larger")):
        if heap.height <= FEW_OF_A_UNIT * len(size) or rest.height > FEW_OF_A_UNIT * len(size):
            middle = float(np.median(rest[column].to_numpy()))
            count, size_is = str(heap.height), f"{factor:g}"
            found = UNITS_MIXED.of(
                heap.sort("line", maintain_order=True), column, count=count, times=size_is, way=way, rest=f"{middle:g}"
            )
            faults.append(found)
    return concat(faults)


def unit_of(part: pl.DataFrame, green: dict[str, Any]) -> pl.DataFrame:
    """Heights of one survey that are no millimetres, or hardly can be, with what they would be in other units.

    Args:
        part: points of the survey, each with its height.
        green: the green's row of the register.
    """
    rows = part.sort("line", maintain_order=True)
    heights = rows["z_mm"].to_numpy()
    read = rows.filter(pl.col("staff_mm").is_not_null())
    if read.height >= LEAST_POINTS and (low := _sight(read)).height:
        return low
    spread = float(np.ptp(heights))
    crown = green.get("shape") == "crown"
    least = LEAST_OF_A_GREEN["crown" if crown else "flat"]
    others = _others(spread, least, STEEP_MM, "they would differ by")
    if 0.0 < spread < READ_TO_MM and others:
        column = "staff_mm" if rows.filter(BARE).height == rows.height else "z_mm"
        return NOT_MM.of(rows, column, pl.lit(f"{spread:.3g}"), others=others)
    in_parts = bool((np.abs(heights - np.round(heights)) > WHOLE).any())
    if spread >= (LOW_CROWN_MM if crown else EVEN_MM if in_parts else READ_TO_MM):
        return no_faults()
    shape = "crown green" if crown else "green"
    return HARDLY_DIFFER.at(rows["line"][0], f"{spread:.3g}", "z_mm", shape=shape, others=others and f": {others}")


def _sight(read: pl.DataFrame) -> pl.DataFrame:
    """Staff readings of a line of sight that lies too near to the ground."""
    staff = read["staff_mm"].to_numpy()
    about = float(np.median(staff))
    if not (staff.min() > 0.0 and about < NEAR_SIGHT_MM and float(np.ptp(staff)) < ONE_SIGHT * about):
        return no_faults()
    others = _others(about, *SIGHT_MM, "they would be about")
    if about < NO_SIGHT_MM and others:
        return SIGHT_TOO_LOW.of(read, "staff_mm", pl.lit(f"{about:.3g}"), others=others)
    return SIGHT_LOW.at(read["line"][0], f"{about:.3g}", "staff_mm", others=others and f": {others}")


def _others(value: float, least: float, most: float, words: str) -> str:
    """What a figure would be in the units in which it is likely; "" where it is in none."""
    told = [(unit, value * size) for unit, size in UNITS.items() if least <= value * size <= most]
    return listed(
        [f"in {unit} {words if not i else ''} {mm:,.0f} mm".replace("  ", " ") for i, (unit, mm) in enumerate(told)]
    )
