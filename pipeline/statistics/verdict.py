"""Whether a change is real, in one word, with the slope, its doubt and the reason in a plain sentence."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.statistics.kendall import MannKendall, mann_kendall, normal_upper_tail, smallest_p
from pipeline.statistics.series import Run, comparable_run, times_of_year
from pipeline.statistics.trend import LeastSquares, TheilSen, least_squares, theil_sen
from pipeline.statistics.year_effects import year_effects

Word = Literal["falling", "rising", "no clear change", "too few", "not comparable"]

MEASUREMENT_FLOOR = 0.80
"""An interval is not narrower than the one measurement error alone makes at this confidence. At 95 % the two together
would hold more than they state (98.5 % on simulated greens), so that no figure printed would be the real one."""


@dataclass(frozen=True, slots=True)
class Laboratory:
    """What a laboratory's own error adds to all its results of a year alike, as shares of the result.

    Attributes:
        year_cv: standard deviation between years of one laboratory measuring the same thing.
        drift: standard deviation of a steady drift of its level, a year.
    """

    year_cv: float = 0.0
    drift: float = 0.0


@dataclass(frozen=True, slots=True)
class Trend:
    """The verdict on one series of comparable samples.

    Attributes:
        word: the verdict.
        n: dates of the latest comparable run, those of another time of the year apart.
        years: years they lie in: what the test counts.
        why: the reason, one or more plain sentences.
        slope: Theil–Sen slope, unit of the values a year; None where the samples carry none.
        low: lower end of its interval; None where there is no interval.
        high: upper end.
        confidence: confidence the interval has (0…1); None without one.
        p: two-sided p, the larger of the Mann–Kendall test's and of the chance that error of measuring makes such a
            slope; None where no test was made.
        method: how the figures were made.
        line: least-squares line through the same years, x in years; None where there is no slope.
        left_out: samples of the run left out: no year leads from their time of the year to the latest sample's.
        broken_by: what changed, where the word is "not comparable".
    """

    word: Word
    n: int
    years: int
    why: str = ""
    slope: float | None = None
    low: float | None = None
    high: float | None = None
    confidence: float | None = None
    p: float | None = None
    method: str = ""
    line: LeastSquares | None = None
    left_out: int = 0
    broken_by: Literal["", "method", "time of year"] = ""


@dataclass(frozen=True, slots=True)
class _Yearly:
    """A run as one value a year, each as at the latest sample's time of the year.

    Attributes:
        years: time of each, in years.
        values: value of each.
        sd: standard deviation of each from coring; None where not known.
        below: True where all samples of the year are below the limit.
        n: dates used.
        left_out: dates not used.
        times: times of the year among those used.
    """

    years: NDArray[np.float64]
    values: NDArray[np.float64]
    sd: NDArray[np.float64] | None
    below: NDArray[np.bool_]
    n: int
    left_out: int
    times: int


def fewest_years(alpha: float) -> int:
    """Fewest years that can reach a two-sided p of alpha; four whatever the level.

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
    laboratory: Laboratory | None = None,
    weeks: float | None = None,
    alpha: float = 0.05,
    below_limit: Sequence[bool] | None = None,
    unit: str = "",
) -> Trend:
    """Verdict on the latest unbroken run of comparable samples; grain: one series (green, depth, analyte).

    "falling" or "rising" needs a two-sided Mann–Kendall p of at most ``alpha``, an interval of the slope that leaves
    zero out and, where error of measuring is known, a slope that it would not make by itself (at ``alpha``). "too few"
    where the years could not give such a p however steep the fall; "not comparable" where there would be years enough,
    had the method or the time of the year not changed.

    A year counts once, however often it was sampled: its weather and the laboratory's batch are common to its samples.
    Samples of several times of the year are brought to the latest one's by `year_effects`.

    Measurement error: where it is known, the interval is the wider one, on each side, of the Theil–Sen interval (from
    the scatter seen) and slope ± z · the standard deviation that measuring alone gives a slope, z of
    ``MEASUREMENT_FLOOR``. Five samples that happen to lie well in line are so not made surer than the samples are. A
    drift of the laboratory shows in no scatter: it is added to the Theil–Sen interval as squares, at ``alpha``.

    Below the limit: everything under the run's highest reporting limit is tied at that limit (Helsel 2012); the
    slope then errs towards zero, and no slope is given where more than half of the years are below it.

    Args:
        dates_or_years: date of each result, or years as numbers; any order.
        values: results; for one below its reporting limit, the limit. Several of one date are one sample.
        keys: comparability key of each result: whatever must be the same (method, laboratory, depth).
        measurement_sd: standard deviation of each result by coring, or one for all; None: not known.
        laboratory: what its laboratory adds to all results of a year; None: nothing is allowed for.
        weeks: samples so near in the time of the year are alike; None: all are.
        alpha: level of the test; the interval has 1 − alpha.
        below_limit: True where a result is below its reporting limit.
        unit: unit of the values, for the sentence.

    Raises:
        ValueError: no result, lengths differ, or a value is missing (callers drop those, and say so).

    Source: Mann–Kendall and Theil–Sen as named; which must agree, the floor of 80 %, and years as what is counted, are
    this project's own, held by simulation.
    """
    run = comparable_run(dates_or_years, values, keys, measurement_sd=measurement_sd, below_limit=below_limit)
    needed = fewest_years(alpha)
    yearly = _yearly(run, weeks)
    if yearly.years.size < needed:
        return _short(run, yearly, needed, alpha, weeks)
    return _judge(run, yearly, laboratory or Laboratory(), alpha, unit)


