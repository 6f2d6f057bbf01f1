"""The simulation put together, and its table."""

from __future__ import annotations

import numpy as np

from tests.calibrate import balances, clubs, greens, laboratories, speeds, steady, steps, visits, worlds
from tests.calibrate.result import Share, Shares

GREENS = 200
STEADY_COUNTIES = 10
"""Small counties for each large one."""
SEED = 2026

OPENING = """\
# Calibration

Made by `make calibrate`: a simulated county of known truth, {counties} times over, 200 greens and eight seasons each,
and every green again in worlds that the records do not tell of. What the tool states is held against the truth.
Magnitudes are plausible, no more; nothing here is evidence of how greens behave.

Stated confidence is **within** two points of what is found, for every interval whose errors are as the tool takes them;
false alarms are **at most** what is stated, and where a world is worse than the tool takes it, at most 10 %, its
intervals holding **at least** 90 %, give or take two points. Places in a table are whole numbers and hold a little more
than they state, as do shares of points at places that are alike, the slope of a trend, and dressing that cannot be less
than nothing. A word ("falling") asks for more than its interval: a test, and a slope that measurement error would not
make by itself at 95 %.
Where the years are too few or not comparable no slope is given, and none is counted as wrong.

Rows marked **told** have no rule. Among them are the worlds that one green's records cannot show and that lie beyond
what is allowed for: a laboratory that drifts by 3 % a year or steps by a quarter, seasons of twelve years alike to 0.7,
a wrong answer in the settings, a fifth of the dressing not logged. What is said there is false more often than stated;
a step common to the greens of one laboratory, and a steady change that most of them show alike, is looked for and told
beside the verdicts.

What it costs: a change of organic matter by less than about 3 % of itself a year is not called one, however many
samples there are.

Of level surveys no step under about 10 mm is told, in a block or mingled: 8 mm are not told from the ground, and
silence there says nothing. A drain sunk right across a green is the ground that is most often asked about.
"""

TABLE = """
| what is stated | rule | stated | found | cases |
| --- | --- | ---: | ---: | ---: |
"""


def simulate(counties: int, seed: int = SEED, *, every: int = GREENS, small: int = STEADY_COUNTIES) -> Shares:
    """The shares found in so many counties of so many greens, and in so many small steady ones for each."""
    shares = Shares()
    places = np.random.default_rng([seed, counties]).permutation((np.arange(counties * small) + 0.5) / counties / small)
    for i in range(counties):
        draw = np.random.default_rng([seed, i])
        for _ in range(every):
            greens.green(draw, shares)
            worlds.steady(draw, shares)
            speeds.speeds(draw, shares)
            balances.balances(draw, shares)
            visits.visits(draw, shares)
        for place in places[i * small : (i + 1) * small]:
            steady.county(draw, shares, float(place))
        clubs.county(draw, shares)
        laboratories.county(np.random.default_rng([seed, i, 1]), shares)
        steps.surveys(np.random.default_rng([seed, i, 2]), shares)
    return shares


def line(one: Share) -> str:
    """A row of the table."""
    stated = "" if one.stated is None else f"{100 * one.stated:.1f} %"
    return f"| {one.what} | {one.rule} | {stated} | {100 * one.found:.1f} % | {one.cases:,} |"


def page(shares: Shares, counties: int) -> str:
    """docs/calibration.md."""
    even, drifting = (steady.GREENS * shares[steady.SENTENCES + name].found for name in steady.LABORATORIES)
    sentences = (
        f"\nA steady county of {steady.GREENS} greens, each with three depths and a green speed over {steady.YEARS} "
        f"years, reads {even:.2f} false sentences on a change in a season where its laboratory is even, and "
        f"{drifting:.2f} where laboratories drift as allowed for (at most {steady.GREENS * 0.05:.1f} is promised). "
        "They do not come singly: most counties read none, one whose laboratory drifts strongly many.\n"
    )
    rows = "\n".join(line(one) for one in sorted(shares.values(), key=lambda one: one.rule == "told"))
    return OPENING.format(counties=counties) + sentences + TABLE + rows + "\n"
