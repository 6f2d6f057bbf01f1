"""Whatever is done to a workspace, in whatever order and by however many threads: the figures are those of its end."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from contextlib import suppress
from itertools import permutations
from pathlib import Path
from shutil import copyfile, copytree
from typing import Any

import duckdb
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.cli.app import main
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.figures.refresh import keep_up, refresh
from pipeline.load.files import load_paths
from pipeline.publish.documents import season_of_green
from pipeline.store.decide import decide
from pipeline.store.doubles import likely_doubles
from pipeline.store.refused import rejected
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace, open_workspace
from tests.figures.test_figures_refreshed import (
    FIRST,
    STEPS,
    TABLES,
    TODAY,
    figures_anew,
    log,
    one_job,
    soil,
    step,
    table,
    weather,
)
from tests.thorough import FUZZ, beyond, thorough

TWICE = "date,green,operation,hours,logged_by\n"
CORRECTION = """\
[[correction]]
file = "log-b.csv"
line = 2
column = "hours"
from = "1"
to = "{to}"
why = "a slip"
who = "office"
"""


def twice(who: str, hours: float) -> str:
    """A log that says the same jobs as another hand's, so that it is asked whether they are one."""
    return f"{TWICE}2025-04-01,ALD-1,mowing,{hours:g},{who}\n2025-04-02,PEN-1,mowing,2,{who}\n"


MORE: st.SearchStrategy[tuple[str, Any]] = st.one_of(
    st.tuples(st.just("by-ann.csv"), st.just(twice("Ann", 2))),
    st.tuples(st.just("by-bob.csv"), st.sampled_from([2.0, 3.0]).map(lambda hours: twice("Bob", hours))),
    st.tuples(st.sampled_from(["one", "two"]), st.integers(0, 3)),
    st.tuples(st.just("aside"), st.integers(0, 3)),
    st.tuples(st.just("mend"), st.none()),
    st.tuples(st.just("correct"), st.sampled_from(["2", "3"])),
    st.tuples(st.just("take back"), st.integers(0, 6)),
)
ALL = st.one_of(STEPS, MORE)


def done(workspace: Workspace, what: str, how: Any) -> Workspace:
    """The workspace after one thing was done in it."""
    if what in ("one", "two"):
        _decide_on_doubles(workspace, what, how)
    elif what == "aside":
        _set_aside(workspace, how)
    elif what == "take back":
        _take_back(workspace, how)
    elif what == "mend":
        _mend(workspace)
    elif what == "correct":
        (workspace.folder / "corrections").mkdir(exist_ok=True)
        (workspace.folder / "corrections" / "log.toml").write_text(CORRECTION.format(to=how), "utf-8")
        load_paths(workspace, [workspace.folder / "log-b.csv"], today=TODAY)
    else:
        return step(workspace, what, how)
    return workspace


def _decide_on_doubles(workspace: Workspace, word: str, at: int) -> None:
    with Store(workspace.store, read_only=True) as store:
        pairs = likely_doubles(store).select("file", "line", "other_file", "other_line").rows()
    for file, line, other_file, other_line in pairs[at : at + 1]:
        decide(workspace, word, [f"{other_file}:{other_line}", f"{file}:{line}"], "both wrote it", "office")


def _set_aside(workspace: Workspace, at: int) -> None:
    with Store(workspace.store, read_only=True) as store:
        rows = rejected(store)
    for row in rows[at : at + 1]:
        decide(workspace, "aside", [f"{row.file}:{row.line}"], "a slip", "office")


def _take_back(workspace: Workspace, at: int) -> None:
    """Take any load or decision back, not the last alone: what it had taken the place of is in force again."""
    with Store(workspace.store, read_only=True) as store:
        numbers = store.rows(
            "SELECT load_id AS n FROM meta.load UNION SELECT decision FROM meta.decision WHERE taken_back_at IS NULL "
            "ORDER BY n DESC"
        )
    if at < len(numbers) - len(FIRST):
        undo(workspace, numbers[at][0])


def _mend(workspace: Workspace) -> None:
    for path in sorted((workspace.folder / "rejected").glob("*.csv")):
        path.write_text(path.read_text("utf-8-sig").replace(",x,", ",mowing,"), "utf-8")
        load_paths(workspace, [path], today=TODAY)


def by_steps_and_at_once(start: Path, steps: list[tuple[tuple[str, Any], bool]], *refusals: type[Exception]) -> None:
    """Hold the table brought up between the steps against the one made whole at the end, every row and column of it.

    A step that is refused with one of ``refusals`` changes nothing.
    """
    with tempfile.TemporaryDirectory() as name:
        workspace = open_workspace(copytree(start, Path(name) / "workspace"))
        for (what, how), brought_up in steps:
            with suppress(*refusals):
                workspace = done(workspace, what, how)
            if brought_up:
                keep_up(workspace)
        keep_up(workspace)
        by_steps = whole(workspace)
        figures_anew(workspace)
        assert by_steps == whole(workspace)


