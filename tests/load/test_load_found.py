"""What is found in a folder: files to read, files passed over by name, and those nobody need hear of."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.common.refusal import WrongUsage
from pipeline.load.found import found_in, not_loaded, passed_over


def made(folder: Path, *names: str) -> Path:
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("x")
    return folder


def test_lock_and_hidden_files_are_no_files(tmp_path: Path) -> None:
    """A spreadsheet's lock file ends in .xlsx and was refused as damaged."""
    names = ("log.csv", "~$log.xlsx", ".~lock.log.csv#", ".hidden.csv", ".git/log.csv", "Thumbs.db", "__MACOSX/log.csv")
    found = found_in([made(tmp_path, *names)])
    assert ([shown for _, shown in found.files], found.passed) == (["log.csv"], [])


def test_files_of_other_types_are_named(tmp_path: Path) -> None:
    """Type by type, three of each; what the settings list is left out."""
    names = ("log.csv", "a.pdf", "b.pdf", "c.PDF", "in/d.pdf", "crew.numbers", "README", "old/x.zip")
    found = found_in([made(tmp_path, *names)])
    assert passed_over([shown for _, shown in found.passed]) == (
        "Passed over: 1 file of type .numbers (crew.numbers), 4 files of type .pdf (a.pdf, b.pdf, c.PDF and 1 more), "
        "1 file of type .zip (old/x.zip) and 1 file of type no ending (README)."
    )
    fewer = found_in([tmp_path], ["*.PDF", "old/*", "readme"])
    assert [shown for _, shown in fewer.passed] == ["crew.numbers"]
    assert fewer.left({tmp_path.resolve() / "crew.numbers"}) == [], "a picture that a row names was taken in"


def test_a_folder_with_nothing_to_read_says_what_is_there(tmp_path: Path) -> None:
    """“No file” is no answer where three PDFs lie."""
    with pytest.raises(WrongUsage) as told:
        found_in([made(tmp_path, "a.pdf")])
    assert told.value.message == "No file to load was found. Passed over: 1 file of type .pdf (a.pdf)."


def test_what_the_program_wrote_is_read_where_it_is_named_alone(tmp_path: Path) -> None:
    """A folder of reports holds a sheet twice, edited and as it was written, and orders that have not gone out."""
    made(tmp_path, "log.csv", "reports/a.pdf")
    made(tmp_path, "reports/2027/P.csv", "reports/2027/P.xlsx", "reports/2027/o/ordered.csv")
    reports = tmp_path / "reports"
    found = found_in([tmp_path], reports=reports)
    assert [shown for _, shown in found.files] == ["log.csv"]
    assert not_loaded(found.written) == (
        "Not loaded: 4 files where documents are written (reports/2027/P.csv, reports/2027/P.xlsx, "
        "reports/2027/o/ordered.csv and 1 more). Name the one that you edited, or the order that has gone out."
    )
    named = found_in([reports / "2027" / "P.csv"], reports=reports)
    assert ([shown for _, shown in named.files], named.written) == (["P.csv"], [])
    with pytest.raises(WrongUsage, match=r"was found\. Not loaded: 3 files where documents are written"):
        found_in([reports / "2027"], reports=reports)
