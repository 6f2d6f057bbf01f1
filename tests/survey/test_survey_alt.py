"""What a drawing tells who cannot see it: where high and low lie, which sizes are outside, and no row of a table."""

from __future__ import annotations

import re
from datetime import date

import numpy as np
import pytest

from pipeline.agronomy.levels.level_grid import level_grid
from pipeline.agronomy.levels.level_map import LevelMap, Mark, level_map
from pipeline.agronomy.soil.particle_size import Check
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.survey.visit_observations import Measured, Reading, SieveCurve
from reports.survey.charts import sieves
from reports.survey.level_alt import CUT_AND_FILL, HEIGHTS, heights_alt, limit_of, map_alt
from reports.survey.plan_drawing import plan_rows
from reports.survey.where import in_words, of_place, stretches

DAY = date(2026, 9, 16)


def plain(words: str) -> str:
    return re.sub("[\u202f\u00a0]", " ", words)


def drawn(marks: tuple[Mark, ...] = ()) -> LevelMap:
    """A green of 30 by 40 m: a hollow at the far end on the right, a hump at the near end on the left."""
    heights = np.zeros((41, 31))
    heights[32:38, 22:29] = -14.0
    heights[3:8, 2:7] = 9.0
    across, along = np.meshgrid(np.arange(31.0), np.arange(41.0))
    return level_map(level_grid(across.ravel(), along.ravel(), heights.ravel()), 4.0, "the mean", 6, marks)


LOWEST, HIGHEST = Mark("lowest", 25.0, 35.0, -14.0), Mark("highest", 4.0, 5.0, 9.0)


def test_a_map_tells_where_the_ground_is_low_and_high_and_by_how_much() -> None:
    marks = {one.what: one for one in (LOWEST, HIGHEST)}
    said = plain(map_alt("Map of heights", drawn(), 6.0, HEIGHTS, "metric", marks))
    assert re.search(
        r"Lower: \d+ m², at the far end, right \(2[12] m to 2[89] m across, 3[12] m to 3[78] m along\)", said
    )
    assert "lowest −14 mm at 25.0 m across, 35.0 m along. Higher:" in said
    assert re.search(r"Higher: \d+ m², at the near end, left .*; highest \+9 mm at 4.0 m across, 5.0 m along\.$", said)


def test_the_ground_that_is_told_is_the_ground_of_the_map() -> None:
    """Every square metre is told as level, low or high, and once."""
    said = plain(map_alt("Map", drawn(), 6.0, CUT_AND_FILL, "metric")).replace(",", "")
    told = [float(number) for number in re.findall(r"(?:: |may stay. To fill: |To cut: )(\d+) m²", said)]
    assert len(told) == 3
    assert sum(told) == pytest.approx(sum(band.area_m2 for band in drawn().bands), abs=1.5)
    low = [band for band in drawn().bands if band.high_mm <= -6.0]
    assert sum(one.area_m2 for one in stretches(low)) == pytest.approx(sum(band.area_m2 for band in low), rel=0.02)


def test_a_map_on_which_nothing_is_off_says_so() -> None:
    across, along = np.meshgrid(np.arange(31.0), np.arange(41.0))
    flat = level_map(level_grid(across.ravel(), along.ravel(), 0.01 * across.ravel()), 4.0, "the mean", 6, ())
    said = map_alt("Map", flat, limit_of(flat), HEIGHTS, "metric")
    assert said.endswith("Lower: nowhere. Higher: nowhere.")


def test_the_numbers_of_the_map_s_words_are_those_of_the_survey(found: ConditionSurvey) -> None:
    assert found.levels is not None
    said = plain(heights_alt(found.levels, 3, "metric"))
    for mark in found.levels.map.marks:
        assert f"{mark.across_m:.1f} m across, {mark.along_m:.1f} m along" in said
    level = re.search(r": ([\d,]+) m² lie within", said)
    tolerance = found.levels.tolerance_mm or limit_of(found.levels.map)
    inside = [b for b in found.levels.map.bands if b.low_mm >= -tolerance - 1e-6 and b.high_mm <= tolerance + 1e-6]
    assert level and float(level[1].replace(",", "")) == pytest.approx(sum(b.area_m2 for b in inside), abs=0.51)


def curve(*checks: Check, judged: bool = True) -> SieveCurve:
    return SieveCurve(
        "root zone", DAY, "", ((0.05, 4.0), (0.25, 45.0), (2.0, 100.0)), (("D50", 0.27),), None, "a band for sand",
        "a source", checks, judged=judged, note="",
    )  # fmt: skip


def test_a_sieve_curve_tells_which_sizes_are_outside_the_band() -> None:
    checks = (
        Check("fine gravel", 12.0, None, 10.0, ""),
        Check("clay", 2.0, None, 3.0, ""),
        Check("silt", None, None, 5.0, ""),
    )
    group = sieves([curve(*checks)], DAY)
    assert group is not None
    said = plain(group.charts[0].alt)
    assert "rises from 4 % finer than 0.050 mm to 100 % finer than 2.00 mm; half is finer than 0.27 mm." in said
    assert "Outside a band for sand: fine gravel 12.0 % (at most 10 %); the other 1 within, 1 size not reached." in said
    other = sieves([curve(*checks, judged=False)], DAY)
    assert other is not None and "No limits are applied" in other.charts[0].alt


def test_a_plan_tells_its_ends_and_not_the_table() -> None:
    values = [67.0, 91.0, 80.0, 78.0]
    readings = tuple(Reading(f"P{i}", 5.0 * i, 5.0, value, None, None, "", None, f"P{i}", "")
                     for i, value in enumerate(values))  # fmt: skip
    one = Measured("hardness", "Hardness", "physical", "", "g", "", 79.0, None, None, None, 4, readings, None, "", 0)
    (row,) = plan_rows([one], None)
    assert plain(row.plans[0].alt) == "Hardness, g, read at 4 places: mean 79, lowest 67 at P0, highest 91 at P1."


@pytest.mark.parametrize(
    ("across", "along", "said"),
    [
        (1.0, 1.0, "at the near end, left"), (29.0, 39.0, "at the far end, right"), (15.0, 20.0, "in the middle"),
        (1.0, 20.0, "half way along, left"), (15.0, 1.0, "at the near end, middle"),
        (30.0, 40.0, "at the far end, right"),
    ],
)  # fmt: skip
def test_where_a_place_is(across: float, along: float, said: str) -> None:
    assert of_place(across, along, (30.0, 40.0)) == said


def test_where_ground_is_that_reaches_over_all_of_it() -> None:
    assert in_words("", "") == "over most of the green"
    assert (in_words("right", ""), in_words("", "far end")) == ("along the right side", "across the far end")
