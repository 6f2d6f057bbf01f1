"""How closely the first page is set: what gives way, in this order, where there is more than one page holds.

First the small lines below routine actions go, then space between the blocks, then routine actions are folded into one
row, with them entries under a warning after the first and the names of rejected rows, then why to look at the green,
then how works are done, then the third finding, then the small map and every small line, last the second finding. The
verdict, the counts, what was spent, the actions that answer printed findings and the six measures always stand.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class FirstLevel:
    """How closely the first page is set.

    Attributes:
        actions: most rows of actions.
        details: which actions have their small line: all of them, those that answer a finding, these with no more than
            what of them is open, or none.
        found: most findings.
        checks: most entries under a warning that are told in full.
        rejected: most rejected rows that are named.
        map: whether the small map is drawn.
        looks: whether what is to be looked at is named.
        closely: whether less space stands between the blocks.
    """

    actions: int
    details: Literal["all", "answering", "open", "none"]
    found: int
    checks: int
    rejected: int
    map: bool = True
    looks: bool = True
    closely: bool = False


FIRST_LEVELS = (
    FirstLevel(7, "all", 3, 2, 2),
    FirstLevel(6, "answering", 3, 2, 2),
    FirstLevel(6, "answering", 3, 2, 1, closely=True),
    FirstLevel(5, "answering", 3, 1, 1, closely=True),
    FirstLevel(5, "answering", 3, 1, 0, closely=True),
    FirstLevel(4, "answering", 3, 1, 0, closely=True),
    FirstLevel(4, "answering", 3, 1, 0, looks=False, closely=True),
    FirstLevel(4, "open", 3, 1, 0, looks=False, closely=True),
    FirstLevel(4, "answering", 2, 1, 0, looks=False, closely=True),
    FirstLevel(3, "none", 2, 1, 0, map=False, looks=False, closely=True),
    FirstLevel(2, "none", 1, 1, 0, map=False, looks=False, closely=True),
)
