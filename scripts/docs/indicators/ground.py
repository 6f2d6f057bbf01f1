"""What was opened, how level it lies, and of what sizes it is."""

from __future__ import annotations

from pipeline.indicators.soil.curves import D_VALUES
from pipeline.indicators.soil.sieves import GRAVEL
from scripts.docs.indicators.described import Described

DISTURBANCE = (
    Described(
        "disturbed_pct", "Surface opened by tining and coring", "%", "disturbance", "",
        "Share of the surface that tines opened in the season.",
        "π d² ÷ 4 × holes/m² × share of the green worked, passes and operations added up; holes that fall into holes "
        "count twice. Hollow tines by the diameter logged, or by the one chosen (method_options.hollow_tine) where the "
        "wall is recorded (tine_wall_mm).",
    ),
    Described(
        "bladed_pct", "Surface opened by blades and slits", "%", "disturbance", "",
        "Share of the surface that blades cut; kept apart, since yearly guidance speaks of tines.",
        "Blade ÷ blade spacing × passes × share of the green worked, added up.",
    ),
    Described(
        "opened_pct", "Surface opened", "%", "disturbance", "operation", "The same by operation.", "As above.",
    ),
    Described(
        "holes_m2", "Holes made", "holes/m²", "disturbance", "operation", "Holes of the season by operation.",
        "Holes counted over the area, else 1,000,000 ÷ (spacing along × across in mm) × passes; × share of the green "
        "worked.",
    ),
    Described(
        "disturbed_l_m2", "Volume of holes and slits", "l/m²", "disturbance", "",
        "What they would take to fill: 1 l/m² is 1 mm of sand.", "Share of the surface × working depth.",
    ),
    Described(
        "refill_sand_kg", "Dry sand to fill the holes", "kg", "disturbance", "",
        "Sand that the season's holes would take; blades and slits are left out.",
        "Volume of the holes × area opened × dry bulk density (the workspace's).",
    ),
)  # fmt: skip

LEVELS = (
    Described(
        "level_range_mm", "Highest to lowest point", "mm", "levels", "", "How far points are apart in height.",
        "Highest less lowest point of the season's last survey.",
    ),
    Described(
        "level_sd_mm", "Spread of heights", "mm", "levels", "", "How far points scatter about their mean.",
        "Standard deviation of all points of the survey; not on a crown green.",
    ),
    Described(
        "level_deviation_mm", "Largest distance from the mean height", "mm", "levels", "",
        "The point farthest off; flat greens only. Its target is the tolerance the next line counts with.",
        "Farthest point from the mean of all points.",
    ),
    Described(
        "level_within_pct", "Points within the tolerance", "%", "levels", "",
        "Share of the green that is level; flat greens only.", "Share of points within the tolerance of their mean.",
    ),
    Described(
        "tilt_mm", "Fall of the whole green", "mm", "levels", "", "How far the green as a whole falls, and where to.",
        "Highest less lowest corner of the plane of least squares through all points.",
    ),
    Described(
        "level_plane_sd_mm", "Spread about the best-fit plane", "mm", "levels", "",
        "What is uneven beside the tilt.", "Standard deviation of all points about that plane.",
    ),
    Described(
        "level_rink_fall_mm", "Largest fall along a rink", "mm", "levels", "",
        "End to end of the rink that falls most.",
        "Plane of least squares of each rink; rinks as equal strips across the green.",
    ),
    Described(
        "level_rink_crossfall_mm", "Largest fall across a rink", "mm", "levels", "",
        "Side to side of the rink that falls most.", "The same planes, the other way.",
    ),
    Described(
        "level_gradient_mm_m", "Steepest gradient a bowl meets", "mm/m", "levels", "",
        "Steepest rise or fall on the middle line of a rink.", "Over 1 m, on heights interpolated between the points.",
    ),
    Described(
        "crown_height_mm", "Height of the crown", "mm", "levels", "",
        "Top over the mean of the corners; crown greens only.",
        "Read from a surface of second order fitted to all points (Huber).",
    ),
    Described(
        "crown_corners_mm", "Unevenness of the corners", "mm", "levels", "", "How far the corners differ in height.",
        "Highest less lowest corner of that surface.",
    ),
    Described(
        "crown_quarters_mm", "Difference between quarters", "mm", "levels", "",
        "How far the four quarters of a crown green differ; none where the crown is in the middle.",
        "Mean height of the points of each quarter, highest less lowest.",
    ),
    Described(
        "crown_sd_mm", "Spread about the fitted crown", "mm", "levels", "", "What is uneven beside the crown.",
        "Standard deviation of all points about that surface.",
    ),
    Described(
        "crown_deviation_mm", "Largest distance from the fitted crown", "mm", "levels", "",
        "The point farthest off the crown.", "Farthest point from that surface.",
    ),
    Described(
        "level_gap_mm", "Largest gap under a 3 m straightedge", "mm", "levels", "along or across the rinks",
        "The deepest hollow that a straightedge shows; no published limit was found.",
        "Laid anywhere on two places of the grid up to 3 m apart.",
    ),
    Described(
        "level_low_m2", "Ground too low", "m²", "levels", "", "Ground that dressing could bring up.",
        "Below the mean by more than the tolerance; on a crown green 10 mm below the fitted crown (common practice, no "
        "source).",
    ),
    Described(
        "level_low_t", "Dressing to fill it", "t", "levels", "", "Dressing that brings it up.",
        "Volume of that ground up to the mean, or to the fitted crown, × dry bulk density.",
    ),
    Described(
        "level_moved_mm", "Largest change of one point", "mm", "levels", "",
        "The point that moved most since the survey before.",
        "Later less earlier at points no further apart than 0.25 m; less the mean change where benchmarks differ.",
    ),
    Described(
        "level_mean_change_mm", "Mean change of height", "mm", "levels", "",
        "How far the whole green has risen or sunk.",
        "Mean of those changes; only where both surveys name one benchmark.",
    ),
    Described(
        "level_moved_pct", "Points that have moved", "%", "levels", "",
        "Share of points that moved by more than the instruments can err.",
        "More than 1.96 × √(e₁² + e₂²), the standard errors of both surveys.",
    ),
)  # fmt: skip

