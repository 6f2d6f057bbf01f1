"""Rendering: the same bytes everywhere, nothing fetched, no complaint let through, one bad green stops no other."""

from __future__ import annotations

import hashlib
import json
import logging
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from pipeline.indicators.base.green_season import GreenSeason, Sample
from pipeline.publish import pool
from reports.condition import render as condition
from reports.page import document, finish, rendering
from reports.page.charts import charts, vega
from tests.reports import sample
from tests.reports.conftest import VERSION
from tests.thorough import thorough

ROOT = Path(__file__).parents[2]
_ELSEWHERE = """
import hashlib, sys
sys.path.insert(0, {root!r})
from reports.condition.render import render
from tests.reports import sample
print(hashlib.sha256(render(sample.rich(), version={version!r})).hexdigest())
"""


def test_same_season_same_bytes_also_after_other_documents(pdf_of: Callable[[str], bytes]) -> None:
    before = pdf_of("rich")
    pdf_of("hostile")
    assert condition.render(sample.rich(), version=VERSION) == before


@thorough
def test_same_bytes_in_another_process_time_zone_and_home(pdf_of: Callable[[str], bytes], tmp_path: Path) -> None:
    # guards against hash order, local time and the machine's own fonts leaking in
    env = {"PATH": os.environ["PATH"], "HOME": str(tmp_path), "TZ": "Pacific/Auckland", "LANG": "C.UTF-8",
           "PYTHONHASHSEED": "77", "TMPDIR": str(tmp_path)}  # fmt: skip
    code = _ELSEWHERE.format(root=str(ROOT), version=VERSION)
    made = subprocess.run(
        [sys.executable, "-c", code], env=env, capture_output=True, text=True, check=True, cwd=tmp_path
    )
    assert made.stdout.strip() == hashlib.sha256(pdf_of("rich")).hexdigest()


def test_anything_outside_the_report_stops_the_rendering(monkeypatch: pytest.MonkeyPatch) -> None:
    # guards against a file of the machine being drawn or attached: file, network and unknown keys alike
    for url in ("file:///etc/hostname", "http://invalid/x.svg", "chart:unknown", "data:image/svg+xml,<svg/>"):
        page = f"<html lang=en><title>t</title><img src='{url}' alt='x'></html>"
        monkeypatch.setattr(condition, "fill", lambda *_, page=page, **__: page)
        with pytest.raises(document.RenderingFault, match="not part of the document"):
            condition.render(sample.empty(), version=VERSION)


def test_any_complaint_of_the_renderer_is_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    bad = "<html lang=en><title>t</title><p style='colour: red'>x</p></html>"
    monkeypatch.setattr(condition, "fill", lambda *_, **__: bad)
    with pytest.raises(document.RenderingFault, match="colour"):
        condition.render(sample.empty(), version=VERSION)
    assert not [h for h in logging.getLogger("weasyprint").handlers if isinstance(h, rendering._Complaints)]


def test_markup_in_names_stays_text() -> None:
    made = condition.html(sample.hostile(), version=VERSION)
    assert "<script" not in made
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in made
    assert "{{ 7*7 }}" in made


def over_years(season: GreenSeason) -> charts.ChartGroup:
    """The first group of charts over the years."""
    return next(one for one in charts.chart_groups(season) if one.kind == "years")


def test_samples_that_cannot_be_compared_are_hollow_named_and_off_the_line() -> None:
    group = over_years(sample.uncompared())
    spec = json.dumps(group.charts[0].spec)
    assert "other method" in spec
    lines = [layer for layer in group.charts[0].spec["layer"] if layer["mark"]["type"] == "line"]
    assert [len(layer["data"]["values"]) for layer in lines] == [1]
    hollow = [layer for layer in group.charts[0].spec["layer"] if layer["mark"].get("shape") == "square"]
    assert len(hollow[0]["data"]["values"]) == 2
    assert "Hollow square" in group.caption


def test_depths_share_one_scale_and_show_every_reading() -> None:
    group = over_years(sample.rich())
    scales = set()
    for chart, series in zip(group.charts, sample.rich().series, strict=False):
        for layer in chart.spec["layer"]:
            scales.add(json.dumps(layer["encoding"]["y"]["scale"]))
        small = [layer for layer in chart.spec["layer"] if layer["mark"].get("xOffset")]
        assert len(small[0]["data"]["values"]) == sum(len(s.readings) for s in series.samples)
    assert len(scales) == 1


