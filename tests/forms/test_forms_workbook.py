"""What stands in a form: checks that agree with the fields, drop-downs of ranges, print layout, nothing that runs."""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import replace
from functools import cache
from typing import Any

import openpyxl
import pytest
from openpyxl.utils import column_index_from_string
from openpyxl.workbook import Workbook
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from pipeline.forms.about import LISTS, SHEET
from pipeline.forms.cells import defined_name, list_of, words_of
from pipeline.forms.description import FORMS, Form, form_of
from pipeline.forms.workbook import Names, form_workbook
from pipeline.publish.forms import names_of
from pipeline.store.register import Register
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS, Kind
from schemas.codes import fold, spellings
from schemas.field import Field
from tests.conftest import Load
from tests.forms.hand import header_row

NAMES = Names(
    greens=(("ALD-1", "Alder Brook Bowls Club, Main green (ALD-1)"), ("=X", "=1+1 (=X)")),
    clubs=(("ALD", "Alder Brook Bowls Club (ALD)"),),
    materials=("70/30 sand and soil", "@SUM(A1)", "=HYPERLINK(\"http://x\")", "+44", "-5"),
)  # fmt: skip
ALL_FORMS = (*FORMS, *(form_of(kind) for kind in KINDS.values()))
CHECKED = [(form, kind) for form in ALL_FORMS for kind in dict.fromkeys(table.record_kind for table in form.tables)]


def opened(form: Form, names: Names = NAMES) -> Workbook:
    return openpyxl.load_workbook(io.BytesIO(form_workbook(form, names)))


SHOWS_HEAD = re.compile(
    r"""=IF\('Visit'!\$B\$4="","…",'Visit'!\$B\$4\)&", """
    r""""&IF\('Visit'!\$B\$5="","…",IF\(ISNUMBER\('Visit'!\$B\$5\),"""
    r"""TEXT\('Visit'!\$B\$5,"yyyy-mm-dd"\),'Visit'!\$B\$5\)\)"""
)
"""The one formula of a form: green and date of the visit, shown on each of its sheets."""


@cache
def book_of(name: str) -> Workbook:
    """The form of that name with the names above, made once: to be read, never changed."""
    return opened(next(form for form in ALL_FORMS if form.name == name))


def checks_at(sheet: Worksheet, row: int, column: int) -> DataValidation | None:
    cell = sheet.cell(row, column).coordinate
    (found,) = [one for one in sheet.data_validations.dataValidation if cell in one.sqref] or (None,)
    return found


def bound(check: DataValidation) -> dict[str, Any]:
    """What a check lets in: kind of value, and the bounds with whether they are within."""
    if check.type in {"decimal", "whole"}:
        assert check.operator in {None, "between"}
        return {"whole": check.type == "whole", "low": float(check.formula1), "high": float(check.formula2)}
    assert check.type == "custom", check.type
    inner = re.sub(r'^OR\((.*),LEFT\(\w+,1\)="<"\)$', r"\1", check.formula1)
    found: dict[str, Any] = {"whole": "INT(" in inner, "less": inner != check.formula1}
    cells = set()
    for cell, sign, limit in re.findall(r"(\w+)(>=|<=|>)(-?[\d.]+)", inner):
        found[{">=": "low", "<=": "high", ">": "above"}[sign]] = float(limit)
        cells.add(cell)
    assert f"ISNUMBER({cells.pop()})" in inner and not cells
    return found


def expected(kind: Kind, field: Field) -> dict[str, Any]:
    limits = {"low": field.low, "high": field.high, "above": field.above}
    found: dict[str, Any] = {name: limit for name, limit in limits.items() if limit is not None}
    found["whole"] = field.type == "whole"
    if field.above is not None or field.low is None or (field.name == "value" and "below_limit" in kind.by_name):
        found["less"] = field.name == "value" and "below_limit" in kind.by_name
    return found


@pytest.mark.parametrize("form", ALL_FORMS, ids=lambda form: form.name)
def test_what_a_cell_lets_in_is_what_its_field_lets_in(form: Form) -> None:
    """A cell that refuses what loading takes, or takes what loading refuses, makes a form nobody trusts."""
    tried = 0
    for table in form.tables:
        kind, sheet = table.record_kind, book_of(form.name)[table.sheet]
        at, columns = header_row(sheet, *(kind.by_name[name].heading for name in table.columns))
        for name in table.columns:
            field = kind.by_name[name]
            for row in (at + 1, at + 2000):
                check = checks_at(sheet, row, columns[field.heading])
                offered = list_of(kind, field)
                if offered and (offered not in {"greens", "clubs"} or offered in NAMES.lists):
                    assert check is not None and check.type == "list", field.name
                    assert check.errorStyle == ("warning" if field.open else None)
                elif field.numeric:
                    assert check is not None and bound(check) == expected(kind, field), field.name
                elif field.type == "date":
                    assert check is not None and check.type == "custom"  # test_forms_days tries it
                else:
                    assert check is None
                assert check is None or (check.error and field.meaning[:200] in check.error)
                tried += 1
    assert tried


def test_laboratories_may_write_less_than() -> None:
    """A result below the limit is written with its sign; a cell of numbers alone would refuse it."""
    sheet = book_of("laboratory")["Soil tests"]
    at, columns = header_row(sheet, "Result")
    check = checks_at(sheet, at + 1, columns["Result"])
    assert check is not None
    cell = sheet.cell(at + 1, columns["Result"]).coordinate
    assert check.formula1 == f'OR(AND(ISNUMBER({cell}),{cell}>=-1,{cell}<=1000000),LEFT({cell},1)="<")'


