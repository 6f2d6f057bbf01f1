"""Tables that are wider than the screen: which columns stay, and that the others are named."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.cli import narrow
from pipeline.cli.printing.table import parted
from tests.cli.test_cli_commands import Call, call, place
from tests.conftest import Load

__all__ = ["call", "place"]
HEADERS = ("id", "file", "loaded", "rejected")
ROWS = [(1, "log.csv", 12, 3)]


def test_a_table_parted_by_a_column_has_its_words_once(capsys: pytest.CaptureFixture[str]) -> None:
    """What a screen has no room for beside the figures stands above them."""
    rows = [("A-1", "Organic matter, 0–20 mm", 5), ("A-2", "Organic matter, 0–20 mm", 12), ("A-1", "pH", 6)]
    parted(("green", "figure", "value"), rows, 1, frozenset({2}))
    assert capsys.readouterr().out.splitlines() == [
        "  green  value",
        "Organic matter, 0–20 mm",
        "  A-1        5",
        "  A-2       12",
        "pH",
        "  A-1        6",
    ]


@pytest.mark.parametrize(
    ("width", "kept", "right", "said"),
    [
        (0, HEADERS, {0, 2, 3}, ""),
        (29, HEADERS, {0, 2, 3}, ""),  # 2 + 7 + 6 + 8 characters and three gaps of two
        (28, ("id", "file", "rejected"), {0, 2}, "Left out, for this screen is too narrow: loaded. --json has them.\n"),
    ],
)
def test_columns_that_may_go_go_where_they_must(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    width: int,
    kept: tuple[str, ...],
    right: set[int],
    said: str,
) -> None:
    """Broken by the terminal, a wide table could not be read; a file or a pipe (0) gets every column."""
    monkeypatch.setattr(narrow, "screen_width", lambda: width)
    headers, rows, at_the_right = narrow.narrowed(HEADERS, ROWS, {0, 2, 3}, {"loaded"})
    assert tuple(headers) == kept
    assert [dict(zip(headers, row, strict=True)) for row in rows] == [
        {name: cell for name, cell in zip(HEADERS, ROWS[0], strict=True) if name in kept}
    ]
    assert at_the_right == right
    assert capsys.readouterr().err == said


def test_status_begins_with_what_there_is_and_what_waits(call: Call, county: Load, place: Path) -> None:
    """The number of things that wait stood at the end of a long page."""
    county("bad.csv", "date,green,operation\n2026-05-11,ALD-1,moing\n2026-05-12,ALD-1,mowing\n")
    first = call("status", "-w", place).out.splitlines()[0]
    assert first == "1 green of 1 club, records from 2026-05-04 to 2026-05-12. Waiting for a person: 1 thing below."
