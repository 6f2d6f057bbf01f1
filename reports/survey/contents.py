"""The contents of a survey: its sections with the page of each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from reports.survey.findings import SECTIONS, Place

LEAST = 6
"""Sections from which a survey has contents: so many fill more than four pages."""
NAMED = {
    "findings": "Findings",
    "advice": "What to do",
    "earlier": "Since the visit before",
    "programme": "Programme",
    "own-text": "The surveyor’s own words",
    SECTIONS["levels"].anchor: "Levels",
    SECTIONS["sward"].anchor: "Sward and surface",
    "soil-and-speed": "Soil and speed",
    SECTIONS["sieve"].anchor: "Profile and sieve",
    "photos": "Photos",
    "cautions": "Cautions",
    "about-the-records": "About the records",
    "methods": "How each figure was made",
    "files": "Files behind this survey",
}
"""Anchor of a section → its heading, in the order in which they stand."""


def contents(holds: Mapping[str, bool]) -> tuple[Place, ...]:
    """The sections that a survey has; none where they are few.

    Args:
        holds: whether it has a section, by anchor.
    """
    found = tuple(_places(holds))
    return found if len(found) >= LEAST else ()


def _places(holds: Mapping[str, bool]) -> Iterator[Place]:
    yield from (Place(name, anchor) for anchor, name in NAMED.items() if holds[anchor])