@pytest.mark.parametrize("form", ALL_FORMS, ids=lambda form: form.name)
def test_drop_downs_are_ranges_with_names(form: Form) -> None:
    """An inline list is cut at 255 characters, and a comma in a name parts it in two."""
    book = book_of(form.name)
    named = {name: one.attr_text for name, one in book.defined_names.items()}
    lists = [check for sheet in book for check in sheet.data_validations.dataValidation if check.type == "list"]
    for check in lists:
        place = re.fullmatch(rf"{LISTS}!\$([A-Z]+)\$2:\$\1\$(\d+)", named[check.formula1])
        assert place, check.formula1
        column = column_index_from_string(place[1])
        sheet = book[LISTS]
        words = [sheet.cell(row, column).value for row in range(2, int(place[2]) + 1)]
        assert all(isinstance(word, str) and word for word in words)
        assert sheet.cell(int(place[2]) + 1, column).value is None
    assert lists or form.name in {"club", "weather-day", "weather-month"}
    assert {check.formula1 for check in lists} == {name for name in named if name.endswith("_list")}


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
def test_every_word_that_is_offered_is_understood(kind: Kind) -> None:
    for field in kind.asked:
        if field.choices:
            assert {fold(word) for word in words_of(field.choices)} <= set(spellings(field.choices))
            assert defined_name(field.choices) == f"{field.choices}_list"


def test_headings_are_known_and_stand_for_one_field_each() -> None:
    """Two columns of one heading could not be told apart on the way back."""
    for kind in KINDS.values():
        seen: dict[str, str] = {}
        for field in kind.asked:
            for header in {fold(name) for name in field.headers}:
                assert seen.setdefault(header, field.name) == field.name, f"{kind.name}: {header}"
            assert field.unit in field.heading


@pytest.mark.parametrize("form", ALL_FORMS, ids=lambda form: form.name)
def test_nothing_in_a_form_runs_but_what_shows_the_head(form: Form) -> None:
    """A material named =HYPERLINK(...) is words; so is whatever is chosen or typed into a cell for words."""
    for sheet in book_of(form.name):
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    assert SHOWS_HEAD.fullmatch(str(cell.value)), cell.value
                    assert sheet.title not in {LISTS, SHEET}
    for table in form.tables:
        kind, sheet = table.record_kind, book_of(form.name)[table.sheet]
        at, columns = header_row(sheet, *(kind.by_name[name].heading for name in table.columns))
        for name in table.columns:
            field = kind.by_name[name]
            shown = sheet.cell(at + 1, columns[field.heading]).number_format
            assert shown == ("General" if field.numeric else "@")


def test_names_that_begin_like_formulas_are_offered_as_words() -> None:
    sheet = book_of("crew")[LISTS]
    cells = {cell.value: cell.data_type for row in sheet.iter_rows() for cell in row if cell.value}
    for name in (*NAMES.materials, NAMES.greens[1][1]):
        assert cells[name] == "s"


@pytest.mark.parametrize("form", ALL_FORMS, ids=lambda form: form.name)
def test_sheets_print_on_a4_with_their_column_names_on_every_page(form: Form) -> None:
    book = book_of(form.name)
    assert all(len(sheet.title) <= 31 for sheet in book)
    for table in form.tables:
        sheet = book[table.sheet]
        at, _ = header_row(sheet, *(table.record_kind.by_name[name].heading for name in table.columns))
        assert sheet.page_setup.paperSize == 9
        assert (sheet.page_setup.fitToWidth or 1, sheet.page_setup.fitToHeight) == (1, 0)
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet.print_title_rows == f"${at}:${at}"
        assert sheet.freeze_panes == f"A{at + 1}"
        assert sheet.cell(at, 1).font.size == 11


def test_a_narrow_form_stands_upright_and_a_wide_one_lies_across() -> None:
    turned = {"speeds": ("Speeds", "portrait"), "crew": ("Job log", "landscape"), "survey": ("Levels", "portrait")}
    assert {name: (sheet, book_of(name)[sheet].page_setup.orientation) for name, (sheet, _) in turned.items()} == turned


def test_same_registers_make_the_same_bytes() -> None:
    first, second = (form_workbook(FORMS[3], NAMES) for _ in range(2))
    assert first == second
    with zipfile.ZipFile(io.BytesIO(first)) as parts:
        assert b"2000-01-01T00:00:00Z" in parts.read("docProps/core.xml")
    assert form_workbook(FORMS[3], replace(NAMES, greens=())) != first


def test_without_registers_a_form_asks_for_words(workspace: Workspace) -> None:
    """A drop-down of nothing would let nothing in."""
    book = opened(FORMS[0], Names())
    sheet = book["Job log"]
    at, columns = header_row(sheet, "Green", "Material", "Operation")
    assert checks_at(sheet, at + 1, columns["Green"]) is None
    assert checks_at(sheet, at + 1, columns["Material"]) is None
    assert checks_at(sheet, at + 1, columns["Operation"]) is not None
    assert "greens_list" not in book.defined_names


def test_greens_are_offered_by_name_and_those_given_up_are_not(county: Load, workspace: Workspace) -> None:
    county("more.csv", "green,club,name,closed_on\nALD-2,ALD,Old green,2019-10-01\nALD-3,ALD,,\n")
    with Store(workspace.store, read_only=True) as store:
        register: Register = store.register("10-01")
    names = names_of(register)
    assert names.greens == (
        ("ALD-3", "Alder Brook Bowls Club (ALD-3)"),
        ("ALD-1", "Alder Brook Bowls Club, Main green (ALD-1)"),
    )
    assert names.clubs == (("ALD", "Alder Brook Bowls Club (ALD)"),)
    assert names.materials == ("70/30 sand and soil", "spring granular 11-5-5 + 8 Fe")
