"""Programmes from a store to files and back: what is written, edited and loaded is what is planned."""

from __future__ import annotations

import csv
import io
import json
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import openpyxl
import pytest

from pipeline.cli import app as cli
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.reading import read_records
from pipeline.load.files import load_paths
from pipeline.plan.due import due
from pipeline.plan.entries import Entry
from pipeline.plan.read import planned_works
from pipeline.plan.sheet import COLUMNS, KIND, rows
from pipeline.plan.works import Planned
from pipeline.publish.programme import SeveralSchools, Wanted, WrittenProgramme, write_programme
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS
from tests.conftest import TODAY, Load
from tests.thorough import beyond

MIX, FEED = "70/30 sand and soil", "spring granular 11-5-5 + 8 Fe"
TARGETS = (
    "indicator,scope,scope_name,season,band,low,high,unit,source\ndressing_kg_m2,club,ALD,,,5,10,kg/m²,the committee\n"
    "nitrogen_kg_ha,club,ALD,,,80,200,kg/ha,the committee\n"
)
JOBS = (
    "date,green,operation,material,quantity,hours\n"
    f"2025-10-12,ALD-1,top dressing,{MIX},6 t,9\n"
    "2026-05-04,ALD-1,mowing,,,1.5\n"
    "2026-05-11,ALD-1,mowing,,,1.5\n"
    f"2026-05-12,ALD-1,feed,{FEED},2 x 25 kg,1\n"
    "2026-06-02,ALD-1,plant protection,,,1\n"
    "2026-09-20,ALD-1,inspection,,,0.5\n"
)
"""Season 2026 on 1,600 m²; the last day on record is 20 September 2026."""
ALL = Wanted(templates=["gma-spring-flat", "gma-season", "trade-autumn-sand-light"])


@pytest.fixture
def dressed(county: Load, workspace: Workspace) -> Workspace:
    for name, text in (("targets.csv", TARGETS), ("jobs.csv", JOBS)):
        assert not county(name, text).failed
    return workspace


def works(made: WrittenProgramme) -> list[Planned]:
    return [one.work for each in made.programmes for one in each.entries]


def entries(made: WrittenProgramme, operation: str) -> list[Entry]:
    return [one for each in made.programmes for one in each.entries if one.work.operation == operation]


def read_back(workspace: Workspace, path: Path) -> tuple[Planned, ...]:
    (result,) = load_paths(workspace, [path], today=TODAY)
    assert not result.failed, result.as_json()
    with Store(workspace.store, read_only=True) as store:
        return planned_works(store)


def same(one: Planned) -> tuple[object, ...]:
    """What is compared: amounts to 100 g; of why an amount is not known, whether it is."""
    size = None if one.size is None else round(one.size, 1)
    told = (one.unit, size, one.times, one.material, one.depth_mm, one.passes, one.hours, one.programme, one.basis)
    return (one.green, one.operation, one.first, one.last, *told, bool(one.unsized))


@pytest.mark.parametrize(
    "wanted",
    [
        ALL,
        Wanted(last=True),
        Wanted(only_targets=True, feed=FEED),
        Wanted(templates=["gma-materials-year"], targets=False),
        Wanted(templates=["institute-year"], last=True),
    ],
    ids=["templates", "last season", "targets", "materials", "both"],
)
@beyond(2)
def test_what_is_written_and_loaded_is_what_is_planned(dressed: Workspace, wanted: Wanted) -> None:
    """Through the workbook, by the one reader of plans: same works, amounts and reasons; the CSV says nothing else."""
    made = write_programme(dressed, "ALD-1", "2027", wanted)
    book, table = made.files
    loaded = read_back(dressed, book)
    assert sorted(map(same, loaded), key=repr) == sorted(map(same, works(made)), key=repr)
    assert len(loaded) > 2
    (result,) = load_paths(dressed, [table], today=TODAY)
    assert (result.counts.unchanged, result.counts.rows) == (len(loaded), len(loaded))


def test_the_columns_are_fields_of_the_kind() -> None:
    assert set(COLUMNS.values()) <= set(KINDS[KIND].by_name)


def test_every_line_has_a_name_of_its_own(dressed: Workspace) -> None:
    """Two lines of one key would be one record: the later would take the earlier's place, and a work be lost."""
    made = write_programme(dressed, "ALD-1", "2027", Wanted(templates=["gma-materials-year"], last=True))
    key = KINDS[KIND].key
    named = [tuple(row.get(name) for name in key) for one in made.programmes for row in rows(one)]
    assert len(set(named)) == len(named)


