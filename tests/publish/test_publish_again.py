"""Reports asked for again: what would come out the same is left as it is, and only that."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from hashlib import sha256
from pathlib import Path

import pytest

from pipeline.common.refusal import CannotDo
from pipeline.common.whole_files import write_whole
from pipeline.load.files import load_paths
from pipeline.publish import documents as reporting
from pipeline.publish import render_cache, writer
from pipeline.publish.documents import write_reports
from pipeline.publish.first_pages import FirstPages
from pipeline.publish.pool import Outcome, Task
from pipeline.publish.writer import Written
from pipeline.store.undo import undo
from pipeline.workspace.settings import SETTINGS, Workspace, open_workspace
from tests.conftest import TODAY, Load
from tests.thorough import beyond, thorough

GREENS = "green,club,name,area_m2,aliases\nALD-1,ALD,Main green,1600,Alder Brook\nALD-2,ALD,Far green,1500,\n"
JOBS = "date,green,operation\n2026-03-16,ALD-1,scarifying\n2026-03-16,ALD-2,scarifying\n"


@pytest.fixture(autouse=True)
def drawn(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of what was drawn; the drawing itself (a second each) is replaced by one that tells content apart."""
    names: list[str] = []

    def rendered(tasks: Iterable[Task], **_: object) -> Iterator[Outcome]:
        for task in tasks:
            names.append(task.name)
            files = {task.target: repr(task.content).encode()}
            files |= {task.target.with_name(name): held for name, held in task.beside.items()}
            write_whole(files)
            yield Outcome(task.name, task.target, 4, sha256(b"".join(files.values())).hexdigest())

    monkeypatch.setattr(writer, "render_many", rendered)
    return names


@pytest.fixture
def two(county: Load, workspace: Workspace) -> Workspace:
    assert not county("greens.csv", GREENS).failed
    assert not county("jobs.csv", JOBS).failed
    return workspace


def again(workspace: Workspace, drawn: list[str], **options: bool) -> tuple[list[str], list[Written]]:
    drawn.clear()
    written = write_reports(workspace, every=True, only=["condition"], **options)
    return list(drawn), written


def test_nothing_is_drawn_twice_and_it_is_said(two: Workspace, drawn: list[str]) -> None:
    first, written = again(two, drawn)
    assert first == ["ALD-1", "ALD-2"]
    assert [one.unchanged for one in written] == [False, False]
    second, written = again(two, drawn)
    assert second == []
    assert [(one.green, one.unchanged, one.pages) for one in written] == [("ALD-1", True, 4), ("ALD-2", True, 4)]
    assert again(two, drawn, force=True)[0] == first


