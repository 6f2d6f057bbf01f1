"""An entry under a warning is told first, from the file to the page, until it is mended or confirmed."""

from __future__ import annotations

from pipeline.indicators.base.green_season import GreenSeason, Question
from pipeline.indicators.base.reading import read_records
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace
from reports.page.charts import charts
from tests.conftest import MATERIALS, Load

SLIP = (
    "date,green,operation,material,packs,hours\n"
    "2026-04-02,ALD-1,fertiliser,spring granular 11-5-5 + 8 Fe,20,1.5\n"
    "2026-05-04,ALD-1,fertiliser,spring granular 11-5-5 + 8 Fe,2,1.5\n"
)


def test_the_mark_goes_once_somebody_confirms_the_entry(workspace: Workspace, county: Load) -> None:
    """The bags were twenty: a correction to what the cell holds settles the warning, of its own cell alone."""
    county("jobs.csv", SLIP)
    assert len(asked(workspace)) == 1
    for column, left in (("hours", 1), ("Packs", 0)):
        value = {"hours": "1.5", "Packs": "20"}[column]
        (workspace.corrections / "confirmed.toml").write_text(
            f'[[correction]]\nfile = "jobs.csv"\nline = 2\ncolumn = "{column}"\nfrom = "{value}"\nto = "{value}"\n'
            'why = "twenty bags, as ordered for both greens"\nwho = "office, 3 May 2026"\n'
        )
        assert "correction.confirmed" in county("jobs.csv", SLIP).faults["code"].to_list()
        assert len(asked(workspace)) == left


def asked(workspace: Workspace) -> tuple[Question, ...]:
    """The entries to be checked first, of the small county's green."""
    with Store(workspace.store, read_only=True) as store:
        done = green_season(read_records(store), "ALD-1", workspace.season("2026"), workspace)
    lines = {f"Line {one.place.line} of jobs.csv" for one in done.questions}
    assert lines == {note.text.partition(":")[0] for note in done.data_notes if note.text.startswith("Line ")}
    return done.questions


def test_what_is_due_of_a_target_that_a_slip_fills_is_not_known(workspace: Workspace, county: Load) -> None:
    """Twenty bags for two filled the year's nitrogen, and nothing was due; an amount in question takes nothing off."""
    county(
        "targets.csv",
        "scope,scope_name,indicator,low,high,unit,source\n"
        "green,ALD-1,nitrogen_kg_ha,80,120,kg/ha,agreed with the club\n",
    )
    county("jobs.csv", SLIP)
    with Store(workspace.store, read_only=True) as store:
        done = green_season(read_records(store), "ALD-1", workspace.season("2026"), workspace)
    (due,) = (one for one in done.due if one.what == "Nitrogen")
    assert due.quantity == "not known: 1 feed entry of season 2026 to be checked first"
    assert (due.low, due.high, due.applied) == (None, None, None)
    assert due.why.startswith("Target 80 to 120 kg/ha (agreed with the club).")
    assert "rests on an entry under a warning" in due.why
    county("jobs.csv", SLIP.replace(",20,", ",2,"))
    with Store(workspace.store, read_only=True) as store:
        done = green_season(read_records(store), "ALD-1", workspace.season("2026"), workspace)
    (due,) = (one for one in done.due if one.what == "Nitrogen")
    assert due.low is not None


def test_the_mark_follows_its_record_whatever_else_comes_under_the_name(workspace: Workspace, county: Load) -> None:
    """A monthly export keeps its name: the slip of March lost its mark, and its warning, with the file of May."""
    county("jobs.csv", SLIP)
    head, _, may = SLIP.splitlines()
    county("jobs.csv", f"{head}\n{may.replace('05-04', '06-04')}\n")
    assert len(asked(workspace)) == 1


def test_of_two_equal_entries_the_one_confirmed_is_settled(workspace: Workspace, county: Load) -> None:
    twice = SLIP.replace("05-04", "04-16").replace("Fe,2,", "Fe,20,")
    county("jobs.csv", twice)
    assert {one.place.line for one in asked(workspace)} == {2, 3}
    confirm(workspace, 2)
    county("jobs.csv", twice)
    assert [one.place.line for one in asked(workspace)] == [3]


