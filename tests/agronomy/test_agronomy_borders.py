"""Each rule at its border: a value on the limit itself, and the next one, fall where the source or the rule says."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.agronomy.dressing import dry_mass_kg
from pipeline.agronomy.evaporation import net_longwave_mj_m2, wind_at_2_m_m_s
from pipeline.agronomy.green_speed import evenness_s, stimpmeter_reading
from pipeline.agronomy.levels.level_change import level_change
from pipeline.agronomy.levels.level_grid import LevelGrid
from pipeline.agronomy.levels.lows import lows
from pipeline.agronomy.soil.particle_size import curve_from_retained
from pipeline.agronomy.soil.soil import uk_index
from pipeline.agronomy.surface import level_summary
from pipeline.agronomy.units import MM_PER_INCH


def test_more_sun_than_a_clear_sky_gives_cools_the_ground_no_further():
    """FAO-56, eq. 39: Rs/Rso is at most 1; a station that reads high would otherwise lose too much by night."""
    clear = net_longwave_mj_m2(21.5, 12.3, 1.409, 30.9, 30.9)
    assert net_longwave_mj_m2(21.5, 12.3, 1.409, 34.0, 30.9) == clear
    assert net_longwave_mj_m2(21.5, 12.3, 1.409, 30.8, 30.9) < clear


@pytest.mark.parametrize(
    ("nutrient", "mg_l", "index"),
    [
        ("P", 9.49, "0"),
        ("P", 9.5, "1"),
        ("P", 15.4, "1"),
        ("P", 15.5, "2-"),
        ("P", 20.4, "2-"),
        ("P", 20.5, "2+"),
        ("P", 25.4, "2+"),
        ("P", 25.5, "3"),
        ("K", 60.4, "0"),
        ("K", 60.5, "1"),
        ("Mg", 50.4, "1"),
        ("Mg", 50.5, "2"),
    ],
)
def test_an_index_is_that_of_the_whole_number(nutrient, mg_l, index):
    """The tables have whole numbers, 10–15 and 16–25: 15.4 is 15, half goes up."""
    assert uk_index(mg_l, nutrient) == index


def pit(deep_mm: float) -> LevelGrid:
    """Level ground with one place that lies so deep."""
    heights = np.zeros((5, 5))
    heights[2, 2] = -deep_mm
    steps = np.arange(5.0)
    return LevelGrid(steps, steps, heights, as_surveyed=True)


def test_ground_on_the_tolerance_itself_is_level():
    """Within ± 6 mm is level (STRI/Mumford): 6 mm below is no low, a hundredth more is."""
    assert lows(pit(6.0), 6.0, 1.5) == ()
    (low,) = lows(pit(6.01), 6.0, 1.5)
    assert low.deepest_mm == pytest.approx(6.01)


@pytest.mark.parametrize(("deep", "lifts"), [(9.0, 3), (9.01, 4), (12.0, 4)])
def test_a_low_of_whole_lifts_takes_no_lift_more(deep, lifts):
    """Dressings of 3 mm: 9 mm are three of them."""
    (low,) = lows(pit(deep), 6.0, 1.5)
    assert low.lifts == lifts


def test_a_point_on_the_tolerance_itself_is_within():
    """Heights 0, 0, 6, −6 lie about their mean of 0: all within ± 6 mm, two of four within ± 5.99."""
    assert level_summary([0.0, 0.0, 6.0, -6.0], 6.0).within_pct == 100.0
    assert level_summary([0.0, 0.0, 6.0, -6.0], 5.99).within_pct == 50.0


def test_a_point_is_shared_where_each_is_the_others_nearest():
    """Three points stand alone in both surveys; of two new ones beside one old one the nearer alone is the same place.

    Counting both would hold one old height against two, and the change of the second is invented.
    """
    old = np.array([0.0, 10.0, 20.0, 30.0]), np.zeros(4), np.array([1.0, 2.0, 4.0, 8.0])
    new = np.array([0.0, 10.0, 20.0, 30.05, 30.2]), np.zeros(5), np.array([1.0, 2.0, 4.0, 8.0, 99.0])
    found = level_change(new, old, same_benchmark=True)
    assert found is not None
    assert found.later.tolist() == found.earlier.tolist() == [0, 1, 2, 3]
    assert found.mean_mm == 0.0


@pytest.mark.parametrize(("apart_m", "shared"), [(0.25, 4), (0.26, 3)])
def test_points_a_quarter_of_a_metre_apart_are_the_same_place(apart_m, shared):
    """The stated rule: no further apart than 0.25 m."""
    old = np.array([0.0, 10.0, 20.0, 30.0]), np.zeros(4), np.array([1.0, 2.0, 4.0, 8.0])
    new = np.array([0.0, 10.0, 20.0, 30.0 + apart_m]), np.zeros(4), np.array([1.0, 2.0, 4.0, 8.0])
    found = level_change(new, old, same_benchmark=True)
    assert found is not None
    assert found.n == shared


def test_all_of_a_load_may_be_water_and_no_more():
    """Moisture of the wet mass is a share of it: at 100 % nothing dry is left."""
    assert dry_mass_kg(10_000.0, 100.0, "wet") == 0.0
    with pytest.raises(ValueError, match="must lie between 0 and 100"):
        dry_mass_kg(10_000.0, 100.01, "wet")


def test_wind_at_2_m_is_itself():
    """FAO-56, table of factors (annex 2): 1.000 at 2 m."""
    assert wind_at_2_m_m_s(1.0, 2.0) == pytest.approx(1.0, abs=5e-4)


def test_sieves_may_hold_one_per_cent_more_than_went_in_and_no_more():
    """The stated rule: 101 g of 100 g is a rounded balance, 101.1 g is a slip."""
    assert curve_from_retained([0.25, 1.0], [50.0, 30.0], 21.0, 100.0).passing_pct == (20.0, 70.0)
    with pytest.raises(ValueError, match=r"the sieves hold 101\.1 g of a sample of 100 g"):
        curve_from_retained([0.25, 1.0], [50.0, 30.0], 21.1, 100.0)


def test_two_rinks_are_enough_to_be_uneven():
    """STRI/Mumford want all rinks within 0.5 s: of two, the difference."""
    assert evenness_s([12.0, 12.5]) == 0.5


@pytest.mark.parametrize("feet", range(4, 15))
def test_balls_eight_inches_apart_and_ways_eighteen_inches_apart_are_as_the_booklet_allows(feet):
    """Stimpmeter booklet: within 8 in, and more than 18 in is questionable; in feet and inches, from any distance."""
    near = feet * 12 * MM_PER_INCH
    series = [near, near, (feet * 12 + 8) * MM_PER_INCH]
    assert stimpmeter_reading(series, series).doubts == ()
    far = (feet * 12 + 18) * MM_PER_INCH
    assert stimpmeter_reading([near] * 3, [far] * 3).doubts == ()
    assert len(stimpmeter_reading([near, near, near + 203.3], [near] * 3).doubts) == 1
    assert len(stimpmeter_reading([near] * 3, [far + 0.1] * 3).doubts) == 1
