"""A formula that nothing uses is weight, and stands in the documentation as if it were a figure."""

import pytest

from scripts.docs import method
from scripts.docs.reached import defined, reached, unreached

KEPT = {
    "agronomy.dressing.mass_kg_m2": "for the year ahead: kg to order of a dressing planned in mm",
    "agronomy.dressing.volume_m3": "for the year ahead: a load ordered by the cubic metre",
    "agronomy.dressing.packs_cover_m2": "for the year ahead: what the packs in store will cover",
    "agronomy.soil.nutrients.OXIDE_ELEMENT": "for laboratory results given as P2O5 and K2O",
    "agronomy.soil.organic_matter.core_volume_cm3": "for a sampling plan: how much soil the cores make",
    "agronomy.soil.organic_matter.loss_on_ignition_pct": "for weighings before and after the furnace as records",
    "agronomy.soil.particle_size.gradation_index": "for the sieve curve of a proposed dressing",
    "agronomy.work.cost_per_m2": "for the year ahead: cost of a square metre",
    "agronomy.work.job_cost": "for the year ahead: cost of an operation",
    "agronomy.work.person_hours": "for the year ahead: hours to plan",
}
"""What nothing reaches yet, and what it waits for; anything else goes or gets used."""


def test_every_formula_is_used_or_waits_for_something_named() -> None:
    found = {name.removeprefix("pipeline.") for name in unreached()}
    assert found - KEPT.keys() == set(), "used by nothing"
    assert KEPT.keys() - found == set(), "used by now, or gone: take it off the list"


@pytest.mark.parametrize(
    "name",
    [
        "agronomy.dressing.depth_mm",  # imported by an indicator
        "agronomy.soil.mlsn.mlsn_need_g_m2",  # the same
        "agronomy.evaporation.saturation_vapour_pressure_kpa",  # through another formula
        "agronomy.weather.GROWTH_CURVES",  # a constant, through a formula
        "statistics.kendall.exact_upper_tail",  # through two modules
    ],
)
def test_what_is_used_is_reached(name: str) -> None:
    assert f"pipeline.{name}" in reached()


def test_a_test_an_input_of_the_same_name_and_the_documentation_are_no_use() -> None:
    """`volume_m3` is an input of `mass_of_volume_kg`, which is used; the generators import every module."""
    inputs = defined()["pipeline.agronomy.dressing.mass_of_volume_kg"]
    assert "pipeline.agronomy.dressing.KG_PER_T" in inputs
    assert "pipeline.agronomy.dressing.volume_m3" not in inputs


def test_the_method_page_lists_what_the_product_uses_only() -> None:
    page = method.page()
    assert "\n### dressing.depth_mm\n" in page
    for name in KEPT:
        assert f"\n### {'.'.join(name.split('.')[-2:])}\n" not in page
