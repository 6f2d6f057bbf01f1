"""Costs from a store: budgets, what is missing said plainly, and the same sums as every document of the season."""

from __future__ import annotations

import csv
import io
import json
import sys
from decimal import Decimal
from pathlib import Path

import pytest

from pipeline.cli import app as cli
from pipeline.cli.printing.costs import costs as show
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.indicators.base.green_season import GreenSeason
from pipeline.plan.account import Account
from pipeline.publish.costs import Costs, costs
from pipeline.summaries.club import club_season
from pipeline.workspace.settings import Workspace
from reports.page.effort import effort_note
from reports.round_up import render as round_up_page
from tests.conftest import Load
from tests.reports.club_sample import round_up
from tests.reports.conftest import VERSION

JOBS = (
    "date,green,operation,material,quantity,hours,cost\n"
    "2024-10-20,ALD-1,slitting,,,2,60\n"
    "2025-10-12,ALD-1,top dressing,70/30 sand and soil,6 t,9,\n"
    "2026-05-04,ALD-1,mowing,,,1.5,50.25\n"
    "2026-05-11,ALD-1,mowing,,,,\n"
    "2026-09-30,ALD-1,inspection,,,0.5,10\n"
)
RATES = "rate_of,operation,amount,holds_from\nlabour,,28.50,2025-01-01\nmachine,,6.15,2025-01-01\n"
PRICES = "material,supplier,pack,price\n70/30 sand and soil,quarry,10 t,420.00\n"


def ald(found: Costs) -> Account:
    (one,) = found.greens
    return one


def test_a_green_by_hand(county: Load, workspace: Workspace) -> None:
    """9 h × 34.65 and 6,000 kg at 0.042: 311.85 + 252 = 563.85 by rate, with 60.25 logged; a mowing has no hours."""
    for name, text in (("jobs.csv", JOBS), ("rates.csv", RATES), ("prices.csv", PRICES)):
        assert not county(name, text).failed
    one = ald(costs(workspace, "ALD"))
    assert (one.this.season, one.this.so_far) == ("2026", False)
    assert (one.this.cost_logged.value, one.this.cost_logged.said) == (Decimal("60.2500"), "logged for 2 of 4")
    assert (one.this.cost.value, one.this.cost.said) == (Decimal("624.10"), "logged for 2 of 4, 1 more by rate")
    assert (one.last.cost.value, one.last.cost.said) == (60, "")
    assert one.this.per_m2.value == Decimal("624.10") / 1600
    assert one.against["2026 less 2025"].why == "not compared: logged for 2 of 4, 1 more by rate"


@pytest.mark.parametrize(
    ("target", "value", "why"),
    [
        ("cost,club,ALD,,,500,GBP,the committee", 500, ""),
        ("cost_m2,green,ALD-1,,,0.5,GBP/m²,the committee", 800, ""),
        ("cost,green,ALD-1,,,500,EUR,the committee", None, "the target of cost of work and materials as logged is in "
         "EUR, and money is kept in GBP"),
        ("cost,green,ALD-1,,100,,GBP,the committee", None, "the target of cost of work and materials as logged "
         "(the committee) has no upper end"),
        ("cost,club,OTH,,,500,GBP,the committee", None, ""),
    ],
)  # fmt: skip
def test_a_budget_is_a_target_of_cost(
    county: Load, workspace: Workspace, target: str, value: int | None, why: str
) -> None:
    county("jobs.csv", JOBS)
    county("targets.csv", f"indicator,scope,scope_name,season,low,high,unit,source\n{target}\n")
    budget = ald(costs(workspace, "ALD-1")).budget
    assert (budget.value, budget.why) == (value, why)


def test_a_target_in_the_workspaces_own_currency_is_no_other_unit(county: Load) -> None:
    """The unit of a cost is the workspace's currency, which a register does not know: "GBP" was warned of."""
    head = "indicator,scope,scope_name,low,high,unit,source\n"
    good = county("good.csv", f"{head}cost,club,ALD,,500,GBP,x\ncost_m2,club,ALD,,2,GBP/m²,x\n")
    assert "target.unit" not in set(good.faults["code"])
    bad = county("bad.csv", f"{head}cost,green,ALD-1,,500,currency,x\ncost_m2,green,ALD-1,,2,GBP,x\n")
    assert [row["code"] for row in bad.faults.iter_rows(named=True)].count("target.unit") == 2


def test_every_document_says_the_same_sums(demo_county: Workspace, demo_seasons: tuple[GreenSeason, ...]) -> None:
    """Costs as logged, of every green of the demo: what summary, round-up and report add up, to the penny."""
    season = demo_seasons[-1].season
    found = {one.about: one.this for one in costs(demo_county, "", season).greens}
    shown = [one for one in demo_seasons if one.green in found]
    assert len(shown) == len(found) > 10
    for one in shown:
        summary = club_season([one])
        own, mine = summary.efforts[0], found[one.green]
        assert (own.jobs, own.with_cost, own.with_hours) == (
            mine.cost_logged.of, mine.cost_logged.logged, mine.hours.logged,
        ), one.green  # fmt: skip
        assert own.cost == mine.cost_logged.value
        assert own.hours is None if mine.hours.value is None else own.hours == pytest.approx(float(mine.hours.value))
        figures = {i.name: i for i in one.indicators}
        assert (figures["cost"].value if "cost" in figures else None) == (
            None if mine.cost_logged.value is None else float(mine.cost_logged.value)
        )
        if "cost_m2" in figures:
            assert float(mine.per_m2.value or 0) == pytest.approx(figures["cost_m2"].value)
        said = [mine.hours.of_how_many, mine.cost_logged.of_how_many] if own.jobs else []
        note = effort_note(own)  # of a sum that no job gives it says that, and no number
        assert [one for one in said if one not in note and not one.startswith("logged for 0 of")] == []
        assert ("No cost is logged." in note) == (own.jobs > 0 and own.cost is None)
    total = round_up(shown).total
    whole = costs(demo_county, "", season).whole.this
    assert (total.jobs, total.cost, total.with_cost) == (
        whole.cost_logged.of, whole.cost_logged.value, whole.cost_logged.logged,
    )  # fmt: skip
    page = round_up_page.view(round_up(shown), version=VERSION)
    assert f"cost {whole.cost_logged.of_how_many} jobs" in page.effort_note


