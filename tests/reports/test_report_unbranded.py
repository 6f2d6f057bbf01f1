"""What leaves the house carries nobody's name but the house's: no document and no file names the tool that made it.

Guards against a mark of the tool on a consultant's own paper, in a PDF's properties or in a file handed on.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from importlib import import_module
from pkgutil import walk_packages
from typing import Any

import pikepdf
import pytest

import pipeline
from pipeline.common import marks
from pipeline.common.faults import catalogue
from pipeline.publish import render_cache as made
from pipeline.workspace.settings import Workspace
from reports.condition import render as condition
from reports.page.house_style import HouseStyle
from tests.conftest import Load
from tests.reports import sample
from tests.reports.golden.cases import CASES, Case
from tests.reports.test_report_pages import attached, pages_text

NAME = re.compile("swardtally|sward.?tally", re.IGNORECASE)
OURS = HouseStyle(name="Vale Grounds", address="2 Mill Lane, Ostershire")
VERSION = "73.91.5"


def words_of(pdf: bytes) -> Iterator[tuple[str, str]]:
    """Everything a PDF holds as text, with where it stands: pages, properties, tags, streams, names and bytes."""
    yield from ((f"page {number}", text) for number, text in enumerate(pages_text(pdf), start=1))
    yield "bytes", pdf.decode("latin-1")
    with pikepdf.open(io.BytesIO(pdf)) as document:
        for at, one in enumerate(document.objects):
            if isinstance(one, pikepdf.Stream):
                picture = one.get("/Filter") == "/DCTDecode"
                yield f"stream {at}", (one.read_raw_bytes() if picture else one.read_bytes()).decode("latin-1")
            yield from ((f"object {at}", text) for text in _strings(one))
        yield "properties", repr({key: str(value) for key, value in document.docinfo.items()})
        yield "XMP", str(document.open_metadata())
        for name, item in document.attachments.items():
            yield f"attachment {name}", f"{name} {item.description} {item.get_file().read_bytes().decode('utf-8')}"


def _strings(one: Any) -> Iterator[str]:
    """Texts and names of an object, not of those it points to."""
    if isinstance(one, pikepdf.Dictionary | pikepdf.Stream):
        for key, value in one.items():
            yield str(key)
            if not getattr(value, "is_indirect", False):
                yield from _strings(value)
    elif isinstance(one, pikepdf.Array):
        for value in one:
            if not getattr(value, "is_indirect", False):
                yield from _strings(value)
    elif isinstance(one, pikepdf.String | pikepdf.Name | str):
        yield str(one)


def named(pdf: bytes) -> list[str]:
    """Where a document names the tool."""
    return [place for place, words in words_of(pdf) if NAME.search(words)]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_no_document_names_the_tool(case: Case) -> None:
    assert named(case.pdf()) == []
    assert not NAME.search(case.html())
    assert not NAME.search(repr(case.model()))


def test_a_document_of_a_house_names_the_house_alone() -> None:
    pdf = condition.render(sample.rich(), version=VERSION, house=OURS)
    assert named(pdf) == []
    assert "Vale Grounds" in pages_text(pdf)[0]


def test_the_search_finds_a_name_wherever_it_stands() -> None:
    """The test of the tests above: each place a name could hide in is looked into."""
    with pikepdf.open(io.BytesIO(condition.render(sample.empty(), version=VERSION))) as document:
        document.docinfo["/Creator"] = "SwardTally 9"
        document.Root["/Hidden"] = pikepdf.String("sward\u2011tally")
        document.attachments["x.csv"] = pikepdf.AttachedFileSpec(document, b"swardtally", description="x")
        out = io.BytesIO()
        document.save(out)
    places = named(out.getvalue())
    assert "properties" in places
    assert "attachment x.csv" in places
    assert any(place.startswith("object") for place in places)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_every_document_carries_the_version_of_the_calculation(case: Case) -> None:
    rows = {row["what"]: row["value"] for row in attached(case.pdf())["about.csv"]}
    assert rows["version of the calculation"] == "0.0"
    assert re.fullmatch(r"\d{4}-\d\d-\d\d", rows["day of the document"])
    shown = re.search("Attached to this PDF: (.*?),", case.html())
    assert shown is None or shown[1] == "about.csv"


def test_another_version_makes_another_document() -> None:
    assert VERSION not in "".join(pages_text(condition.render(sample.empty(), version=VERSION)))
    assert condition.render(sample.empty(), version="1") != condition.render(sample.empty(), version="2")


def test_no_fault_names_the_tool() -> None:
    """What is rejected says what to do without it: a file of rejected rows goes back to whoever sent it."""
    for found in walk_packages(pipeline.__path__, "pipeline."):
        if not found.name.endswith("__main__"):
            import_module(found.name)
    wrong = [k.code for k in catalogue() if NAME.search(f"{k.code} {k.title} {k.template} {k.hint}")]
    assert wrong == []


def test_no_file_that_is_sent_back_or_filled_in_names_the_tool(workspace: Workspace, load: Load) -> None:
    load("jobs.csv", "date,green,operation,reference\n31/31/2026,A-1,coring,x\n2026-03-16,NOBODY-1,coring\n,,,\n")
    templates = list((workspace.folder / "templates").glob("*.csv"))
    rejects_files = list(workspace.folder.rglob("*.rejected.csv"))
    assert templates
    assert rejects_files
    for path in [*templates, *rejects_files]:
        assert not NAME.search(path.name + path.read_text("utf-8-sig")), path.name


def test_another_version_of_the_calculation_is_made_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a folder's documents were made with does not lean on a name in them."""
    before = made.code_mark()
    marks.code_mark.cache_clear()
    monkeypatch.setattr(marks, "version", lambda name: "73.91.5" if name == "swardtally" else "1")
    try:
        one = made.code_mark()
        marks.code_mark.cache_clear()
        monkeypatch.setattr(marks, "version", lambda name: "73.91.6" if name == "swardtally" else "1")
        assert made.code_mark() != one != before
    finally:
        marks.code_mark.cache_clear()
