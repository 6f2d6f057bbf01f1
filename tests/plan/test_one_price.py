"""One line of a programme, one price: the same penny in due, costs and programme, whatever is listed beside it."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from pipeline.publish.costs import costs
from pipeline.publish.due import due_list
from pipeline.publish.priced import price_loaded
from pipeline.workspace.settings import Workspace
from reports.programme.data import LINES, line_rows
from tests.conftest import Load

HEAD = "programme,green,operation,material,reference,window_from,window_to,times,mass_kg,hours\n"
PACKLESS = "material,sort,form\nsand,top dressing,solid\n"
PRICES = "material,supplier,pack,price,from_packs\n" + "".join(
    f"sand,{supplier},{pack},{price},{several}\n"
    for supplier, pack, price, several in (
        ("merchant", "25 kg", "6.00", ""),
        ("merchant", "25 kg", "0.10", "40"),
        ("quarry", "800 kg", "88.00", ""),
        ("haulier", "20 t", "760.00", ""),
    )
)
RATES = "rate_of,operation,amount\nlabour,,20\nmachine,,5\n"
PLAN = HEAD + "".join(
    f"2026,ALD-1,top dressing,sand,{at},2026-0{month}-01,2026-0{month}-20,{times},{kg},2\n"
    for at, month, times, kg in ((1, 6, 1, 3000), (2, 7, 3, 100), (3, 8, 2, 9500), (4, 9, 1, 45_000))
)
MONEY = {3000.0: "330.00", 300.0: "72.00", 19_000.0: "760.00", 45_000.0: "1710.00"}
"""By hand: by the sack at 0.11, by the bag at 0.24, a load in place of 2,090 by the sack, by the load at 0.038."""


def test_the_same_penny_in_due_costs_and_programme(county: Load, workspace: Workspace) -> None:
    """A load of 20 t, which is cheapest by the kilogram, is no price of 3 t; 40 bags' price is no price at all."""
    jobs = "date,green,operation\n2026-05-04,ALD-1,mowing\n"
    files = {"materials": PACKLESS, "prices": PRICES, "rates": RATES, "plan": PLAN, "jobs": jobs}
    for name, text in files.items():
        assert not county(f"{name}.csv", text).failed
    made = price_loaded(workspace, "ALD-1", "2026").programme
    asked = {line.planned.size: line for line in made.lines}
    assert {size: str(line.material) for size, line in asked.items()} == MONEY
    labour = {3000.0: 50, 300.0: 150, 19_000.0: 100, 45_000.0: 50}
    assert {size: line.price for size, line in asked.items()} == {
        size: Decimal(money) + labour[size] for size, money in MONEY.items()
    }
    listed = due_list(workspace, ["ALD-1"], until=date(2026, 9, 30), today=date(2026, 6, 1))
    due = {item.due.low: item.cost.value for item in listed.items if item.due.state}
    assert due == {size / 1000: line.price for size, line in asked.items() if size}
    assert costs(workspace, "ALD-1", "2026").whole.plan.cost.value == made.quotation.before_vat
    by = [row[list(LINES).index("material_by")] for row in line_rows(made)]
    assert by == ["0.11 a kg by a pack of 800 kg", "0.24 a kg by a pack of 25 kg", "a whole pack of 20,000 kg, 760",
                  "0.038 a kg by a pack of 20,000 kg"]  # fmt: skip
    assert [(one.pack, one.supplier) for one in made.prices] == [
        (25.0, "merchant"), (800.0, "quarry"), (20_000.0, "haulier"),
    ]  # fmt: skip
