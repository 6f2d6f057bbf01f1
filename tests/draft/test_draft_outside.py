"""Open data files as other people made them draft something sensible.

Sources: 2016 MLSN paper data (CC0), OATS Center (Apache-2.0), soil survey, Rothamsted Research (CC BY 4.0).
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pipeline.draft import draft_profile
from pipeline.load.files import load_paths
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY
from tests.draft.conftest import data_of, decide
from tests.outside_checks import outside
from tests.thorough import thorough


def _draft(workspace: Workspace, folder: Path, name: str) -> tuple[dict[str, Any], dict[str, dict[str, Any]]]:
    data = data_of(draft_profile(workspace, folder / name))
    assert data["kind"] == "soil_test"
    return data, {entry["from"]: entry["set"] for entry in data["long"] if entry["from"] != "?"}


@outside("open data", "MLSN soil data (CC0)")
@thorough
def test_turf_soil_samples(workspace: Workspace, outside_data: Path) -> None:
    """13,062 rows; dates as month/day/year with two digits; M3 is Mehlich 3 and OM360 the loss at 360 °C (README)."""
    data, results = _draft(workspace, outside_data, "turf-soil-samples-a.csv")
    assert data["values"] == {"date_order": "mdy", "two_digit_years": 1950}
    assert data["fields"] == {"date": "Date", "lab": "Lab", "reference": "LabNo"}
    assert data["constants"]["green"] == "?"
    assert results["KM3"] == {"analyte": "potassium", "unit": "nutrients", "extractant": "mehlich_3"}
    assert results["OM360"] == {"analyte": "organic_matter", "unit": "?", "burn_c": 360}
    assert {"PM3", "CaM3", "MgM3", "NaM3", "SM3", "FeM3", "MnM3", "TECM3", "NO3N", "NH4N"} <= set(results)


@outside("open data", "OATS Center laboratory exports (Apache-2.0)")
def test_a_laboratorys_export_of_209_columns(workspace: Workspace, outside_data: Path) -> None:
    data, results = _draft(workspace, outside_data, "lab-wide-a.csv")
    assert data["values"] == {"date_order": "mdy"}
    assert (data["fields"]["date"], data["fields"]["sample"], data["fields"]["reference"]) == (
        "?",
        "Sample ID",
        "Lab No",
    )
    assert results["Potassium ppm K"] == {"analyte": "potassium", "unit": "mg/kg"}
    assert results["Organic Matter LOI %"] == {"analyte": "organic_matter", "unit": "%"}
    assert results["Olsen P ppm P"]["extractant"] == "olsen"
    assert results["Potassium M3 ICAP ppm K"]["extractant"] == "mehlich_3"
    for header in ("WDRF Buffer pH", "%K Sat", "Total P ppm", "Bray P-1 ppm P", "Nitrogen Rec (2)", "Salt pH"):
        assert header not in {**results, **data.get("columns", {})}  # none is what its letters seem to say


@outside("open data", "OATS Center laboratory exports (Apache-2.0)")
def test_units_welded_to_names(workspace: Workspace, outside_data: Path) -> None:
    data, results = _draft(workspace, outside_data, "soil-survey-wide.csv")
    text = (workspace.profiles / "soil-survey-wide.toml").read_text("utf-8").replace("\n# ", " ")
    assert results["OM_%"] == {"analyte": "organic_matter", "unit": "%"}
    assert results["olsenP_mg.kg"] == {"analyte": "phosphorus", "unit": "mg/kg", "extractant": "olsen"}
    assert results["CEC_meq.100g"]["unit"] == "meq/100g"
    assert results["Ca_mg.kg"]["analyte"] == "calcium"
    assert "columns" not in data
    assert all(f"“{header}”" in text for header in ("Ca_cmolc.kg", "poxC_mg.kg", "wsa_%", "nitrateN_lbs.ac"))
    assert data["fields"]["sample"] == "sampleId"


def test_results_without_units_or_days(workspace: Workspace, outside_data: Path) -> None:
    """Samples dated by the year alone, two layers in a column: the year is no day, and each row keeps its layer."""
    data, results = _draft(workspace, outside_data, "cations-soil.csv")
    assert data["fields"]["date"] == "?"
    assert data["fields"]["depth_to_mm"] == {
        "from": "soil_depth", "split": "-", "part": 2, "unit": "depth of layers",
    }  # fmt: skip
    assert {header: said["analyte"] for header, said in results.items()} == {
        "exch_al": "aluminium", "exch_ca": "calcium", "exch_cu": "copper", "exch_fe": "iron", "exch_k": "potassium",
        "exch_mg": "magnesium", "exch_mn": "manganese", "exch_na": "sodium", "exch_zn": "zinc",
    }  # fmt: skip
    assert {said["unit"] for said in results.values()} == {"nutrients"}
    assert data["units"] == {"depth of layers": "?", "nutrients": "?"}


@outside("open data", "Rothamsted Research (CC BY 4.0), doi 10.23637/wcs10")
@thorough
def test_the_liming_trial_drafts_and_loads(workspace: Workspace, outside_data: Path, tmp_path: Path) -> None:
    """Drafted, decided (plots as greens, mg/kg, layers in cm) and loaded: every row of 1,184 is accounted for."""
    made = draft_profile(workspace, outside_data / "liming-trial-soil-issue1.csv")
    data = data_of(made)
    assert "values" not in data  # ISO dates need no order, and "*" is a mark known without being said
    assert data["fields"]["date"] == "sample_date"
    decisions: dict[str, object] = {
        r"constants\|green": "PLOTS", r"units\|nutrients": "mg/kg", r"units\|depth of layers": "cm",
    }  # fmt: skip
    decide(made, decisions)
    assert made.path is not None
    text = made.path.read_text("utf-8")
    made.path.write_text(text.replace("[fields]\n", '[fields]\nsample = "plot"\n'), "utf-8")
    (tmp_path / "clubs.csv").write_text("club,name\nOPEN,Open soil data\n", "utf-8")
    (tmp_path / "greens.csv").write_text("green,club\nPLOTS,OPEN\n", "utf-8")
    load_paths(workspace, [tmp_path / "clubs.csv", tmp_path / "greens.csv"], today=TODAY)
    result = load_paths(workspace, [outside_data / "liming-trial-soil-issue1.csv"], today=TODAY)[0]
    rows = (outside_data / "liming-trial-soil-issue1.csv").read_text("utf-8").splitlines()[1:]
    assert len(data["long"]) == 7
    assert result.counts.rows == 7 * len(rows)
    with Store(workspace.store, read_only=True) as store:
        layers = store.rows("SELECT DISTINCT depth_from_mm, depth_to_mm FROM soil_test ORDER BY ALL")
    assert {f"{low / 10:g}-{high / 10:g}" for low, high in layers} <= {row.split(",")[6] for row in rows}
    assert len(layers) > 1
