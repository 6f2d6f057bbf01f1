"""The organic-matter balance: closed form against a numerical solver, mass kept, published examples."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from pipeline.statistics.accumulation import Balance, fit_balance
from pipeline.statistics.balance import (
    ASSUMPTIONS,
    Doses,
    dressing_to_hold,
    dressing_to_reach,
    fraction_after,
    fractions_at_samples,
    refill_as_dressing,
)
from pipeline.statistics.forecast import dressing_needed, forecast
from pipeline.statistics.interval import Estimate, Refused
from tests.outside_checks import outside
from tests.thorough import beyond

M = 21.0  # kg/m²: 20 mm at 8 % organic matter, density 1.05 (see the density formula below)


def density(percent: float) -> float:
    """Density of a sand and organic matter mix, t/m³ (Asian Turfgrass Center, "OM246 and soil bulk density")."""
    return 100 / (percent / 0.22 + (100 - percent) / 1.56)


def doses(years: list[float] | np.ndarray, mass: list[float] | np.ndarray, fraction: float = 0.0) -> Doses:
    return Doses(np.array(years, float), np.array(mass, float), np.full(len(years), fraction))


def fit(
    years: object, fraction: object, mass: list[float | None], layer_mass: float = M, **options: object
) -> Balance | Refused:
    """A fit with one dose half way between each two samples."""
    times = np.array(years, float)
    middle = (times[1:] + times[:-1]) / 2
    return fit_balance(years, fraction, layer_mass, dose_years=middle, dose_mass=mass, **options)


def rate(f: float, a: float, s: float, c: float) -> float:
    return (a * (1 - f) - s * (f - c)) / M


@outside("library", "scipy.integrate.solve_ivp, DOP853")
@pytest.mark.parametrize(
    ("a", "s", "c"),
    [(0.7, 9.0, 0.0), (0.7, 0.0, 0.0), (0.0, 9.0, 0.02), (-0.4, 3.0, 0.0), (-0.5, 0.5, 0.0), (0.0, 0.0, 0.0)],
)
@pytest.mark.parametrize("start", [0.02, 0.085])
def test_closed_form_is_the_exact_solution(a: float, s: float, c: float, start: float) -> None:
    """Against scipy's solver, also with no dressing, net decay, and A + S = 0 where the usual form divides by 0."""
    times = np.array([0.25, 1.0, 5.0])
    solved = solve_ivp(
        lambda _t, f: [rate(f[0], a, s, c)], (0, 5), [start], t_eval=times, rtol=1e-11, atol=1e-13, method="DOP853"
    )
    assert fraction_after(start, times, a, s, M, dressing_fraction=c) == pytest.approx(solved.y[0], abs=1e-9)


def test_mass_is_kept() -> None:
    """Organic matter gained = grown + spread − pushed out below, over five years."""
    a, s, c, start, years = 0.7, 9.0, 0.02, 0.09, 5.0
    pushed, _ = quad(lambda t: (a + s) * fraction_after(start, t, a, s, M, dressing_fraction=c), 0, years)
    gained = M * (fraction_after(start, years, a, s, M, dressing_fraction=c) - start)
    assert gained == pytest.approx(a * years + c * s * years - pushed, abs=1e-9)


def test_steady_state_is_neared_and_stays() -> None:
    """f* = (A + c·S)/(A + S)."""
    settled = (0.7 + 0.01 * 9) / 9.7
    assert fraction_after(settled, 3.0, 0.7, 9.0, M, dressing_fraction=0.01) == pytest.approx(settled, abs=1e-15)
    assert fraction_after(0.2, 200.0, 0.7, 9.0, M, dressing_fraction=0.01) == pytest.approx(settled, abs=1e-12)


def test_two_halves_are_a_whole() -> None:
    half = fraction_after(0.08, 1.5, 0.6, 7.0, M)
    assert fraction_after(half, 1.5, 0.6, 7.0, M) == pytest.approx(fraction_after(0.08, 3.0, 0.6, 7.0, M), abs=1e-15)