def whole(workspace: Workspace) -> dict[str, list[tuple[Any, ...]]]:
    """Every table of figures and the marks they follow by."""
    return whole_of(workspace.store)


def whole_of(store: Path) -> dict[str, list[tuple[Any, ...]]]:
    with duckdb.connect(str(store), read_only=True) as con:
        return {
            name: con.execute(f"SELECT * FROM derived.{name} ORDER BY ALL").fetchall()
            for name in (*TABLES, "green_mark")
        }


@pytest.fixture(scope="module")
def start(registered: Path) -> Path:
    """A workspace with its registers loaded: to be copied, never written."""
    return registered


BAD = log([(50, "ALD-1", "feed"), (60, "ALD-1", "bad")])
LIVES: dict[str, list[tuple[tuple[str, Any], bool]]] = {
    "decided one, and that taken back": [
        (("by-ann.csv", twice("Ann", 2)), True), (("by-bob.csv", twice("Bob", 3)), True), (("one", 0), True),
        (("two", 0), True), (("take back", 1), True),
    ],
    "decided, taken back and loaded again unseen": [
        (("by-ann.csv", twice("Ann", 2)), True), (("by-bob.csv", twice("Bob", 2)), False), (("one", 0), True),
        (("take back", 0), False), (("take back", 0), False), (("by-bob.csv", twice("Bob", 2)), False),
    ],
    "a rejected row set aside, mended and loaded": [
        (("log-b.csv", BAD), True), (("aside", 0), True), (("take back", 0), True), (("mend", None), True),
        (("take back", 0), True),
    ],
    "corrected, and back": [
        (("log-b.csv", BAD), True), (("correct", "3"), True), (("take back", 0), True), (("correct", "2"), False),
    ],
    "an earlier load taken back under a later one": [
        (("log-a.csv", one_job(2)), True), (("soil.csv", soil([(2024, "ALD-1", 50)])), False),
        (("days.csv", weather(9)), True), (("take back", 1), True), (("take back", 1), False),
        (("log-a.csv", one_job(2)), True),
    ],
}  # fmt: skip
"""What is done in one life of a workspace, and whether figures were brought up after each."""


@pytest.mark.parametrize("life", LIVES)
@beyond(1)
def test_a_life_by_steps_is_all_at_once(start: Path, life: str) -> None:
    by_steps_and_at_once(start, LIVES[life])


