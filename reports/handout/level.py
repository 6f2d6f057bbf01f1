"""How closely a handout is set: what gives way, in this order, where there is more than one page holds.

First lines to write on go, then small lines, then space, then the greenkeeper's routine is told together, then what is
to be looked at, then type steps down from 11 to 10 and to 9.5 points, last the second finding and the hours of each
green. Verdict, counts, entries under a warning, what was spent, and everything the committee or a licensed person
decides always stand.
"""

from __future__ import annotations

from dataclasses import dataclass

from reports.condition.first.level import FIRST_LEVELS, FirstLevel


@dataclass(frozen=True)
class HandoutLevel:
    """How closely a handout is set.

    Attributes:
        name: class of the page body; its sizes and spaces stand in handout.css.
        first: which small lines of actions stand.
        routine: most rows of routine of the greenkeeper's, for each green.
        found: most findings of a green.
        checks: most entries under a warning that are told in full, for each green; the place of each stands always.
        looks: whether it is named what is to be looked at.
        lines: blank lines to note what was said.
        hours: whether hours and last season stand beside the money of each green; those of all greens do always.
    """

    name: str
    first: FirstLevel
    routine: int
    found: int = 2
    checks: int = 2
    looks: bool = True
    lines: int = 0
    hours: bool = True


_DETAILS = {one.details: one for one in reversed(FIRST_LEVELS)}
LEVELS = (
    HandoutLevel("roomy", _DETAILS["all"], 12, lines=6),
    HandoutLevel("roomy", _DETAILS["all"], 12, lines=3),
    HandoutLevel("roomy", _DETAILS["all"], 12),
    HandoutLevel("ample", _DETAILS["all"], 12),
    HandoutLevel("snug", _DETAILS["answering"], 12),
    HandoutLevel("snug", _DETAILS["none"], 12),
    HandoutLevel("snug", _DETAILS["none"], 2, checks=1),
    HandoutLevel("snug", _DETAILS["none"], 1, checks=1, looks=False),
    HandoutLevel("lower", _DETAILS["none"], 1, checks=1, looks=False),
    HandoutLevel("lowest", _DETAILS["none"], 1, checks=1, looks=False),
    HandoutLevel("lowest", _DETAILS["none"], 1, found=1, checks=0, looks=False),
    HandoutLevel("least", _DETAILS["none"], 1, found=1, checks=0, looks=False, hours=False),
)
