"""Changes over the years of one green are judged together, once; a steady county's false sentences are counted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pipeline.indicators.base.green_season import Change, Indicator, Verdict
from pipeline.indicators.verdicts import LEVEL, settled
from pipeline.statistics.season_trend import SeasonTrend, season_trend
from pipeline.statistics.verdict import trend_verdict
from pipeline.summaries.changes import changes


def change(word: Change, p: float | None, band: str = "", **other: float) -> Indicator:
    verdict = Verdict(word, f"8 comparable samples, p {p:.2g}" if p is not None else "too few", p)
    return Indicator("organic_matter_trend_pct_year", "Organic matter, change a year", band, -0.3,
                     "percentage points a year", 8, low=other.get("low"), high=other.get("high"),
                     verdict=verdict)  # fmt: skip


def words(*given: Indicator) -> list[str]:
    return [one.verdict.word for one in settled(given) if one.verdict]


def test_a_change_alone_is_judged_by_its_own_test() -> None:
    assert words(change("falling", 0.04)) == ["falling"]


def test_among_four_a_change_needs_more() -> None:
    """Adjusted 4 × 0.031 ÷ 1 = 0.124: of four tests one in eight steady greens shows a p as low as this."""
    four = (change("falling", 0.031), *(change("no clear change", 0.5, band) for band in ("a", "b", "c")))
    first = settled(four)[0]
    assert first.verdict
    assert first.verdict.word == "no clear change"
    assert first.verdict.p_adjusted == pytest.approx(0.124)
    assert first.note.startswith(
        "No clear change: 8 comparable samples, p 0.031; among 4 changes looked at together 0.12"
    )


def test_a_family_that_moves_together_is_all_clear() -> None:
    """0.04, 0.03 and 0.02 are three times in twenty; all of them at once are not chance."""
    assert words(*(change("falling", p, str(p)) for p in (0.04, 0.03, 0.02))) == ["falling"] * 3


def test_changes_that_could_not_be_tested_are_no_member_of_the_family() -> None:
    assert words(change("falling", 0.04), *[change("too few", None, str(i)) for i in range(9)])[0] == "falling"


def test_a_word_is_never_made_clear_here() -> None:
    """A p may be low and the change still not clear: error of measuring makes such a slope."""
    assert words(change("no clear change", 0.001)) == ["no clear change"]


def test_an_interval_that_leaves_out_zero_beside_no_clear_change_says_which_decides() -> None:
    (one,) = settled([change("no clear change", 0.061, low=-0.65, high=-0.05)])
    assert "The interval just leaves out no change; the test does not, and it decides." in one.note


GREENS, COUNTIES = 18, 40
"""A county as the demo's, so many times over."""


def steady_green(draw: np.random.Generator) -> list[Indicator]:
    """Changes of a green where nothing changes: three depths over eight years, and a speed over six seasons."""
    figures = []
    for depth in range(3):
        found = trend_verdict(np.arange(8.0), draw.normal(6, 0.6, 8), ["same"] * 8)
        figures.append(
            replace(change("no clear change", found.p, str(depth)), verdict=Verdict(found.word, "", found.p))
        )
    years, months = np.repeat(np.arange(6.0), 5), np.tile(np.arange(5), 6)
    speeds = draw.normal(12, 0.8, 30)
    line = season_trend(years, speeds, months.tolist())
    assert isinstance(line, SeasonTrend)
    assert line.p is not None
    word: Change = "no clear change" if line.p > 0.05 else "faster" if line.slope > 0 else "slower"
    return [*figures, replace(change(word, line.p, "speed"), verdict=Verdict(word, "", line.p))]


def test_a_steady_county_prints_few_false_sentences() -> None:
    """Simulated: at most 0.05 × greens false sentences a season; each test for itself gives several times that."""
    draw = np.random.default_rng(1995)
    alone, together, tested = 0, 0, 0
    for _ in range(COUNTIES):
        county = {str(green): steady_green(draw) for green in range(GREENS)}
        alone += sum(one.verdict.clear for figures in county.values() for one in figures if one.verdict)
        found = changes({green: settled(figures) for green, figures in county.items()})
        together += sum(len(clear) for clear in found.clear.values())
        tested += found.tested
        assert found.by_chance == pytest.approx(LEVEL * GREENS)
    assert tested == GREENS * COUNTIES
    assert together / COUNTIES <= 0.05 * GREENS  # 0.9 sentences
    assert alone / COUNTIES > 2 * together / COUNTIES
    assert together, "a rule under which nothing is ever clear would pass all of the above"
