"""A group of the fewest members, of sure members and of middling ones: estimates and places against other ways."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from pipeline.statistics.random_effects import Place, _shortest_run, places, reml, shrunken
from tests.outside_checks import outside

VALUES, SD = np.array([4.0, 5.2, 5.9, 7.1, 8.0, 9.4]), np.array([0.5, 1.0, 0.6, 1.2, 0.5, 0.9])
"""Six members whose errors and true spread are of one size: neither drawn to the mean nor left alone."""


def likelihood(tau: float) -> tuple[float, float, float]:
    """Restricted likelihood of a spread, the mean at it and the mean's variance, written out."""
    w = 1 / (SD**2 + tau**2)
    m = float(w @ VALUES / w.sum())
    return float(np.sqrt(np.prod(w) / w.sum()) * np.exp(-0.5 * w @ (VALUES - m) ** 2)), m, float(1 / w.sum())


@outside("library", "scipy.integrate.quad and scipy.stats.norm")
@pytest.mark.parametrize("member", range(6))
@pytest.mark.parametrize("confidence", [0.95, 0.5])
def test_ends_of_an_estimate_hold_their_share_by_adaptive_quadrature(member: int, confidence: float) -> None:
    """Below the lower end lies half of what is left over, and above the upper end."""
    (got,) = shrunken(VALUES, SD, [member], confidence=confidence)

    def below(end: float, tau: float) -> float:
        share, m, variance = likelihood(tau)
        keep = tau**2 / (tau**2 + SD[member] ** 2)
        spread = np.sqrt(keep * SD[member] ** 2 + (1 - keep) ** 2 * variance)
        return share * float(norm.cdf(end, m + keep * (VALUES[member] - m), spread))

    mass = quad(lambda tau: likelihood(tau)[0], 0, np.inf, limit=400)[0]
    for end, share in ((got.low, (1 - confidence) / 2), (got.high, (1 + confidence) / 2)):
        assert quad(lambda tau, end=end: below(end, tau), 0, np.inf, limit=400)[0] / mass == pytest.approx(share, 1e-3)


def test_places_as_drawn_another_way() -> None:
    """100,000 groups drawn member by member from a fine grid of spreads; places by sorting."""
    draw = np.random.default_rng(7)
    grid = np.linspace(0.001, 60, 60_000)
    w = 1 / (SD**2 + grid[:, None] ** 2)
    means = w @ VALUES / w.sum(axis=1)
    log = 0.5 * (np.log(w).sum(axis=1) - np.log(w.sum(axis=1)) - (w * (VALUES - means[:, None]) ** 2).sum(axis=1))
    share = np.exp(log - log.max())
    at = draw.choice(grid.size, 100_000, p=share / share.sum())
    mean = draw.normal(means[at], np.sqrt(1 / w.sum(axis=1))[at])
    precision = 1 / SD**2 + 1 / grid[at, None] ** 2
    true = draw.normal((VALUES / SD**2 + mean[:, None] / grid[at, None] ** 2) / precision, 1 / np.sqrt(precision))
    ranks = 1 + np.argsort(np.argsort(true, axis=1), axis=1)
    for member, got in enumerate(places(VALUES, SD, range(6))):
        counts = np.bincount(ranks[:, member], minlength=7)
        assert (got.low, got.high) == _shortest_run(counts, 0.95)
        assert got.middle == np.median(ranks[:, member])


def test_sure_members_scatter_as_they_do() -> None:
    """Hardly any error: the true spread is the variance seen less that of the errors."""
    got = reml([0.0, 10.0, 20.0], [0.01] * 3)
    assert (got.mean, got.tau2) == (pytest.approx(10.0), pytest.approx(100 - 0.0001))


def test_three_members_are_a_group() -> None:
    assert len(shrunken([1.0, 2.0, 3.0], [1.0] * 3)) == 3
    assert places([1.0, 2.0, 3.0], [1e-6] * 3, [2]) == [Place(3, 3, 3)]
    with pytest.raises(ValueError, match="3 members"):
        places([1.0, 2.0], [1.0] * 2, [0])


def test_a_run_of_places_holds_its_share_to_the_draw() -> None:
    assert _shortest_run(np.array([0, 950, 50]), 0.95) == (1, 1)
    assert _shortest_run(np.array([0, 949, 51]), 0.95) == (1, 2)
