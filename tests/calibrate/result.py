"""Shares found in the simulated county, against what is stated."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

Rule = Literal["within", "at least", "at most", "told"]


@dataclass
class Share:
    """A share counted over many cases.

    Attributes:
        what: what is counted.
        rule: ``within`` two points of the stated share; ``at least`` or ``at most`` it; ``told``: printed, no rule.
        stated: the share stated, 0…1; None where none is.
        hits: cases that count.
        cases: cases in all.
    """

    what: str
    rule: Rule
    stated: float | None
    hits: int = field(default=0)
    cases: int = field(default=0)

    def count(self, hit: bool) -> None:
        """One more case."""
        self.hits += bool(hit)
        self.cases += 1

    @property
    def found(self) -> float:
        """The share found."""
        return self.hits / self.cases

    @property
    def error(self) -> float:
        """Standard error of the share found, if cases were independent."""
        stated = self.found if self.stated is None else self.stated
        return math.sqrt(stated * (1 - stated) / self.cases)

    def kept(self, points: float = 0.02) -> bool:
        """Whether the rule is kept, give or take so many hundredths."""
        if self.stated is None or self.rule == "told":
            return True
        off = self.found - self.stated
        return {"within": abs(off) <= points, "at least": off >= -points, "at most": off <= points}[self.rule]


class Shares(dict[str, Share]):
    """Shares by name, made at their first case."""

    def of(self, what: str, rule: Rule, stated: float | None) -> Share:
        """The share of this name."""
        return self.setdefault(what, Share(what, rule, stated))
