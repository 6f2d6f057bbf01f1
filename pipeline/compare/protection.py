"""Disclosure control: what may be shown so that no club's figure can be worked out by another.

Two layers, each sufficient by itself for what it promises:

1. **Rounding before anything else.** A green enters every figure that others see rounded to a fixed step, its standard
   error too. Whatever is computed afterwards, and whoever puts what side by side, a figure can never be told closer
   than its step, because nothing closer went in.
2. **Thresholds and complementary suppression.** No group under five greens or two clubs is shown, and none whose
   difference from other shown groups would be such a group.

Source of the methods: Hundepool et al. 2012, Statistical Disclosure Control (Wiley), ch. 4 (rounding, thresholds,
secondary suppression); the numbers are the project's own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence, Set

FEWEST_GREENS = 5
FEWEST_CLUBS = 2
SHARE_STEP = 0.02
"""Rounding step of an error that is a share of its figure."""

Path = tuple[str, ...]
"""A group by the names on the way to it, widest first; the groups below it begin with it."""


def rounded(value: float, step: float) -> float:
    """The value to the nearest step."""
    return round(value / step) * step + 0.0


def rounded_error(sd: float, value: float, step: float, *, relative: bool) -> float:
    """A standard error as others' figures use it: coarse, with the error of rounding the value added.

    A rounding error is even over a step: its variance is step²/12 (Sheppard 1898). Where the error is a share of the
    value (core sampling), the share is rounded and taken of the rounded value: an error rounded by itself would say
    on which side of a limit within its step the value lies.

    Args:
        sd: standard error of the figure.
        value: the figure, not rounded.
        step: its rounding step.
        relative: True where the error is a share of the figure.
    """
    if relative:
        shares = round(sd / value / SHARE_STEP, 6)  # so that the last bits of a division decide nothing
        coarse = max(1, round(shares)) * SHARE_STEP * rounded(value, step)
    else:
        coarse = max(1, round(2 * sd / step)) * step / 2
    return math.hypot(coarse, step / math.sqrt(12))


def outward(low: float, high: float, step: float) -> tuple[float, float]:
    """A range widened to multiples of twice the step."""
    coarse = 2 * step
    return math.floor(low / coarse + 1e-9) * coarse, math.ceil(high / coarse - 1e-9) * coarse


def whole_range(values: Sequence[float], step: float, *, signed: bool) -> tuple[float, float]:
    """A range that every figure lies within that the rounded values stand for, widened to multiples of twice the step.

    A figure may lie half a step outside the value it was rounded to: 6.21 enters as 6.0. The range holds it, and tells
    no more of it than the rounded value does, for it is made of that alone.

    Args:
        values: figures rounded to the step.
        step: the step.
        signed: whether the figures can be negative; otherwise the range ends at 0.
    """
    low, high = outward(min(values) - step / 2, max(values) + step / 2, step)
    return (low if signed else max(low, 0.0)), high


def large_enough(greens: Set[str], club_of: Mapping[str, str]) -> bool:
    """Whether so many greens of so many clubs may be shown together."""
    return len(greens) >= FEWEST_GREENS and len({club_of[green] for green in greens}) >= FEWEST_CLUBS


def groups_below(members: Mapping[str, Path]) -> dict[Path, frozenset[str]]:
    """Every group that the greens' paths make, widest first, with its greens.

    Args:
        members: path of each green to its narrowest group.
    """
    found: dict[Path, set[str]] = {}
    for green, path in members.items():
        for length in range(1, len(path) + 1):
            found.setdefault(path[:length], set()).add(green)
    return {path: frozenset(found[path]) for path in sorted(found, key=lambda p: (len(p), p))}


def publishable(members: Mapping[str, Path], club_of: Mapping[str, str]) -> dict[Path, frozenset[str]]:
    """The groups that may be shown together, widest first, with their greens.

    Groups are nested, so what can be had by adding and subtracting shown groups is made of the remainders: each shown
    group less the shown groups right below it. Where such a remainder is neither empty nor large enough itself, the
    smallest group below is withheld as well, until it is.

    Args:
        members: path of each green that has the figure.
        club_of: club of each green.
    """
    groups = groups_below(members)
    shown: dict[Path, frozenset[str]] = {}
    for path, greens in groups.items():
        if len(path) == 1 and large_enough(greens, club_of):
            shown[path] = greens
    for path in groups:  # widest first: a group's own standing is settled before those below it
        if path in shown:
            below = [p for p in groups if p[:-1] == path and large_enough(groups[p], club_of)]
            for kept in _with_safe_remainder(shown[path], below, groups, club_of):
                shown[kept] = groups[kept]
    return shown


def _with_safe_remainder(
    parent: frozenset[str],
    below: Sequence[Path],
    groups: Mapping[Path, frozenset[str]],
    club_of: Mapping[str, str],
) -> list[Path]:
    """Of the groups below a shown one, those that may be shown beside it."""
    kept = sorted(below, key=lambda p: (-len(groups[p]), p))
    while kept:
        left = parent - _union(groups[p] for p in kept)
        if not left or large_enough(left, club_of):
            break
        kept.pop()
    return kept


def _union(sets: Iterable[frozenset[str]]) -> frozenset[str]:
    return frozenset().union(*sets)


def narrowest(shown: Mapping[Path, frozenset[str]], path: Path) -> Path | None:
    """The narrowest shown group on a green's path; None where none is shown."""
    for length in range(len(path), 0, -1):
        if path[:length] in shown:
            return path[:length]
    return None


def withheld(members: Mapping[str, Path], shown: Mapping[Path, frozenset[str]]) -> int:
    """How many groups exist but are not shown."""
    return len(groups_below(members)) - len(shown)
