"""The programme with its price through the road: published sums, what is loaded, what is missing, lines taken out."""

from __future__ import annotations

import csv
import io
import json
import sys
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from pipeline.cli import app as cli
from pipeline.common.refusal import CannotDo
from pipeline.plan.matching import matched
from pipeline.plan.priced import hours_of, net_of
from pipeline.plan.read import planned_works
from pipeline.publish.priced import PricedDocument, price_loaded, price_made
from pipeline.publish.programme import Wanted, write_programme
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, open_workspace
from reports.programme.render import view
from tests.conftest import Load
from tests.outside_checks import outside
from tests.plan.test_programme_command import ALL, dressed, read_back
from tests.reports.conftest import VERSION

__all__ = ["dressed"]
HEAD = "programme,green,operation,material,reference,window_from,window_to,times,mass_kg,hours,basis\n"
FEED = "spring granular 11-5-5 + 8 Fe"
RATES = (
    "rate_of,operation,amount,output_m2_h,holds_from\nlabour,,28.50,,2025-01-01\nlabour,,30,,2027-05-01\n"
    "machine,,6.15,,2025-01-01\nmileage,,0.45,,2025-01-01\noutput,mowing,,1000,\n"
)
PRICES = (
    "material,supplier,pack,price,holds_from\n70/30 sand and soil,quarry,10 t,420.00,2026-01-01\n"
    f"{FEED},merchant,25 kg,31.50,2026-01-01\n{FEED},merchant,25 kg,33.00,2027-05-01\n"
)
LINES = (
    f"{HEAD}2027,ALD-1,top dressing,70/30 sand and soil,1,2026-10-05,2026-10-16,1,6000,9,autumn renovation\n"
    f"2027,ALD-1,fertilising,{FEED},2,2027-04-05,2027-04-18,1,50,1,as last year\n"
    f"2027,ALD-1,fertilising,{FEED},3,2027-05-03,2027-05-16,2,25,1,as last year\n"
    "2027,ALD-1,mowing,,4,2027-05-01,2027-05-31,4,,,as last year\n"
    "2027,ALD-1,slitting,,5,2027-06-01,2027-06-30,2,,,as last year\n"
)


def settings(workspace: Workspace, **told: str) -> Workspace:
    path = workspace.folder / "settings.toml"
    lines = [line for line in path.read_text("utf-8").splitlines() if line.partition(" ")[0] not in told]
    path.write_text("\n".join([*(f"{name} = {value}" for name, value in told.items()), *lines]), "utf-8")
    return open_workspace(workspace.folder)


@pytest.fixture
def planned(county: Load, workspace: Workspace) -> Workspace:
    for name, text in (("rates.csv", RATES), ("prices.csv", PRICES), ("plan.csv", LINES)):
        assert not county(name, text).failed
    return workspace


