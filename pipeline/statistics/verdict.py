"""Whether a change is real, in one word, with the slope, its doubt and the reason in a plain sentence."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from pipeline.statistics.kendall import MannKendall, mann_kendall, smallest_p
from pipeline.statistics.series import Run, comparable_run
from pipeline.statistics.trend import LeastSquares, least_squares, theil_sen

Word = Literal["falling", "rising", "no clear change", "too few", "not comparable"]

MEASUREMENT_FLOOR = 0.80
"""An interval is not narrower than the one measurement error alone makes at this confidence. At 95 % the two together
would hold more than they state (98.5 % on simulated greens), so that no figure printed would be the real one."""


@dataclass(frozen=True, slots=True)
class Trend:
    """The verdict on one series of comparable samples.

    Attributes:
        word: the verdict.
        n: samples used: dates in the latest comparable run.
        why: the reason, one or more plain sentences.
        slope: Theil–Sen slope, unit of the values a year; None where the samples carry none.
        low: lower end of its interval; None where there is no interval.
        high: upper end.
        confidence: confidence the interval has (0…1); None without one.
        p: two-sided Mann–Kendall p; None where no test was made.
        method: how the figures were made.
        line: least-squares line through the same samples, x in years; None where there is no slope.
    """

    word: Word
    n: int
    why: str = ""
    slope: float | None = None
    low: float | None = None
    high: float | None = None
    confidence: float | None = None
    p: float | None = None
    method: str = ""
    line: LeastSquares | None = None


def fewest_samples(alpha: float) -> int:
    """Fewest samples that can reach a two-sided p of alpha; four whatever the level.

    Args:
        alpha: level of the test, two-sided.

    Source: `smallest_p`.
    """
    n = 4
    while smallest_p(n) > alpha:
        n += 1
    return n


def measurement_slope_sd(years: ArrayLike, sd: ArrayLike) -> float:
    """Standard deviation that errors of measuring alone give a straight-line slope through these times.

    The slope is a weighted sum of the values with weights (x − x̄)/Σ(x − x̄)², so independent errors add as squares.

    Args:
        years: time of each sample.
        sd: standard deviation of each from measuring alone.

    Source: independent errors add as squares through the weights of least squares.
    """
    x, u = np.asarray(years, dtype=np.float64), np.asarray(sd, dtype=np.float64)
    dx = x - x.mean()
    return float(np.sqrt(((dx * u) ** 2).sum()) / (dx @ dx))


def trend_verdict(
    dates_or_years: Sequence[date] | ArrayLike,
    values: ArrayLike,
    keys: Sequence[str],
    *,
    measurement_sd: ArrayLike | None = None,
    alpha: float = 0.05,
    below_limit: Sequence[bool] | None = None,
    unit: str = "",
) -> Trend:
    """Verdict on the latest unbroken run of comparable samples; grain: one series (green, depth, analyte).

    "falling" or "rising" needs a two-sided Mann–Kendall p of at most ``alpha``, an interval of the slope that leaves
    zero out and, where error of measuring is known, a slope that it would not make by itself (at ``alpha``). "too few"
    where the samples could not give such a p however steep the fall; "not comparable" where there would be samples
    enough, had the method not changed.

    Measurement error: where its standard deviation is given, the interval is the wider one, on each side, of the
    Theil–Sen interval (from the scatter seen) and slope ± z · the standard deviation that measuring alone gives a
    slope, z of ``MEASUREMENT_FLOOR``. Five samples that happen to lie well in line are so not made surer than the
    samples are.

    Below the limit: everything under the run's highest reporting limit is tied at that limit (Helsel 2012); the
    slope then errs towards zero, and no slope is given where more than half of the samples are below it.

    Args:
        dates_or_years: date of each result, or years as numbers; any order.
        values: results; for one below its reporting limit, the limit. Several of one date are one sample.
        keys: comparability key of each result: whatever must be the same (method, laboratory, depth).
        measurement_sd: standard deviation of each result by coring and laboratory, or one for all; None: not known.
        alpha: level of the test; the interval has 1 − alpha.
        below_limit: True where a result is below its reporting limit.
        unit: unit of the values, for the sentence.

    Raises:
        ValueError: no result, lengths differ, or a value is missing (callers drop those, and say so).

    Source: Mann–Kendall and Theil–Sen as named; which must agree, and the floor of 80 %, are this project's own, held
    by simulation.
    """
    run = comparable_run(dates_or_years, values, keys, measurement_sd=measurement_sd, below_limit=below_limit)
    needed = fewest_samples(alpha)
    return _short(run, needed, alpha) if run.years.size < needed else _judge(run, alpha, unit)


def _short(run: Run, needed: int, alpha: float) -> Trend:
    """Word and reason where the run is too short for a verdict."""
    n = run.years.size
    reach = (
        f"a verdict needs {needed}: with {n} the smallest p possible is {smallest_p(n):.2g}, "
        f"and {alpha:g} is asked for."
        if smallest_p(n) > alpha
        else f"a verdict needs {needed}."
    )
    if run.dates_in_all < needed:
        return Trend("too few", n, f"{n} comparable {'sample' if n == 1 else 'samples'}; {reach}")
    changed = f"from “{run.key_before}” to “{run.key}”; {n} since then, and {reach}"
    return Trend("not comparable", n, f"{run.dates_in_all} samples, but what they were measured by changed {changed}")


def _judge(run: Run, alpha: float, unit: str) -> Trend:
    """The verdict of a run long enough for one."""
    test = mann_kendall(run.values, run.years)
    method = f"Mann–Kendall ({test.method})"
    below = int(run.below.sum())
    if below:
        method += f"; results under {run.limit:g} tied at that limit"
    if 2 * below > run.years.size:
        word: Word = _direction(test.s) if test.p <= alpha else "no clear change"
        why = f"{below} of {test.n} samples are below the limit {run.limit:g}, too many for a slope; {_odds(test)}."
        return Trend(word, test.n, why + _left_out_text(run), p=test.p, method=method)
    line = theil_sen(run.years, run.values, alpha=alpha)
    low, high, made_by_error = line.low, line.high, False
    method += f"; Theil–Sen slope, {line.method} interval"
    if run.sd is not None:
        error = measurement_slope_sd(run.years, run.sd)
        made_by_error = abs(line.slope) <= -NormalDist().inv_cdf(alpha / 2) * error
        half = NormalDist().inv_cdf((1 + MEASUREMENT_FLOOR) / 2) * error
        low, high = min(low, line.slope - half), max(high, line.slope + half)
        method += f", not narrower than measurement error alone makes it at {100 * MEASUREMENT_FLOOR:.0f} %"
    clear = test.p <= alpha and (low > 0 or high < 0) and not made_by_error
    # Values all alike to the last digit leave an interval of no width, which would say more than they know.
    bounded = math.isfinite(low) and math.isfinite(high) and low < high
    trend = Trend(
        _direction(test.s) if clear else "no clear change",
        test.n,
        slope=line.slope,
        low=low if bounded else None,
        high=high if bounded else None,
        confidence=line.confidence if bounded else None,
        p=test.p,
        method=method,
        line=least_squares(run.years, run.values, alpha=alpha),
    )
    why = _sentence(trend, test, unit, alpha, made_by_error=made_by_error)
    return replace(trend, why=why + _left_out_text(run))


def _direction(s: int) -> Word:
    """Word of a clear trend with this S."""
    return "rising" if s > 0 else "falling"


def _odds(test: MannKendall) -> str:
    """The test in words."""
    return f"if nothing changed, an order as one-sided as this comes up with probability {test.p:.2g}"


def _signed(value: float) -> str:
    """A slope with its sign, to two digits that count; "0" for zero."""
    if value == 0:
        return "0"
    decimals = max(0, 1 - math.floor(math.log10(abs(value))))
    return f"{value:+.{decimals}f}".replace("-", "−")


def _sentence(trend: Trend, test: MannKendall, unit: str, alpha: float, *, made_by_error: bool) -> str:
    """The reason of a verdict with a slope."""
    per_year = f"{unit} a year".strip()
    text = f"{_signed(trend.slope or 0.0)} {per_year} over {trend.n} samples"
    if trend.low is not None and trend.high is not None and trend.confidence is not None:
        text += f" ({100 * trend.confidence:.0f} % interval {_signed(trend.low)} to {_signed(trend.high)})"
    text += f"; {_odds(test)}"
    if test.p <= alpha and trend.word == "no clear change":
        error = "error of measuring alone can make such a slope"
        text += f", but {error}" if made_by_error else ", but the interval does not leave zero out"
    return text + "."


def _left_out_text(run: Run) -> str:
    """What was left out and why; "" where nothing was."""
    if not run.left_out:
        return ""
    count = len(run.left_out)
    what = "result is" if count == 1 else "results are"
    return f" {count} {what} left out, as only the latest unbroken run of “{run.key}” is compared."
