"""Files of rejected rows as they come back: columns deleted or moved, the folder loaded, a sample without number."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load
from tests.load.test_load_store import rows
from tests.thorough import beyond

CREW = """\
name = "crew"
kind = "job"
[match]
headers = ["Tag", "Platz", "Arbeit"]
[reading]
delimiter = ";"
encoding = "cp1252"
header_line = 2
[values]
date_order = "dmy"
[fields]
date = "Tag"
green = "Platz"
operation = "Arbeit"
note = "message"
"""
LOG = "Log of the crew\nTag;Platz;Arbeit;message\n04.05.2026;ALD-1;mowing;café\n05.05.2026;ALD-1;moing;=café\n"
ADDED = ("line", "code", "message", "hint")


def rejected(county: Load, workspace: Workspace) -> Path:
    (workspace.profiles / "crew.toml").write_text(CREW)
    result = county("crew.csv", LOG.encode("cp1252"))
    assert (result.counts.loaded, result.counts.rejected) == (1, 1)
    assert result.rejects_file is not None
    return result.rejects_file


def back(path: Path, order: list[int], delimiter: str, mark: str = "utf-8") -> None:
    """The file as a person gives it back: mended, with these columns in this order."""
    cells = list(csv.reader(io.StringIO(path.read_text("utf-8-sig"))))
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter).writerows([row[i] for i in order] for row in cells)
    path.write_text(text.getvalue().replace("moing", "mowing"), mark)


@pytest.mark.parametrize("delimiter", [",", ";"])
@pytest.mark.parametrize(
    "order",
    [
        pytest.param([0, 1, 2, 3], id="all four deleted"),
        pytest.param([0, 1, 2, 3, 4], id="line is left"),
        pytest.param([0, 1, 2, 3, 5], id="code is left"),
        pytest.param([0, 1, 2, 3, 7], id="hint is left"),
        pytest.param([4, 5, 6, 7, 3, 2, 1, 0], id="moved to the front"),
        pytest.param([3, 4, 5, 6, 7, 2, 1, 0], id="in the midst"),
        pytest.param([5, 0, 1, 4, 3, 2, 7], id="mixed and one gone"),
    ],
)
@beyond(3)
def test_mended_rows_load_whatever_became_of_the_added_columns(
    county: Load, workspace: Workspace, order: list[int], delimiter: str
) -> None:
    """The profile's own layout (line 2, semicolons, cp1252) is not that of the file that was written for mending."""
    path = rejected(county, workspace)
    back(path, order, delimiter)
    (done,) = load_paths(workspace, [path], today=TODAY)
    assert (done.counts.rows, done.counts.loaded, done.failed) == (1, 1, False), done.faults.to_dicts()
    assert rows(workspace, "SELECT note FROM job ORDER BY date, note") == [("café",), ("=café",)]
    assert not [one for one in done.faults["message"] if any(f"“{name}”" in one for name in ADDED)]


def test_two_columns_of_one_name_are_told_apart_or_refused(county: Load, workspace: Workspace) -> None:
    """The crew's own message and the reason of a rejected row: read as each other, a note would be ours."""
    path = rejected(county, workspace)
    back(path, [6, 0, 1, 2, 3, 5], ",")
    (done,) = load_paths(workspace, [path], today=TODAY)
    assert done.refused
    assert done.faults["message"][0] == (
        "Two columns of these rejected rows are named “message”: one is the file's own, the other says why a row was "
        "rejected, and nothing tells which is which any more."
    )


def test_no_reason_becomes_a_green(county: Load, workspace: Workspace) -> None:
    """A register of greens knows a column named code: with it alone left, the fault's code stood for a green."""
    result = county("greens.csv", "club,name,area_m2,green\nALD,North,15x0,ALD-2\n")
    assert result.rejects_file is not None
    text = result.rejects_file.read_text("utf-8-sig").splitlines()
    cells = [next(csv.reader([line])) for line in text]
    mended = "\n".join(",".join([*row[:4], row[5]]) for row in cells).replace("15x0", "1500")
    result.rejects_file.write_text(mended)
    (done,) = load_paths(workspace, [result.rejects_file], today=TODAY)
    assert done.counts.loaded == 1, done.faults.to_dicts()
    assert rows(workspace, "SELECT green FROM green ORDER BY 1") == [("ALD-1",), ("ALD-2",)]


def test_a_source_that_bears_the_name_of_mended_rows_is_a_source(
    county: Load, workspace: Workspace, tmp_path: Path
) -> None:
    """Its rows were rejected once themselves; its layout is the profile's."""
    (workspace.profiles / "crew.toml").write_text(CREW)
    county("a.rejected.csv", LOG.encode("cp1252"))
    county("a.csv", LOG.encode("cp1252").replace(b"04.05", b"06.05"))
    again = county("a.rejected.csv", LOG.encode("cp1252"))
    assert (again.counts.rows, again.counts.unchanged, again.counts.rejected) == (2, 1, 1)


def test_loading_the_folder_of_rejected_rows_breeds_no_files(county: Load, workspace: Workspace) -> None:
    """Each time the folder was loaded, another file of the very same rows lay in it."""
    path = rejected(county, workspace)
    for _ in range(3):
        done = load_paths(workspace, [workspace.rejected], today=TODAY)
        assert [(one.counts.rejected, one.rejects_file) for one in done] == [(1, path)]
        assert [one.name for one in workspace.rejected.iterdir()] == [path.name]


LAB = 'name = "lab"\nkind = "soil_test"\nline_as = "reference"\n[match]\nheaders = ["Sampled", "K"]\n[constants]\n'
LAB += 'analyte = "potassium"\nunit = "mg/kg"\n[fields]\ndate = "Sampled"\ngreen = "Green"\nvalue = "K"\n'
SAMPLES = "Sampled,Green,K\n2026-02-10,ALD-1,120\n2026-02-10,ALD-1,12x4\n2026-02-10,ALD-1,120\n2026-02-10,ALD-1,1x\n"


def samples(county: Load, workspace: Workspace) -> Path:
    (workspace.profiles / "lab.toml").write_text(LAB)
    file = county("lab.csv", SAMPLES).rejects_file
    assert file is not None
    return file


def test_a_mended_replicate_keeps_the_line_it_had(county: Load, workspace: Workspace) -> None:
    """Named by its line in the file of rejected rows, it would take the place of another sample; twice mended too."""
    file = samples(county, workspace)
    file.write_text(file.read_text("utf-8-sig").replace("12x4", "124"))
    second = load_paths(workspace, [file], today=TODAY)[0]
    assert (second.counts.loaded, second.counts.rejected) == (1, 1)
    assert second.rejects_file is not None
    second.rejects_file.write_text(second.rejects_file.read_text("utf-8-sig").replace("1x", "119"))
    assert load_paths(workspace, [second.rejects_file], today=TODAY)[0].counts.loaded == 1
    found = rows(workspace, "SELECT reference, value FROM soil_test ORDER BY 1")
    assert found == [("2", 120.0), ("3", 124.0), ("4", 120.0), ("5", 119.0)]


def test_without_its_line_a_mended_replicate_is_refused(county: Load, workspace: Workspace) -> None:
    """Nothing tells any more which sample the row is."""
    file = samples(county, workspace)
    back(file, [0, 1, 2], ",")
    done: FileResult = load_paths(workspace, [file], today=TODAY)[0]
    assert done.refused
    assert done.faults.select("column", "message", "hint").row(0) == (
        "line",
        "The profile takes the line's number as reference, and column “line” was deleted or left blank in these mended "
        "rows.",
        "Put the column back (load the original file again: its rejected rows are written anew), mend and load it.",
    )
