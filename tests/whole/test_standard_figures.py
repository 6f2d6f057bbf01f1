"""Figures a committee asks for beside the main ones: price of nitrogen, claims of holes, cost by operation, scales."""

from __future__ import annotations

import json
import sys

import pytest

from pipeline.cli.app import main
from pipeline.common.refusal import CannotDo
from pipeline.indicators.base.green_season import Indicator
from pipeline.publish.documents import season_of_green
from pipeline.workspace.settings import Workspace, open_workspace
from tests.conftest import Load
from tests.thorough import beyond


def figures(workspace: Workspace) -> dict[tuple[str, str], Indicator]:
    return {(one.name, one.band): one for one in season_of_green(workspace, "ALD-1", "2026").indicators}


def test_nitrogen_is_priced_by_the_kilogram(county: Load, workspace: Workspace) -> None:
    county("jobs.csv", "date,green,operation,material,packs\n2026-04-01,ALD-1,fed,spring granular 11-5-5 + 8 Fe,2\n")
    # two packs of 25 kg at 31.50 hold 50 kg × 11 % = 5.5 kg N: 63.00 / 5.5
    found = figures(workspace)["nitrogen_price_kg", ""]
    assert found.value == pytest.approx(63 / 5.5)
    assert found.unit == "GBP/kg"


def test_a_claimed_count_is_held_against_the_spacing(county: Load, workspace: Workspace) -> None:
    head = "date,green,operation,tine_mm,spacing_along_mm,holes\n"
    county("jobs.csv", head + "2026-03-16,ALD-1,solid tined,12,50,1000000\n")
    # 1,000,000 holes on 1,600 m² are 625/m²; 50 × 50 mm makes 400/m²: 56 % more
    assert "+56 % off what the spacing stated gives" in figures(workspace)["holes_m2", "Solid tining"].note


def test_hours_and_cost_stand_by_operation(county: Load, workspace: Workspace) -> None:
    head = "date,green,operation,hours,cost\n"
    county("jobs.csv", head + "2026-03-16,ALD-1,cut,1,20\n2026-03-17,ALD-1,cut,1.5,\n2026-03-17,ALD-1,rolled,2,30\n")
    found = figures(workspace)
    assert found["hours_of_h", "Mowing"].value == pytest.approx(2.5)
    assert found["cost_of", "Mowing"].value == pytest.approx(20)
    assert "Logged for 1 of 2 jobs" in found["cost_of", "Mowing"].note
    assert found["cost_of", "Rolling"].value == pytest.approx(30)


def test_the_uk_index_is_said_to_be_agricultural_and_only_of_its_own_extractant(
    county: Load, workspace: Workspace
) -> None:
    head = "date,green,analyte,extractant,value,unit\n"
    county("soil.csv", head + "2026-02-10,ALD-1,P,olsen,26,mg/l\n2026-02-10,ALD-1,K,mehlich 3,181,mg/kg\n")
    found = figures(workspace)
    # 26 mg/l Olsen P is index 3: Nutrient Action Programme Regulations (NI) 2019, Schedule 5
    assert (
        "UK agricultural index 3: no measure of what turf needs" in found["phosphorus_mg_l", "Olsen bicarbonate"].note
    )
    assert "index" not in found["potassium_mg_kg", "Mehlich 3"].note


def test_sets_of_targets_are_chosen_in_the_settings(county: Load, workspace: Workspace) -> None:
    county("soil.csv", "date,green,analyte,extractant,value,unit\n2026-02-10,ALD-1,K,mehlich 3,60,mg/kg\n")
    key = ("potassium_mg_kg", "Mehlich 3")
    assert (figures(workspace)[key].target_low, figures(workspace)[key].standing) == (37, "within")
    path = workspace.folder / "settings.toml"
    path.write_text('targets = ["standard", "slan-2004"]\n', "utf-8")
    chosen = figures(open_workspace(workspace.folder))[key]
    assert (chosen.target_low, chosen.standing) == (117, "below")
    assert chosen.target_source == "conventional sufficiency minima for turf (2004)"
    path.write_text("targets = []\n", "utf-8")
    assert figures(open_workspace(workspace.folder))[key].standing == "no target"
    path.write_text('targets = ["nonsense"]\n', "utf-8")
    with pytest.raises(
        CannotDo, match="there is no set of targets 'nonsense'; sets are common-practice, golf-dressing-2019, "
    ):
        open_workspace(workspace.folder)


@pytest.mark.parametrize("area", ["treated_area_m2", "Area (m2)"])
@beyond(1)
def test_one_job_in_two_halves_is_shown_as_one(
    county: Load, workspace: Workspace, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], area: str
) -> None:
    """From the crew's file to ``show --json``: 8 t on 1,600 m² are 5 kg/m², in two halves of 800 m² too."""
    half = "2026-03-10,ALD-1,top dressing,70/30 sand and soil,4 t,800\n"
    before = "2025-10-02,ALD-1,mowing,,,\n"  # or the log would begin late in the season, and no total be judged
    assert not county("jobs.csv", f"date,green,operation,material,quantity,{area}\n{before}{half}{half}").failed
    monkeypatch.setattr(sys, "argv", ["swardtally", "show", "ALD-1", "-w", str(workspace.folder), "--json"])
    with pytest.raises(SystemExit) as ended:
        main()
    assert not ended.value.code
    shown = {one["name"]: one for one in json.loads(capsys.readouterr().out)["indicators"]}
    assert shown["dressing_kg_m2"]["value"] == pytest.approx(5.0)
    assert shown["dressing_kg_m2"]["standing"] == "within"
    assert shown["operations"]["value"] == 3  # lines of the log, and said to be
