"""What is due: one amount for a green and season in every document, less what is logged of that season."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import pytest

from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.green_season import Due, GreenSeason
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.base.records import Records
from pipeline.indicators.base.standing import target_for
from pipeline.indicators.families import DESCRIBED, FAMILIES
from pipeline.indicators.works.dressing import dressings
from pipeline.plan import due as rules
from pipeline.plan.next import due_next
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.summaries.club import club_season
from pipeline.survey.build import condition_survey
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.workspace.settings import Workspace
from reports.condition import view as viewmodel
from reports.condition.levels import levels_for
from reports.round_up import data as round_up_csv
from reports.round_up import render as round_up_page
from reports.summary import render as summary
from reports.survey import render as survey_page
from tests.conftest import Load
from tests.reports.club_sample import round_up
from tests.thorough import beyond

VERSION = "test"
MIX = "70/30 sand and soil"
VISIT = date(2026, 9, 16)
TARGET = (
    "indicator,scope,scope_name,season,band,low,high,unit,source\ndressing_kg_m2,club,ALD,,,5,10,kg/m²,the committee\n"
    "nitrogen_kg_ha,club,ALD,,,80,200,kg/ha,the committee\n"
)
JOBS = (
    "date,green,operation,material,quantity\n"
    f"2026-04-10,ALD-1,top dressing,{MIX},4 t\n"
    f"2026-10-05,ALD-1,top dressing,{MIX},6.25 t\n"
)
"""On 1,600 m² with 5 to 10 kg/m² wanted: 8 to 16 t a season; 6.25 t of season 2027 are on, 1.75 to 9.75 t open."""
SEEN = (
    "date,green,observed,survey,place,method,hits,points\n"
    "2026-09-16,ALD-1,moss,V,F1,point_quadrat,6,50\n2026-09-16,ALD-1,cover,V,F1,point_quadrat,40,50\n"
)
REST = "1.8 to 9.8 t as delivered, moisture not known, on 1,600 m² (6.25 t already applied)"


def plain(words: str) -> str:
    return re.sub("[\u202f\u00a0]", " ", words)


def records_of(workspace: Workspace) -> Records:
    with Store(workspace.store, read_only=True) as store:
        return read_records(store)


def season_of(workspace: Workspace, name: str = "2026") -> GreenSeason:
    return green_season(records_of(workspace), "ALD-1", workspace.season(name), workspace)


def dressing(found: Sequence[Due]) -> Due:
    (one,) = (due for due in found if due.what.startswith("Top dressing"))
    return one


@pytest.fixture
def dressed(county: Load, workspace: Workspace) -> Workspace:
    """The small county with a target, last season's dressing, 6.25 t of the season after, and a visit between."""
    for name, text in (("targets.csv", TARGET), ("jobs.csv", JOBS), ("observations.csv", SEEN)):
        loaded = county(name, text)
        assert not loaded.failed, loaded.as_json()
        assert not loaded.counts.rejected
    return workspace


def test_the_condition_report_and_its_short_form(dressed: Workspace) -> None:
    """The whole 8.0 to 16.0 t were asked for on top of the 6.25 t that lie there."""
    season = season_of(dressed)
    assert season.as_of == date(2026, 9, 30)
    due = dressing(season.due)
    assert (due.low, due.high, due.applied, due.unit) == (*map(pytest.approx, (1.75, 9.75, 6.25)), "t")
    for short in (False, True):
        level = levels_for(short=short)[0]
        page = viewmodel.view(season, level, version=VERSION)
        told = [(plain(line.quantity), plain(line.by)) for line in page.due if line.what.startswith("Top dressing")]
        assert told == ([] if short else [(REST, "season 2027")])  # the short form has it on its first page alone
        assert f"Due next: Top dressing, {MIX}, {REST}, season 2027." in map(plain, page.headline)