def _yearly(run: Run, weeks: float | None) -> _Yearly:
    """One value a year of the run, for the years that can be compared with the latest."""
    kinds = times_of_year(run.years, weeks) if weeks else [0] * run.years.size
    found = year_effects(np.floor(run.years), kinds)
    # Rounded far below what results are given to, so that equal results stay ties.
    values = (found.weights @ run.values).round(9)
    below = np.zeros(found.years.size, dtype=np.bool_)
    if run.below.any():
        below = np.array([bool(run.below[row != 0].all()) for row in found.weights])
    if found.kinds == 1 and run.limit is not None:
        values[below] = run.limit
    return _Yearly(
        years=found.weights @ run.years,
        values=values,
        sd=None if run.sd is None else np.sqrt(found.weights**2 @ run.sd**2),
        below=below,
        n=int(found.used.sum()),
        left_out=int((~found.used).sum()),
        times=found.kinds,
    )


def _short(run: Run, yearly: _Yearly, needed: int, alpha: float, weeks: float | None) -> Trend:
    """Word and reason where the run is too short for a verdict."""
    n, years = yearly.n, yearly.years.size
    reach = (
        f"a verdict needs {needed}: with {years} the smallest p possible is {smallest_p(years):.2g}, "
        f"and {alpha:g} is asked for."
        if smallest_p(years) > alpha
        else f"a verdict needs {needed}."
    )
    samples = f"{n} comparable {'sample' if n == 1 else 'samples'} of {_years(years)}"
    if np.unique(np.floor(run.years)).size >= needed:
        why = (
            f"{samples} can be compared; {yearly.left_out} more were taken over {weeks:g} weeks from the time of year "
        )
        why = f"{why}of any of them; {reach}"
        return Trend("not comparable", n, years, why, left_out=yearly.left_out, broken_by="time of year")
    if run.years_in_all < needed:
        return Trend("too few", n, years, f"{samples}; {reach}", left_out=yearly.left_out)
    changed = f"from “{run.key_before}” to “{run.key}”; {_years(years)} since then, and {reach}"
    why = f"samples of {_years(run.years_in_all)}, but what they were measured by changed {changed}"
    return Trend("not comparable", n, years, why, left_out=yearly.left_out, broken_by="method")


