"""The map of levels as drawn: one direction of tones, so that grey prints and every eye read the same."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest

from pipeline.agronomy.levels.level_grid import LevelGrid, level_grid
from pipeline.agronomy.levels.level_map import Mark, level_map
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.survey.level_survey import LevelsMoved
from pipeline.survey.levels import certain_mm
from pipeline.survey.visit_notes import VisitNotes
from reports.page.charts.palette import contrast, luminance
from reports.survey import level_drawing
from reports.survey.level_drawing import Beside
from reports.survey.levels import level_images, level_part
from reports.survey.samples import Sample
from reports.survey.view import beside_levels, view
from tests.outside_checks import outside
from tests.reports.conftest import VERSION


@pytest.mark.parametrize("count", range(1, 10))
def test_tones_grow_paler_from_low_to_high(count: int) -> None:
    found = [luminance(tone) for tone in level_drawing.tones(count)]
    assert all(one < other for one, other in pairwise(found))


def test_neighbouring_tones_can_be_told_apart_in_grey() -> None:
    """Even with nine bands the lightness of each (CIE 1976 L*) differs from the next by more than five."""
    light = [116 * luminance(tone) ** (1 / 3) - 16 for tone in level_drawing.tones(9)]
    assert min(b - a for a, b in pairwise(light)) > 5


def grid(heights: np.ndarray) -> LevelGrid:  # type: ignore[type-arg]
    across, along = np.meshgrid(np.arange(heights.shape[1], dtype=float), np.arange(heights.shape[0], dtype=float))
    return level_grid(across.ravel(), along.ravel(), heights.ravel().astype(float))


def drawn(tolerance: float | None = 6.0) -> ElementTree.Element:
    rows = np.zeros((21, 11))
    rows[5:8, 5:8] = -14
    rows[15, 2] = 9
    marks = (Mark("lowest <&>", 6.0, 6.0, -14.0), Mark("highest", 2.0, 15.0, 9.0))
    made = level_drawing.svg(level_map(grid(rows), 4.0, "the mean", 6, marks), tolerance)
    return ElementTree.fromstring(made)  # noqa: S314 - our own drawing


def test_it_is_one_piece_of_xml_with_real_text_and_a_key() -> None:
    words = ["".join(one.itertext()) for one in drawn().iter("{http://www.w3.org/2000/svg}text")]
    assert "lowest <&> −14" in words
    assert "Height, mm" in words
    assert {"1", "2", "3", "4", "5", "6"} <= set(words)
    assert any(word.startswith(("under −", "−")) for word in words)


def test_what_is_beyond_the_band_is_outlined_and_only_where_there_is_a_band() -> None:
    def outlines(root: ElementTree.Element) -> int:
        return sum(one.get("fill") == "none" and one.tag.endswith("path") for one in root.iter())

    assert outlines(drawn(6.0)) > outlines(drawn(None))


def test_the_plan_keeps_the_shape_of_the_green() -> None:
    frame = next(one for one in drawn().iter() if one.tag.endswith("rect") and one.get("fill") == "none")
    assert float(frame.get("height", 0)) / float(frame.get("width", 1)) == pytest.approx(2.0, abs=0.01)


def test_labels_stand_out_from_every_tone() -> None:
    """Labels have a white halo; the ink on it is far above the 4.5 that WCAG 2.2 asks for."""
    from reports.page.charts import palette

    assert contrast(palette.INK, palette.WHITE) > 4.5


SAMPLES = (Sample("C1", "core", 2.0, 10.0), Sample("R1", "ring", 2.0, 10.0), Sample("P1", "probe", 8.0, 3.0))


def texts_of(root: ElementTree.Element) -> list[str]:
    return ["".join(one.itertext()) for one in root.iter("{http://www.w3.org/2000/svg}text")]


def with_samples(units: str = "metric", north: float | None = None) -> ElementTree.Element:
    rows = np.zeros((21, 11))
    rows[5:8, 5:8] = -14
    beside = Beside(SAMPLES, ((0.0, 0.0), (1.0, 0.0)), north)
    made = level_drawing.svg(
        level_map(grid(rows), 4.0, "the mean", 6, (Mark("lowest", 6.0, 6.0, -14.0),)), 6.0, units=units, beside=beside
    )  # type: ignore[arg-type]
    return ElementTree.fromstring(made)  # noqa: S314 - our own drawing


def test_samples_stand_on_the_map_with_their_names_and_a_key_of_their_marks() -> None:
    root = with_samples()
    assert {"C1", "R1", "P1", "core", "infiltration ring", "probe or hammer"} <= set(texts_of(root))
    assert "plants counted" not in texts_of(root)
    named = {"".join(one.itertext()): one for one in root.iter("{http://www.w3.org/2000/svg}text")}
    places = [(float(named[name].get("x", 0)), float(named[name].get("y", 0))) for name in ("C1", "R1")]
    assert places[0] != places[1], "two names of one place lie on one another"
    dots = [one for one in root.iter() if one.get("stroke-linecap") == "round"]
    assert dots[0].get("d", "").count("M") == 2


def test_an_arrow_points_north_only_where_it_is_recorded() -> None:
    assert "N" not in texts_of(with_samples())
    turned = [one.get("transform", "") for one in with_samples(north=-27.0).iter() if one.tag.endswith("}g")]
    assert turned[0].startswith("rotate(-27.0 ")


def test_north_is_turned_back_by_the_bearing_of_the_rinks(found: ConditionSurvey) -> None:
    """Rinks that run 27° east of north are drawn upright: north is 27° to the left of the top of the map."""
    assert found.levels is not None
    axes = replace(found.levels.axes, turn_deg=27.0)
    noted = replace(found.circumstances, notes=VisitNotes(y_bearing_deg=0.0))
    turned = replace(found, levels=replace(found.levels, axes=axes), circumstances=noted)
    assert beside_levels(turned).north_deg == -27.0
    assert beside_levels(found).north_deg is None


def test_labels_and_scale_are_in_the_units_asked_for() -> None:
    said = texts_of(with_samples("US"))
    assert "Height, in" in said
    assert "10 ft" in said
    assert "lowest −0.55" in said  # 14 mm
    assert not any(one.endswith((" m", "mm")) for one in said)


def test_the_same_map_is_not_printed_twice(found: ConditionSurvey) -> None:
    """Heights far beyond the tolerance have its steps, and were printed again as "cut and fill"."""
    assert found.levels is not None
    assert found.levels.cut_fill is not None
    edges = [one.low_mm for one in found.levels.map.bands]
    assert [one.low_mm for one in found.levels.cut_fill.bands] != edges
    keys = {"map:levels", "map:cutfill"}
    assert set(level_images(found.levels)) == keys
    assert set(level_images(replace(found.levels, cut_fill=None))) == keys - {"map:cutfill"}


def test_what_moved_means_is_said_beside_chance(found: ConditionSurvey) -> None:
    assert found.levels is not None
    moved = LevelsMoved(date(2023, 3, 14), 400, -0.4, 4.158, 3.25, 8.14, 1, None, doubtful=False)
    told = (
        " ".join(level_part(replace(found.levels, moved=moved), {}).moved).replace("\u202f", " ").replace("\u00a0", " ")
    )
    assert "differs by more than 4.2 mm" in told
    assert "13 points of 400 (3 %) did; had nothing moved, chance would still show about 20 (5 %)" in told
    assert "1 point differs by more than 8.1 mm" in told
    none = " ".join(level_part(replace(found.levels, moved=replace(moved, certain=0)), {}).moved)
    assert "None differs by more than" in none
    unknown = replace(moved, detectable_mm=None, beyond_pct=None, certain_mm=None)
    assert "no point can be said to have moved" in " ".join(level_part(replace(found.levels, moved=unknown), {}).moved)


@outside("library", "scipy.stats.norm.isf")
def test_what_chance_shows_at_no_point_is_widened_for_the_points() -> None:
    """For one point the limit is its own; for more of them the two-sided 5 % are shared (Bonferroni)."""
    from scipy.stats import norm

    one = float(norm.isf(0.025))
    assert certain_mm(one, 1) == pytest.approx(one)
    assert certain_mm(one, 10) == pytest.approx(float(norm.isf(0.0025)))
    assert certain_mm(one, 400) == pytest.approx(float(norm.isf(0.025 / 400)))
    assert certain_mm(None, 10) is None


def test_us_pages_have_no_metric_height(found: ConditionSurvey) -> None:
    made = view(found, version=VERSION, units="US").levels
    assert made is not None
    said = " ".join((made.lead, *(value for _, value in made.facts), made.lows_total, made.lows_note, made.map.alt))
    assert not re.search(r"\d[\s\u202f](?:mm|m|m²|m³|l|t)\b", said), said
    assert "in" in made.rinks_units.height


def test_names_of_a_crowded_place_step_aside_from_each_other_and_from_the_marks() -> None:
    """A core, a ring, a probe and a count within a metre, beside the lowest place: one name lay on the other."""
    at = {"C1": (4.0, 6.0), "R1": (4.3, 6.0), "P1": (4.0, 6.4), "F1": (4.6, 6.2), "P2": (5.0, 6.0), "C2": (6.6, 6.3)}
    kinds = {"C": "core", "R": "ring", "P": "probe", "F": "counted"}
    crowd = tuple(Sample(name, kinds[name[0]], *place) for name, place in at.items())
    drawn = level_map(grid(np.zeros((21, 11))), 4.0, "the mean", 6, (Mark("lowest", 5.4, 6.4, -14.0),))
    root = ElementTree.fromstring(level_drawing.svg(drawn, 6.0, beside=Beside(crowd)))  # noqa: S314 - our own drawing
    boxes: dict[str, tuple[float, float, float, float]] = {}
    for one in root.iter("{http://www.w3.org/2000/svg}text"):
        words = "".join(one.itertext())
        if words in at or words.startswith("lowest"):
            x, y, size = (float(one.get(name, 0)) for name in ("x", "y", "font-size"))
            half = (
                len(words) * size * 0.26
            )  # narrower than any word of the typeface: what overlaps here does so in print
            boxes[words] = (x - half, y - size * 0.72, x + half, y)
    assert set(boxes) == {*at, "lowest \N{MINUS SIGN}14"}
    frame = next(one for one in root.iter() if one.tag.endswith("rect") and one.get("fill") == "none")
    left, top, wide, high = (float(frame.get(name, 0)) for name in ("x", "y", "width", "height"))
    for name, box in boxes.items():
        assert left <= box[0] and top <= box[1] and box[2] <= left + wide and box[3] <= top + high, name
        for other, beside in boxes.items():
            apart = box[2] <= beside[0] or beside[2] <= box[0] or box[3] <= beside[1] or beside[3] <= box[1]
            assert name == other or apart, (name, other)
