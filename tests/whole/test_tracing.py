"""From a figure back to file, line and cells: on the command line, as text and as JSON, and for every figure."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from pipeline.cli import app as cli
from pipeline.indicators.base.green_season import GreenSeason
from pipeline.indicators.families import DESCRIBED
from pipeline.indicators.tracing import Trace, chosen, link, trace, traces
from pipeline.publish.documents import season_of_green
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from scripts.docs.method import formulas_in_use, modules
from tests.conftest import ROOT, Load
from tests.docs.test_docs_indicators import laboratory_sheet, visits_sheet
from tests.thorough import beyond

JOBS = (
    "date,green,operation,material,quantity,hours,logged_by\n"
    "16/03/2026,ALD-1,top dressing,70/30 sand and soil,2 t,3,crew A\n"
    "17/03/2026,ALD-1,mowing,,,1,crew A\n"
    "18/03/2026,ALD-1,TD,70/30 sand and soil,500 kg,1.5,crew A\n"
)


@dataclass(frozen=True)
class Run:
    code: int
    out: str
    err: str


Call = Callable[..., Run]


@pytest.fixture
def call(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Call:
    """Runs a command line in this process."""

    def _call(*words: object) -> Run:
        capsys.readouterr()
        monkeypatch.setattr("sys.argv", ["swardtally", *map(str, words)])
        with pytest.raises(SystemExit) as end:
            cli.main()
        said = capsys.readouterr()
        return Run(int(str(end.value.code)), said.out, said.err)

    return _call


@pytest.fixture
def place(county: Load, workspace: Workspace) -> Path:
    """A workspace whose green was dressed twice."""
    (workspace.folder / "profiles" / "log.toml").write_text(
        'name = "log"\nkind = "job"\n\n[match]\nheaders = ["date", "quantity", "logged_by"]\n\n'
        '[values]\ndate_order = "dmy"\n\n'
        '[fields]\ndate = "date"\ngreen = "green"\noperation = "operation"\nmaterial = "material"\n'
        'quantity = "quantity"\nhours = "hours"\nlogged_by = "logged_by"\n'
    )
    assert not county("log.csv", JOBS, profile="log").failed
    return workspace.folder


def test_every_record_is_named_with_file_line_and_cells(call: Call, place: Path) -> None:
    """2 t and 500 kg on 1,600 m² are 1.5625 kg/m²; the mowing between them is not behind it."""
    done = call("show", "ALD-1", "--evidence", "dressing_kg_m2", "-w", place)
    assert done.code == 0
    lines = done.out.splitlines()
    assert lines[0] == "Alder Brook Bowls Club, Main green (ALD-1): season 2026, as of 18 March 2026"
    assert lines[2] == "Top dressing applied (dressing_kg_m2): 1.56 kg/m²"
    assert "  formula: docs/method.md#dressingdry_mass_kg, docs/method.md#dressingmass_of_volume_kg" in lines
    assert any(line.startswith("  method: Mass as logged over the green's area.") for line in lines)
    assert "  records behind it: 2" in lines
    jobs = [line.split() for line in lines if line.startswith("job ")]
    assert [cells[:5] for cells in jobs] == [
        ["job", "log.csv", "2", "4", "2026-03-16"],
        ["job", "log.csv", "4", "4", "2026-03-18"],
    ]
    assert "mass_kg=500" in done.out
    assert "quantity=500 kg" in done.out
    assert "operation=TD" in done.out
    assert "crew A" not in done.out  # private: who wrote the line
    assert any(line.startswith("green ") and "area_m2=1600" in line for line in lines)
    assert any(line.startswith("material ") and "sand_pct=70" in line for line in lines)
    assert done.err == ""


def test_the_same_as_data(call: Call, place: Path) -> None:
    """What ``show --json`` says of the figure, its formulas, and each record as stored and as written."""
    found = json.loads(call("show", "ALD-1", "-e", "dressing_kg_m2", "-w", place, "--json").out)
    plain = json.loads(call("show", "ALD-1", "-w", place, "--json").out)
    assert list(found) == list(plain)
    one = found["indicators"][0]
    told = next(figure for figure in plain["indicators"] if figure["name"] == "dressing_kg_m2")
    assert {name: one[name] for name in told} == told
    assert one["formulas"] == ["docs/method.md#dressingdry_mass_kg", "docs/method.md#dressingmass_of_volume_kg"]
    last = one["records"][-1]
    assert {name: last[name] for name in ("kind", "file", "line", "load_id", "date")} == {
        "kind": "job",
        "file": "log.csv",
        "line": 4,
        "load_id": 4,
        "date": "2026-03-18",
    }
    assert last["stored"]["mass_kg"] == 500
    assert last["written"] == {"date": "18/03/2026", "operation": "TD", "quantity": "500 kg"}
    assert [(one["kind"], one["line"]) for one in one["registers"]] == [("green", 2), ("material", 3)]
    text = (place.parent / "log.csv").read_text().splitlines()
    assert text[last["line"] - 1].startswith("18/03/2026,ALD-1,TD")


@pytest.mark.parametrize("wanted", ["dressing_kg_m2", "Dressing-kg-m2", "top dressing applied"])
@beyond(1)
def test_an_indicator_by_name_or_label(workspace: Workspace, place: Path, wanted: str) -> None:
    assert place == workspace.folder
    done = season_of_green(workspace, "ALD-1", "2026")
    assert [one.name for one in chosen(done, wanted)] == ["dressing_kg_m2"]


def test_a_name_alone_is_every_band(workspace: Workspace, place: Path) -> None:
    """Hours by operation are one indicator a band; with its band it is one."""
    assert place == workspace.folder
    done = season_of_green(workspace, "ALD-1", "2026")
    assert [one.band for one in chosen(done, "hours_of_h")] == ["Mowing", "Top dressing"]
    assert [one.band for one in chosen(done, "hours, mowing")] == ["Mowing"]
    found = trace(workspace, done, "hours_of_h, Mowing")
    assert [[record.line for record in one.records] for one in found] == [[3]]


def test_an_unknown_indicator_names_the_closest(call: Call, place: Path) -> None:
    done = call("show", "ALD-1", "-e", "dresing_kg_m2", "-w", place)
    assert (done.code, done.out) == (2, "")
    said = done.err.splitlines()
    assert said[-2] == "There is no indicator “dresing_kg_m2” of ALD-1 in season 2026."
    assert said[-1].startswith("Closest: dressing_kg_m2;")
    empty = call("show", "ALD-1", "-s", "2020", "-e", "hours_h", "-w", place)
    assert (empty.code, empty.out) == (3, "")
    assert empty.err == "There is no record of ALD-1 in season 2020.\nOn record: season 2026.\n"


def test_a_heading_asked_for_as_a_figure_is_named(call: Call, place: Path) -> None:
    """Soil is a heading with many figures: which option lists them is what was asked for."""
    done = call("show", "ALD-1", "-e", "Works, hours and COST", "-w", place)
    assert (done.code, done.out) == (2, "")
    assert done.err.splitlines()[-1] == "--family works lists the figures under “Works, hours and cost”."
    near = call("show", "ALD-1", "-e", "dresing", "-w", place)
    assert near.err.splitlines()[-1].endswith("--family dressing lists the figures under “Top dressing”.")


def held(workspace: Workspace) -> dict[tuple[str, int, int], set[object]]:
    """Every record in the store: kind, load and line → the greens, stations or materials it is of."""
    of: dict[tuple[str, int, int], set[object]] = {}
    owner = {"job": "green", "soil_test": "green", "green_speed": "green", "observation": "green"}
    owner |= {"weather_day": "station", "sieve": "coalesce(green, material)", "level": "green"}
    with Store(workspace.store, read_only=True) as store:
        for kind, column in owner.items():
            for load_id, line, name in store.rows(f'SELECT load_id, line, {column} FROM "{kind}"'):
                of.setdefault((kind, load_id, line), set()).add(name)
    return of


def traced(workspace: Workspace, season: GreenSeason) -> list[Trace]:
    """Every indicator of a green's season with what is behind it, as ``--evidence`` finds it."""
    return traces(workspace, season, season.indicators)


