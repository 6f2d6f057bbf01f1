"""One decision is one question: the unit of nutrients, of a station's temperatures, of both distances of a place."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.common.refusal import CannotDo
from pipeline.load.files import load_paths
from pipeline.profiles.profile import read_profile
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load
from tests.draft.conftest import Drafted, data_of, decide, open_places

LAB = "Date,Green,K,Mg,Ca,OM\n2026-02-10,ALD-1,80,64,900,4.9\n2026-02-11,ALD-1,92,71,950,5.5\n"


def test_the_unit_of_all_nutrients_is_asked_once_and_holds_for_each(
    county: Load, drafted: Drafted, workspace: Workspace, tmp_path: Path
) -> None:
    draft = drafted(LAB)
    data = data_of(draft)
    assert open_places(data) == ["units|nutrients", "long|OM|set|unit"]
    (asked,) = (ask for ask in draft.asks if ask.key == "units.nutrients")
    assert asked.why.startswith("nothing says the unit of K, Mg, Ca (line 2, “K”: 80): write one of %, ")
    assert asked.why.endswith("; a column in another unit gets its own in its table")
    decide(draft, {r"units\|nutrients": "mg/kg", r"long\|OM\|set\|unit": "%"})
    result = load_paths(workspace, [tmp_path / "export.csv"], today=TODAY)[0]
    assert result.counts.loaded == 8, result.faults
    with Store(workspace.store, read_only=True) as store:
        found = store.rows("SELECT DISTINCT analyte, unit FROM soil_test ORDER BY analyte")
    assert found == [("calcium", "mg/kg"), ("magnesium", "mg/kg"), ("organic_matter", "%"), ("potassium", "mg/kg")]


def test_a_station_writes_its_temperatures_in_one_unit(drafted: Drafted, workspace: Workspace, tmp_path: Path) -> None:
    """48 is no 48 °C: asked once, and it holds for both."""
    text = "Station,Date,TMAX,TMIN\nOstershire airfield,2026-01-01,48,38\n"
    draft = drafted(text, kind="weather_day")
    assert [(ask.key, ask.why) for ask in draft.asks] == [
        (
            "units.temperatures",
            "nothing says the unit of TMAX (line 2: 48), TMIN (line 2: 38): write it (°C or °F)",
        )
    ]
    decide(draft, {r"units\|temperatures": "°F"})
    assert load_paths(workspace, [tmp_path / "export.csv"], today=TODAY)[0].counts.loaded == 1
    with Store(workspace.store, read_only=True) as store:
        ((high, low),) = store.rows("SELECT tmax_c, tmin_c FROM weather_day")
    assert (round(float(high), 1), round(float(low), 1)) == (8.9, 3.3)


def test_both_distances_of_a_place_are_one_decision(drafted: Drafted) -> None:
    draft = drafted("Date,Green,X,Y,Drop 1,Drop 2\n2026-09-16,ALD-1,2.5,5,88,94\n")
    data = data_of(draft)
    assert data["kind"] == "observation"
    assert [entry["set"]["drop"] for entry in data["long"]] == [1, 2]
    assert open_places(data) == ["units|distances", "units|hardness readings"]


def test_lengths_of_a_job_are_asked_one_by_one(drafted: Drafted) -> None:
    """A crew writes a depth in inches beside a tine in mm."""
    draft = drafted("Date,Green,Operation,Depth,Tine\n2026-09-16,ALD-1,hollow coring,4,12\n")
    assert open_places(data_of(draft)) == ["fields|depth_mm|unit", "fields|tine_mm|unit"]


@pytest.mark.parametrize(
    ("units", "message"),
    [
        ('[units]\nlengths = "in"\n', "no column says that its unit is 'lengths'"),
        ("[units]\ndepths = 1\n", 'units: write name = "unit", one a line'),
    ],
)
def test_a_name_that_nothing_uses_is_refused(tmp_path: Path, units: str, message: str) -> None:
    path = tmp_path / "crew.toml"
    path.write_text(
        f'name = "crew"\nkind = "job"\n{units}[fields]\ndepth_mm = {{ from = "Deep", unit = "depths" }}\n', "utf-8"
    )
    with pytest.raises(CannotDo, match=message):
        read_profile(path)


def test_names_stand_for_units_wherever_a_unit_is_said(tmp_path: Path) -> None:
    path = tmp_path / "lab.toml"
    path.write_text(
        'name = "lab"\nkind = "soil_test"\n[units]\nd = "cm"\nn = "mg/kg"\n'
        '[fields]\ndepth_to_mm = { from = "To", unit = "d" }\n'
        '[columns]\nFrom = { field = "depth_from_mm", unit = "d" }\n'
        '[[long]]\nfrom = "K"\nset = { analyte = "potassium", unit = "n" }\n'
        '[[long]]\nfrom = "Mg"\nset = { analyte = "magnesium", unit = "%" }\n',
        "utf-8",
    )
    profile = read_profile(path)
    assert {name: one.unit for name, one in profile.fields.items()} == {"depth_to_mm": "cm", "depth_from_mm": "cm"}
    assert [entry.constants["unit"] for entry in profile.long] == ["mg/kg", "%"]


@pytest.mark.parametrize(
    ("rows", "places"),
    [
        ("Date,Green,Operation,Depth\n2026-04-03,ALD-1,mowing,\n", []),
        ("Date,Green,Operation,Depth\n2026-04-03,ALD-1,mowing,3\n", ["fields|depth_mm|unit"]),
        ("Date,Green,pH,K,Mg\n2026-02-10,ALD-1,5.9,,\n", []),
    ],
)
def test_what_is_empty_needs_no_unit_and_gets_none(drafted: Drafted, rows: str, places: list[str]) -> None:
    """A column without figures was mapped without a unit: what filled it later was read in the store's own."""
    data = data_of(drafted(rows))
    assert open_places(data) == places
    if not places:
        assert "depth_mm" not in data["fields"]
        assert [entry["from"] for entry in data.get("long", [])] in ([], ["pH"])
        assert "ignore" not in data  # loading names the column once it is filled
