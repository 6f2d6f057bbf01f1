"""Where one stands among its like: a random-effects model that draws thin evidence towards the group.

Each figure y is its true value θ plus an error of known standard deviation s, and the true values of a group scatter
about its mean: y ~ N(θ, s²), θ ~ N(μ, τ²). A figure with a wide error is drawn far towards μ, one with a narrow error
hardly at all, so that a green with two samples does not top a table by luck.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.statistics.interval import FUNNEL_Z, Estimate
from pipeline.statistics.kendall import finite

MIN_MEMBERS = 3
"""With τ not known beforehand, an average over it exists from three members on (Gelman 2006, Bayesian Analysis 1)."""
_NODES = 160
_DRAWS = 4000
_SEED = 20260101
"""Places are counted over drawn groups; a fixed seed gives the same places for the same figures."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RandomEffects:
    """A group's mean and the true spread between its members.

    Attributes:
        mean: μ, unit of the values.
        tau2: τ², variance of the true values about μ; 0 where errors alone explain the scatter.
    """

    mean: float
    tau2: float


@dataclass(frozen=True, slots=True)
class Place:
    """Places, from the lowest true value up, that one member may hold: interval and the one most in the middle."""

    low: int
    middle: int
    high: int


def _checked(values: ArrayLike, sd: ArrayLike) -> tuple[Floats, Floats]:
    """Values and variances of one length, or ValueError."""
    y, s = finite(values, "values"), finite(sd, "sd")
    if y.size != s.size or y.size < 2 or (s <= 0).any():
        raise ValueError("values and sd must have one length, at least 2, and every sd be above zero")
    return y, s**2


def _restricted(tau: Floats, y: Floats, variance: Floats) -> tuple[Floats, Floats, Floats]:
    """Restricted log-likelihood, μ and Var(μ) at each τ; shapes (τ,)."""
    weight = 1 / (variance + tau[:, None] ** 2)
    total = weight.sum(axis=1)
    mean = (weight @ y) / total
    square = (weight * (y - mean[:, None]) ** 2).sum(axis=1)
    return 0.5 * (np.log(weight).sum(axis=1) - np.log(total) - square), mean, 1 / total


def reml(values: ArrayLike, sd: ArrayLike) -> RandomEffects:
    """The group by restricted maximum likelihood.

    Args:
        values: one figure a member.
        sd: standard deviation of each figure's error.

    Source: Viechtbauer 2005, Journal of Educational and Behavioral Statistics 30:261–293 (eq. for REML).

    Raises:
        ValueError: fewer than two values, a value missing, or an sd not above zero.
    """
    from scipy.optimize import minimize_scalar

    y, variance = _checked(values, sd)
    most = float(np.ptp(y)) * math.sqrt(y.size) + math.sqrt(float(variance.max()))

    def loss(tau: float) -> float:
        return -float(_restricted(np.array([tau]), y, variance)[0][0])

    grid = np.linspace(0, most, 201)
    best = int(np.argmax(_restricted(grid, y, variance)[0]))
    bounds = (float(grid[max(0, best - 1)]), float(grid[min(200, best + 1)]))
    found = float(minimize_scalar(loss, bounds=bounds, method="bounded", options={"xatol": 1e-10 * most}).x)
    tau = found if loss(found) < loss(0.0) else 0.0
    return RandomEffects(float(_restricted(np.array([tau]), y, variance)[1][0]), tau**2)


@cache
def _legendre() -> tuple[Floats, Floats]:
    """Nodes and weights of an integral over 0…1."""
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    return (nodes + 1) / 2, weights / 2