def test_a_confirmation_taken_back_asks_again(workspace: Workspace, county: Load) -> None:
    county("jobs.csv", SLIP)
    confirm(workspace, 2)
    county("jobs.csv", SLIP)
    assert not asked(workspace)
    (workspace.corrections / "confirmed.toml").unlink()
    county("jobs.csv", SLIP)
    assert len(asked(workspace)) == 1


def test_a_green_whose_size_contradicts_its_area_is_asked_about_first(workspace: Workspace, county: Load) -> None:
    """144 m² for 1,444: ten times the rate stood as fact, and the warning of the register was told at loading alone."""
    county("greens.csv", "green,club,name,area_m2,length_m,width_m,shape\nALD-1,ALD,Main green,144,38,38,flat\n")
    county("jobs.csv", SLIP)
    with Store(workspace.store, read_only=True) as store:
        done = green_season(read_records(store), "ALD-1", workspace.season("2026"), workspace)
    assert "Length times width is 1444 m²" in " ".join(one.text for one in done.questions)
    marked = {one.name for one in done.indicators if any(place.kind == "green" for place in one.questioned)}
    assert "nitrogen_kg_ha" in marked
    assert "hours_h" not in marked
    assert any("Length times width" in note.text for note in done.data_notes)


def test_the_charts_mark_what_rests_on_an_entry_in_question(workspace: Workspace, county: Load) -> None:
    """The table had the mark; the curve beside it rose to 337 kg/ha by a slip as if nobody had asked."""
    county("jobs.csv", SLIP)
    done = season_of(workspace)
    assert [(one.name, one.questioned) for one in done.running] == [("Top dressing", False), ("Nitrogen", True)]
    (group,) = (one for one in charts.chart_groups(done) if one.kind == "running")
    assert group.caption.endswith(" ?: rests on an entry to be checked.")
    (chart,) = group.charts
    ends = [row["label"] for layer in chart.spec["layer"] for row in layer["data"]["values"] if "label" in row]
    assert ends and all(label.endswith("\u00a0?") for label in ends)
    assert "It rests on an entry to be checked" in chart.alt
    confirm(workspace, 2)
    county("jobs.csv", SLIP)
    (group,) = (one for one in charts.chart_groups(season_of(workspace)) if one.kind == "running")
    assert "?" not in group.caption + group.charts[0].alt + str(group.charts[0].spec)


def test_a_session_with_a_time_in_question_is_marked_in_its_chart(workspace: Workspace, county: Load) -> None:
    """29 s is outside what greens are played at, and asked about: its session has the mark, the other none."""
    head = "date,green,rink,direction,device,value,unit\n"
    rows = "".join(
        f"2026-05-{day:02},ALD-1,{rink},N,timed_bowl,12.{rink},s\n" for day in (4, 11) for rink in range(1, 5)
    )
    assert not county("speeds.csv", head + rows + "2026-05-11,ALD-1,5,N,timed_bowl,29,s\n").failed
    (series,) = season_of(workspace).series
    assert [one.questioned for one in series.samples] == [False, True]
    (group,) = (one for one in charts.chart_groups(season_of(workspace)) if one.kind == "speed")
    marks = {
        row["day"]
        for layer in group.charts[0].spec["layer"]
        for row in layer["data"]["values"]
        if row.get("label") == "?"
    }
    assert marks == {"2026-05-11"}
    assert "?: rests on an entry to be checked." in group.caption


def season_of(workspace: Workspace) -> GreenSeason:
    with Store(workspace.store, read_only=True) as store:
        return green_season(read_records(store), "ALD-1", workspace.season("2026"), workspace)


LONGER = SLIP + "2026-06-01,ALD-1,mowing,,,1\n"


def test_a_mended_register_settles_it_whatever_bytes_come_next(workspace: Workspace, county: Load) -> None:
    """Bags of 2.5 kg: the longer export of the next month says the same row, and nothing is asked of it any more."""
    county("jobs.csv", SLIP)
    county("materials.csv", MATERIALS.replace("25 kg", "2.5 kg"))
    assert len(asked(workspace)) == 1, "nobody has looked at the row since"
    again = county("jobs.csv", LONGER)
    assert (again.counts.unchanged, again.counts.loaded) == (2, 1)
    assert not asked(workspace)
    undo(workspace, again.load_id or 0)
    assert len(asked(workspace)) == 1, "what a load settled stands again once it is taken back"


