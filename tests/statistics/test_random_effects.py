"""Random-effects model: against published estimates, closed forms and statsmodels."""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import statsmodels.regression.tests as regression_tests
from scipy.integrate import quad
from scipy.stats import norm
from statsmodels.regression.mixed_linear_model import MixedLM

from pipeline.statistics.random_effects import RandomEffects, _shortest_run, funnel, places, reml, shrunken
from tests.outside_checks import outside

# Yield of dyestuff in g, five preparations of each of six batches (Davies & Goldsmith 1972, Statistical Methods in
# Research and Production, table 6.3; data from memory, held by the published estimates below).
DYESTUFF = [
    [1545, 1440, 1440, 1520, 1580],
    [1540, 1555, 1490, 1560, 1495],
    [1595, 1550, 1605, 1510, 1560],
    [1445, 1440, 1595, 1465, 1545],
    [1595, 1630, 1515, 1635, 1625],
    [1520, 1455, 1450, 1480, 1445],
]
# Cases and others, vaccinated and not, of thirteen trials of BCG vaccine (Colditz et al. 1994; from memory).
BCG = np.array([
    (4, 119, 11, 128), (6, 300, 29, 274), (3, 228, 11, 209), (62, 13536, 248, 12619), (33, 5036, 47, 5761),
    (180, 1361, 372, 1079), (8, 2537, 10, 619), (505, 87886, 499, 87892), (29, 7470, 45, 7232),
    (17, 1699, 65, 1600), (186, 50448, 141, 27197), (5, 2493, 3, 2338), (27, 16886, 29, 17825),
])  # fmt: skip
SCHOOLS = np.array([28.0, 8, -3, 7, -1, 1, 18, 12]), np.array([15.0, 10, 16, 11, 9, 11, 10, 18])
"""Effects of coaching in eight schools (Rubin 1981)."""


def bcg() -> tuple[np.ndarray, np.ndarray]:
    """Log risk ratios and their standard errors."""
    a, b, c, d = BCG.T
    return np.log(a / (a + b) * (c + d) / c), np.sqrt(1 / a - 1 / (a + b) + 1 / c - 1 / (c + d))


def test_dyestuff_from_memory_has_the_published_estimates() -> None:
    """Bates 2010 (lme4: Mixed-effects modeling with R, 1.3): REML variances 1764.05 and 2451.25, mean 1527.5.

    Data from memory, so no published check: that the estimates come out holds the data as well.
    """
    data = np.array(DYESTUFF, float)
    within = float(data.var(axis=1, ddof=1).mean())
    assert within == pytest.approx(2451.25)
    got = reml(data.mean(axis=1), np.full(6, np.sqrt(within / 5)))
    assert (got.mean, got.tau2) == (pytest.approx(1527.5), pytest.approx(1764.05, abs=0.01))


def test_bcg_from_memory_has_the_published_estimates() -> None:
    """Data from memory. Viechtbauer 2010 (Journal of Statistical Software 36(3)): REML −0.7145, τ² 0.3132."""
    restricted = reml(*bcg())
    assert (restricted.mean, restricted.tau2) == pytest.approx((-0.7145, 0.3132), abs=5e-5)


@outside("library", "statsmodels MixedLM, on its own data set pastes")
def test_mixed_model_of_statsmodels_on_unequal_groups() -> None:
    """Paste strength (Davies & Goldsmith 1972, carried by statsmodels), groups cut to unequal sizes.

    Given their residual variance, our τ² and mean are theirs, and so are predictions made of them (Robinson 1991,
    Statistical Science 6:15–32): value and mean, weighed by 1/s² and 1/τ².
    """
    data = pd.read_csv(Path(regression_tests.__file__).parent / "results" / "pastes.csv")
    data["group"] = data["batch"].astype(str) + data["cask"].astype(str)
    keep = data.groupby("batch").cumcount() < data["batch"].map(lambda b: 2 + ord(str(b)[-1]) % 5)
    data = data[keep]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fit = MixedLM(data["strength"], np.ones((len(data), 1)), groups=data["batch"]).fit(reml=True, gtol=1e-10)
    groups = data.groupby("batch")["strength"]
    sd = np.sqrt(fit.scale / groups.size().to_numpy())
    values = groups.mean().to_numpy()
    ours = reml(values, sd)
    assert ours.tau2 == pytest.approx(float(fit.cov_re.iloc[0, 0]), rel=1e-3)
    assert ours.mean == pytest.approx(float(fit.fe_params.iloc[0]), abs=1e-4)
    theirs = [float(fit.fe_params.iloc[0] + fit.random_effects[name].iloc[0]) for name in groups.groups]
    ours_drawn = ours.mean + ours.tau2 / (ours.tau2 + sd**2) * (values - ours.mean)
    assert ours_drawn == pytest.approx(theirs, abs=1e-3)


