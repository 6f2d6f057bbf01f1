"""docs/show.svg: what ``show`` prints of the demo's main green on a terminal of 80 columns."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from html import escape
from pathlib import Path

from pipeline.cli.printing.green import Wanted, printed
from pipeline.indicators.base.green_season import GreenSeason
from pipeline.publish.documents import season_of_green
from pipeline.workspace.settings import open_workspace

PICTURE = Path(__file__).parents[1] / "docs" / "show.svg"
GREEN, SEASON, COLUMNS = "ALD-1", "2026", 80
ADVANCE, LEADING, MARGIN, SIZE = 8.4, 19, 16, 14
"""Width of a character, height of a line, white round the text and size of the letters, in pixels."""


def picture(season: GreenSeason) -> str:
    """The page of a green's season as SVG, its letters set to the columns whatever font shows them."""
    lines = [f"$ swardtally show {season.green}", "", *printed(season, COLUMNS, Wanted())]
    width, height = COLUMNS * ADVANCE + 2 * MARGIN, len(lines) * LEADING + 2 * MARGIN
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {width:g} {height:g}" width="{width:g}">',
            f"<title>What swardtally show {escape(season.green)} prints</title>",
            '<rect width="100%" height="100%" fill="#fbfcfb" stroke="#c9d1d0"/>',
            f'<g font-family="monospace" font-size="{SIZE}" fill="#17272b" xml:space="preserve">',
            *_texts(lines),
            "</g>",
            "</svg>",
            "",
        ]
    )


def _texts(lines: Sequence[str]) -> list[str]:
    """A text for each line, as long as its characters: a blank at its start is a place, not a character."""
    texts = []
    for number, line in enumerate(lines):
        bare = line.lstrip(" ")
        if bare:
            x, y = MARGIN + (len(line) - len(bare)) * ADVANCE, MARGIN + (number + 0.75) * LEADING
            texts.append(f'<text x="{x:g}" y="{y:g}" textLength="{len(bare) * ADVANCE:g}">{escape(bare)}</text>')
    return texts


if __name__ == "__main__":
    demo = open_workspace(Path(sys.argv[1] if len(sys.argv) > 1 else "demo"))
    PICTURE.write_text(picture(season_of_green(demo, GREEN, SEASON)), "utf-8", newline="\n")
