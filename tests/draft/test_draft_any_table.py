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
from pipeline.workspace import Settings, Workspace
from schemas import KINDS
from tests.draft.conftest import open_places

HEADERS = (
    "Date|Green|Operation|Product|Qty|Rate g/m2|Depth (in)|pH|K mg/kg|OM 0-20mm|LOI|P_Olsen|Value|Unit|Analyte|Rink|"
    'Seconds|name|club|?|"|x = "y"|[a]|# b|Amount|Took off|Layer|Taken|Wann|day|Hours'
).split("|")
CELLS = (
    "|03/04/2026|13/04/2026|2026-04-03|3 Apr 26|45000|1,5|1.5|1,369|-99|NA|<0.5|ND|mowing|ALD-1|2 x 25 kg|3 barrow loads|"
    "2 ton|8 oz|0-25|12+|#DIV/0!|½|9'6\"|?|x|mg/kg|%|=1+1"
).split("|")
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


@given(tables(), st.sampled_from(["", "job", "soil_test", "green_speed", "material"]))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_table_drafts_to_valid_toml(table: str, kind: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "table.csv"
        path.write_text(table, "utf-8")
        made = draft_profile(Workspace(Path(folder), Settings()), path, kind=kind, force=True)
        if made.path is None:
            assert made.faults.height
            return
        data = tomllib.loads(made.path.read_text("utf-8"))
    assert data["kind"] in {*KINDS, "?"}
    assert bool(open_places(data)) == bool(made.asks)
    assert any(set(data.get("fields", {})) <= set(kind.by_name) for kind in KINDS.values())
