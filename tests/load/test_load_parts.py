"""Several profiles for one file, a profile that is corrected, and sheets, layers and files that were left out."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace, open_workspace
from tests.conftest import TODAY, Load
from tests.load.test_load_store import rows

HEADER = ("Sampled", "Green", "LOI")
READ = 'kind = "soil_test"\n[match]\nheaders = ["Sampled", "Green"]\n{match}\n[constants]\nanalyte = "organic_matter"\n'
READ += 'unit = "%"\ndepth_from_mm = {top}\ndepth_to_mm = {low}\n[fields]\ndate = "Sampled"\ngreen = "Green"\n'
READ += 'value = "{column}"\n{more}'


def profile(workspace: Workspace, name: str, column: str, top: int, match: str = "", more: str = "") -> None:
    text = READ.format(match=match, top=top, low=top + 20, column=column, more=more)
    (workspace.profiles / f"{name}.toml").write_text(f'name = "{name}"\n{text}')


def book(path: Path, **sheets: list[tuple[object, ...]]) -> Path:
    made = openpyxl.Workbook()
    made.remove(made.active)
    for name, cells in sheets.items():
        sheet = made.create_sheet(name)
        for row in cells:
            sheet.append(row)
    made.save(path)
    return path


def load(workspace: Workspace, *paths: Path, **options: object) -> list[FileResult]:
    return load_paths(workspace, paths, today=TODAY, **options)  # type: ignore[arg-type]


def layers(workspace: Workspace) -> list[tuple[object, ...]]:
    return rows(workspace, "SELECT depth_from_mm, value FROM soil_test ORDER BY ALL")


def two_layers(workspace: Workspace, tmp_path: Path, match: tuple[str, str]) -> Path:
    profile(workspace, "top", "LOI 0-20", 0, match[0])
    profile(workspace, "below", "LOI 20-40", 20, match[1])
    path = tmp_path / "lab.csv"
    path.write_text("Sampled,Green,LOI 0-20,LOI 20-40\n2026-02-10,ALD-1,4.8,3.1\n2026-02-10,ALD-9,5.0,3.3\n")
    return path


def test_two_profiles_for_two_layers_each_read_their_part(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """Each part is a load of its own with its own rows; nothing of the other part is called unused or left out."""
    path = two_layers(workspace, tmp_path, ('part = "top"', 'part = "below"'))
    done = load(workspace, path)
    assert [(one.shown, one.counts.rows, one.counts.loaded, one.counts.rejected) for one in done] == [
        ("lab.csv (below)", 2, 1, 1),
        ("lab.csv (top)", 2, 1, 1),
    ]
    assert {code for one in done for code in one.faults["code"]} == {"reference.unknown"}
    assert layers(workspace) == [(0.0, 4.8), (20.0, 3.1)]
    assert len({one.rejects_file for one in done}) == 2, (
        "the rejected rows of one part are not written over the other's"
    )
    again = load(workspace, path)
    assert [(one.counts.unchanged, one.counts.rejected, one.load_id) for one in again] == [(1, 1, None)] * 2


def test_mended_rows_of_a_part_are_read_as_that_part(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """Read by the other profile too, a rejected row would bring a second record that was never rejected there."""
    path = two_layers(workspace, tmp_path, ('part = "top"', 'part = "below"'))
    file = next(one.rejects_file for one in load(workspace, path) if one.profile == "below")
    assert file is not None
    file.write_text(file.read_text("utf-8-sig").replace("ALD-9", "ALD-1").replace("2026-02-10", "2026-02-11"))
    (mended,) = load(workspace, file)
    assert (mended.profile, mended.counts.loaded) == ("below", 1)
    assert layers(workspace) == [(0.0, 4.8), (20.0, 3.1), (20.0, 3.3)]


def test_profiles_that_do_not_say_which_layer_are_refused(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """Chosen by their names, one layer was loaded and the other was not, without a word."""
    path = two_layers(workspace, tmp_path, ("", 'part = "below"'))
    (done,) = load(workspace, path)
    assert (done.refused, done.counts.rows, done.counts.rejected) == (True, 2, 2)
    assert done.faults["message"].to_list() == [
        "Profiles “below” and “top” fit this file equally well, and nothing says which is meant."
    ]
    (named,) = load(workspace, path, profile="top")
    assert (named.profile, named.counts.loaded, named.left_out) == ("top", 1, True)


def test_two_profiles_for_the_layers_of_a_long_sheet(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """Different words of one column under [only] say which rows each reads."""
    for name, top in (("top", 0), ("below", 20)):
        profile(workspace, name, "LOI", top, more=f'[only]\nLayer = "{name}"\n')
    path = tmp_path / "lab.csv"
    path.write_text("Sampled,Green,Layer,LOI\n2026-02-10,ALD-1,top,4.8\n2026-02-10,ALD-1,below,3.1\n")
    done = load(workspace, path)
    assert [(one.profile, one.counts.loaded, one.counts.ignored) for one in done] == [("below", 1, 1), ("top", 1, 1)]
    assert layers(workspace) == [(0.0, 4.8), (20.0, 3.1)]


def test_a_profile_a_sheet_and_the_sheet_that_is_left(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """Sheets that nobody reads are named, once a file; one with a table is a fault, until somebody says it is none."""
    profile(workspace, "march", "LOI", 0, more='[reading]\nsheet = "March"\n')
    profile(workspace, "june", "LOI", 0, more='[reading]\nsheet = "June"\n')
    path = book(
        tmp_path / "lab.xlsx",
        March=[HEADER, ("2026-03-10", "ALD-1", 4.8)],
        June=[HEADER, ("2026-06-10", "ALD-1", 5.1)],
        July=[HEADER, ("2026-07-10", "ALD-1", 5.5)],
        Notes=[("Samples by post.",)],
    )
    done = load(workspace, path)
    assert [(one.profile, one.counts.loaded, one.left_out) for one in done] == [("june", 1, True), ("march", 1, False)]
    assert done[0].faults.select("severity", "message").rows() == [
        ("warning", "Sheet “July” (6 filled cells) was not read; “June” and “March” were."),
        ("note", "Sheet “Notes” (1 filled cell) was not read; it holds no table."),
    ]
    (workspace.folder / "settings.toml").write_text('ignore_sheets = ["july", "note*"]\n')
    assert not any(one.faults.height for one in load(open_workspace(workspace.folder), path))


def test_a_workbook_without_a_profile_names_what_it_did_not_read(
    county: Load, workspace: Workspace, tmp_path: Path
) -> None:
    """The one sheet with known headers is read; a table beside it was passed over without a word."""
    path = book(
        tmp_path / "log.xlsx",
        Log=[("date", "green", "operation"), ("2026-05-04", "ALD-1", "mowing")],
        Fuel=[("week", "litres"), ("19", "40")],
    )
    (done,) = load(workspace, path)
    assert (done.counts.loaded, done.failed, done.left_out) == (1, False, True)
    assert done.faults["message"].to_list() == ["Sheet “Fuel” (4 filled cells) was not read; “Log” was."]
    (again,) = load(workspace, path)
    assert again.left_out, "it is said each time, also where the store knows the file"


@pytest.mark.parametrize("field", ["depth_to_mm = 20", 'lab = "Lab A"'])
def test_a_corrected_constant_does_not_leave_both_in_force(
    county: Load, workspace: Workspace, tmp_path: Path, field: str
) -> None:
    """A constant that is part of the key makes other records of the same rows: both counted."""
    profile(workspace, "lab", "LOI", 0)
    path = tmp_path / "lab.csv"
    path.write_text("Sampled,Green,LOI\n2026-02-10,ALD-1,4.8\n2026-02-11,ALD-1,4.9\n")
    (first,) = load(workspace, path)
    text = (workspace.profiles / "lab.toml").read_text()
    mended = (
        text.replace(field, "depth_to_mm = 25") if field in text else text.replace("[fields]", f"{field}\n[fields]")
    )
    (workspace.profiles / "lab.toml").write_text(mended)
    (second,) = load(workspace, path)
    assert (second.refused, second.counts.rejected) == (True, 2)
    assert second.faults.select("message", "hint").row(0) == (
        f"2 rows of this very file are in force as load {first.load_id} read them, and would be other records now: "
        "both would count.",
        f"Take back what was read before, then load the file again: swardtally undo {first.load_id}. If both readings "
        "are true, give each its own profile, each with its own part under [match].",
    )
    assert first.load_id is not None
    undo(workspace, first.load_id)
    (third,) = load(workspace, path)
    assert (third.counts.loaded, rows(workspace, "SELECT count(*) FROM soil_test")) == (2, [(2,)])


def test_a_profile_corrected_for_rejected_rows_alone_loads(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """What was in force stays what it was; only the rows that were rejected come in."""
    profile(workspace, "lab", "LOI", 0)
    path = tmp_path / "lab.csv"
    path.write_text("Sampled,Green,LOI\n2026-02-10,ALD-1,4.8\n2026-02-11,First,4.9\n")
    assert load(workspace, path)[0].counts.rejected == 1
    profile(workspace, "lab", "LOI", 0, more='[aliases.green]\nFirst = "ALD-1"\n')
    (done,) = load(workspace, path)
    assert (done.counts.loaded, done.counts.unchanged, done.failed) == (1, 1, False)
