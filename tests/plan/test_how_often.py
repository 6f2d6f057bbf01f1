"""How often a source leaves open is not once: neither written, priced, called done nor ordered as once, and said."""

from __future__ import annotations

import csv
import io
from datetime import date
from pathlib import Path

import pytest

from pipeline.cli.printing.costs import costs as print_costs
from pipeline.cli.printing.planning import programme as print_programme
from pipeline.plan.entries import Place
from pipeline.plan.from_targets import Asked, Goal
from pipeline.plan.ordering.placing import Request, place_order
from pipeline.plan.programme import AT_ONCE, Sources, programme
from pipeline.plan.sheet import NOT_COUNTED, rows
from pipeline.plan.templates import templates
from pipeline.plan.templates.model import Line, Template
from pipeline.plan.works import HOW_OFTEN
from pipeline.publish.costs import costs
from pipeline.publish.due import due_list
from pipeline.publish.priced import price_loaded, price_made
from pipeline.publish.programme import Wanted, write_programme
from pipeline.workspace.settings import Season, Workspace
from reports.programme.data import LINES, line_rows
from reports.programme.render import view
from tests.conftest import Load
from tests.plan.test_programme_command import read_back
from tests.reports.conftest import VERSION
from tests.thorough import beyond, thorough

SEASON = Season.from_day(date(2026, 10, 1))
RATES = "rate_of,operation,amount,output_m2_h\nlabour,,20,\nmachine,,5,\noutput,mowing,,400\noutput,top_dressing,,400\n"
JOBS = "date,green,operation\n2026-02-01,ALD-1,mowing\n"
OPEN = f"Mowing: {HOW_OFTEN}"


@pytest.fixture
def logged(county: Load, workspace: Workspace) -> Workspace:
    for name, text in (("rates.csv", RATES), ("jobs.csv", JOBS)):
        assert not county(name, text).failed
    return workspace


def replaced(one: Template) -> Template:
    """The template for any green."""
    return one.model_copy(update={"shape": (), "construction": (), "grass": (), "hemisphere": "north"})


LEFT_OPEN = [
    (name, number)
    for name, each in templates().items()
    for number, line in enumerate(each.line)
    if line.times is None and line.a_week is None
]


def test_templates_leave_some_open() -> None:
    named = {name for name, _ in LEFT_OPEN}
    assert {"gma-season", "soil-winter", "institute-year", "crown-season"} <= named
    assert "trade-season-close" not in named, "so often a week is a number"


@pytest.mark.parametrize(("name", "number"), LEFT_OPEN, ids=[f"{name}-{number}" for name, number in LEFT_OPEN])
def test_no_line_of_any_template_is_once_where_it_leaves_that_open(name: str, number: int) -> None:
    """The line by itself, written as a row: times is empty, and says that it is; an amount or size there is none."""
    whole = templates()[name]
    alone = replaced(whole).model_copy(update={"line": (whole.line[number],)})
    place = Place("ALD-1", area_m2=1600.0)
    made = programme(place, SEASON, SEASON.start, Sources([alone]))
    (entry,), (row,) = made.entries, rows(made)
    assert (entry.times, entry.work.times, entry.work.size) == (None, None, None)
    assert entry.work.unsized.startswith(HOW_OFTEN)
    assert (row["times"], row["times_open"], row["mass_kg"], row["hours"]) == (None, "yes", None, None)
    assert NOT_COUNTED in str(row["note"])


def test_a_rate_without_a_number_of_times_is_kept_as_a_rate() -> None:
    """What a line says is written: 35 g/m² each time; how much that is in all is not known."""
    line = Line(operation="overseeding", first="09-16", last="10-15", sort="seed", rate_g_m2=35.0)  # type: ignore[arg-type]
    whole = replaced(templates()["seed-house-autumn"]).model_copy(update={"line": (line,)})
    made = programme(Place("ALD-1", area_m2=1600.0), SEASON, SEASON.start, Sources([whole]))
    (row,) = rows(made)
    assert (row["times"], row["times_open"], row["rate_g_m2"], row["mass_kg"]) == (None, "yes", 35.0, None)


