"""Two hands that log one job: asked about, with both lines; what is said to differ is not."""

from __future__ import annotations

from datetime import date

import pytest

from pipeline.indicators.base.reading import read_records
from pipeline.season.green import green_season
from pipeline.store.doubles import LIKELY_DOUBLE, likely_doubles
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.thorough import beyond, thorough

pytestmark = pytest.mark.both_stores(ordinary=("test_each_is_asked_about_once_beside_the_first",))

HEAD = "date,green,operation,material,reference,logged_by,quantity,hours,passes,treated_area_m2,depth_mm,note\n"
FEED = "spring granular 11-5-5 + 8 Fe"
DRESS = "70/30 sand and soil"
DAY = "2026-03-01,ALD-1,"


def fed(by: str, quantity: str, material: str = FEED) -> str:
    """A line of a feed."""
    return f"fertilising,{material},,{by},{quantity},,,,,"


def dressed(by: str, quantity: str, hours: str = "", area: str = "") -> str:
    """A line of a dressing."""
    return f"top dressing,{DRESS},,{by},{quantity},{hours},,{area},,"


def pairs(workspace: Workspace) -> list[tuple[str, int, str, int]]:
    """File and line of the later job, and of the earlier one, of every likely double."""
    with Store(workspace.store, read_only=True) as store:
        found = likely_doubles(store)
    return found.select("file", "line", "other_file", "other_line").rows()


