"""Names that a spreadsheet would run: what we write of them runs nowhere, and loads back as the very same names.

Source of the characters: OWASP, "CSV Injection".
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.common.spreadsheet_cells import GUARDED
from pipeline.load.result import FileResult
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from reports.page.attachments import csv_bytes
from tests.conftest import Load
from tests.forms.hand import by_libreoffice
from tests.thorough import examples

COLUMNS = {
    "stock": ("material", "depot", "counted_on", "on_order", "reference", "mass_kg", "note"),
    "planned_work": ("programme", "green", "operation", "material", "window_from", "window_to", "reference", "note"),
    "price": ("material", "supplier", "pack", "price", "note"),
}
SIGNS = ("=1+1", "+grit", "-loam", "@mix", "'=x", "''@y", "'plain", "＝wide", "＠wide", "'-5", "a;=1+1")
_MARKS = st.text("=+-@'＝＠1;,\"", max_size=4)
NAMES = st.builds("{}a{}".format, _MARKS, _MARKS)
"""With a letter: a dash alone, or a quote, is a blank cell."""
AS_TEXT = "CSV:44/59/9,34,76"
"""UTF-8, cells parted at commas, semicolons and tabs, all three of which the dialogue of opening a text offers."""
APART = {"max_examples": examples(2, 8), "suppress_health_check": [HealthCheck.function_scoped_fixture]}


def rows_of(kind: str, names: Sequence[str]) -> list[tuple[str, ...]]:
    """A row a name, under the columns of a kind."""
    rows = []
    for number, name in enumerate(names):
        row = {
            "stock": (name, name, "2026-10-20", "yes", f"{name} {number}", f"{number + 1}", name),
            "planned_work": (name, "ALD-1", "mowing", name, "2027-04-01", "2027-04-09", f"{name} {number}", name),
            "price": (f"{name} {number}", name, "25 kg", "12.5", name),
        }
        rows.append(row[kind])
    return rows


def plainly(columns: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    """The rows as a person's own file holds them."""
    out = io.StringIO(newline="")
    csv.writer(out).writerows([columns, *rows])
    return out.getvalue()


def warned(result: FileResult) -> list[tuple[int, str, str]]:
    some = result.faults.filter(result.faults["code"] == "cell.apostrophe")
    return some.select("line", "column", "value").rows()


@pytest.mark.parametrize("kind", COLUMNS)
@settings(**APART)
@given(names=st.lists(NAMES, min_size=1, max_size=12, unique=True))
def test_what_we_write_loads_back_as_the_same_records(county: Load, kind: str, names: list[str]) -> None:
    """A name with an apostrophe more is another material: bought again, and never matched with the work it is for."""
    columns, rows = COLUMNS[kind], rows_of(kind, names)
    by_hand = county("by hand.csv", plainly(columns, rows), kind=kind)
    assert not by_hand.counts.rejected, by_hand.as_json()
    ours = county("ours.csv", csv_bytes(columns, rows), kind=kind)
    assert (ours.counts.unchanged, ours.counts.rejected) == (len(rows), 0), ours.as_json()
    assert not warned(ours)


def test_a_persons_own_apostrophe_stays_and_is_told(county: Load, workspace: Workspace) -> None:
    """Whether it is part of the name nobody can tell: it is kept, and said."""
    columns = COLUMNS["stock"]
    done = county("count.csv", plainly(columns, rows_of("stock", ["'+grit", "+grit", "'plain"])))
    assert {(line, column) for line, column, _ in warned(done)} == {
        (2, "material"), (2, "depot"), (2, "reference"), (2, "note"),
    }  # fmt: skip
    with Store(workspace.store, read_only=True) as store:
        held = store.rows("SELECT material, depot, note FROM stock ORDER BY mass_kg")
    assert held == [(name,) * 3 for name in ("'+grit", "+grit", "'plain")]


def test_a_file_of_another_program_can_say_what_its_apostrophes_are(county: Load, workspace: Workspace) -> None:
    """The hint of the warning: an empty column with that header."""
    text = f"material,depot,counted_on,mass_kg,{GUARDED}\n'+grit,yard,2026-10-20,5,\n'plain,yard,2026-10-20,6,\n"
    assert not warned(county("count.csv", text))
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT material FROM stock ORDER BY mass_kg") == [("+grit",), ("'plain",)]


def test_a_file_with_nothing_to_guard_has_its_own_columns_alone() -> None:
    assert csv_bytes(("material", "mass_kg"), [("loam", -5.5), ("-3.2", None)]) == (
        b"\xef\xbb\xbfmaterial,mass_kg\r\nloam,-5.5\r\n-3.2,\r\n"
    )


def test_headers_and_rows_that_are_no_rows_are_guarded_among_the_rejected(county: Load, workspace: Workspace) -> None:
    """A header is a user's text too; a row of another length was guarded once more with each rejection."""
    text = "date,green,operation,note,=1+1\n2026-05-05,ALD-1,moing,+a,\n2026-05-06,ALD-1,mowing,+b\n"
    first = county("log.csv", text)
    assert first.rejects_file is not None
    written = first.rejects_file.read_text("utf-8-sig")
    assert written.startswith("date,green,operation,note,'=1+1,line,")
    long = written.replace("2026-05-06,ALD-1,mowing,'+b", "2026-05-06,ALD-1,mowing,'+b,,,,,,,")
    again = county("log.rejected.csv", long)
    assert again.rejects_file is not None
    assert "'+b" in again.rejects_file.read_text("utf-8-sig")
    assert "''+b" not in again.rejects_file.read_text("utf-8-sig")
    mended = written.replace("moing", "mowing")
    assert county("log.rejected.csv", mended).counts.rejected == 0
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT note FROM job ORDER BY date") == [("+a",), ("+b",)]


def test_nothing_runs_in_a_spreadsheet_and_what_it_saves_loads_the_same(
    county: Load, soffice: str, tmp_path: Path
) -> None:
    """LibreOffice opens what we wrote: no cell is a formula, and what it saves holds the same records."""
    columns = COLUMNS["stock"]
    ours = csv_bytes(columns, rows_of("stock", SIGNS))
    assert county("ordered.csv", ours).counts.loaded == len(SIGNS)
    (saved,) = by_libreoffice(soffice, [tmp_path / "ordered.csv"], "xlsx", tmp_path / "saved", read=AS_TEXT)
    sheet = openpyxl.load_workbook(saved).active
    assert sheet is not None
    assert not [cell.coordinate for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]
    again = county("ordered.xlsx", saved.read_bytes())
    assert (again.counts.unchanged, again.counts.rejected) == (len(SIGNS), 0), again.as_json()
