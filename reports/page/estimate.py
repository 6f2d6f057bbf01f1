"""How many lines words take, estimated before anything is laid out."""

from __future__ import annotations

import math
from functools import cache, lru_cache

from reports.page import fonts

EM = 0.5
"""Width of a character in ems, on average, in the bundled typeface."""
KEPT_WORDS = 20_000
"""Words whose width is kept: the documents of a run share most of theirs."""


def lines(words: str, size: float, width: float, em: float = EM) -> int:
    """Lines that words take; 0 for none.

    Args:
        words: the words.
        size: of the type, pt.
        width: of the column, pt.
        em: width of a character in ems.
    """
    return math.ceil(len(words) * size * em / width)


def measured_lines(words: str, size: float, width: float) -> int:
    """Lines that words take, set left and measured letter by letter without kerning; 0 for none.

    Args:
        words: the words, which break at spaces.
        size: of the type, pt.
        width: of the column, pt.
    """
    room, space = width / size, _ems(" ")
    count, at = 0, math.inf
    for word in words.split():
        wide = _ems(word)
        if at + space + wide > room:
            count, at = count + 1, wide
        else:
            at += space + wide
    return count


@lru_cache(maxsize=KEPT_WORDS)
def _ems(word: str) -> float:
    known = _advances()
    return sum(known.get(letter, known[""]) for letter in word)


@cache
def _advances() -> dict[str, float]:
    """Width of each letter of the typeface in ems; of "" for one that it does not have."""
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

    with TTFont(fonts.FONT_DIR / "Inter-Regular.ttf", lazy=True) as font:
        size, widths = font["head"].unitsPerEm, font["hmtx"].metrics
        return {
            "": widths[".notdef"][0] / size,
            **{chr(code): widths[name][0] / size for code, name in font.getBestCmap().items()},
        }