def test_it_is_said_in_the_terminal_the_sheet_and_the_document(
    logged: Workspace, capsys: pytest.CaptureFixture[str]
) -> None:
    made = write_programme(logged, "ALD-1", "2026", Wanted(templates=["gma-season"], targets=False))
    print_programme(made, quiet=False)
    shown = capsys.readouterr()
    assert f"not known: {HOW_OFTEN}" in shown.out
    assert "once" not in shown.out
    assert "1 line leaves open how often: hours, amount and cost are not known until times is filled in." in shown.err
    (row,) = csv.DictReader(io.StringIO(made.files[1].read_text("utf-8-sig")))
    assert (row["times"], row["times_open"]) == ("", "yes")
    assert NOT_COUNTED in row["note"]
    document = price_made(logged, "ALD-1", made.programmes).programme
    said_by(document.quotation.without)
    page = view(document, version=VERSION)
    assert page.months[0].works.startswith(OPEN)
    assert (page.tables[0].rows[0].amount, page.tables[0].rows[0].hours) == (HOW_OFTEN, "–")
    assert any(NOT_COUNTED in note for note in page.notes)
    (told,) = line_rows(document)
    assert told[list(LINES).index("times")] is None


def said_by(without: tuple[str, ...]) -> None:
    assert f"labour and machines of mowing ({HOW_OFTEN})" in without


@pytest.mark.parametrize("file", [0, 1], ids=["workbook", "CSV"])
@beyond(1)
def test_loaded_back_it_is_still_not_known_until_a_person_says_it(
    logged: Workspace, county: Load, file: int, capsys: pytest.CaptureFixture[str]
) -> None:
    """Due, costs and programme say so; 90 cuts of 1,600 m² at 400 m²/h are 360 h once somebody writes 90."""
    made = write_programme(logged, "ALD-1", "2026", Wanted(templates=["gma-season"], targets=False))
    (line,) = read_back(logged, made.files[file])
    assert (line.times, line.size, line.unsized) == (None, None, HOW_OFTEN)
    document = price_loaded(logged, "ALD-1", "2026").programme
    said_by(document.quotation.without)
    assert (document.hours.value, document.quotation.before_vat) == (None, 0)
    print_costs(costs(logged, "ALD-1", "2026"), quiet=False)
    assert f"2026 planned, cost not known of 1 work (mowing): {HOW_OFTEN}." in capsys.readouterr().out
    listed = due_list(logged, ["ALD-1"], until=date(2026, 5, 31), today=date(2026, 2, 1))
    (item,) = (one for one in listed.items if one.due.operation == "mowing")
    assert (item.due.quantity, item.hours.why, item.cost.value) == (HOW_OFTEN, HOW_OFTEN, None)
    sheet = made.files[1]
    head, *lines = csv.reader(io.StringIO(sheet.read_text("utf-8-sig")))
    lines[0][head.index("times")] = "90"
    out = io.StringIO()
    csv.writer(out).writerows([head, *lines])
    sheet.write_text(out.getvalue(), "utf-8")
    (line,) = read_back(logged, sheet)
    assert (line.times, line.size, line.unsized) == (90, 90, "")
    assert costs(logged, "ALD-1", "2026").whole.plan.hours.value == 360


def test_one_job_does_not_make_it_done(logged: Workspace, county: Load) -> None:
    """A season's mowing is not over with the first cut; when its window has passed nothing more is due."""
    made = write_programme(logged, "ALD-1", "2026", Wanted(templates=["gma-season"], targets=False))
    read_back(logged, made.files[1])
    days = ("2026-05-03", "2026-05-06", "2026-05-10")
    assert not county("cuts.csv", "date,green,operation\n" + "".join(f"{one},ALD-1,mowing\n" for one in days)).failed
    (item,) = (one for one in due_list(logged, ["ALD-1"], today=date(2026, 5, 10)).items if one.due.state == "due")
    assert item.due.quantity == f"{HOW_OFTEN}, 3 times logged since 1 May 2026"
    assert (item.due.low, item.hours.value, item.cost.value) == (None, None, None)
    assert not county("later.csv", "date,green,operation\n2026-09-20,ALD-1,slitting\n").failed
    assert not [one for one in due_list(logged, ["ALD-1"], today=date(2026, 9, 20)).items if one.due.state]


