"""Who says what stands in a list: a short source where it is named, a long one by its number, once, at the end."""

from __future__ import annotations

from pipeline.common.amounts import AmountText
from reports.page import text

SHORT = 40
"""Characters up to which a source stands where it is named: "as on 18 March 2026"."""
MOST_SOURCE = 400


class Sources:
    """Sources by number, in the order in which they are first met."""

    def __init__(self) -> None:
        self._numbers: dict[str, int] = {}

    def said(self, words: str, most: int) -> str:
        """A text with its long sources as numbers, in at most so many characters."""
        return text.clean(words.cited(self._cite) if isinstance(words, AmountText) else words, most)

    def _cite(self, source: str) -> str:
        shown = text.clean(source, MOST_SOURCE)
        if len(shown) <= SHORT:
            return shown
        return f"source{text.HARD}{self._numbers.setdefault(shown, len(self._numbers) + 1)}"

    @property
    def texts(self) -> tuple[str, ...]:
        """The sources in the order of their numbers, as sentences."""
        return tuple(text.sentence(one) for one in self._numbers)
