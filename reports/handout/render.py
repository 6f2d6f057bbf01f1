"""From the first pages of a club's greens to the bytes of its handout: one page for up to four greens."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from pipeline.first_page.handout import Handout
from reports.handout.data import csv_files
from reports.handout.fit import may_fit
from reports.handout.level import LEVELS
from reports.handout.view import view
from reports.page.document import Document, Pages
from reports.page.house_style import HouseStyle
from reports.page.templating import fill
from reports.page.units import in_units

GREENS_A_PAGE = 4
"""Greens of which one page tells everything that has to stand."""


def shown(of: Handout, house: HouseStyle) -> Handout:
    """The handout in the units of the house; what is attached stays in SI."""
    return replace(of, greens=tuple(in_units(one, house.units) for one in of.greens))


def _drafts(of: Handout, attached: Sequence[str], version: str, house: HouseStyle) -> Iterator[Pages]:
    own = shown(of, house)
    tried = len(of.greens) > GREENS_A_PAGE  # of more than a page the number of pages is not estimated
    for level in LEVELS:
        report = view(own, level, version=version, units=house.units)
        tried = tried or level is LEVELS[-1] or may_fit(report, house)
        if tried:
            yield Pages(fill("handout.html.j2", house, report=report, attached=attached))


DOCUMENT = Document(
    drafts=_drafts,
    attached=csv_files,
    day=lambda of: of.as_of,
    most_pages=lambda of, _: -(-len(of.greens) // GREENS_A_PAGE),
    styles=("handout.css",),
)
html, render = DOCUMENT.html, DOCUMENT.render
