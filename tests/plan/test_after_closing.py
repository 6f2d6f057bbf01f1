"""Works planned of a green for after it was given up: named everywhere, and neither due, priced nor ordered."""

from __future__ import annotations

from datetime import date

import pytest

from pipeline.cli.printing.costs import costs as print_costs
from pipeline.common.refusal import CannotDo
from pipeline.indicators.base.look import Look
from pipeline.plan.ordering.placing import Request, place_order
from pipeline.publish.costs import costs
from pipeline.publish.documents import season_of_green
from pipeline.publish.due import due_list
from pipeline.publish.priced import price_loaded
from pipeline.publish.programme import Wanted, write_programme
from pipeline.workspace.settings import Workspace
from reports.programme.render import view
from tests.conftest import Load
from tests.reports.conftest import VERSION
from tests.thorough import thorough

GREENS = "green,club,area_m2,closed_on\nALD-2,ALD,1500,2026-08-01\n"
MATERIALS = "material,sort,form,analysis,analysis_basis,pack\nfeed,fertiliser,solid,10-0-0,oxide,25 kg\n"
PLAN = "programme,green,operation,material,window_from,window_to,mass_kg,hours\n" + "".join(
    f"2026,ALD-2,{work},{first},{last},{kg},2\n"
    for work, first, last, kg in (
        ("fertilising,feed", "2026-07-01", "2026-07-20", 25),
        ("fertilising,feed", "2026-08-01", "2026-08-20", 50),
        ("slitting,", "2026-09-01", "2026-09-20", ""),
    )
)
FILES = {
    "greens-2": GREENS,
    "materials-2": MATERIALS,
    "rates": "rate_of,operation,amount\nlabour,,20\nmachine,,5\n",
    "prices": "material,supplier,pack,price,carriage\nfeed,a,25 kg,30,0\n",
    "plan": PLAN,
    "jobs": "date,green,operation\n2026-06-02,ALD-1,mowing\n2026-06-02,ALD-2,mowing\n",
}
SAID = (
    "ALD-2, 2 planned works: the green was given up on 1 August 2026, so that nothing of it is due, priced or ordered"
)


@pytest.fixture
def closing(county: Load, workspace: Workspace) -> Workspace:
    for name, text in FILES.items():
        assert not county(f"{name}.csv", text).failed
    return workspace


def test_it_is_not_due_and_named(closing: Workspace) -> None:
    listed = due_list(closing, ["ALD-2"], until=date(2026, 9, 30), today=date(2026, 6, 2))
    assert [(item.due.operation, item.due.low) for item in listed.items if item.due.state] == [("fertilising", 25.0)]
    assert f"{SAID}." in listed.missing
    assert not any("given up" in one for one in due_list(closing, ["ALD-1"], today=date(2026, 6, 2)).missing)


@thorough
def test_it_is_not_priced_and_named(closing: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    """25 kg at 1.20 and two hours at 25: 80. The other 50 kg would be 60 more, and 100 of hours."""
    made = price_loaded(closing, "ALD-2", "2026").programme
    assert (len(made.lines), made.quotation.before_vat) == (1, 80)
    assert [(one.operation, one.source, one.why) for one in made.not_planned] == [
        (work, "programme 2026", "the green was given up on 1 August 2026") for work in ("fertilising", "slitting")
    ]
    assert any("the green was given up on 1 August 2026" in one for one in view(made, version=VERSION).not_planned)
    found = costs(closing, "ALD-2", "2026")
    assert found.whole.plan.cost.value == 80
    print_costs(found, quiet=False)
    assert f"2026 planned, without {SAID}." in capsys.readouterr().out
    assert SAID in found.as_json()["whole"]["plan"]["after_closing"]


@thorough
def test_it_is_not_ordered_and_named(closing: Workspace) -> None:
    """The green is played on still on the day of the order; what is for August it will not need."""
    made = place_order(closing, Request(season="2026", as_of=date(2026, 6, 2))).order
    assert [(one.green, one.needed) for one in made.shares] == [("ALD-2", 25)]
    stopped = {(one.material, one.greens, one.reason) for one in made.stopped}
    assert ("feed", ("ALD-2",), "the green was given up on 1 August 2026") in stopped


def test_of_a_green_given_up_in_a_year_it_is_said_that_the_day_is_not_known(county: Load, workspace: Workspace) -> None:
    """Taken for 1 January, the year would tell a day that nobody wrote."""
    files = {**FILES, "greens-2": GREENS.replace("2026-08-01", "2026")}
    for name, text in files.items():
        assert not county(f"{name}.csv", text).failed
    listed = due_list(workspace, ["ALD-1", "ALD-2"], until=date(2026, 9, 30), today=date(2026, 6, 2))
    said = (
        "ALD-2, 3 planned works: the green was given up in 2026, on which day is not known: whether it is still there "
        "for this work is not known, so that nothing of it is due, priced or ordered."
    )
    assert said in listed.missing


def test_a_draft_ends_with_the_green_and_says_so(closing: Workspace) -> None:
    """Refused for the closing to come, a green would have no programme in its last months."""
    made = write_programme(closing, "ALD-2", "2026", Wanted(templates=["gma-season"], since=date(2026, 4, 1)))
    (one,) = made.programmes
    assert one.entries
    assert max(entry.work.last for entry in one.entries) < date(2026, 8, 1)
    why = "the green is given up on 1 August 2026"
    told = [left for left in one.left_out if why in left.why]
    assert told[0].operation == "what comes later" and "its programme ends before that day" in told[0].why
    with pytest.raises(CannotDo, match="ALD-2 is given up from 1 August 2026 on"):
        write_programme(closing, "ALD-2", "2027", Wanted(templates=["gma-season"]))


TARGETS = (
    "indicator,scope,scope_name,season,band,low,high,unit,source\n"
    "dressing_kg_m2,club,ALD,,,5,10,kg/m²,the committee\nnitrogen_kg_ha,club,ALD,,,80,200,kg/ha,the committee\n"
)


def test_a_target_of_its_last_season_is_that_of_the_whole_season_wherever_it_stands(
    closing: Workspace, county: Load
) -> None:
    """Half a season's green asked for a whole season's dressing, and of three documents one said so."""
    assert not county("targets.csv", TARGETS).failed
    said = "The green is given up on 1 August 2026: amounts that targets ask of the season are not made smaller."
    listed = due_list(closing, ["ALD-1", "ALD-2"], until=date(2026, 9, 30), today=date(2026, 6, 2))
    asked = {(item.green, item.due.operation): item.due.why for item in listed.items if not item.due.state}
    for operation in ("top_dressing", "fertilising"):
        assert said in asked["ALD-2", operation] and said not in asked["ALD-1", operation]
    season = season_of_green(closing, "ALD-2", "2026", Look(as_of=date(2026, 6, 2)))
    of_targets = [one for one in season.due if one.operation in ("top_dressing", "fertilising") and not one.state]
    assert [said in one.why for one in of_targets] == [True, True]
    made = write_programme(closing, "ALD-2", "2026", Wanted(only_targets=True, since=date(2026, 4, 1)))
    lines = [one.work for one in made.programmes[0].entries if one.work.operation in ("top_dressing", "fertilising")]
    assert lines and all(said.rstrip(".") in one.basis for one in lines)
