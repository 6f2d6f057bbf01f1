"""The due list as a command: text, JSON, CSV and PDF, and what it says where a workspace lacks nearly everything."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from shutil import copyfile

import page
import pypdfium2
import pytest

from pipeline.cli.printing import due as printing
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.look import Look
from pipeline.indicators.base.reading import read_records
from pipeline.load.files import load_paths
from pipeline.plan.due_list import DueList, Total
from pipeline.plan.next import due_next
from pipeline.publish.due import due_list
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from reports.due import render
from reports.due.data import csv_files
from reports.page.house_style import HouseStyle
from tests.cli.test_cli_commands import Call, call, place
from tests.conftest import TODAY as LOADED
from tests.conftest import Load
from tests.outside_checks import outside
from tests.thorough import beyond, thorough
from tests.whole.test_due_everywhere import plain

__all__ = ["call", "place"]
MIX, FEED = "70/30 sand and soil", "spring granular 11-5-5 + 8 Fe"
PLAN = (
    "programme,green,operation,material,window_from,window_to,times,quantity,passes,hours,basis\n"
    f"2026,ALD-1,top dressing,{MIX},2026-08-24,2026-09-18,,6 t,,,autumn renovation\n"
    f"2026,ALD-1,fertiliser,{FEED},2026-09-01,2026-09-20,,3 x 25 kg,,1.5,the committee\n"
    "2026,ALD-1,scarifying,,2026-08-01,2026-08-20,,,2,,\n"
    "2026,ALD-1,slitting,,2026-09-25,2026-09-30,,,,,\n"
)
RATES = "rate_of,operation,amount,output_m2_h,holds_from\nlabour,,20,,2026-01-01\noutput,top_dressing,,800,2026-01-01\n"
PRICES = f"material,supplier,pack_kg,price,holds_from\n{MIX},One,1000,50,2026-01-01\n{FEED},Two,25,30,2026-01-01\n"
CALENDAR = (
    "club,from_day,to_day,occasion,title\nALD,2026-09-05,,match,pairs\nALD,2026-09-07,2026-09-08,closed,drainage\n"
)
JOBS = "date,green,operation,material,quantity\n2026-08-28,ALD-1,mowing,,\n"
WEATHER = "station,date,tmin_c,tmax_c,rain_mm\n" + "".join(
    f"ALD-W,2026-08-{day},{12 if day < 31 else -0.5},{29 if day == 26 else 20},{12.4 if day == 27 else 0}\n"
    for day in range(24, 31)
)
TODAY = date(2026, 9, 1)


FILES = (("plan.csv", PLAN, "planned_work"), ("rates.csv", RATES, "rate"), ("prices.csv", PRICES, "price"),
         ("calendar.csv", CALENDAR, "calendar"), ("jobs.csv", JOBS, ""))  # fmt: skip
"""A programme with rates, prices, a calendar and a log to 28 August 2026."""

Ready = Callable[..., None]


@pytest.fixture(scope="module")
def laid(tmp_path_factory: pytest.TempPathFactory, registers: tuple[Path, Path]) -> Workspace:
    """Those files loaded once: to be read, never written."""
    folder = tmp_path_factory.mktemp("due")
    make_workspace(folder)
    workspace = open_workspace(folder)
    copyfile(registers[1], workspace.store)
    for name, text, kind in FILES:
        (folder / name).write_text(text, "utf-8")
        (done,) = load_paths(workspace, [folder / name], today=LOADED, kind=kind)
        assert not done.failed and not done.counts.rejected, done.faults
    return workspace


@pytest.fixture
def ready(laid: Workspace, county: Load, workspace: Workspace) -> Ready:
    """The same in a workspace of its own; loads further files into it."""
    copyfile(laid.store, workspace.store)

    def _ready(*more: tuple[str, str]) -> None:
        for name, text in more:
            done = county(name, text)
            assert not done.failed and not done.counts.rejected, done.faults

    return _ready


def parts(call: Call, *words: object) -> tuple[int, str, str]:
    """Exit code, output and messages of a command."""
    done = call(*words)
    return done.code, done.out, done.err


@pytest.fixture(scope="module")
def listed(laid: Workspace) -> DueList:
    return due_list(laid, until=date(2026, 9, 15), today=TODAY)


def test_each_line_has_amount_window_reason_hours_and_cost(listed: DueList) -> None:
    """6 t by 50 a tonne are 300, 1,600 m² at 800 an hour are 2 h at 20; 75 kg by 30 a 25 kg are 90, 1.5 h are 30."""
    (green,) = listed.greens
    by_what = {item.due.operation: item for item in green.items if item.due.operation}
    dressing, feed, scarifying = (by_what[name] for name in ("top_dressing", "fertilising", "scarifying"))
    assert "slitting" not in by_what, "its window opens after the day looked ahead to"
    assert (dressing.due.quantity, dressing.due.state) == ("6 t", "due")
    assert (dressing.hours.value, dressing.hours.how) == (Decimal(2), "by rate")
    assert (dressing.cost.value, dressing.cost.how) == (Decimal(340), "by rate")
    assert (feed.due.state, feed.hours.value, feed.hours.how) == ("not due yet", Decimal("1.5"), "planned")
    assert feed.cost.value == Decimal(120)
    assert (scarifying.due.overdue, scarifying.hours.value, scarifying.cost.value) == (True, None, None)
    assert scarifying.hours.why == "no output an hour"
    assert (listed.hours.value, listed.hours.said) == (Decimal("3.5"), "given for 1 of 3, 1 more by rate")
    assert (listed.cost.value, listed.cost.complete) == (Decimal(460), False)


def test_what_stands_against_a_line(listed: DueList) -> None:
    """The match of the 5th and two closed days lie in both windows; 75 kg at 11 % on 1,600 m² are 5.2 g/m² N."""
    (green,) = listed.greens
    dressing, feed = (
        next(i for i in green.items if i.due.operation == name) for name in ("top_dressing", "fertilising")
    )
    assert list(dressing.against) == [
        "Closed 7 September 2026 to 8 September 2026.", "Match 5 September 2026.", "18 of 21 days free."
    ]  # fmt: skip
    assert feed.against[2] == "17 of 20 days free."
    assert feed.against[3].startswith("Each time 5.2 g/m² N, above the limit of a single dose, 4.9 g/m² (")
    assert green.weather == "No weather is on record."


@pytest.mark.parametrize(
    ("kg", "said"),
    [(71.8, "Each time 4.94 g/m² N, above the limit"), (71, "Each time 4.88 g/m² N, within the limit"),
     (4.9 * 1600 / 110, "Each time 4.9 g/m² N, within the limit")],
)  # fmt: skip
@beyond(1)
def test_a_dose_beside_its_limit_does_not_read_the_same(
    ready: Ready, workspace: Workspace, kg: float, said: str
) -> None:
    """71.8 kg at 11 % on 1,600 m² are 4.94 g/m² N: "4.9 is above 4.9" is believed by nobody; 4.9 is within 4.9."""
    rows = f"2026-27,ALD-1,fertiliser,{FEED},2026-09-01,2026-09-20,{kg:.9f}\n"
    ready(("dose.csv", f"programme,green,operation,material,from day,to day,mass_kg\n{rows}"))
    (green,) = due_list(workspace, until=date(2026, 9, 15), today=TODAY).greens
    assert any(one.startswith(said) for item in green.items for one in item.against), [i.against for i in green.items]


@pytest.mark.parametrize(("fed", "stands"), [("2026-08-20", True), ("2026-06-01", False)])
@beyond(1)
def test_the_last_feed_stands_against_the_next_while_it_lasts(
    ready: Ready, workspace: Workspace, fed: str, stands: bool
) -> None:
    """Six weeks by its label: from 20 August into the window of September; from 1 June it has run out before."""
    label = "material,sort,form,n_pct,release_weeks\nslow feed,fertiliser,solid,10,6\n"
    log = f"date,green,operation,material,quantity\n{fed},ALD-1,fertiliser,slow feed,20 kg\n"
    ready(("m.csv", label), ("fed.csv", log))
    found = due_list(workspace, until=date(2026, 9, 15), today=TODAY)
    (feed,) = (item for item in found.items if item.due.operation == "fertilising")
    assert (
        any("slow feed of 20 August 2026 lasts about 6 weeks by its label." in said for said in feed.against) is stands
    )


def test_totals_name_what_is_not_known_and_never_count_it_as_nothing(ready: Ready, workspace: Workspace) -> None:
    ready(
        (
            "more.csv",
            "programme,green,operation,material,window_from,window_to\n"
            f"2026b,ALD-1,top dressing,{MIX},2026-09-01,2026-09-18\n",
        ),
    )
    found = due_list(workspace, until=date(2026, 9, 15), today=TODAY)
    told = {one.what: one for one in found.totals}
    assert (told[MIX].amount, told[MIX].unit, told[MIX].lines, told[MIX].unknown) == (6.0, "t", 2, 1)
    assert (told[FEED].amount, told[FEED].packs, told[FEED].held, told[FEED].unknown) == (
        75.0,
        3,
        "3 packs of 25 kg",
        0,
    )
    assert (found.cost.of, found.cost.by_rate) == (4, 2)


def test_a_narrow_screen_breaks_no_line(
    listed: DueList, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from pipeline.publish.due import DueDone

    for width in (80, 200):
        monkeypatch.setattr(printing, "screen_width", lambda width=width: width)
        printing.due(DueDone(listed), quiet=True)
        lines = capsys.readouterr().out.splitlines()
        assert max(map(len, lines)) <= width
        assert any("[overdue] Scarifying: once, 2 passes; by 20 August 2026 (passed)" in line for line in lines)
        assert "Hours: 3.50 h (given for 1 of 3, 1 more by rate)" in lines


@pytest.mark.usefixtures("ready")
def test_json_csv_and_pdf_hold_the_same(workspace: Workspace, call: Call, tmp_path: Path) -> None:
    place, table = str(workspace.folder), tmp_path / "due.csv"
    until = ("--until", "2026-09-15")
    code, text, _ = parts(call, "due", "ALD-1", *until, "--json", "--csv", str(table), "--pdf", "-w", place)
    told = json.loads(text)
    assert (code, told["day"], told["until"], told["fault"]) == (0, "2026-08-28", "2026-09-15", "")
    quantities = [one["quantity"] for one in told["greens"][0]["due"]]
    rows = list(csv.DictReader(io.StringIO(table.read_text("utf-8-sig"))))
    assert [row["quantity"] for row in rows] == quantities
    assert [row["cost"] for row in rows if row["state"] == "due"] == ["340.0"]
    pdf, *beside = (Path(one) for one in told["files"])
    assert pdf.name == "ALD-1-due-2026-09-15.pdf"
    assert [path.name.rpartition("-")[2] for path in beside] == ["columns.csv", "due.csv", "totals.csv"]
    document = pypdfium2.PdfDocument(pdf)
    words = plain(" ".join("".join(page.get_textpage().get_text_range() for page in document).split()))
    document.close()
    for said in (
        "What is due",
        "70/30 sand and soil",
        "6 t",
        "Overdue to 20 Aug 2026",
        "2.00 340.00†",
        "1.50* 120.00†",
        "* as the programme gives them",
        "† without machines",
        "18 of 21 days free.",
    ):
        assert said in words, said
    again = parts(call, "due", "ALD-1", *until, "--pdf", "--json", "-w", place)
    assert json.loads(again[1])["files"] == told["files"]


def test_a_workspace_with_nearly_nothing_says_what_is_missing(county: Load, workspace: Workspace, call: Call) -> None:
    """Registers alone: no log, programme, price, rate or calendar."""
    code, text, told = parts(call, "due", "-w", str(workspace.folder))
    assert code == 0
    assert "ALD-1 (Main green, Alder Brook Bowls Club), nothing on record\n" in text
    assert "Time bowls: at least 4 bowls a rink" in text
    assert "Weather: No weather is on record." in text
    for said in (
        "No dated record of a green is in the store: what is due is as of today, ",
        "No programme is loaded: what is due is what targets ask for. Make one with: swardtally programme ",
        "No rate of labour is loaded: no cost can be told.",
        "No output an hour is loaded: hours are known where the programme gives them.",
        "No price is loaded: no cost of material can be told.",
        "No calendar is loaded: closed days and matches are not known.",
    ):
        assert said in told
    assert not parts(call, "due", "-w", str(workspace.folder), "--quiet")[2]


def test_a_programme_and_nothing_logged(county: Load, workspace: Workspace) -> None:
    """What was done is not known, so nothing is overdue; what is planned is said all the same."""
    assert not county("plan.csv", PLAN, kind="planned_work").failed
    found = due_list(workspace, until=date(2026, 9, 28), today=TODAY)
    states = {item.due.operation: item.due.state for item in found.items if item.due.state}
    assert states == {"scarifying": "not known", "top_dressing": "not known", "fertilising": "not known",
                      "slitting": "not due yet"}  # fmt: skip
    assert not any(item.due.overdue for item in found.items)
    (dressing,) = (item for item in found.items if item.due.material == MIX)
    assert dressing.due.quantity == "not known: no job of the season is logged, planned: 6 t"
    assert dressing.cost.why == "whether it is still to be done is not known"
    assert [(one.what, one.amount, one.unknown) for one in found.totals if one.what == MIX] == [(MIX, None, 1)]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--until", "2026-08-01"), "1 August 2026 lies before the last day on record, 28 August 2026."),
        (("ALD-7",), "ALD-7"),
        (("--club", "XYZ"), "XYZ"),
    ],
)
def test_what_cannot_be_listed_is_said(laid: Workspace, call: Call, words: tuple[str, ...], said: str) -> None:
    code, text, told = parts(call, "due", *words, "-w", str(laid.folder))
    assert (code, text) == (2, "")
    assert said in told


@pytest.mark.usefixtures("ready")
def test_what_came_later_is_not_in_a_look_at_what_was_known(workspace: Workspace, call: Call) -> None:
    """The programme was loaded a month after the log: known by the day between, nothing of it is due."""
    with Store(workspace.store) as store:
        store.con.execute(
            "UPDATE meta.load SET loaded_at = TIMESTAMP '2026-08-30 12:00:00' WHERE kind <> 'planned_work'"
        )
        store.con.execute(
            "UPDATE meta.load SET loaded_at = TIMESTAMP '2026-09-30 12:00:00' WHERE kind = 'planned_work'"
        )
    place = str(workspace.folder)
    for known, expected in (("2026-10-01", True), ("2026-09-01", False)):
        _, text, _ = parts(call, "due", "--as-of", "2026-08-28", "--known-by", known, "--json", "-w", place)
        assert any(one["state"] == "due" for one in json.loads(text)["greens"][0]["due"]) is expected


def test_the_document_is_said_in_the_units_of_the_house(listed: DueList) -> None:
    page = plain(render.html(listed, version="test", house=HouseStyle(units="US")))
    assert page.count("6.614 short tons") == 3, "of the line, among what is due now, and in all: the same digits"
    assert page.count("3 packs of 55 lb") == 3
    assert not [unit for unit in (" kg", " t ", "g/m²", "°C") if unit in page.partition("Weather on record")[0]]


@outside("library", "page-validation 0.11: rules of ISO 14289-1 and ISO 19005-3")
@pytest.mark.parametrize("profile", [page.ValidationProfile.PDF_UA_1, page.ValidationProfile.PDF_A_3A])
def test_the_document_keeps_the_standards(listed: DueList, profile: page.ValidationProfile) -> None:
    pdf = render.render(listed, version="test")
    assert page.validate_pdf_bytes(pdf, profile=profile).is_compliant
    assert pdf == render.render(listed, version="test"), "same content, same bytes"


def test_what_does_not_fit_the_pages_is_counted_and_stands_in_the_table(listed: DueList) -> None:
    (green,) = listed.greens
    whole = replace(listed, greens=tuple(replace(green, green=f"ALD-{number}") for number in range(1, 200)))
    report = render.view(whole, 12, version="test")
    printed = sum(len(one.rows) for one in report.greens)
    assert printed == 12
    assert plain(report.more) == f"{199 * len(green.items) - 12} further lines in the attached due.csv."
    (table,) = (file for file in csv_files(whole) if file.name == "due.csv")
    assert len(table.content.splitlines()) == 199 * len(green.items) + 1


@thorough
def test_a_green_that_is_given_up_later_is_still_listed(ready: Ready, workspace: Workspace) -> None:
    """On the day it is in play, as the order and its own condition report have it."""
    ready(("old.csv", "green,club,name,area_m2,closed_on\nALD-2,ALD,Old,800,2026-12-31\n"),
          ("gone.csv", "green,club,name,area_m2,closed_on\nALD-3,ALD,Gone,800,2026-08-28\n"))  # fmt: skip
    for asked in ({}, {"clubs": ["ALD"]}):
        listed = due_list(workspace, until=date(2026, 9, 30), today=TODAY, **asked)
        assert [one.green for one in listed.greens if one.club == "ALD"] == ["ALD-1", "ALD-2"]


AUTUMN = (
    "programme,green,operation,material,window_from,window_to,quantity\n"
    f"2027,ALD-1,top dressing,{MIX},2026-09-20,2026-10-10,5 t\n2027,ALD-1,hollow coring,,2026-10-05,2026-10-16,\n"
)


@pytest.mark.parametrize(
    ("until", "listed"), [("2026-09-19", []), ("2026-09-20", ["5 t"]), ("2026-10-31", ["5 t", "once"])]
)
@beyond(1)
def test_a_window_over_the_turn_of_the_season_is_listed_once_it_opens(
    ready: Ready, workspace: Workspace, until: str, listed: list[str]
) -> None:
    """The season of the day is that before the one it ends in: looked at alone, the renovation would not be due."""
    ready(("autumn.csv", AUTUMN))
    found = due_list(workspace, until=date.fromisoformat(until), today=TODAY)
    told = [plain(str(item.due.quantity)) for item in found.items if str(item.due.why).startswith("Programme 2027")]
    assert told == listed
    later = "What targets ask of season 2027 is not listed: season 2026 still runs."
    assert (later in found.missing) == (until > "2026-09-30")


@thorough
def test_documents_say_the_window_that_opens_before_the_season_ends(ready: Ready, workspace: Workspace) -> None:
    ready(("autumn.csv", AUTUMN))
    with Store(workspace.store, read_only=True) as store:
        said = due_next(green_records(read_records(store, ["ALD-1"]), "ALD-1", workspace.season("2026"), workspace))
    assert [one.operation for one in said if str(one.why).startswith("Programme 2027")] == ["top_dressing"]


def test_a_total_of_tonnes_is_told_to_the_kilogram() -> None:
    """As 4.0 t it would stand beside five packs of a tonne."""
    told = Total("mix", "t", 4.004, 5, "5 packs of 1,000 kg", 3, 0, 2)
    assert [printing._amount(one) for one in (told, replace(told, amount=1200.0), replace(told, unit="kg"))] == [
        "4.004 t", "1,200 t", "4.0 kg",
    ]  # fmt: skip


@pytest.mark.usefixtures("ready")
@thorough
def test_a_day_to_come_is_taken_as_the_order_takes_it(workspace: Workspace, call: Call) -> None:
    """Both speak of plans: what is logged by now counts, and where the records end is said. No figure is known then."""
    place = str(workspace.folder)
    code, text, told = parts(call, "due", "--as-of", "2126-09-10", "--until", "2126-09-30", "-w", place)
    assert (code, text.splitlines()[0]) == (0, "Due to 30 September 2126; as of 10 September 2126")
    assert "Records end on 28 August 2026: what was done after that is not known, and counts as open." in told
    code, _, told = parts(call, "order", "--as-of", "2126-09-10", "--to", "clubs", "-w", place)
    assert code == 0, told
    code, _, told = parts(call, "show", "ALD-1", "--as-of", "2126-09-10", "-w", place)
    assert code == 2
    assert "10 September 2126 is still to come." in told
    found = due_list(workspace, until=date(2026, 9, 20), today=TODAY, look=Look(as_of=date(2026, 9, 12)))
    report = render.view(found, version="test")
    assert plain(report.counted) == "As of 12 September 2026; records dated after 12 September 2026 are left out."
    assert any("Records end on 28 August 2026" in said for said in report.missing)
