"""What the shipped stylesheets say, in points: for tests that hold estimates of heights to them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import tinycss2

from reports.page.document import TEMPLATES

POINTS = {"pt": 1.0, "mm": 72 / 25.4}
"""CSS Values 3, 6.2: an inch is 72 points and 25.4 mm."""
SIDES = ("top", "right", "bottom", "left")
PAPER = {"A4": 297.0 * POINTS["mm"], "Letter": 11.0 * 72}
"""Height in points: ISO 216, and ANSI A of 11 inches."""


@cache
def rules(*names: str) -> dict[str, dict[str, str]]:
    """What is declared for each selector, of these stylesheets one after the other."""
    found: dict[str, dict[str, str]] = {}
    for name in names:
        for rule in tinycss2.parse_stylesheet(Path(TEMPLATES / name).read_text("utf-8"), True, True):
            if rule.type not in ("qualified-rule", "at-rule") or rule.content is None:
                continue
            head = tinycss2.serialize(rule.prelude)
            selectors = [one.strip() for one in head.split(",")] if rule.type == "qualified-rule" else [f"@page{head}"]
            for one in tinycss2.parse_blocks_contents(rule.content, True, True):
                if one.type == "declaration":
                    for selector in selectors:
                        found.setdefault(selector.strip(), {}).update(
                            _longhand(one.name, tinycss2.serialize(one.value))
                        )
    return found


def _longhand(name: str, value: str) -> dict[str, str]:
    parts = value.split()
    if name not in ("margin", "padding"):
        return {name: value.strip()}
    at = {1: (0, 0, 0, 0), 2: (0, 1, 0, 1), 3: (0, 1, 2, 1), 4: (0, 1, 2, 3)}[len(parts)]
    return {f"{name}-{side}": parts[i] for side, i in zip(SIDES, at, strict=True)}


class Styled:
    """An element: what is declared for it, by its selectors from the weakest to the strongest."""

    def __init__(self, sheets: tuple[str, ...], *selectors: str) -> None:
        every = rules(*sheets)
        assert all(one in every for one in selectors[:1]), f"no stylesheet has {selectors[0]!r}"
        self.told: dict[str, str] = {}
        for one in selectors:
            self.told |= every.get(one, {})

    def pt(self, name: str) -> float:
        """A length in points; 0 where none is declared."""
        value = self.told.get(name, "0").split()[0]
        unit = next((one for one in POINTS if value.endswith(one)), "")
        return float(value.removesuffix(unit)) * POINTS.get(unit, 1.0)

    @property
    def line(self) -> float:
        """Height of a line: a length, or a number times the size of the type."""
        said = self.pt("line-height")
        return said if "pt" in self.told["line-height"] else said * self.pt("font-size")

    @property
    def row(self) -> float:
        """A line with the space above and below it and its border."""
        border = float(self.told.get("border-bottom", "0pt").split()[0].removesuffix("pt"))
        return self.line + self.pt("padding-top") + self.pt("padding-bottom") + border

    @property
    def heading(self) -> float:
        """A line with its margins."""
        return self.line + self.pt("margin-top") + self.pt("margin-bottom")
