"""Days corrected in a register and in a laboratory's list are asked about, though the files say nothing of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.indicators.base.open_matters import open_matters
from pipeline.load.result import FileResult
from pipeline.store.decide import decide
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, open_workspace
from tests.conftest import TODAY, Load
from tests.laid import laid
from tests.thorough import beyond

AREAS = "green,club,name,area_m2,from\n"
FIRST = "ALD-1,ALD,Main,1444,\n"
SOIL = "date,green,lab no,analyte,value,unit\n"
RESULTS = (("pH", "6.1", "pH"), ("potassium", "120", "mg/kg"), ("phosphorus", "24", "mg/kg"))
Put = Callable[[str, str], FileResult]


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    (tmp_path / "settings.toml").write_text("", "utf-8")
    return open_workspace(tmp_path)


@pytest.fixture
def put(workspace: Workspace) -> Put:
    def load(name: str, text: str) -> FileResult:
        path = workspace.folder / name
        path.write_text(text, "utf-8")
        result = laid(workspace, path, today=TODAY)
        assert not result.failed, result.faults.select("code", "message").rows()
        return result

    load("clubs.csv", "club,name\nALD,Alder Brook\n")
    load("greens.csv", f"{AREAS}{FIRST}ALD-2,ALD,Second,1300,\n")
    return load


def told(result: FileResult, code: str = "record.key_changed") -> list[tuple[int | None, str]]:
    return result.faults.filter(result.faults["code"] == code).select("line", "message").rows()


def soil(day: str, number: str, results: tuple[tuple[str, str, str], ...] = RESULTS) -> str:
    return "".join(f"{day},ALD-1,{number},{','.join(one)}\n" for one in results)


def test_a_corrected_day_of_a_registers_row_is_asked_about(put: Put, workspace: Workspace) -> None:
    """The former row stayed in force, with the area that no file says any more."""
    before = put("areas.csv", f"{AREAS}{FIRST}ALD-1,ALD,Main,1369,2026-04-01\n")
    after = put("areas.csv", f"{AREAS}{FIRST}ALD-1,ALD,Main,1300,2026-06-01\n")
    assert told(after) == [
        (
            3,
            f"line 3 of areas.csv (load {before.load_id}) said the same, but for valid_from: 2026-04-01 there, "
            "2026-06-01 here; area_m2: 1369 there, 1300 here. The file no longer holds that row, and both count.",
        )
    ]
    (matter,) = open_matters(workspace)
    assert [means for _, means in matter.next][1] == "both hold, each from its day"
    decide(workspace, "one", ["areas.csv:3", "areas.csv:3"], "a slip", "office")
    assert open_matters(workspace) == ()
    with Store(workspace.store, read_only=True) as store:
        held = store.rows("SELECT area_m2, holds_from FROM green_by_day WHERE green = 'ALD-1' ORDER BY ALL")
    assert [(area, str(day)) for area, day in held] == [(1300.0, "2026-06-01"), (1444.0, "None")]


@pytest.mark.parametrize(
    ("row", "asked"),
    [
        pytest.param("ALD-1,ALD,Main,1369,2026-06-01\n", True, id="the day alone differs"),
        pytest.param("ALD-1,ALD,Main,1300,2026-06-01\n", False, id="a list of what holds now"),
    ],
)
@beyond(1)
def test_of_a_file_of_one_row_a_name_the_day_alone_is_a_sign(put: Put, row: str, asked: bool) -> None:
    put("areas.csv", f"{AREAS}ALD-1,ALD,Main,1369,2026-04-01\n")
    assert bool(told(put("areas.csv", AREAS + row))) is asked


@pytest.mark.parametrize("name", ["list B.csv", "soil 2025.csv"])
@beyond(1)
def test_a_sample_whose_day_another_list_corrects_is_asked_about(put: Put, workspace: Workspace, name: str) -> None:
    """One number of the laboratory's, all results alike, two days: it was counted twice without a word."""
    first = put("soil 2024.csv", SOIL + soil("2025-02-10", "S101") + soil("2025-02-10", "S102"))
    result = put(name, SOIL + soil("2025-02-13", "S101") + soil("2025-02-10", "S102"))
    assert told(result) == [
        (
            line,
            f"line {line} of soil 2024.csv (load {first.load_id}) said the same, but for date: 2025-02-10 there, "
            "2025-02-13 here. All else that the two say of the sample of this number agrees, and both count.",
        )
        for line in (2, 3, 4)
    ]
    decide(workspace, "one", [name, "soil 2024.csv"], "sampled on the 13th", "laboratory")
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT count(*) FROM soil_test") == [(6,)]
    assert open_matters(workspace) == ()


@pytest.mark.parametrize(
    "second",
    [
        pytest.param(soil("2026-02-12", "S101", RESULTS[:1]), id="one result alike a year later"),
        pytest.param(soil("2025-02-13", "S103"), id="another number"),
        pytest.param(
            soil("2025-02-13", "S101", (*RESULTS[:2], ("phosphorus", "25", "mg/kg"))), id="one result differs"
        ),
    ],
)
def test_another_sample_is_not_asked_about(put: Put, second: str) -> None:
    put("list A.csv", SOIL + soil("2025-02-10", "S101"))
    assert told(put("list B.csv", SOIL + second)) == []


def test_a_senders_own_number_may_be_of_a_place(put: Put) -> None:
    """Sample 1 of every fortnight: one result alike is no sign that it is the same sample."""
    head = SOIL.replace("lab no", "sample")
    put("list A.csv", head + soil("2025-02-10", "1", RESULTS[:1]))
    assert told(put("list B.csv", head + soil("2025-02-24", "1", RESULTS[:1]))) == []


def test_results_taken_back_are_named(put: Put) -> None:
    put("soil.csv", SOIL + soil("2025-02-10", "S101"))
    result = put("soil.csv", SOIL + soil("2025-02-10", "S101").replace("potassium,120", "potassium,"))
    assert told(result, "load.withdrawn") == [
        (
            None,
            "Left blank here, and so no longer in force: 1 result (2025-02-10, ALD-1, potassium, S101: 120, line 3 of "
            "soil.csv).",
        )
    ]


def test_a_ph_needs_no_unit(put: Put) -> None:
    """A pH has none; any other result without one is rejected still."""
    put("soil.csv", SOIL + "2025-02-10,ALD-1,S101,pH,6.1,\n")
    with pytest.raises(AssertionError, match="unit is blank"):
        put("more.csv", SOIL + "2025-02-10,ALD-1,S101,potassium,120,\n")


def test_samples_that_are_about_no_green_are_looked_at_too(county: Load) -> None:
    """The file has no column of greens: asking for it once ended the load."""
    head = "date,material,sample,size,basis,value,unit\n"
    rows = "".join(f"{{day}},70/30 sand and soil,S,{size},passing,{value},%\n" for size, value in ((0.5, 40), (1, 90)))
    assert not county("a.csv", head + rows.replace("{day}", "2026-03-04")).failed
    assert not county("b.csv", head + rows.replace("{day}", "2026-04-01").replace("90", "80")).failed
