"""The indicators of a level survey."""

from __future__ import annotations

from pipeline.agronomy.levels.crown import crown_of, fit_quadratic
from pipeline.agronomy.levels.level_change import level_change
from pipeline.agronomy.levels.levels import fit_plane
from pipeline.agronomy.levels.lows import lows
from pipeline.agronomy.levels.straightedge import GRADIENT_OVER_M, STRAIGHTEDGE_M, largest_gap
from pipeline.agronomy.surface import level_summary
from pipeline.agronomy.units import M_PER_FOOT
from pipeline.indicators.base.description import MUMFORD, MUMFORD_CITED, NO_PUBLISHED, DefaultTarget, Description

TOLERANCE_MM = 6.0
"""Distance from the mean that still counts as level on a flat green."""
_CROWN = (fit_quadratic, crown_of)

RANGE = Description(
    "level_range_mm", "Highest to lowest point", "mm", "levels", "How far points are apart in height.",
    "Highest less lowest point of the season's last survey.", decimals=0, difference=True,
)  # fmt: skip
SPREAD = Description(
    "level_sd_mm", "Spread of heights", "mm", "levels", "How far points scatter about their mean.",
    "Standard deviation of all points of the survey; not on a crown green.", difference=True,
)  # fmt: skip
DEVIATION = Description(
    "level_deviation_mm", "Deepest hollow or highest bump", "mm", "levels",
    "The point farthest off; flat greens only. Its target is the tolerance the next line counts with.",
    "Farthest point from the mean of all points.", formulas=(level_summary,), difference=True,
    targets=(DefaultTarget(
        None, TOLERANCE_MM, MUMFORD, shape="flat", cited=MUMFORD_CITED,
        note="within it of the green's mean height; 5 mm in Australia and 3 mm as the ideal (Comba 2013); the "
        "tolerance that level_within_pct counts with",
    ),),
)  # fmt: skip
WITHIN = Description(
    "level_within_pct", "Points within the tolerance", "%", "levels",
    "Share of the green that is level; flat greens only.", "Share of points within the tolerance of their mean.",
    formulas=(level_summary,),
    targets=(DefaultTarget(
        100.0, None, MUMFORD, shape="flat", cited=MUMFORD_CITED,
        note="the whole green within the tolerance of its mean height",
    ),),
)  # fmt: skip
TILT = Description(
    "tilt_mm", "Fall of the whole green", "mm", "levels", "How far the green as a whole falls, and where to.",
    "Highest less lowest corner of the plane of least squares through all points.", decimals=0, formulas=(fit_plane,),
    difference=True,
)  # fmt: skip
PLANE_SPREAD = Description(
    "level_plane_sd_mm", "Spread about the best-fit plane", "mm", "levels", "What is uneven beside the tilt.",
    "Standard deviation of all points about that plane.", formulas=(fit_plane,), difference=True,
)  # fmt: skip
RINK_FALL = Description(
    "level_rink_fall_mm", "Largest fall along a rink", "mm", "levels", "End to end of the rink that falls most.",
    "Plane of least squares of each rink; rinks as equal strips across the green.", difference=True,
)  # fmt: skip
RINK_CROSSFALL = Description(
    "level_rink_crossfall_mm", "Largest fall across a rink", "mm", "levels",
    "Side to side of the rink that falls most.", "The same planes, the other way.", difference=True,
)  # fmt: skip
GRADIENT = Description(
    "level_gradient_mm_m", "Steepest gradient a bowl meets", "mm/m", "levels",
    "Steepest rise or fall on the middle line of a rink.",
    f"Over {GRADIENT_OVER_M:g} m, on heights interpolated between the points.",
)  # fmt: skip
CROWN_HEIGHT = Description(
    "crown_height_mm", "Height of the crown", "mm", "levels", "Top over the mean of the corners; crown greens only.",
    "Read from a surface of second order fitted to all points (Huber).", decimals=0, formulas=_CROWN, difference=True,
    targets=(DefaultTarget(
        254.0, 380.0, "corners 10 to 15 in below the crown, a contractor's account of crown greens", shape="crown",
        cited="a natural turf contractor's page on crown greens, undated: corners 254 to 380 mm below the crown",
        note="D. Sanderson 2007, for the crown green association, has 9 to 15 in (229 to 381 mm) above the edges; up "
        "to 18 in (457 mm) in Britannica 1911",
    ),),
)  # fmt: skip
CROWN_CORNERS = Description(
    "crown_corners_mm", "Unevenness of the corners", "mm", "levels", "How far the corners differ in height.",
    "Highest less lowest corner of that surface.", decimals=0, formulas=_CROWN, difference=True,
)  # fmt: skip
CROWN_QUARTERS = Description(
    "crown_quarters_mm", "Difference between quarters", "mm", "levels",
    "How far the four quarters of a crown green differ; none where the crown is in the middle.",
    "Mean height of the points of each quarter, highest less lowest.", formulas=_CROWN, difference=True,
)  # fmt: skip
CROWN_SPREAD = Description(
    "crown_sd_mm", "Spread about the fitted crown", "mm", "levels", "What is uneven beside the crown.",
    "Standard deviation of all points about that surface.", formulas=_CROWN, difference=True,
)  # fmt: skip
CROWN_DEVIATION = Description(
    "crown_deviation_mm", "Deepest hollow or highest bump off the crown", "mm", "levels",
    "The point farthest off the crown.",
    "Farthest point from that surface.", formulas=_CROWN, difference=True,
)  # fmt: skip
GAP = Description(
    "level_gap_mm", f"Largest gap under a {STRAIGHTEDGE_M:g} m straightedge", "mm", "levels",
    "The deepest hollow that a straightedge shows; no published limit was found.",
    f"Laid anywhere on two places of the grid up to {STRAIGHTEDGE_M:g} m apart.", band="along or across the rinks",
    formulas=(largest_gap,), difference=True, targets=(DefaultTarget(None, None, NO_PUBLISHED),),
    label_us=f"Largest gap under a {STRAIGHTEDGE_M / M_PER_FOOT:.1f} ft straightedge",
)  # fmt: skip
LOW_GROUND = Description(
    "level_low_m2", "Ground too low", "m²", "levels", "Ground that dressing could bring up.",
    "Below the mean by more than the tolerance; on a crown green 10 mm below the fitted crown (common practice, no "
    "source).", decimals=0,
)  # fmt: skip
LOW_FILL = Description(
    "level_low_t", "Dressing to fill it", "t", "levels", "Dressing that brings it up.",
    "Volume of that ground up to the mean, or to the fitted crown, × dry bulk density.", decimals=2, formulas=(lows,),
)  # fmt: skip
MOVED = Description(
    "level_moved_mm", "Largest change of one point", "mm", "levels",
    "The point that moved most since the survey before.",
    "Later less earlier at points no further apart than 0.25 m; less the mean change where benchmarks differ.",
    formulas=(level_change,), difference=True,
)  # fmt: skip
MEAN_CHANGE = Description(
    "level_mean_change_mm", "Mean change of height", "mm", "levels", "How far the whole green has risen or sunk.",
    "Mean of those changes; only where both surveys name one benchmark.", difference=True,
)  # fmt: skip
MOVED_SHARE = Description(
    "level_moved_pct", "Points that changed by more than the error", "%", "levels",
    "Share of points whose change is more than the instruments err in 95 of 100 cases. On ground that has not moved it "
    "is 5 %: only what goes beyond that is movement.",
    "More than 1.96 × √(e₁² + e₂²), the standard errors of both surveys.", decimals=0, formulas=(level_change,),
)  # fmt: skip