def test_a_row_that_is_only_repeated_is_asked_about_still(workspace: Workspace, county: Load) -> None:
    county("jobs.csv", SLIP)
    county("jobs.csv", LONGER)
    assert [one.place.line for one in asked(workspace)] == [2]


def test_a_row_confirmed_in_another_issue_is_settled(workspace: Workspace, county: Load) -> None:
    """It stands on another line there, under a column of another name; the record is the same."""
    county("jobs.csv", SLIP)
    head, *rows = LONGER.replace("packs", "bags").splitlines()
    confirm(workspace, 4, "Bags")
    county("jobs.csv", "\n".join([head, *reversed(rows)]) + "\n")
    assert not asked(workspace)


def test_a_warning_that_a_later_reading_brings_marks_the_record_of_the_first(
    workspace: Workspace, county: Load
) -> None:
    """The bag's weight came with the register, after the log: the slip was told at loading and marked no figure."""
    county("materials.csv", MATERIALS.replace("25 kg", ""))
    county("jobs.csv", SLIP)
    assert not asked(workspace)
    county("materials.csv", MATERIALS + "sharp sand,top dressing,solid,,,,1.6,,,\n")
    told = county("jobs.csv", SLIP)
    assert "dose.high" in told.faults["code"].to_list()
    assert [(one.place.line, one.rejected) for one in asked(workspace)] == [(2, False)]


def test_a_mended_row_leaves_no_note_of_what_it_said(workspace: Workspace, county: Load) -> None:
    """The note on twenty bags stayed on the line that says two now."""
    county("jobs.csv", SLIP)
    county("jobs.csv", SLIP.replace(",20,", ",2,"))
    assert not asked(workspace)


def test_what_two_files_say_is_not_settled_by_reading_one_again(workspace: Workspace, county: Load) -> None:
    few = SLIP.replace(",20,", ",2,")
    county("ashby.csv", few)
    assert "record.other_file" in county("crew.csv", few.replace("1.5", "2.5")).faults["code"].to_list()
    county("crew.csv", few.replace("1.5", "2.5") + "2026-06-01,ALD-1,mowing,,,1\n")
    with Store(workspace.store, read_only=True) as store:
        done = green_season(read_records(store), "ALD-1", workspace.season("2026"), workspace)
    assert {one.place.line for one in done.questions} == {2, 3}


WIDE = """
name = "wide"
kind = "green_speed"
[match]
headers = ["Day", "Green", "R1", "R2"]
[constants]
device = "timed_bowl"
unit = "s"
distance_m = "27"
[fields]
date = "Day"
green = "Green"
[[long]]
from = "R1"
into = "value"
set = { rink = "1" }
[[long]]
from = "R2"
into = "value"
set = { rink = "2" }
"""


def test_of_a_line_with_several_records_all_are_seen_again_before_it_is_settled(
    workspace: Workspace, county: Load
) -> None:
    """A re-issue that leaves one rink out has not seen its reading again, whatever it says of the other."""
    (workspace.profiles / "wide.toml").write_text(WIDE)
    head, row = "Day,Green,R1,R2\n", "2026-06-10,ALD-1,{},{}\n"
    county("speeds.csv", head + row.format(40, 41))
    before = standing(workspace)
    assert before.count(" s over 27 m is outside 5 to 25 s.") == 2
    target = "indicator,scope,scope_name,low,high,unit,source\nspeed_s,club,ALD,5,50,s,house\n"
    county("targets.csv", target)
    assert county("speeds.csv", head + "2026-06-01,ALD-1,12,12\n" + row.format("", 41)).counts.warnings == 0
    assert standing(workspace) == before
    assert county("speeds.csv", head + "2026-06-01,ALD-1,12,12\n" + row.format(40, 41)).faults.is_empty()
    assert standing(workspace) == ""


def standing(workspace: Workspace) -> str:
    """Messages of the warnings that stand."""
    with Store(workspace.store, read_only=True) as store:
        return " ".join(read_records(store).warnings["message"].sort())


def confirm(workspace: Workspace, line: int, column: str = "packs") -> None:
    """Write a correction that leaves the twenty packs of a line as they are."""
    (workspace.corrections / "confirmed.toml").write_text(
        f'[[correction]]\nfile = "jobs.csv"\nline = {line}\ncolumn = "{column}"\nfrom = "20"\nto = "20"\n'
        'why = "twenty bags, as ordered"\nwho = "office, 3 May 2026"\n'
    )