def test_a_club_by_hand_to_the_penny(planned: Workspace) -> None:
    """Our own arithmetic, by the rates and prices of each work's own day, with 20 % VAT and 100 km.

    Dressing 9 h: 256.50 + 55.35, 6,000 kg × 0.042 = 252.00: 563.85.
    Feed in April 1 h: 28.50 + 6.15 + 50 × 1.26 = 97.65.
    Feed in May 2 h: 60.00 + 12.30 + 50 × 1.32 = 138.30. Mowing 4 × 1,600 / 1,000 = 6.4 h: 192.00 + 39.36 = 231.36.
    Slitting has no output: without. 1,031.16 + 45.00 = 1,076.16; VAT 215.23 (215.232); 1,291.39.
    """
    workspace = settings(planned, vat_pct="20", prices_with_vat="true")
    made = price_loaded(workspace, "ALD", "2027", travel_km=100.0).programme
    assert [line.price for line in made.lines] == [
        Decimal("563.85"), Decimal("97.65"), Decimal("231.36"), Decimal("138.30"), Decimal("0.00"),
    ]  # fmt: skip
    price = made.quotation
    assert (price.labour, price.machine, price.material) == (Decimal("537.00"), Decimal("113.16"), Decimal("381.00"))
    assert (price.travel, price.before_vat, price.vat, price.total) == (
        Decimal("45.00"), Decimal("1076.16"), Decimal("215.23"), Decimal("1291.39"),
    )  # fmt: skip
    assert price.without == ("labour and machines of slitting (no output an hour)",)
    assert (made.hours.value, made.hours.said) == (Decimal("18.4"), "given for 3 of 5, 1 more by rate")
    page = view(made, version=VERSION)
    assert page.matters[-1] == (
        "Price: £1,291.39 with VAT of 20\u202f%, £1,076.16 without VAT; it is without what is named below."
    )
    assert [(m.month, m.hours, m.price) for m in page.months] == [
        ("October 2026", "9.00", "563.85"), ("April 2027", "1.00", "97.65"), ("May 2027", "8.40", "369.66"),
        ("June 2027", "–", "–"),
    ]  # fmt: skip
    assert (page.total_hours, page.total_price) == ("18.40†", "1,031.16†")
    assert [(one.material, one.price) for one in made.prices] == [
        ("70/30 sand and soil", Decimal(420)), (FEED, Decimal("31.5")), (FEED, Decimal(33)),
    ]  # fmt: skip


def test_months_greens_and_columns_add_up_as_printed(planned: Workspace) -> None:
    made = price_loaded(planned, "ALD", "2027").programme
    assert net_of(made.lines) == sum(net_of(lines) for lines in made.months.values()) == made.quotation.before_vat
    assert made.hours.value == sum(hours_of(lines).value or 0 for lines in made.months.values())
    page = view(made, version=VERSION)
    assert sum(Decimal(row.sum.replace(",", "")) for row in page.money[:3]) == made.quotation.before_vat
    assert "travel (kilometres not said)" in made.quotation.without


@outside("worked example", "GMA, Cost of materials, bowling green, spring 2003 (lines recomputed)")
def test_the_materials_of_a_green_in_2003_through_the_road(county: Load, workspace: Workspace) -> None:
    """Ten tonnes of dressing at 30 are 300; 75 kg at 30 a bag of 25 and 100 kg at 16 are 154; in all 454."""
    county(
        "materials.csv",
        "material,sort,form,pack\ndressing,top dressing,solid,\nspring feed,fertiliser,solid,25 kg\n"
        "feed,fertiliser,solid,25 kg\n",
    )
    county("prices.csv", "material,supplier,pack,price\ndressing,a,1 t,30\nspring feed,a,25 kg,30\nfeed,a,25 kg,16\n")
    plan = [("top dressing", "dressing", "03", kg) for kg in (2000, 7000, 1000)]
    plan += [("fertilising", "spring feed", "04", 75), ("fertilising", "feed", "06", 100)]
    rows = (
        f"2003,ALD-1,{work},{material},{at},2003-{month}-01,2003-{month}-20,1,{kg},,\n"
        for at, (work, material, month, kg) in enumerate(plan)
    )
    assert not county("plan.csv", HEAD + "".join(rows)).failed
    price = price_loaded(workspace, "ALD-1", "2003").programme.quotation
    by_work = [(line.planned.operation, line.material) for line in price.lines]
    assert sum(cell or 0 for work, cell in by_work if work == "top_dressing") == 300
    assert sum(cell or 0 for work, cell in by_work if work == "fertilising") == 154
    assert (price.material, price.before_vat) == (454, 454)
    assert price.without[0].startswith("labour and machines of top dressing and fertilising (no output an hour)")


