"""A record kind is one new file and one registration: the file of DEVELOPERS.md, taken as it stands there."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import textwrap
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.conftest import CLUBS, GREENS
from tests.forms.hand import header_row, say, write

ROOT = Path(__file__).parents[2]
READINGS = "date,green,water_l,minutes\n2026-06-20,ALD-1,4200,25\n2026-06-27,ALD-1,,\n2026-07-04,ALD-1,3900,0\n"
SPEEDS = "Date,Rink,ALD-1,Alder Brook\n2026-06-20,3,12.4,13.1\n2026-06-21,4,12.9,12.2\n"
METER = "Day,Site,Meter (m3),Run time\n2026-06-20,ALD-1,4.2,25\n"

IN_PYTHON = """
import json
from pathlib import Path
from pipeline.publish.documents import season_of_green
from pipeline.workspace.settings import open_workspace
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.reading import read_records
from pipeline.store.store import Store
from reports.page.attachments import csv_files
from schemas import KINDS
from scripts.docs import records

workspace = open_workspace(Path("work"))
attached = {one.name: one.content.decode("utf-8-sig") for one in csv_files(season_of_green(workspace, "ALD-1", "2026"))}
with Store(workspace.store, read_only=True) as store:
    own = green_records(read_records(store), "ALD-1", workspace.season("2026"), workspace).of("irrigation_reading")
print(json.dumps({
    "kinds": list(KINDS),
    "attached": attached,
    "rows": own.select("water_l", "minutes", "file", "line").rows(),
    "page": records.page(),
}))
"""


def documented() -> str:
    """The file that DEVELOPERS.md shows."""
    told = (ROOT / "DEVELOPERS.md").read_text("utf-8").partition("## How to add a record kind")[2].partition("\n## ")[0]
    (block,) = re.findall(r"```python\n(.*?)```", told, re.DOTALL)
    return textwrap.dedent(block)


class Place:
    """A folder with the schemas as they are after the two edits; everything else is the product's."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        shutil.copytree(ROOT / "schemas", folder / "schemas", ignore=shutil.ignore_patterns("__pycache__"))
        (folder / "schemas" / "irrigation_reading.py").write_text(documented(), "utf-8")
        registry = folder / "schemas" / "__init__.py"
        text = registry.read_text("utf-8")
        text = text.replace(
            "from schemas.job", "from schemas.irrigation_reading import IRRIGATION_READING\nfrom schemas.job"
        )
        registry.write_text(text.replace("    PHOTO,\n", "    PHOTO,\n    IRRIGATION_READING,\n"), "utf-8")

    def python(self, code: str, *arguments: str, code_expected: int = 0) -> str:
        path = os.pathsep.join((str(self.folder), str(ROOT)))
        done = subprocess.run(
            [sys.executable, "-c", code, *arguments], cwd=self.folder, capture_output=True, text=True,
            env={**os.environ, "PYTHONPATH": path}, check=False,
        )  # fmt: skip
        assert done.returncode == code_expected, done.stdout + done.stderr
        return done.stdout

    def run(self, *words: str, code_expected: int = 0) -> str:
        return self.python("from pipeline.cli.app import main; main()", *words, code_expected=code_expected)

    def load(self, name: str, text: str, code_expected: int = 0) -> dict[str, Any]:
        (self.folder / name).write_text(text, "utf-8")
        (one,) = json.loads(self.run("load", name, "-w", "work", "--json", code_expected=code_expected))["files"]
        return dict(one)


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Place:
    """A workspace of a product that knows the kind, its readings loaded: one good row, one blank, one impossible."""
    made = Place(tmp_path_factory.mktemp("added"))
    made.run("init", "work")
    made.load("clubs.csv", CLUBS)
    made.load("greens.csv", GREENS)
    return made


def test_one_file_and_one_registration_are_enough(place: Place) -> None:
    """Eleven files it took once, and one that was forgotten lost records in silence."""
    template = place.folder / "work" / "templates" / "irrigation_reading.csv"
    assert template.read_text("utf-8") == "date,green,water_l,minutes\n"

    loaded = place.load("meter.csv", READINGS, code_expected=1)
    assert (loaded["kind"], loaded["loaded"], loaded["rejected"]) == ("irrigation_reading", 1, 1)
    (fault,) = [one for one in loaded["faults"] if one["severity"] == "error"]
    assert (fault["line"], fault["column"], fault["code"]) == (4, "minutes", "value.limits")

    held = json.loads(place.run("status", "-w", "work", "--json"))
    assert {"kind": "irrigation_reading", "records": 1, "first": "2026-06-20", "last": "2026-06-20"} in held["kinds"]
    assert held["greens"][0]["latest"] == {"irrigation_reading": "2026-06-20"}

    found = json.loads(place.python(IN_PYTHON))
    assert found["rows"] == [[4200.0, 25.0, "meter.csv", 2]]
    attached = found["attached"]["records-irrigation_reading.csv"]
    assert attached.splitlines() == ["date,green,water_l,minutes", "2026-06-20,ALD-1,4200.0,25.0"]
    assert "records-irrigation_reading.csv,water_l" in found["attached"]["columns-of-records.csv"]
    section = found["page"].partition("## irrigation_reading")[2].partition("\n## ")[0]
    assert all(f"`{name}`" in section for name in ("date", "green", "water_l", "minutes"))


def test_a_form_of_it_is_made_and_loads(place: Place) -> None:
    """No line of code is about the kind, and its form checks its limits."""
    place.run("forms", "--kind", "irrigation_reading", "-w", "work")
    path = place.folder / "work" / "forms" / "irrigation-reading.xlsx"
    assert path.with_suffix(".pdf").exists()
    book = openpyxl.load_workbook(path)
    sheet = book["Irrigation readings"]
    say(sheet, "Green:", "Alder Brook Bowls Club, Main green (ALD-1)")
    at, columns = header_row(sheet, "Date", "Green", "Water (l)", "Minutes (min)")
    limits = {
        str(one.sqref).split(":")[0]: (one.type, one.formula1, one.formula2)
        for one in sheet.data_validations.dataValidation
    }
    assert limits[sheet.cell(at + 1, columns["Water (l)"]).coordinate] == ("decimal", "0", "1000000")
    write(sheet, [{"Date": date(2026, 7, 11), "Water (l)": 3600}, None, {"Date": date(2026, 7, 18), "Water (l)": 3000}])
    book.save(path)
    (one,) = json.loads(place.run("load", str(path), "-w", "work", "--json"))["files"]
    assert (one["kind"], one["rows"], one["loaded"]) == ("irrigation_reading", 2, 2)


def test_a_draft_knows_it_and_takes_no_other_file_for_it(place: Place) -> None:
    for name, text, kind in (("speeds.csv", SPEEDS, "green_speed"), ("meters.csv", METER, "irrigation_reading")):
        (place.folder / name).write_text(text, "utf-8")
        drafted = json.loads(place.run("profile", name, "-w", "work", "--json"))
        assert (drafted["kind"], drafted["drafted_for"]) == (kind, kind)
    assert {"header": "Meter (m3)", "field": "water_l", "unit": "m3", "how": "by its name"} in drafted["mapped"]
