"""A flat green of 1,600 m² through a season, from a crew's log to the text of the report.

The works and amounts are common practice, no source; the figures expected are worked by hand beside each check.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from pipeline.indicators.base.green_season import GreenSeason, Indicator
from pipeline.load.result import FileResult
from pipeline.publish.documents import season_of_green, write_reports
from pipeline.workspace.settings import Workspace
from tests.conftest import Load

LOG = """\
When,What,Passes,Blade,Blade spacing,Tine,How deep,Holes,Cut at,With what,How much,Came off
10/10/2025,dressed,,,,,,,,70/30 sand and soil,2t,
16/03/2026,scarified,2,1 mm,,,2-3mm,,,,,8-10 barrow loads
16/03/2026,solid tined,,,,3/4 in,3-4 in,"1,000,000",,,,
16/03/2026,cut,,,,,,,6,,,
20/03/2026,dressed,,,,,,,,70/30 sand and soil,2 tonnes,
20/03/2026,fed,,,,,,,,spring granular 11-5-5 + 8 Fe,{feed},
12/06/2026,dressed,,,,,,,,70/30 sand and soil,2 t,
"""


@pytest.fixture
def season(county: Load, workspace: Workspace) -> tuple[FileResult, GreenSeason]:
    return _season(county, workspace, "2 x 25 kg")


def _season(county: Load, workspace: Workspace, feed: str) -> tuple[FileResult, GreenSeason]:
    shutil.copy(Path(__file__).parent / "profiles" / "crew-log.toml", workspace.profiles)
    result = county("log.csv", LOG.format(feed=feed))
    assert result.counts.rejected == 0, result.faults
    assert result.counts.loaded == 7
    return result, season_of_green(workspace, "ALD-1", "2026")


def figure(season: GreenSeason, name: str, band: str = "") -> Indicator:
    return next(one for one in season.indicators if one.name == name and one.band == band)


def test_a_million_holes_are_625_a_square_metre_one_every_40_mm(season: tuple[FileResult, GreenSeason]) -> None:
    holes = figure(season[1], "holes_m2", "Solid tining")
    assert holes.value == pytest.approx(625)  # 1,000,000 / 1,600 m²
    assert "every 40 mm both ways" in holes.note  # 1000 / √625
    # 19.05 mm tines: 100 · π · 19.05² / 4 · 625 / 10⁶
    assert figure(season[1], "disturbed_pct").value == pytest.approx(17.81, abs=0.01)


def test_three_dressings_of_2_t_are_3_75_kg_a_square_metre_or_2_5_mm(season: tuple[FileResult, GreenSeason]) -> None:
    assert figure(season[1], "dressing_kg_m2").value == pytest.approx(3.75)  # 6,000 kg / 1,600 m²
    assert figure(season[1], "dressing_mm").value == pytest.approx(2.5)  # 3.75 / 1.5 t/m³
    assert figure(season[1], "dressing_t").value == pytest.approx(6.0)
    assert figure(season[1], "sand_kg_m2").value == pytest.approx(3.75 * 0.7)
    assert figure(season[1], "soil_kg_m2").value == pytest.approx(3.75 * 0.3)
    assert [round(point.total, 3) for point in season[1].running[0].points] == [1.25, 2.5, 3.75]


def test_two_bags_of_11_5_5_and_8_fe(season: tuple[FileResult, GreenSeason]) -> None:
    nitrogen = figure(season[1], "nitrogen_kg_ha")
    assert nitrogen.value == pytest.approx(34.375)  # 50 kg × 11 % = 5.5 kg N on 1,600 m² = 3.4375 g/m²
    assert "3.44 g/m²" in nitrogen.note
    # 50 kg × 5 % = 2.5 kg P2O5 × 0.43643 = 1.091 kg P on 1,600 m²
    phosphorus = figure(season[1], "phosphorus_kg_ha").value
    assert phosphorus is not None
    assert phosphorus * 1600 / 10_000 == pytest.approx(1.09, abs=0.005)
    assert figure(season[1], "iron_kg_ha").value == pytest.approx(25.0)  # 50 kg × 8 % = 4 kg = 2.5 g/m²
    assert figure(season[1], "nitrogen_cover_weeks").value == pytest.approx(6.0)  # the label's six weeks


def test_scarifying_without_blade_spacing_is_said_not_guessed(season: tuple[FileResult, GreenSeason]) -> None:
    blades = figure(season[1], "bladed_pct")
    assert blades.value is None
    assert "1 of 1 jobs do not say enough" in blades.note


def test_the_range_and_the_barrow_loads_are_kept_as_written(
    season: tuple[FileResult, GreenSeason], workspace: Workspace
) -> None:
    from pipeline.store.store import Store

    with Store(workspace.store, read_only=True) as store:
        rows = store.rows("SELECT depth_mm, debris_l, written FROM job WHERE operation = 'scarifying'")
    depth, debris, written = rows[0]
    assert depth == pytest.approx(2.5)  # middle of 2–3 mm
    assert debris == pytest.approx(9 * 85)  # middle of 8–10 loads of the 85 l the profile declares
    assert '"debris": "8-10 barrow loads"' in written
    assert '"depth_mm": "2-3mm"' in written


def test_bags_and_weight_run_together_are_loaded_with_the_likely_reading(county: Load, workspace: Workspace) -> None:
    result, season = _season(county, workspace, "225 kg")
    warning = result.faults.filter(result.faults["code"] == "dose.high").row(0, named=True)
    assert warning["line"] == 7
    assert warning["severity"] == "warning"
    assert "225 kg is 141 g/m² of product and 15.5 g N/m²" in warning["message"]
    assert "2 × 25 kg run together, which is 50 kg or 31 g/m²" in warning["message"]
    dose = figure(season, "nitrogen_dose_g_m2")
    assert dose.value == pytest.approx(15.47, abs=0.01)  # 225 kg × 11 % / 1,600 m²
    assert dose.standing == "above"
    assert any(note.text.startswith("Line 7 of ") for note in season.data_notes)


def test_the_report_says_it_in_print(season: tuple[FileResult, GreenSeason], workspace: Workspace) -> None:
    import pypdfium2

    (written,) = write_reports(workspace, greens=["ALD-1"], season="2026", workers=1)
    assert written.fault == ""
    assert 2 <= written.pages <= 4
    document = pypdfium2.PdfDocument(written.path)
    text = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in document)
    document.close()
    text = text.replace("\N{NO-BREAK SPACE}", " ").replace("\N{NARROW NO-BREAK SPACE}", " ")
    for said in (
        "Alder Brook Bowls Club",
        "3.75 kg/m²",
        "2.5 mm",
        "34 kg/ha",
        "625 holes/m²",
        "log.csv",
        "certifies nothing",
    ):
        assert said in text, said
