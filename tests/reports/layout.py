"""How the pages of a PDF are filled: what tests on headings, tables and last pages ask."""

from __future__ import annotations

import pypdfium2

MM = 72 / 25.4
HEAD, FOOT = 18 * MM, 15.5 * MM
"""Margins of a page of the templates, in points: running head and page number stand in them."""


def lines_of(made: bytes) -> list[list[tuple[float, str]]]:
    """The lines of text of each page between its margins, from the top: distance from the upper edge, and words."""
    found = []
    with pypdfium2.PdfDocument(made) as document:
        for number in range(len(document)):
            page = document[number]
            height = page.get_height()
            words = page.get_textpage()
            lines: dict[int, list[tuple[float, str]]] = {}
            for at in range(words.count_rects()):
                left, bottom, right, top = words.get_rect(at)
                if bottom >= FOOT and (top <= height - HEAD + 4 or number == 0):
                    said = words.get_text_bounded(left, bottom, right, top)
                    lines.setdefault(round((height - bottom) / 2), []).append((left, said))
            found.append([(2.0 * y, " ".join(said for _, said in sorted(some))) for y, some in sorted(lines.items())])
    return found


def filled(made: bytes) -> list[float]:
    """The share of each page's height between the margins, down to its last line."""
    with pypdfium2.PdfDocument(made) as document:
        heights = [document[number].get_height() for number in range(len(document))]
    return [
        (lines[-1][0] - HEAD) / (height - HEAD - FOOT) if lines else 0.0
        for lines, height in zip(lines_of(made), heights, strict=True)
    ]