def test_an_edited_line_changes_its_record_and_no_other(dressed: Workspace) -> None:
    made = write_programme(dressed, "ALD-1", "2027", ALL)
    before = read_back(dressed, made.files[1])
    read = list(csv.DictReader(io.StringIO(made.files[1].read_text("utf-8-sig"))))
    (at,) = (i for i, row in enumerate(read) if row["operation"] == "top_dressing" and row["mass_kg"])
    read[at] |= {"mass_kg": "5000", "window_to": "2026-10-10"}
    out = io.StringIO()
    writer = csv.DictWriter(out, read[0].keys())
    writer.writeheader()
    writer.writerows(read)
    made.files[1].write_text(out.getvalue(), "utf-8")
    after = read_back(dressed, made.files[1])
    changed = set(map(same, after)) - set(map(same, before))
    assert len(after) == len(before)
    assert [(line[1], line[3], line[5]) for line in changed] == [("top_dressing", date(2026, 10, 10), 5000.0)]


def test_a_file_that_was_edited_is_never_written_over_in_silence(dressed: Workspace) -> None:
    made = write_programme(dressed, "ALD-1", "2027", ALL)
    assert (made.unchanged, made.fault) == (False, "")
    assert write_programme(dressed, "ALD-1", "2027", ALL).unchanged
    made.files[1].write_text("edited")
    again = write_programme(dressed, "ALD-1", "2027", ALL)
    assert again.fault.startswith("ALD-1-programme-2027.csv stands there with other content, perhaps edited")
    assert made.files[1].read_text() == "edited"
    assert not write_programme(dressed, "ALD-1", "2027", ALL, force=True).fault
    assert made.files[1].read_text("utf-8-sig").startswith("programme,green")


def test_the_workbook_is_the_same_bytes_each_time(dressed: Workspace, tmp_path: Path) -> None:
    one, other = (write_programme(dressed, "ALD-1", "2027", ALL, tmp_path / name) for name in ("a", "b"))
    assert [path.read_bytes() for path in one.files] == [path.read_bytes() for path in other.files]
    sheet = openpyxl.load_workbook(one.files[0])["Programme"]
    assert sheet["A1"].value == "Programme of season 2027"


@pytest.mark.parametrize(
    "applied", ["", f"2026-10-05,ALD-1,top dressing,{MIX},3 t,\n", f"2026-10-05,ALD-1,feed,{FEED},50 kg,\n"]
)
@beyond(2)
def test_amounts_of_targets_are_those_of_the_due_list(county: Load, dressed: Workspace, applied: str) -> None:
    """One engine: a programme that names another amount than the report on the same green is not believed in either."""
    if applied:
        assert not county("more.csv", JOBS + applied).failed
    made = write_programme(dressed, "ALD-1", "2027", Wanted(only_targets=True, feed=FEED))
    with Store(dressed.store, read_only=True) as store:
        records = read_records(store)
    season = dressed.season("2027")
    own = green_records(records, "ALD-1", season, dressed)
    asked = {one.operation: one for one in due(own, season, own.last_day) if one.operation}
    (dressing,) = entries(made, "top_dressing")
    line = asked["top_dressing"]
    assert line.low is not None
    assert (dressing.work.size, dressing.most) == (
        pytest.approx(line.low * 1000), pytest.approx((line.high or 0) * 1000),
    )  # fmt: skip
    feeds = entries(made, "fertilising")
    nitrogen = [(one.work.size or 0) * (one.nitrogen_pct or 0) / 100 for one in feeds]
    assert sum(nitrogen) == pytest.approx(asked["fertilising"].low)
    assert all(kg * 1000 / 1600 <= 4.9 + 1e-9 for kg in nitrogen)
    assert len(feeds) == (1 if FEED in applied else 2)  # 8 g/m², or 4.6 after 3.4: doses of 4.9 at most
    said = {one.note.partition(":")[0] for one in entries(made, "inspection")}
    assert {one.what for one in due(own, season, own.last_day) if not one.operation} <= said


def test_nitrogen_without_a_feed_says_how_much_of_it_each_dose_is(dressed: Workspace) -> None:
    """The mass of a feed that nobody named is not known; the nitrogen is, and stands there. So is when it grows."""
    made = write_programme(dressed, "ALD-1", "2027", Wanted(only_targets=True))
    for one in entries(made, "fertilising"):
        assert (one.work.unit, one.work.size, one.work.material) == ("times", 1.0, "")
        assert "the register has no latitude, so that the time of growth is not known" in one.work.basis
        assert one.lacking.startswith("6.4 kg N, and which feed is left open")


