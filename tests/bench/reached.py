"""A goal and what was reached, as every measurement prints it."""

from __future__ import annotations

import sys


def row(what: str, reached: float, goal: float, how: str = "at most") -> None:
    """Print it; ``how``: "at most" or "at least" the goal is wanted."""
    met = reached <= goal if how == "at most" else reached >= goal
    sys.stdout.write(f"{what}: {reached:.3g} (target {how} {goal:g}: {'reached' if met else 'missed'})\n")
    sys.stdout.flush()
