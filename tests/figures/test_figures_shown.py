"""One green's figures as ``show`` reads them from the store: what would be made from the records, and light to have."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path
from shutil import copytree

import pytest

from pipeline.figures.refresh import keep_up
from pipeline.figures.shown import figures_shown
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.green_season import GreenSeason
from pipeline.indicators.base.reading import read_records
from pipeline.load.files import load_paths
from pipeline.publish.shown import green_shown
from pipeline.season.green import green_figures
from pipeline.store.last_day import last_day
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from tests.indicators.test_laboratory_steps import GREENS, results
from tests.thorough import THOROUGH, thorough

TODAY = date(2026, 11, 1)
ROOT = Path(__file__).parents[2]
NOT_NEEDED = (
    "numpy", "scipy", "pandas", "polars", "pyarrow", "pandera", "weasyprint", "vl_convert", "pint", "jinja2", "rich",
    "pipeline.indicators.families", "pipeline.indicators.base.records", "pipeline.indicators.base.reading",
)  # fmt: skip
"""What figures and documents are made with: who asks for one green would wait a second and more for it."""
REGISTERS = {
    "clubs.csv": "club,name,region\nALD,Alder Brook,North\n",
    "greens.csv": "green,club,name,area_m2,aliases,station\n"
    + "".join(f"{green},ALD,Green {green},1400,{'the top one' if green == 'ALD-2' else ''},S1\n" for green in GREENS),
}


@pytest.fixture
def county(figured_county: Path, tmp_path: Path) -> Workspace:
    """Twelve greens of one club, whose laboratory's results are a quarter higher from 2024 on; figures in the store."""
    copytree(figured_county, tmp_path, dirs_exist_ok=True)
    return open_workspace(tmp_path)


