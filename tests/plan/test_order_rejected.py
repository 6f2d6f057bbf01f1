"""An order tells what it does not know of because rows were rejected: else it buys what lies on the shelf."""

from __future__ import annotations

from datetime import date

import pytest

from pipeline.plan.ordering.placing import Request, place_order
from pipeline.plan.purchase.parts import Question
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.plan.yard import COUNTED, JOBS, MERCHANT, PLAN, PRICES, STOCK, records
from tests.thorough import beyond

WORK = "2027,ALD-1,,fertilising,spring feed,2027-04-01,2027-04-30,,,,3,,,\n"
ASKED = Request(season="2027", as_of=date(2027, 2, 2))
WRONG = {
    "stock": (STOCK, "spring feed,yard,2027-02-02,,two,,,\n", "spring feed,yard,2027-02-02,,2,,,\n",
              "what it says is there, or on its way, is bought all the same"),
    "prices": (PRICES, "summer feed,merchant,25 kg,dear,,,\n", "summer feed,merchant,25 kg,30,,,\n",
               "its price is not compared"),
    "plan": (PLAN, "2027,ALD-1,,fertilising,summer feed,2027-05-01,2027-05-30,,,,many,,,\n",
             "2027,ALD-1,,fertilising,summer feed,2027-05-01,2027-05-30,,,,3,,,\n", "nothing is ordered for it"),
    "jobs": (JOBS, "2026-10-12,,ALD-1,fertilising,spring feed,some bags,\n",
             "2026-10-12,,ALD-1,fertilising,spring feed,2 x 25 kg,\n", "what it says was put on may be ordered again"),
}  # fmt: skip
TITLES = {"stock": "stock", "prices": "prices", "plan": "planned works", "jobs": "jobs"}


def rejected(workspace: Workspace) -> list[Question]:
    made = place_order(workspace, ASKED)
    return [one for one in made.order.questions if "rejected, not yet corrected" in one.text]


@pytest.mark.parametrize("name", WRONG)
@beyond(1)
def test_rejected_rows_are_told_until_they_are_corrected(name: str, load: Load, workspace: Workspace) -> None:
    records(load, plan=WORK, prices=MERCHANT)
    assert not rejected(workspace)
    head, wrong, right, missed = WRONG[name]
    assert load(f"more {name}.csv", head + wrong).counts.rejected == 1
    (told,) = rejected(workspace)
    assert told.text == f"1 row of {TITLES[name]} rejected, not yet corrected (more {name}.csv): {missed}."
    assert [(one.file, one.line) for one in told.places] == [(f"more {name}.csv", 2)]
    assert load(f"more {name}.csv", head + right).counts.rejected == 0
    assert not rejected(workspace)


def test_jobs_that_put_nothing_on_or_are_of_another_season_change_no_order(load: Load, workspace: Workspace) -> None:
    """A mowing without an hour would make a person look for what has nothing to do with the order."""
    records(load, plan=WORK, prices=MERCHANT, stock=COUNTED)
    rows = "2026-10-12,,ALD-1,mowing,,,wide\n2025-04-12,,ALD-1,fertilising,spring feed,some bags,\n"
    assert load("log.csv", JOBS + rows).counts.rejected == 2
    assert not rejected(workspace)
    rows += "2026-10-12,,BRK-1,fertilising,spring feed,some bags,\n"
    assert load("log.csv", JOBS + rows).counts.rejected == 3
    (told,) = rejected(workspace)
    assert [one.line for one in told.places] == [4]
    made = place_order(workspace, Request(season="2027", as_of=date(2027, 2, 2), clubs=["ALD"]))
    assert not [one for one in made.order.questions if "rejected" in one.text], "of another club"
