"""What a programme asks of a green next, beside what its targets ask: hand-made cases, one green of 1,600 m²."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import pytest

from pipeline.indicators.base.green_records import GreenRecords, green_records
from pipeline.indicators.base.green_season import Due
from pipeline.indicators.base.reading import read_records
from pipeline.plan.next import due_next, whats_due
from pipeline.plan.read import done_of, done_works
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.thorough import beyond, thorough

MIX, FEED = "70/30 sand and soil", "spring granular 11-5-5 + 8 Fe"
HEAD = "programme,green,operation,material,window_from,window_to,times,quantity,rate,basis\n"
TARGET = (
    "indicator,scope,scope_name,season,band,low,high,unit,source\ndressing_kg_m2,club,ALD,,,5,10,kg/m²,the committee\n"
    "nitrogen_kg_ha,club,ALD,,,80,200,kg/ha,the committee\n"
)
JOBS = "date,green,operation,material,quantity\n"


@pytest.fixture
def programme(county: Load) -> Load:
    """Loads lines of a programme or a log under its heads."""

    def given(name: str, text: str) -> object:
        head = {"plan.csv": HEAD, "jobs.csv": JOBS}[name]
        done = county(name, head + text)
        assert not done.failed and not done.counts.rejected, done.faults
        return done

    return given  # type: ignore[return-value]


def records(workspace: Workspace, season: str = "2026") -> GreenRecords:
    with Store(workspace.store, read_only=True) as store:
        return green_records(read_records(store), "ALD-1", workspace.season(season), workspace)


def planned(found: Sequence[Due]) -> list[Due]:
    return [one for one in found if one.state]


def asked(found: Sequence[Due], operation: str) -> list[Due]:
    """What targets ask of an operation."""
    return [one for one in found if one.operation == operation and not one.state]


def test_lines_are_due_overdue_and_not_due_yet(programme: Load, workspace: Workspace) -> None:
    """Done on 10 April and looked at on 20 May 2026: what was done is gone, and nothing else is."""
    programme(
        "plan.csv",
        f"2026,ALD-1,fertiliser,{FEED},2026-04-01,2026-04-30,,50 kg,,spring feed\n"
        f"2026,ALD-1,fertiliser,{FEED},2026-05-10,2026-05-31,,60 kg,,the committee\n"
        "2026,ALD-1,scarifying,,2026-03-01,2026-03-31,,,,\n"
        "2026,ALD-1,verticutting,,2026-05-01,2026-07-31,4,,,\n"
        f"2026,ALD-1,top dressing,{MIX},2026-09-06,2026-09-17,,,3 kg/m2,autumn renovation\n",
    )
    programme(
        "jobs.csv",
        f"2026-04-10,ALD-1,fertiliser,{FEED},50 kg\n2026-05-05,ALD-1,verticutting,,\n2026-05-20,ALD-1,mowing,,\n",
    )
    found = planned(due_next(records(workspace)))
    assert [(one.state, one.what, one.quantity, one.by) for one in found] == [
        ("overdue", "Scarifying", "once", "by 31 March 2026 (passed)"),
        ("due", f"Fertilising, {FEED}", "60 kg (from 3 packs of 25 kg)", "by 31 May 2026"),
        ("due", "Verticutting", "3 more of 4 times", "by 31 July 2026"),
        ("not due yet", f"Top dressing, {MIX}", "4.8 t", "between 6 and 17 September 2026"),
    ]
    assert [one.overdue for one in found] == [True, False, False, False]
    assert found[0].why == "Programme 2026. Jobs are logged to 20 May 2026."
    assert found[1].why == "Programme 2026: the committee."
    assert (found[1].low, found[1].high, found[1].unit, found[1].applied) == (60.0, 60.0, "kg", 0.0)
    assert (found[3].low, found[3].unit, found[3].basis) == (pytest.approx(4.8), "t", "as delivered")


def test_part_of_a_line_done_leaves_the_rest(programme: Load, workspace: Workspace) -> None:
    programme("plan.csv", f"2026,ALD-1,top dressing,{MIX},2026-04-01,2026-04-30,,6 t,,\n")
    programme("jobs.csv", f"2026-04-10,ALD-1,top dressing,{MIX},4 t\n2026-06-01,ALD-1,mowing,,\n")
    (one,) = planned(due_next(records(workspace)))
    assert (one.state, one.quantity, one.low, one.applied) == ("overdue", "2 t, the rest of 6 t", 2.0, 4.0)
    assert one.why == "Programme 2026. Done: 4 t, 10 April 2026. Jobs are logged to 1 June 2026."


@pytest.mark.parametrize(
    ("job", "said"),
    [
        (f"2026-04-10,ALD-1,fertiliser,{FEED},",
         "not known: fertilising of 10 April 2026 may have done all of it: no amount is logged, "),
        ("2026-04-10,ALD-1,fertiliser,,",
         "not known: fertilising of 10 April 2026 may have done it: no material is logged, "),
        ("2026-04-10,ALD-1,fertiliser,autumn granular 4-3-10 + 4 Fe,50 kg",
         "not known: autumn granular 4-3-10 + 4 Fe of 10 April 2026 may have been put on in its place, "),
    ],
)  # fmt: skip
@beyond(1)
def test_what_may_have_been_done_is_never_overdue(programme: Load, workspace: Workspace, job: str, said: str) -> None:
    programme("plan.csv", f"2026,ALD-1,fertiliser,{FEED},2026-04-01,2026-04-30,,50 kg,,\n")
    programme("jobs.csv", f"{job}\n2026-06-01,ALD-1,mowing,,\n")
    (one,) = planned(due_next(records(workspace)))
    assert one.quantity == said + "planned: 50 kg (2 packs of 25 kg)"
    assert (one.state, one.overdue, one.low, one.by) == ("not known", False, None, "in April 2026")


def test_of_a_season_without_a_log_nothing_is_called_overdue(
    county: Load, programme: Load, workspace: Workspace
) -> None:
    programme(
        "plan.csv", "2026,ALD-1,scarifying,,2026-03-01,2026-03-31,,,,\n2026,ALD-1,slitting,,2026-08-01,2026-08-31,,,,\n"
    )
    seen = "date,green,observed,survey,place,method,hits,points\n2026-06-01,ALD-1,moss,V,F1,point_quadrat,6,50\n"
    assert not county("seen.csv", seen).failed
    first, later = planned(due_next(records(workspace)))
    assert first.quantity == "not known: no job of the season is logged, planned: once"
    assert (first.state, first.overdue) == ("not known", False)
    assert (later.state, later.quantity, later.by) == ("not due yet", "once", "in August 2026")


def test_an_amount_that_is_not_known_is_said_and_not_nothing(programme: Load, workspace: Workspace) -> None:
    programme("plan.csv", f"2026,ALD-1,top dressing,{MIX},2026-09-06,2026-09-17,,,,\n")
    programme("jobs.csv", "2026-06-01,ALD-1,mowing,,\n")
    (one,) = planned(due_next(records(workspace)))
    assert one.quantity == f"amount not known: the programme says no amount or rate of {MIX}"
    assert (one.low, one.unit) == (None, "t")


def test_what_a_season_over_was_short_of_is_due_no_more(programme: Load, workspace: Workspace) -> None:
    programme(
        "plan.csv", "2025,ALD-1,scarifying,,2025-03-01,2025-03-31,,,,\n2026,ALD-1,slitting,,2025-12-01,2025-12-31,,,,\n"
    )
    programme("jobs.csv", "2025-04-10,ALD-1,mowing,,\n2025-11-01,ALD-1,mowing,,\n")
    for season in ("2025", "2026"):
        (one,) = planned(due_next(records(workspace, season)))
        assert (one.what, one.state) == ("Slitting", "not due yet")


def test_a_window_over_the_end_of_a_season_counts_its_jobs_once(programme: Load, workspace: Workspace) -> None:
    """The window from 15 September to 15 October ends in season 2026. A dressing of 20 September is done of it, but for
    what a line of season 2025 takes of it."""
    programme(
        "plan.csv",
        f"2026,ALD-1,top dressing,{MIX},2025-09-15,2025-10-15,,6 t,,\n"
        f"2025,ALD-1,top dressing,{MIX},2025-09-01,2025-09-30,,1 t,,\n",
    )
    programme("jobs.csv", f"2025-09-20,ALD-1,top dressing,{MIX},4 t\n")
    season = workspace.season("2026")
    (one,) = planned(whats_due(records(workspace, "2025"), season, date(2025, 9, 20)))
    assert (one.state, one.quantity) == ("due", "3 t, the rest of 6 t")


def test_the_lines_of_a_programme_stand_and_a_target_asks_for_what_they_leave(
    county: Load, programme: Load, workspace: Workspace
) -> None:
    """5 kg/m² on 1,600 m² are 8 t, of which 1 t is on and 4 t are planned: 3 t are left; 80 kg/ha of nitrogen are
    12.8 kg, of which 50 kg at 11 % bring 5.5 kg: 7.3 kg are left."""
    assert not county("targets.csv", TARGET).failed
    programme(
        "plan.csv",
        f"2026,ALD-1,top dressing,{MIX},2026-09-06,2026-09-17,,4 t,,\n"
        f"2026,ALD-1,fertiliser,{FEED},2026-04-01,2026-04-30,,50 kg,,\n",
    )
    programme("jobs.csv", f"2025-10-10,ALD-1,top dressing,{MIX},1 t\n")
    found = due_next(records(workspace))
    (dressing,), (nitrogen,) = asked(found, "top_dressing"), asked(found, "fertilising")
    assert (dressing.low, dressing.high, dressing.applied) == (
        pytest.approx(3.0),
        pytest.approx(11.0),
        pytest.approx(1.0),
    )
    assert dressing.why.endswith(" The programme plans 4.0 t as delivered of the 7.0 t that the target asks for.")
    assert dressing.quantity.startswith("3.0 to 11.0 t as delivered")
    assert nitrogen.low == pytest.approx(7.3)
    assert nitrogen.why.endswith(" The programme plans 5.5 kg N of the 12.8 kg N that the target asks for.")
    assert [one.low for one in planned(found)] == [50.0, pytest.approx(4.0)]


def test_a_target_that_a_programme_covers_asks_for_nothing(county: Load, programme: Load, workspace: Workspace) -> None:
    """And once the line is done it still asks for nothing, for what was done counts for the target itself."""
    assert not county("targets.csv", TARGET).failed
    programme("plan.csv", f"2026,ALD-1,top dressing,{MIX},2026-04-01,2026-04-30,,8 t,,\n")
    programme("jobs.csv", "2025-10-10,ALD-1,mowing,,\n")
    found = due_next(records(workspace))
    assert not asked(found, "top_dressing")
    assert [one.low for one in planned(found)] == [8.0]
    programme("jobs.csv", f"2025-10-10,ALD-1,mowing,,\n2026-04-10,ALD-1,top dressing,{MIX},8 t\n")
    found = due_next(records(workspace))
    assert not asked(found, "top_dressing")
    assert not planned(found)


def test_what_a_programme_covers_may_not_be_known(county: Load, programme: Load, workspace: Workspace) -> None:
    """A line without an amount covers some of the target: how much is left is not known, and said so; it is not 8 t."""
    assert not county("targets.csv", TARGET).failed
    programme(
        "plan.csv",
        f"2026,ALD-1,top dressing,{MIX},2026-04-01,2026-04-30,,,,\n"
        f"2026,ALD-1,top dressing,{MIX},2026-08-01,2026-08-31,,2 t,,\n",
    )
    programme("jobs.csv", "2025-10-10,ALD-1,mowing,,\n")
    (one,) = asked(due_next(records(workspace)), "top_dressing")
    assert one.quantity == "not known: what 1 line of dressing of the programme puts on is not known"
    assert (one.low, one.high, one.unit) == (None, None, "t")
    assert one.why.endswith(" At least 2.0 t as delivered of 8.0 t open is planned.")


def test_a_target_of_another_season_is_not_covered(county: Load, programme: Load, workspace: Workspace) -> None:
    """The season in hand is 2025, of which 10 days are left; the programme is of 2026."""
    assert not county("targets.csv", TARGET).failed
    programme("plan.csv", f"2026,ALD-1,top dressing,{MIX},2026-04-01,2026-04-30,,8 t,,\n")
    programme("jobs.csv", "2025-09-20,ALD-1,mowing,,\n")
    own = records(workspace, "2025")
    (one,) = asked(due_next(own), "top_dressing")
    assert one.low == pytest.approx(8.0)
    assert not asked(whats_due(own, workspace.season("2026"), date(2025, 9, 20)), "top_dressing")


@thorough
def test_jobs_of_a_greens_records_are_those_of_the_store(demo_county: Workspace) -> None:
    days = (date(2024, 10, 1), date(2025, 12, 31))
    with Store(demo_county.store, read_only=True) as store:
        every = read_records(store)
        seen = 0
        for green in every.greens["green"]:
            own = green_records(every, green, demo_county.season("2025"), demo_county)
            found = done_of(own, *days)
            assert found == done_works(store, [green], days)
            seen += len(found)
    assert seen > 1000
