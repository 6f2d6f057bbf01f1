"""What a season's totals lack stands beside them: rejected rows, and the months before a log begins."""

from __future__ import annotations

from datetime import date

import pytest

from pipeline.indicators.base.green_season import GreenSeason
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.base.rejected import readings
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.summaries.round_up import green_line
from pipeline.workspace.settings import Workspace
from reports.page import remarks
from tests.conftest import Load
from tests.indicators.figures import HOUSE, of
from tests.thorough import beyond

HEAD = "date,green,operation,material,quantity,hours\n"
MIX = "70/30 sand and soil"
FEED = "spring granular 11-5-5 + 8 Fe"
KEPT = "2025-10-02,ALD-1,mowing,,,1\n"
DRESSED = f"2026-03-12,ALD-1,top dressing,{MIX},4 t,2\n"


def season(workspace: Workspace, name: str = "2026") -> GreenSeason:
    """The small county's green in a season."""
    with Store(workspace.store, read_only=True) as store:
        return green_season(read_records(store), "ALD-1", workspace.season(name), workspace)


def notes(done: GreenSeason) -> list[str]:
    return [note.text for note in done.data_notes]


def test_a_rejected_dressing_is_told_beside_the_total_it_may_belong_to(workspace: Workspace, county: Load) -> None:
    """2 ton of an unknown ton: the 4 t that came in stood "on target" without a word. Nitrogen is no part of it."""
    feed = f"2026-04-02,ALD-1,fertilising,{FEED},20 kg,1\n"
    county("crew.csv", HEAD + KEPT + DRESSED + f"2026-06-19,ALD-1,top dressing,{MIX},2 ton,2\n" + feed)
    done = season(workspace)
    total = of(done, "dressing_kg_m2")
    assert total.note.startswith("At least: 1 rejected row of this season is not in it: crew.csv line 4.")
    assert [(place.file, place.line) for place in total.questioned] == [("crew.csv", 4)]
    assert not of(done, "nitrogen_kg_ha").questioned
    assert of(done, "hours_h").questioned and of(done, "hours_of_h", "Top dressing").questioned
    assert not of(done, "hours_of_h", "Mowing").questioned
    (asked,) = done.questions
    assert (asked.place.line, asked.rejected, asked.labels[0]) == (4, True, "Top dressing applied")
    (line,) = remarks.questions(done)
    assert line.startswith("Line 4 of crew.csv: the row is not in these figures.")
    assert "It may belong to top dressing applied" in line


def test_each_rejected_row_is_named(workspace: Workspace, county: Load) -> None:
    """The note told the first of a file, and it was the mowing of 900 hours."""
    county(
        "crew.csv",
        HEAD + KEPT + DRESSED + f"2026-05-07,ALD-1,mowing,,,900\n2026-06-19,ALD-1,top dressing,{MIX},2 ton,2\n",
    )
    done = season(workspace)
    assert [text.partition(".csv")[0] for text in notes(done)[:2]] == ["Line 4 of crew", "Line 5 of crew"]
    assert [place.line for place in of(done, "dressing_kg_m2").questioned] == [5]
    assert [place.line for place in of(done, "operations").questioned] == [4, 5]


def test_a_row_of_unknown_work_may_belong_to_what_it_names(workspace: Workspace, county: Load) -> None:
    """With a material it may be a dressing; "hedge trimming" is a job and no dressing, whatever the code list lacks."""
    county("crew.csv", HEAD + KEPT + DRESSED + f"2026-06-19,ALD-1,sanded the bald bits,{MIX},,2\n")
    note = of(season(workspace), "dressing_kg_m2").note
    assert note.startswith(
        "At least: 1 rejected row of this season may belong to it and is not in it: crew.csv line 4."
    )
    county("other.csv", HEAD + KEPT + "2026-06-20,ALD-1,hedge trimming,,,2\n")
    done = season(workspace)
    assert {place.file for place in of(done, "dressing_kg_m2").questioned} == {"crew.csv"}
    assert {place.file for place in of(done, "operations").questioned} == {"crew.csv", "other.csv"}
    assert any("Line 3 of other.csv" in text for text in notes(done))


