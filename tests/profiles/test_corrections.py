"""Corrections of known errors: made with a reason, guarded, and never silently stale."""

from __future__ import annotations

import pytest

from pipeline.common.refusal import CannotDo
from pipeline.profiles.corrections import read_corrections
from pipeline.workspace.settings import Workspace
from tests.conftest import Load

JOBS = "date,green,operation,hours\n2026-03-01,ALD-1,mowing,100\n2026-03-02,ALD-1,rolling,1\n"


def correction(workspace: Workspace, **keys: object) -> None:
    given = {
        "file": "jobs.csv",
        "column": "hours",
        "from": "100",
        "to": "1.0",
        "why": "decimal point lost",
        "who": "office",
        **keys,
    }
    lines = "".join(f"{key} = {_toml(value)}\n" for key, value in given.items() if value is not None)
    (workspace.corrections / "known.toml").write_text(f"[[correction]]\n{lines}", "utf-8")


def _toml(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f'{key} = "{word}"' for key, word in value.items()) + " }"
    return str(value) if isinstance(value, int) else f'"{value}"'


def faults(result: object) -> list[tuple[object, ...]]:
    return result.faults.select("line", "column", "code").rows()  # type: ignore[attr-defined,no-any-return]


def test_a_cell_named_by_its_line_is_corrected_with_a_note(county: Load, workspace: Workspace) -> None:
    correction(workspace, line=2)
    result = county("jobs.csv", JOBS)
    assert (result.counts.loaded, result.counts.rejected) == (2, 0)
    assert faults(result) == [(2, "hours", "correction.made")]
    assert "“100” was read as “1.0” (decimal point lost; office)" in result.faults["message"][0]
    assert county("jobs.csv", JOBS).counts.unchanged == 2


def test_a_row_named_by_its_cells_is_found_wherever_it_stands(county: Load, workspace: Workspace) -> None:
    correction(workspace, where={"date": "2026-03-01", "operation": "mowing"})
    assert faults(county("jobs.csv", JOBS)) == [(2, "hours", "correction.made")]


def test_a_correction_that_no_longer_fits_hands_the_row_back(county: Load, workspace: Workspace) -> None:
    correction(workspace, line=2)
    result = county("jobs.csv", JOBS.replace("mowing,100", "mowing,1.5"))
    assert (result.counts.loaded, result.counts.rejected) == (1, 1)
    assert faults(result) == [(2, "hours", "correction.does_not_fit")]
    assert "the cell says “1.5”" in result.faults["message"][0]


@pytest.mark.parametrize("keys", [{"line": 9}, {"where": {"green": "ALD-1"}}, {"line": 2, "column": "Stunden"}])
def test_a_correction_of_no_single_cell_is_a_fault(county: Load, workspace: Workspace, keys: dict[str, object]) -> None:
    correction(workspace, **keys)
    result = county("jobs.csv", JOBS)
    assert "correction.no_cell" in result.faults["code"].to_list()
    assert result.failed


def test_a_changed_correction_makes_the_same_file_another_one(county: Load, workspace: Workspace) -> None:
    assert county("jobs.csv", JOBS).counts.loaded == 2
    correction(workspace, line=2)
    assert county("jobs.csv", JOBS).counts.superseded == 1


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[[correction]\n", "is not readable TOML"),
        ("[other]\n", "may only hold"),
        ('[[correction]]\nfile = "a.csv"\n', "column is missing"),
        ('[[correction]]\nfile="a"\ncolumn="b"\nfrom="c"\nto="d"\nwhy="e"\nwho="f"\n', "needs `line` or `where`"),
    ],
)
def test_a_corrections_file_that_cannot_be_is_refused(workspace: Workspace, text: str, said: str) -> None:
    (workspace.corrections / "bad.toml").write_text(text, "utf-8")
    with pytest.raises(CannotDo, match=said.replace("[", r"\[").replace("`", "`")):
        read_corrections(workspace.corrections)
