"""The colours of the pages and charts, chosen so that grey printing loses nothing.

No colour carries a meaning by itself: every state has its word and its mark, every line its dash or label.
"""

from __future__ import annotations

INK = "#1c2b33"
SOFT = "#4c5b63"
RULE = "#b9c4c6"
HAIR = "#dde4e4"
TINT = "#f1f5f4"
ACCENT = "#1d5660"
BAND = "#cfe0da"
BAND_EDGE = "#7d9c93"
PLAN = "#8a4b16"
READING = "#5d7f88"
LOW_DEEP = "#0b3e42"
LOW_MIDDLE = "#4f8a8b"
LOW_SLIGHT = "#b5d2ce"
LEVEL = "#edf3f1"
WHITE = "#ffffff"

USES = {
    "INK": "text, outlines, intervals",
    "SOFT": "secondary text, notes",
    "RULE": "lines between lists and tables",
    "HAIR": "lines between table rows, grids of charts",
    "TINT": "ground of boxes",
    "ACCENT": "headings, figures and means as drawn",
    "BAND": "target bands",
    "BAND_EDGE": "ends of target bands",
    "PLAN": "planned lines, always dashed; the word overdue",
    "READING": "single readings",
    "LOW_DEEP": "deepest ground of a small map",
    "LOW_MIDDLE": "lower ground of a small map",
    "LOW_SLIGHT": "slightly lower ground of a small map",
    "LEVEL": "level ground of a small map",
}
"""What each colour is used for."""

TEXT_ON = ((INK, WHITE), (SOFT, WHITE), (INK, TINT), (SOFT, TINT), (ACCENT, WHITE), (ACCENT, TINT), (PLAN, WHITE))
"""Every pair of text colour and ground the pages use."""
MARKS_ON = ((ACCENT, WHITE), (ACCENT, BAND), (PLAN, WHITE), (READING, WHITE), (INK, BAND))
"""Every pair of a drawn mark and its ground."""


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour "#rrggbb", 0 to 1 (WCAG 2.2, definition of relative luminance)."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21 (WCAG 2.2, definition of contrast ratio).

    It rests on luminance alone, so it is also the contrast left on a grey print.
    """
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)
