"""Each document holds what docs/privacy.md says of it and nothing else, looked for in every byte."""

from __future__ import annotations

import io
import json
import re
import zipfile
from pathlib import Path

import pikepdf
import pytest

from pipeline.workspace.settings import Workspace
from tests.conftest import ROOT, once
from tests.privacy.county import OTHER, OWN, SORTS, Canaries, made, word
from tests.privacy.documents import COLUMNS, DOCUMENTS, cells, texts
from tests.privacy.looking import even, everything
from tests.thorough import thorough

ORDINARY = (
    "comparison of a club",
    "due list of a club",
    "order for a club",
    "rejected rows",
    "history --json",
)
"""Documents of the ordinary run: quick to make, and between them every kind of file but a report's attachments."""
PAGE = (ROOT / "docs" / "privacy.md").read_text("utf-8")


def table() -> dict[str, dict[str, str]]:
    """The table of docs/privacy.md: what it says of each document, by column."""
    lines = [line.strip("| ").split(" | ") for line in PAGE.splitlines() if line.startswith("| ")]
    start = next(i for i, line in enumerate(lines) if line[0] == "document")
    rows = lines[start + 2 : start + 2 + len(DOCUMENTS)]
    return {row[0]: dict(zip(lines[start][1:], row[1:], strict=True)) for row in rows}


@pytest.fixture(scope="module")
def county(demo_county: Workspace, shared_folder: Path) -> Workspace:
    """The county of words, made once for all processes of the run."""
    from pipeline.workspace.settings import open_workspace

    folder = shared_folder / "county-of-words"

    def make() -> None:
        of: Canaries = made(demo_county, folder)
        assert {one.counts.rejected for one in of.loaded if one.kind == "job"} == {1}
        assert not [one.file for one in of.loaded if one.kind != "job" and one.counts.rejected]

    once(folder, make)
    return open_workspace(folder / "qzmachineuser" / "county")


def test_the_table_is_of_every_document_and_every_column() -> None:
    told = table()
    assert list(told) == list(DOCUMENTS)
    assert all(list(row) == list(COLUMNS) for row in told.values())
    assert {cell for row in told.values() for cell in row.values()} == {"no", "own", "all", "sums"}
    assert {sort for sorts in COLUMNS.values() for sort in sorts} == {*SORTS, "name", "money"}


def test_no_document_for_a_club_tells_of_another() -> None:
    """The promise itself, of the table: its cells are held by the tests below."""
    office = {"round-up", "forms", "rejected rows", "rejected rows as workbooks", "status --json", "history --json"}
    told = {name: set(row.values()) for name, row in table().items()}
    assert {name for name, found in told.items() if "all" in found} == office


def test_documents_made_quickly_hold_what_the_table_says(county: Workspace) -> None:
    told = table()
    assert {name: cells(texts(county, DOCUMENTS[name])) for name in ORDINARY} == {name: told[name] for name in ORDINARY}
    for path in county.reports.rglob(".render-cache.json"):
        for name, held in json.loads(path.read_bytes()).items():
            assert (path.parent / name).is_file()
            assert list(held) == ["store", "content", "sha256", "pages", "beside"]


@thorough
@pytest.mark.timeout(1200)
def test_every_document_holds_what_the_table_says(county: Workspace) -> None:
    told = table()
    for name in DOCUMENTS.keys() - set(ORDINARY):
        assert cells(texts(county, DOCUMENTS[name])) == told[name], name
    kept = {".csv", ".duckdb", ".jpg", ".json", ".pdf", ".toml", ".txt", ".xlsx"}
    found = {path.suffix or path.name for path in county.folder.rglob("*") if path.is_file()}
    assert found <= {*kept, ".render-cache.json", ".md"}  # no log, nothing left over


def test_what_stands_in_the_records_is_found_by_the_search(county: Workspace) -> None:
    """Guards against words that nobody could find: every one of them is in the files that were loaded."""
    text = "".join(everything(path.read_bytes()) for path in sorted((county.folder / "inbox").glob("*qz*")))
    names = even(" ".join(path.name for path in (county.folder / "inbox").glob("*qz*")))
    for sort in SORTS.keys() - {"addressee", "decided", "file"}:
        assert all(f"qz{sort}{club.lower()}" in text for club in (OWN, OTHER)), sort
    assert f"qzfile{OWN.lower()}jobs" in names
    decided = everything((county.folder / "decisions" / "decided.toml").read_bytes())
    assert "qzdecidedfenwho" in decided and "qzdecidedfenwhy" in decided


def test_a_word_is_found_wherever_it_is_hidden() -> None:
    """In a packed stream, an attachment within it, a note of the file, two bytes a letter, over a line's end."""
    hidden = word("person", OWN, "observer")
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("docProps/core.xml", f"<dc:creator>{hidden}</dc:creator>")
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        empty = io.BytesIO()
        pdf.save(empty)
        pdf.attachments["a.xlsx"] = pikepdf.AttachedFileSpec(pdf, held.getvalue(), filename="a.xlsx")
        attached = io.BytesIO()
        pdf.save(attached, compress_streams=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
        del pdf.attachments["a.xlsx"]
        pdf.Root.Hidden = pikepdf.Dictionary(Note=pikepdf.Array([pikepdf.String(f"é {hidden}")]))
        noted = io.BytesIO()
        pdf.save(noted, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    assert hidden.encode() not in attached.getvalue() + noted.getvalue()  # packed, so that bytes alone do not show it
    for content in (held, attached, noted):
        assert hidden in everything(content.getvalue())
    assert hidden in everything(hidden.encode("utf-16"))
    assert hidden in everything(f"{hidden[:5]}-\n{hidden[5:]}".encode())
    assert hidden not in everything(empty.getvalue())


def test_the_page_names_every_private_field() -> None:
    """A field that somebody makes private, or a kind that gains a person, and the page says nothing of it."""
    from schemas import KINDS

    section = PAGE.partition("## Where a name can stand")[2]
    private = {field.name for kind in KINDS.values() for field in kind.fields if field.private}
    assert private == {"logged_by", "observer", "taken_by", "contact", "note"}
    assert [name for name in sorted(private) if f"`{name}`" not in section] == []
    named = re.findall(r"`(\w+)`", section.partition("text and code fields")[2].partition("|")[0])
    fields = {field.name for kind in KINDS.values() for field in kind.fields}
    assert set(named) <= fields