def test_dressing_to_hold() -> None:
    """Holding is the steady state turned round; richer dressing takes more, and too rich never does."""
    need = dressing_to_hold(0.06, 0.7)
    assert need is not None
    assert 0.7 / (0.7 + need) == pytest.approx(0.06)
    richer = dressing_to_hold(0.06, 0.7, 0.03)
    assert richer is not None
    assert richer == pytest.approx(2 * need)
    assert dressing_to_hold(0.06, 0.7, 0.06) is None


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.02, 0.12),
    st.floats(0.02, 0.12),
    st.floats(0.3, 8),
    st.floats(-0.5, 2),
    st.sampled_from([0.0, 0.01]),
)
def test_dressing_to_reach_does_reach(target: float, start: float, years: float, a: float, c: float) -> None:
    need = dressing_to_reach(target, start, years, accumulation=a, layer_mass=M, dressing_fraction=c)
    assume(need is not None)
    assert fraction_after(start, years, a, need, M, dressing_fraction=c) == pytest.approx(target, abs=1e-9)


def test_no_dressing_reaches_below_its_own_organic_matter() -> None:
    assert dressing_to_reach(0.02, 0.08, 2, accumulation=0.5, layer_mass=M, dressing_fraction=0.02) is None
    with pytest.raises(ValueError, match="above zero"):
        dressing_to_reach(0.05, 0.08, 0, accumulation=0.5, layer_mass=M)


@outside("worked example", "ATC 2021-04-23 hollow tine, solid tine, topdress: 3.2 %")
def test_refilled_holes_as_surface_dressing() -> None:
    """Ten-step example (Asian Turfgrass Center, hollow tine and solid tine): 90,429 g, 3,082 g of it organic matter.

    4,091 g of cores out, 3,167 cm³ of sand at 1.56 in, which is 4,940 g: as a dressing of the balance that leaves the
    published 3.2 % (3.224).
    And organic matter is kept: what was there less the cores' own is what is there, to the last gram.
    """
    before, mass, cores, sand = 3.0818 / 90.4289, 90.4289, 4.0909, 3.1667 * 1.56
    dose = refill_as_dressing(mass, mass - cores, sand)
    after = fractions_at_samples(before, 0.0, np.array([0.0, 1.0]), doses([0.5], [dose]), layer_mass=mass)[1]
    assert 100 * after == pytest.approx(3.224, abs=5e-4)
    assert after * (mass - cores + sand) == pytest.approx(3.0818 - 0.1394, abs=1e-4)
    assert dose > sand  # the layer is lighter by the cores, so the same sand thins it more
    assert refill_as_dressing(mass, mass - cores, 0.0) == 0.0


@given(st.floats(0.01, 0.2), st.floats(0, 0.05), st.floats(0, 0.4), st.floats(0, 8), st.integers(1, 4))
def test_refill_in_parts_keeps_mass(f: float, c: float, share: float, filled: float, parts: int) -> None:
    """Filled at once or in parts, with dressing of any organic matter: the fraction is that of the masses."""
    left, path = M * (1 - share), f
    for _ in range(parts):
        path = c + (path - c) * np.exp(-refill_as_dressing(M, left, filled / parts) / M)
        left += filled / parts
    kept = M * (1 - share)
    assert path == pytest.approx((kept * f + filled * c) / (kept + filled), abs=1e-12)
    for wrong in ((M, 0.0, 1.0), (M, M, -1.0)):
        with pytest.raises(ValueError, match="above zero"):
            refill_as_dressing(*wrong)


def test_published_sand_need_differs_as_the_assumption_says() -> None:
    """8 to 6 % in 20 mm by one dose of sand is 3.66 mm (check list 3.6: the layer keeps its depth).

    Here it keeps its mass and is mixed as it goes: 3.87 mm, under 7 % more. The two must stay that near.
    """
    mass = 20 * density(8)
    need = dressing_to_reach(0.06, 0.08, 1, accumulation=0.0, layer_mass=mass)
    assert need is not None
    assert need / 1.56 == pytest.approx(3.66, rel=0.07)
    assert need == pytest.approx(mass * np.log(8 / 6))


