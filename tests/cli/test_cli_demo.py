"""What the demo ends with; that all of it is the same again is tried by tests.twice."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from shutil import copytree

import pypdfium2

from pipeline.cli.demo import Demo, year_ahead
from pipeline.publish.writer import Written
from pipeline.workspace.settings import Workspace, open_workspace
from scripts.type_sizes import SMALLEST, below, letters


def words(path: Path) -> str:
    """The text of a PDF's pages."""
    pages = pypdfium2.PdfDocument(path)
    return " ".join(page.get_textpage().get_text_range() for page in pages)


def test_the_demo_ends_with_the_year_ahead(demo_county: Workspace, tmp_path: Path) -> None:
    """A due list without its table, an order without its suppliers, a programme without a price."""
    copytree(demo_county.folder, tmp_path / "demo")
    files, faults = year_ahead(open_workspace(tmp_path / "demo"), "ALD")
    assert faults == ()
    assert all(path.stat().st_size > 0 for path in files)
    pdfs = {path.name: words(path) for path in files if path.suffix == ".pdf"}
    assert sorted(pdfs) == ["ALD-programme-2027.pdf", "due-2027-03-31.pdf", "order-office.pdf", "order-van.pdf"]
    for path in files:
        if path.suffix == ".pdf":
            assert "…" not in pdfs[path.name] and below(letters(path.read_bytes()), SMALLEST) == 0.0, path.name
    for supplier in ("county merchant", "farm store at Quillbrook", "quarry at Tarnfold"):
        assert supplier in pdfs["order-office.pdf"]
    assert "times as dear" in pdfs["order-office.pdf"]  # the price of a tonne that stands at a bag
    assert "Price with VAT" in pdfs["ALD-programme-2027.pdf"]
    tables = {path.name for path in files if path.suffix == ".csv"}
    assert {"due-2027-03-31-due.csv", "ordered.csv", "ALD-programme-2027-prices.csv"} <= tables
    assert sum(name.startswith("order-to-") for name in tables) == 3


def test_a_document_that_could_not_be_written_is_no_success(tmp_path: Path) -> None:
    """It ended with 0, and what was lacking stood among a hundred lines."""
    done = Written("condition", "ALD-1", "ALD", "2026", tmp_path / "a.pdf", 5)
    assert Demo(tmp_path, (), (done,), (done,), (), (), ()).whole
    assert not Demo(tmp_path, (), (done, replace(done, fault="not done after 120 s")), (), (), (), ()).whole
    assert not Demo(tmp_path, (), (done,), (), (), (), ("no price",)).whole
