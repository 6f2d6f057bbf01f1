"""An order's files: what a supplier gets, what is loaded back as on its way, and what is never written over."""

from __future__ import annotations

import csv
import io
import json
import re
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path

import openpyxl
import pytest

from pipeline.cli import app as cli
from pipeline.load.files import load_paths
from pipeline.plan.ordering.placing import Request
from pipeline.publish import order
from pipeline.publish.order import WrittenOrder, write_order
from pipeline.publish.writer import Planned
from pipeline.workspace.settings import Workspace
from reports.page.house_style import HouseStyle
from tests.conftest import TODAY, Load
from tests.plan.yard import COUNTED, MERCHANT, QUARRY, records, with_settings
from tests.thorough import beyond

SPRING = "2027-04-01,2027-04-30,"
PLAN = (
    f"2027,ALD-1,,top dressing,loam dressing,{SPRING},2000,,,,,\n"
    f"2027,,BRK,top dressing,loam dressing,{SPRING},,,,1500,,\n"
    f"2027,ALD-1,,fertilising,spring feed,{SPRING},,,3,,,\n"
    f"2027,,BRK,fertilising,spring feed,{SPRING},,,,35,,\n"
    f"2027,ALD-1,,wetting agent,wetter,{SPRING},,18,,,,\n"
)
WETTER = "wetter,merchant,10 l,90.5,,12.50,\n"
FOLDER = "order-2027-02-02"


@pytest.fixture
def yard(load: Load, workspace: Workspace) -> Workspace:
    """Two clubs with a programme, prices, and two bags at the yard."""
    records(load, plan=PLAN, prices=QUARRY + MERCHANT + WETTER, stock=COUNTED)
    return with_settings(workspace, vat_pct="17.5", prices_with_vat="true", depots='["yard"]')


def table(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_text("utf-8-sig"))))


def bought(done: WrittenOrder) -> list[str]:
    return [line.material for one in done.order.order.suppliers for drop in one.deliveries for line in drop.lines]


def load_back(workspace: Workspace, path: Path) -> None:
    (result,) = load_paths(workspace, [path], today=TODAY)
    assert not result.counts.rejected, result.as_json()


def test_a_supplier_gets_packs_places_prices_and_sums_and_nothing_of_greens(yard: Workspace) -> None:
    done = write_order(yard, Request())
    folder = yard.reports / "2027" / FOLDER
    assert [path.name for path in done.files] == [
        "order-office.pdf", "order-van.pdf", "order-to-merchant.csv", "order-to-merchant.xlsx", "order-to-quarry.csv",
        "order-to-quarry.xlsx", "ordered.csv",
    ]  # fmt: skip
    rows = [tuple(row.values()) for row in table(folder / "order-to-merchant.csv")]
    assert rows == [
        ("yard", "spring feed", "3", "25", "kg", "30.00", "90.00", "GBP", ""),
        ("yard", "wetter", "2", "10", "l", "90.50", "181.00", "GBP", ""),
        ("yard", "carriage", "", "", "", "", "12.50", "GBP", ""),
        ("", "net", "", "", "", "", "283.50", "GBP", ""),
        ("", "VAT 17.5 %", "", "", "", "", "49.61", "GBP", ""),
        ("", "total", "", "", "", "", "333.11", "GBP", ""),
    ]
    quarry = (folder / "order-to-quarry.csv").read_text("utf-8-sig")
    assert "Alder Brook Bowls Club,loam dressing,2,1000,kg" in quarry
    sheet = openpyxl.load_workbook(folder / "order-to-merchant.xlsx").active
    assert sheet is not None
    cells = [[cell.value for cell in row] for row in sheet.iter_rows()]
    assert cells[0][0] == "Order to merchant"
    assert cells[1][0] == "Our reference: merchant, order of 2027-02-02 for 2027"
    assert ["yard", "spring feed", 3, 25, "kg", 30, 90, "GBP", None] in cells
    assert [None, "total", None, None, None, None, 333.11, "GBP", None] in cells
    sent = quarry + (folder / "order-to-merchant.csv").read_text("utf-8-sig") + repr(cells)
    for word in ("ALD-1", "BRK", "Main green", "Top green", "1475", "1369", "swardtally"):
        assert word not in sent


