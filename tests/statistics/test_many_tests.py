"""Several tests made together: the published example, another library, and what the family promises."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import false_discovery_control

from pipeline.statistics.many_tests import false_discovery_p
from tests.outside_checks import outside

# Benjamini & Hochberg 1995, J. R. Stat. Soc. B 57:289–300, section 4: fifteen tests of a trial on heart attacks.
HEART = (0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590,
         1.0)  # fmt: skip


@outside("worked example", "Benjamini & Hochberg 1995, section 4")
def test_the_paper_rejects_four_of_its_fifteen_hypotheses() -> None:
    """At a rate of 0.05 the first four, where Bonferroni's rule rejects three."""
    adjusted = false_discovery_p(HEART)
    assert (adjusted <= 0.05).tolist() == [True] * 4 + [False] * 11
    assert sum(p <= 0.05 / 15 for p in HEART) == 3
    assert sum(adjusted <= 0.10) == 9
    assert adjusted[:5].tolist() == pytest.approx([0.0015, 0.0030, 0.0095, 0.035625, 0.0603])


def test_steps_up() -> None:
    """By hand: 0.04 × 3 ÷ 3 = 0.04 carries the two below it; a step-down rule stops at 0.009 × 2."""
    assert (false_discovery_p([0.001, 0.04, 0.009]) <= 0.05).all()
    assert false_discovery_p([0.01, 0.02, 0.03, 0.05, 0.20]).tolist() == pytest.approx([0.05, 0.05, 0.05, 0.0625, 0.20])


@outside("library", "scipy.stats.false_discovery_control, method bh")
@pytest.mark.parametrize("seed", range(5))
def test_as_scipy(seed: int) -> None:
    p = np.random.default_rng(seed).uniform(size=12) ** 2
    assert false_discovery_p(p).tolist() == pytest.approx(false_discovery_control(p, method="bh").tolist())


def test_one_test_is_its_own_family_and_none_is_none() -> None:
    assert false_discovery_p([0.03]).tolist() == [0.03]
    assert false_discovery_p([]).tolist() == []


@pytest.mark.parametrize("p", [[-0.1], [1.1], [float("nan")]])
def test_what_is_no_probability_is_refused(p: list[float]) -> None:
    with pytest.raises(ValueError, match="p"):
        false_discovery_p(p)
