"""Counting a sward by points: shares, and how far apart the places of one green are."""

from __future__ import annotations

import math
from collections.abc import Sequence

from pipeline.agronomy.maths import Quantity, require_between, require_not_negative, require_positive


def cover_pct(hits: Quantity, points: Quantity) -> Quantity:
    """Share of the ground in % that a kind of plant, or bare ground, takes up.

    Formula: `100 · hits / points`.

    Args:
        hits: points that met it.
        points: points looked at.

    Source: point-quadrat method (Levy & Madden 1933, as every handbook of vegetation survey has it).
    """
    require_not_negative(hits=hits)
    require_positive(points=points)
    return 100.0 * hits / points


def clumping(hits: Sequence[int], points: Sequence[int]) -> float:
    """How many times more the shares of places differ than chance alone makes them; 1 where no more.

    Points of one frame lie close together, and what grows in patches is met by many of them or by none: such points
    say less than as many scattered ones. The count is worth `points / clumping` of those.

    Formula: `max(1, X² / (m − 1))`, `X² = Σ (hitsᵢ − pᵢ)² / (pᵢ(1 − p))`, `pᵢ = p · pointsᵢ`, `p = Σ hits / Σ points`.

    Args:
        hits: points that met it, place by place.
        points: points looked at, place by place.

    Raises:
        ValueError: when a place has more hits than points.

    Source: Pearson's dispersion of a binomial count (McCullagh & Nelder 1989, Generalized Linear Models, 4.5.2).
    """
    for met, looked in zip(hits, points, strict=True):
        require_positive(points=looked)
        require_between(0.0, float(looked), hits=met)
    total, share = sum(points), sum(hits) / sum(points)
    if len(hits) < 2 or share in {0.0, 1.0}:
        return 1.0
    expected = share * (1.0 - share)
    chi = math.fsum((met - looked * share) ** 2 / (looked * expected) for met, looked in zip(hits, points, strict=True))
    return min(float(total), max(1.0, chi / (len(hits) - 1)))
