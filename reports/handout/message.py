"""The text of an e-mail that goes with a handout: plain lines, the handout's own words, no figure that it lacks.

What gives way on a page that is set closely is not in it; so it is the same however the page is set.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from pipeline.common.words import listed
from pipeline.first_page.handout import Handout
from pipeline.indicators.base.first_page import FirstPage
from reports.condition.first.actions import ActionRow
from reports.handout.level import LEVELS
from reports.handout.render import shown
from reports.handout.todo import COMMITTEE, GreenRows, told
from reports.handout.view import GreenPart, in_words, view
from reports.page import text
from reports.page.actions import NO_SUM, NOT_KNOWN
from reports.page.house_style import HouseStyle

WIDTH = 76
"""Characters of a line: two fewer than the 78 of RFC 5322, section 2.1.1, so that it can be quoted once."""
GREETING = "[Write the greeting here, and to whom this goes. Nothing is sent by itself.]"
OTHERS = {"Greenkeeper": "The greenkeeper does:", "Licensed person": "A licensed person decides about:"}
"""Who decides about the other works → how they are told."""
_SPACES = str.maketrans({text.NARROW: " ", text.HARD: " ", "\u2060": ""})


def message(of: Handout, files: Sequence[str], house: HouseStyle) -> str:
    """The text, its first line the subject.

    Args:
        of: the handout.
        files: names of the club's PDFs that go with it.
        house: the house style.
    """
    page = view(shown(of, house), LEVELS[-1], version="", units=house.units)
    parts = [f"Subject: {page.club}: the {'green' if page.one else 'greens'} in season {page.season}", GREETING]
    if page.checks_heading:
        parts.append(" ".join([f"{page.checks_heading}.", *(_joined(one.lead, one.words) for one in page.checks)]))
    pages = [first for _, first in of.pages]
    parts += [_green(*each) for each in zip(page.greens, page.todo, pages, strict=True)]
    parts.append(" ".join([*(in_words(one) for one in page.sums), *([page.unlogged] if page.unlogged else [])]))
    parts.append("\n".join(["Attached:", *(f"  {name}" for name in files)]))
    if house.name:
        parts.append("\n".join(line for line in (house.name, house.address) if line))
    return "\n\n".join(_wrapped(part) for part in parts) + "\n"


def _green(found: GreenPart, todo: GreenRows, of: FirstPage) -> str:
    """A green's paragraph: verdict, what was found, what the committee decides, what else is done, and the sum."""
    words = [f"{found.green}.", found.verdict, found.counts]
    words += [_joined(one.lead, one.words) for one in found.found] or [found.found_none]
    words.append(found.spent)
    asked = [_asked(one) for one in todo.rows if one.who == COMMITTEE]
    words.append(f"The committee decides: {'; '.join(asked)}." if asked else "")
    words += [
        f"{lead} {listed(named)}."
        for who, lead in OTHERS.items()
        if (named := [text.inside(text.clean(one.what, 60)) for one in told(of) if one.who == who])
    ]
    total = "" if todo.total == NO_SUM else f": {todo.total}"
    words.append(f"{todo.label}{total}." if todo.label else todo.empty)
    return " ".join(word for word in words if word)


def _asked(row: ActionRow) -> str:
    """A question for the committee: what, how much, when, for how much."""
    amount = "amount not known" if row.amount == NOT_KNOWN else row.amount
    return f"{text.inside(row.what)} ({', '.join(part for part in (amount, row.when, row.cost) if part != '–')})"


def _joined(*words: str) -> str:
    return " ".join(word for word in words if word)


def _wrapped(part: str) -> str:
    """The paragraph in lines that are no longer than ``WIDTH``; a list's lines stay as they are."""
    if "\n" in part:
        return part.translate(_SPACES)
    return textwrap.fill(part.translate(_SPACES), WIDTH, break_on_hyphens=False)
