"""Like with like: spellings of one construction do not part greens, and a code alone is no missing construction."""

from __future__ import annotations

import pytest

from pipeline.compare.like import path_of

CLUB = {"region": "Ostershire"}


@pytest.mark.parametrize(
    ("words", "code", "group"),
    [
        ("soil push-up", None, "soil push-up"),
        ("Push-up green", None, "soil push-up"),
        (None, "soil_push_up", "soil push-up"),
        ("laid on clay", "soil_push_up", "soil push-up"),
        ("loam  of 1911", None, "loam of 1911"),
        ("Sea-washed turf", "other", "sea-washed turf"),
        (None, None, "construction not recorded"),
    ],
)
def test_greens_are_grouped_by_how_they_are_built(words: str | None, code: str | None, group: str) -> None:
    green = {"shape": "flat", "construction": words, "construction_type": code, "grasses": None}
    assert path_of(green, CLUB)[2] == group
