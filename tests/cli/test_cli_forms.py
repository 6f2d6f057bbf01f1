"""The command on forms, as it is typed."""

from __future__ import annotations

import json

import pytest

from pipeline.cli import app
from pipeline.workspace.settings import Workspace
from tests.conftest import Load


def run(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    monkeypatch.setattr("sys.argv", ["swardtally", *words])
    with pytest.raises(SystemExit) as left:
        app.main()
    return int(left.value.code or 0)


@pytest.fixture
def typed(county: Load, workspace: Workspace, monkeypatch: pytest.MonkeyPatch):
    return lambda *words: run(monkeypatch, "forms", *words, "--workspace", str(workspace.folder))


def test_forms_are_named_as_they_are_written(typed, workspace: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    assert typed("speeds", "--kind", "weather_day") == 0
    folder = workspace.folder / "forms"
    names = ("speeds.xlsx", "speeds.pdf", "weather-day.xlsx", "weather-day.pdf")
    assert capsys.readouterr().out.splitlines() == [str(folder / name) for name in names]
    assert typed("speeds", "--json") == 0
    told = json.loads(capsys.readouterr().out)["forms"]
    said = {"path": str(folder / "speeds.xlsx"), "unchanged": True, "fault": "", "nothing": "", "left": ""}
    assert told[0] == said


def test_rejected_rows_come_as_workbooks(
    typed, county: Load, workspace: Workspace, capsys: pytest.CaptureFixture[str]
) -> None:
    assert typed("--rejected") == 0
    assert capsys.readouterr().err == "No rejected rows stand in the workspace.\n"
    county("jobs.csv", "date,green,operation\n2026-04-03,ALD-1,danced\n")
    assert typed("--rejected") == 0
    made = workspace.rejected / "jobs.rejected.xlsx"
    assert capsys.readouterr().out == f"{made}\n"
    made.write_bytes(made.read_bytes() + b" ")
    assert typed("--rejected") == 1
    said = "it stands there with other content, perhaps mended; load it, or delete it"
    assert capsys.readouterr().err == f"{made}: not written: {said}.\n"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("greens",),
            "There is no form “greens”.\nForms are crew, laboratory, speeds, survey; or name a kind with --kind.\n",
        ),
        (
            ("crew", "--rejected"),
            "--rejected takes no form, kind or folder.\nRejected rows are written beside their CSV.\n",
        ),
    ],
)
def test_what_there_is_not_is_refused(typed, words, said, capsys: pytest.CaptureFixture[str]) -> None:
    assert typed(*words) == 2
    assert capsys.readouterr().err == said
