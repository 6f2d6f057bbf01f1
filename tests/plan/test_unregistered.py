"""A planned material that is in no register: the same words at loading, in due lists, programmes and orders."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from pipeline.cli.printing.planning import programme as print_programme
from pipeline.plan.ordering.placing import Request, place_order
from pipeline.plan.read import planned_works
from pipeline.publish.due import due_list
from pipeline.publish.priced import price_loaded, price_made
from pipeline.publish.programme import Wanted, write_programme
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from reports.due import render as due_page
from reports.programme.data import LINES, line_rows
from reports.programme.render import view
from schemas.material import UNREGISTERED
from tests.conftest import Load
from tests.reports.conftest import VERSION
from tests.thorough import thorough

PLAN = (
    "programme,green,operation,material,window_from,window_to,mass_kg,rate_g_m2,packs\n"
    "2026,ALD-1,fertilising,bone meal,2026-04-01,2026-04-30,50,,\n"
    "2026,ALD-1,fertilising,bone meel,2026-05-01,2026-05-31,,20,\n"
    "2026,ALD-1,fertilising,fish meal,2026-06-01,2026-06-30,,,2\n"
)
PRICES = "material,supplier,pack,price,carriage\nbone meal,merchant,25 kg,20,0\n"
JOBS = "date,green,operation,material,mass_kg\n2026-03-02,ALD-1,mowing,,\n2025-04-10,ALD-1,fertilising,bone meal,40\n"
BONE, BONE_SPELT = (
    f"“{name}” is not in the register of materials: {UNREGISTERED}." for name in ("bone meal", "bone meel")
)


@pytest.fixture
def unregistered(county: Load, workspace: Workspace) -> Workspace:
    for name, text in (("prices.csv", PRICES), ("plan.csv", PLAN), ("jobs.csv", JOBS)):
        county(name, text)
    return workspace


def test_loading_says_what_will_and_will_not_happen(county: Load) -> None:
    for name, text in (("prices.csv", PRICES), ("plan.csv", PLAN)):
        done = county(name, text)
        assert not done.counts.rejected
        told = done.faults.filter(code="reference.material_to_come")
        assert told.height == text.count("\n") - 1
        assert all(f"the line is kept: {UNREGISTERED}. It may be" in one for one in told["message"])


def test_due_says_it_on_the_line_with_amount_and_price(unregistered: Workspace) -> None:
    """50 kg of what the price list names are 2 bags' worth, 40; 20 g/m² on 1,600 m² of what it does not are 32 kg."""
    listed = due_list(unregistered, ["ALD-1"], until=date(2026, 6, 30), today=date(2026, 3, 2))
    bone, spelt, fish = (item for item in listed.items if item.due.material)
    assert (bone.due.low, bone.due.unit, bone.against[0]) == (50.0, "kg", BONE)
    assert (spelt.due.low, spelt.against[0]) == (32.0, BONE_SPELT)
    assert fish.due.low is None
    assert "packs of fish meal, and it is not in the register" in fish.due.quantity
    assert bone.cost.why == "no output an hour"
    assert "bone meel has no price" in spelt.cost.why
    assert str(BONE[:30]) in due_page.html(listed, version=VERSION)


@thorough
def test_the_programme_says_it_and_asks_its_price(unregistered: Workspace) -> None:
    made = price_loaded(unregistered, "ALD-1", "2026").programme
    assert [line.material for line in made.lines] == [Decimal("40.00"), None, None]
    page = view(made, version=VERSION)
    assert BONE in page.notes
    assert any(BONE_SPELT in note for note in page.notes)
    notes = [row[list(LINES).index("note")] for row in line_rows(made)]
    assert (notes[0], notes[1]) == (BONE, BONE_SPELT)


@thorough
def test_a_programme_just_made_says_it_and_its_sheet_does_not(
    unregistered: Workspace, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is loaded stays as it was written, and would still say so once the material is in the register."""
    made = write_programme(unregistered, "ALD-1", "2026", Wanted(last=True, targets=False))
    print_programme(made, quiet=False)
    assert f"Caution: {BONE}" in capsys.readouterr().err
    assert BONE in made.as_json()["cautions"]
    assert UNREGISTERED not in made.files[1].read_text("utf-8-sig")
    document = price_made(unregistered, "ALD-1", made.programmes).programme
    assert BONE in view(document, version=VERSION).notes


def test_the_order_stops_it(unregistered: Workspace) -> None:
    made = place_order(unregistered, Request(season="2026", as_of=date(2026, 3, 2))).order
    assert not made.suppliers
    why = "it is not in the register of materials, so nothing says that it is no plant protection product"
    assert {(one.material, one.reason) for one in made.stopped} == {
        (name, why) for name in ("bone meal", "bone meel", "fish meal")
    }


@thorough
def test_once_it_is_in_the_register_nothing_is_said(county: Load, unregistered: Workspace) -> None:
    materials = "material,sort,form,analysis,analysis_basis,pack\nbone meal,fertiliser,solid,4-20-0,oxide,25 kg\n"
    assert not county("materials-2.csv", materials).failed
    with Store(unregistered.store, read_only=True) as store:
        found = {one.material: one.caution for one in planned_works(store)}
    assert found["bone meal"] == ""
    assert found["bone meel"] == BONE_SPELT
    made = place_order(unregistered, Request(season="2026", as_of=date(2026, 3, 2))).order
    assert "bone meal" not in {one.material for one in made.stopped}
    (bone,) = (share for share in made.shares if share.material == "bone meal")
    assert (bone.green, bone.needed) == ("ALD-1", 50)