def test_no_prices_no_rates_says_plainly_what_is_missing(county: Load, workspace: Workspace) -> None:
    assert not county("plan.csv", LINES).failed
    made = price_loaded(workspace, "ALD", "2027").programme
    assert made.quotation.without == (
        "labour of top dressing and fertilising (no rate of labour)",
        "machines of top dressing and fertilising (no rate of a machine)",
        "material of top dressing 5 October 2026 to 16 October 2026 (70/30 sand and soil has no price on any day)",
        f"material of fertilising 5 April 2027 to 18 April 2027 and fertilising 3 May 2027 to 16 May 2027 ({FEED} "
        "has no price on any day)",
        "labour and machines of mowing and slitting (no output an hour)",
        "VAT (no rate of it is set)",
    )
    page = view(made, version=VERSION)
    assert page.matters[-1] == "Price: not known; what is missing for it is named below."
    assert {row.price for table in page.tables for row in table.rows} == {"–"}
    assert {row.sum for row in page.money[:2]} == {"not known"}


def test_no_programme_is_said(county: Load, workspace: Workspace) -> None:
    county("jobs.csv", "date,green,operation\n2026-05-04,ALD-1,mowing\n")
    with pytest.raises(CannotDo, match="Nothing is planned for ALD in season 2027"):
        price_loaded(workspace, "ALD", "2027")


def test_the_document_of_what_was_edited_and_loaded(dressed: Workspace) -> None:
    """A person halves the dressing and loads the sheet: the document of what is loaded has half."""
    made = write_programme(dressed, "ALD-1", "2027", ALL)
    before = price_made(dressed, "ALD-1", made.programmes)
    assert not before.programme.loaded
    rows = list(csv.DictReader(io.StringIO(made.files[1].read_text("utf-8-sig"))))
    (at,) = (i for i, row in enumerate(rows) if row["operation"] == "top_dressing" and row["mass_kg"])
    rows[at]["mass_kg"] = "1234"
    out = io.StringIO()
    writer = csv.DictWriter(out, rows[0].keys())
    writer.writeheader()
    writer.writerows(rows)
    made.files[1].write_text(out.getvalue(), "utf-8")
    read_back(dressed, made.files[1])
    after = price_loaded(dressed, "ALD-1", "2027")
    assert after.programme.loaded
    assert len(after.programme.lines) == len(before.programme.lines)
    assert dressings(after) == [1234.0]
    assert dressings(before) != [1234.0]
    assert "loaded into the records;" in view(after.programme, version=VERSION).origin
    assert "not loaded into the records yet" in view(before.programme, version=VERSION).origin
    notes = [{line.planned.note for line in one.programme.lines} for one in (before, after)]
    assert notes[0] == notes[1] != {""}


def dressings(of: PricedDocument) -> Sequence[float | None]:
    works = (line.planned for line in of.programme.lines)
    return [one.size for one in works if one.operation == "top_dressing" and one.size is not None]


def test_the_sheet_that_is_loaded_back_has_no_prices(dressed: Workspace) -> None:
    """Prices stand in a CSV of their own: the sheet loads whole, and nothing in it is left unused."""
    made = write_programme(dressed, "ALD-1", "2027", ALL)
    document = price_made(dressed, "ALD-1", made.programmes)
    assert [path.name for path in document.files] == [
        "ALD-1-programme-2027-draft.pdf",
        "ALD-1-programme-2027-draft-prices.csv",
    ]
    assert "price" not in made.files[1].read_text("utf-8-sig").splitlines()[0]
    rows = list(csv.DictReader(io.StringIO(document.files[1].read_text("utf-8-sig"))))
    assert len(rows) == len(document.programme.lines)
    assert price_made(dressed, "ALD-1", made.programmes).written.unchanged


def in_store(workspace: Workspace) -> set[tuple[str, date]]:
    with Store(workspace.store, read_only=True) as store:
        return {(one.operation, one.first) for one in planned_works(store)}


