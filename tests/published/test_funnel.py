"""Funnel limits against Spiegelhalter 2005 (figures computed from his formula) and the binomial of scipy."""

from __future__ import annotations

import pytest
from scipy import stats

from pipeline.statistics.interval import FUNNEL_Z, funnel_limits

pytestmark = pytest.mark.published


@pytest.mark.parametrize(
    ("n", "z", "low", "high"),
    [
        (50, 1.96, 0.0168, 0.1832),
        (50, 3.09, 0.0, 0.2311),  # −0.031 before clipping
        (100, 1.96, 0.0412, 0.1588),
        (100, 3.09, 0.0073, 0.1927),
        (400, 1.96, 0.0706, 0.1294),
        (400, 3.09, 0.0536, 0.1464),
    ],
)
def test_normal_limits_about_ten_per_cent(n: int, z: float, low: float, high: float) -> None:
    """p₀ ± z√(p₀(1−p₀)/n), clipped (Spiegelhalter 2005, Stat. Med. 24:1185–1202).

    The last pair is 0.05365 and 0.14635 before rounding, hence the tolerance of a half unit and a hair.
    """
    assert z in FUNNEL_Z
    assert funnel_limits(0.10, n, z=z, method="normal") == pytest.approx((low, high), abs=5.1e-5)


@pytest.mark.parametrize("z", FUNNEL_Z)
@pytest.mark.parametrize("share", [0.02, 0.1, 0.5, 0.97])
@pytest.mark.parametrize("n", [1, 5, 12, 50, 400])
def test_binomial_limits_keep_their_tails(n: int, share: float, z: float) -> None:
    """Chance of an in-control point outside is at most the tail on each side, and the next count in breaks it."""
    low, high = (round(limit * n) for limit in funnel_limits(share, n, z=z))
    tail = stats.norm.sf(z)
    count = stats.binom(n, share)
    assert count.cdf(low - 1) <= tail < count.cdf(low) + 1e-15
    assert count.sf(high) <= tail < count.sf(high - 1) + 1e-15


def test_binomial_nears_normal_for_many() -> None:
    exact, normal = (funnel_limits(0.1, 100_000, method=m) for m in ("binomial", "normal"))
    assert exact == pytest.approx(normal, abs=2e-4)


@pytest.mark.parametrize(("share", "n"), [(1.2, 10), (-0.1, 10), (0.5, 0)])
def test_impossible_input_is_refused(share: float, n: int) -> None:
    with pytest.raises(ValueError, match="limits need"):
        funnel_limits(share, n)


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_a_sure_share_has_no_width(share: float) -> None:
    assert funnel_limits(share, 20) == (share, share)
    assert funnel_limits(share, 20, method="normal") == (share, share)
