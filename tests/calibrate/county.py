"""The simulation put together, and its table."""

from __future__ import annotations

import numpy as np

from tests.calibrate import clubs, greens
from tests.calibrate.result import Share, Shares

GREENS = 200
SEED = 2026

OPENING = """\
# Calibration

Made by `make calibrate`: a simulated county of known truth, {counties} times over, 200 greens and eight seasons each.
What the tool states is held against the truth. Magnitudes are plausible, no more; nothing here is evidence of how
greens behave.

Stated confidence is **within** two points of what is found, for every interval that is printed; false alarms are **at
most** what is stated. Places in a table are whole numbers and hold a little more than they state, as do the slope of a
trend, which is not narrower than measurement error makes it at 80 %, and shares of points at places that are alike. A
word ("falling") asks for more than its interval: a test, and a slope that measurement error would not make by itself at
95 %. The months of a season are simulated with half as much in common as each has of its own; where a season moves all
its months more than that, the interval of the change of green speed a year is too narrow by some points.

The share of true falls found depends on how steep they are and how many cores are taken; it is told, not promised. The
coverage of the balance is tested apart on 500 greens for each number of samples (tests/statistics/test_balance.py).

| what is stated | rule | stated | found | cases |
| --- | --- | ---: | ---: | ---: |
"""


def simulate(counties: int, seed: int = SEED) -> Shares:
    """The shares found in so many counties."""
    shares = Shares()
    for i in range(counties):
        draw = np.random.default_rng([seed, i])
        for _ in range(GREENS):
            greens.green(draw, shares)
        clubs.county(draw, shares)
    return shares


def line(one: Share) -> str:
    """A row of the table."""
    stated = "" if one.stated is None else f"{100 * one.stated:.1f} %"
    return f"| {one.what} | {one.rule} | {stated} | {100 * one.found:.1f} % | {one.cases:,} |"


def page(shares: Shares, counties: int) -> str:
    """docs/calibration.md."""
    return OPENING.format(counties=counties) + "\n".join(line(one) for one in shares.values()) + "\n"
