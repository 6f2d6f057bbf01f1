"""A document of somebody's own that takes too much, or its worker along, is told of; the others are made."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from pipeline.common.refusal import CannotDo
from pipeline.publish.forms import write_forms
from pipeline.publish.pool import ENDED, Task, render_many
from pipeline.workspace.settings import Workspace
from reports.condition import render as condition
from reports.page import bounds
from reports.page.house_style import HouseStyle, RenderingFault
from reports.page.rendering import SVG
from tests.reports import sample
from tests.thorough import thorough


class Deadly:
    """Content that ends the worker that takes it, as the system does where the memory runs out."""

    def __reduce__(self) -> tuple[Any, ...]:
        return os._exit, (9,)


def test_a_worker_that_dies_takes_no_other_document_with_it(tmp_path: Path) -> None:
    """Every document in hand was lost with it, and the next one asked for ended the command."""
    contents = [sample.empty(), Deadly(), sample.empty(), sample.empty()]
    tasks = [Task(f"G-{i}", "condition", one, tmp_path / f"{i}.pdf") for i, one in enumerate(contents)]
    made = {one.name: one.fault for one in render_many(tasks, workers=2, version="1")}
    assert made == {"G-0": "", "G-1": ENDED, "G-2": "", "G-3": ""}
    assert sorted(path.name for path in tmp_path.glob("*.pdf")) == ["0.pdf", "2.pdf", "3.pdf"]


@thorough
def test_a_stylesheet_that_ends_its_process_ends_no_command(tmp_path: Path) -> None:
    """A hundred million spaces a tab: the library that sets text gives up, and the command ended without a word."""
    (tmp_path / "house.css").write_text(
        "p::before { white-space: pre; tab-size: 99999999; content: '\\9\\9' }", "utf-8"
    )
    task = Task("ALD-1", "condition", sample.empty(), tmp_path / "made.pdf")
    house = HouseStyle(templates=tmp_path)
    assert house.has_own_files and not HouseStyle().has_own_files
    (done,) = render_many([task], workers=1, version="1", house=house, seconds=20, apart=True)
    assert done.fault
    assert done.fault.endswith(f" (made with house.css of the folder {tmp_path.name})")
    assert not task.target.exists()


BUSY = "import itertools\nfrom reports.page.bounds import ended_beyond\nwith ended_beyond(1): sum(itertools.repeat(0))"


@pytest.mark.skipif(sys.platform == "win32", reason="the system has no such limit")
def test_a_call_that_does_not_return_ends_its_process() -> None:
    """No time limit of Python's reaches one: the handler of its signal waits until the library comes back."""
    done = subprocess.run([sys.executable, "-c", BUSY], check=False, timeout=100)
    assert done.returncode == -signal.SIGXCPU


@pytest.mark.parametrize(
    ("style", "said"),
    [
        ("@import url(other.css);", "house.css, line 1: the page asks for 'other.css', which is not part"),
        ("@page { size: 10cm 1px }", ""),
    ],
)
def test_a_stylesheet_is_drawn_or_told_of_by_name(tmp_path: Path, style: str, said: str) -> None:
    (tmp_path / "house.css").write_text(style, "utf-8")
    task = Task("ALD-1", "condition", sample.empty(), tmp_path / "made.pdf")
    (done,) = render_many([task], workers=1, version="1", house=HouseStyle(templates=tmp_path), seconds=8)
    assert said in done.fault and done.fault
    assert not task.target.exists()
    assert "house.css" in done.fault and f"{tmp_path.name}" in done.fault


def test_a_drawing_that_the_renderer_gives_up_on_is_named() -> None:
    """“ValueError: could not convert string to float” was all that was said, of no file."""
    logo = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9s9"/>'
    with pytest.raises(RenderingFault, match=r"^the drawing logo cannot be drawn: \w+Error: [^\n]+\.$"):
        condition.render(sample.empty(), version="1", house=HouseStyle(logo=logo, logo_type=SVG))


def test_memory_is_bounded_where_the_system_tells_of_it() -> None:
    if not bounds._MEMORY.exists():
        pytest.skip("the system does not tell how much memory a process holds")
    with pytest.raises(bounds.TooMuchMemory, match="it takes more than 80 MB of memory"), bounds.bounded(60, 80):
        held = []
        while True:
            held.append(bytes(1_000_000).replace(b"\0", b"x"))
    with pytest.raises(bounds.TooMuchMemory, match="80 MB"), bounds.bounded(60, 80):
        bytes(10_000_000_000)
    assert len(bytes(200_000_000)) == 200_000_000


@pytest.mark.parametrize(
    ("template", "said"),
    [("{{ 1 / 0 }}", "pages/paper.html.j2, line 1: ZeroDivisionError"), ("<img src=x.png>", "the page asks for")],
)
def test_a_form_that_cannot_be_printed_is_refused_in_a_sentence(workspace: Workspace, template: str, said: str) -> None:
    """``swardtally forms`` ended in a traceback where a template of the house's own was wrong."""
    workspace.pages.mkdir()
    (workspace.pages / "paper.html.j2").write_text(template, "utf-8")
    with pytest.raises(CannotDo) as told:
        write_forms(workspace)
    assert "cannot be printed" in told.value.message and said in told.value.message
    assert "folder pages" in told.value.hint
    assert not list(workspace.folder.glob("forms/*"))
