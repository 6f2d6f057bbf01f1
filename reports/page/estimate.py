"""How many lines words take, estimated before anything is laid out."""

from __future__ import annotations

import math

EM = 0.5
"""Width of a character in ems, on average, in the bundled typeface."""


def lines(words: str, size: float, width: float, em: float = EM) -> int:
    """Lines that words take; 0 for none.

    Args:
        words: the words.
        size: of the type, pt.
        width: of the column, pt.
        em: width of a character in ems.
    """
    return math.ceil(len(words) * size * em / width)
