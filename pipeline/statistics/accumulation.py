"""Net accumulation of organic matter in the sampled layer, estimated from samples and dressing records."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.statistics.balance import Doses, fractions_at_samples
from pipeline.statistics.interval import Refused, t_quantile
from pipeline.statistics.kendall import finite

# Growth and decay swing with the season: a rate a year wants nearly a year between first and last sample.
MIN_SPAN_YEARS = 0.9
# Two samples leave nothing over to show a misfit: whatever is wrong with log or laboratory is read as growth.
MIN_SAMPLES = 3
# Without a known sampling error the scatter about the model must show it: two values more than the two unknowns.
MIN_SAMPLES_SD_UNKNOWN = 4
# More dressing than this many layers between the samples is a slip of a unit, not a programme.
MOST_LAYERS_DRESSED = 50
_STEP = 1e-30  # complex-step derivative: exact to double precision
_ROUNDS = 50


@dataclass(frozen=True, slots=True)
class Balance:
    """A fitted organic-matter balance of one layer of one green.

    Attributes:
        accumulation: A, organic matter gained and kept, kg/m² a year, net of decay, before dilution by dressing.
        low: lower end of its interval.
        high: upper end.
        se: its standard error.
        net_g_kg: A · (1 − f)/M at the fitted latest fraction, g/kg a year: how fast the layer would rise undressed,
            the form in which rates are published.
        fraction: fitted organic fraction at the last sample, 0…1.
        joint: covariance of (A, fraction at the last sample, ln of the layer's mass, ln of all dressing quantities), by
            rows: a log that weighs wrong, weighs the next dressing wrong as well.
        quantile: standard errors that half the interval is wide.
        layer_mass: M used, kg/m².
        lands: what was taken to come onto the layer, as a share of what the log weighs.
        n: number of samples.
        span_years: time from first to last sample.
        method: how the interval was made.
    """

    accumulation: float
    low: float
    high: float
    se: float
    net_g_kg: float
    fraction: float
    joint: tuple[tuple[float, ...], ...]
    quantile: float
    layer_mass: float
    lands: float
    n: int
    span_years: float
    method: str


@dataclass(frozen=True, slots=True)
class _Data:
    """What the fit works on; sd holds ones where the sampling error is not known."""

    years: NDArray[np.float64]
    fraction: NDArray[np.float64]
    sd: NDArray[np.float64]
    doses: Doses
    layer_mass: float


def _refusal(
    years: NDArray[np.float64], doses: Doses, unrecorded: Sequence[tuple[float, float]], *, sd_known: bool
) -> Refused | None:
    """Why these data carry no balance, or None where they do."""
    needed = MIN_SAMPLES if sd_known else MIN_SAMPLES_SD_UNKNOWN
    if years.size < needed:
        known = "" if sd_known else ", as the sampling error is not known"
        samples = "sample" if years.size == 1 else "samples"
        return Refused(f"{years.size} comparable {samples}; a balance needs {needed}{known}.")
    first, last = float(years[0]), float(years[-1])
    if last - first < MIN_SPAN_YEARS:
        return Refused(f"the samples lie {last - first:.1f} years apart; a rate a year needs about one year.")
    if any(start < last and end > first for start, end in unrecorded):
        return Refused("for part of the time between the samples no works are on record; that is not the same as none.")
    unknown = int(np.isnan(doses.mass).sum())
    if unknown:
        return Refused(f"the quantity of {unknown} of {doses.mass.size} top dressings is not on record.")
    return None


def _checked(
    years: ArrayLike, fraction: ArrayLike, sd: ArrayLike | None, layer_mass: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Times, fractions and standard deviations of one length, or ValueError."""
    times, values = finite(years, "years"), finite(fraction, "fraction")
    errors = np.ones(times.size)
    if sd is not None:
        errors = np.broadcast_to(finite(np.atleast_1d(np.asarray(sd)), "sd"), (times.size,)).astype(np.float64)
    if times.size == 0 or values.size != times.size or (np.diff(times) <= 0).any():
        raise ValueError("years must rise, one for each fraction, at least one")
    if ((values <= 0) | (values >= 1)).any():
        raise ValueError("fraction: by mass, above 0 and below 1 (8 % is 0.08)")
    if not layer_mass > 0 or (errors <= 0).any():
        raise ValueError("layer_mass and sd must be above zero")
    return times, values, errors


def _model(data: _Data, accumulation: float, start: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Modelled fractions and their slopes by (A, start, ln M, ln dressing); shapes (samples,), (samples, 4)."""
    step = 1j * _STEP * np.eye(4)
    path = fractions_at_samples(
        start + step[1],
        accumulation + step[0],
        data.years,
        data.doses,
        layer_mass=data.layer_mass * (1 + step[2]),
        dose_scale=1 + step[3],
    )
    return path.real[:, 0], path.imag / _STEP


def _start_values(data: _Data) -> tuple[float, float]:
    """A and first fraction from the balance of the whole span at the mean fraction."""
    f = float(data.fraction.mean())
    gained = data.layer_mass * (data.fraction[-1] - data.fraction[0])
    diluted = float((data.doses.mass * (f - data.doses.fraction)).sum())
    return float(gained + diluted) / (float(data.years[-1] - data.years[0]) * (1 - f)), float(data.fraction[0])


def _fit(data: _Data) -> tuple[float, float] | None:
    """A and first fraction by weighted least squares, or None where none settles.

    Gauss–Newton: the model is straight in the first fraction and nearly so in A.
    """
    a, start = _start_values(data)
    with np.errstate(over="ignore", invalid="ignore"):
        for _ in range(_ROUNDS):
            path, slopes = _model(data, a, start)
            weighted, residual = slopes[:, :2] / data.sd[:, None], (data.fraction - path) / data.sd
            if not (np.isfinite(weighted).all() and np.isfinite(residual).all()):
                return None
            move, *_rest = np.linalg.lstsq(weighted, residual, rcond=None)
            a, start = a + float(move[0]), start + float(move[1])
            if abs(move[0]) <= 1e-11 * (1 + abs(a)) and abs(move[1]) <= 1e-12:
                # more than the whole layer's mass grown or lost in a year is no green
                return (a, start) if abs(a) <= data.layer_mass and 0 < start < 1 else None
    return None


def _doses(
    years: ArrayLike, mass: Sequence[float | None] | ArrayLike, fraction: ArrayLike, span: tuple[float, float]
) -> Doses:
    """The doses between first and last sample; nan where the quantity is not on record. ValueError if impossible."""
    times, masses = finite(years, "dose_years"), np.array(mass, dtype=np.float64)
    organic = np.broadcast_to(np.asarray(fraction, dtype=np.float64), times.shape)
    if masses.shape != times.shape:
        raise ValueError("dose_mass: one is needed for each of dose_years")
    if (masses < 0).any() or not ((organic >= 0) & (organic < 1)).all():
        raise ValueError("a dose needs a mass not below zero and an organic fraction from 0 to below 1")
    return Doses(times, masses, organic).between(*span)


def fit_balance(
    years: ArrayLike,
    fraction: ArrayLike,
    layer_mass: float,
    *,
    dose_years: ArrayLike,
    dose_mass: Sequence[float | None] | ArrayLike,
    dose_fraction: ArrayLike = 0.0,
    unrecorded: Sequence[tuple[float, float]] = (),
    sd: ArrayLike | None = None,
    dose_relative_sd: float = 0.0,
    layer_mass_relative_sd: float = 0.0,
    lands: float = 1.0,
    drift_sd: float = 0.0,
    confidence: float = 0.95,
) -> Balance | Refused:
    """Net accumulation in the sampled layer from comparable samples and the dressing between them.

    Weighted least squares (the likelihood of normal sampling errors) on A and the first fraction. Where the sampling
    error of each sample is known, the interval is normal, its standard errors widened where the samples scatter
    more than stated. Where it is not known, the scatter about the model gives it, with Student's t. Errors
    of the layer's mass and of all dressing records together, where given, are added by error propagation.

    Args:
        years: time of each sample in years, rising; samples of one comparability key only.
        fraction: organic fraction by mass at each (8 % is 0.08).
        layer_mass: dry mass of the sampled layer, kg/m².
        dose_years: time of each top dressing; empty where there was none.
        dose_mass: dry mass of each, kg/m², with refills of core holes within the layer; None or nan where the
            quantity is not on record.
        dose_fraction: organic fraction of the dressing, one or one for each dose.
        unrecorded: periods (from, to) in years for which no works are on record at all.
        sd: standard deviation of each fraction by coring and laboratory, or one for all; None where not known.
        dose_relative_sd: relative error common to all doses (0.1 for 10 %).
        layer_mass_relative_sd: relative error of the layer's mass.
        lands: what comes onto the layer, as a share of what the log weighs.
        drift_sd: standard deviation of a steady drift of the laboratory, fraction a year; no scatter shows it.
        confidence: of the interval.

    Raises:
        ValueError: a sample is missing or impossible, lengths differ, or years do not rise (callers see to that).

    Source: weighted least squares on the balance of `balance.py`; published net rates, 18 to 37 g/kg a year: Asian
    Turfgrass Center 2021-08-10.
    """
    times, values, errors = _checked(years, fraction, sd, layer_mass)
    if not lands > 0:
        raise ValueError("lands: a share above zero")
    logged = _doses(dose_years, dose_mass, dose_fraction, (float(times[0]), float(times[-1])))
    doses = replace(logged, mass=lands * logged.mass)
    refused = _refusal(times, doses, unrecorded, sd_known=sd is not None)
    if refused:
        return refused
    if doses.mass.sum() > MOST_LAYERS_DRESSED * layer_mass:
        layers = doses.mass.sum() / layer_mass
        return Refused(f"the dressing on record buries the layer {layers:.0f} times over; check its quantities.")
    data = _Data(times, values, errors, doses, float(layer_mass))
    fit = _fit(data)
    if fit is None:
        return Refused("no steady accumulation fits these samples and this dressing; check both.")
    found = _with_errors(
        data, fit, (layer_mass_relative_sd, dose_relative_sd), drift_sd, confidence, sd_known=sd is not None
    )
    return replace(found, lands=lands)


def _with_errors(
    data: _Data,
    fit: tuple[float, float],
    relative_sd: tuple[float, float],
    drift_sd: float,
    confidence: float,
    *,
    sd_known: bool,
) -> Balance:
    """The balance of a fit, with its standard errors and interval."""
    a, start = fit
    path, slopes = _model(data, a, start)
    weighted = slopes / data.sd[:, None]
    inverse = np.linalg.inv(weighted[:, :2].T @ weighted[:, :2])
    freedom = data.years.size - 2
    misfit = float((((data.fraction - path) / data.sd) ** 2).sum()) / freedom if freedom else None
    if sd_known:
        quantile = NormalDist().inv_cdf((1 + confidence) / 2)
        scale = max(1.0, misfit or 1.0)
        method = "normal interval from the stated sampling error"
        method += f", widened {math.sqrt(scale):.1f} times as the samples scatter more" if scale > 1 else ""
    else:
        assert misfit is not None  # _refusal asks for four samples
        quantile, scale = t_quantile(freedom, confidence), misfit
        method = f"t interval from the scatter about the model, {freedom} degrees of freedom"
    # What an error of M or of the records does to (A, start): −(JᵀWJ)⁻¹ JᵀW J_other
    drag = -inverse @ weighted[:, :2].T @ weighted[:, 2:]
    others = np.diag(np.square(relative_sd))
    # A drift is an error of each sample in proportion to its time before the last one.
    drift = inverse @ weighted[:, :2].T @ (drift_sd * (data.years - data.years[-1]) / data.sd)
    own = scale * inverse + np.outer(drift, drift)
    # Then from (A, start, ln M, ln dressing) to (A, last fraction, ln M, ln dressing)
    to_end = np.array([[1, 0, 0, 0], slopes[-1], [0, 0, 1, 0], [0, 0, 0, 1]])
    full = np.block([[own + drag @ others @ drag.T, drag @ others], [others @ drag.T, others]])
    joint = to_end @ full @ to_end.T
    se, end = math.sqrt(float(joint[0, 0])), float(path[-1])
    return Balance(
        accumulation=a,
        low=a - quantile * se,
        high=a + quantile * se,
        se=se,
        net_g_kg=1000 * a * (1 - end) / data.layer_mass,
        fraction=end,
        joint=tuple(tuple(float(v) for v in row) for row in joint),
        quantile=quantile,
        layer_mass=data.layer_mass,
        lands=1.0,
        n=data.years.size,
        span_years=float(data.years[-1] - data.years[0]),
        method=method,
    )
