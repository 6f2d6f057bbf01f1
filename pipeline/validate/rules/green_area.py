"""Areas that no green has as they stand, and that one has in square yards, square feet, acres or hectares."""

from __future__ import annotations

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.store.register import Register
from pipeline.validate.rules.places import with_green

NO_GREEN = FaultKind(
    "area.unit",
    "Area that a green can have in another unit alone",
    "An area of {value} m² is no green's; {readings}.",
    "Write the unit (“1727 sq yd”) or the area in m².",
)
ODD_GREEN = FaultKind(
    "area.unit_odd",
    "Area that would fit a green better in another unit",
    "An area of {value} m² is far from a green's ({usual}); {readings}.",
    "If it is m², nothing need be done; else write the unit (“1727 sq yd”) or the area in m². Flat greens are 30 to "
    "40 m a side (laws of the game; the older law says 30 m, the present one 31), crown greens 40 yards square as a "
    "rule (30 to 60: common practice, no source).",
    severity="warning",
)
TREATED_YARDS = FaultKind(
    "area.treated_unit",
    "Treated area that is the green's own in another unit",
    "A treated area of {value} m² is the green's own of {own} m² in {unit}.",
    "If the whole green was meant, leave it blank, or write the unit (“1727 sq yd”); if the surround was treated too, "
    "nothing need be done.",
    severity="warning",
)
UNITS_M2 = {"square yards": 0.83612736, "square feet": 0.09290304, "acres": 4046.8564224, "hectares": 10000.0}
"""m² in each unit: exact, by the international yard (0.9144 m) and the acre of 4840 square yards."""
SIDES_M = {"flat": (30.0, 40.0), "crown": (27.432, 54.864)}
"""Sides of a green: of flat ones by the laws of the game (31 to 40 m now, 30 to 40 m before), of crown ones 30 to 60
yards (common practice, no source; 40 is the rule)."""
LEAST_M2, MOST_M2 = 31.0 * 4.3, 5000.0
"""A green of one rink (31 by 4.3 m, laws of the game), and more than any green (common practice, no source)."""
AGREES = 0.10
"""Share by which length times width may differ from an area that it bears out (as in registers.py)."""
ROUNDED = 0.05
"""Share by which a green may lie outside the usual sizes before it is asked about (common practice, no source)."""
SAME = 0.005
"""Share within which a treated area is the green's own in another unit: both are rounded."""


def check(records: pl.DataFrame) -> pl.DataFrame:
    """Greens whose area, as it stands, is that of none of their shape, and in another unit is."""
    size = pl.col("length_m") * pl.col("width_m")
    borne_out = ((size - pl.col("area_m2")).abs() <= AGREES * pl.col("area_m2")).fill_null(value=False)
    faults = []
    for line, area, shape in records.filter(~borne_out).select("line", "area_m2", "shape").iter_rows():
        low, high = _usual(shape)
        if area is None or low * (1 - ROUNDED) <= area <= high * (1 + ROUNDED):
            continue
        fits = [f"{area:g} {unit} are {area * m2:.0f} m²" for unit, m2 in UNITS_M2.items() if low <= area * m2 <= high]
        if fits:
            kind = ODD_GREEN if LEAST_M2 <= area <= MOST_M2 else NO_GREEN
            faults.append(
                kind.at(line, f"{area:g}", "area_m2", readings=" and ".join(fits), usual=f"{low:.0f} to {high:.0f} m²")
            )
    return concat(faults)


def treated(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Jobs whose treated area is the green's own in square yards."""
    unit = "square yards"  # of the others the area is so far from the green's that it is asked about anyhow
    known = with_green(records, register).filter(pl.col("treated_area_m2").is_not_null() & (pl.col("area_m2") > 0))
    ratio = pl.col("treated_area_m2") * UNITS_M2[unit] / pl.col("area_m2")
    odd = known.filter((ratio - 1).abs() <= SAME).select("line", "treated_area_m2", "area_m2")
    return concat(
        TREATED_YARDS.at(line, f"{area:g}", "treated_area_m2", own=f"{own:g}", unit=unit)
        for line, area, own in odd.iter_rows()
    )


def _usual(shape: str | None) -> tuple[float, float]:
    """Least and most area of a green of a shape, m²; of any where the shape is not told."""
    sides = [SIDES_M[shape]] if shape in SIDES_M else list(SIDES_M.values())
    return min(low for low, _ in sides) ** 2, max(high for _, high in sides) ** 2
