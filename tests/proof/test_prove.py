"""A document bears the hash of the records behind it, and that is found again."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path

import duckdb
import pytest

from pipeline.cli.options import DONE, FAULTS
from pipeline.cli.proving import prove as proving
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.forget.forget import forget
from pipeline.load.files import load_paths
from pipeline.publish.documents import write_reports
from pipeline.publish.prove import prove
from pipeline.publish.render_cache import LIST_FILE
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load

JOBS = "date,green,operation,hours\n2026-03-02,ALD-1,rolling,2\n2026-03-10,ALD-1,mowing,1.5\n"
OTHER = "club,name\nFEN,Fenwick\n", "green,club,name\nFEN-1,FEN,Green\n", JOBS.replace("ALD-1", "FEN-1")


@pytest.fixture
def written(county: Load, workspace: Workspace) -> Path:
    """The condition report of a green whose log was loaded last, by load 4."""
    county("jobs.csv", JOBS)
    return _report(workspace)


def _report(workspace: Workspace) -> Path:
    (one,) = write_reports(workspace, greens=["ALD-1"], season="2026", workers=1)
    assert not one.fault
    return one.path


def _borne(path: Path) -> list[bytes]:
    return re.findall(rb"hash of records ([0-9a-f]{64})", path.read_bytes())


def test_document_is_found_and_nothing_was_altered(written: Path, workspace: Workspace) -> None:
    found = prove(workspace, written)
    assert found.holds
    assert (found.entry, found.entries, found.load_id, found.file) == (4, 4, 4, "jobs.csv")
    assert dict(found.records) == {"club": 1, "green": 1, "material": 2, "job": 2}
    assert found.as_written is True


def test_page_prints_the_hash_that_its_keywords_bear(written: Path) -> None:
    """Whoever has the paper alone can type it in; both must be the same."""
    import pypdfium2

    pages = pypdfium2.PdfDocument(written)
    text = "".join("".join(page.get_textpage().get_text_range().split()) for page in pages)
    (borne,) = set(_borne(written))
    assert borne.decode() in text


def test_another_clubs_load_changes_nothing_in_a_document(written: Path, workspace: Workspace, tmp_path: Path) -> None:
    before = written.read_bytes()
    for name, text in zip(("clubs2.csv", "greens2.csv", "jobs2.csv"), OTHER, strict=True):
        (tmp_path / name).write_text(text)
        assert not load_paths(workspace, [tmp_path / name], today=TODAY)[0].failed
    assert _report(workspace).read_bytes() == before
    found = prove(workspace, written)
    assert found.holds
    assert (found.entry, found.entries) == (4, 7)


def test_what_ended_a_record_and_left_nothing_is_borne_too(county: Load, workspace: Workspace) -> None:
    """A result taken back leaves no line behind a figure, and the document is another one all the same."""
    head = "date,green,analyte,value,unit\n2026-02-03,ALD-1,ph,6.1,pH\n"
    county("soil.csv", head + "2026-02-02,ALD-1,ph,5.5,pH\n")
    county("soil2.csv", head + "2026-02-02,ALD-1,ph,,pH\n")
    assert prove(workspace, _report(workspace)).load_id == 5


def test_alteration_and_undo_since_are_told(written: Path, workspace: Workspace, tmp_path: Path) -> None:
    (tmp_path / "more.csv").write_text("date,green,operation,hours\n2026-05-10,ALD-1,mowing,1\n")
    load_paths(workspace, [tmp_path / "more.csv"], today=TODAY)
    later = _report(workspace)
    undo(workspace, 5)
    found = prove(workspace, later)
    assert (found.holds, found.taken_back) == (True, (5,))
    with duckdb.connect(str(workspace.store)) as con:
        con.execute("UPDATE history.job SET hours = 20 WHERE hours = 2")
    found = prove(workspace, later)
    assert not found.holds
    assert [one.message for one in found.alterations][:1] == [
        "Load 4 (jobs.csv): what its records say under hours is not what was loaded."
    ]


def test_document_of_another_store_is_in_no_entry(written: Path, workspace: Workspace, tmp_path: Path) -> None:
    forged = tmp_path / "forged.pdf"
    forged.write_bytes(written.read_bytes().replace(_borne(written)[0], b"0" * 64))
    found = prove(workspace, forged)
    assert (found.holds, found.entry) == (False, None)


def test_changed_pages_are_told_where_the_list_beside_them_knows_them(
    written: Path, workspace: Workspace, capsys: pytest.CaptureFixture[str]
) -> None:
    """The hash is of the records; that the pages are as they were written, only the list of the folder can tell."""
    written.write_bytes(written.read_bytes() + b"\n")
    found = prove(workspace, written)
    assert (found.holds, found.as_written) == (True, False)
    assert proving(written, workspace.folder) == FAULTS
    assert "2026/ALD-1-condition-2026.pdf was changed after it was written." in capsys.readouterr().out


def test_document_that_came_back_is_known_by_its_bytes(written: Path, workspace: Workspace, tmp_path: Path) -> None:
    """A committee sends the file under a name of its own."""
    came = tmp_path / "from the club.pdf"
    came.write_bytes(written.read_bytes())
    found = prove(workspace, came)
    assert (found.as_written, found.written_file) == (True, "2026/ALD-1-condition-2026.pdf")


def test_pages_that_nobody_knows_are_said_to_be_unknown(
    written: Path, workspace: Workspace, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A page can be changed and bear the hash still; a list that came with it is not the store's."""
    forged = tmp_path / written.name
    forged.write_bytes(written.read_bytes() + b"\n")
    told = json.loads((written.parent / LIST_FILE).read_text())
    told[written.name]["sha256"] = hashlib.sha256(forged.read_bytes()).hexdigest()
    (tmp_path / LIST_FILE).write_text(json.dumps(told))
    assert prove(workspace, forged).as_written is None
    assert proving(forged, workspace.folder) == DONE
    assert "The pages: not known to be as they were written." in capsys.readouterr().out