def test_the_season_summary(dressed: Workspace) -> None:
    page = summary.view(club_season([season_of(dressed)]), version=VERSION)
    (line,) = (line for line in page.due if line.what.startswith("Top dressing"))
    assert (plain(line.quantity), plain(line.by)) == (REST, "season 2027")


def test_what_comes_first_is_the_same_in_every_document(dressed: Workspace, county: Load) -> None:
    """Page one of the report named the dressing as due next, the summary's the look at the green, its day past."""
    feed = "date,green,operation,material,quantity\n2026-10-06,ALD-1,fertilising,spring granular 11-5-5 + 8 Fe,20 kg\n"
    assert not county("feed.csv", feed).failed
    season = season_of(dressed)
    assert [one.day is None for one in season.due] == sorted(one.day is None for one in season.due)
    dated = [one.day for one in season.due if one.day]
    assert dated and dated == sorted(dated) and len(season.due) > len(dated)
    first = season.due[0].what
    report = viewmodel.view(season, version=VERSION)
    assert report.due[0].what == first
    assert report.headline[-1].startswith(f"Due next: {first},")
    page = summary.view(club_season([season]), version=VERSION)
    assert page.due[0].what == first
    assert f"first: {first[:1].lower()}{first[1:]}, " in page.matters[-1]
    assert round_up_page.view(round_up([season]), version=VERSION).due[0].what == first


def test_the_head_says_up_to_when_what_is_due_counts(dressed: Workspace) -> None:
    """ "Records up to 30 September 2026" stood over a table that takes off what was logged on 5 October."""
    season, whole = (
        season_of(dressed),
        "Records up to 30 September 2026; what is due counts to 5 October 2026.",
    )
    for made in (
        viewmodel.view(season, version=VERSION),
        summary.view(club_season([season]), version=VERSION),
        round_up_page.view(round_up([season]), version=VERSION),
    ):
        assert plain(made.counted) == whole
    running = viewmodel.view(season_of(dressed, "2027"), version=VERSION)
    assert plain(running.counted) == "Records up to 5 October 2026."


def test_the_round_up_and_its_data(dressed: Workspace) -> None:
    whole = round_up([season_of(dressed)])
    page = round_up_page.view(whole, version=VERSION)
    (line,) = (line for line in page.due if line.what.startswith("Top dressing"))
    assert plain(line.quantity) == "1.8–9.8 t as delivered, moisture not known (6.25 t already applied)"
    assert any("top dressing 1.8 t as delivered" in plain(one) for one in page.matters)
    (file,) = (one for one in round_up_csv.csv_files(whole) if one.name == "due.csv")
    rows = csv.DictReader(io.StringIO(file.content.decode("utf-8-sig")))
    row = next(row for row in rows if row["what"].startswith("Top dressing"))
    assert (row["quantity"], row["unit"], row["by"]) == (REST, "t", "season 2027")
    assert row["basis"] == "as delivered, moisture not known"
    assert [float(row[name]) for name in ("low", "high", "applied")] == pytest.approx([1.75, 9.75, 6.25])


def test_the_programme_of_a_survey(dressed: Workspace) -> None:
    """It begins in October: what the season before still wanted by 30 September is not its business."""
    survey = condition_survey(dressed, "ALD-1", VISIT)
    assert (survey.programme.months[0].year, survey.programme.months[0].month) == (2026, 10)
    page = survey_page.view(survey, version=VERSION)
    assert "Top dressing" in {line.label for line in page.calendar}
    (line,) = (line for line in survey.programme.lines if line.operation == "top_dressing")
    assert plain(line.quantity) == f"{REST}, season 2027"
    (row,) = (row for row in page.advice.rows if row.what == "Dress the green")
    assert plain(row.amount) == "1.75–9.75 t"


