"""Simulated layers of known accumulation: as the balance takes them, and where log or laboratory is not so."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pipeline.agronomy.soil.organic_matter import layer_bulk_density_t_m3
from pipeline.indicators.organic_matter.balance import ENDS, LAYER_ERROR, RECORD_ERROR
from pipeline.indicators.soil.soil import CORE_VARIATION, LABORATORY
from pipeline.statistics.accumulation import Balance, fit_balance
from pipeline.statistics.balance import Doses, dressing_to_hold, dressing_to_reach, fraction_after, fractions_at_samples
from pipeline.statistics.forecast import dressing_needed, forecast
from pipeline.statistics.interval import Estimate, sampling_sd
from pipeline.workspace.method_options import MethodOptions
from tests.calibrate.result import Rule, Shares

CORES = (4, 10, 20)


NOT_ANSWERED = MethodOptions().landed
ALL_LOGGED = MethodOptions(dressing_logged="all").landed
ALL = MethodOptions(dressing_logged="all", dressing_lands=(1.0, 1.0)).landed


@dataclass(frozen=True)
class World:
    """A layer's samples, and what is not as the log or the laboratory says.

    Attributes:
        samples: one a year.
        answer: least and most of what came onto the green, as a share of the log, as the settings say it.
        landed: what did come onto it; None: evenly anywhere between the two.
        unlogged: share of the jobs that are not in the log.
        drift: drift of the laboratory, share a year; None: drawn as the interval takes it.
        rule: what is asked of the intervals.
        stated: confidence asked for.
    """

    samples: int
    answer: tuple[float, float] = NOT_ANSWERED
    landed: float | None = None
    unlogged: float = 0.0
    drift: float | None = None
    rule: Rule = "at least"
    stated: float = 0.9


WORLDS = {
    "8 samples, all lands and is logged, as answered": World(8, ALL, rule="within", stated=0.95),
    "3 samples, all lands and is logged, as answered": World(3, ALL, rule="within", stated=0.95),
    "8 samples, all is logged, 70 to 100 % lands, as answered": World(8, ALL_LOGGED, stated=0.95),
    "8 samples, nothing answered": World(8, stated=0.95),
    "3 samples, nothing answered": World(3, stated=0.95),
    "8 samples, nothing answered, all lands and is logged": World(8, landed=1.0),
    "8 samples, nothing answered, 30 % off the green": World(8, landed=0.7),
    "3 samples, nothing answered, 30 % off the green": World(3, landed=0.7),
    "8 samples, nothing answered, one dressing in eight not logged": World(8, landed=1.0, unlogged=0.125),
    "3 samples, nothing answered, one dressing in eight not logged": World(3, landed=1.0, unlogged=0.125),
    "5 samples, nothing answered, laboratory drifts by 2 % a year": World(5, drift=0.02),
}
BEYOND = {
    "8 samples, nothing answered, one dressing in five not logged": World(8, landed=1.0, unlogged=0.2, rule="told"),
    "8 samples, answered that all lands, 30 % off the green": World(8, ALL, landed=0.7, rule="told"),
    "8 samples, answered that all is logged, one dressing in five not": World(8, ALL, unlogged=0.2, rule="told"),
}
"""Where the log lacks a good deal, or the answer is wrong."""


def balances(draw: np.random.Generator, shares: Shares) -> None:
    """One layer of every world."""
    for name, world in (WORLDS | BEYOND).items():
        _balance(draw, shares, name, world)


def _balance(draw: np.random.Generator, shares: Shares, name: str, world: World) -> None:
    """A layer under three dressings a year; log and layer mass wrong by a tenth, as stated."""
    n = world.samples
    start, a = draw.uniform(0.05, 0.09), draw.uniform(0.15, 0.7)
    mass = 20 * float(layer_bulk_density_t_m3(100 * start))
    years = np.arange(float(n))
    when = (np.arange(3 * (n - 1)) + draw.uniform(0, 1, 3 * (n - 1))) / 3
    put_on = draw.uniform(0, 3, when.size)
    truth = fractions_at_samples(start, a, years, Doses(when, put_on, np.zeros(when.size)), layer_mass=mass)
    cores = draw.choice(CORES, n)
    drift = draw.normal(0, LABORATORY.drift) if world.drift is None else world.drift * draw.choice((-1, 1))
    # Its level at the last sample is the one that forecasts are read by.
    level = truth.mean() * (draw.normal(0, LABORATORY.year_cv, n) + drift * (years - years[-1]))
    seen = truth + draw.normal(0, 1, n) * CORE_VARIATION * truth / np.sqrt(cores) + level
    least, most = world.answer
    landed = draw.uniform(least, most) if world.landed is None else world.landed
    written = max(0.2, 1 + RECORD_ERROR * draw.standard_normal()) / landed
    taken = mass * max(0.2, 1 + LAYER_ERROR * draw.standard_normal())
    kept = draw.random(when.size) >= world.unlogged
    middle = (least + most) / 2
    mean = float(seen.mean())
    fit = fit_balance(
        years,
        seen.clip(0.005),
        taken,
        dose_years=when[kept],
        dose_mass=(put_on * written)[kept],
        sd=[sampling_sd(mean, int(c), core_cv=CORE_VARIATION, laboratory_cv=LABORATORY.year_cv) for c in cores],
        dose_relative_sd=math.hypot(RECORD_ERROR, (most - least) / 2 / ENDS / middle),
        layer_mass_relative_sd=LAYER_ERROR,
        lands=middle,
        drift_sd=LABORATORY.drift * mean,
    )
    if not isinstance(fit, Balance):
        return
    held = shares.of(f"organic matter gathered, {name}", world.rule, world.stated if world.rule != "told" else None)
    held.count(fit.low <= a <= fit.high)
    if world.stated == 0.95 and world.rule != "told":
        _ahead(shares, fit, (a, float(truth[-1]), mass, written), float(put_on.sum()) / (n - 1), (name, world.rule))


def _ahead(
    shares: Shares, fit: Balance, true: tuple[float, float, float, float], now: float, of: tuple[str, Rule]
) -> None:
    """Forecasts, and dressing to hold and to reach a target, as the log weighs it: the club will weigh it the same."""
    a, last, mass, written = true
    name, rule = of
    for plan, kg in (("as dressed now", now), ("as planned", 6.0), ("undressed", 0.0)):
        ahead = forecast(fit, 1.6, kg * written)
        after = float(fraction_after(last, 1.6, a, kg, mass))
        shares.of(f"forecast a season on {plan}, {name}", rule, 0.95).count(ahead.low <= after <= ahead.high)
    level = round(fit.fraction, 3)
    goal = 0.8 * level
    needs = (
        ("holds", dressing_needed(fit, level, None), dressing_to_hold(level, a)),
        (
            "reaches the target",
            dressing_needed(fit, goal, 3.6),
            dressing_to_reach(goal, last, 3.6, accumulation=a, layer_mass=mass),
        ),
    )
    for what, stated, real in needs:
        assert isinstance(stated, Estimate)
        assert real is not None
        inside = stated.low <= max(0.0, real * written) <= stated.high
        # Ends below nothing are moved to nothing, and so is the truth: it holds a little more.
        shares.of(f"dressing that {what}, {name}", "at least", 0.95).count(inside)
