"""A look at another day: records dated later change nothing, nor does what came to the store later."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.indicators.base.green_season import GreenSeason
from pipeline.indicators.base.look import ORDINARY, Look
from pipeline.indicators.base.looked_at import told_of_look
from pipeline.indicators.tracing import trace
from pipeline.publish.documents import season_of_green, write_reports
from pipeline.store.decide import decide
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.thorough import THOROUGH

DAY = date(2026, 6, 15)
GREENS = (
    "green,club,name,area_m2,station,valid_from\nALD-1,ALD,Main green,1600,S1,\nALD-2,ALD,Far green,1500,,2026-03-01\n"
)
JOBS = (
    "date,green,operation,material,quantity,passes,depth_mm,hours,logged_by\n"
    "2025-10-10,ALD-1,top dressing,70/30 sand and soil,2t,,,3,A\n"
    "2026-03-16,ALD-1,scarifying,,,2,2,4,A\n"
    "2026-03-20,ALD-1,fertilising,spring granular 11-5-5 + 8 Fe,2 x 25 kg,,,1,A\n"
    "2026-06-10,ALD-1,mowing,,,,,1,A\n"
    "2026-06-01,ALD-2,mowing,,,,,1,A\n"
)
OF_MONTHS = "date,green,operation,passes,hours\n2026-05,ALD-1,slitting,1,2\nJune 2026,ALD-1,verticutting,1,2\n"
SOIL = (
    "date,green,analyte,depth_from_mm,depth_to_mm,extractant,value,unit,burn_c,preparation,lab\n"
    "2025-02-10,ALD-1,organic matter,0,20,,6.1,%,440,whole,Lab A\n"
    "2026-02-10,ALD-1,organic matter,0,20,,5.4,%,440,whole,Lab A\n"
    "2026-02-10,ALD-1,potassium,0,100,Mehlich 3,40,mg/kg,,,Lab A\n"
)
SPEEDS = "date,green,rink,device,value,unit,distance_m\n" + "".join(
    f"2026-06-12,ALD-1,{rink},timed bowl,{12.4 + rink / 10},s,27\n" for rink in range(3, 7)
)
WEATHER = "date,station,tmin_c,tmax_c,rain_mm\n" + "".join(f"2026-06-{day:02},S1,8,19,1\n" for day in range(1, 14))
LATER = {
    "greens-later.csv": "green,club,area_m2,valid_from\nALD-1,ALD,1200,2026-07-01\n",
    "materials-later.csv": "material,analysis,analysis_basis,valid_from\n"
    "spring granular 11-5-5 + 8 Fe,9-7-7,oxide,2026-07-01\n",
    "jobs-later.csv": JOBS.splitlines()[0] + "\n2026-06-16,ALD-1,mowing,,,,,1,A\n"
    "2026-06-20,ALD-1,verticutting,,,1,,2,B\n2026-07-03,ALD-1,top dressing,70/30 sand and soil,1t,,,3,A\n"
    "2026-07-04,ALD-1,scarifying,,,2,700,3,A\n",
    "soil-later.csv": SOIL.splitlines()[0] + "\n2026-07-10,ALD-1,organic matter,0,20,,4.9,%,440,whole,Lab A\n",
    "speeds-later.csv": SPEEDS.splitlines()[0] + "\n2026-07-12,ALD-1,3,timed bowl,9.4,s,27\n",
    "weather-later.csv": WEATHER.splitlines()[0] + "\n2026-07-01,S1,9,30,0\n",
    "of-months-later.csv": OF_MONTHS.splitlines()[0] + "\n2026-07,ALD-1,slitting,1,2\n",
}
"""Files all of whose records are dated after ``DAY``, one of them rejected."""


@pytest.fixture
def logged(county: Load, workspace: Workspace) -> Workspace:
    """A county whose records end in June 2026, one green's two weeks before the other's."""
    texts = {"greens2.csv": GREENS, "jobs.csv": JOBS, "months.csv": OF_MONTHS, "soil.csv": SOIL, "speeds.csv": SPEEDS}
    for name, text in {**texts, "weather.csv": WEATHER}.items():
        assert not county(name, text).counts.rejected, name
    return workspace


def came(workspace: Workspace, number: int, day: date) -> None:
    """Set the day on which a load or decision came."""
    with Store(workspace.store) as store:
        when = datetime.combine(day, datetime.min.time().replace(hour=23, minute=59))
        store.con.execute("UPDATE meta.load SET loaded_at = ? WHERE load_id = ?", [when, number])
        store.con.execute("UPDATE meta.decision SET decided_at = ? WHERE decision = ?", [when, number])


def all_came(workspace: Workspace, day: date) -> int:
    """Set the day for everything that is in the store, and give the number of the last load."""
    with Store(workspace.store, read_only=True) as store:
        numbers = [n for (n,) in store.rows("SELECT load_id FROM meta.load UNION SELECT decision FROM meta.decision")]
    for number in numbers:
        came(workspace, number, day)
    return max(numbers)


def bare(season: GreenSeason) -> GreenSeason:
    """The season without how it is looked at, and without the day its files came."""
    return replace(season, look=ORDINARY, sources=tuple(replace(one, loaded_on="") for one in season.sources))


# Records dated later


def test_as_of_the_ordinary_last_day_gives_the_ordinary_figures(demo_seasons: tuple[GreenSeason, ...],
                                                                demo_county: Workspace) -> None:  # fmt: skip
    for season in demo_seasons[:: 3 if THOROUGH else 100]:
        again = season_of_green(demo_county, season.green, "", Look(as_of=season.as_of))
        assert again.as_of == season.as_of
        assert again.indicators == season.indicators


def test_as_of_the_last_day_of_a_season_that_runs_gives_all_that_the_ordinary_look_does(logged: Workspace) -> None:
    for green in ("ALD-1", "ALD-2"):
        season = season_of_green(logged, green)
        again = season_of_green(logged, green, "", Look(as_of=season.as_of))
        assert bare(again) == bare(season)


def test_records_dated_later_change_nothing(logged: Workspace, county: Load) -> None:
    """Jobs, results, weather, rows of registers, rejected rows and jobs of a month, whatever they would change."""
    look = Look(as_of=DAY)
    before = season_of_green(logged, "ALD-1", "", look)
    assert before.as_of == DAY
    assert any(one.name == "nitrogen_kg_ha" and one.value for one in before.indicators)
    ordinary = season_of_green(logged, "ALD-1")
    for nth, (name, text) in enumerate(LATER.items(), 1):
        county(name, text)
        if nth < len(LATER) and not THOROUGH:  # all of them together first; which of them it was is asked afterwards
            continue
        after = season_of_green(logged, "ALD-1", "2026", look)
        assert bare(after) == bare(before), name
        assert after.known_to == DAY
    changed = season_of_green(logged, "ALD-1", "2026")
    assert changed.area_m2 == 1200
    assert bare(changed).indicators != bare(ordinary).indicators
    assert changed.questions


def test_a_month_counts_once_it_is_over(logged: Workspace) -> None:
    """May and June are told by the month: as of mid-June the one counts and the other is asked about."""
    june = Look(as_of=date(2026, 6, 29)), Look(as_of=date(2026, 6, 30))
    before, after = (season_of_green(logged, "ALD-1", "2026", look) for look in june)
    done = [{work.operation for work in one.works} for one in (before, after)]
    assert "Slitting" in done[0]
    assert "Verticutting" not in done[0]
    assert "Verticutting" in done[1]
    assert any("in no figure" in note.text and "verticutting, June 2026" in note.text for note in before.data_notes)


def test_a_register_is_taken_as_it_held(logged: Workspace, county: Load) -> None:
    """A row that holds from a later day is not known of; the first row of a name holds for the days before it."""
    for name in ("greens-later.csv", "materials-later.csv"):
        assert not county(name, LATER[name]).counts.rejected
    assert season_of_green(logged, "ALD-1", "", Look(as_of=date(2026, 6, 30))).area_m2 == 1600
    assert season_of_green(logged, "ALD-1", "", Look(as_of=date(2026, 7, 1))).area_m2 == 1200
    assert season_of_green(logged, "ALD-2", "", Look(as_of=date(2026, 2, 1))).area_m2 == 1500


def test_the_season_is_the_one_of_the_day_unless_it_is_named(logged: Workspace) -> None:
    assert season_of_green(logged, "ALD-1", "", Look(as_of=date(2025, 3, 1))).season == "2025"
    over = season_of_green(logged, "ALD-1", "2025", Look(as_of=DAY))
    assert (over.as_of, over.known_to) == (date(2025, 9, 30), DAY)
    with pytest.raises(WrongUsage) as refused:
        season_of_green(logged, "ALD-1", "2026", Look(as_of=date(2025, 9, 30)))
    assert str(refused.value) == "Season 2026 begins on 1 October 2025, after 30 September 2025."
    assert refused.value.hint == "Name a later day with --as-of, or season 2025."


def test_a_month_of_weather_that_no_figure_rests_on_moves_no_day(logged: Workspace, county: Load) -> None:
    """It goes along with no report: a day it alone speaks of could not be found again."""
    before = season_of_green(logged, "ALD-1").as_of
    months = "date,station,rain_mm\n2026-08-01,S1,47\n"
    assert county("rain.csv", months, kind="weather_month").counts.loaded == 1
    assert season_of_green(logged, "ALD-1").as_of == before == date(2026, 6, 30)


# What came later


def test_what_was_loaded_later_changes_nothing(logged: Workspace, county: Load) -> None:
    """New records, other values, values taken back, another row of a register, a warning that was settled since."""
    all_came(logged, DAY)
    before = season_of_green(logged, "ALD-1")
    texts = {
        "more.csv": JOBS.splitlines()[0] + "\n2026-05-02,ALD-1,mowing,,,,,1,A\n",
        "soil.csv": SOIL.replace("5.4", "5.6").replace(",40,mg/kg", ",,mg/kg"),
        "jobs.csv": JOBS.replace("2 x 25 kg", "3 x 25 kg"),
        "greens2.csv": GREENS.replace("1600", "1650"),
        **(LATER if THOROUGH else {}),
    }
    for name, text in texts.items():
        county(name, text)
    look = Look(known_by=DAY)
    assert bare(season_of_green(logged, "ALD-1", "2026", look)) == bare(before)
    now = season_of_green(logged, "ALD-1", "2026", Look(as_of=DAY))
    assert now.indicators != before.indicators
    assert list(told_of_look(logged, look, ["ALD-1"], [])) == []
    (traced,) = trace(logged, season_of_green(logged, "ALD-1", "2026", look), "organic_matter_pct")
    assert [one.stored["value"] for one in traced.records] == [5.4]


def test_a_file_closed_or_a_line_left_out_later_still_counts_then(logged: Workspace, county: Load) -> None:
    all_came(logged, DAY)
    before = season_of_green(logged, "ALD-1")
    shorter = "\n".join(line for line in JOBS.splitlines() if "mowing" not in line) + "\n"
    closed = county("jobs.csv", shorter, complete=(date(2025, 10, 1), date(2026, 6, 30)))
    assert closed.counts.closed == 1
    assert bare(season_of_green(logged, "ALD-1", "2026", Look(known_by=DAY))) == bare(before)
    told = list(told_of_look(logged, Look(as_of=DAY), ["ALD-1"], []))
    assert told[-1].startswith("Left out: 1 record that the store held on 15 June 2026 and that no longer counts.")


def test_a_decision_counts_from_the_day_it_was_made(logged: Workspace, county: Load) -> None:
    """Before it two lines count, after it one; a version that came since does not bring the other line back."""
    other = JOBS.splitlines()[0] + "\n2026-03-16,ALD-1,scarifying,,,,,4,B\n"
    assert not county("office.csv", other).counts.rejected
    all_came(logged, DAY)
    hours = "hours_of_h"

    def scarifying(look: Look) -> float | None:
        season = season_of_green(logged, "ALD-1", "2026", look)
        return next(one.value for one in season.indicators if one.name == hours and one.band == "Scarifying")

    two = scarifying(ORDINARY)
    decide(logged, "one", ["jobs.csv:3", "office.csv:2"], why="one afternoon", who="A. Clerk")
    with Store(logged.store, read_only=True) as store:
        ((number,),) = store.rows("SELECT decision FROM meta.decision")
    came(logged, number, date(2026, 6, 20))
    once = scarifying(ORDINARY)
    assert (two, once) == (8.0, 4.0)
    county("office.csv", other.replace(",4,B", ",5,B"))
    for day, value in ((DAY, two), (date(2026, 6, 19), two), (date(2026, 6, 20), once)):
        assert scarifying(Look(known_by=day)) == value, day
    undo(logged, number)
    look = Look(known_by=date(2026, 6, 20))
    assert scarifying(look) == two
    (said,) = told_of_look(logged, look, ["ALD-1"], [])
    assert said.startswith(f"Not shown as it was: decision {number} (on line 3 of jobs.csv")


def test_a_load_taken_back_since_is_named_and_not_made_up(logged: Workspace, county: Load) -> None:
    county("more.csv", JOBS.splitlines()[0] + "\n2026-05-02,ALD-1,mowing,,,,,1,A\n")
    last = all_came(logged, DAY)
    look = Look(known_by=DAY)
    assert not season_of_green(logged, "ALD-1", "", look).look.gone
    undo(logged, last)
    with Store(logged.store, read_only=True) as store:
        (day,) = store.rows("SELECT CAST(undone_at AS DATE) FROM meta.undone")[0]
    found = season_of_green(logged, "ALD-1", "", look)
    said = f"load {last} (more.csv), taken back on {day.day} {day:%B %Y}"
    assert found.look.gone == (said,)
    (note,) = [one for one in found.data_notes if "1 load or decision" in one.text]
    assert note.severity == "warning"
    assert "more.csv" not in note.text, "a file may be called after another club"
    assert list(told_of_look(logged, look, ["ALD-1"], [])) == [f"Not shown as it was: {said}."]


def test_both_days_together_are_what_was_known_then_of_the_state_then(logged: Workspace, county: Load) -> None:
    all_came(logged, date(2026, 6, 20))
    before = season_of_green(logged, "ALD-1", "", Look(as_of=date(2026, 6, 11)))
    county("more.csv", JOBS.splitlines()[0] + "\n2026-05-02,ALD-1,mowing,,,,,1,A\n")
    both = Look(date(2026, 6, 11), date(2026, 6, 20))
    assert bare(season_of_green(logged, "ALD-1", "", both)) == bare(before)
    one = season_of_green(logged, "ALD-1", "", Look(as_of=date(2026, 6, 11)))
    assert len(one.works) == len(before.works) + 1


def test_nothing_in_the_store_by_then_is_refused(logged: Workspace) -> None:
    all_came(logged, DAY)
    with pytest.raises(CannotDo) as refused:
        season_of_green(logged, "ALD-1", "", Look(known_by=date(2026, 6, 14)))
    assert (
        str(refused.value)
        == "Nothing was in the store at the end of 14 June 2026: the first load came on 15 June 2026."
    )


def test_what_came_later_is_counted_and_said(logged: Workspace, county: Load) -> None:
    all_came(logged, DAY)
    assert list(told_of_look(logged, Look(as_of=DAY), ["ALD-1"], [])) == []
    county("more.csv", JOBS.splitlines()[0] + "\n2026-05-02,ALD-1,mowing,,,,,1,A\n2026-08-02,ALD-1,mowing,,,,,1,A\n")
    (said,) = told_of_look(logged, Look(as_of=DAY), [], ["ALD"])
    # by hand: 5 jobs, 2 of a month, 3 results, 4 bowls, 13 days of weather, and 1 job that came later
    assert said == (
        "1 of the 28 records dated up to 15 June 2026 were loaded, or changed, after that day. "
        "Add --known-by 2026-06-15 for what was in the store then."
    )


def test_of_a_day_before_the_first_load_no_look_is_advised(logged: Workspace) -> None:
    """--known-by of that day would be refused."""
    all_came(logged, DAY)
    before = DAY - timedelta(days=1)
    (said,) = told_of_look(logged, Look(as_of=before), [], [])
    assert said == "Nothing was in the store yet on 14 June 2026: every record was loaded later."
    with pytest.raises(CannotDo):
        list(told_of_look(logged, Look(known_by=before), [], []))


# Files


def test_a_report_of_another_day_has_a_file_of_its_own(logged: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    from collections.abc import Iterable, Iterator

    from pipeline.common.whole_files import write_whole
    from pipeline.publish import writer
    from pipeline.publish.pool import Outcome, Task

    def rendered(tasks: Iterable[Task], **_: object) -> Iterator[Outcome]:
        for task in tasks:
            write_whole({task.target: repr(task.content).encode()})
            yield Outcome(task.name, task.target, 4, writer.mark(task.name))

    monkeypatch.setattr(writer, "render_many", rendered)
    all_came(logged, DAY)
    looks = (ORDINARY, Look(as_of=DAY), Look(as_of=date(2026, 6, 11)), Look(known_by=DAY), Look(DAY, DAY))
    paths: list[Path] = []
    for look in looks:
        paths += [one.path for one in write_reports(logged, greens=["ALD-1"], look=look)]
    assert [path.name for path in paths] == [
        "ALD-1-condition-2026.pdf",
        "ALD-1-condition-2026-as-of-2026-06-15.pdf",
        "ALD-1-condition-2026-as-of-2026-06-11.pdf",
        "ALD-1-condition-2026-known-by-2026-06-15.pdf",
        "ALD-1-condition-2026-as-of-2026-06-15-known-by-2026-06-15.pdf",
    ]
    assert len({path.read_bytes() for path in paths}) == len(paths)