def test_an_unchanged_store_is_told_without_working_out_a_figure(
    two: Workspace, drawn: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    again(two, drawn)
    monkeypatch.setattr(reporting, "green_season", lambda *_, **__: pytest.fail("a season was put together"))
    assert again(two, drawn)[0] == []


def test_the_club_and_the_whole_get_their_documents(two: Workspace, drawn: list[str]) -> None:
    written = write_reports(two, every=True)
    assert [(one.document, one.green, one.club, one.path.name) for one in written] == [
        ("condition", "ALD-1", "ALD", "ALD-1-condition-2026.pdf"),
        ("condition", "ALD-2", "ALD", "ALD-2-condition-2026.pdf"),
        ("summary", "", "ALD", "ALD-summary-2026.pdf"),
        ("handout", "", "ALD", "ALD-handout-2026.pdf"),
        ("round-up", "", "", "round-up-2026.pdf"),
    ]
    assert [one.document for one in write_reports(two, clubs=["ALD"], only=["condition", "handout"])] == [
        "condition", "condition", "handout",
    ]  # fmt: skip
    assert [one.document for one in write_reports(two, greens=["ALD-1"])] == ["condition"]
    assert [one.document for one in write_reports(two, every=True, only=["round-up"])] == ["round-up"]
    with pytest.raises(CannotDo, match="no summary or handout to write"):
        write_reports(two, greens=["ALD-1"], only=["summary", "handout"])
    drawn.clear()
    assert all(one.unchanged for one in write_reports(two, every=True))
    assert drawn == []


@thorough
def test_seasons_are_put_together_once_and_one_club_at_a_time(two: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    """Guards against the seasons of hundreds of greens being held at once, and against making each three times."""
    made: list[str] = []
    real = reporting.green_season

    def counted(*args: object, green: str, **rest: object) -> object:
        made.append(green)
        return real(*args, green=green, **rest)  # type: ignore[arg-type]

    monkeypatch.setattr(reporting, "green_season", counted)
    write_reports(two, every=True)
    assert made == ["ALD-1", "ALD-2"]


def test_the_text_of_an_e_mail_stands_and_falls_with_its_handout(two: Workspace, drawn: list[str]) -> None:
    """It is made with the handout alone, and a handout whose text is gone or was edited is written again."""
    (written,) = write_reports(two, clubs=["ALD"], only=["handout"])
    text = written.path.with_suffix(".txt")
    told = text.read_text("utf-8")
    attached = told.partition("Attached:\n")[2].split()
    assert attached == [
        "ALD-handout-2026.pdf", "ALD-1-condition-2026.pdf", "ALD-2-condition-2026.pdf", "ALD-summary-2026.pdf",
    ]  # fmt: skip
    drawn.clear()
    assert write_reports(two, clubs=["ALD"], only=["handout"])[0].unchanged
    text.write_text("edited", "utf-8")
    assert not write_reports(two, clubs=["ALD"], only=["handout"])[0].unchanged
    assert text.read_text("utf-8") == told
    text.unlink()
    assert not write_reports(two, clubs=["ALD"], only=["handout"])[0].unchanged
    assert drawn == ["ALD", "ALD"]


def test_first_pages_are_made_once_for_reports_and_handout(two: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[str] = []
    real = FirstPages.on
    monkeypatch.setattr(FirstPages, "on", lambda self, season: (made.append(season.green), real(self, season))[1])
    write_reports(two, every=True)
    assert made == ["ALD-1", "ALD-2"]


def test_a_load_for_one_green_draws_that_one_alone(two: Workspace, drawn: list[str], tmp_path: Path) -> None:
    again(two, drawn)
    path = tmp_path / "more.csv"
    path.write_text("date,green,operation\n2026-03-10,ALD-2,mowing\n", "utf-8")
    (loaded,) = load_paths(two, [path], today=TODAY)
    assert not loaded.failed
    assert again(two, drawn)[0] == ["ALD-2"]
    assert again(two, drawn)[0] == []
    undo(two, loaded.load_id)
    assert again(two, drawn)[0] == ["ALD-2"]


@thorough
def test_a_file_that_was_changed_or_taken_away_is_written_again(two: Workspace, drawn: list[str]) -> None:
    _, written = again(two, drawn)
    written[0].path.write_bytes(b"spoilt")
    written[1].path.unlink()
    assert again(two, drawn)[0] == ["ALD-1", "ALD-2"]


@pytest.mark.parametrize("text", ["", "{", "[]", '{"ALD-1-condition-2026.pdf": 3}', '{"x": {"store": 1}}', "\x00"])
@beyond(1)
def test_a_list_that_cannot_be_read_counts_as_none(two: Workspace, drawn: list[str], text: str) -> None:
    again(two, drawn)
    (two.reports / "2026" / render_cache.LIST_FILE).write_text(text, "utf-8")
    assert again(two, drawn)[0] == ["ALD-1", "ALD-2"]


@thorough
def test_the_list_of_the_former_name_goes_when_the_new_one_stands(two: Workspace, drawn: list[str]) -> None:
    """A workspace of an earlier version keeps no second list that nobody reads."""
    folder = two.reports / "2026"
    folder.mkdir(parents=True)
    (folder / ".made.json").write_text("{}", "utf-8")
    again(two, drawn)
    assert sorted(path.name for path in folder.glob(".*")) == [".render-cache.json"]


@pytest.mark.parametrize("line", ['[house]\nname = "Vale Grounds"', '[house]\npaper = "Letter"', 'currency = "EUR"'])
@beyond(1)
def test_a_setting_that_shows_is_drawn(two: Workspace, drawn: list[str], line: str) -> None:
    again(two, drawn)
    (two.folder / SETTINGS).write_text(line, "utf-8")
    assert again(open_workspace(two.folder), drawn)[0] == ["ALD-1", "ALD-2"]


@thorough
def test_a_template_of_the_workspace_is_drawn_and_its_change_too(two: Workspace, drawn: list[str]) -> None:
    again(two, drawn)
    two.pages.mkdir()
    for words in ("one", "two"):
        (two.pages / "condition.html.j2").write_text(words, "utf-8")
        assert again(two, drawn)[0] == ["ALD-1", "ALD-2"]
        assert again(two, drawn)[0] == []


@thorough
def test_other_code_draws_again(two: Workspace, drawn: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    again(two, drawn)
    monkeypatch.setattr(writer, "code_mark", lambda: "other code")
    assert again(two, drawn)[0] == ["ALD-1", "ALD-2"]


@thorough
def test_the_short_form_is_a_file_of_its_own(two: Workspace, drawn: list[str]) -> None:
    _, full = again(two, drawn)
    made_short, short = again(two, drawn, short=True)
    assert made_short == ["ALD-1", "ALD-2"]
    assert not {one.path for one in full} & {one.path for one in short}
    assert again(two, drawn)[0] == []


@thorough
def test_what_failed_is_tried_again(two: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    tried: list[str] = []

    def failing(tasks: Iterable[Task], **_: object) -> Iterator[Outcome]:
        for task in tasks:
            tried.append(task.name)
            yield Outcome(task.name, task.target, fault="a glyph is missing")

    monkeypatch.setattr(writer, "render_many", failing)
    for _ in range(2):
        assert [one.fault for one in write_reports(two, greens=["ALD-1"], only=["condition"])] == ["a glyph is missing"]
    assert tried == ["ALD-1", "ALD-1"]