def test_the_programme_of_a_survey_shows_the_nitrogen_of_the_condition_report(dressed: Workspace) -> None:
    survey = condition_survey(dressed, "ALD-1", VISIT)
    (due,) = (one for one in season_of(dressed).due if one.what == "Nitrogen")
    (line,) = (line for line in survey.programme.lines if line.operation == "fertilising")
    assert plain(line.quantity) == f"{plain(due.quantity)}, {due.by}" == "12.8 to 32.0 kg N, season 2027"
    (row,) = (row for row in survey_page.view(survey, version=VERSION).advice.rows if row.what == "Feed")
    assert plain(row.amount) == "12.8–32 kg of nitrogen"  # the feed is open, and its mass is another


BEGUN = SEEN.replace("2026-09-16", "2026-11-01")
"""Season 2027 has run a month by then."""


def nothing_logged(county: Load, workspace: Workspace, jobs: str = "") -> dict[str, Due]:
    """What season 2027 asks for on a green with a visit in November and these jobs in it."""
    head = "date,green,operation,material,quantity\n"
    own = f"2026-04-10,ALD-1,top dressing,{MIX},4 t\n"
    for name, text in (("targets.csv", TARGET), ("jobs.csv", head + own + jobs), ("seen.csv", BEGUN)):
        assert not county(name, text).failed
    return {due.what.partition(",")[0]: due for due in season_of(workspace, "2027").due}


def test_of_a_season_without_any_log_what_is_due_is_not_known(county: Load, workspace: Workspace) -> None:
    """Missing is not zero: the whole season's dressing and nitrogen were asked for of a green nobody had logged."""
    found = nothing_logged(county, workspace)
    for what, target in (("Top dressing", "Target 5 to 10 kg/m²"), ("Nitrogen", "Target 80 to 200 kg/ha")):
        due = found[what]
        assert due.quantity == "not known: no job of season 2027 is logged"
        assert (due.low, due.high, due.applied) == (None, None, None)
        assert due.why.startswith(f"{target} (the committee). Whether anything was done of it to 1 November 2026 is")


def test_a_log_without_dressing_leaves_all_of_it_due(county: Load, workspace: Workspace) -> None:
    found = nothing_logged(county, workspace, "2026-10-20,ALD-1,mowing,,\n")
    assert (found["Top dressing"].low, found["Nitrogen"].low) == (pytest.approx(8.0), pytest.approx(12.8))


def test_a_log_that_is_said_to_hold_every_dressing_is_believed(county: Load, workspace: Workspace) -> None:
    options = workspace.settings.method_options.model_copy(update={"dressing_logged": "all"})
    whole = replace(workspace, settings=workspace.settings.model_copy(update={"method_options": options}))
    found = nothing_logged(county, whole)
    assert (found["Top dressing"].low, found["Nitrogen"].low) == (pytest.approx(8.0), None)


def test_a_season_that_has_hardly_begun_owes_all_of_it(county: Load, workspace: Workspace) -> None:
    """No log is to be had of a season of two weeks: the autumn's order is not held back for that."""
    assert not county("targets.csv", TARGET).failed
    assert not county("jobs.csv", JOBS.split("2026-10-05", maxsplit=1)[0]).failed
    assert not county("seen.csv", SEEN.replace("2026-09-16", "2026-10-14")).failed
    assert dressing(season_of(workspace, "2027").due).low == pytest.approx(8.0)


def test_what_two_targets_ask_for_alike_is_not_known(county: Load, workspace: Workspace) -> None:
    """No target is in force, yet something is due: the line does not just go."""
    head = TARGET.splitlines()[0] + ",construction,shape\n"
    green = "green,club,name,area_m2,shape,construction_type\nALD-1,ALD,Main green,1600,flat,sand\n"
    rows = "dressing_kg_m2,club,ALD,,,5,10,kg/m²,one,sand,\ndressing_kg_m2,club,ALD,,,2,3,kg/m²,two,,flat\n"
    for name, text in (("greens2.csv", green), ("targets.csv", head + rows), ("jobs.csv", JOBS)):
        assert not county(name, text).failed
    due = dressing(season_of(workspace).due)
    assert (due.quantity, due.low) == ("not known: two targets hold alike", None)
    assert "line 2 of targets.csv (one) and line 3 of targets.csv (two) hold here alike" in due.why


