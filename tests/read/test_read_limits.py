"""What fills a machine is refused before it does: each limit by a small file, and the setting that allows more.

At full size the same files are measured by ``make bombs``.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.common.limits import STANDARD, Limits
from pipeline.load.files import load_paths
from pipeline.read.sheet import Reading, Sheet
from pipeline.read.table import read_sheet
from pipeline.workspace.settings import SETTINGS_TEXT, Settings, Workspace, open_workspace
from tests.bombs.files import BOMBS
from tests.conftest import Load

SMALL = Limits(
    text_mb=1, lines=2_000, columns=50, cells=20_000, odd_rows=100, line_kb=10, cell_characters=300, workbook_mb=1,
    parts=50, unpacked_mb=2, sheets=10, filled_cells=2_000, table_cells=5_000, characters=50_000, nested=100,
)  # fmt: skip
"""About a thousandth of the limits that hold."""
SAID = {
    "two gigabytes of nothing": (0.001, "is 2,000,000 bytes large; 1 MB are the most", "text_mb"),
    "10^8 columns in one line": (1e-6, "has 101 columns or more; 50 are the most", "columns"),
    "a cell of 500 MB": (0.001, "", ""),
    "a cell over 10^7 lines": (0.001, "has 10,002 lines; 2,000 are the most", "lines"),
    "10^6 quotes that never close": (0.001, "has more than 100 lines that cannot be read as rows", "odd_rows"),
    "5 x 10^7 blank lines": (0.0001, "has 5,002 lines; 2,000 are the most", "lines"),
    "5 x 10^7 bare CR, two encodings": (0.0002, "has 10,000 lines; 2,000 are the most", "lines"),
    "used range 2^20 x 2^14": (1, "a table of 17,179,869,184 cells; 5,000 are the most", "table_cells"),
    "1,001 sheets": (0.01, "has more than 10 sheets", "sheets"),
    "10 GB unpacked": (0.0004, "bytes of cells and words; 2 MB are the most", "unpacked_mb"),
    "10 GB unpacked, said to be 1 kB": (0.0004, "a part of it is larger than it says", ""),
    "10 GB under another name": (0.0004, "bytes of cells and words; 2 MB are the most", "unpacked_mb"),
    "2 x 10^6 files packed": (0.00005, "holds 100 files; 50 are the most", "parts"),
    "XML 3 x 10^7 deep": (0.01, "bytes of cells and words; 2 MB are the most", "unpacked_mb"),
    "3 x 10^6 shared words": (0.001, "holds more than 2,000 different words", "filled_cells"),
    "ODS rows repeated 10^9 times": (1, "", ""),
}
"""By file: at which scale it is beyond the small limits, what is said of it, and the setting named."""


def read(path: Path, limits: Limits = SMALL) -> Sheet:
    return read_sheet(path, Reading(limits=limits))


@pytest.mark.parametrize("name", SAID)
def test_each_is_refused_and_says_by_which_limit(tmp_path: Path, name: str) -> None:
    """The fault tells the limit, what was found, and the line of settings.toml that allows more."""
    make, file = BOMBS[name]
    scale, said, setting = SAID[name]
    sheet = read(make(tmp_path / file, scale))
    assert sheet.cells.height == 0 or sheet.faults.height
    (message, hint) = sheet.faults.filter(sheet.faults["severity"] == "error").select("message", "hint").row(0)
    assert said in message
    assert f"raise {setting} under [limits] in settings.toml" in hint or not setting


def test_what_is_just_within_a_limit_is_read(tmp_path: Path) -> None:
    """A limit is the most that is read, not the first that is not."""
    path = tmp_path / "a.csv"
    path.write_text("green,value\n" + "ALD-1,5\n" * 9)
    assert read(path, Limits(lines=10, columns=2, cells=20)).cells.height == 9
    for few, code in ((Limits(lines=9), "lines"), (Limits(columns=1), "columns"), (Limits(cells=19), "cells")):
        (hint,) = read(path, few).faults["hint"]
        assert f"raise {code} under" in hint


def test_a_long_cell_rejects_its_row_alone(tmp_path: Path) -> None:
    """The rest of the file is sound; what is told of the cell is its beginning."""
    path = tmp_path / "a.csv"
    path.write_text(f"green,value\nALD-1,5\nALD-1,{'x' * 301}\nALD-1,{'y' * 300}\n")
    sheet = read(path)
    assert sheet.cells.height == 3
    assert sheet.faults.select("line", "column", "code", "value").rows() == [(3, "value", "cell.too_long", "x" * 100)]
    assert "The cell has 301 characters; 300 are the most." in sheet.faults["message"][0]


def test_limits_are_settings_and_reach_the_reader(workspace: Workspace, county: Load, tmp_path: Path) -> None:
    """A refused file loads once its limit is raised, though its bytes were met before."""
    path = tmp_path / "log.csv"
    path.write_text(f"date,green,operation,hours,note\n2026-05-04,ALD-1,mowing,1,{'x' * 400}\n")

    def loaded(limits: str) -> tuple[bool, int]:
        (workspace.folder / "settings.toml").write_text(limits)
        (done,) = load_paths(open_workspace(workspace.folder), [path])
        return done.failed, done.counts.loaded

    county("none.csv", "date,green,operation,hours\n")
    assert loaded("[limits]\ncell_characters = 300\n") == (True, 0)
    assert loaded("[limits]\ncell_characters = 400\n") == (False, 1)


def test_the_text_that_init_writes_says_the_limits_in_force() -> None:
    """A person reads the figures there; those in force stand in the code."""
    import tomllib

    written = tomllib.loads(SETTINGS_TEXT)
    assert Settings.model_validate(written).limits == STANDARD
    assert written["limits"].keys() == Limits.model_fields.keys()
