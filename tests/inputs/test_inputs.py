"""Every kind of trouble seen in real exports: a folder a kind, a folder a case; what should come of it lies beside it.

What each case is, and why its answer is the right one: README.md of this folder.
"""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from pipeline.workspace.settings import Settings, Workspace
from tests.inputs.cases import Case, all_cases, fault_order, outcome
from tests.inputs.harness import Bench
from tests.inputs.renew import README, readme
from tests.thorough import one_in

CASES = all_cases()


@pytest.mark.parametrize("case", one_in(3, CASES), ids=[case.name for case in CASES])
def test_case(case: Case, county: Bench, tmp_path: Path) -> None:
    """Guards against an export that is misread, lost in part, or refused for the wrong reason."""
    expected = case.expected
    with county.rehearsal(Workspace(tmp_path, Settings())) as bench:
        results = case.load(bench)
        kind = results[-1].kind
        records = bench.records(kind) if "records" in expected and kind else []
    assert [path.name for path in case.files] == list(expected["loads"])
    for result, wanted in zip(results, expected["loads"].values(), strict=True):
        bare = [{key: value for key, value in fault.items() if key != "says"} for fault in wanted["faults"]]
        assert outcome(result) == {
            "kind": wanted["kind"],
            "counts": wanted["counts"],
            "faults": sorted(bare, key=fault_order),
        }
        _check_words(result.as_json()["faults"], wanted["faults"])
        warnings = [fault for fault in bare if fault["severity"] == "warning"]
        assert result.counts.warnings == (len(warnings) if result.counts.rows or warnings else 0)
    if "records" in expected:
        assert len(records) == len(expected["records"]), records
        for record, wanted in zip(records, expected["records"], strict=True):
            _check_record(record, wanted)


def _check_words(found: list[dict[str, Any]], wanted: list[dict[str, Any]]) -> None:
    """Every message ends with what to do, and names what it must."""
    assert all(fault["message"] and fault["hint"] for fault in found)
    for fault in wanted:
        place = [fault[name] for name in ("line", "column", "code")]
        said = " ".join(
            f"{one['message']} {one['hint']}"
            for one in found
            if [one[name] for name in ("line", "column", "code")] == place
        )
        assert all(words in said for words in fault.get("says", ())), said


def _check_record(record: dict[str, Any], wanted: dict[str, Any]) -> None:
    for name, value in wanted.items():
        found = record[name]
        if name == "written":
            assert {**json.loads(found), **value} == json.loads(found)
        elif isinstance(value, float | int) and not isinstance(value, bool):
            assert found == pytest.approx(value, rel=1e-6), name
        else:
            assert (found.isoformat() if isinstance(found, date) else found) == value, name


def test_readme_names_every_case() -> None:
    """Guards against a case that nobody can find; ``python -m tests.inputs.renew --readme`` writes the list anew."""
    assert README.read_text("utf-8") == readme(CASES)