@pytest.mark.parametrize(
    ("one", "other"),
    [
        pytest.param(fed("Ann", "50 kg"), fed("Bob", "50 kg"), id="other By"),
        pytest.param(f"fertilising,{FEED},J1,,50 kg,,,,,", f"fertilising,{FEED},S7,,50 kg,,,,,", id="other Ref"),
        pytest.param(fed("", "50 kg"), fed("", "50 kg", "Spring Granular 11 5 5 8 fe"), id="spelling"),
        pytest.param(fed("Ann", "50 kg"), fed("Bob", "110 lb"), id="other units"),
        pytest.param(fed("Ann", "50 kg"), fed("Bob", "2 x 25 kg"), id="packs"),
        pytest.param(fed("Ann", "48 kg"), fed("Bob", "30 g/m2"), id="rate over the green"),
        pytest.param(fed("Ann", "50 kg"), fed("Bob", ""), id="one without an amount"),
        pytest.param(fed("Ann", "50 kg"), "fertilising,,,Bob,50 kg,,,,,", id="one without a material"),
        pytest.param(dressed("Ann", "1.5 t", "2", ""), dressed("Bob", "1.5 t", "5", ""), id="each its own hours"),
        pytest.param("scarifying,,,Ann,,2,1,,3,", "scarifying,,,Bob,,3,,,3,", id="opened, each its hours"),
        pytest.param("mowing,,,Ann,,2,,,,", "mowing,,,Bob,,2,,,,", id="mown in the same time"),
        pytest.param("mowing,,,Ann,,2,,,,", "mowing,,,Bob,,,,,,", id="mown, one without hours"),
        pytest.param("mowing,,,Ann,,2,,,,", "mowing,,,,,2,,,,", id="one without a name"),
        pytest.param("mowing,,,Ann,,2,,,,dry", "mowing,,,Bob,,2,,,,wind", id="other note"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("files", ["one", "two"])
@beyond(6)
def test_one_job_of_two_hands_is_asked_about(
    county: Load, workspace: Workspace, one: str, other: str, files: str
) -> None:
    """It counted twice without a word: in one file, and over two files, whichever came first."""
    if files == "one":
        result = county("log.csv", f"{HEAD}{DAY}{one}\n{DAY}{other}\n")
        assert pairs(workspace) == [("log.csv", 3, "log.csv", 2)]
    else:
        county("log.csv", f"{HEAD}{DAY}{one}\n")
        result = county("crew.csv", f"{HEAD}{DAY}{other}\n")
        assert pairs(workspace) == [("crew.csv", 2, "log.csv", 2)]
    told = result.faults.filter(result.faults["code"] == LIKELY_DOUBLE.code)
    assert told.select("line", "severity").rows() == [(3 if files == "one" else 2, "warning")]
    later = "line 3 of log.csv (load 4)" if files == "one" else "line 2 of crew.csv (load 5)"
    said = f"{later} and line 2 of log.csv (load 4) may be one job that two people wrote down; both count."
    assert told["message"].to_list() == [said]
    assert result.counts.warnings == result.faults.filter(result.faults["severity"] == "warning").height


@pytest.mark.parametrize(
    ("one", "other"),
    [
        pytest.param("mowing,,,Ann,,2,,,,", "mowing,,,Bob,,1,,,,", id="mown in the morning and in the evening"),
        pytest.param(fed("Ann", "50 kg"), fed("Bob", "75 kg"), id="other amounts"),
        pytest.param(fed("Ann", "48 kg"), fed("Bob", "45 g/m2"), id="other rate"),
        pytest.param(dressed("Ann", "1 t", "", "600"), dressed("Bob", "1 t", "", "1000"), id="other parts"),
        pytest.param("scarifying,,,Ann,,,1,,3,", "scarifying,,,Bob,,,2,,3,", id="other passes"),
        pytest.param("scarifying,,,Ann,,,,,3,", "scarifying,,,Bob,,,,,5,", id="other depth"),
        pytest.param(fed("Ann", "50 kg"), fed("Bob", "50 kg", "summer granular 9-0-9"), id="other feed"),
        pytest.param(fed("Ann", "50 kg"), fed("Bob", "50 kg", DRESS), id="both in the register"),
        pytest.param("mowing,,,Ann,,2,,,,", "rolling,,,Bob,,2,,,,", id="other work"),
        pytest.param("mowing,,,Ann,,2,,,,", "mowing,,,Ann,,2,,,,", id="two identical jobs in a file are both real"),
    ],
)  # fmt: skip
@beyond(3)
def test_what_is_said_to_differ_is_two_jobs(county: Load, workspace: Workspace, one: str, other: str) -> None:
    county("log.csv", f"{HEAD}{DAY}{one}\n{DAY}{other}\n")
    assert pairs(workspace) == []


def test_one_persons_numbered_sheets_of_one_file_are_two_jobs(county: Load, workspace: Workspace) -> None:
    """He gave each a number; in two files the numbers may be each office's own."""
    sheet = f"{DAY}rolling,,J{{}},Ann,,2,,,,\n"
    county("log.csv", HEAD + sheet.format(1) + sheet.format(2))
    assert pairs(workspace) == []
    county("office.csv", HEAD + sheet.format(9))
    assert pairs(workspace) == [("office.csv", 2, "log.csv", 2)]


def test_another_day_or_green_is_another_job(county: Load, workspace: Workspace) -> None:
    county("greens2.csv", "green,club,name,area_m2,shape\nALD-2,ALD,Second,1500,flat\n")
    county(
        "log.csv",
        f"{HEAD}{DAY}mowing,,,Ann,,2,,,,\n2026-03-02,ALD-1,mowing,,,Bob,,2,,,,\n2026-03-01,ALD-2,mowing,,,Cy,,2,,,,\n",
    )
    assert pairs(workspace) == []


def test_readings_repeat_by_design(county: Load, workspace: Workspace) -> None:
    """Two observers who time bowls one after the other have two readings, also where they agree to the tenth."""
    county(
        "a.csv", "date,green,rink,value,unit,observer\n2026-06-20,ALD-1,1,12.4,s,Ann\n2026-06-20,ALD-1,1,12.4,s,Bob\n"
    )
    assert pairs(workspace) == []


def test_each_is_asked_about_once_beside_the_first(county: Load, workspace: Workspace) -> None:
    """Three hands: two questions, not three; whatever is answered, the third is asked about the one that is left."""
    county("log.csv", HEAD + "".join(f"{DAY}mowing,,,{name},,2,,,,\n" for name in ("Ann", "Bob", "Cy")))
    assert pairs(workspace) == [("log.csv", 3, "log.csv", 2), ("log.csv", 4, "log.csv", 2)]


def test_figures_that_would_change_are_questioned_counts_too(county: Load, workspace: Workspace) -> None:
    """Nitrogen and numbers of jobs change if it is one job; what the other jobs make is not marked."""
    county("log.csv", f"{HEAD}{DAY}fertilising,{FEED},,Ann,50 kg,1,,,,\n2026-03-05,ALD-1,scarifying,,,Ann,,2,1,,3,\n")
    county("crew.csv", f"{HEAD}{DAY}fertilising,{FEED},,Bob,50 kg,1,,,,\n")
    with Store(workspace.store, read_only=True) as store:
        done = green_season(read_records(store), "ALD-1", workspace.season_of(date(2026, 3, 1)), workspace)
    marked = {
        (one.name, one.band): [(place.file, place.line) for place in one.questioned]
        for one in done.indicators
        if one.value
    }
    assert marked["nitrogen_kg_ha", ""] == [("crew.csv", 2)]
    assert marked["operations", ""] == [("crew.csv", 2)]
    assert marked["hours_h", ""] == [("crew.csv", 2)]
    assert marked["hours_of_h", "Scarifying"] == []
    (question,) = [one for one in done.questions if "may be one job" in one.text]
    assert (question.place.file, question.place.line) == ("crew.csv", 2)


@thorough
def test_what_follows_from_the_records_goes_with_them(county: Load, workspace: Workspace) -> None:
    """Taken back, the first of the two leaves no question behind."""
    first = county("log.csv", f"{HEAD}{DAY}mowing,,,Ann,,2,,,,\n")
    county("crew.csv", f"{HEAD}{DAY}mowing,,,Bob,,2,,,,\n")
    assert len(pairs(workspace)) == 1
    undo(workspace, first.load_id or 0)
    assert pairs(workspace) == []


def test_a_rejected_row_that_is_mended_is_of_its_own_file(county: Load, workspace: Workspace) -> None:
    """One person's second numbered sheet, misspelt at first, stays a second job when it is mended."""
    first = county("log.csv", f"{HEAD}{DAY}mowing,,J1,Ann,,2,,,,\n{DAY}mowning,,J2,Ann,,2,,,,\n")
    assert first.rejects_file is not None
    county(first.rejects_file.name, first.rejects_file.read_text("utf-8-sig").replace("mowning", "mowing", 1))
    assert pairs(workspace) == []
