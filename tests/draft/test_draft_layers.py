"""Layers of soil in a column: each row keeps its own, and a row without one gets none."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.load.files import load_paths
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load
from tests.draft.conftest import Drafted, data_of, decide
from tests.outside_checks import outside

ROWS = "Date,Green,{},K mg/kg,pH\n2026-02-10,ALD-1,{},80,6\n2026-02-11,ALD-1,{},81,6\n"


def ends(workspace: Workspace) -> list[tuple[object, ...]]:
    with Store(workspace.store, read_only=True) as store:
        return store.rows(
            "SELECT depth_from_mm, depth_to_mm, count(*) FROM soil_test GROUP BY ALL ORDER BY ALL NULLS LAST"
        )


def test_a_layer_that_some_rows_have_is_not_given_to_all(
    county: Load, drafted: Drafted, workspace: Workspace, tmp_path: Path
) -> None:
    """It “stood in every row”, became a constant, and every row was stored as 0 to 75 mm deep."""
    draft = drafted(ROWS.format("Layer", "0-75", ""))
    data = data_of(draft)
    assert data["constants"] == {}
    assert data["fields"]["depth_from_mm"] == {
        "from": "Layer", "split": "-", "part": 1, "unit": "depth of layers",
    }  # fmt: skip
    assert "in 1 of 2 rows; those without it get no depth" in draft.text
    assert [(ask.key, ask.why) for ask in draft.asks] == [
        ("units.depth of layers", "“Layer” (0-75): nothing says the unit; write it (mm is what is stored)")
    ]
    decide(draft, {r"units\|depth of layers": "mm"})
    result = load_paths(workspace, [tmp_path / "export.csv"], today=TODAY)[0]
    assert result.counts.loaded == 4, result.faults
    assert ends(workspace) == [(0.0, 75.0, 2), (None, None, 2)]


def test_several_layers_are_read_by_one_profile(
    county: Load, drafted: Drafted, workspace: Workspace, tmp_path: Path
) -> None:
    """One had to be chosen, and another profile made for each of the others."""
    decide(drafted(ROWS.format("Sample depth (cm)", "0-10", "10-30")), {})
    result = load_paths(workspace, [tmp_path / "export.csv"], today=TODAY)[0]
    assert result.counts.loaded == 4, result.faults
    assert ends(workspace) == [(0.0, 100.0, 2), (100.0, 300.0, 2)]


@pytest.mark.parametrize(
    ("header", "first", "second", "mark", "unit"),
    [
        ("Layer", "0-75 mm", "0-75 mm", "-", "mm"),
        ("Layer", "0–3 in", "3–6 in", "–", "in"),
        ("soil_depth", "0 to 10 cm", "10 to 30 cm", "to", "cm"),
        ("Probe", "0-10cm", "10-30cm", "-", "cm"),
        ("Depth mm", "0-20", "20-40", "-", "mm"),
    ],
)
def test_a_unit_that_cells_or_header_say_is_not_asked(
    drafted: Drafted, header: str, first: str, second: str, mark: str, unit: str
) -> None:
    draft = drafted(ROWS.format(header, first, second))
    assert draft.asks == ()
    assert [data_of(draft)["fields"][f"depth_{end}_mm"] for end in ("from", "to")] == [
        {"from": header, "split": mark, "part": part, "unit": unit} for part in (1, 2)
    ]


@pytest.mark.parametrize(("first", "second"), [("0-10 cm", "100-300 mm"), ("0-10", "10 to 30"), ("0-10", "10-30 cm")])
def test_layers_not_written_alike_are_asked(drafted: Drafted, first: str, second: str) -> None:
    """The unit of one row must not become that of another."""
    draft = drafted(ROWS.format("Layer", first, second))
    assert data_of(draft)["only"] == {"Layer": ["?"]}
    assert "depth_to_mm" not in data_of(draft)["fields"]
    assert "layers that are not written alike" in draft.asks[0].why


@pytest.mark.parametrize(("header", "first", "second"), [("plot", "1-2", "1-3"), ("Layer", "75-0", "75-0")])
def test_what_is_no_layer_is_not_taken_for_one(drafted: Drafted, header: str, first: str, second: str) -> None:
    """Numbers of plots, and ends the wrong way round."""
    data = data_of(drafted(ROWS.format(header, first, second)))
    assert not {"depth_from_mm", "depth_to_mm"} & {*data["fields"], *data.get("constants", {})}
    assert "only" not in data


@outside("open data", "Rothamsted Research, Highfield ley-arable (CC BY 4.0)")
def test_an_open_file_with_depths_in_some_rows(workspace: Workspace, outside_data: Path, drafted: Drafted) -> None:
    """937 rows, of which most have no depth: counted here by hand with another reader."""
    import csv

    path = outside_data / "soil-blank-depth.csv"
    with path.open(encoding="utf-8") as file:
        cells = [row["soil_depth"] for row in csv.DictReader(file)]
    filled = sum(cell != "*" for cell in cells)
    assert 0 < filled < len(cells) / 2
    draft = drafted(path.read_bytes())
    assert "depth_to_mm" not in data_of(draft)["constants"]
    assert f"in {filled:,} of {len(cells):,} rows; those without it get no depth" in draft.text