def test_carriage_that_is_not_known_is_asked_of_the_supplier(load: Load, workspace: Workspace) -> None:
    records(load, plan=PLAN, prices="loam dressing,quarry,1 t,30,,,\n")
    write_order(workspace, Request(as_of=date(2027, 2, 2)))
    rows = table(workspace.reports / "2027" / FOLDER / "order-to-quarry.csv")
    carriage = [row for row in rows if row["item"] == "carriage"]
    assert {(row["sum"], row["note"]) for row in carriage} == {("", "not known: please state it")}
    assert rows[-1]["note"] == "without the carriage that is not known"


def test_no_two_orders_share_a_number(yard: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every order's PDFs have the same names, in a folder of its own: "{file}" alone numbered them alike."""
    planned: list[Planned] = []
    monkeypatch.setattr(order, "write_documents", lambda plans, **_: planned.extend(plans) or [])
    write_order(yard, Request())
    house = HouseStyle(number="VG {file}")
    numbers = [house.of(one.numbered or one.path.stem, one.club).report_number for one in planned]
    assert numbers == [f"VG {FOLDER}-office", f"VG {FOLDER}-van"]


def test_what_is_loaded_as_on_its_way_is_not_ordered_again(yard: Workspace, load: Load) -> None:
    """The round of an order: written, loaded, asked again; a later work is ordered on its own and keeps the first."""
    first = write_order(yard, Request())
    assert bought(first) == ["spring feed", "wetter", "loam dressing", "loam dressing"]
    ordered = yard.reports / "2027" / FOLDER / "ordered.csv"
    assert {row["depot"] for row in table(ordered)} == {"ALD", "BRK", "yard"}
    load_back(yard, ordered)
    again = write_order(yard, Request())
    assert bought(again) == []
    assert [path.parent.name for path in again.files] == [f"{FOLDER}-2"] * 2
    assert {one.drop for one in again.order.order.balances if one.from_on_order} == {
        "yard", "Alder Brook Bowls Club", "Birkwell Bowls Club",
    }  # fmt: skip

    extra = "2027,ALD-1,,fertilising,spring feed,2027-06-01,2027-06-30,,,,3,,,more\n"
    assert not load("more.csv", PLAN_HEAD + extra).failed
    second = write_order(yard, Request())
    assert second.order.name == "order of 2027-02-02 for 2027, no 2"
    ((line,),) = [drop.lines for one in second.order.order.suppliers for drop in one.deliveries]
    assert (line.material, line.packs) == ("spring feed", 3)
    load_back(yard, yard.reports / "2027" / f"{FOLDER}-2" / "ordered.csv")
    last = write_order(yard, Request())
    assert bought(last) == []
    (feed,) = [one for one in last.order.order.balances if one.material == "spring feed"]
    assert (feed.from_stock, feed.from_on_order + feed.left_on_order) == (50, 150)


PLAN_HEAD = (
    "programme,green,club,operation,material,window_from,window_to,times,mass_kg,volume_l,packs,rate_g_m2,rate_ml_m2,"
    "reference\n"
)


def test_the_same_records_make_the_same_bytes(yard: Workspace, tmp_path: Path) -> None:
    one = write_order(yard, Request(), tmp_path / "one")
    two = write_order(yard, Request(), tmp_path / "two")
    assert [path.name for path in one.files] == [path.name for path in two.files]
    for first, second in zip(one.files, two.files, strict=True):
        assert first.read_bytes() == second.read_bytes(), first.name
    assert write_order(yard, Request(), tmp_path / "two").unchanged


def test_edited_files_and_those_of_a_former_order_are_left(yard: Workspace, load: Load, tmp_path: Path) -> None:
    out = tmp_path / "out"
    write_order(yard, Request(), out)
    edited = out / "order-to-quarry.csv"
    edited.write_text("edited")
    refused = write_order(yard, Request(), out)
    assert refused.fault.startswith("order-to-quarry.csv stands there with other content, perhaps edited")
    assert (refused.files, edited.read_text()) == ((), "edited")
    assert not write_order(yard, Request(), out, force=True).fault
    assert edited.read_text("utf-8-sig").startswith("deliver_to")
    load("cheaper.csv", "material,supplier,pack,price,carriage\nloam dressing,pit,1 t,20,0\n")
    former = write_order(yard, Request(), out)
    assert "order-to-quarry.csv and order-to-quarry.xlsx are of an order that stood there before" in former.fault
    assert not (out / "order-to-pit.csv").exists()
    kept = write_order(yard, Request(), out, force=True)
    assert [path.name for path in kept.former] == ["order-to-quarry.csv", "order-to-quarry.xlsx"]
    assert (out / "order-to-pit.csv") in kept.files


@pytest.fixture
def call(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    def _call(*words: object) -> tuple[int, str, str]:
        capsys.readouterr()
        monkeypatch.setattr(sys, "argv", ["swardtally", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        said = capsys.readouterr()
        return int(ended.value.code or 0), said.out, said.err

    return _call


def test_the_command_says_what_is_not_ordered_first_within_80_columns(
    yard: Workspace, call: Callable[..., tuple[int, str, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    code, said, _ = call("order", "-w", yard.folder)
    assert code == 0
    assert said.index("Not ordered:") < said.index("Look at these first:") < said.index("merchant, to yard:")
    assert "- spring feed to yard (BRK-2): the area of BRK-2 is not recorded." in said
    assert "in all      523.50  91.61  615.11" in said
    assert re.search(r"^ +3  25 kg  spring feed +30\.00 +90\.00$", said, re.MULTILINE)
    paths = [line for line in said.splitlines() if line.startswith(str(yard.folder))]
    assert len(paths) == 7
    assert max(len(line) for line in said.splitlines() if line not in paths) < 80


def test_the_command_gives_the_same_as_json(yard: Workspace, call: Callable[..., tuple[int, str, str]]) -> None:
    code, said, _ = call("order", "-w", yard.folder, "--json", "--club", "ALD")
    told = json.loads(said)
    assert code == 0
    assert told["name"] == "order of 2027-02-02 for 2027 ALD"
    (first, *_) = told["order"]["suppliers"][0]["deliveries"][0]["lines"]
    assert (first["material"], first["packs"], first["price"]) == ("spring feed", 1, 30.0)
    assert told["order"]["stopped"] == []
    assert told["order"]["complete"] is True


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--feed", "spring feed"), "--feed is of the nitrogen that targets ask for."),
        (("--overspread", "much"), "“much” is no percentage."),
        (("--overspread", "nan"), "“nan” is no percentage."),
        (("--season", "2027", "--until", "2027-04-01"), "--season and --until are two ways to say the same."),
    ],
)
@beyond(2)
def test_options_that_say_nothing_are_refused(
    yard: Workspace, call: Callable[..., tuple[int, str, str]], words: tuple[str, ...], said: str
) -> None:
    code, _, told = call("order", "-w", yard.folder, *words)
    assert (code, told.splitlines()[0]) == (2, said)


def test_with_nothing_to_order_no_file_is_written(
    load: Load, workspace: Workspace, call: Callable[..., tuple[int, str, str]]
) -> None:
    records(load)
    code, said, told = call("order", "-w", workspace.folder, "--as-of", "2027-02-02")
    assert code == 0
    assert "Nothing is left to order: no file is written." in said
    assert "Plan with swardtally programme" in told
    assert not (workspace.reports / "2027" / FOLDER).exists()
