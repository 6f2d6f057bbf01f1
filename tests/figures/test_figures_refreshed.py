"""Figures brought up step by step are those made anew at the end, and what is not brought up is never shown."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from datetime import date
from pathlib import Path
from shutil import copytree
from typing import Any

import duckdb
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.figures.refresh import keep_up, refresh
from pipeline.figures.rows import as_row, from_row
from pipeline.figures.state import standing
from pipeline.figures.table import figures_in
from pipeline.indicators.base.green_season import GreenSeason
from pipeline.load.files import load_paths
from pipeline.publish.documents import season_of_green
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from tests.thorough import beyond, examples, thorough

TODAY = date(2026, 11, 1)
TABLES = ("green_season", "figure", "evidence", "question", "note", "season_mark")
FIRST = {
    "clubs.csv": "club,name,region\nALD,Alder Brook,North\nPEN,Pennywell,North\n",
    "greens.csv": "green,club,name,area_m2,station\n"
    "ALD-1,ALD,Main,1000,S1\nPEN-1,PEN,Main,1200,S1\nPEN-2,PEN,Top,1100,\n",
    "materials.csv": "material,sort,form,n_pct,analysis_by,pack_kg,price,bulk_density_t_m3,organic_matter_pct\n"
    "feed,fertiliser,solid,10,w/w,25,30,,\n80/20,top_dressing,solid,,,,,,2\n",
}
JOBS = "date,green,operation,material,quantity,hours,logged_by\n"
SOIL = "date,green,analyte,depth_from_mm,depth_to_mm,value,unit,lab\n"
WEATHER = "date,station,tmin_c,tmax_c,rain_mm\n"
TARGETS = "indicator,scope,scope_name,low,high,unit,source\n"
DONE = {"feed": "fertilising,feed,30 kg,1", "dress": "top dressing,80/20,2 t,3", "mow": "mowing,,,1.5", "bad": "x,,,1"}
Rows = list[tuple[int, str, Any]]


def log(rows: Rows) -> str:
    """A log; each row is a day of 2025, a green and what was done."""
    days = [date.fromordinal(date(2025, 3, 1).toordinal() + number) for number, *_ in rows]
    return JOBS + "".join(f"{day},{green},{DONE[what]},A\n" for day, (_, green, what) in zip(days, rows, strict=True))


def soil(rows: Rows) -> str:
    """Results of organic matter; each row is a year, a green and tenths of a percent."""
    return SOIL + "".join(f"{year}-02-10,{green},organic matter,0,20,{v / 10},%,Lab\n" for year, green, v in rows)


def weather(number: int) -> str:
    """So many days of June."""
    return WEATHER + "".join(f"2025-06-{1 + day:02d},S1,{day % 9},20,{day}\n" for day in range(number))


def area(m2: int) -> str:
    """The register with another area of one green."""
    return FIRST["greens.csv"].replace("1000", str(m2))


def label(pct: int) -> str:
    """The register with another analysis of the feed."""
    return FIRST["materials.csv"].replace(",10,", f",{pct},")


def target(scope: str) -> str:
    """A target of nitrogen for a green, a club or all."""
    return f"{TARGETS}nitrogen_kg_ha,{scope},10,60,kg/ha,house\n"


GREENS = st.sampled_from(["ALD-1", "PEN-1", "PEN-2"])
LOG = st.lists(st.tuples(st.integers(0, 200), GREENS, st.sampled_from([*DONE])), max_size=5)
RESULTS = st.tuples(st.integers(2019, 2026), GREENS, st.integers(20, 90))
STEPS: st.SearchStrategy[tuple[str, Any]] = st.one_of(
    st.tuples(st.sampled_from(["log-a.csv", "log-b.csv"]), LOG.map(log)),
    st.tuples(st.just("soil.csv"), st.lists(RESULTS, max_size=6, unique_by=lambda row: row[:2]).map(soil)),
    st.tuples(st.just("days.csv"), st.integers(1, 30).map(weather)),
    st.tuples(st.just("greens.csv"), st.sampled_from([900, 1000]).map(area)),
    st.tuples(st.just("materials.csv"), st.sampled_from([8, 10]).map(label)),
    st.tuples(st.just("targets.csv"), st.sampled_from(["club,PEN", "green,ALD-1", "standard,"]).map(target)),
    st.tuples(st.just("undo"), st.integers(0, 3)),
    st.tuples(st.just("settings"), st.sampled_from([1.4, 1.5])),
)


def table(workspace: Workspace) -> dict[str, list[tuple[Any, ...]]]:
    with duckdb.connect(str(workspace.store), read_only=True) as con:
        return {name: con.execute(f"SELECT * FROM derived.{name} ORDER BY ALL").fetchall() for name in TABLES}


def step(workspace: Workspace, what: str, how: Any) -> Workspace:
    """The workspace after one thing was done in it."""
    if what == "settings":
        return Workspace(workspace.folder, workspace.settings.model_copy(update={"bulk_density_t_m3": how}))
    if what == "undo":
        with Store(workspace.store, read_only=True) as store:
            loads = [one for (one,) in store.rows("SELECT load_id FROM meta.load ORDER BY load_id DESC")]
        if len(loads) - how > len(FIRST):
            undo(workspace, loads[0])
        return workspace
    (workspace.folder / what).write_text(how, "utf-8")
    load_paths(workspace, [workspace.folder / what], today=TODAY)
    return workspace


@settings(max_examples=examples(2, 6), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(steps=st.lists(st.tuples(STEPS, st.booleans()), min_size=2, max_size=6))
def test_step_by_step_is_all_at_once(registered: Path, steps: list[tuple[tuple[str, Any], bool]]) -> None:
    """Whatever was loaded, taken back or set, and whether or not figures were brought up between: the same table."""
    with tempfile.TemporaryDirectory() as name:
        workspace = open_workspace(copytree(registered, Path(name) / "workspace"))
        for (what, how), brought_up in steps:
            workspace = step(workspace, what, how)
            if brought_up:
                keep_up(workspace)
        keep_up(workspace)
        by_steps = table(workspace)
        assert by_steps == figures_anew(workspace)


CHANGES: tuple[tuple[str, Any], ...] = (
    ("log-a.csv", log([(10, "ALD-1", "feed"), (20, "PEN-1", "dress"), (25, "PEN-1", "feed"), (30, "PEN-2", "mow")])),
    ("soil.csv", soil([(2023, "ALD-1", 60), (2024, "ALD-1", 55), (2025, "PEN-1", 40)])),
    ("days.csv", weather(20)),
    ("days.csv", weather(25)),
    ("log-a.csv", log([(10, "ALD-1", "feed"), (20, "PEN-1", "dress"), (25, "PEN-1", "feed"), (40, "PEN-2", "mow")])),
    ("greens.csv", area(900)),
    ("materials.csv", label(8)),
    ("targets.csv", target("green,ALD-1")),
    ("targets-of-the-club.csv", target("club,PEN")),
    ("targets-of-the-region.csv", f"{TARGETS}dressing_kg_m2,region,North,3,5,kg/m2,county\n"),
    ("clubs.csv", FIRST["clubs.csv"].replace("Pennywell,North", "Pennywell,South")),
    ("log-b.csv", log([(50, "ALD-1", "feed"), (60, "ALD-1", "bad")])),
    ("log-b.csv", log([(50, "ALD-1", "feed"), (60, "ALD-1", "mow")])),
    ("soil.csv", soil([(2023, "ALD-1", 60), (2024, "ALD-1", 20), (2025, "PEN-1", 40)])),
    ("undo", 0),
    ("settings", 1.3),
)
"""One after the other: a log, results, days of weather, each changed; registers, targets of every scope, a rejected row
that is mended, a load taken back, a setting."""
FEW = (*CHANGES[:3], ("materials.csv", label(8)), ("undo", 0), ("settings", 1.3))
"""Of each sort of change one."""


@pytest.mark.parametrize("changes", [FEW, CHANGES], ids=["few", "all"])
@beyond(1)
def test_every_change_is_seen(registered: Path, tmp_path: Path, changes: tuple[tuple[str, Any], ...]) -> None:
    """Each alters some figure, or what is said of it, and what is brought up is what would be made anew."""
    workspace = open_workspace(copytree(registered, tmp_path / "workspace"))
    before: dict[str, list[tuple[Any, ...]]] = {}
    for what, how in changes:
        workspace = step(workspace, what, how)
        keep_up(workspace)
        found = table(workspace)
        assert found["figure"] != before.get("figure"), f"{what} changed nothing"
        assert figures_anew(workspace) == found, what
        before = found


def one_job(hours: int) -> str:
    return f"{JOBS}2025-05-01,ALD-1,mowing,,,{hours},A\n2025-05-02,PEN-1,mowing,,,1,A\n"


@pytest.fixture
def logged(of_one_job: Path, tmp_path: Path) -> Workspace:
    """Two greens with a job each, their figures in the store."""
    return open_workspace(copytree(of_one_job, tmp_path / "workspace"))


def hours(workspace: Workspace) -> list[tuple[Any, ...]]:
    """Hours by green, as the view has them."""
    with duckdb.connect(str(workspace.store), read_only=True) as con:
        return con.execute("SELECT green, value FROM figure WHERE indicator = 'hours_h' ORDER BY ALL").fetchall()


def test_a_stale_figure_is_shown_by_no_road(logged: Workspace) -> None:
    """After a load the view is empty until figures are brought up, and whoever reads makes them from the records."""
    assert hours(logged) == [("ALD-1", 2.0), ("PEN-1", 1.0)]
    step(logged, "log-a.csv", one_job(7))
    assert hours(logged) == []
    with Store(logged.store, read_only=True) as store:
        assert figures_in(store, logged.settings, "2025", ["ALD-1"]) == {}
    shown = {one.name: one.value for one in season_of_green(logged, "ALD-1", "2025").indicators}
    assert shown["hours_h"] == 7.0
    keep_up(logged)
    assert hours(logged) == [("ALD-1", 7.0), ("PEN-1", 1.0)]


def test_figures_of_other_settings_are_made_from_the_records(logged: Workspace) -> None:
    other = Workspace(logged.folder, logged.settings.model_copy(update={"currency": "EUR"}))
    with Store(logged.store, read_only=True) as store:
        assert figures_in(store, logged.settings, "2025", ["ALD-1"])
        assert figures_in(store, other.settings, "2025", ["ALD-1"]) == {}


def test_only_what_a_load_touched_is_made_again(logged: Workspace) -> None:
    step(logged, "log-a.csv", one_job(7))
    with Store(logged.store) as store:
        came = refresh(store, logged)
    assert (came.made, came.kept, came.gone) == (1, 1, 0)


def test_a_load_of_the_same_records_changes_no_figure(logged: Workspace) -> None:
    before = table(logged)["figure"]
    step(logged, "log-copy.csv", one_job(2))
    with Store(logged.store) as store:
        came = refresh(store, logged)
    assert came.made == 0
    assert table(logged)["figure"] == before


def figures_anew(workspace: Workspace) -> dict[str, list[tuple[Any, ...]]]:
    """The table of figures as it comes out where nothing of it stood before."""
    with Store(workspace.store) as store:
        for one in (*TABLES, "green_mark", "state"):
            store.con.execute(f"DELETE FROM derived.{one}")
    keep_up(workspace)
    return table(workspace)


@thorough
def test_the_same_lines_of_another_load(logged: Workspace) -> None:
    """A load taken back and loaded again before figures were brought up: they rest on the load that is there."""
    step(logged, "undo", 0)
    step(logged, "log-a.csv", one_job(2))
    keep_up(logged)
    found = table(logged)
    with Store(logged.store, read_only=True) as store:
        assert store.rows("SELECT e.load_id FROM derived.evidence AS e ANTI JOIN meta.load AS l USING (load_id)") == []
    assert found == figures_anew(logged)


@thorough
def test_another_clubs_records_move_no_day(logged: Workspace) -> None:
    """The last day counted follows from a green's own records and its station's."""
    with Store(logged.store, read_only=True) as store:
        days = store.rows("SELECT green, as_of FROM green_season ORDER BY ALL")
    assert days == [("ALD-1", date(2025, 5, 1)), ("PEN-1", date(2025, 5, 2))]
    step(logged, "log-b.csv", f"{JOBS}2025-08-01,PEN-2,mowing,,,1,A\n")
    keep_up(logged)
    with Store(logged.store, read_only=True) as store:
        assert store.rows("SELECT green, as_of FROM green_season WHERE green <> 'PEN-2' ORDER BY ALL") == days
    step(logged, "days.csv", f"{WEATHER}2025-09-01,S1,5,20,1\n")
    keep_up(logged)
    with Store(logged.store, read_only=True) as store:
        moved = store.rows("SELECT green, as_of FROM green_season WHERE green <> 'PEN-2' ORDER BY ALL")
    assert moved == [("ALD-1", date(2025, 9, 1)), ("PEN-1", date(2025, 9, 1))]


def test_a_figure_is_read_back_whole(demo_seasons: tuple[GreenSeason, ...]) -> None:
    """Its quantities in texts, its method, what puts it in question: to the last digit."""
    for season in demo_seasons:
        for one in season.indicators:
            row = as_row(one)
            back = from_row(row, row["evidence"], row["questioned"])
            assert back == one
            assert repr(replace(back, target_low=one.target_low, target_high=one.target_high)) == repr(one)


def test_what_stands_in_the_store_is_what_would_be_made(figured: Path, demo_seasons: tuple[GreenSeason, ...]) -> None:
    made = {one.green: one.indicators for one in demo_seasons if one.indicators}
    assert len(made) == len(demo_seasons) - 1  # of WIC-1 nothing is on record
    with Store(figured, read_only=True) as store:
        assert figures_in(store, open_workspace_settings(), demo_seasons[0].season, list(made)) == made


def open_workspace_settings() -> Any:
    """Settings of the demo county: those of a new workspace."""
    with tempfile.TemporaryDirectory() as name:
        make_workspace(Path(name))
        return open_workspace(Path(name)).settings


def test_status_says_what_is_not_brought_up(logged: Workspace) -> None:
    """Of other records the views leave them out; of other settings they stand as they were made."""
    assert standing(logged).as_json() == {"green_seasons": 2, "fresh": True, "stale": ""}
    other = Workspace(logged.folder, logged.settings.model_copy(update={"currency": "EUR"}))
    told = standing(other)
    assert (told.stale, told.hidden) == ("settings were changed since they were made", False)
    step(logged, "log-a.csv", one_job(7))
    told = standing(logged)
    assert (told.seasons, told.hidden) == (2, True)
    assert told.stale == "something was loaded, taken back or decided since they were made"
