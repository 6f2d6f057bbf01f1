"""What a draft makes of a date that is not clear, and of cells that say "as above"."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.common.refusal import CannotDo
from pipeline.draft.build import Draft, draft_profile
from pipeline.profiles.profile import read_profile
from pipeline.workspace.settings import Workspace
from tests.conftest import Load

LOG = (
    "When,Where,Work,Holes deep (in),Note\n"
    "13/5/26,ALD-1,Hollow coring,3,x\n"
    "31/4/2026,ALD-1,mowing,,y\n"
    "5 May 2026,ditto,Hollow coring,3,x\n"
    "last week,,mowing,,\n"
    "2026-05-09,,spiking,2,w\n"
)


@pytest.fixture
def drafted(county: Load, workspace: Workspace, tmp_path: Path) -> Callable[[str], Draft]:
    def draft(text: str) -> Draft:
        path = tmp_path / "log.csv"
        path.write_text(text, "utf-8")
        return draft_profile(workspace, path, force=True)

    return draft


def test_a_column_of_which_half_are_days_is_asked_about_once(drafted: Callable[[str], Draft]) -> None:
    """It was asked for under [fields] and again under [columns], beside a depth in inches, and its order not at all."""
    made = drafted(LOG)
    assert [ask.key for ask in made.asks] == ["fields.date", "columns"]
    assert made.asks[0].why.endswith("write its column, one of “When”")
    assert made.asks[1].about == "Holes deep (in)"
    said = tomllib.loads(made.text)
    assert said["values"]["date_order"] == "dmy"
    assert set(said["columns"]) == {"Holes deep (in)"}


def test_an_order_that_nothing_proves_is_asked_for(drafted: Callable[[str], Draft]) -> None:
    made = drafted(LOG.replace("13/5/26", "3/5/26"))
    assert [ask.key for ask in made.asks] == ["values.date_order", "fields.date", "columns"]


def test_ditto_marks_are_declared_and_no_word_to_teach(drafted: Callable[[str], Draft]) -> None:
    """Blank cells may say so too: that line is there to be taken up."""
    made = drafted(LOG)
    assert tomllib.loads(made.text)["fields"]["green"] == {"from": "Where", "as_above": "marks"}
    assert made.unknown == ()
    assert "# ditto =" not in made.text
    assert (
        "# 2 cells are blank (first on line 5): instead of the line above, if blank means “as above”\n"
        '# green = { from = "Where", as_above = "blank" }\n'
    ) in made.text


def test_a_column_said_twice_is_named_with_the_line_to_delete(drafted: Callable[[str], Draft]) -> None:
    made = drafted(LOG)
    assert made.path is not None
    text = made.text.replace('date = "?"', 'date = "When"').replace('field = "?"', 'field = "depth_mm"')
    made.path.write_text(text + '"When" = "date"\n', "utf-8")
    with pytest.raises(CannotDo, match=r"columns: 'When' is date already, under \[fields\]: delete its line here"):
        read_profile(made.path)


def test_a_word_for_one_green_and_for_several_is_refused(drafted: Callable[[str], Draft]) -> None:
    """The alias won without a word, and one green got all the work."""
    made = drafted("date,green,operation\n2026-05-09,both,spiking\n")
    assert made.path is not None
    made.path.write_text(
        made.text.split("[aliases")[0]
        + '[aliases.green]\nBoth = "ALD-1"\n\n[several.green]\nwords = { both = ["ALD-1", "ALD-2"] }\n',
        "utf-8",
    )
    with pytest.raises(CannotDo, match=r"'Both' stands in \[aliases.green\], as one green, and in words of \[several"):
        read_profile(made.path)
