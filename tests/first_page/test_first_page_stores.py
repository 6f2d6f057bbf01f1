"""Page one of small stores: it reads right whatever is not there, and says what that is."""

from __future__ import annotations

import re
from typing import Any

import pytest

from pipeline.indicators.base.first_page import FirstPage
from pipeline.publish.costs import costs
from pipeline.workspace.settings import Workspace
from reports.condition.first.page import FirstPageView, first_page
from tests.conftest import Load
from tests.first_page.stores import (
    CASES,
    DRESSED,
    JOBS,
    OF_SPEED,
    SPEEDS,
    TARGETS,
    WHOLE,
    WITHOUT_TARGETS,
    season_of,
)
from tests.thorough import thorough


def page_of(workspace: Workspace) -> tuple[FirstPage, FirstPageView]:
    season = season_of(workspace)
    assert season.first is not None
    return season.first, first_page(season)


def plain(words: str) -> str:
    return re.sub(r"\s", " ", words)


def put(county: Load, **files: str) -> None:
    for name, text in files.items():
        done = county(f"{name}.csv", text)
        assert not done.failed, done.as_json()
        assert not done.counts.rejected, done.as_json()


@pytest.fixture
def bare(county: Load, workspace: Workspace) -> Workspace:
    """The small county without a target of anybody's."""
    (workspace.folder / "settings.toml").write_text(WITHOUT_TARGETS, "utf-8")
    from pipeline.workspace.settings import open_workspace

    return open_workspace(workspace.folder)


def test_no_target_set(bare: Workspace, county: Load) -> None:
    put(county, **CASES["no-target-set"])
    of, page = page_of(bare)
    assert page.verdict == "No target is set."
    assert plain(page.counts).endswith(" recorded, none of them with a target.")
    assert plain(page.found_none) == "Nothing can be said: no figure could be held against a target."
    assert {row.word for row in page.measures if row.bar} == {"no target"}
    assert [row.value for row in page.measures][1:4] == ["5.00", "–", "12.2"]
    assert not of.actions


def test_no_cost_logged(workspace: Workspace, county: Load) -> None:
    put(county, **CASES["no-cost-logged"])
    _, page = page_of(workspace)
    assert [(cell.value, cell.below) for cell in page.spent] == [
        ("not logged", "logged for 0 of 3 jobs"),
        ("6", "last season not logged"),
        ("not known", "logged for 0 of 3 jobs"),
        ("not compared", "last season not logged"),
    ]
    assert page.verdict == "Sound."


def test_speeds_only(workspace: Workspace, county: Load) -> None:
    put(county, **CASES["speeds-only"])
    _, page = page_of(workspace)
    assert page.verdict in ("Speed is right. Sound.", "Plays well. Sound.")
    assert page.spent == ()
    assert page.spent_note == "No job of this season is logged: money and hours are not known."
    assert page.found[0].lead == "Speed is right:"
    assert plain(page.found[0].words) == "12.2 s (target 10–15)."
    assert [row.absent for row in page.measures] == [
        "not sampled",
        "none logged",
        "none logged",
        "",
        "",
        "not surveyed",
    ]
    assert page.not_measured.startswith("Levels, grass cover, thatch, drainage and organic matter are not on record")


def test_soil_only(workspace: Workspace, county: Load) -> None:
    put(county, **CASES["soil-only"])
    of, page = page_of(workspace)
    assert of.counts.of == 1
    assert page.found[0].lead.startswith(("Spongy layer at 0–20", "Organic matter (0–20"))
    assert page.measures[0].value == "7.4"
    assert page.measures[3].absent == "not timed"


@thorough
def test_first_season(workspace: Workspace, county: Load) -> None:
    put(county, **CASES["first-season"])
    _, page = page_of(workspace)
    assert page.spent[0].value == "£480"
    assert page.spent[3].value == "not compared"
    assert page.spent[3].below == "last season not logged"
    assert all(row.bar is None or row.bar.last_x is None for row in page.measures)
    assert "Ring" not in page.key
    assert not any("Last season" in line.words for line in page.found)


def test_last_season_stands_beside_this_one(workspace: Workspace, county: Load) -> None:
    """A ring and a sum of the season before: of the figures as they are made, where the store holds none."""
    last = WHOLE.format(2024, 2025, 5) + DRESSED.replace("2026-", "2025-").replace("480", "400")
    put(county, jobs=JOBS + last + WHOLE.format(2025, 2026, 5) + DRESSED)
    of, page = page_of(workspace)
    assert (page.spent[0].below, page.spent[3].value) == ("last season £410", "£80 more")
    assert of.measures[1].last is not None and of.measures[1].last.value == 5.0


def test_nothing_logged(workspace: Workspace, county: Load) -> None:
    _, page = page_of(workspace)
    assert page.verdict == "Nothing is recorded of this season."
    assert page.counts == "No figure could be made."
    assert {row.word for row in page.measures} == {""}
    assert [line.words for line in page.checks.paragraphs] == ["No figure rests on an entry that looks wrong."]
    assert page.actions.note == "Beside that: sample organic matter; time bowls."