def test_chart_text_is_text_in_the_bundled_typeface() -> None:
    made = vega.svg(charts.chart_groups(sample.rich())[0].charts[0].spec).decode()
    assert "<text" in made
    assert 'font-family="Inter"' in made
    assert "radient" not in made  # Poppler draws some gradients as dots


def test_a_chart_drawn_anew_is_the_chart_that_was_kept_and_few_are_kept() -> None:
    specs = [one.spec for group in charts.chart_groups(sample.rich()) for one in group.charts]
    first = [vega.svg(spec) for spec in specs]
    hits = vega._svg.cache_info().hits
    assert [vega.svg(spec) for spec in specs] == first
    assert vega._svg.cache_info().hits == hits + len(specs)
    vega._svg.cache_clear()
    assert [vega.svg(spec) for spec in specs] == first
    for width in range(100, 101 + vega.KEPT):
        vega.svg({**specs[0], "width": width, "layer": specs[0]["layer"][:1]})
    assert vega._svg.cache_info().currsize == vega.KEPT


def test_a_mean_without_interval_has_no_interval_drawn() -> None:
    season = sample.rich()
    alone = tuple(Sample(s.date, s.value, None, None, 1, (s.value,), s.method) for s in season.series[0].samples)
    series = replace(season.series[0], samples=alone)
    chart = over_years(replace(season, series=(series,))).charts[0]
    rules = [
        layer for layer in chart.spec["layer"] if layer["encoding"]["y"]["field"] == "low" and "x" in layer["encoding"]
    ]
    assert rules[0]["data"]["values"] == []
    assert "interval" not in chart.alt


def test_no_stream_ends_in_a_way_readers_may_miscount() -> None:
    # ISO 32000-1, 7.3.8.1: a stream whose last byte is CR, then LF endstream, is counted one short by some readers
    import pydyf

    pdf = pydyf.PDF()
    words = next(w for w in (b"%" + b"a" * k for k in range(1000)) if finish.ambiguous(_deflated(w, {}).data))
    drawing, binary = _deflated(words, {"Subtype": "/Form"}), _deflated(words, {"Type": "/EmbeddedFile"})
    pdf.add_object(drawing)
    pdf.add_object(binary)
    assert finish.ambiguous(drawing.data)
    finish._settle(pdf)
    settled = {one.number: one.data for one in pdf.objects[1:]}
    assert not any(finish.ambiguous(settled[one.number]) for one in (drawing, binary))
    assert words in settled[binary.number]


def _deflated(words: bytes, extra: dict[str, str]) -> Any:
    import pydyf

    return pydyf.Stream([words], extra, compress=True)


@pytest.mark.parametrize("workers", [1, 2])
def test_one_bad_green_does_not_stop_the_rest(tmp_path: Path, workers: int) -> None:
    bad = replace(sample.empty(), green="bad", facts=None)  # type: ignore[arg-type]
    seasons = [replace(sample.empty(), green=f"G{k}") for k in range(3)]
    tasks = [
        pool.Task(season.green, "condition", season, tmp_path / "out" / f"{season.green}.pdf")
        for season in (bad, *seasons)
    ]
    made = {outcome.name: outcome for outcome in pool.render_many(tasks, workers=workers, version=VERSION)}
    assert set(made) == {"bad", "G0", "G1", "G2"}
    assert made["bad"].fault and not made["bad"].target.exists()
    for green in ("G0", "G1", "G2"):
        assert made[green].fault == ""
        assert made[green].pages == 1  # next to nothing is on record, and page one has room for it
        assert hashlib.sha256(made[green].target.read_bytes()).hexdigest() == made[green].sha256
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == ["G0.pdf", "G1.pdf", "G2.pdf"]


def test_a_report_that_takes_too_long_is_named(tmp_path: Path) -> None:
    task = pool.Task("rich", "condition", sample.rich(), tmp_path / "late.pdf")
    (outcome,) = pool.render_many([task], workers=1, version=VERSION, seconds=0.05)
    assert outcome.fault == "not done after 0.05 s"
    assert not task.target.exists()
