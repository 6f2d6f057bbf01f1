"""Works of which it is not known whether they were done: due lists say what an order does with them, and it asks."""

from __future__ import annotations

from datetime import date

import pytest

from pipeline.plan.due_list import ASKED_FOR, LEFT_OUT
from pipeline.plan.ordering.placing import Request, place_order
from pipeline.publish.due import due_list
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.plan.yard import asked
from tests.thorough import beyond

MATERIALS = "material,sort,form,analysis,analysis_basis,pack\n" + "".join(
    f"{name} feed,fertiliser,solid,10-0-0,oxide,25 kg\n" for name in ("spring", "summer")
)
PRICES = "material,supplier,pack,price,carriage\nspring feed,a,25 kg,30,0\nsummer feed,a,25 kg,30,0\n"
PLAN = (
    "programme,green,operation,material,window_from,window_to,mass_kg\n"
    "2026,ALD-1,fertilising,spring feed,2026-04-01,2026-04-30,50\n"
)
DAY = date(2026, 6, 2)
HEAD = "date,green,operation,material,mass_kg\n"
SILENT = "2025-05-04,ALD-1,mowing,,\n"
OTHER = "2026-04-10,ALD-1,fertilising,summer feed,50\n2026-06-02,ALD-1,mowing,,\n"
NO_AMOUNT = "2026-04-10,ALD-1,fertilising,spring feed,\n2026-06-02,ALD-1,mowing,,\n"
SPEEDS = "date,green,rink,direction,device,value,unit\n2026-06-02,ALD-1,1,up,timed bowl,12,s\n"
MISSED = "2026-06-02,ALD-1,mowing,,\n"


@pytest.mark.parametrize(
    ("log", "due_says", "then", "question"),
    [
        (SILENT, "no job of the season is logged", ASKED_FOR,
         "spring feed: no job of season 2026 is logged on ALD-1, so that it is not known whether 1 work due by now was "
         "done: all of it is asked for here. Load the log, or say 0 times in the programme."),
        (OTHER, "summer feed of 10 April 2026 may have been put on in its place", ASKED_FOR,
         "spring feed: on ALD-1 summer feed was put on in its time, and it is still asked for here. Where the one took "
         "the other's place, say 0 times in the programme."),
        (NO_AMOUNT, "fertilising of 10 April 2026 may have done all of it: no amount is logged", LEFT_OUT, ""),
        (MISSED, "", "", ""),
    ],
    ids=["nothing logged", "another material", "no amount", "overdue"],
)  # fmt: skip
@beyond(1)
def test_due_and_order_say_the_same_of_a_work_that_may_be_done(
    county: Load, workspace: Workspace, log: str, due_says: str, then: str, question: str
) -> None:
    for name, text in (("materials-2", MATERIALS), ("prices", PRICES), ("plan", PLAN), ("jobs", HEAD + log)):
        assert not county(f"{name}.csv", text).failed
    silent = log == SILENT
    if silent:
        assert not county("speeds.csv", SPEEDS).failed
    listed = due_list(workspace, ["ALD-1"], until=DAY, today=DAY)
    (item,) = (one for one in listed.items if one.due.material)
    assert item.due.state == ("not known" if due_says else "overdue")
    assert (f"not known: {due_says}" in item.due.quantity) is bool(due_says)
    assert [one for one in item.against if one in (ASKED_FOR, LEFT_OUT)] == ([then] if then else [])
    made = place_order(workspace, Request(season="2026", as_of=DAY))
    ordered = {one.material: one.needed for one in made.order.shares}
    assert ordered == ({} if then == LEFT_OUT else {"spring feed": 50})
    assert [one.reason for one in made.order.stopped if one.material == "spring feed"] == (
        ["the job of 10 April 2026 gives no amount, so that it is not known how much is left of the line"]
        if then == LEFT_OUT
        else []
    )
    questions = asked(made)
    assert question in questions
    assert ("no job of season" in questions) is silent
