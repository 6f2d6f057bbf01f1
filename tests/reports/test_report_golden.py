"""Documents against what is held of them: view-model, HTML without style, text of the pages, a few pages as pictures.

Held files are what this project's own code made and a person looked at: they tell that something changed, not that it
is right. ``make golden`` renews them.
"""

from __future__ import annotations

import difflib
from pathlib import Path

import pytest
from PIL import Image, ImageChops

from scripts.type_sizes import SMALLEST, below, letters
from tests.reports.golden.cases import CASES, HELD, Case, pictures, texts

DIFFERS = 32
"""Difference of grey, of 255, from which a pixel counts: twice the step between the held shades."""
MOST_DIFFERENT = 0.003
"""Share of pixels that may differ. Not zero, for Pango, HarfBuzz and FreeType place and draw letters otherwise from
version to version; a moved line, a lost chart or another colour is far beyond it."""
DIFF_LINES = 60


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_every_height_is_as_held(case: Case) -> None:
    # guards against a change nobody meant: a figure, a word, an element, a page more
    changed = [difference(name, text) for name, text in texts(case, case.pdf()).items()]
    assert not any(changed), "\n".join(
        [*filter(None, changed), "If this is meant: make golden, then look at the diff."]
    )


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_no_letter_is_smaller_than_8_pt(case: Case) -> None:
    """Of one document of each kind, drawings included; 81 % of the letters of a report were smaller."""
    assert below(letters(case.pdf()), SMALLEST) == 0.0


def difference(name: str, text: str, folder: Path = HELD) -> str:
    """The difference from what is held as a unified diff; "" where there is none."""
    path = folder / name
    if not path.exists():
        return f"{name} is not held yet."
    held = path.read_text("utf-8")
    if held == text:
        return ""
    lines = list(difflib.unified_diff(held.splitlines(), text.splitlines(), f"held/{name}", "now", lineterm="", n=1))
    left = len(lines) - DIFF_LINES
    return "\n".join(lines[:DIFF_LINES] + ([f"… and {left} lines more"] if left > 0 else []))


def test_a_difference_is_shown_line_by_line(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("one\ntwo\n", "utf-8")
    assert difference("a.txt", "one\ntwo\n", tmp_path) == ""
    assert difference("a.txt", "one\n2\n", tmp_path).splitlines()[-2:] == ["-two", "+2"]
    assert difference("b.txt", "", tmp_path) == "b.txt is not held yet."


def test_nothing_is_held_that_no_case_makes() -> None:
    wanted = {f"{case.name}.{what}" for case in CASES for what in ("model.json", "html", "pages.txt")}
    wanted |= {f"{case.name}.page{i + 1}.png" for case in CASES for i in case.pictured}
    assert {path.name for path in HELD.iterdir()} == wanted


@pytest.mark.parametrize("case", [case for case in CASES if case.pictured], ids=lambda case: case.name)
def test_pages_look_as_held(case: Case, tmp_path: Path) -> None:
    # guards against what text does not tell: a chart gone, columns over each other, a colour too pale to print
    for name, now in pictures(case, case.pdf()).items():
        share = compared(HELD / name, now, tmp_path)
        assert share <= MOST_DIFFERENT, f"{share:.2%} of {name} differ: held, now and where in {tmp_path / name}"


def compared(held: Path, now: Image.Image, folder: Path) -> float:
    """Share of pixels that differ; the two and their difference are written side by side where it is too large."""
    with Image.open(held) as opened:
        before, after = opened.convert("L"), now.convert("L")
    assert before.size == after.size, f"{held.name} has another size"
    apart = ImageChops.difference(before, after).point([0 if d <= DIFFERS else 255 for d in range(256)])
    share = apart.histogram()[255] / (apart.width * apart.height)
    if share > MOST_DIFFERENT:
        side = Image.new("L", (3 * before.width, before.height))
        for i, picture in enumerate((before, after, apart)):
            side.paste(picture, (i * before.width, 0))
        side.save(folder / held.name)
    return share


def test_a_line_lost_is_too_different(tmp_path: Path) -> None:
    # the tolerance is no licence: a band over the page two lines of text high must be found, and shown
    held = HELD / "condition.page1.png"
    with Image.open(held) as opened:
        spoilt = opened.convert("L")
    spoilt.paste(128, (0, 200, spoilt.width, 220))
    assert compared(held, spoilt, tmp_path) > MOST_DIFFERENT
    assert (tmp_path / held.name).exists()
