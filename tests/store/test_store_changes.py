"""Former values: what each record said before, and which line of which load changed it."""

from __future__ import annotations

import json

import pytest

from pipeline.cli.app import app
from pipeline.common.refusal import WrongUsage
from pipeline.load.source import same_source
from pipeline.store.changes import changes
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.thorough import thorough

HEAD = "date,green,analyte,value,unit,lab\n"


@pytest.fixture
def changed(county: Load, workspace: Workspace) -> Workspace:
    """A workspace in which a result was corrected, another withdrawn, and of two jobs of one day one corrected."""
    county("lab.csv", HEAD + "2026-02-10,ALD-1,K,120,mg/kg,A\n2026-02-10,ALD-1,P,20,mg/kg,A\n")
    county("lab.csv", HEAD + "2026-02-10,ALD-1,K,130,mg/kg,A\n2026-02-10,ALD-1,P,,mg/kg,A\n")
    county("log.csv", "date,green,operation,hours\n2026-03-01,ALD-1,mowing,1\n2026-03-01,ALD-1,mowing,2\n")
    county("log.csv", "date,green,operation,hours\n2026-03-01,ALD-1,mowing,2\n2026-03-01,ALD-1,mowing,5\n")
    return workspace


def test_every_former_value_is_shown_with_what_changed_it(changed: Workspace) -> None:
    found = changes(changed, green="ALD-1")
    said = [(one.kind, one.field, one.former, one.now, one.how, one.file, one.line, one.former_line) for one in found]
    assert said == [
        ("soil_test", "value", "20.0", None, "withdrawn", "lab.csv", None, 3),
        ("soil_test", "value", "120.0", "130.0", "superseded", "lab.csv", 2, 2),
        ("job", "hours", "1.0", "5.0", "superseded", "log.csv", 3, 2),  # the twin of two hours was there already
    ]
    assert found[1].key.startswith("2026-02-10, ALD-1, potassium")
    assert [one.load_id for one in found] == sorted(one.load_id for one in found)


@thorough
def test_by_file_and_as_json(changed: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    assert {one.kind for one in changes(changed, file="log.csv")} == {"job"}
    words = ["history", "--workspace", str(changed.folder), "--file", "log.csv"]
    assert app([*words, "--json"], standalone_mode=False) == 0
    (one,) = json.loads(capsys.readouterr().out)["changes"]
    assert (one["field"], one["former"], one["now"], one["line"]) == ("hours", "1.0", "5.0", 3)
    assert app(words, standalone_mode=False) == 0
    row = capsys.readouterr().out.splitlines()[1]
    for cell in ("2026-03-01, ALD-1, mowing", "hours", "1.0", "5.0", "log.csv:2", "log.csv:3"):
        assert cell in row


@thorough
def test_what_was_taken_back_is_no_history(changed: Workspace) -> None:
    undo(changed, max(one.load_id for one in changes(changed, file="log.csv")))
    assert changes(changed, file="log.csv") == []


@pytest.mark.parametrize("asked", [{"file": "nowhere.csv"}, {"green": "NOWHERE"}])
def test_what_is_not_there_is_said(changed: Workspace, asked: dict[str, str]) -> None:
    with pytest.raises(WrongUsage):
        changes(changed, **asked)


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        (("log.csv", ""), ("log.csv", ""), True),
        (("log 2026-03.csv", ""), ("Log_2026-04 (2).csv", ""), True),
        (("log March.csv", ""), ("log April 2026.csv", ""), True),
        (("2026/log.csv", ""), ("log.rejected.csv", ""), True),
        (("crew.csv", ""), ("log.csv", ""), False),
        (("crew.csv", "round"), ("log.csv", "round"), True),
        (("crew.csv", "round"), ("log.csv", ""), False),
        (("log.csv", "round"), ("log.csv", ""), True),  # a profile drafted since
    ],
)
def test_issues_of_one_export_are_told_by_profile_or_name(
    one: tuple[str, str], other: tuple[str, str], same: bool
) -> None:
    assert same_source(*one, *other) is same
    assert same_source(*other, *one) is same