@thorough
def test_what_is_put_on_so_is_not_ordered(county: Load, workspace: Workspace) -> None:
    """A feed of 25 kg each time, and nobody says how often: neither one bag nor none, but stopped with the reason."""
    plan = (
        "programme,green,operation,material,window_from,window_to,times,times_open,mass_kg\n"
        "2026,ALD-1,fertilising,feed,2026-04-01,2026-04-30,,yes,25\n"
    )
    files = {
        "materials": "material,sort,form,pack\nfeed,fertiliser,solid,25 kg\n",
        "plan": plan,
        "prices": "material,supplier,pack,price,carriage\nfeed,a,25 kg,30,0\n",
        "jobs": JOBS,
    }
    for name, text in files.items():
        assert not county(f"{name}.csv", text).failed
    made = place_order(workspace, Request(season="2026", as_of=date(2026, 3, 1))).order
    assert not made.suppliers
    assert [(one.material, one.greens, one.reason) for one in made.stopped] == [("feed", ("ALD-1",), HOW_OFTEN)]
    (item,) = (one for one in due_list(workspace, ["ALD-1"], until=date(2026, 4, 30), today=date(2026, 2, 1)).items
               if one.due.material)  # fmt: skip
    assert (item.due.quantity, item.due.low) == (f"amount not known: {HOW_OFTEN}", None)


def test_blank_times_stay_once(workspace: Workspace, county: Load, tmp_path: Path) -> None:
    """A list that leaves times blank says once, as docs/records.md has it; a yes in times_open alone opens it."""
    told = {"": 1.0, "no": 1.0, "yes": None}
    lines = (f"2026,ALD-1,slitting,{at},2026-0{at}-01,2026-0{at}-20,,{word}\n" for at, word in enumerate(told, start=1))
    path = tmp_path / "plan.csv"
    path.write_text(
        "programme,green,operation,reference,window_from,window_to,times,times_open\n" + "".join(lines), "utf-8"
    )
    assert [one.times for one in read_back(workspace, path)] == list(told.values())


@thorough
def test_a_draft_is_priced_as_it_is_once_loaded(logged: Workspace) -> None:
    """Twelve light dressings were twelve dressings of material and one of labour, until the sheet was loaded."""
    wanted = Wanted(templates=["sand-light-dressing"], targets=False)
    made = write_programme(logged, "ALD-1", "2026", wanted)
    before = price_made(logged, "ALD-1", made.programmes).programme
    read_back(logged, made.files[1])
    after = price_loaded(logged, "ALD-1", "2026").programme
    assert before.hours.value == after.hours.value == 12 * 1600 / 400
    assert before.quotation.before_vat == after.quotation.before_vat


def test_an_amount_that_a_target_gives_is_planned_at_once_and_says_so() -> None:
    """Of a target the amount is known, so that the material can be bought; how it is shared out a person decides."""
    line = Line(operation="fertilising", first="04-01", last="05-15", sort="fertiliser", n_pct=10.0)  # type: ignore[arg-type]
    whole = replaced(templates()["feeding-spring-led"]).model_copy(update={"line": (line,)})
    goal = Goal("fertilising", 5.0, None, met=False, basis="target: 5 kg", entries=())
    place = Place("ALD-1", area_m2=1600.0)
    asked = Asked(goals=(goal,), others=(), single_dose=(5.0, "a source"))
    made = programme(place, SEASON, SEASON.start, Sources([whole], asked))
    (one,) = made.entries
    assert (one.work.size, one.times, one.lacking) == (50.0, 1.0, "")
    assert AT_ONCE in one.work.basis
    assert NOT_COUNTED not in str(rows(made)[0]["note"])