def test_published_accumulation_rates() -> None:
    """7.0 % to 7.4 % in a year with 6 mm of sand, and so on: 30.6 g/kg by the depth-keeping form (check list 3.6).

    Published net rates in the top 2 cm: 18 to 37 g/kg a year (Asian Turfgrass Center, 2021-08-10). The balance must
    give a rate among those, within a sixth of the other form.
    """
    got = fit([2020, 2021, 2022], [0.070, 0.074, 0.078], [6 * 1.56, 6 * 1.56], 20 * density(7), sd=0.003)
    assert isinstance(got, Balance)
    assert 18 < got.net_g_kg < 37
    assert got.net_g_kg == pytest.approx(30.6, rel=1 / 6)


@outside("library", "scipy.integrate.solve_ivp")
def test_doses_in_their_place_against_a_solver() -> None:
    """Each dose spread over a hundredth of a year by scipy's solver, growth going on all the while.

    One heavy autumn dressing moves the answer by half a percentage point according to whether it lies before or after
    the year's growth, so a mean rate over the year will not do.
    """
    years, when = np.array([0.0, 1.0, 2.5]), [0.1, 0.9, 1.3]
    given_doses, width = doses(when, [9.0, 4.0, 6.0], 0.01), 1e-4

    def slope(time: float, f: np.ndarray) -> list[float]:
        s = sum(m / width for t, m in zip(when, [9.0, 4.0, 6.0], strict=True) if t <= time < t + width)
        return [rate(f[0], 0.7, s, 0.01)]

    f, expected = [0.08], [0.08]
    edges = sorted({*years, *when, *(t + width for t in when)})
    for low, high in pairwise(edges):
        inside = (low + high) / 2
        f = solve_ivp(lambda _t, y, at=inside: slope(at, y), (low, high), f, rtol=1e-10, atol=1e-13).y[:, -1]
        if high in years:
            expected.append(float(f[0]))
    got = fractions_at_samples(0.08, 0.7, years, given_doses, layer_mass=M)
    assert got == pytest.approx(expected, abs=1e-6)
    early, late = (
        float(fractions_at_samples(0.08, 0.7, years[:2], doses([t], [9.0]), layer_mass=M)[1]) for t in (0.0, 0.99)
    )
    assert early - late == pytest.approx(0.011, abs=0.001)


def test_many_small_doses_are_a_steady_rate() -> None:
    """A hundred light dressings a year near the closed form for a steady rate."""
    when = (np.arange(300) + 0.5) / 100
    years = np.array([0.0, 1.0, 3.0])
    got = fractions_at_samples(0.08, 0.7, years, doses(when, np.full(300, 0.09), 0.01), layer_mass=M)
    assert got == pytest.approx(fraction_after(0.08, years, 0.7, 9.0, M, dressing_fraction=0.01), abs=1e-6)


def test_doses_outside_the_samples_play_no_part() -> None:
    """What lies before the first sample is in that sample; a dose of the last day comes after the sample."""
    years = np.array([1.0, 2.0])
    inside = fractions_at_samples(0.08, 0.7, years, doses([1.5], [5.0]), layer_mass=M)
    more = fractions_at_samples(0.08, 0.7, years, doses([2.0, 0.5, 1.5], [9.0, 9.0, 5.0]), layer_mass=M)
    assert more.tolist() == inside.tolist()
    at_start = fractions_at_samples(0.08, 0.7, years, doses([1.0], [5.0]), layer_mass=M)
    assert at_start[0] == pytest.approx(0.08)
    assert at_start[1] < fraction_after(0.08, 1.0, 0.7, 0.0, M)