def test_doses_lie_one_after_the_other_in_the_time_of_growth(county: Load, dressed: Workspace) -> None:
    text = "green,club,name,area_m2,shape,latitude_deg\nALD-1,ALD,Main green,1600,flat,{}\n"
    spans = {}
    for latitude in (52.4, -38.0):
        assert not county("greens.csv", text.format(latitude)).failed
        feeds = entries(write_programme(dressed, "ALD-1", "2027", Wanted(only_targets=True), force=True), "fertilising")
        spans[latitude] = [(one.work.first, one.work.last) for one in feeds]
    assert "no latitude" not in feeds[0].work.basis
    assert spans[52.4] == [(date(2027, 4, 1), date(2027, 6, 15)), (date(2027, 6, 16), date(2027, 8, 31))]
    assert spans[-38.0] == [(date(2026, 10, 1), date(2026, 12, 14)), (date(2026, 12, 15), date(2027, 2, 28))]


def test_a_green_without_an_area_is_planned_with_rates_and_no_amounts(county: Load, dressed: Workspace) -> None:
    assert not county("greens.csv", "green,club,name,shape\nALD-2,ALD,Lower green,flat\n").failed
    made = write_programme(dressed, "ALD-2", "2027", replace(ALL, templates=["gma-materials-year"]))
    read = {one.operation: one for one in read_back(dressed, made.files[0])}
    assert read["overseeding"].size is None
    assert read["overseeding"].unsized == "the area of ALD-2 is not recorded"
    (row,) = (
        row for row in rows(made.programmes[0]) if row["operation"] == "overseeding" and row["rate_g_m2"] == 16.949
    )
    assert row["mass_kg"] is None


def test_a_clubs_programme_holds_each_of_its_greens_in_play(county: Load, dressed: Workspace) -> None:
    assert not county(
        "greens.csv",
        "green,club,name,area_m2,shape,closed_on\nALD-2,ALD,Crown,900,crown,\nALD-3,ALD,Old,900,flat,2020-01-01\n",
    ).failed
    made = write_programme(dressed, "ALD", "2027", Wanted(templates=["gma-spring-flat", "crown-spring"]))
    assert [one.place.green for one in made.programmes] == ["ALD-1", "ALD-2"]
    templates = [{one.template for one in each.entries if one.template} for each in made.programmes]
    assert templates == [{"gma-spring-flat"}, {"crown-spring"}]
    assert {one.green for one in read_back(dressed, made.files[0])} == {"ALD-1", "ALD-2"}
    with pytest.raises(CannotDo, match="ALD-3 is given up from 1 January 2020 on"):
        write_programme(dressed, "ALD-3", "2027", ALL)


def test_two_targets_that_hold_alike_leave_the_template_as_it_is(county: Load, dressed: Workspace) -> None:
    """Which of the two is meant a person says; until then nothing is brought to either, and it is said."""
    sand = "green,club,name,area_m2,shape,construction_type\nALD-1,ALD,Main green,1600,flat,sand\n"
    alike = (
        "indicator,scope,scope_name,low,high,unit,construction,shape,source\n"
        "dressing_kg_m2,green,ALD-1,7,9,kg/m²,sand,,house\ndressing_kg_m2,green,ALD-1,1,2,kg/m²,,flat,committee\n"
    )
    for name, text in (("greens.csv", sand), ("alike.csv", alike)):
        assert not county(name, text).failed
    made = write_programme(dressed, "ALD-1", "2027", Wanted(templates=["trade-autumn-sand-light"]))
    (one,) = entries(made, "top_dressing")
    assert one.work.size == pytest.approx(3200)
    assert "ask for different things" in one.work.basis
    assert "how much of it is open is not known, so that this amount stands" in one.work.basis
    alone = write_programme(dressed, "ALD-1", "2027", Wanted(only_targets=True), force=True)
    (one,) = entries(alone, "top_dressing")
    assert (one.work.size, one.lacking) == (None, "two targets hold alike")


def test_schools_are_listed_and_none_is_chosen(dressed: Workspace) -> None:
    with pytest.raises(SeveralSchools) as refused:
        write_programme(dressed, "ALD-1", "2027", Wanted())
    offered = {one.name for ones in refused.value.found.values() for one, _ in ones}
    assert {"gma-spring-flat", "trade-spring-flat", "trade-autumn-sand", "no-routine-sand"} <= offered
    assert "crown-spring" not in offered
    assert not (dressed.reports / "2027").exists()


def test_the_season_after_the_one_in_hand_is_planned_from_the_last_day_on_record(dressed: Workspace) -> None:
    made = write_programme(dressed, "ald-1", "", Wanted(only_targets=True))
    (one,) = made.programmes
    assert (one.season.name, one.day) == ("2027", date(2026, 9, 20))
    later = write_programme(dressed, "ALD-1", "", Wanted(last=True, since=date(2027, 5, 12)), force=True)
    assert all(work.last >= date(2027, 5, 12) for work in works(later))
    assert "its days are past: 12 October 2026 to 18 October 2026" in [
        left.why for left in later.programmes[0].left_out
    ]