def test_eight_schools_from_memory() -> None:
    """Gelman et al., Bayesian Data Analysis, table 5.2 (from memory; from 200 draws there, so within two points).

    Medians A 10, C 7, E 5, H 8; 2.5 % and 97.5 % of A −2 and 31, of E −9 and 18.
    """
    got = dict(zip("ABCDEFGH", shrunken(*SCHOOLS), strict=True))
    for school, value in {"A": 10, "C": 7, "E": 5, "H": 8}.items():
        assert got[school].value == pytest.approx(value, abs=2)
    assert (got["A"].low, got["A"].high) == pytest.approx((-2, 31), abs=3)
    assert (got["E"].low, got["E"].high) == pytest.approx((-9, 18), abs=3)
    assert reml(*SCHOOLS).tau2 == 0
    assert reml(*SCHOOLS).mean == pytest.approx(7.69, abs=0.01)  # pooled mean, ibid.


@outside("library", "scipy.integrate.quad")
def test_average_over_the_spread_against_adaptive_quadrature() -> None:
    """The fixed nodes give the same estimate as scipy's adaptive integration of the same likelihood."""
    y, s = SCHOOLS

    def likelihood(tau: float) -> float:
        w = 1 / (s**2 + tau**2)
        m = w @ y / w.sum()
        return float(np.sqrt(np.prod(w) / w.sum()) * np.exp(-0.5 * w @ (y - m) ** 2)) * 1e10

    def weighted(tau: float) -> float:
        w = 1 / (s**2 + tau**2)
        m = w @ y / w.sum()
        return likelihood(tau) * float(m + tau**2 / (tau**2 + s[0] ** 2) * (y[0] - m))

    mass, mean = (quad(f, 0, np.inf, limit=400)[0] for f in (likelihood, weighted))
    assert shrunken(y, s, [0])[0].value == pytest.approx(mean / mass, rel=1e-4)


def test_a_green_with_little_behind_it_does_not_top_the_table() -> None:
    """The highest figure rests on the widest error: it is drawn below a lower but sure one."""
    values = np.array([4.0, 5, 5.5, 6, 6.5, 8.0, 9.0])
    sd = np.array([0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 3.0])
    sure, thin = shrunken(values, sd, [5, 6])
    assert thin.value < sure.value
    assert thin.high - thin.low > sure.high - sure.low
    near, far = places(values, sd, [5, 6])
    assert near.low >= 5
    assert far.low < 5


def test_places_of_sure_figures_are_their_ranks() -> None:
    got = places([3.0, 1, 2, 9, 5], [1e-6] * 5, range(5))
    assert [(p.low, p.middle, p.high) for p in got] == [(r, r, r) for r in (3, 1, 2, 5, 4)]


def test_places_are_the_shortest_run_that_holds_the_draws() -> None:
    """By trial over every run of places: none shorter holds 95 %, and of its length none holds more."""
    for counts in ([0, 50, 900, 40, 10], [0, 900, 60, 30, 10], [0, 240, 260, 250, 250], [0, 0, 0, 0, 1000]):
        low, high = _shortest_run(np.array(counts), 0.95)
        held = {(a, b): sum(counts[a : b + 1]) for a in range(1, 5) for b in range(a, 5)}
        enough = {run: share for run, share in held.items() if share >= 950}
        shortest = min(b - a for a, b in enough)
        assert held[low, high] == max(share for (a, b), share in enough.items() if b - a == shortest)
        assert high - low == shortest


def test_places_do_not_change_from_call_to_call() -> None:
    assert places(*SCHOOLS, [0, 3]) == places(*SCHOOLS, [0, 3])


def test_alike_figures_share_every_place() -> None:
    """Nothing tells them apart: 95 % of the places are theirs."""
    assert all(p.low == 1 and p.high == 6 for p in places([5.0] * 6, [1.0] * 6, range(6)))


def test_funnel_holds_members_of_the_group() -> None:
    """95 % and 99.8 % of figures drawn from the group lie inside (normal shares at 1.96 and 3.09)."""
    group, sd = RandomEffects(6.0, 0.81), 0.5
    draws = np.random.default_rng(1).normal(6, np.hypot(0.9, 0.5), 20_000)
    for z in (1.96, 3.09):
        low, high = funnel(group, sd, z=z)
        assert np.mean((draws >= low) & (draws <= high)) == pytest.approx(2 * norm.cdf(z) - 1, abs=0.005)


@pytest.mark.parametrize(
    ("values", "sd"), [([1.0], [1.0]), ([1.0, 2.0], [1.0, 0.0]), ([1.0, 2.0], [1.0]), ([1.0, float("nan")], [1, 1])]
)
def test_impossible_input_is_refused(values: list[float], sd: list[float]) -> None:
    for function in (reml, shrunken):
        with pytest.raises(ValueError):
            function(values, sd)
    with pytest.raises(ValueError, match="3 members"):
        shrunken([1.0, 2.0], [1.0, 1.0])
