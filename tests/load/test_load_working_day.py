"""The length of a working day: asked for, taken from the profile or else from the workspace's settings."""

from __future__ import annotations

from pathlib import Path

from pipeline.common.faults import errors
from pipeline.load.files import load_paths
from pipeline.store.store import Store
from pipeline.workspace.settings import SETTINGS, Workspace, open_workspace
from tests.conftest import TODAY, Load

JOBS = "date,green,operation,hours\n2026-03-16,ALD-1,scarifying,½ day\n2026-03-17,ALD-1,scarifying,2 weeks\n"
PROFILE = """\
name = "crew"
kind = "job"
match = { headers = ["hours"] }

[values]
working_day_h = 7

[fields]
date = "date"
green = "green"
operation = "operation"
hours = "hours"
"""


def _hours(workspace: Workspace, jobs: Path) -> list[float | None]:
    (result,) = load_paths(workspace, [jobs], today=TODAY)
    if result.failed:
        assert set(errors(result.faults)["code"]) <= {"unit.working_day", "unit.working_week"}
    with Store(workspace.store, read_only=True) as store:
        return [hours for (hours,) in store.rows("SELECT hours FROM job ORDER BY date")]


def _set(workspace: Workspace, day_h: float, week_h: float) -> Workspace:
    path = workspace.folder / SETTINGS
    text = path.read_text("utf-8")
    text = text.replace("working_day_h = 0\n", f"working_day_h = {day_h}\n")
    path.write_text(text.replace("working_week_h = 0\n", f"working_week_h = {week_h}\n"), "utf-8")
    return open_workspace(workspace.folder)


def test_a_working_day_is_asked_for_and_then_counted(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """Refused at first; the same file loads once settings say the length, and a profile's own length comes first."""
    jobs = tmp_path / "jobs.csv"
    jobs.write_text(JOBS, "utf-8")
    assert _hours(workspace, jobs) == []
    workspace = _set(workspace, 7.5, 37.5)
    assert _hours(workspace, jobs) == [3.75, 75.0]
    (workspace.profiles / "crew.toml").write_text(PROFILE, "utf-8")
    (tmp_path / "others.csv").write_text(JOBS.replace("-16", "-18").replace("-17", "-19"), "utf-8")
    assert _hours(workspace, tmp_path / "others.csv") == [3.75, 75.0, 3.5, 75.0]


def test_another_length_is_another_rule(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """Guards against "nothing changed" for a file that was read by another length of the day."""
    jobs = tmp_path / "jobs.csv"
    jobs.write_text(JOBS, "utf-8")
    assert _hours(_set(workspace, 8, 40), jobs) == [4.0, 80.0]
    text = (workspace.folder / SETTINGS).read_text("utf-8").replace("working_day_h = 8", "working_day_h = 6")
    (workspace.folder / SETTINGS).write_text(text, "utf-8")
    assert 3.0 in _hours(open_workspace(workspace.folder), jobs)
