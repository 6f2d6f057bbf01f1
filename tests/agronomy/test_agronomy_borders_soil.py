"""Chemistry, layers and columns at the borders of their rules."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest

from pipeline.agronomy import maths
from pipeline.agronomy.soil.mlsn import nutrient_use_g_m2
from pipeline.agronomy.soil.nutrients import LEAF_CONTENT_PCT, OXIDE_ELEMENT, removed_g_m2
from pipeline.agronomy.soil.organic_matter import combine_layers_pct, sampling_half_width


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