@settings(max_examples=1, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(steps=st.lists(st.tuples(ALL, st.booleans()), min_size=3, max_size=8))
def test_any_life_by_steps_is_all_at_once(start: Path, steps: list[tuple[tuple[str, Any], bool]]) -> None:
    """Decisions, corrections, mended rows and any load taken back among the rest; ``make fuzz`` tries many."""
    by_steps_and_at_once(start, steps, CannotDo, WrongUsage)


FILES: dict[str, str] = {
    "log-a.csv": one_job(2),
    "log-b.csv": log([(50, "ALD-1", "feed"), (61, "PEN-2", "dress")]),
    "soil.csv": soil([(2023, "ALD-1", 60), (2024, "ALD-1", 55), (2025, "PEN-1", 40)]),
    "days.csv": weather(20),
}


@thorough
def test_any_order_of_files(start: Path, tmp_path: Path) -> None:
    """Files that say nothing of each other's records: the same figures in any order, of the same lines."""
    found = []
    for number, order in enumerate([*permutations(FILES)][::13]):
        workspace = open_workspace(copytree(start, tmp_path / str(number)))
        for name in order:
            step(workspace, name, FILES[name])
        keep_up(workspace)
        with duckdb.connect(str(workspace.store), read_only=True) as con:
            figures = con.execute("SELECT * EXCLUDE (evidence, questioned) FROM derived.figure ORDER BY ALL").fetchall()
            versions = con.execute("SELECT * EXCLUDE (loads) FROM derived.green_season ORDER BY ALL").fetchall()
            lines = con.execute(
                "SELECT green, season, indicator, band, kind, file, line FROM figure_evidence ORDER BY ALL"
            ).fetchall()
        found.append((order, figures, versions, lines))
    assert len({order for order, *_ in found}) == 2
    assert all(rest == found[0][1:] for _, *some in found if (rest := tuple(some)))
    assert found[0][1]


MANY = """
import sys
from pathlib import Path
from pipeline.figures.refresh import refresh
from pipeline.store.store import Store
from pipeline.workspace.settings import open_workspace
import polars
workspace = open_workspace(Path(sys.argv[1]))
with Store(workspace.store) as store:
    store.con.execute(f"SET threads = {sys.argv[2]}")
    print(polars.thread_pool_size(), refresh(store, workspace, workers=1).made)
"""


@pytest.mark.hypothesis  # so that ``make fuzz`` runs it: of the demo county then
@thorough
def test_any_number_of_threads(start: Path, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    """Of DuckDB and of polars: the same to the last digit as here; of the demo county in ``make fuzz``."""
    threads = (os.cpu_count() or 1) + 3
    workspace = open_workspace(copytree(start, tmp_path / "workspace"))
    if FUZZ:
        copyfile(request.getfixturevalue("demo_county").store, workspace.store)
    else:
        for name, text in FILES.items():
            step(workspace, name, text)
    env = {**os.environ, "POLARS_MAX_THREADS": str(threads)}
    run = [sys.executable, "-c", MANY, str(workspace.folder), str(threads)]
    used, made = subprocess.run(run, env=env, capture_output=True, text=True, check=True).stdout.split()
    assert (int(used), int(made) > 0) == (threads, True)
    with_many = whole(workspace)
    figures_anew(workspace)
    assert whole(workspace) == with_many


@pytest.fixture
def logged(start: Path, tmp_path: Path) -> Workspace:
    """Two greens with a job each, one of them dressed; their figures in the store."""
    workspace = open_workspace(copytree(start, tmp_path / "workspace"))
    step(workspace, "log-a.csv", log([(40, "ALD-1", "feed"), (41, "ALD-1", "mow")]))
    keep_up(workspace)
    return workspace


def asked(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[str, str]:
    """What a command prints, on both ways."""
    with pytest.MonkeyPatch.context() as patch, pytest.raises(SystemExit):
        patch.setattr(sys, "argv", ["swardtally", *words])
        main()
    said = capsys.readouterr()
    return said.out, said.err


@thorough
def test_edited_settings_are_followed_at_once(logged: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    """The table stands as it was made and says so by its mark; show, report and status do not trust it."""
    before = table(logged)
    path = logged.folder / "settings.toml"
    path.write_text(path.read_text("utf-8").replace('targets = ["standard"]', "targets = []"), "utf-8")
    edited = open_workspace(logged.folder)
    with duckdb.connect(str(logged.store), read_only=True) as con:
        dose = "SELECT standing, data_version FROM figure WHERE indicator = 'nitrogen_dose_g_m2'"
        ((in_view, mark),) = con.execute(dose).fetchall()
    shown = {one.name: one.standing for one in season_of_green(edited, "ALD-1", "2025").indicators}
    assert (in_view, shown["nitrogen_dose_g_m2"]) == ("within", "no target")
    out, _ = asked(capsys, "show", "ALD-1", "--season", "2025", "--json", "-w", str(logged.folder))
    assert '"standing": "within"' not in out
    assert '"standing": "no target"' in out
    _, err = asked(capsys, "status", "-w", str(logged.folder))
    assert "as they were made: settings were changed since they were made. show and report make theirs" in err
    keep_up(edited)
    with duckdb.connect(str(logged.store), read_only=True) as con:
        ((in_view, other),) = con.execute(dose).fetchall()
        marks = {mark for (mark,) in con.execute("SELECT DISTINCT data_version FROM figure").fetchall()}
    assert in_view == "no target"
    assert mark != other, "data_version is a mark of the settings too"
    assert not marks & {row[5] for row in before["green_season"]}, "of every figure's, whatever it rests on"
    keep_up(logged)
    assert table(logged) == before


def test_no_view_shows_what_was_not_brought_up(
    logged: Workspace, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The load stands, bringing up fails: every view of figures is empty, status says so, show has the new figure."""
    path = logged.folder / "log-b.csv"
    path.write_text(log([(50, "ALD-1", "mow")]), "utf-8")
    with monkeypatch.context() as broken:
        broken.setattr("pipeline.figures.table.settle", _full)
        _, err = asked(capsys, "load", str(path), "-w", str(logged.folder))
    assert "its figures are not brought up yet: The disk is full." in err
    with duckdb.connect(str(logged.store), read_only=True) as con:
        for view in ("figure", "figure_evidence", "green_season", "organic_matter", "dressing_by_season"):
            assert con.execute(f"SELECT count(*) FROM {view}").fetchall() == [(0,)], view
        assert con.execute("SELECT count(*) FROM derived.figure").fetchall() != [(0,)]
    _, err = asked(capsys, "status", "-w", str(logged.folder))
    assert "shown by no view: something was loaded, taken back or decided since they were made" in err
    shown = {one.name: one.value for one in season_of_green(logged, "ALD-1", "2025").indicators}
    assert shown["hours_h"] == 4.0
    _, err = asked(capsys, "changed", "-w", str(logged.folder))
    assert "The figures in the store are not brought up: something was loaded" in err
    with Store(logged.store) as store:
        refresh(store, logged)
    with duckdb.connect(str(logged.store), read_only=True) as con:
        assert con.execute("SELECT value FROM figure WHERE indicator = 'hours_h'").fetchall() == [(4.0,)]


def _full(*_: object) -> None:
    raise CannotDo("The disk is full.", "Make room.")