def test_known_accumulation_is_found_without_noise() -> None:
    years = np.array([2018.0, 2019.1, 2020.0, 2022.2])
    dressing = doses([2018.3, 2018.9, 2020.1, 2021.7], [4.0, 4.0, 7.0, 8.0], 0.01)
    truth = fractions_at_samples(0.08, 0.65, years, dressing, layer_mass=M)
    for sd in (0.005, None):
        got = fit_balance(
            years, truth, M, sd=sd, dose_years=dressing.years, dose_mass=dressing.mass, dose_fraction=0.01
        )
        assert isinstance(got, Balance)
        assert got.accumulation == pytest.approx(0.65, abs=1e-8)
        assert got.fraction == pytest.approx(truth[-1], abs=1e-10)
        assert (got.n, got.span_years) == (4, pytest.approx(4.2))


def test_standard_error_of_undressed_samples_by_hand() -> None:
    """Undressed, M·ln(1/(1−f)) is a straight line in time of slope A; a sample's error in it is M·σ/(1−f).

    Samples that lie on the line, with σ in proportion to 1 − f: A's error is that of a slope, M·s/√Σ(t−t̄)².
    """
    years = np.array([0.0, 1.0, 2.0])
    seen = 1 - 0.93 * (0.91 / 0.93) ** years
    got = fit(years, seen, [0.0, 0.0], sd=0.004 * (1 - seen))
    assert isinstance(got, Balance)
    assert got.accumulation == pytest.approx(M * np.log(0.93 / 0.91))
    assert got.se == pytest.approx(M * 0.004 / np.sqrt(2))
    assert got.high - got.low == pytest.approx(2 * 1.959964 * got.se, rel=1e-6)


def test_two_samples_make_no_balance() -> None:
    """Nothing is left over to show a misfit: under 30 % of dressing off the green an interval held 3 % in one world."""
    got = fit([0, 1], [0.07, 0.09], [0.0], sd=0.004)
    assert got == Refused("2 comparable samples; a balance needs 3.")


def test_what_lands_is_a_share_of_what_the_log_weighs() -> None:
    """Half of it lands: the fit is that of half the dressing, and the log weighs twice what is needed."""
    years, values = np.arange(4.0), [0.08, 0.078, 0.079, 0.077]
    half = fit(years, values, [8.0] * 3, sd=0.004, lands=0.5)
    plain = fit(years, values, [4.0] * 3, sd=0.004)
    assert isinstance(half, Balance)
    assert isinstance(plain, Balance)
    assert (half.accumulation, half.se) == pytest.approx((plain.accumulation, plain.se))
    ahead, same = forecast(half, 2.0, 10.0), forecast(plain, 2.0, 5.0)
    assert (ahead.value, ahead.low, ahead.high) == pytest.approx((same.value, same.low, same.high))
    for target, when in ((0.06, 3.0), (0.075, None)):
        needed, need = dressing_needed(half, target, when), dressing_needed(plain, target, when)
        assert isinstance(needed, Estimate)
        assert isinstance(need, Estimate)
        assert (needed.value, needed.low, needed.high) == pytest.approx((2 * need.value, 2 * need.low, 2 * need.high))
    with pytest.raises(ValueError, match="above zero"):
        fit(years, values, [8.0] * 3, sd=0.004, lands=0.0)


def test_error_of_a_drift_by_refitting() -> None:
    """A laboratory that drifts by 0.1 points a year: the samples before the last are off by their time before it."""
    years, dressed = np.arange(4.0), [6.0] * 3
    values = fractions_at_samples(0.08, 0.6, years, doses(years[:3] + 0.5, dressed), layer_mass=M)
    base = fit(years, values, dressed, sd=1e-7)
    moved = fit(years, values + 1e-6 * (years - years[-1]), dressed, sd=1e-7)
    told = fit(years, values, dressed, sd=1e-7, drift_sd=1e-3)
    assert isinstance(base, Balance)
    assert isinstance(moved, Balance)
    assert isinstance(told, Balance)
    assert told.se == pytest.approx(abs(moved.accumulation - base.accumulation) * 1000, rel=1e-3)
    ends = [np.sqrt(one.joint[1][1]) for one in (told, base)]
    assert ends[0] == pytest.approx(abs(moved.fraction - base.fraction) * 1000, rel=1e-2, abs=2e-7)


