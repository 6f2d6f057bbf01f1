"""What targets ask for, as an order: only where it is asked for, and never beside what is planned; what is refused."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from pipeline.common.refusal import WrongUsage
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.reading import read_records
from pipeline.plan.due import due
from pipeline.plan.ordering.placing import Request, place_order
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.plan.yard import MERCHANT, QUARRY, asked, lines, records, stopped

SPRING = "2027-04-01,2027-04-30,"
DRESSED = "2026-10-05,,ALD-1,top dressing,moist dressing,2.2 t,\n2026-10-15,,BRK-1,top dressing,loam dressing,2 t,\n"
TARGETS = (
    "indicator,scope,scope_name,season,band,low,high,unit,source\n"
    "dressing_kg_m2,club,ALD,,,5,10,kg/m²,the committee\ndressing_kg_m2,club,BRK,,,5,10,kg/m²,the committee\n"
    "nitrogen_kg_ha,club,ALD,,,80,200,kg/ha,the committee\nnitrogen_kg_ha,club,BRK,,,80,200,kg/ha,the committee\n"
)
MOIST = "material,sort,form,moisture_pct,moisture_basis\nmoist dressing,top dressing,solid,10,dry\n"


def test_targets_are_ordered_only_when_asked_for_and_never_beside_a_plan(load: Load, workspace: Workspace) -> None:
    """Amounts are the due list's, as delivered; without a moisture and without a feed they stop."""
    plan = (
        f"2027,BRK-2,,top dressing,loam dressing,{SPRING},1000,,,,,\n"
        f"2027,ALD-1,,fertilising,sulphate of iron,{SPRING},10,,,,,\n"
    )
    prices = "moist dressing,quarry,1 kg,0.04,,0,\n" + QUARRY
    records(load, targets=TARGETS, moist=MOIST, plan=plan, prices=prices, jobs=DRESSED)
    bare = place_order(workspace, Request())
    assert [line[2] for line in lines(bare)] == ["loam dressing"]
    assert "No feed with nitrogen is planned in season 2027 on 3 greens (ALD-1, BRK-1 and BRK-2)" in asked(bare)
    assert "No dressing is planned in season 2027 on 2 greens (ALD-1 and BRK-1)" in asked(bare)
    assert "what their targets may ask for is not in this order" in asked(bare)
    alone = asked(place_order(workspace, Request(clubs=("ALD",))))
    assert "on 1 green (ALD-1): what its targets may ask for is not in this order" in alone

    made = place_order(workspace, Request(targets=True))
    with Store(workspace.store, read_only=True) as store:
        own = green_records(read_records(store, ["ALD-1"]), "ALD-1", workspace.season("2027"), workspace)
    (line,) = [one for one in due(own, own.season, made.day) if one.operation == "top_dressing"]
    assert line.low is not None
    bought = {share.green: share.needed for share in made.order.shares if share.material == "moist dressing"}
    assert bought == {"ALD-1": pytest.approx(Decimal(line.low * 1000), abs=Decimal("0.001"))}
    assert round(line.low * 1000, 1) == 5912.5  # 5 kg/m² × 1,475 m² dry, a tenth water on top, less 2,200 kg
    assert [share.needed for share in made.order.shares if share.green == "BRK-2"] == [1000]
    beyond = "What targets ask for beyond a programme that has dressing or a feed is not ordered: the due list has it."
    assert beyond in made.decided  # BRK-2 has dressing in its programme
    reasons = {one[:3]: one[3] for one in stopped(made)}
    dry = reasons["loam dressing", "Birkwell Bowls Club", ("BRK-1",)]
    assert dry == "it is planned as dry mass, and its moisture is not known"
    bare_area, nitrogen = (one for one in stopped(made) if one[0] == "nitrogen")
    assert bare_area[2:] == (
        ("BRK-2",), "its target asks for it, and how much is not known: the area of the green is not known",
    )  # fmt: skip
    assert "kg of nitrogen in all on 2 greens, and which feed is not said" in nitrogen[3]
    assert nitrogen[2] == ("ALD-1", "BRK-1")


def test_a_feed_that_is_named_is_what_nitrogen_is_ordered_as(load: Load, workspace: Workspace) -> None:
    """80 kg/ha on 1,475 m² are 11.8 kg of nitrogen, 98.3 kg of 12 %."""
    records(load, targets=TARGETS, moist=MOIST, prices=MERCHANT, jobs=DRESSED)
    made = place_order(workspace, Request(clubs=["ALD"], targets=True, feed="spring feed"))
    (line,) = [line for line in lines(made) if line[2] == "spring feed"]
    assert line[3] == 4
    ((needed,),) = [[one.needed for one in made.order.shares if one.material == "spring feed"]]
    assert needed == pytest.approx(Decimal("98.333"), abs=Decimal("0.01"))
    with pytest.raises(WrongUsage, match="no solid feed with nitrogen"):
        place_order(workspace, Request(targets=True, feed="loam dressing"))


@pytest.mark.parametrize(
    ("asked_for", "said"),
    [
        (Request(season="2027", until=date(2027, 5, 1)), "two ways to say the same"),
        (Request(until=date(2026, 1, 1)), "lies before the day of the order"),
        (Request(clubs=["NONE"]), "NONE"),
        (Request(to="barn"), "“barn” is no depot"),
        (Request(targets=True, until=date(2027, 9, 1)), "A target is of a whole season"),
        (Request(targets=True, season="2026"), "Season 2026 is over"),
        (Request(targets=True, as_of=date(2026, 10, 6)), "jobs are logged up to"),
    ],
)
def test_what_cannot_be_meant_is_refused(load: Load, workspace: Workspace, asked_for: Request, said: str) -> None:
    records(load, moist=MOIST, jobs=DRESSED, targets=TARGETS)
    with pytest.raises(WrongUsage, match=said):
        place_order(workspace, asked_for)


def test_one_green_without_a_plan_has_its_targets(load: Load, workspace: Workspace) -> None:
    """It said "1 green (TOR-1): what their targets may ask for"."""
    plan = "".join(f"2027,{green},,top dressing,loam dressing,{SPRING},1000,,,,,\n" for green in ("BRK-1", "BRK-2"))
    records(load, targets=TARGETS, moist=MOIST, plan=plan, prices=QUARRY, jobs=DRESSED)
    said = asked(place_order(workspace, Request()))
    assert "on 1 green (ALD-1): what its targets may ask for is not in this order." in said
