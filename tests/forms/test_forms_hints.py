"""What to do about a fault in a form: what to write in its cell, and nothing of a source profile, which it lacks."""

from __future__ import annotations

import string
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from openpyxl.workbook import Workbook

from pipeline.common.faults import kind_of
from pipeline.forms.hints import IN_A_FORM, WITHOUT, of_a_form
from tests.forms.conftest import GREEN, Load_
from tests.forms.hand import Row, filled, say, write

ROWS: list[Row] = [
    {"Date": date(2026, 3, 16), "Operation": "Danced", "Quantity": "25"},
    {"Date": "03/04/2026", "Operation": "Mowing", "Material": "no such stuff", "Quantity": "2 ton"},
    {"Date": date(2026, 3, 18), "Operation": "Mowing", "Depth (mm)": "1,369"},
    {"Date": date(2026, 3, 18), "Operation": "Mowing and rolling"},
]


def log(book: Workbook) -> None:
    say(book["Job log"], "Green:", GREEN)
    write(book["Job log"], ROWS)


def test_faults_of_a_form_say_what_to_write_in_it(form: Callable[[str], Path], load_all: Load_) -> None:
    (result,) = load_all(filled(form("crew"), log))
    hints = dict(result.faults.select("code", "hint").rows())
    assert hints["amount.no_unit"] == "Write the unit behind it."
    assert hints["date.two_readings"] == (
        "Write the day as year-month-day (2024-03-15), or as a date of the spreadsheet."
    )
    assert hints["unit.ton"] == "Write tonnes or kg."
    assert hints["choice.unknown"].startswith("Write one of the known words: ")
    assert hints["operation.several"] == ("Give each a line of its own, with what was put on and the time it took.")
    assert [hint for hint in hints.values() if "profile" in hint] == []


@pytest.mark.parametrize("code", [*IN_A_FORM, *WITHOUT])
def test_nothing_is_left_of_a_profile(code: str) -> None:
    """The words that are cut are those the fault has; a fault of another wording would keep them."""
    kind = kind_of(code)
    parts = [part for text in (kind.template, kind.hint) for part in string.Formatter().parse(text)]
    facts = {name: "x" for _, name, _, _ in parts if name and name not in {"value", "column"}}
    whole = kind.at(2, "cell", "Column", **facts)
    (hint,) = of_a_form(whole)["hint"]
    assert "profile" in whole["hint"][0]
    assert "profile" not in hint
    assert hint.endswith((".", ": x."))