def test_the_line_says_which_target_was_passed_over(county: Load, workspace: Workspace) -> None:
    head = TARGET.splitlines()[0] + ",construction\n"
    assert not county("targets.csv", head + "dressing_kg_m2,club,ALD,,,7,9,kg/m²,house,sand\n").failed
    assert not county("jobs.csv", "date,green,operation\n2026-04-10,ALD-1,mowing\n").failed
    due = dressing(season_of(workspace).due)
    assert "The target set for this club (house) is passed over" in due.why
    assert due.why.endswith("does not record this one's: fill in construction_type.")


def test_a_visit_in_summer_asks_for_the_rest_of_its_own_season(county: Load, dressed: Workspace) -> None:
    """4 t of 2026 are on: 4.0 to 12.0 t were open, by a day in the programme that has passed when it is printed."""
    assert not county("visit.csv", SEEN.replace("2026-09-16", "2026-06-03")).failed
    due = dressing(condition_survey(dressed, "ALD-1", date(2026, 6, 3)).season.due)
    assert due.quantity == "4.0 to 12.0 t as delivered, moisture not known, on 1,600 m² (4 t already applied)"
    assert (due.by, due.overdue) == ("by 30 September 2026 (passed)", True)


def test_the_season_itself_asks_for_the_same_rest(dressed: Workspace) -> None:
    """Reported as season 2027, of which 5 October is the last day on record."""
    due = dressing(season_of(dressed, "2027").due)
    assert (due.quantity, due.by) == (REST, "by 30 September 2027")


def test_dressing_with_known_moisture_is_said_as_delivered_and_dry(county: Load, workspace: Workspace) -> None:
    """6.25 t with 6 % of the dry mass as water are 5.896 t dry: 8 less that is 2.104 t, × 1.06 = 2.23 t to be ordered.

    The line said "2.1 to 10.1 t" and no more: who ordered that ordered too little.
    """
    head = "material,sort,form,mix,bulk_density_t_m3,moisture_pct,moisture_basis\n"
    moist = head + "moist mix,top dressing,solid,70/30,1.5,6,dry\n"
    for name, text in (("targets.csv", TARGET), ("m.csv", moist), ("jobs.csv", JOBS.replace(MIX, "moist mix"))):
        assert not county(name, text).failed
    due = dressing(season_of(workspace).due)
    assert due.quantity == (
        "2.2 to 10.7 t as delivered (2.1 to 10.1 t dry) on 1,600 m² (6.25 t already applied, 5.9 t dry)"
    )
    on = 6.25 / 1.06
    assert (due.low, due.high, due.applied) == tuple(map(pytest.approx, ((8 - on) * 1.06, (16 - on) * 1.06, 6.25)))
    assert due.basis == "as delivered"
    assert due.why.endswith(" Rates are of dry mass.")
    (line,) = (
        line for line in summary.view(club_season([season_of(workspace)]), version=VERSION).due
        if line.what.startswith("Top dressing")
    )  # fmt: skip
    assert plain(line.quantity) == due.quantity, "cut short"


