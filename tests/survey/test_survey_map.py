"""The map of levels as drawn: one direction of tones, so that grey prints and every eye read the same."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest

from pipeline.agronomy.levels.level_grid import LevelGrid, level_grid
from pipeline.agronomy.levels.level_map import Mark, level_map
from reports.page.charts.palette import contrast, luminance
from reports.survey import level_drawing


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
