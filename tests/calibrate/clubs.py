"""A simulated county of clubs: estimates, places and limits of the comparison, and what changed with what."""

from __future__ import annotations

from datetime import date

import numpy as np

from pipeline.compare.build import comparison
from pipeline.compare.county import County, Member
from pipeline.compare.figures import Figure, _topic
from pipeline.indicators.soil.soil import CORE_VARIATION, ORGANIC_MATTER
from pipeline.statistics.effect import Difference, difference_in_differences
from tests.calibrate.result import Shares

TOPIC = _topic(ORGANIC_MATTER, "0–20 mm", "one method")
GROUPS = {"ash": 6, "sand": 14, "soil": 60, "soil over ash": 120}
"""Construction → greens: 200 greens of which some groups are barely large enough."""


def county(draw: np.random.Generator, shares: Shares) -> None:
    """One county of 200 greens, every club reading its own comparison."""
    members: dict[str, Member] = {}
    true: dict[str, float] = {}
    now: dict[str, list[Figure]] = {}
    for kind, number in GROUPS.items():
        middle, spread = draw.uniform(5, 8), draw.uniform(0.1, 1.5)
        for i in range(number):
            name = f"{kind}-{i:03}"
            members[name] = Member(name, f"{kind}-{i // 2}", ("flat greens", "County", kind, "bent"))
            true[name] = max(2.0, middle + spread * draw.standard_normal())
            share = CORE_VARIATION / np.sqrt(draw.choice([2, 4, 10, 20]))
            value = max(0.5, true[name] * (1 + share * draw.standard_normal()))
            sd = float(share * value)
            now[name] = [Figure(TOPIC, value, value - 1.96 * sd, value + 1.96 * sd, sd, sampled=True)]
    made = County(members, now, {}, "2026", "2025", date(2026, 9, 30))
    readers = [f"{kind}-{club}" for kind, number in GROUPS.items() for club in range(min(number // 2, 10))]
    for club in readers:
        for own in comparison(made, club=club).own:
            assert own.estimate_low is not None
            assert own.estimate_high is not None
            assert own.place_low is not None
            assert own.place_high is not None
            among = [true[g] for g, m in members.items() if m.path == members[own.green].path]
            assert own.cell is not None
            assert own.cell.n == len(among)
            place = 1 + sum(value < true[own.green] for value in among)
            inside = own.estimate_low <= true[own.green] <= own.estimate_high
            shares.of("estimate of a green among its like", "within", 0.95).count(inside)
            shares.of("place in the table", "within", 0.95).count(own.place_low <= place <= own.place_high)
            shares.of("greens of the group inside the 95 % limits", "within", 0.95).count(own.funnel == "inside")
            out = own.funnel == "outside 99.8 %"
            shares.of("greens of the group outside the 99.8 % limits", "at most", 0.002).count(out)
    _programmes(draw, shares)


def _programmes(draw: np.random.Generator, shares: Shares) -> None:
    """Changes of greens whose programme changed and of others, with unlike spread; a year's drift common to both."""
    effect, drift = -0.5, draw.normal(0, 0.5)
    for few, many in ((5, 12), (12, 40), (30, 30)) * 60:
        changed = effect + drift + draw.normal(0, 0.5, few)
        unchanged = drift + draw.normal(0, draw.uniform(0.3, 0.9), many)
        got = difference_in_differences(changed, unchanged)
        assert isinstance(got, Difference)
        shares.of("difference in differences", "within", 0.95).count(got.low <= effect <= got.high)