@pytest.mark.parametrize(("wet", "bare"), [(2, 5), (5, 2)])
@beyond(1)
def test_moisture_is_that_of_the_material_named(county: Load, workspace: Workspace, wet: int, bare: int) -> None:
    """4.25 t with 20 % water of the wet mass are 3.4 t dry, then 2 t of a mix that says nothing: 8 − 5.4 = 2.6 t more
    of that mix, of which nobody knows what it weighs dry; and the other way about 2.6 ÷ 0.8 = 3.25 t."""
    head = "material,sort,form,mix,bulk_density_t_m3,moisture_pct,moisture_basis\n"
    moist = head + "wet mix,top dressing,solid,70/30,1.5,20,wet\n"
    log = (
        f"date,green,operation,material,quantity\n2026-10-0{wet},ALD-1,top dressing,wet mix,4.25 t\n"
        f"2026-10-0{bare},ALD-1,top dressing,{MIX},2 t\n"
    )
    for name, text in (("targets.csv", TARGET), ("m.csv", moist), ("jobs.csv", log)):
        assert not county(name, text).failed
    due = dressing(season_of(workspace).due)
    if wet > bare:
        assert due.what == "Top dressing, wet mix"
        assert due.quantity.startswith("3.2 to 13.2 t as delivered (2.6 to 10.6 t dry) on 1,600 m² (6.25 t already")
        assert (due.low, due.applied) == (pytest.approx(2.6 / 0.8), pytest.approx(6.25))
    else:
        assert due.what == f"Top dressing, {MIX}"
        assert due.quantity.startswith("2.6 to 10.6 t as delivered, moisture not known, on 1,600 m² (6.25 t already")
        assert (due.low, due.applied) == (pytest.approx(2.6), pytest.approx(6.25))
    assert due.quantity.endswith(" applied, 5.4 t less the moisture known)")
    assert due.why.endswith(" Rates are of dry mass where moisture is known.")


def test_the_round_up_adds_one_sort_of_mass(county: Load, workspace: Workspace) -> None:
    """What is on was added dry, while the condition reports say what was delivered: both are as delivered."""
    head = "material,sort,form,mix,bulk_density_t_m3,moisture_pct,moisture_basis\n"
    moist = head + "moist mix,top dressing,solid,70/30,1.5,6,dry\n"
    for name, text in (("targets.csv", TARGET), ("m.csv", moist), ("jobs.csv", JOBS.replace(MIX, "moist mix"))):
        assert not county(name, text).failed
    one = season_of(workspace)
    other = replace(one, green="ALD-2", green_name="Second green")
    whole = round_up([one, other])
    (due,) = (due for due in whole.due if due.what.startswith("Top dressing"))
    assert (due.low, due.applied, due.basis) == (
        pytest.approx(2 * (8 * 1.06 - 6.25)), pytest.approx(12.5), "as delivered"
    )  # fmt: skip
    page = round_up_page.view(whole, version=VERSION)
    (line,) = (line for line in page.due if line.what.startswith("Top dressing"))
    assert plain(line.quantity) == "4.5–21.4 t as delivered (12.5 t already applied)"
    assert any("top dressing 4.5 t as delivered" in plain(said) for said in page.matters)


def test_a_target_of_one_season_is_not_the_next_ones(county: Load, dressed: Workspace) -> None:
    """5 to 10 kg/m² hold always; 9 to 10 were agreed for 2026 alone, 6 to 7 for 2027 alone."""
    assert not county("more.csv", TARGET.replace("ALD,,,5,10", "ALD,2026,,9,10")).failed
    assert dressing(season_of(dressed).due).low == pytest.approx(1.75)
    assert not county("last.csv", TARGET.replace("ALD,,,5,10", "ALD,2027,,6,7")).failed
    assert dressing(season_of(dressed).due).low == pytest.approx(6 * 1.6 - 6.25)


def test_a_target_in_another_unit_asks_for_nothing(county: Load, workspace: Workspace) -> None:
    """3 mm are not 3 kg/m²."""
    for name, text in (("targets.csv", TARGET.replace("kg/m²", "mm")), ("jobs.csv", JOBS)):
        assert not county(name, text).failed
    assert not [one for one in season_of(workspace).due if one.what.startswith("Top dressing")]


@pytest.fixture(scope="module")
def demo(
    demo_county: Workspace, demo_seasons: tuple[GreenSeason, ...], demo_surveys: tuple[ConditionSurvey, ...]
) -> tuple[Records, tuple[GreenSeason, ...], tuple[ConditionSurvey, ...]]:
    return records_of(demo_county), demo_seasons, demo_surveys


Demo = tuple[Records, tuple[GreenSeason, ...], tuple[ConditionSurvey, ...]]


