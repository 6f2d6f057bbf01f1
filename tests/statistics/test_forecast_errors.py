"""Errors of the layer's mass and of the log carried into forecasts and dressing, against refitting."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.statistics.accumulation import Balance, fit_balance
from pipeline.statistics.balance import Doses, fractions_at_samples
from pipeline.statistics.forecast import dressing_needed, forecast
from pipeline.statistics.interval import Estimate

M, DRESSED = 21.0, 6.0
YEARS, WHEN = np.arange(3.0), np.array([0.5, 1.5])
SEEN = fractions_at_samples(0.08, 0.4, YEARS, Doses(WHEN, np.full(2, DRESSED), np.zeros(2)), layer_mass=M)
"""As the balance has it, so that nothing scatters."""
SHIFT = 1e-4


def fitted(mass: float = M, written: float = 1.0, **errors: float) -> Balance:
    """Three samples in line with a dose half way between each two, almost without sampling error."""
    got = fit_balance(YEARS, SEEN, mass, dose_years=WHEN, dose_mass=[DRESSED * written] * 2, sd=1e-8, **errors)
    assert isinstance(got, Balance)
    return got


@pytest.mark.parametrize("dressed", [0.0, DRESSED])
def test_forecast_moves_with_the_layer_as_a_refit_does(dressed: float) -> None:
    """With a denser layer, both the accumulation and what the dressing does to it are others."""
    told = forecast(fitted(layer_mass_relative_sd=0.1), 2.0, dressed)
    moved = forecast(fitted(M * (1 + SHIFT)), 2.0, dressed).value - forecast(fitted(), 2.0, dressed).value
    assert (told.high - told.low) / 2 == pytest.approx(1.959964 * 0.1 * abs(moved) / SHIFT, rel=1e-3)


@pytest.mark.parametrize("dressed", [0.0, DRESSED])
def test_a_log_that_weighs_wrong_weighs_the_next_dressing_wrong_too(dressed: float) -> None:
    told = forecast(fitted(dose_relative_sd=0.1), 2.0, dressed)
    more = forecast(fitted(written=1 + SHIFT), 2.0, dressed * (1 + SHIFT)).value
    moved = more - forecast(fitted(), 2.0, dressed).value
    assert (told.high - told.low) / 2 == pytest.approx(1.959964 * 0.1 * abs(moved) / SHIFT, rel=1e-3)


@pytest.mark.parametrize(("target", "years"), [(0.075, None), (0.06, 3.0)])
@pytest.mark.parametrize("what", ["layer", "log"])
def test_dressing_needed_moves_as_a_refit_does(target: float, years: float | None, what: str) -> None:
    """In the log's own weight: a log that says 1 % too much is told 1 % more."""
    errors = {"layer_mass_relative_sd": 0.02} if what == "layer" else {"dose_relative_sd": 0.02}
    other = fitted(M * (1 + SHIFT)) if what == "layer" else fitted(written=1 + SHIFT)
    told, base, more = (dressing_needed(b, target, years) for b in (fitted(**errors), fitted(), other))
    assert isinstance(told, Estimate)
    assert isinstance(base, Estimate)
    assert isinstance(more, Estimate)
    moved = more.value / (1 + SHIFT) - base.value if what == "log" else more.value - base.value
    assert (told.high - told.low) / 2 == pytest.approx(1.959964 * 0.02 * abs(moved) / SHIFT, rel=2e-3, abs=1e-6)