def test_every_figure_leads_to_records_of_its_own_green(county: Load, workspace: Workspace) -> None:
    """Two greens side by side in every file: what is behind a figure is in the store, and of that green."""
    county("greens.csv", "green,club,name,area_m2,latitude_deg,station\nALD-1,ALD,Main green,1600,52.4,here\n"
           "ALD-2,ALD,Lower green,1200,52.4,there\n")  # fmt: skip
    for name, text in (("lab.csv", laboratory_sheet()), ("visits.csv", visits_sheet())):
        head, *rows = text.splitlines()
        both = [row for line in rows for row in (line, line.replace("ALD-1", "ALD-2"))]
        assert not county(name, "\n".join([head, *both]) + "\n").failed
    head, *rows = JOBS.replace("/03/2026", "").splitlines()
    days = [f"2026-03-{row[:2]}{row[2:]}" for line in rows for row in (line, line.replace("ALD-1", "ALD-2"))]
    assert not county("jobs.csv", "\n".join([head, *days]) + "\n").failed
    speeds = "".join(f"2026-05-0{i},{green},{12 + i / 10},s\n" for i in range(1, 7) for green in ("ALD-1", "ALD-2"))
    assert not county("speeds.csv", f"date,green,value,unit\n{speeds}", kind="green_speed").failed
    weather = "".join(f"2026-04-0{i},{at},15,-1,2\n" for i in range(1, 9) for at in ("here", "there"))
    assert not county("weather.csv", f"date,station,tmax_c,tmin_c,rain_mm\n{weather}", kind="weather_day").failed
    store = held(workspace)
    for green, station in (("ALD-1", "here"), ("ALD-2", "there")):
        season = season_of_green(workspace, green, "2026")
        assert {one.family for one in season.indicators} >= {"soil", "dressing", "surface", "weather", "works"}
        every = traced(workspace, season)
        assert len(every) == len(season.indicators)
        for one in every:
            places = {(place.kind, place.load_id, place.line) for place in one.indicator.evidence}
            assert places, one.indicator
            assert {(record.kind, record.load_id, record.line) for record in one.records} == places
            for key in places:
                assert store[key] & {green, station}, (one.indicator.name, key)
            for record in one.records:
                assert record.stored.get("green", green) == green
                assert record.stored.get("station", station) == station