@outside("library", "scipy.optimize.curve_fit, absolute_sigma=False, and scipy.stats.t")
@pytest.mark.parametrize("n", [4, 5, 8])
def test_interval_from_the_scatter_against_curve_fit(n: int) -> None:
    """Error of sampling not known: the fitter scales its covariance by the residuals over n − 2, t with n − 2."""
    from scipy.optimize import curve_fit
    from scipy.stats import t

    years, mass = np.arange(float(n)), [6.0] * (n - 1)
    dressing = doses(years[:-1] + 0.5, mass)
    values = fractions_at_samples(0.08, 0.6, years, dressing, layer_mass=M) + np.resize([2, -4, 1, 3, -2], n) / 1000

    def model(_: np.ndarray, a: float, start: float) -> np.ndarray:
        return fractions_at_samples(start, a, years, dressing, layer_mass=M)

    best, covariance = curve_fit(model, years, values, p0=(0.5, 0.08))
    got = fit(years, values, mass)
    assert isinstance(got, Balance)
    half = t.ppf(0.975, n - 2) * np.sqrt(covariance[0, 0])
    assert (got.low, got.high) == pytest.approx((best[0] - half, best[0] + half), rel=1e-4)
    assert f", {n - 2} degrees of freedom" in got.method


@outside("library", "scipy.optimize.curve_fit, absolute_sigma=True")
def test_errors_against_curve_fit_of_scipy() -> None:
    """The same likelihood by a general fitter: estimates and covariance agree."""
    from scipy.optimize import curve_fit

    years, mass = np.arange(6.0), [4.0, 9.0, 2.0, 12.0, 7.0]
    sd = np.array([3, 5, 4, 6, 3, 5]) / 1000
    dressing = doses(years[:5] + 0.5, mass)
    values = fractions_at_samples(0.08, 0.6, years, dressing, layer_mass=M) + np.array([2, -4, 1, 3, -2, 4]) / 1000

    def model(_: np.ndarray, a: float, start: float) -> np.ndarray:
        return fractions_at_samples(start, a, years, dressing, layer_mass=M)

    best, covariance = curve_fit(model, years, values, p0=(0.5, 0.08), sigma=sd, absolute_sigma=True)
    got = fit(years, values, mass, sd=sd)
    assert isinstance(got, Balance)
    path = model(years, *best)
    misfit = (((values - path) / sd) ** 2).sum() / 4
    assert (got.accumulation, got.fraction) == pytest.approx((best[0], path[-1]), rel=1e-5)
    assert got.se == pytest.approx(np.sqrt(covariance[0, 0]) * max(1, misfit) ** 0.5, rel=1e-4)


def test_errors_of_layer_and_records_by_refitting() -> None:
    """A 10 % error common to all dressing records moves A by what a refit with 10 % more says."""
    years, dressed = np.arange(3.0), [9.0, 5.0]
    values = fractions_at_samples(0.08, 0.5, years, doses(years[:2] + 0.5, dressed), layer_mass=M)
    base = fit(years, values, dressed, sd=1e-7)
    more = fit(years, values, [one * 1.0001 for one in dressed], sd=1e-7)
    denser = fit(years, values, dressed, M * 1.0001, sd=1e-7)
    records = fit(years, values, dressed, sd=1e-7, dose_relative_sd=0.1)
    layer = fit(years, values, dressed, sd=1e-7, layer_mass_relative_sd=0.1)
    assert all(isinstance(b, Balance) for b in (base, more, denser, records, layer))
    assert records.se == pytest.approx(abs(more.accumulation - base.accumulation) * 1000, rel=1e-3)
    assert layer.se == pytest.approx(abs(denser.accumulation - base.accumulation) * 1000, rel=1e-3)


def test_scatter_beyond_the_stated_error_widens() -> None:
    years, dressed = np.arange(5.0), [6.0] * 4
    rough = np.array([0.08, 0.10, 0.06, 0.09, 0.065])
    got = fit(years, rough, dressed, sd=0.003)
    assert isinstance(got, Balance)
    assert float(got.method.split("widened ")[1].split()[0]) > 2