def test_hash_is_found_as_it_is_typed_from_paper(written: Path, workspace: Workspace) -> None:
    """Whoever has the paper alone types it, in capitals perhaps and with the blank of a broken line."""
    head = _borne(written)[0].decode()
    found = prove(workspace, Path(f"{head[:32].upper()} {head[32:]}"))
    assert (found.holds, found.document, found.head, found.entry) == (True, "", head, 4)
    assert prove(workspace, Path("0" * 64)).entry is None


def test_load_taken_back_is_told_with_its_file(
    written: Path, workspace: Workspace, capsys: pytest.CaptureFixture[str]
) -> None:
    undo(workspace, 4)
    assert proving(written, workspace.folder) == DONE
    assert "Taken back since: load 4 (jobs.csv)." in capsys.readouterr().out


def test_name_taken_out_since_is_told(county: Load, workspace: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    """ "None was altered" alone would be untrue of the words of a record."""
    county("jobs.csv", "date,green,operation,hours,logged_by\n2026-03-02,ALD-1,rolling,2,Ann Example\n")
    document = _report(workspace)
    forget(workspace, ["Ann Example"])
    found = prove(workspace, document)
    assert (found.holds, found.redacted) == (True, (4,))
    assert proving(document, workspace.folder) == DONE
    assert "A person's name was taken since out of load 4; dates, codes" in capsys.readouterr().out


def test_what_bears_no_hash_is_refused(workspace: Workspace, tmp_path: Path) -> None:
    with pytest.raises(WrongUsage, match="There is no file"):
        prove(workspace, tmp_path / "none.pdf")
    (tmp_path / "plain.pdf").write_bytes(b"%PDF-1.7\n")
    with pytest.raises(CannotDo, match="bears no hash of records"):
        prove(workspace, tmp_path / "plain.pdf")
