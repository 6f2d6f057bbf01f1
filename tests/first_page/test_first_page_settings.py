"""Who prepared a report, whom it is for, when it was issued, and who decides: from settings and command, no clock."""

from __future__ import annotations

import re
from datetime import date

import pypdfium2
import pytest

from pipeline.common.refusal import CannotDo
from pipeline.publish.branding import house_style_of
from pipeline.publish.documents import write_reports
from pipeline.workspace.settings import Workspace, open_workspace
from tests.conftest import Load
from tests.first_page.test_first_page_stores import DRESSED, JOBS, WHOLE


def with_settings(workspace: Workspace, text: str) -> Workspace:
    (workspace.folder / "settings.toml").write_text(text, "utf-8")
    return open_workspace(workspace.folder)


def test_the_head_is_of_the_settings_and_the_day_given(workspace: Workspace, county: Load) -> None:
    assert not county("jobs.csv", JOBS + WHOLE.format(2025, 2026, 5) + DRESSED).failed
    ours = with_settings(workspace, '[house]\nname = "County Greens"\nprepared_for = "The committee"\n')
    (written,) = write_reports(ours, greens=["ALD-1"], season="2026", issued_on=date(2026, 11, 28))
    assert not written.fault
    first = pypdfium2.PdfDocument(written.path)[0].get_textpage().get_text_bounded()
    assert "PreparedbyCountyGreensForThecommitteeIssuedon28November2026" in re.sub(r"\s", "", first)
    (again,) = write_reports(ours, greens=["ALD-1"], season="2026", issued_on=date(2026, 11, 28))
    assert again.unchanged
    (later,) = write_reports(ours, greens=["ALD-1"], season="2026", issued_on=date(2026, 12, 1))
    assert not later.unchanged


def test_who_prepared_it_stands_before_the_name_and_nothing_is_taken_from_a_clock(workspace: Workspace) -> None:
    ours = with_settings(workspace, '[house]\nname = "County Greens"\nprepared_by = "Our agronomist"\n')
    shown = house_style_of(ours).shown
    assert (shown["prepared_by"], shown["prepared_for"], shown["issued_on"]) == ("Our agronomist", "", "")
    assert house_style_of(with_settings(workspace, "")).shown["prepared_by"] == ""
    issued = house_style_of(ours, issued_on=date(2026, 1, 2))
    assert issued.shown["issued_on"] == "2\u00a0January\u00a02026"
    assert issued.mark != house_style_of(ours).mark


def test_who_decides_may_be_set_by_operation(workspace: Workspace) -> None:
    ours = with_settings(workspace, '[decides]\ntop_dressing = "Greenkeeper"\n')
    assert ours.settings.decides == {"top_dressing": "Greenkeeper"}


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('top_dresing = "Greenkeeper"', "there is no operation 'top_dresing'"),
        ('top_dressing = "Treasurer"', "decides.top_dressing"),
    ],
)
def test_what_does_not_fit_is_named(workspace: Workspace, line: str, said: str) -> None:
    with pytest.raises(CannotDo) as refused:
        with_settings(workspace, f"[decides]\n{line}\n")
    assert said in str(refused.value)


def test_a_club_may_have_a_line_of_its_own(workspace: Workspace, county: Load) -> None:
    ours = with_settings(
        workspace, '[house]\nprepared_for = "The committee"\nprepared_for_club = { ALD = "The secretary" }\n'
    )
    house = house_style_of(ours)
    assert [house.of("x", club).prepared_for for club in ("ALD", "BRK", "")] == [
        "The secretary",
        "The committee",
        "The committee",
    ]
    assert house.mark != house_style_of(with_settings(workspace, '[house]\nprepared_for = "The committee"\n')).mark


def test_a_club_that_no_register_has_is_refused_with_the_closest(workspace: Workspace, county: Load) -> None:
    """A misspelt code would leave that club's documents to the line of all clubs in silence."""
    ours = with_settings(workspace, '[house]\nprepared_for_club = { ALDD = "The secretary" }\n')
    with pytest.raises(CannotDo) as refused:
        house_style_of(ours)
    where, said = "settings.toml, line 2: house.prepared_for_club.ALDD", "no club of the register has the code 'ALDD'"
    assert str(refused.value) == f"{where}: {said}; closest: ALD."
