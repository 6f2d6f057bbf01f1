"""Where a label of a drawing stands: beside its mark, where it covers neither a mark nor another label."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reports.page.charts import palette

Box = tuple[float, float, float, float]
"""Left, top, right and bottom of what is written or drawn."""
Side = tuple[int, int]
"""To which side of a mark: left −1, right 1; above −1, below 1."""
OVER_FIRST: tuple[Side, ...] = ((0, -1), (0, 1), (1, 0), (-1, 0), (-1, -1), (1, -1), (-1, 1), (1, 1))
ASIDE_FIRST: tuple[Side, ...] = ((1, 0), (-1, 0), (1, -1), (1, 1), (-1, -1), (-1, 1), (0, -1), (0, 1))
"""Sides in the order they are tried: of short names, and of words."""
STEPS = 5
"""How often a label steps further from its mark before it has to cover something."""


@dataclass(frozen=True)
class Place:
    """Where a label stands.

    Attributes:
        middle: its middle, across and down.
        box: what it covers.
        aside: whether it stands so far from its mark that a line has to lead to it.
    """

    middle: tuple[float, float]
    box: Box
    aside: bool


def free(
    mark: tuple[float, float],
    size: tuple[float, float],
    taken: Sequence[Box],
    frame: Box,
    sides: Sequence[Side] = OVER_FIRST,
    gap: float = 7.0,
) -> Place:
    """The nearest place that covers nothing and lies within the frame; where there is none, the one that covers least.

    Args:
        mark: middle of the mark that it names.
        size: width and height of the label.
        taken: what is drawn or written already, the mark itself among it.
        frame: what the label has to stay within.
        sides: in which order they are tried.
        gap: between the middle of the mark and the label.
    """
    tried = list(_beside(mark, size, sides, gap))
    covered = [sum(_shared(one.box, other) for other in taken) + _outside(one.box, frame) for one in tried]
    return tried[covered.index(min(covered))]


def around(middle: tuple[float, float], half: float) -> Box:
    """The box of a mark."""
    x, y = middle
    return x - half, y - half, x + half, y + half


def leader(mark: tuple[float, float], to: Place) -> str:
    """A thin line from a mark to the nearest edge of its label that had to step aside."""
    (x, y), (left, top, right, bottom) = mark, to.box
    u, v = min(max(x, left), right), min(max(y, top), bottom)
    return f'<path d="M{x:.1f} {y:.1f}L{u:.1f} {v:.1f}" stroke="{palette.INK}" stroke-width="0.8"/>'


def _beside(mark: tuple[float, float], size: tuple[float, float], sides: Sequence[Side], gap: float) -> Iterator[Place]:
    """Places around a mark, nearest first."""
    (x, y), (width, height) = mark, size
    for step in range(STEPS):
        aside, over = width / 2 + gap + step * height, height / 2 + gap + step * height
        for across, down in sides:
            u, v = x + across * aside, y + down * over
            box = (u - width / 2, v - height / 2, u + width / 2, v + height / 2)
            yield Place((u, v), box, step > 0)


def _shared(one: Box, other: Box) -> float:
    """Ground that two boxes share."""
    wide = min(one[2], other[2]) - max(one[0], other[0])
    high = min(one[3], other[3]) - max(one[1], other[1])
    return max(wide, 0.0) * max(high, 0.0)


def _outside(box: Box, frame: Box) -> float:
    """Ground of a box that lies outside the frame."""
    return (box[2] - box[0]) * (box[3] - box[1]) - _shared(box, frame)