@pytest.mark.parametrize(
    ("years", "fraction", "mass", "sd", "why"),
    [
        ([2020.0], [0.08], [], 0.005, "1 comparable sample; a balance needs 3."),
        (range(3), [0.08] * 3, [5.0, 5.0], None, "needs 4, as the sampling error is not known"),
        ([2020.0, 2020.2, 2020.5], [0.08, 0.07, 0.07], [5.0, 0.0], 0.005, "0.5 years apart"),
        ([2020.0, 2021.0, 2022.0], [0.08] * 3, [5.0, None], 0.005, "quantity of 1 of 2 top dressings"),
        ([2020.0, 2021.0, 2022.0], [0.08] * 3, [float("nan"), 5.0], 0.005, "quantity of 1 of 2 top dressings"),
        ([2020.0, 2021.0, 2022.0], [0.08] * 3, [5000.0, 0.0], 0.005, "238 times over"),
    ],
)
def test_refused_where_the_data_cannot_carry_it(
    years: list[float], fraction: list[float], mass: list[float | None], sd: float | None, why: str
) -> None:
    got = fit(years, fraction, mass, sd=sd)
    assert isinstance(got, Refused)
    assert why in got.why


def test_refused_where_works_are_not_on_record() -> None:
    """A year without a log is not a year without dressing; a gap before the samples does no harm."""
    got = fit([2020, 2021, 2022], [0.08] * 3, [5.0, 5.0], sd=0.005, unrecorded=[(2021.2, 2021.4)])
    assert isinstance(got, Refused)
    assert "not the same as none" in got.why
    assert isinstance(fit([2020, 2021, 2022], [0.08] * 3, [5.0, 5.0], sd=0.005, unrecorded=[(2018, 2020)]), Balance)


def test_absurd_samples_settle_or_are_refused_without_a_warning() -> None:
    """Typing slips that pass the schema must not end in a traceback."""
    for values in ([0.99, 0.01, 0.99], [1e-6, 0.999999, 1e-6], [0.5, 1e-9, 0.5]):
        got = fit([0, 1, 2], values, [0.0, 1000.0], sd=1e-4)
        assert isinstance(got, Refused)
        assert "no steady accumulation fits" in got.why


@pytest.mark.parametrize(
    ("years", "fraction", "mass", "layer", "match"),
    [
        ([0, 1], [8.0, 7.0], [1.0], M, "0.08"),
        ([0, 1], [0.08, None], [1.0], M, "fraction: a value is missing"),
        ([1, 0], [0.08, 0.07], [1.0], M, "rise"),
        ([0, 1], [0.08, 0.07], [1.0, 1.0], M, "one is needed"),
        ([0, 1], [0.08, 0.07], [-1.0], M, "below zero"),
        ([], [], [], M, "at least one"),
        ([0, 1], [0.08, 0.07], [1.0], 0.0, "above zero"),
    ],
)
def test_impossible_input_is_refused(
    years: list[float], fraction: list[float], mass: list[float], layer: float, match: str
) -> None:
    with pytest.raises(ValueError, match=match):
        fit(years, fraction, mass, layer, sd=0.005)


def _balance() -> Balance:
    got = fit([0, 1, 2], [0.08, 0.082, 0.079], [9.0, 9.0], sd=0.005)
    assert isinstance(got, Balance)
    return got


def test_forecast_starts_at_the_last_sample_and_orders_programmes() -> None:
    balance = _balance()
    now = forecast(balance, 0.0, 9.0)
    assert now.value == pytest.approx(balance.fraction)
    assert now.high - now.low == pytest.approx(2 * balance.quantile * np.sqrt(balance.joint[1][1]))
    none, present, double = (forecast(balance, 2.0, s) for s in (0.0, 9.0, 18.0))
    assert none.value > present.value > double.value
    assert none.low < none.value < none.high
    with pytest.raises(ValueError, match="below zero"):
        forecast(balance, -1, 0)


