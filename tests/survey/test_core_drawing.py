"""Cores as drawn: ash is told from turf by its pattern and its words, on a grey print too."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree

import pytest

from pipeline.indicators.base.green_season import Evidence
from pipeline.survey.visit_observations import CoreLayer, LayerProfile
from reports.page.charts import palette
from reports.survey import core_drawing
from reports.survey.core_drawing import MATERIALS, materials

PLACE = Evidence("o.csv", 2, "observation", 1)


def core(*layers: tuple[str, float], roots: float | None = None) -> LayerProfile:
    found, top = [], 0.0
    for name, bottom in layers:
        found.append(CoreLayer(top, bottom, name, "", PLACE))
        top = bottom
    return LayerProfile("C1, 8 m across, 8 m along", tuple(found), (), None, roots, top)


def drawn(one: LayerProfile, units: str = "metric") -> ElementTree.Element:
    return ElementTree.fromstring(core_drawing.svg(one, one.deepest_mm, units))  # type: ignore[arg-type]  # noqa: S314


def words(root: ElementTree.Element) -> str:
    return " ".join("".join(one.itertext()) for one in root.iter("{http://www.w3.org/2000/svg}text"))


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("ash", ("ash",)),
        ("Ash and clinker", ("ash",)),
        ("turf and thatch", ("turf",)),
        ("washed sand", ("sand",)),  # and no ash
        ("sandy loam", ("sand", "soil")),
        ("soil and old dressings", ("sand", "soil")),
        ("fibrous soil", ("fibre", "soil")),
        ("clay loam", ("clay", "soil")),
        ("blinding layer", ()),
    ],
)
def test_the_words_of_a_layer_ask_for_its_pattern(said: str, expected: tuple[str, ...]) -> None:
    assert materials(said) == expected


def test_no_two_materials_are_drawn_alike() -> None:
    """Turf and ash had tones of grey that a printer made one."""
    shapes = {}
    for name, parts in MATERIALS.items():
        root = drawn(core((parts[0], 100.0)))
        marks = [one.get("d") or one.tag for one in root.iter() if one.tag.endswith(("path", "circle"))]
        shapes[name] = tuple(marks)
    assert len(set(shapes.values())) == len(MATERIALS)
    assert all(len(one) > 1 for one in shapes.values()), "a pattern and the line that leads to its words"


def test_nothing_is_told_by_colour() -> None:
    root = drawn(core(("turf", 20.0), ("ash", 200.0), roots=80.0))
    inks = {one.get(what) for one in root.iter() for what in ("fill", "stroke")} - {None, "none"}
    assert inks <= {palette.INK, palette.SOFT, palette.WHITE}


def test_words_stand_whole_beside_the_core_in_its_units() -> None:
    sandy = "dark sandy layer of old dressings with stones"
    one = core(("turf and thatch", 20.0), (sandy, 62.0), ("ash", 210.0), roots=105.0)
    said = words(drawn(one)).replace("\u202f", " ")
    for part in ("turf and thatch, 0–20 mm", f"{sandy}, 20–62 mm"):
        assert part in said
    assert "roots reach 105 mm" in said
    assert "…" not in said
    us = words(drawn(one, "US")).replace("\u202f", " ")
    assert "0.00–0.79 in" in us
    assert " mm" not in us


def test_labels_of_thin_layers_do_not_lie_on_one_another() -> None:
    thin = core(*((f"layer {i}", 4.0 * i) for i in range(1, 9)), ("ash", 300.0))
    texts = [one for one in drawn(thin).iter("{http://www.w3.org/2000/svg}text") if one.get("text-anchor") is None]
    heights = sorted(float(one.get("y", 0)) for one in texts)
    assert min(b - a for a, b in pairwise(heights)) >= core_drawing.LINE
    assert heights[-1] <= core_drawing.HEIGHT