def _years(count: int) -> str:
    return f"{count} {'year' if count == 1 else 'years'}"


def _judge(run: Run, yearly: _Yearly, laboratory: Laboratory, alpha: float, unit: str) -> Trend:
    """The verdict of a run of years enough for one."""
    test = mann_kendall(yearly.values, yearly.years)
    n, years = yearly.n, yearly.years.size
    method = f"Mann–Kendall ({test.method}) over {_years(years)}"
    if yearly.times > 1:
        method += f", samples of {yearly.times} times of the year each with their like"
    below = int(yearly.below.sum())
    if below:
        method += f"; results under {run.limit:g} tied at that limit"
    if 2 * below > years:
        word: Word = _direction(test.s) if test.p <= alpha else "no clear change"
        why = f"{below} of {_years(years)} are below the limit {run.limit:g}, too many for a slope; {_odds(test)}."
        return Trend(word, n, years, why + _left_out_text(run), p=test.p, method=method, left_out=yearly.left_out)
    line = theil_sen(yearly.years, yearly.values, alpha=alpha)
    method += f"; Theil–Sen slope, {line.method} interval"
    error, drift = _slope_error(yearly, laboratory)
    method += _error_text(error, laboratory)
    low, high = _widened(line, error, drift, alpha)
    by_error = 2 * normal_upper_tail(abs(line.slope) / error) if error else 0.0
    p = max(test.p, by_error)
    # Values all alike to the last digit leave an interval of no width, which would say more than they know.
    bounded = math.isfinite(low) and math.isfinite(high) and low < high
    trend = Trend(
        _direction(test.s) if p <= alpha and (low > 0 or high < 0) else "no clear change",
        n,
        years,
        slope=line.slope,
        low=low if bounded else None,
        high=high if bounded else None,
        confidence=line.confidence if bounded else None,
        p=p,
        method=method,
        line=least_squares(yearly.years, yearly.values, alpha=alpha),
        left_out=yearly.left_out,
    )
    why = _sentence(trend, test, unit, alpha, made_by_error=by_error > alpha)
    return replace(trend, why=why + _left_out_text(run))


def _slope_error(yearly: _Yearly, laboratory: Laboratory) -> tuple[float, float]:
    """Standard deviation that measuring gives the slope: coring, laboratory and drift together, and drift alone."""
    level = abs(float(yearly.values.mean()))
    coring = np.zeros(yearly.years.size) if yearly.sd is None else yearly.sd
    drift = laboratory.drift * level
    by_year = measurement_slope_sd(yearly.years, np.hypot(coring, laboratory.year_cv * level))
    return math.hypot(by_year, drift), drift


def _error_text(error: float, laboratory: Laboratory) -> str:
    """What of measuring the interval allows for."""
    if not error:
        return ""
    text = f", not narrower than measurement error alone makes it at {100 * MEASUREMENT_FLOOR:.0f} %"
    if laboratory.year_cv or laboratory.drift:
        text += (
            f", the laboratory's between years taken as {100 * laboratory.year_cv:g} % of the result and its drift as "
            f"{100 * laboratory.drift:g} % a year"
        )
    return text


def _widened(line: TheilSen, error: float, drift: float, alpha: float) -> tuple[float, float]:
    """The interval of the scatter seen with the drift that it cannot show, not narrower than measuring makes it."""
    half = NormalDist().inv_cdf((1 + MEASUREMENT_FLOOR) / 2) * error
    unseen = -NormalDist().inv_cdf(alpha / 2) * drift
    low = line.slope - max(math.hypot(line.slope - line.low, unseen), half)
    high = line.slope + max(math.hypot(line.high - line.slope, unseen), half)
    return low, high


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
    text = f"{_signed(trend.slope or 0.0)} {per_year} over {_years(trend.years)}"
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
