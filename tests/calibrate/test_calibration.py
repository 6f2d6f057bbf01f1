"""The calibration in small: one county. The whole is ``make calibrate``, its table docs/calibration.md."""

from __future__ import annotations

import math

import pytest

from tests.calibrate.county import simulate
from tests.calibrate.result import Share
from tests.calibrate.steady import GREENS, LABORATORIES, SENTENCES
from tests.thorough import THOROUGH


@pytest.fixture(scope="module")
def shares() -> dict[str, Share]:
    return simulate(1, every=50 if THOROUGH else 20, small=3)


def test_stated_confidence_is_kept(shares: dict[str, Share]) -> None:
    """Within two points, and three errors of so small a simulation."""
    for one in shares.values():
        assert one.kept(0.02 + 3 * one.error), f"{one.what}: {one.found:.3f} found, {one.rule} {one.stated} stated"


def test_a_steady_county_reads_few_false_sentences(shares: dict[str, Share]) -> None:
    """Of the 72 changes of 18 greens, 5 % of single tests would be 3.6 a season; at most 0.9 is promised."""
    for name in LABORATORIES:
        one = shares[SENTENCES + name]
        assert one.cases == 3 * GREENS
        assert GREENS * one.found <= 0.9 + 3 * GREENS * one.error


def test_steep_falls_are_mostly_found_and_never_called_rising(shares: dict[str, Share]) -> None:
    """A tool that never speaks would keep every rule above."""
    assert shares["true falls of 0.5 points a year found"].found > 0.5
    assert shares["true falls called rising"].hits == 0


def test_intervals_are_not_kept_by_being_endless(shares: dict[str, Share]) -> None:
    """Where the rule is two-sided, too many hits fail as well."""
    one = shares["organic matter gathered, 8 samples, all lands and is logged, as answered"]
    assert one.rule == "within"
    assert not Share(one.what, one.rule, one.stated, hits=200, cases=200).kept(0.02)
    assert math.isclose(Share("", "at most", 0.05, hits=10, cases=100).found, 0.1)
    assert not Share("", "at most", 0.05, hits=10, cases=100).kept()
    assert not Share("", "at least", 0.95, hits=90, cases=100).kept()
