"""Cells that name several operations or greens: the draft has them parted, and asks for none of them as a word."""

from __future__ import annotations

from pathlib import Path

from pipeline.load.files import load_paths
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load
from tests.draft.conftest import Drafted, data_of
from tests.load.test_load_parts import rows


def test_several_operations_and_greens_are_parted(
    county: Load, drafted: Drafted, workspace: Workspace, tmp_path: Path
) -> None:
    """Loaded as drafted, each operation is a record of its line; no alias is asked for a cell that is parted."""
    text = 'date,green,job,notes\n2026-03-01,ALD-1,"scarified x3, brushed",\n2026-03-02,ALD-1,mowed 5mm,dry\n'
    draft = drafted(text)
    data = data_of(draft)
    assert data["several"] == {"operation": {}}
    assert "“mowed 5mm” name several operations" in " ".join(draft.text.replace("\n# ", " ").split())
    assert not draft.unknown
    assert not draft.asks
    (done,) = load_paths(workspace, [tmp_path / "export.csv"], today=TODAY)
    assert (done.profile, done.counts.loaded, done.counts.rejected) == ("export", 3, 0)
    assert rows(workspace, "SELECT operation, passes, cut_height_mm FROM job ORDER BY ALL") == [
        ("brushing", None, None),
        ("mowing", None, 5.0),
        ("scarifying", 3.0, None),
    ]


def test_greens_joined_by_a_mark_are_parted_where_all_of_them_are_known(
    county: Load, drafted: Drafted, workspace: Workspace, tmp_path: Path
) -> None:
    """A mark between a green and a word that is none says nothing: the name is asked about as before."""
    ((club,),) = rows(workspace, "SELECT club FROM green")
    greens = tmp_path / "greens.csv"
    greens.write_text(f"green,club\nALD-2,{club}\n")
    load_paths(workspace, [greens], today=TODAY)
    known = data_of(drafted("date,green,job\n2026-03-01,ALD-1 & ALD-2,mowed\n2026-03-02,ALD-1,mowed\n"))
    assert known["several"] == {"green": {"between": ["&"]}}
    assert "several" not in data_of(drafted("date,green,job\n2026-03-01,ALD-1 & shed,mowed\n2026-03-02,ALD-1,mowed\n"))


def test_plain_words_are_not_parted(county: Load, drafted: Drafted) -> None:
    """A log of plain words gets no table that it does not need."""
    assert "several" not in data_of(
        drafted("date,green,job\n2026-03-01,ALD-1,mowed\n2026-03-02,ALD-1,autumn scarify\n")
    )