def test_forecast_interval_against_drawn_parameters() -> None:
    """The propagated error against 20,000 draws of (A, fraction now) from their normal distribution."""
    balance = _balance()
    draws = np.random.default_rng(2).multivariate_normal(
        [balance.accumulation, balance.fraction], np.array(balance.joint)[:2, :2], 20_000
    )
    ahead = fraction_after(draws[:, 1], 3.0, draws[:, 0], 9.0, M)
    got = forecast(balance, 3.0, 9.0)
    assert (got.low, got.high) == pytest.approx(np.quantile(ahead, [0.025, 0.975]), abs=0.002)


def test_dressing_needed_reaches_by_forecast() -> None:
    balance = _balance()
    need = dressing_needed(balance, 0.06, 2.0)
    assert isinstance(need, Estimate)
    assert forecast(balance, 2.0, need.value).value == pytest.approx(0.06)
    assert 0 <= need.low < need.value < need.high
    draws = np.random.default_rng(2).multivariate_normal(
        [balance.accumulation, balance.fraction], np.array(balance.joint)[:2, :2], 1000
    )
    needs = [dressing_to_reach(0.06, f, 2.0, accumulation=a, layer_mass=M) for a, f in draws]
    assert (need.low, need.high) == pytest.approx(np.quantile(np.maximum(needs, 0), [0.025, 0.975]), abs=1.0)


def test_dressing_needed_to_hold_and_none_needed() -> None:
    balance = _balance()
    hold = dressing_needed(balance, 0.08, None)
    assert isinstance(hold, Estimate)
    assert hold.value == pytest.approx(dressing_to_hold(0.08, balance.accumulation))
    assert hold.high - hold.value == pytest.approx(balance.quantile * balance.se * 0.92 / 0.08)
    easy = dressing_needed(balance, 0.3, 1.0)
    assert isinstance(easy, Estimate)
    assert (easy.value, easy.low) == (0.0, 0.0)
    assert isinstance(dressing_needed(balance, 0.05, 2.0, dressing_fraction=0.06), Refused)


def test_assumptions_are_sentences() -> None:
    assert len(ASSUMPTIONS) == 3
    assert all(text.endswith(".") for text in ASSUMPTIONS)


@pytest.mark.parametrize(("n", "told"), [(3, True), (5, True), (4, False), (6, False)])
@beyond(1)
def test_coverage_on_simulated_greens(n: int, told: bool) -> None:
    """Of 500 greens of known A, the 95 % intervals of A, forecast and dressing hold the truth at least 90 % · 95 %."""
    draw = np.random.default_rng(n)
    runs, held = 500, np.zeros(3)
    for _ in range(runs):
        a, start, years = draw.uniform(0.2, 1.2), draw.uniform(0.05, 0.1), np.arange(float(n))
        dressing = doses(draw.uniform(0, n - 1, 3 * n), draw.uniform(0, 4, 3 * n))
        truth = fractions_at_samples(start, a, years, dressing, layer_mass=M)
        seen, sd = truth + draw.normal(0, 0.005, n), 0.005 if told else None
        balance = fit_balance(years, seen, M, sd=sd, dose_years=dressing.years, dose_mass=dressing.mass)
        assert isinstance(balance, Balance)
        ahead = forecast(balance, 2.0, 6.0)
        need = dressing_needed(balance, 0.05, 2.0)
        assert isinstance(need, Estimate)
        true_need = dressing_to_reach(0.05, float(truth[-1]), 2.0, accumulation=a, layer_mass=M)
        assert true_need is not None
        held += [
            balance.low <= a <= balance.high,
            ahead.low <= fraction_after(truth[-1], 2.0, a, 6.0, M) <= ahead.high,
            need.low <= max(0.0, true_need) <= need.high,
        ]
    assert (held / runs >= 0.9 * 0.95).all(), held / runs
    assert (held / runs <= 0.995).all(), "so wide that it says nothing"
