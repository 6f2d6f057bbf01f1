"""All sheets of a workbook by one profile, and values said of a whole file with the command."""

from __future__ import annotations

import re
from pathlib import Path

import openpyxl
import pytest

from pipeline.cli.options import given_of
from pipeline.common.refusal import WrongUsage
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.load.test_load_parts import book, load
from tests.load.test_load_store import rows

SPEEDS = """name = "speeds"
kind = "green_speed"
[match]
headers = ["Day", "Seconds"]
[reading]
sheets = ["*"]
[given.green]
sheet = "(.+)"
[constants]
unit = "s"
device = "timed_bowl"
[fields]
date = "Day"
value = "Seconds"
"""


@pytest.fixture
def greens(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """A second green beside the county's one."""
    ((club,),) = rows(workspace, "SELECT club FROM green")
    path = tmp_path / "greens.csv"
    path.write_text(f"green,club\nALD-2,{club}\n")
    (done,) = load(workspace, path)
    assert not done.failed


def test_one_profile_reads_every_sheet_that_it_fits(greens: None, workspace: Workspace, tmp_path: Path) -> None:
    """Each sheet is a load of its own, its name the green; what it does not fit is named, never left out in silence."""
    (workspace.profiles / "speeds.toml").write_text(SPEEDS)
    head = [("Green speeds",), ("Day", "Seconds")]
    path = book(
        tmp_path / "speeds.xlsx",
        **{
            "ALD-1": [*head, ("2026-03-01", 11.5), ("2026-03-02", 11.7)],
            "ALD-2": [*head, ("2026-03-01", 10.5), ("2026-03-02", "slow")],
            "Key": [("Word", "Meaning"), ("s", "seconds")],
        },
    )
    done = load(workspace, path)
    assert [(one.shown, one.counts.loaded, one.counts.rejected) for one in done] == [
        ("speeds.xlsx [ALD-1]", 2, 0),
        ("speeds.xlsx [ALD-2]", 1, 1),
    ]
    assert "Sheet “Key” (4 filled cells) was not read; “ALD-1” and “ALD-2” were." in done[0].faults["message"].to_list()
    assert [one.counts.unchanged for one in load(workspace, path)] == [2, 1]
    rejected = done[1].rejects_file
    assert rejected is not None and rejected.name == "speeds.xlsx [ALD-2].rejected.csv"
    text = rejected.read_text("utf-8-sig")
    assert text.splitlines()[0].startswith("Day,Seconds,green,line,")
    rejected.write_text(text.replace("slow", "12.1"), "utf-8-sig")
    (mended,) = load(workspace, rejected)
    assert (mended.counts.loaded, mended.counts.rejected) == (1, 0)
    assert rows(workspace, "SELECT green, count(*) FROM green_speed GROUP BY ALL ORDER BY ALL") == [
        ("ALD-1", 2),
        ("ALD-2", 2),
    ]


def test_a_value_said_otherwise_the_second_time_is_refused(greens: None, workspace: Workspace, tmp_path: Path) -> None:
    """Both readings of one file would count: what was said is part of how it was read."""
    path = tmp_path / "log.csv"
    path.write_text("date,operation\n2026-03-01,mowing\n")
    (first,) = load(workspace, path, given={"green": "ALD-1"})
    assert first.counts.loaded == 1
    (same,) = load(workspace, path, given={"green": "ALD-1"})
    assert (same.counts.unchanged, same.counts.loaded) == (1, 0)
    (other,) = load(workspace, path, given={"green": "ALD-2"})
    assert other.refused and "load.read_otherwise" in other.faults["code"].to_list()


@pytest.mark.parametrize(
    ("said", "words"),
    [("green", "“green” is not FIELD=VALUE."), ("green=", "“green=” is not FIELD=VALUE.")],
)
def test_set_takes_a_field_and_a_value(said: str, words: str) -> None:
    with pytest.raises(WrongUsage, match=re.escape(words)):
        given_of([said])


def test_a_field_that_the_kind_does_not_have(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("date,green,operation\n2026-03-01,ALD-1,mowing\n")
    (done,) = load(workspace, path, given={"gren": "ALD-1"})
    assert done.refused
    assert "--set says gren, which is not a field of job; closest: green." in done.faults["message"].to_list()


def test_a_title_that_is_not_there_and_one_that_says_two_things(
    county: Load, workspace: Workspace, tmp_path: Path
) -> None:
    """Neither is guessed: the file is refused, and saying it with the command mends it."""
    text = 'name = "log"\nkind = "job"\n[match]\nheaders = ["Day", "Work"]\n[given.green]\ntitle = "of (ALD-.)"\n'
    (workspace.profiles / "log.toml").write_text(f'{text}[fields]\ndate = "Day"\noperation = "Work"\n')
    for title, found in (("Log", "nothing there fits it"), ("of ALD-1\nof ALD-2", "it says “ALD-1” and “ALD-2”")):
        path = tmp_path / "log.csv"
        path.write_text(f"{title}\nDay,Work\n2026-03-01,mowing\n")
        (done,) = load(workspace, path)
        said = [message for message in done.faults["message"] if message.startswith("The profile takes green from")]
        assert done.refused and said == [f"The profile takes green from the title (“of (ALD-.)”), and {found}."]
        (mended,) = load(workspace, path, given={"green": "ALD-1"}, dry_run=True)
        assert mended.counts.loaded == 1


TENTHS = """name = "tenths"
kind = "weather_day"
[match]
headers = ["day", "hum"]
[constants]
station = "Ostershire airfield"
[fields]
date = "day"
humidity_pct = { from = "hum", unit = "%", factor = 0.1 }
"""


def test_a_factor_is_not_applied_to_a_cell_that_says_its_own_unit(
    county: Load, workspace: Workspace, tmp_path: Path
) -> None:
    """A cell formatted as a percentage is read as one; multiplied as well it would be scaled twice in silence."""
    (workspace.profiles / "tenths.toml").write_text(TENTHS)
    made = openpyxl.Workbook()
    sheet = made.active
    for row in (("day", "hum"), ("2026-03-01", 815), ("2026-03-02", 0.82)):
        sheet.append(row)
    sheet["B3"].number_format = "0%"
    made.save(tmp_path / "hum.xlsx")
    (done,) = load(workspace, tmp_path / "hum.xlsx")
    assert (done.counts.loaded, done.counts.rejected) == (1, 1)
    assert done.faults.filter(line=3)["code"].to_list() == ["number.scaled_unit"]
    assert rows(workspace, "SELECT humidity_pct FROM weather_day") == [(81.5,)]


def test_a_limit_is_scaled_with_its_figure(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """ "<5" of tenths is less than 0.5, and stays "less than"."""
    text = 'name = "lab"\nkind = "soil_test"\n[match]\nheaders = ["Day", "P"]\n[constants]\nanalyte = "P"\n'
    text += 'extractant = "olsen"\nunit = "mg/kg"\ndepth_from_mm = 0\ndepth_to_mm = 100\n[fields]\ndate = "Day"\n'
    text += 'green = "Green"\nvalue = { from = "P", factor = 0.1 }\n'
    (workspace.profiles / "lab.toml").write_text(text)
    path = tmp_path / "lab.csv"
    path.write_text("Day,Green,P\n2026-03-01,ALD-1,<5\n2026-03-02,ALD-1,55\n")
    (done,) = load(workspace, path)
    assert not done.failed, done.faults["message"].to_list()
    held = rows(workspace, "SELECT value, coalesce(below_limit, false) FROM soil_test ORDER BY date")
    assert held == [(0.5, True), (5.5, False)]


DOWN = """name = "down"
kind = "job"
[match]
headers = ["Day", "Work"]
[fields]
date = { from = "Day", as_above = "blank" }
green = { from = "Green", as_above = "marks" }
operation = "Work"
note = "Note"
"""


def test_rejected_rows_hold_what_they_took_from_above(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """Alone in a file of rejected rows a blank would have nothing, or another row's value, above it."""
    (workspace.profiles / "down.toml").write_text(DOWN)
    path = tmp_path / "log.csv"
    path.write_text('Day,Green,Work,Note\n2026-03-01,ALD-1,mowed,"two\nlines"\n,do.,no such work,\n,"""",brushed,\n')
    (done,) = load(workspace, path)
    assert (done.counts.loaded, done.counts.rejected) == (2, 1)
    assert done.rejects_file is not None
    text = done.rejects_file.read_text("utf-8-sig")
    assert text.splitlines()[1].startswith("2026-03-01,ALD-1,no such work,")
    done.rejects_file.write_text(text.replace("no such work", "scarified"), "utf-8-sig")
    (mended,) = load(workspace, done.rejects_file)
    assert (mended.counts.loaded, mended.counts.rejected) == (1, 0)
    done.rejects_file.write_text(text.replace("2026-03-01,ALD-1,no such work", ",ALD-1,rolled"), "utf-8-sig")
    (blank,) = load(workspace, done.rejects_file)
    assert blank.counts.loaded == 0
    assert "cell.nothing_above" in blank.faults["code"].to_list()


def test_a_row_left_out_between_stops_filling_down(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """A row that could not be read may have held the very value that is meant."""
    (workspace.profiles / "down.toml").write_text(DOWN)
    path = tmp_path / "log.csv"
    path.write_text(
        "Day,Green,Work,Note\n2026-03-01,ALD-1,mowed,\n2026-03-02,ALD-1,mowed,dry,cold,windy\n,do.,brushed,\n"
    )
    (done,) = load(workspace, path)
    assert (done.counts.loaded, done.counts.rejected) == (1, 2)
    assert done.faults.filter(line=4)["code"].unique().to_list().count("cell.nothing_above") == 1