SIEVES = (
    *(
        Described(
            f"sieve_d{share}_mm", f"D{share}", "mm", "sieve", "root zone or material",
            f"Size that {share} % of the mass is finer than; the root zone's last sample, and each dressing's of the "
            "season.",
            "Read from the sieve curve, straight between two sieves on the logarithm of size, or as "
            "method_options.sieve_interpolation says.",
        )
        for share in D_VALUES
    ),
    Described(
        "sieve_uniformity", "Coefficient of uniformity", "", "sieve", "root zone or material",
        "How widely the sizes are graded: low is all of one size.", "D60 ÷ D10.",
    ),
    Described(
        "sieve_coarse_medium_pct", "Coarse and medium sand", "%", "sieve", "root zone", "Between 0.25 and 1 mm.",
        "From the curve; held against the USGA limit where the register says that the green is sand-based.",
    ),
    Described(
        "sieve_very_fine_pct", "Very fine sand, silt and clay", "%", "sieve", "root zone", "Finer than 0.15 mm.",
        "From the curve; held against the USGA limit where the register says that the green is sand-based.",
    ),
    Described(
        "sieve_silt_clay_pct", "Silt and clay", "%", "sieve", "root zone", "Finer than 0.05 mm.", "From the curve.",
    ),
    Described(
        "sieve_medium_pct", "Medium sand", "%", "sieve", "material", "Between 0.25 and 0.5 mm, of a dressing.",
        "From the curve; held against what UK fine turf asks of a dressing sand.",
    ),
    Described(
        "sieve_match", "Dressing against root zone, D50", "", "sieve", "material",
        "Whether a dressing of the season is as coarse as the root zone it lies on; 1 is alike.",
        "D50 of the dressing over D50 of the root zone; the note gives D10 and D90 and the class furthest apart.",
    ),
    *(
        Described(
            name, label, "", "sieve", "gravel",
            "Whether the gravel that the register names may lie under the root zone without a layer between.",
            f"{how}; limit of the USGA edition chosen (method_options.layer_match).",
        )
        for name, label, how in GRAVEL.values()
    ),
)  # fmt: skip