def test_a_programme_made_anew_takes_out_what_it_no_longer_has(dressed: Workspace) -> None:
    """Lines of an earlier programme stay in force after the next is loaded, unless the sheet ends them."""
    first = write_programme(dressed, "ALD-1", "2027", ALL)
    read_back(dressed, first.files[1])
    before = in_store(dressed)
    kept = write_programme(dressed, "ALD-1", "2027", Wanted(last=True), force=True)
    assert sum("stays on record unless --replace is given" in one.why for one in kept.programmes[0].left_out) > 3
    read_back(dressed, kept.files[1])
    assert before < in_store(dressed)
    anew = write_programme(dressed, "ALD-1", "2027", Wanted(last=True, replace=True), force=True)
    rows = list(csv.DictReader(io.StringIO(anew.files[1].read_text("utf-8-sig"))))
    ended = [row for row in rows if row["times"] == "0"]
    assert {row["note"] for row in ended} == {
        "Loaded earlier and not in the programme any more: 0 in times takes it out."
    }
    read_back(dressed, anew.files[0])
    wanted = {(one.work.operation, one.work.first) for one in anew.programmes[0].entries}
    assert in_store(dressed) == wanted
    with Store(dressed.store, read_only=True) as store:
        plan = planned_works(store)
    day = date(2027, 9, 30)
    assert {(line.planned.operation, line.planned.first) for line in matched(plan, (), day).lines} == wanted
    again = write_programme(dressed, "ALD-1", "2027", Wanted(last=True, replace=True), force=True)
    assert ",0," not in again.files[1].read_text("utf-8-sig")


def test_what_a_person_wrote_what_has_begun_or_is_missing_is_not_taken_out(dressed: Workspace, county: Load) -> None:
    """The log ends on 20 September with an inspection; spiking was to be done by the 18th and is missing."""
    own = (
        f"{HEAD}2027,ALD-1,slitting,,the chairman's,2027-06-01,2027-06-30,2,,,the chairman\n"
        "2027,ALD-1,spiking,,from 1 September,2026-09-01,2026-09-18,2,,,made earlier\n"
        "2027,ALD-1,inspection,,from 15 September,2026-09-15,2026-10-18,2,,,made earlier\n"
        "2027,ALD-1,spiking,,from 1 March,2027-03-01,2027-03-30,2,,,made earlier\n"
    )
    assert not county("own.csv", own).failed
    made = write_programme(dressed, "ALD-1", "2027", Wanted(last=True, replace=True))
    rows = list(csv.DictReader(io.StringIO(made.files[1].read_text("utf-8-sig"))))
    assert [row["reference"] for row in rows if row["times"] == "0"] == ["from 1 March"]


def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    monkeypatch.setattr(sys, "argv", ["swardtally", *words])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    said = capsys.readouterr()
    return int(ended.value.code or 0), said.out, said.err