def _over_tau(y: Floats, variance: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Values of τ from 0 to infinity with their shares of the restricted likelihood, and μ, Var(μ) at each."""
    u, weights = _legendre()
    scale = float(y.std(ddof=1)) + math.sqrt(float(np.median(variance)))
    tau = scale * u / (1 - u)
    log_likelihood, mean, mean_variance = _restricted(tau, y, variance)
    share = weights * np.exp(log_likelihood - log_likelihood.max()) / (1 - u) ** 2
    return tau, share / share.sum(), mean, mean_variance


def shrunken(
    values: ArrayLike, sd: ArrayLike, members: ArrayLike | None = None, *, confidence: float = 0.95
) -> list[Estimate]:
    """Estimates of the true values: predictions at each τ, averaged by the restricted likelihood of τ.

    At one τ held for true, intervals are too narrow wherever it happens to come out near 0; averaged over all it may
    be, they hold what they state. The average is the posterior under flat priors on
    μ and τ (Rubin 1981, Journal of Educational Statistics 6:377–401).

    Args:
        values: one figure a member.
        sd: standard deviation of each figure's error.
        members: positions of those whose estimate is wanted; None for all.
        confidence: of the intervals.

    Raises:
        ValueError: fewer than three values, a value missing, or an sd not above zero.

    Source: Rubin 1981, Journal of Educational Statistics 6:377–401.
    """
    from scipy.special import ndtr

    y, variance = _checked(values, sd)
    if y.size < MIN_MEMBERS:
        raise ValueError(f"a group needs {MIN_MEMBERS} members")
    wanted = np.arange(y.size) if members is None else np.asarray(members, dtype=np.intp)
    tau, share, mean, mean_variance = _over_tau(y, variance)
    own, error = y[wanted, None], variance[wanted, None]
    keep = tau**2 / (tau**2 + error)
    centre = mean + keep * (own - mean)
    spread = np.sqrt(keep * error + (1 - keep) ** 2 * mean_variance)
    ends = []
    for part in ((1 - confidence) / 2, (1 + confidence) / 2):
        low, high = (centre - 12 * spread).min(axis=1), (centre + 12 * spread).max(axis=1)
        for _ in range(60):
            middle = (low + high) / 2
            below = (share * ndtr((middle[:, None] - centre) / spread)).sum(axis=1) < part
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        ends.append((low + high) / 2)
    best = centre @ share
    return [Estimate(float(v), float(a), float(b)) for v, a, b in zip(best, *ends, strict=True)]


def places(values: ArrayLike, sd: ArrayLike, members: ArrayLike, *, confidence: float = 0.95) -> list[Place]:
    """Places from the lowest up that members may hold, counted over groups drawn from the model.

    Args:
        values: one figure a member.
        sd: standard deviation of each figure's error.
        members: positions of those whose place is wanted.
        confidence: share of the drawn groups, at least, in which a member's place lies within its interval: the
            shortest run of places that holds so many. Places are whole, so it holds a little more.

    Raises:
        ValueError: fewer than three values, a value missing, or an sd not above zero.

    Source: Goldstein & Spiegelhalter 1996, Journal of the Royal Statistical Society A 159:385–443 (from memory).
    """
    y, variance = _checked(values, sd)
    if y.size < MIN_MEMBERS:
        raise ValueError(f"a group needs {MIN_MEMBERS} members")
    wanted = np.asarray(members, dtype=np.intp)
    tau, share, mean, mean_variance = _over_tau(y, variance)
    draw = np.random.default_rng(_SEED)
    # Draws at evenly spaced shares of τ rather than at random: fewer are needed for the same steadiness.
    at = np.searchsorted(np.cumsum(share), (np.arange(_DRAWS) + 0.5) / _DRAWS).clip(0, tau.size - 1)
    counted = np.empty((_DRAWS, wanted.size), dtype=np.int64)
    for start in range(0, _DRAWS, 250):
        here = at[start : start + 250]
        middle = mean[here] + np.sqrt(mean_variance[here]) * draw.standard_normal(here.size)
        keep = tau[here, None] ** 2 / (tau[here, None] ** 2 + variance)
        true = middle[:, None] + keep * (y - middle[:, None])
        true += np.sqrt(keep * variance) * draw.standard_normal(true.shape)
        for k, member in enumerate(wanted):
            counted[start : start + 250, k] = 1 + (true < true[:, member, None]).sum(axis=1)
    middle_place = np.quantile(counted, 0.5, axis=0, method="nearest")
    runs = [_shortest_run(np.bincount(column, minlength=y.size + 1), confidence) for column in counted.T]
    return [Place(low, int(m), high) for (low, high), m in zip(runs, middle_place, strict=True)]


def _shortest_run(counts: NDArray[np.int64], confidence: float) -> tuple[int, int]:
    """First and last of the fewest neighbouring places that hold this share of the draws; of several the fullest.

    Args:
        counts: draws by place, from place 0.
        confidence: share to be held.
    """
    before = np.concatenate([[0], np.cumsum(counts)])
    wanted = confidence * before[-1] - 1e-9
    for width in range(1, counts.size):
        held = before[width:] - before[:-width]
        if held.max() >= wanted:
            first = int(held.argmax())
            return first, first + width - 1
    return 0, counts.size - 1


def funnel(group: RandomEffects, sd: float, *, z: float = FUNNEL_Z[0]) -> tuple[float, float]:
    """Where a figure with this error falls if its green is one of the group: μ ± z·√(τ² + s²).

    Source: Spiegelhalter 2005, Statistics in Medicine 24:1185–1202, with the random-effects form of over-dispersion.

    Args:
        group: the group.
        sd: standard deviation of the figure's error.
        z: 1.96 for 95 %, 3.09 for 99.8 %.
    """
    half = z * math.sqrt(group.tau2 + sd**2)
    return group.mean - half, group.mean + half
