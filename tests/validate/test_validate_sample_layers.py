"""Layers of one sample: overlapping ones are asked about, and a whole must be what its layers come to."""

from __future__ import annotations

import pytest

from tests.conftest import Load

HEAD = "date,green,analyte,depth_from_mm,depth_to_mm,value,unit\n"


def codes(result: object) -> list[tuple[int, str]]:
    return result.faults.select("line", "code").rows()  # type: ignore[attr-defined,no-any-return]


@pytest.mark.parametrize(
    ("layers", "said"),
    [
        ([(0, 20, 6.7), (20, 40, 3.1), (40, 60, 2.0)], []),
        ([(0, 20, 6.7), (10, 30, 3.1)], [(2, "depth.overlap"), (3, "depth.overlap")]),
        ([(40, 20, 6.7)], [(2, "depth.order")]),
        # 6.7, 3.1 and 2.0 % weigh 1.104, 1.312 and 1.391 t/m³ (formula of check 3.4): 3.73 % over 0–60 mm
        ([(0, 20, 6.7), (20, 40, 3.1), (40, 60, 2.0), (0, 60, 3.7)], []),
        ([(0, 20, 6.7), (20, 40, 3.1), (40, 60, 2.0), (0, 60, 6.0)], [(5, "depth.sum")]),
    ],
)
def test_layers(county: Load, layers: list[tuple[int, int, float]], said: list[tuple[int, str]]) -> None:
    rows = "".join(f"2026-02-10,ALD-1,organic matter,{low},{high},{value},%\n" for low, high, value in layers)
    assert codes(county("soil.csv", HEAD + rows)) == said


def test_a_mix_of_more_than_everything_is_rejected(county: Load) -> None:
    result = county("materials2.csv", "material,sort,mix\nodd mix,top dressing,\nother,top dressing,70/30\n")
    assert not result.failed
    result = county("materials3.csv", "material,sort,sand_pct,soil_pct\nodd mix,top dressing,80,30\n")
    assert codes(result) == [(2, "mix.too_much")]


def test_a_size_that_contradicts_the_area_is_asked_about(county: Load) -> None:
    result = county("greens2.csv", "green,club,area_m2,length_m,width_m\nALD-2,ALD,1444,38,28\n")
    assert codes(result) == [(2, "area.size")]
    assert result.counts.loaded == 1