def test_the_command(planned: Workspace, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    where = ["--season", "2027", "--workspace", str(planned.folder)]
    code, out, err = run(monkeypatch, capsys, "programme", "ALD", "--loaded", *where)
    folder = planned.folder / "reports" / "2027"
    assert (code, out.splitlines()) == (0, [
        "Hours: 18.40 (given for 3 of 5, 1 more by rate)", "Price in GBP: 1,031.16 without VAT",
        str(folder / "ALD-programme-2027.pdf"), str(folder / "ALD-programme-2027-prices.csv"),
    ])  # fmt: skip
    assert "The price is without VAT (no rate of it is set)." in err
    code, out, _ = run(monkeypatch, capsys, "programme", "ALD", "--loaded", "--json", *where)
    told = json.loads(out)
    assert (told["net"], told["vat"], told["unchanged"], told["lines"]) == (1031.16, None, True, 5)
    assert run(monkeypatch, capsys, "programme", "ALD", "--loaded", "--last-season", *where)[0] == 2
    code, out, _ = run(
        monkeypatch, capsys, "programme", "ALD", "--only-targets", "--json", *where, "--from", "2026-10-01"
    )
    assert json.loads(out)["document"]["loaded"] is False
    assert Path(json.loads(out)["document"]["files"][0]).exists()


def test_what_is_planned_of_a_green_until_it_is_given_up_is_in_its_clubs_price(
    planned: Workspace, county: Load
) -> None:
    """Left out in silence, the club would be asked for less than is planned."""
    assert not county("old.csv", "green,club,name,area_m2,closed_on\nALD-2,ALD,Old green,800,2026-12-31\n").failed
    line = "programme,green,operation,window_from,window_to,hours\n2027,ALD-2,slitting,2026-11-01,2026-11-20,2\n"
    assert not county("more.csv", line).failed
    made = price_loaded(planned, "ALD", "2027").programme
    assert [one.price for one in made.lines if one.planned.green == "ALD-2"] == [Decimal("69.30")]  # 2 h at 34.65


def test_several_greens_and_clubs_at_once(
    planned: Workspace, county: Load, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each has files of its own; a club for which nothing is planned is said, and does not stop those after it."""
    assert not county("clubs.csv", "club,name\nABE,Abbey Bowls Club\n").failed
    assert not county("greens.csv", "green,club,name,area_m2\nABE-1,ABE,Green,1400\n").failed
    where = ["--season", "2027", "--workspace", str(planned.folder)]
    folder = planned.folder / "reports" / "2027"
    code, out, err = run(monkeypatch, capsys, "programme", "ALD-1", "ALD", "ald", "--loaded", *where)
    assert (code, [line for line in out.splitlines() if line.endswith(".pdf")]) == (
        0, [str(folder / "ALD-1-programme-2027.pdf"), str(folder / "ALD-programme-2027.pdf")],
    )  # fmt: skip
    code, out, err = run(monkeypatch, capsys, "programme", "--all", "--loaded", *where)
    assert (code, out.count(".pdf")) == (1, 1)
    assert "ABE: Nothing is planned for ABE in season 2027." in err
    code, out, _ = run(monkeypatch, capsys, "programme", "--all", "--loaded", "--json", *where)
    told = json.loads(out)["programmes"]
    assert [(one["of"], one["fault"]) for one in told] == [
        ("ABE", "Nothing is planned for ABE in season 2027."), ("ALD", ""),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "No green or club is named."),
        (("ALD", "--all"), "Programmes are made of greens or clubs that are named, or of all."),
        (("ALD", "ALD-1", "--km", "40"), "--km says how far is driven for one programme, and there are 2."),
        (("ALD", "ALDX"), "ALDX"),
        (("ALD", "--issued", "20 January"), "“20 January” is not a day."),
    ],
)
def test_what_programmes_cannot_be_of_is_said_before_any_is_made(
    planned: Workspace,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: tuple[str, ...],
    said: str,
) -> None:
    """The kilometres of one club, taken for each of two, would be in both prices."""
    where = ["--season", "2027", "--workspace", str(planned.folder)]
    code, _, err = run(monkeypatch, capsys, "programme", *words, "--loaded", *where)
    assert code == 2
    assert said in err
    assert not list((planned.folder / "reports").rglob("*.pdf"))


def test_day_of_issue_and_validity_are_those_of_the_command_and_the_settings(
    planned: Workspace, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    where = ["--season", "2027", "--workspace", str(planned.folder), "--json"]
    _, out, _ = run(monkeypatch, capsys, "programme", "ALD", "--loaded", *where)
    last = price_loaded(planned, "ALD", "2027").programme.day
    assert (json.loads(out)["issued"], json.loads(out)["valid_until"]) == (last.isoformat(), None)
    settings(planned, price_valid_days="30")
    _, out, _ = run(monkeypatch, capsys, "programme", "ALD", "--loaded", "--issued", "2027-01-20", *where)
    assert (json.loads(out)["issued"], json.loads(out)["valid_until"]) == ("2027-01-20", "2027-02-19")