@thorough
def test_an_entry_that_no_figure_rests_on_is_not_called_right(workspace: Workspace, county: Load) -> None:
    """A feed "as needed" is in no figure; the page said that no entry looks wrong."""
    put(county, jobs=JOBS + WHOLE.format(2025, 2026, 5) + DRESSED)
    assert page_of(workspace)[1].checks.paragraphs[0].words == "No logged entry looks wrong."
    put(county, more=JOBS + "2026-05-02,ALD-1,fertilising,spring granular 11-5-5 + 8 Fe,as needed,1,5\n")
    of, page = page_of(workspace)
    assert of.warned == 1
    assert page.checks.paragraphs[0].words == "No figure rests on an entry that looks wrong."


def test_money_and_hours_are_those_that_costs_prints(workspace: Workspace, county: Load) -> None:
    put(county, jobs=JOBS + WHOLE.format(2025, 2026, 5) + DRESSED)
    of, _ = page_of(workspace)
    this = costs(workspace, "ALD-1", "2026").whole.this
    assert of.spent is not None
    assert (of.spent.cost.value, of.spent.hours.value) == (this.cost_logged.value, this.hours.value) == (490, 6)
    assert of.spent.per_m2 == this.per_m2_logged.value == this.per_m2.value


SLIP = "2026-05-10,ALD-1,fertilising,spring granular 11-5-5 + 8 Fe,500 kg,2,60\n"
FED = "2026-06-10,ALD-1,fertilising,spring granular 11-5-5 + 8 Fe,50 kg,2,60\n"


def test_a_keying_slip_comes_first_and_what_rests_on_it_waits(workspace: Workspace, county: Load) -> None:
    """500 kg at 11 % on 1,600 m² are 344 kg/ha; without them 34 of the other feed are left."""
    target = TARGETS + "green,ALD-1,2026,nitrogen_kg_ha,,30,120,kg/ha,our own\n"
    put(county, jobs=JOBS + SLIP + FED + WHOLE.format(2025, 2026, 5), targets=target, speeds=SPEEDS)
    of, page = page_of(workspace)
    assert page.verdict.startswith("Check one entry first.")
    assert page.checks.framed
    assert page.checks.heading == "Check one entry first"
    first, then = page.checks.paragraphs[:2]
    assert first.lead == "jobs.csv, line 2:"
    assert "500 kg is" in plain(first.words)
    assert plain(then.lead) == "Until it is settled, ignore the nitrogen (N) applied of 378 kg/ha."
    assert plain(then.words) == "Without this entry it would be 34 kg/ha: on target."
    nitrogen = page.measures[2]
    assert nitrogen.bar is not None and nitrogen.bar.crossed
    assert (nitrogen.word, nitrogen.set) == ("check", "inked")
    assert of.counts.waiting >= 1 and not any("nitrogen" in line.lead.lower() for line in page.found)


def test_rejected_rows_and_gaps_of_sprays_stand_in_the_quiet_box(workspace: Workspace, county: Load) -> None:
    rows = "2026-05-10,ALD-1,hedge trimming,,,2,60\n2026-06-10,ALD-1,plant protection,,,1,40\n"
    done = county("jobs.csv", JOBS + DRESSED + rows)
    assert done.counts.rejected == 1
    _, page = page_of(workspace)
    said = [plain(one.words) for one in page.checks.paragraphs]
    assert said[0].startswith("Rejected, not yet corrected: jobs.csv, line 3 (")
    assert "“hedge trimming” is not a known operation" in said[0]
    assert said[1] == "The spray of 10 June 2026 lacks its product, amount and area treated."
    assert page.spent[3].below == "last season not logged"


def test_a_rule_of_the_users_own_without_short_texts_falls_back_on_its_long_ones(
    workspace: Workspace, county: Load
) -> None:
    (workspace.folder / "findings").mkdir()
    rule: dict[str, Any] = {
        "id": '"too-fast"',
        "all": '[{ indicator = "speed_s", at_least = 12.0 }]',
        "finding": '"Bowls take {value} here."',
        "may_mean": '"Dry ground."',
        "helps": '"Water."',
        "works": '["irrigation"]',
        "weight": 5,
        "source": '"our own"',
    }
    text = "[[rule]]\n" + "\n".join(f"{name} = {value}" for name, value in rule.items())
    (workspace.folder / "findings" / "own.toml").write_text(text, "utf-8")
    put(county, speeds=SPEEDS, targets=TARGETS + OF_SPEED)
    _, page = page_of(workspace)
    assert plain(page.found[0].lead) == "Bowls take 12.2 s here"
    assert page.found[0].words == "Dry ground."
    assert "Sound" in page.verdict