def amounts(found: Sequence[Due]) -> dict[tuple[str, str], tuple[float | None, float | None, str]]:
    """Amounts by what is due and the season it is due in."""
    told = {}
    for one in found:
        if one.unit:
            season = one.by.removesuffix(" (passed)")[-4:]
            told[one.what.partition(",")[0], season] = (one.low, one.high, one.quantity)
    return told


def test_the_demo_county_takes_off_what_is_logged(demo: Demo, demo_county: Workspace) -> None:
    """By the figures of season 2027 itself: target less applied, over the green's area. Not 73 t are due but 20.

    Without the county's programmes, which take up a part of it (tests/plan/test_due_planned.py).
    """
    records, seasons, _ = demo
    bare = replace(records, planned=records.planned.clear())
    seasons = tuple(
        replace(one, due=due_next(green_records(bare, one.green, demo_county.season(one.season), demo_county)))
        for one in seasons
    )
    following = demo_county.season("2027")
    moisture = dict(records.materials.select("material", "moisture_pct").iter_rows())
    wanted = {DESCRIBED["dressing_kg_m2"], DESCRIBED["nitrogen_kg_ha"]}
    asked = [family for family in FAMILIES if wanted & set(family.described)]
    checked = 0
    for season in seasons:
        there = green_records(records, season.green, following, demo_county)
        figures = {one.name: one for family in asked for one in family.made(Asked.about([there]))}
        held = amounts(season.due)
        if not there.area_m2:  # the one green that nobody has measured: no amount is asked of it
            assert (season.green, held) == ("WIC-1", {})
            continue
        for name, what, part in (("dressing_kg_m2", "Top dressing", 1000), ("nitrogen_kg_ha", "Nitrogen", 10_000)):
            goal = target_for(there, DESCRIBED[name])
            assert goal is not None and goal.low is not None
            on = figures[name].value if name in figures else 0.0
            assert on is not None
            open_now = (goal.low - on) * there.area_m2 / part  # type: ignore[operator]
            if name == "dressing_kg_m2" and open_now > 0:  # ordered with its water, by the register on the dry mass
                named = dressing(season.due).what.partition(", ")[2]
                open_now *= 1 + moisture[named] / 100
            if open_now <= 0:
                assert (what, "2027") not in held, season.green
            else:
                assert held[what, "2027"][0] == pytest.approx(open_now), season.green
                assert ("already applied" in held[what, "2027"][2]) == (on > 0), season.green
                checked += 1
    assert checked >= 30
    (main,) = (season for season in seasons if season.green == "ALD-1")
    assert dressing(main.due).quantity == (
        "1.4 to 6.0 t as delivered (1.3 to 5.7 t dry) on 1,444 m² (6.25 t already applied, 5.9 t dry)"
    )  # not 7.2 to 11.6
    whole = round_up(seasons)
    page = round_up_page.view(whole, version=VERSION)
    assert any("top dressing 21 t as delivered" in plain(one) for one in page.matters), page.matters
    delivered = 0.0
    for season in (season for season in seasons if any(due.applied for due in season.due if due.unit == "t")):
        there = green_records(records, season.green, following, demo_county)
        delivered += float(there.in_season(dressings(there))["mass_kg"].sum()) / 1000
    assert sum(due.applied or 0.0 for due in whole.due if due.unit == "t") == pytest.approx(delivered)
    assert delivered > 0


