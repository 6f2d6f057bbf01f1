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

Stated confidence is **within** two points of what is found, or **at least** that where the method is careful on
purpose:

- the slope of a trend, whose exact interval has the next confidence above 95 % that its number of samples allows, and
  which is never narrower than measurement error makes it;
- a balance from three samples, whose interval is widened where samples scatter more than stated, and not narrowed where
  they scatter less;
- estimates and places, where figures of other clubs enter rounded and the rounding is added to their error, and places
  are whole numbers.

The share of true falls found depends on how steep they are and how many cores are taken; it is told, not promised.

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
