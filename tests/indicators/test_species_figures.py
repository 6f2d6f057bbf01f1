"""Species of one kind: those of one place add up, in whichever files they came; a correction takes a species' place."""

from __future__ import annotations

import pytest

from tests.indicators.figures import Figures
from tests.thorough import beyond

HEAD = "date,green,observed,place,method,value,unit\n"


def share(species: str, place: str, value: float) -> str:
    return f"2026-06-10,ALD-1,{species},{place},visual,{value},%\n"


def fescue(figures: Figures, *rows: str) -> float | None:
    """The share of fescues once a file of these rows has come."""
    done = figures(observation=HEAD + "".join(rows))
    (found,) = [one for one in done.indicators if one.name == "fescue_pct"]
    return found.value


def test_species_of_two_files_add_up_at_one_place(figures: Figures) -> None:
    """Guards against red fescue of a second file that takes the place of the first one's chewings fescue."""
    assert fescue(figures, share("chewings fescue", "Q1", 40), share("chewings fescue", "Q2", 20)) == 30
    assert fescue(figures, share("red fescue", "Q1", 30), share("Red Fescue", "Q2", 10)) == 50
    assert fescue(figures, share("red fescue", "Q1", 10), share("red fescue", "Q2", 10)) == 40  # corrected


@pytest.mark.parametrize("word", ["fescue", "Fescues", "fine fescue", "festuca"])
@beyond(1)
def test_words_for_the_whole_kind_are_one(figures: Figures, word: str) -> None:
    """Guards against a re-issue in other words that stands beside the first and doubles the share."""
    assert fescue(figures, share("fescue", "Q1", 40)) == 40
    assert fescue(figures, share(word, "Q1", 30)) == 30
