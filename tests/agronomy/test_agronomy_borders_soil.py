"""Chemistry, layers and columns at the borders of their rules."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest

from pipeline.agronomy import maths
from pipeline.agronomy.soil.mlsn import nutrient_use_g_m2
from pipeline.agronomy.soil.nutrients import LEAF_CONTENT_PCT, OXIDE_ELEMENT, removed_g_m2
from pipeline.agronomy.soil.organic_matter import combine_layers_pct, sampling_half_width
from pipeline.agronomy.soil.particle_size import Curve, curve_from_retained, d_value_mm, dressing_match, passing_at_pct
from pipeline.agronomy.sward import clumping


def test_of_two_alike_the_larger_and_the_smaller_is_either():
    """Equal figures in two columns are no gap."""
    frame = pl.DataFrame({"a": [2.0, 3.0, 1.0], "b": [2.0, 1.0, 3.0]})
    for function, wanted in ((maths.maximum, [2.0, 3.0, 3.0]), (maths.minimum, [2.0, 1.0, 1.0])):
        assert frame.select(function(pl.col("a"), pl.col("b")).alias("m"))["m"].to_list() == wanted


@pytest.mark.parametrize("pair", [(float("nan"), 2.0), (2.0, float("nan"))])
def test_what_is_no_number_stays_so_on_either_side(pair):
    assert np.isnan(maths.maximum(*pair))
    assert np.isnan(maths.minimum(*pair))


def test_use_of_a_nutrient_is_not_cut_to_whole_grams():
    """Half of 31 g of nitrogen is 15.5 g of potassium (N:K 2:1 of bent, ATC)."""
    assert nutrient_use_g_m2(31.0, 2.0, 1.0) == 15.5


def test_what_clippings_carry_away():
    """ATC seminar 2014-01: 1 kg of dry leaf holds 40 g of nitrogen."""
    assert removed_g_m2(1000.0, LEAF_CONTENT_PCT["N"]) == pytest.approx(40.0)


def test_each_oxide_names_its_element():
    wanted = {"P2O5": "P", "K2O": "K", "MgO": "Mg", "CaO": "Ca", "SO3": "S", "Na2O": "Na", "Fe2O3": "Fe", "MnO": "Mn"}
    assert wanted == OXIDE_ELEMENT


@pytest.mark.parametrize(("om", "thick"), [([5.0, -1.0], [20.0, 20.0]), ([5.0, 4.0], [20.0, -1.0])])
def test_a_layer_of_less_than_nothing_is_refused(om, thick):
    """A negative thickness would take another layer's weight away in silence."""
    with pytest.raises(ValueError, match="must not be below zero"):
        combine_layers_pct(om, thick)


@pytest.mark.parametrize("level", [0.0, 1.0, -0.5])
def test_an_interval_that_covers_none_or_all_cases_is_refused(level):
    with pytest.raises(ValueError, match="level must lie between 0 and 1"):
        sampling_half_width(10.0, 5.0, level)


CURVE = Curve((0.25, 0.5, 1.0), (10.0, 40.0, 100.0))


@pytest.mark.parametrize(
    ("sizes", "passing"), [((0.25, 0.5), (10, 40, 90)), ((0.25, 0.5, 1.0), (10, 40)), ((0.5, 0.5), (10, 40))]
)
def test_a_curve_has_one_figure_for_each_of_rising_sizes(sizes, passing):
    with pytest.raises(ValueError, match=r"needs two sizes at least, and one figure for each|sieve sizes must rise"):
        Curve(sizes, passing)


def test_nothing_between_two_sieves_is_a_curve_all_the_same():
    """A sand without a fraction has a level stretch."""
    assert Curve((0.25, 0.5, 1.0), (10, 10, 90)).passing_pct == (10, 10, 90)


def test_sieves_that_hold_a_little_too_much_leave_nothing_to_pass():
    """101 g of 100 g: nothing passes the finest, not less than nothing."""
    assert curve_from_retained([0.25, 1.0], [60.0, 41.0], 0.0, 100.0).passing_pct == (0.0, 59.0)


def test_masses_below_zero_and_lists_of_two_lengths_are_refused():
    with pytest.raises(ValueError, match="must not be below zero"):
        curve_from_retained([0.25, 1.0], [60.0, -1.0], 5.0)
    with pytest.raises(ValueError, match="zip"):
        curve_from_retained([0.25, 1.0], [60.0], 5.0)
    with pytest.raises(ValueError, match="zip"):
        clumping([6, 7], [50])


@pytest.mark.parametrize("how", ["log_linear", "linear"])
def test_a_share_that_a_sieve_passes_is_that_sieve(how):
    """D10, D40 and D100 are the openings themselves, either way of reading between."""
    assert [d_value_mm(CURVE, share, how) for share in (10, 40, 100)] == pytest.approx([0.25, 0.5, 1.0])
    assert d_value_mm(CURVE, 0.0, how) is None
    for beyond in (-0.01, 100.01):
        with pytest.raises(ValueError, match="must lie between 0 and 100"):
            d_value_mm(CURVE, beyond, how)


def test_between_the_first_two_sieves_something_passes():
    """Nothing passes the finest; half way to the next, half of what that one passes."""
    curve = Curve((0.25, 0.5, 1.0), (0.0, 40.0, 100.0))
    assert passing_at_pct(curve, 0.375, "linear") == pytest.approx(20.0)
    assert passing_at_pct(CURVE, 5.0, "linear") == 100.0
    assert passing_at_pct(Curve((0.25, 0.5, 1.0), (0.0, 40.0, 90.0)), 5.0, "linear") is None


def test_a_dressing_is_matched_at_three_sizes_and_only_where_both_curves_reach():
    """One curve that stops at 0.25 mm says nothing of the class below it, whichever of the two it is."""
    other = Curve((0.05, 0.15, 0.25, 0.5, 1.0, 2.0), (0, 6, 20, 60, 95, 100))
    for match in (dressing_match(CURVE, other, "linear"), dressing_match(other, CURVE, "linear")):
        assert match.class_gap_pct["0.15–0.25 mm"] is None
        assert match.class_gap_pct["0.25–0.5 mm"] is not None
    classes = ["0.05–0.15 mm", "0.15–0.25 mm", "0.25–0.5 mm", "0.5–1 mm", "1–2 mm"]  # USGA
    assert list(dressing_match(CURVE, other, "linear").class_gap_pct) == classes
    ratios = dressing_match(CURVE, other, "linear").d_ratio
    wanted = {f"D{at}": d_value_mm(CURVE, at, "linear") / d_value_mm(other, at, "linear") for at in (10, 50, 90)}
    assert ratios == pytest.approx(wanted)