def test_on_a_wide_line_only_the_figures_own_cells(county: Load, workspace: Workspace) -> None:
    """Three analytes on one line: pH leads to the pH, whatever else stands beside it."""
    (workspace.folder / "profiles" / "lab.toml").write_text(
        'name = "lab"\nkind = "soil_test"\n\n[match]\nheaders = ["pH", "P", "K"]\n\n'
        '[fields]\ndate = "date"\ngreen = "green"\n\n'
        '[constants]\nextractant = "mehlich 3"\ndepth_from_mm = 0\ndepth_to_mm = 100\n\n'
        '[[long]]\nfrom = "pH"\nset = { analyte = "ph", unit = "pH" }\n\n'
        '[[long]]\nfrom = "P"\nset = { analyte = "phosphorus", unit = "mg/kg" }\n\n'
        '[[long]]\nfrom = "K"\nset = { analyte = "potassium", unit = "mg/kg" }\n'
    )
    assert not county("wide.csv", "date,green,pH,P,K\n2026-02-10,ALD-1,6.1,41,77\n", profile="lab").failed
    season = season_of_green(workspace, "ALD-1", "2026")
    assert {one.name for one in season.indicators} == {"ph", "phosphorus_mg_kg", "potassium_mg_kg"}
    for one in traced(workspace, season):
        assert [record.stored["value"] for record in one.records] == [one.indicator.value]


def test_every_formula_named_is_one_of_the_method_page() -> None:
    """A link that leads nowhere, or a formula that was renamed."""
    there = {f"{m.__name__.rpartition('.')[2]}.{f.__name__}" for m in modules() for f in formulas_in_use(m)}
    named = {formula for one in DESCRIBED.values() for formula in one.formula_names}
    assert named <= there
    page = (ROOT / "docs" / "method.md").read_text("utf-8")
    for formula in named:
        assert f"\n### {formula}\n" in page
    assert DESCRIBED["hours_h"].formula_names == ()
    assert DESCRIBED["dressing_mm"].formula_names[-1] == "dressing.depth_mm"
    assert link("dressing.depth_mm") == "docs/method.md#dressingdepth_mm"