def test_a_row_of_a_season_is_told_of_no_other(workspace: Workspace, county: Load) -> None:
    """Season 2027 listed the rejected rows of 2026; a day that cannot be is taken to be of the days of its file."""
    job = "2026-06-31,ALD-1,mowing,,,1\n2026-06-19,ALD-1,mowing,,,900\n"
    county("crew.csv", HEAD + KEPT + DRESSED + job)
    county("next.csv", HEAD + "2026-10-05,ALD-1,mowing,,,1\n")
    assert len([text for text in notes(season(workspace)) if "crew.csv" in text]) == 2
    assert not [text for text in notes(season(workspace, "2027")) if "crew.csv" in text]
    assert not of(season(workspace, "2027"), "operations").questioned


def test_a_day_to_come_is_of_the_season_of_its_file(workspace: Workspace, county: Load) -> None:
    """2062 for 2026 stands in no season that anybody looks at: the row would be told nowhere."""
    county("crew.csv", HEAD + KEPT + DRESSED + "2062-05-14,ALD-1,mowing,,,1\n")
    assert [place.line for place in of(season(workspace), "operations").questioned] == [4]


def test_readings_of_a_date() -> None:
    assert readings("09/06/2026") == [date(2026, 6, 9), date(2026, 9, 6)]
    assert readings("21/04/2026") == [date(2026, 4, 21)]
    assert readings("2026-04-21") == [date(2026, 4, 21)]
    assert readings("31/06/2026") == readings("31/09/26") == readings("last Tuesday") == []


@pytest.mark.parametrize(
    ("tonnes", "standing"), [("1", "too few"), ("4", "too few"), ("10", "above")], ids=["below", "within", "above"]
)
@beyond(2)
def test_a_log_that_begins_late_gives_at_least_so_much(
    workspace: Workspace, county: Load, tonnes: str, standing: str
) -> None:
    """On 1,600 m² with a target of 2 to 6 kg/m²: only what is over the upper end is so whatever came before March."""
    rows = f"2026-03-06,ALD-1,top dressing,{MIX},{tonnes} t,1\n2026-09-30,ALD-1,mowing,,,1\n"
    county("crew.csv", HEAD + rows)
    done = season(workspace)
    total = of(done, "dressing_kg_m2")
    assert total.standing == standing
    said = "he log begins 6 March 2026, five months into this season"
    assert total.note.startswith(f"At least so much: t{said}.")
    assert f"T{said}: totals are of what is logged since." in notes(done)


def test_what_reaches_a_target_without_an_upper_end_does_so(workspace: Workspace, county: Load) -> None:
    county("targets.csv", HOUSE.split("\n")[0] + "\ndressing_kg_m2,club,ALD,,2,,kg/m²,house\n")
    county("crew.csv", HEAD + DRESSED + "2026-09-30,ALD-1,mowing,,,1\n")
    assert of(season(workspace), "dressing_kg_m2").standing == "within"


@pytest.mark.parametrize(("first", "late"), [("2025-10-31", False), ("2025-11-01", True)])
@beyond(2)
def test_a_log_begins_late_past_thirty_days(workspace: Workspace, county: Load, first: str, late: bool) -> None:
    county("crew.csv", HEAD + f"{first},ALD-1,mowing,,,1\n" + DRESSED)
    assert bool(season(workspace).log_begins) == late


def test_a_log_kept_the_year_before_is_not_late(workspace: Workspace, county: Load) -> None:
    county("crew.csv", HEAD + "2025-09-01,ALD-1,mowing,,,1\n" + DRESSED)
    assert season(workspace).log_begins is None


def test_nobody_is_behind_before_the_log_begins(workspace: Workspace, county: Load) -> None:
    """Nothing logged since March was "short by 2 kg/m², 100 %", and headed the round-up."""
    late = "2026-03-06,ALD-1,mowing,,,1\n2026-09-30,ALD-1,mowing,,,1\n"
    county("crew.csv", HEAD + late)
    assert green_line(season(workspace)).behind == ()
    county("before.csv", HEAD + KEPT)
    assert [lag.what for lag in green_line(season(workspace)).behind] == ["Top dressing"]


def test_a_total_that_lags_for_want_of_a_rejected_row_says_so(workspace: Workspace, county: Load) -> None:
    row = f"2026-06-19,ALD-1,top dressing,{MIX},2 ton,2\n"
    county("crew.csv", HEAD + KEPT + row + "2026-09-30,ALD-1,mowing,,,1\n")
    assert [(lag.done, lag.questioned) for lag in green_line(season(workspace)).behind] == [(0, True)]
