"""A number in a message goes with the form of its noun and verb: never "1 rows were rejected"."""

from __future__ import annotations

import re

from scripts.docs.faults import every_kind

COUNTED = r"\{(?:count|number|cells|rows|records|results|files|greens|columns)\}"
NEVER_ONE = {
    "correction.no_cell": "of one row it is no fault",
    "count.added": "one reading is not added up",
    "count.columns": "one column is not added up",
    "header.nameless": "the number of a column, not how many",
    "header.twice": "two columns at least",
    "header.unused": "names of columns",
    "level.units": "one of several",
    "level.standpoints": "of so few points it is not asked",
    "level.step": "likewise",
    "load.kept": "the verb is that of “what the store held”",
    "rink.name": "more than half of a file's rinks, so two at least",
}
"""Kinds whose number is never one, and why."""


def test_a_number_is_filled_in_with_its_noun() -> None:
    plural = re.compile(rf"{COUNTED}(?: [a-z]+)? (?:[a-z]+[^s\W]s|are|were|have)\b")
    found = {kind.code for kind in every_kind() for said in (kind.template, kind.hint) if plural.search(said)}
    assert found <= set(NEVER_ONE), found - set(NEVER_ONE)
    assert plural.search("{count} rows: rain") and plural.search("{records} are in force")