@pytest.fixture(scope="module")
def figured_county(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """That workspace: to be copied, never written."""
    tmp_path = tmp_path_factory.mktemp("twelve-greens")
    make_workspace(tmp_path)
    workspace = open_workspace(tmp_path)
    files = {
        **REGISTERS,
        "soil.csv": results(0.25),
        "log.csv": "date,green,operation,hours\n2025-05-01,ALD-1,mowing,2\n2025-05-02,ALD-1,hedge trimming,1\n",
        "months.csv": "date,green,operation,hours\n2026-08,ALD-3,mowing,2\n2026-11,ALD-4,mowing,2\n",
        "days.csv": "date,station,tmin_c,tmax_c,rain_mm\n2026-06-30,S1,5,20,1\n",
    }
    for name, text in files.items():
        (tmp_path / name).write_text(text, "utf-8")
        load_paths(workspace, [tmp_path / name], today=TODAY)
    keep_up(workspace)
    return tmp_path


def made(workspace: Workspace, green: str, season: str) -> object:
    """The same from the records."""
    with Store(workspace.store, read_only=True) as store:
        return green_figures(read_records(store), green, workspace.season(season), workspace)


def stands(workspace: Workspace, green: str, season: str) -> bool:
    with Store(workspace.store, read_only=True) as store:
        return figures_shown(store, workspace.settings, workspace.season(season), green) is not None


def test_the_demo_is_shown_as_it_is_reported(
    figured: Path, demo_county: Workspace, demo_seasons: tuple[GreenSeason, ...]
) -> None:
    """Figures, what to check first, notes, names and days: those of the reports."""
    with Store(figured, read_only=True) as store:
        for one in demo_seasons:
            shown = figures_shown(store, demo_county.settings, demo_county.season(one.season), one.green)
            assert (shown is None) == (one.green == "WIC-1")  # of which nothing is on record: it is made when asked
            if shown is None:
                continue
            for name in shown.__dataclass_fields__:
                assert getattr(shown, name) == getattr(one, name), f"{name} of {one.green}"
    assert any(one.questions for one in demo_seasons)


@thorough
def test_each_green_is_shown_from_the_store_as_from_its_records(county: Workspace) -> None:
    """Rejected rows, a step of the laboratory, jobs of a month: nothing of it is lost on the way through the store."""
    notes = []
    for green, season in (("ALD-1", "2025"), ("ALD-1", "2026"), ("ALD-3", "2026"), ("ALD-12", "2024")):
        assert stands(county, green, season)
        shown, _ = green_shown(county, green, season)
        assert shown == made(county, green, season), (green, season)
        notes += [note.topic for note in shown.data_notes]
    assert {"rejected", "laboratory"} <= set(notes)


def test_lines_are_left_unread_where_nobody_asks(
    figured: Path, demo_county: Workspace, demo_seasons: tuple[GreenSeason, ...]
) -> None:
    """But those in question, by which a figure carries its mark."""
    with Store(figured, read_only=True) as store:
        shown = [
            figures_shown(store, demo_county.settings, demo_county.season(one.season), one.green, lines=False)
            for one in demo_seasons
        ]
    pairs = [(got, one) for got, one in zip(shown, demo_seasons, strict=True) if got is not None]
    for got, one in pairs:
        assert got.indicators == tuple(replace(figure, evidence=()) for figure in one.indicators)
    figures = [figure for _, one in pairs for figure in one.indicators]
    assert any(figure.evidence for figure in figures)
    assert any(figure.questioned for figure in figures)


@thorough
def test_a_note_on_a_laboratory_goes_with_the_other_greens_results(county: Workspace) -> None:
    """It rests on records of other greens: taken back, they take it from a green whose own records stay."""
    with Store(county.store, read_only=True) as store:
        ((soil,),) = store.rows("SELECT load_id FROM meta.load WHERE file = 'soil.csv'")
    undo(county, soil)
    (county.folder / "one.csv").write_text(results(0.25, GREENS[:1]), "utf-8")
    load_paths(county, [county.folder / "one.csv"], today=TODAY)
    keep_up(county)
    assert stands(county, "ALD-1", "2026")
    shown, _ = green_shown(county, "ALD-1", "2026")
    assert shown == made(county, "ALD-1", "2026")
    assert "laboratory" not in [note.topic for note in shown.data_notes]


@thorough
def test_what_is_stale_is_made_from_the_records(county: Workspace) -> None:
    (county.folder / "more.csv").write_text("date,green,operation,hours\n2026-05-03,ALD-1,mowing,9\n", "utf-8")
    load_paths(county, [county.folder / "more.csv"], today=TODAY)
    assert not stands(county, "ALD-1", "2026")
    shown, _ = green_shown(county, "ALD-1", "2026")
    assert {one.name: one.value for one in shown.indicators}["hours_h"] == 9.0
    assert shown == made(county, "ALD-1", "2026")


@thorough
def test_a_green_goes_by_its_other_names_and_the_season_in_hand(county: Workspace) -> None:
    assert green_shown(county, "The Top One")[0].green == "ALD-2"
    assert green_shown(county, "ald-2")[0].season == "2026"


def test_the_last_day_is_the_same_asked_of_the_store(county: Workspace, demo_county: Workspace) -> None:
    """A month that was over when it was loaded counts to its end, another from its first day; stations count."""
    for workspace in (county, demo_county):
        with Store(workspace.store, read_only=True) as store:
            records = read_records(store)
            assert last_day(store) == records.last_day
            for green in records.greens["green"][:: 1 if THOROUGH else 5]:
                season = workspace.season("2026")
                own = green_records(records, green, season, workspace)
                assert (last_day(store, green) or season.end) == own.last_day, green


def test_what_is_shown_needs_nothing_heavy(figured: Path, demo_county: Workspace, tmp_path: Path) -> None:
    """A keeper who asks for one green waits for its start: what makes figures is not imported where they stand."""
    folder = tmp_path / "demo"
    make_workspace(folder)
    (folder / "store.duckdb").write_bytes(figured.read_bytes())
    code = (
        "import sys\nfrom pipeline.cli.app import main\n"
        f"sys.argv = ['swardtally', 'show', 'ALD-1', '-w', {str(folder)!r}]\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert end.code == 0, end.code\n"
        f"sys.stderr.write('imported: ' + repr([one for one in {NOT_NEEDED!r} if sys.modules.get(one)]))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, encoding="utf-8", cwd=ROOT, check=True)
    assert "Organic matter" in done.stdout
    assert done.stderr.endswith("imported: []"), done.stderr[-500:]
