"""Any table whatever drafts to valid TOML whose marks are exactly what is asked; nothing ends in a traceback."""

from __future__ import annotations

import csv
import io
import tempfile
import tomllib
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.draft import draft_profile
from pipeline.load.files import load_paths
from pipeline.profiles.profile import read_profile
from pipeline.workspace.settings import Settings, Workspace
from tests.conftest import TODAY
from tests.draft.conftest import decide, open_places
from tests.thorough import examples

HEADERS = [
    *("Date", "Green", "Operation", "Product", "Qty", "Rate g/m2", "Depth (in)", "pH", "K mg/kg", "OM 0-20mm", "LOI"),
    *("P_Olsen", "Value", "Unit", "Analyte", "Rink", "Seconds", "name", "club", "?", '"', 'x = "y"', "[a]", "# b"),
    *("Amount", "Took off", "Layer", "Taken", "Wann", "day", "Hours"),
]
CELLS = [
    *("", "03/04/2026", "13/04/2026", "2026-04-03", "3 Apr 26", "45000", "1,5", "1.5", "1,369", "-99", "NA", "<0.5"),
    *("ND", "mowing", "ALD-1", "2 x 25 kg", "3 barrow loads", "2 ton", "8 oz", "0-25", "12+", "#DIV/0!", "½", "9'6\""),
    *("?", "x", "mg/kg", "%", "=1+1"),
]
TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)


@st.composite
def tables(draw: st.DrawFn) -> str:
    """A small table of likely and unlikely headers and cells, as CSV."""
    headers = draw(st.lists(st.sampled_from(HEADERS) | TEXT, min_size=1, max_size=8))
    cell = st.sampled_from(CELLS) | TEXT
    rows = draw(st.lists(st.lists(cell, min_size=len(headers), max_size=len(headers)), max_size=5))
    out = io.StringIO()
    csv.writer(out).writerows([headers, *rows])
    return out.getvalue()


DECISIONS: dict[str, object] = {
    r"kind": "job",
    r"values\|date_order": "dmy",
    r"values\|spreadsheet_dates": 1900,
    r"values\|decimal": ".",
    r"values\|thousands": ",",
    r"values\|(missing|flags)\|0": [],
    r"values\|ton": "long",
    r"values\|barrow_l": 85,
    r"fields\|(quantity|debris)\|unit": "kg",
    r"fields\|rate\|unit": "g/m2",
    r"fields\|distance_m\|unit": "ft",
    r"fields\|.*area_m2\|unit": "sq yd",
    r"fields\|.*(hours|_h)\|unit": "min",
    r"fields\|.*mm\|unit": "in",
    r"fields\|mass_kg\|unit": "lb",
    r"fields\|volume_l\|unit": "ml",
    r"fields\|(quantity|debris)": None,
    r"constants\|unit": "s",
    r"units\|depth of layers": "cm",
    r"units\|distances": "m",
    r"units\|temperatures": "°C",
    r"units\|.*": "mg/kg",
    r"long\|.*\|set\|analyte": "potassium",
    r"constants\|operation": "mowing",
    r"constants\|sort": "seed",
    r"constants\|analyte": "potassium",
    r"constants\|depth.*": 10,
    r"constants\|.*": "ALD-1",
    r"only\|.*": ["x"],
    r"long\|.*\|set\|unit": "mg/kg",
    r"long\|.*\|set\|depth.*": 10,
    r"aliases\|.*": None,
    r"columns\|.*": "ignore",
}


@given(tables(), st.sampled_from(["", "job", "soil_test", "green_speed", "material"]))
@settings(max_examples=examples(3, 8), deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_table_drafts_to_a_profile_that_loads_once_decided(table: str, kind: str) -> None:
    """Valid TOML; a mark stands where something is asked and nowhere else; decided, every row is accounted for."""
    with tempfile.TemporaryDirectory() as folder:
        workspace = Workspace(Path(folder), Settings())
        path = Path(folder) / "table.csv"
        path.write_text(table, "utf-8", newline="")
        made = draft_profile(workspace, path, kind=kind, force=True)
        if made.path is None:
            assert made.faults.height
            return
        data = tomllib.loads(made.path.read_text("utf-8"))
        assert bool(open_places(data)) == bool(made.asks)
        headers = [column.header for column in made.mapped]
        columns = dict.fromkeys((r"fields\|[a-z_0-9]+", r"long\|\d+\|from"), headers[-1] if headers else "x")
        decide(made, {**DECISIONS, "kind": made.drafted_for, **columns}, strict=False)
        profile = read_profile(made.path)
        (result,) = load_paths(workspace, [path], profile=profile.name, today=TODAY)  # an imbalance stops it
        assert result.kind == made.drafted_for