def test_nothing_but_a_register_says_so(county: Load, workspace: Workspace) -> None:
    with pytest.raises(CannotDo, match="holds no dated record of a green yet"):
        costs(workspace)
    one = ald(costs(workspace, "ALD-1", "2026"))
    assert (one.this.cost.said, one.next_plan.items, one.budget.value) == ("no job logged", (), None)
    assert one.against["2026 less 2025"].why == "not compared: no job logged and no job logged"
    with pytest.raises(WrongUsage):
        costs(workspace, "NOWHERE", "2026")


def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    monkeypatch.setattr(sys, "argv", ["swardtally", *words])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    said = capsys.readouterr()
    return int(ended.value.code or 0), said.out, said.err


def test_the_command(
    county: Load, workspace: Workspace, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
) -> None:  # fmt: skip
    county("jobs.csv", JOBS)
    county("targets.csv", "indicator,scope,scope_name,low,high,unit,source\ncost,club,ALD,,500,GBP,the committee\n")
    where = ["--workspace", str(workspace.folder)]
    code, out, err = run(monkeypatch, capsys, "costs", "ALD", *where, "--csv", str(tmp_path / "sums.csv"))
    assert code == 0
    lines = [" ".join(line.split()) for line in out.splitlines()]
    assert lines[0] == "ALD-1, Main green: hours and cost in GBP"
    assert lines[2] == "2026 4 11.0 logged for 3 of 4 60.25 logged for 2 of 4 at least 0.04"
    assert "2027: nothing is planned." in lines
    assert "Budget of 2026: 500.00 (the committee)." in lines
    assert "2026 less its budget: not compared: logged for 2 of 4." in lines
    assert err == "No rate of labour is loaded: work without a cost of its own is not priced.\n"
    rows = list(csv.DictReader(io.StringIO((tmp_path / "sums.csv").read_text("utf-8-sig"))))
    (logged,) = (row for row in rows if (row["season"], row["what"]) == ("2026", "logged"))
    assert (logged["works"], logged["cost"], logged["cost_logged_for"]) == ("4", "60.25", "2")
    code, out, _ = run(monkeypatch, capsys, "costs", *where, "--json")
    told = json.loads(out)
    assert told["greens"][0]["this"]["cost"] == {
        "value": 60.25, "logged": 2, "by_rate": 0, "of": 4, "complete": False, "said": "logged for 2 of 4",
    }  # fmt: skip
    assert told["whole"]["compared"]["2026 less its budget"]["difference"] is None


def test_a_green_given_up_within_the_season_is_in_its_sums(county: Load, workspace: Workspace) -> None:
    """What it cost until then was spent; of the season after it is no part, and asked for by itself it says why."""
    green = "green,club,name,area_m2,closed_on\nALD-2,ALD,Old green,800,2026-03-31\n"
    jobs = "date,green,operation,hours,cost\n2025-11-03,ALD-2,slitting,2,70\n2026-10-05,ALD-1,slitting,2,60\n"
    for name, text in (("old.csv", green), ("jobs.csv", JOBS), ("more.csv", jobs)):
        assert not county(name, text).failed
    assert [one.about for one in costs(workspace, "ALD", "2026").greens] == ["ALD-1", "ALD-2"]
    whole = costs(workspace, "", "2026").whole
    assert (whole.this.cost_logged.value, whole.this.cost_logged.of) == (Decimal("130.2500"), 5)
    assert ald(costs(workspace, "ALD-2", "2026")).this.cost_logged.value == 70
    assert [one.about for one in costs(workspace, "", "2027").greens] == ["ALD-1"]
    with pytest.raises(CannotDo, match="ALD-2 is given up from 31 March 2026 on"):
        costs(workspace, "ALD-2", "2027")


def test_a_table_of_a_season_that_still_runs_says_so(
    county: Load, workspace: Workspace, capsys: pytest.CaptureFixture[str]
) -> None:
    """Beside a year's budget half a year would else read as money saved."""
    jobs = "date,green,operation,hours,cost\n2026-10-05,ALD-1,slitting,2,60\n"
    green = "green,club,name,area_m2\nALD-2,ALD,Low green,800\n"
    for name, text in (("low.csv", green), ("jobs.csv", JOBS), ("more.csv", jobs)):
        assert not county(name, text).failed
    for season, head in (("2027", "Season 2027 so far, cost in GBP"), ("2026", "Season 2026, cost in GBP")):
        show(costs(workspace, "ALD", season), quiet=True)
        assert capsys.readouterr().out.splitlines()[0] == head