def test_the_programmes_of_the_demo_and_its_targets_ask_for_no_tonne_twice(demo: Demo, demo_county: Workspace) -> None:
    """What a target asks for without a programme is what the programme plans and what is asked for beyond it."""
    records, seasons, _ = demo
    without = replace(records, planned=records.planned.clear())
    nitrogen_pct = dict(records.materials.select("material", "n_pct").iter_rows())
    part = {"top_dressing": lambda one: 1.0, "fertilising": lambda one: (nitrogen_pct[one.material] or 0.0) / 100}
    covered = 0
    for season in seasons:
        alone = due_next(green_records(without, season.green, demo_county.season("2026"), demo_county))
        for operation, share in part.items():
            asked = [one for one in alone if one.operation == operation and one.low is not None]
            beyond = [one for one in season.due if one.operation == operation and not one.state]
            lines = [one for one in season.due if one.operation == operation and one.state]
            if not asked or not lines or any(one.low is None for one in (*beyond, *lines)):
                continue
            planned = sum((one.low or 0.0) * share(one) for one in lines)
            left = max((asked[0].low or 0.0) - planned, 0.0)
            assert sum(one.low or 0.0 for one in beyond) == pytest.approx(left, abs=0.05), (season.green, operation)
            covered += 1
    assert covered >= 10


def test_no_green_of_the_demo_is_overdue_that_was_fed_since(demo: Demo) -> None:
    """All eighteen that have a log had a feed in October; the round-up called every one of them overdue."""
    _, seasons, _ = demo
    whole = round_up(seasons)
    page = round_up_page.view(whole, version=VERSION)
    assert not [line.green for line in whole.greens if line.overdue]
    assert not [row for row in page.due if row.passed]
    assert not [one for one in page.matters if "passed" in one]


def test_every_document_of_the_demo_names_one_amount(demo: Demo) -> None:
    """For the same green and season: condition report, summary, round-up and the programme of the survey."""
    _, seasons, surveys = demo
    known = {season.green: amounts(season.due) for season in seasons}
    clubs: dict[str, list[GreenSeason]] = {}
    for season in seasons:
        clubs.setdefault(season.club, []).append(season)
    for members in clubs.values():
        for green in club_season(members).greens:
            assert amounts(green.due) == known[green.green]
    for line in round_up(seasons).greens:
        assert amounts(line.due) == known[line.green]
    same = 0
    for survey in surveys:
        for key, found in amounts(survey.season.due).items():
            if key in known[survey.season.green]:
                assert found == known[survey.season.green][key]
                same += 1
        last = max((one.day for one in survey.season.due if one.day and one.unit), default=None)
        begins = survey.programme.months[0]
        assert last is None or last >= date(begins.year, begins.month, 1), survey.season.green
    assert same >= 2, "no survey of the demo names a season that a report names, so nothing was compared"


def test_amounts_do_not_hang_on_the_day_of_the_document(demo: Demo, demo_county: Workspace) -> None:
    """The function is one of records, season and day: the day says only by when."""
    records, seasons, _ = demo
    green = seasons[0].green
    following = demo_county.season("2027")
    early = green_records(records, green, demo_county.season("2026"), demo_county)
    late = green_records(records, green, following, demo_county)
    days = (date(2026, 9, 14), date(2026, 10, 20))
    told = [list(rules.due(one, following, day)) for one, day in zip((early, late), days, strict=True)]
    bare = [[replace(one, by="", day=None) for one in found if one.unit] for found in told]
    assert bare[0] == bare[1]
    assert (told[0][0].by, told[1][0].by) == ("season 2027", "by 30 September 2027")


def test_a_report_of_a_season_long_past_asks_for_what_can_still_be_done(dressed: Workspace) -> None:
    """The report of 2025 asked for the rest of 2026, a season that was over by the last day on record."""
    due = dressing(season_of(dressed, "2025").due)
    assert (due.quantity, due.by, due.overdue) == (REST, "season 2027", False)
    assert due.why.endswith(" Logged to 5 October 2026.")
    nitrogen = next(one for one in season_of(dressed, "2025").due if one.what == "Nitrogen")
    assert (nitrogen.quantity, nitrogen.by) == ("12.8 to 32.0 kg N", "season 2027")
    assert nitrogen.why.endswith(" As the records stood on 5 October 2026.")
    assert "As the records stood" not in next(one for one in season_of(dressed).due if one.what == "Nitrogen").why
