"""Names that a spreadsheet would run, the whole road: bought, loaded back as on its way, and not bought again."""

from __future__ import annotations

import re
from datetime import date

from pipeline.common.spreadsheet_cells import GUARDED
from pipeline.load.files import load_paths
from pipeline.plan.ordering.placing import Request
from pipeline.publish.order import write_order
from pipeline.publish.programme import Wanted, write_programme
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load
from tests.plan.yard import MATERIALS, records, with_settings

GRIT, FEED = "+grit; coarse", "=feed"
ASKED = Request(to="@yard", as_of=date(2027, 2, 2))
PLAN = (
    f"2027,ALD-1,,top dressing,{GRIT},2027-04-01,2027-04-30,,2000,,,,,-first\n"
    f"2027,ALD-1,,fertilising,{FEED},2027-04-01,2027-04-30,,,,3,,,@x\n"
)
PRICES = f"{GRIT},-quarry,1 t,30,,45,2026-01-01\n{FEED},@merchant,25 kg,30,,12.50,2026-01-01\n"


def yard(load: Load, workspace: Workspace) -> Workspace:
    own = f"{GRIT},top dressing,solid,,,,,,,\n{FEED},fertiliser,solid,12-0-9,oxide,,,25 kg,,\n"
    records(load, materials=MATERIALS + own, plan=PLAN, prices=PRICES)
    return with_settings(workspace, depots='["@yard"]')


def test_what_was_ordered_is_not_ordered_again(load: Load, workspace: Workspace) -> None:
    """Read as '+grit, what is on its way is another material: all of it would be bought twice."""
    opened = yard(load, workspace)
    done = write_order(opened, ASKED)
    assert {line.material for one in done.order.order.suppliers for drop in one.deliveries for line in drop.lines} == {
        GRIT, FEED,
    }  # fmt: skip
    (ordered,) = [path for path in done.files if path.name == "ordered.csv"]
    text = ordered.read_text("utf-8-sig")
    assert GUARDED in text
    assert not re.search(r'(^|[,;\t])"?[=+@-]', text, re.MULTILINE), "nothing in it runs"
    (result,) = load_paths(opened, [ordered], today=TODAY)
    assert (result.counts.loaded, result.counts.rejected) == (2, 0)
    with Store(opened.store, read_only=True) as store:
        held = store.rows("SELECT material, depot, reference FROM stock ORDER BY material")
    assert [(one, depot) for one, depot, _ in held] == [(GRIT, "@yard"), (FEED, "@yard")]
    assert held[0][2].startswith("-quarry, order of")
    assert not write_order(opened, ASKED).order.order.suppliers


def test_a_programme_loads_back_as_it_was_planned(load: Load, workspace: Workspace) -> None:
    """The CSV and the workbook hold the same lines: loaded one after the other, the second changes nothing."""
    own = f"{GRIT},top dressing,solid,,,,,,,\n"
    records(load, materials=MATERIALS + own, jobs=f"2026-04-12,,ALD-1,top dressing,{GRIT},6 t,\n")
    made = write_programme(workspace, "ALD-1", "2027", Wanted(last=True, targets=False, since=date(2026, 10, 1)))
    book, text = made.files
    (first,) = load_paths(workspace, [text], today=TODAY)
    assert (first.counts.loaded, first.counts.rejected) == (1, 0), first.as_json()
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT material FROM planned_work") == [(GRIT,)]
    (second,) = load_paths(workspace, [book], today=TODAY)
    assert (second.counts.unchanged, second.counts.rejected) == (1, 0), second.as_json()
