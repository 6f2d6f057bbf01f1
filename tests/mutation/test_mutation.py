"""The tool that changes code to see whether a test notices: it finds what is changed, and what once went unnoticed."""

from __future__ import annotations

import subprocess
import sys
from types import FunctionType

import pytest

from tests.mutation import page
from tests.mutation.noticed import KNOWN, Known, source_of
from tests.mutation.reach import statement
from tests.mutation.run import ROOT, put_in_place


def test_changes_that_once_went_unnoticed_are_noticed() -> None:
    """In a process of its own, which forks one for each change."""
    command = [sys.executable, "-m", "tests.mutation.noticed"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("one", KNOWN, ids=lambda one: f"{one.module} {one.new}")
def test_what_is_changed_by_hand_stands_there_once(one: Known) -> None:
    """A piece that is gone would be changed in no place, and the unchanged code passes."""
    assert source_of(one.module).count(one.old) == 1


def functions(text: str) -> dict[str, object]:
    """What a text defines."""
    space: dict[str, object] = {"__name__": "somewhere"}
    exec(text, space)  # noqa: S102 — the text below
    return space


TEXT = """
from functools import cache, cached_property
def plain(x=1): return x
@cache
def kept(x): return x
class Thing:
    @property
    def of(self): return 1
    @cached_property
    def once(self): return 1
    @staticmethod
    def alone(): return 1
    @classmethod
    def of_class(cls): return 1
"""


def test_whoever_holds_a_function_holds_its_changed_body() -> None:
    old = functions(TEXT)
    plain, kept, thing = old["plain"], old["kept"], old["Thing"]
    assert kept(5) == 5  # type: ignore[operator]
    new = functions(TEXT.replace("x=1", "x=3").replace("return x", "return x + 1").replace("return 1", "return 2"))
    for name, one in new.items():
        put_in_place(old.get(name), one)
    assert isinstance(plain, FunctionType)
    assert (plain(), kept(5)) == (4, 6)  # type: ignore[operator]
    made = thing()  # type: ignore[operator]
    assert (made.of, made.once, made.alone(), made.of_class()) == (2, 2, 2, 2)


def test_what_runs_at_loading_is_told_from_what_runs_when_called() -> None:
    """A constant and a default are loaded once; the body of a function runs each time."""
    lines = source_of("surface").splitlines()
    at = {
        word: next(i for i, line in enumerate(lines, 1) if word in line) for word in ("GRAVITIES_PER_CIV", "within =")
    }
    assert statement("pipeline.agronomy.surface", at["GRAVITIES_PER_CIV"]) is None
    assert statement("pipeline.agronomy.surface", at["within ="]) == range(at["within ="], at["within ="] + 1)


def result(change: str, verdict: str) -> dict[str, object]:
    return {"module": "pipeline.agronomy.surface", "line": 7, "change": change, "nth": 0, "verdict": verdict, "of": 3}


def test_the_page_counts_what_is_killed_and_names_what_is_not(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(page, "reasons", lambda: {("agronomy.surface", "a → b"): "the same"})
    monkeypatch.setattr(page, "runs", lambda: "")
    text = page.page([result("a → b", "survived"), result("c → d", "not reached"), result("e → f", "killed: endless")])
    assert "Tried: 3; killed: 1 (33.3 %). Not killed, with a reason: 1; without one yet: 1." in text
    assert "| agronomy.surface | 7 | `a → b` | the same |" in text
    assert "| agronomy.surface | 7 | `c → d` |" in text


def test_the_page_says_what_was_tried_in_part_and_in_which_run(monkeypatch: pytest.MonkeyPatch) -> None:
    """A share of killed changes says nothing of those that were never tried."""
    monkeypatch.setattr(page, "runs", lambda: "Rows are of one run.")
    whole = [result("a → b", "killed") | {"of": 1}]
    part = [result("a → b", "killed") | {"module": f"pipeline.statistics.{name}", "of": 3} for name in ("x", "y")]
    said = "Tried in part only: 2 of the 2 modules of statistics (every third change: 2)"
    assert f"{said}; whether a test notices the other changes there is not known. Rows are of one run." in page.page(
        whole + part
    )
    assert "Tried in part" not in page.page(whole)


def test_every_change_that_is_open_on_the_page_has_no_reason_on_file() -> None:
    """A reason given and a page that still calls the change open would be two answers."""
    text = page.PAGE.read_text("utf-8")
    left = text.partition("## Not noticed yet")[2]
    assert not [change for _, change in page.reasons() if change in left]
    assert page.runs() in text
