"""Which of a reader's own greens stand out among their like: by places alone, counted with their doubt."""

from __future__ import annotations

from collections.abc import Iterable

from pipeline.compare.comparison import Own

APART = 0.5
"""Share of the way from the middle of a ranking to its end beyond which every place a green may hold must lie: what
may belong to the middle half stands out in nothing. Common practice, no source."""


def apart(one: Own) -> float:
    """How far a green is from the middle of its ranking beyond doubt, as a share of the way to its end; 0 at least.

    It is the distance of the nearest of the places that the green may hold: where they reach the middle, it is 0.
    """
    if one.cell is None or one.place_low is None or one.place_high is None or one.cell.n < 2:
        return 0.0
    middle = (one.cell.n + 1) / 2
    return max(0.0, one.place_low - middle, middle - one.place_high) / (one.cell.n - middle)


def standing_out(own: Iterable[Own]) -> list[Own]:
    """The greens and subjects that stand out, the farthest from the middle first, else in the order given.

    Those whose figure lies outside the limits that hold the greens of its group stand out too, however wide their
    places.
    """
    found = [one for one in own if apart(one) >= APART or one.funnel.startswith("outside")]
    return sorted(found, key=lambda one: -apart(one))