@pytest.mark.parametrize(
    ("whose", "season", "wanted", "said"),
    [
        ("ALD-9", "2027", ALL, "There is no green or club “ALD-9”; closest: ALD-1"),
        ("ALD-1", "2027", Wanted(templates=["gma"]), "There is no template “gma”"),
        ("ALD-1", "27", ALL, "“27” is not a season."),
        (
            "ALD-1",
            "2025",
            ALL,
            "Season 2025 ended on 30 September 2025: on 20 September 2026 nothing of it is to come.",
        ),
        ("ALD-1", "2027", Wanted(only_targets=True, feed="nothing"), "There is no material “nothing”"),
        ("ALD-1", "2027", Wanted(only_targets=True, feed=MIX), "is no solid feed with nitrogen on its label"),
    ],
)
def test_what_is_not_known_is_refused(dressed: Workspace, whose: str, season: str, wanted: Wanted, said: str) -> None:
    with pytest.raises(CannotDo) as refused:
        write_programme(dressed, whose, season, wanted)
    assert said in refused.value.message


def test_a_season_before_that_has_no_log_or_is_not_over_is_said(dressed: Workspace) -> None:
    """A season that nobody logged has no works to plan again; unsaid, the programme would look complete."""
    for season, said in (("2029", "no job of season 2028 is logged"), ("2027", "")):
        made = write_programme(dressed, "ALD-1", season, Wanted(last=True))
        assert [left.why for left in made.programmes[0].left_out if left.operation == "every work"] == (
            [said] if said else []
        )


def test_a_name_of_a_green_and_a_club_with_others_is_refused(county: Load, dressed: Workspace) -> None:
    assert not county("greens.csv", "green,club,name,area_m2\nALD,ALD,Third,900\n").failed
    with pytest.raises(WrongUsage, match="“ALD” is a green and a club"):
        write_programme(dressed, "ALD", "2027", Wanted(only_targets=True))


def test_without_a_record_a_season_has_to_be_named(county: Load, workspace: Workspace) -> None:
    """A workspace with one green and nothing logged: it says what is missing, and plans what it can."""
    with pytest.raises(CannotDo, match="The store holds no dated record of a green yet"):
        write_programme(workspace, "ALD-1", "", Wanted(templates=["gma-materials-year"]))
    made = write_programme(workspace, "ALD-1", "2027", Wanted(templates=["gma-materials-year"]))
    most = 6.0 * 1600  # kg: the target's upper end, of which the template's October is 7 of 9 t
    assert entries(made, "top_dressing")[0].work.size == pytest.approx(most * 7 / 9)
    assert made.programmes[0].day == date(2026, 10, 1)


@pytest.fixture
def call(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    def _call(*words: object) -> tuple[int, str, str]:
        capsys.readouterr()
        monkeypatch.setattr(sys, "argv", ["swardtally", "programme", *map(str, words)])
        with pytest.raises(SystemExit) as caught:
            cli.main()
        said = capsys.readouterr()
        return int(caught.value.code or 0), said.out, said.err

    return _call


def test_the_command_prints_lines_what_is_left_out_and_cautions(
    call: Callable[..., tuple[int, str, str]], dressed: Workspace
) -> None:
    here = ("-w", dressed.folder)
    code, out, err = call("ALD-1", *here, "-s", "2027", "--last-season")
    assert code == 0
    assert "12 October 2026 to 18 October 2026" in out
    assert "6 t" in out
    assert "ALD-1-programme-2027.xlsx" in out
    assert "not planned: plant protection of last season's works: of 2 June 2026" in err
    code, out, err = call("ALD-1", *here, "-s", "2027", "--only-targets")
    assert code == 1
    assert "Not written: ALD-1-programme-2027.xlsx and ALD-1-programme-2027.csv stand there with other content" in err
    code, out, err = call("ALD-1", *here, "-s", "2027")
    assert (code, out) == (2, "")
    assert "trade-autumn-sand: Autumn renovation with 4 to 6 kg/m² of dressing. School: sand every autumn" in err
    assert "Several schools hold for ALD-1, and none is chosen for you." in err
    code, out, err = call("ALD-1", *here, "--only-targets", "--last-season")
    assert (code, err.splitlines()[0]) == (2, "--only-targets stands alone.")


def test_json_has_every_line_with_the_names_of_the_fields(
    call: Callable[..., tuple[int, str, str]], dressed: Workspace
) -> None:
    code, out, _ = call("ALD-1", "-w", dressed.folder, "-s", "2027", "-t", "institute-year", "--json")
    told = json.loads(out)
    assert code == 0
    assert {tuple(line) for line in told["lines"]} == {tuple(COLUMNS.values())}
    assert any("a licensed person decides by the label" in text for text in told["cautions"])
    assert told["season"] == "2027"
