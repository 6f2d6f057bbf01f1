"""A form that comes back: filled in by a spreadsheet program it loads without a profile, every row accounted for."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import polars as pl
import pytest
from openpyxl.workbook import Workbook

from pipeline.forms.description import form_of
from pipeline.forms.workbook import form_workbook
from pipeline.load.result import FileResult
from pipeline.publish.forms import registered_names
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS, Kind
from schemas.codes import code_list
from tests.conftest import Load
from tests.forms.conftest import GREEN, Load_
from tests.forms.hand import Row, by_libreoffice, filled, say, write
from tests.records import sound
from tests.thorough import beyond, one_in, thorough

DAY = date(2026, 9, 14)
JOBS: list[Row] = [
    {"Date": date(2026, 3, 16), "Operation": "Hollow coring", "Depth (mm)": 80, "Tine (mm)": 12,
     "Spacing along (mm)": 50},
    None,
    {"Date": date(2026, 3, 17), "Operation": "Fertilising", "Material": "spring granular 11-5-5 + 8 Fe",
     "Quantity": "2 x 25 kg", "Logged by": "crew B", "Note": "=1+1"},
]  # fmt: skip


def crew(book: Workbook) -> None:
    sheet = book["Job log"]
    say(sheet, "Green:", GREEN)
    say(sheet, "Logged by:", "crew A")
    at = write(sheet, JOBS)
    for row in sheet.iter_rows(min_row=at):
        for cell in row:
            if cell.value == "=1+1":  # openpyxl takes it for a formula; a hand writes it into a cell of text
                cell.data_type = "s"


def laboratory(book: Workbook) -> None:
    sheet = book["Soil tests"]
    say(sheet, "Green:", GREEN)
    say(sheet, "Date:", date(2026, 2, 10))
    say(sheet, "Lab:", "Lab A")
    results: list[Row] = [
        {
            "Sample": "01",
            "Analyte": "Organic matter",
            "Depth from (mm)": 0,
            "Depth to (mm)": 20,
            "Result": 4.8,
            "Unit": "%",
        },
        {"Sample": "01", "Analyte": "Phosphorus", "Extractant": "Mehlich 3", "Result": "<5", "Unit": "mg/kg"},
    ]
    write(sheet, results)
    sieves = book["Sieves"]
    say(sieves, "Date:", date(2026, 2, 10))
    say(sieves, "Basis:", "Passing")
    say(sieves, "Unit:", "%")
    write(sieves, [{"Green": GREEN, "Sample": "R-2", "Size (mm)": 0.25, "Value": 25}])


def speeds(book: Workbook) -> None:
    sheet = book["Speeds"]
    said = (("Green:", GREEN), ("Date:", date(2026, 6, 20)), ("Device:", "Timed bowl"), ("Unit:", "s"))
    for label, value in said:
        say(sheet, label, value)
    write(sheet, [{"Rink": "3", "Direction": "N", "Reading": 12.4}, {"Rink": "3", "Direction": "S", "Reading": 12.9}])


def survey(book: Workbook) -> None:
    for label, value in (("Green:", GREEN), ("Date:", DAY), ("Survey:", "S-26")):
        say(book["Visit"], label, value)
    say(book["Levels"], "Benchmark:", "pavilion step")
    points = [(x, y) for x in (0, 19, 38) for y in (0, 19, 38)]
    write(book["Levels"], [{"Across (m)": x, "Along (m)": y, "Height (mm)": 1000 + x + y} for x, y in points])
    write(book["Counts"], [{"Place": "Q1", "What": "Moss", "Method": "Point quadrat", "Hits": 3, "Points": 100}])
    cores: list[Row] = [
        {"Place": "C1", "What": "Depth of thatch", "Reading": 12, "Unit": "mm"},
        {"Place": "C1", "What": "Layer of a core", "Layer": "thatch", "Depth from (mm)": 0, "Depth to (mm)": 12},
    ]
    write(book["Cores"], cores)
    ring = {"Place": "C1", "Method": "Double ring, constant head", "Inner ring (mm)": 300, "Water (ml)": 1060}
    write(book["Rings"], [{**ring, "Time (min)": 10}])
    say(book["Hammer"], "Hammer (kg):", 2.25)
    say(book["Hammer"], "Unit:", "gravities")
    write(book["Hammer"], [{"Place": "C1", "Drop": 1, "Reading": 80}, {"Place": "C1", "Drop": 4, "Reading": 95}])
    for label, value in (("Method:", "Moisture probe"), ("Depth from (mm):", 0), ("Depth to (mm):", 60)):
        say(book["Moisture"], label, value)
    write(book["Moisture"], [{"Place": "C1", "Reading": 28.5}])


FILLED: dict[str, tuple[Callable[[Workbook], None], dict[str, tuple[str, int]]]] = {
    "crew": (crew, {"crew": ("job", 2)}),
    "laboratory": (laboratory, {"laboratory [Soil tests]": ("soil_test", 2), "laboratory [Sieves]": ("sieve", 1)}),
    "speeds": (speeds, {"speeds": ("green_speed", 2)}),
    "survey": (
        survey,
        {
            "survey [Counts]": ("observation", 1),
            "survey [Cores]": ("observation", 2),
            "survey [Rings]": ("observation", 1),
            "survey [Hammer]": ("observation", 2),
            "survey [Moisture]": ("observation", 1),
            "survey [Levels]": ("level", 9),
        },
    ),
}


def told(results: list[FileResult], suffix: str) -> dict[str, tuple[str, int]]:
    """What was loaded of each sheet; nothing is said of any, and no row is more or less than was written."""
    for one in results:
        assert one.faults.is_empty(), one.faults["message"].to_list()
        assert (one.profile, one.counts.rows) == ("", one.counts.loaded)
    return {one.file.replace(f".{suffix}", ""): (one.kind, one.counts.loaded) for one in results}


@pytest.mark.parametrize("name", FILLED)
@beyond(2)
def test_a_filled_form_loads_without_a_profile(form: Callable[[str], Path], load_all: Load_, name: str) -> None:
    """Blank rows, those between others too, are no data; the sheets of lists and of words are none either."""
    fill, expected = FILLED[name]
    path = filled(form(name), fill)
    assert told(load_all(path), "xlsx") == expected
    again = load_all(path)
    assert [one.counts.unchanged for one in again] == [count for _, count in expected.values()]
    assert not any(one.counts.effect for one in again)


@pytest.mark.parametrize("suffix", ["xlsx", "ods"])
@beyond(1)
def test_forms_saved_by_a_spreadsheet_program_load_the_same(
    form: Callable[[str], Path], load_all: Load_, soffice: str, tmp_path: Path, suffix: str
) -> None:
    """LibreOffice writes every byte anew: its own shared strings, styles, merged cells and dates."""
    paths = [filled(form(name), fill) for name, (fill, _) in FILLED.items()]
    saved = by_libreoffice(soffice, paths, suffix, tmp_path / "saved")
    assert told(load_all(*saved), suffix) == {
        file: of for _, expected in FILLED.values() for file, of in expected.items()
    }


def stored(workspace: Workspace, kind: str, *names: str) -> list[tuple[Any, ...]]:
    with Store(workspace.store, read_only=True) as store:
        return store.rows(f"SELECT {', '.join(names)} FROM {kind} ORDER BY load_id, line")


def test_the_head_holds_where_a_row_says_nothing_itself(
    form: Callable[[str], Path], load_all: Load_, workspace: Workspace
) -> None:
    load_all(filled(form("crew"), crew))
    rows = stored(workspace, "job", "date", "green", "operation", "logged_by", "depth_mm", "mass_kg", "note", "line")
    assert rows == [
        (date(2026, 3, 16), "ALD-1", "hollow_coring", "crew A", 80, None, None, 7),
        (date(2026, 3, 17), "ALD-1", "fertilising", "crew B", None, 50, "=1+1", 9),
    ]


@thorough
def test_what_a_visit_says_once_is_in_all_its_records(
    form: Callable[[str], Path], load_all: Load_, workspace: Workspace
) -> None:
    load_all(filled(form("survey"), survey))
    held = stored(
        workspace, "observation", "date", "green", "survey", "observed", "method", "hammer_kg", "value", "unit"
    )
    assert {row[:3] for row in held} == {(DAY, "ALD-1", "S-26")}
    assert [row[3:6] for row in held] == [
        ("moss", "point_quadrat", None),
        ("thatch_depth", "core", None),
        ("layer", "core", None),
        ("infiltration", "constant_head", None),
        ("hardness", "impact_hammer", 2.25),
        ("hardness", "impact_hammer", 2.25),
        ("moisture", "moisture_probe", None),
    ]
    ring_mm_h = 1060 * 1000 / (math.pi * 150**2) / (10 / 60)  # the water over the inner ring, an hour
    assert [row[6] for row in held] == [3, 12, 12, pytest.approx(ring_mm_h, rel=1e-6), 80, 95, 28.5]
    assert [row[7] for row in held] == ["%", "mm", "mm", "mm/h", "gravities", "gravities", "%"]
    assert set(stored(workspace, "level", "benchmark")) == {("pavilion step",)}


@pytest.mark.parametrize("kind", one_in(3, KINDS.values()), ids=lambda kind: kind.name)
def test_every_kind_has_a_form_that_loads(
    county: Load, load_all: Load_, workspace: Workspace, tmp_path: Path, kind: Kind
) -> None:
    """A kind needs no code for its form: each field that may be asked for has a column under its own heading."""
    form = form_of(kind)
    path = tmp_path / f"{form.name}.xlsx"
    path.write_bytes(form_workbook(form, registered_names(workspace)))
    if kind.name == "photo":
        county("photos.csv", "date,green,picture\n")
        from PIL import Image

        Image.new("RGB", (60, 40), "green").save(tmp_path / "moss.png")
    row = {name: value for name, value in sound(kind).items() if value is not None and kind.by_name[name].asked}
    known = {"green": "ALD-1", "club": "ALD", "material": "70/30 sand and soil"}
    for name, value in row.items():
        one = kind.by_name[name]
        if one.choices:
            row[name] = code_list(one.choices)[value].label
        elif one.refers:
            row[name] = known[one.refers]
    row |= {
        "target": {"indicator": "dressing_kg_m2", "scope": "Standard", "unit": "kg/m²", "low": 3, "high": 6},
        "observation": {"unit": "%"},
        "photo": {"picture": "moss.png"},
    }.get(kind.name, {})
    cells = {kind.by_name[name].heading: value for name, value in row.items()}
    (done,) = load_all(filled(path, lambda book: write(book[form.title], [cells])))
    assert done.kind == kind.name
    assert done.counts.loaded == 1, done.faults["message"].to_list()
    assert "header.unused" not in done.faults["code"]


def test_no_row_filled_in_is_said(form: Callable[[str], Path], load_all: Load_) -> None:
    (done,) = load_all(form("survey"))
    assert done.counts.rows == 0
    said = done.faults.select("severity", "message", "hint").row(0)
    assert said == (
        "warning",
        "No row of the form is filled in.",
        "Nothing to load. Check that the filled form was saved.",
    )


def _blank_green(book: Workbook) -> None:
    survey(book)
    say(book["Visit"], "Green:", None)


def _wrong_date(book: Workbook) -> None:
    survey(book)
    say(book["Visit"], "Date:", "3/4/2026")


def _no_label(book: Workbook) -> None:
    survey(book)
    for row in book["Visit"].iter_rows():
        for cell in row:
            if cell.value == "Date:":
                cell.value = "When:"


def _other_header(book: Workbook) -> None:
    crew(book)
    for row in book["Job log"].iter_rows():
        for cell in row:
            if cell.value == "Depth (mm)":
                cell.value = "Depth (inches)"


def _another_sheet(book: Workbook) -> None:
    crew(book)
    book.create_sheet("April", 1)["B2"] = "spiked on the 3rd"


def _other_kind(book: Workbook) -> None:
    crew(book)
    for row in book["About this form"].iter_rows():
        if row[0].value == "table":
            row[2].value = "jobs"


def _edition(book: Workbook) -> None:
    crew(book)
    book["About this form"]["D2"] = "7"


WRONG = {
    "the green of a visit left blank": (
        "survey", _blank_green, "survey.xlsx [Counts]",
        "The head of the form, line 4, says nothing behind “Green:”, and the rows need it.",
        "Fill it in: it holds for every row under it.",
    ),
    "a date that can be read two ways": (
        "survey", _wrong_date, "survey.xlsx [Counts]",
        "The head of the form, line 5, says Date “3/4/2026”. 3/4/2026 can be read as 2026-04-03 (day-month-year) or "
        "2026-03-04 (month-day-year); nothing says which.",
        "Mend it in the head: it holds for every row under it.",
    ),
    "words of the head gone": (
        "survey", _no_label, "survey.xlsx [Counts]",
        "The head of the form says nothing behind “Date:” any more: the words are gone.",
        "Write “Date:” back over the table, and what it is in the cell to the right.",
    ),
    "a column renamed to another unit": (
        "crew", _other_header, "crew.xlsx",
        "The form's column “Depth (mm)” is not in the sheet any more.",
        "Put the column name back where it stood, or copy the rows into a fresh form (forms).",
    ),
    "a sheet that is none of the form's": (
        "crew", _another_sheet, "crew.xlsx [April]",
        "The sheet “April” is not one of the form's (“Job log”), so nothing of it was read.",
        "Move its rows to the form's sheet, name it as a copy of that (“Job log (2)”), or delete it.",
    ),
    "a kind that is not known": (
        "crew", _other_kind, "crew.xlsx",
        "The sheet “About this form” says kind “jobs”, which is not known here.",
        "Leave that sheet as it was made: copy the rows into a fresh form (forms).",
    ),
    "an edition to come": (
        "crew", _edition, "crew.xlsx",
        "The sheet “About this form” is of edition “7”, and this version reads edition 1.",
        "Fill in a form that this version makes (forms), or load with the version that made this one.",
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", WRONG)
def test_a_form_that_says_too_little_is_refused_in_words(
    form: Callable[[str], Path], load_all: Load_, what: str
) -> None:
    """Nothing of such a sheet is taken, and it is counted: a head half read would put rows on another day or green."""
    name, fill, file, message, hint = WRONG[what]
    done = {one.file: one for one in load_all(filled(form(name), fill))}[file]
    errors = done.faults.filter(pl.col("severity") == "error")
    assert errors.select("line", "message", "hint").rows() == [(None, message, hint)]
    assert (done.failed, done.counts.loaded) == (True, 0)


def test_a_sheet_that_is_left_out_is_said_each_time(form: Callable[[str], Path], load_all: Load_) -> None:
    """The rest of the workbook stands in the store by then; that does not make the sheet read."""
    path = filled(form("crew"), _another_sheet)
    first, second = ([(one.file, one.failed) for one in load_all(path)] for _ in range(2))
    assert first == second == [("crew.xlsx", False), ("crew.xlsx [April]", True)]


def test_a_form_closes_nothing(form: Callable[[str], Path], load_all: Load_, workspace: Workspace) -> None:
    """One sheet of a visit declared complete would end what the others hold of the same days."""
    load_all(filled(form("survey"), survey))
    done = load_all(filled(form("survey"), survey), complete=(DAY, DAY))
    assert [one.counts.closed for one in done] == [0] * len(done)
    said = {row for one in done for row in one.faults.select("severity", "message", "hint").rows()}
    assert said == {
        ("warning", "A form is never all there is of its days, so no record was closed.", "Load it without --complete.")
    }
    assert len(stored(workspace, "observation", "value")) == 7


def test_a_copied_sheet_is_the_forms_own_with_a_head_of_its_own(
    form: Callable[[str], Path], load_all: Load_, workspace: Workspace
) -> None:
    """A sheet a month, as crews keep them; one left out would be lost in silence."""

    def fill(book: Workbook) -> None:
        crew(book)
        copy = book.copy_worksheet(book["Job log"])
        copy.title = "Job log (2)"
        say(copy, "Logged by:", "crew C")
        write(
            copy,
            [{"Date": date(2026, 4, 2), "Operation": "Mowing"}, None, {"Date": date(2026, 4, 3), "Quantity": None}],
        )

    done = {one.file: one for one in load_all(filled(form("crew"), fill))}
    assert done["crew.xlsx"].counts.loaded == 2
    copied = done["crew.xlsx [Job log (2)]"]
    assert (copied.counts.loaded, copied.counts.rejected, copied.counts.rows) == (2, 0, 2)
    with Store(workspace.store, read_only=True) as store:
        crews = store.rows("SELECT DISTINCT logged_by FROM job ORDER BY 1")
    assert crews == [("crew A",), ("crew B",), ("crew C",)]


def test_rows_and_head_may_have_moved(form: Callable[[str], Path], load_all: Load_) -> None:
    """A line put in over the table moves all below; a form that counted lines would read the head as records."""

    def fill(book: Workbook) -> None:
        speeds(book)
        sheet = book["Speeds"]
        for merged in list(sheet.merged_cells.ranges):
            sheet.unmerge_cells(str(merged))
        sheet.insert_rows(1, 2)

    assert told(load_all(filled(form("speeds"), fill)), "xlsx") == {"speeds": ("green_speed", 2)}


def test_a_workbook_that_only_speaks_of_forms_is_read_as_ever(county: Load, tmp_path: Path, load_all: Load_) -> None:
    """A sheet named so that holds something else makes no form."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["date", "green", "operation"])
    sheet.append(["2026-03-16", "ALD-1", "mowing"])
    book.create_sheet("About this form")["A1"] = "What"
    path = tmp_path / "jobs.xlsx"
    book.save(path)
    done = load_all(path)[0]
    assert (done.file, done.kind, done.counts.loaded) == ("jobs.xlsx", "job", 1)
