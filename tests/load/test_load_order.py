"""Rows lie in the store in the order of their kind, also those that were paired with what it held already."""

from __future__ import annotations

from datetime import date, timedelta

from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS
from tests.conftest import Load

START, MANY = date(2014, 1, 1), 2000


def log(first: int) -> str:
    """Two jobs a day, the days in no order."""
    days = [START + timedelta(days=first + (one * 7919) % MANY) for one in range(MANY)]
    rows = (f"{day},ALD-1,mowing,1.5\n{day},ALD-1,brushing,1\n" for day in days)
    return "date,green,operation,hours\n" + "".join(rows)


def test_rows_of_a_later_load_lie_sorted_as_those_of_the_first(county: Load, workspace: Workspace) -> None:
    """Pairing takes rows through hashed joins, which keep no order: what reads rows as they lie would read chance."""
    for number in (0, 1):
        done = county(f"log_{number}.csv", log(number * MANY))
        assert (done.counts.loaded, done.counts.rejected) == (2 * MANY, 0)
    order = ", ".join(f'"{name}"' for name in (*KINDS["job"].order, "line"))
    with Store(workspace.store, read_only=True) as store:
        for (load,) in store.rows("SELECT DISTINCT load_id FROM history.job ORDER BY ALL"):
            lying = store.rows(f"SELECT line FROM history.job WHERE load_id = {load} ORDER BY rowid")
            assert lying == store.rows(f"SELECT line FROM history.job WHERE load_id = {load} ORDER BY {order}")
