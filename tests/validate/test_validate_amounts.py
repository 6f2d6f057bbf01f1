"""Amounts of one job that contradict each other, and doses too small to be meant: the line and the whole sentence."""

from __future__ import annotations

import pytest

from tests.conftest import Load

FEED = "spring granular 11-5-5 + 8 Fe"
HEAD = "date,green,operation,material,quantity,mass_kg,packs,rate_g_m2,treated_area_m2\n"


def said(county: Load, cells: str, code: str) -> list[str]:
    """Messages of this code about a feed of these cells."""
    result = county("log.csv", f"{HEAD}2026-03-16,ALD-1,feeding,{FEED},{cells}\n")
    assert result.counts.loaded == 1
    return result.faults.filter(result.faults["code"] == code)["message"].to_list()


@pytest.mark.parametrize(
    ("cells", "message"),
    [
        (
            ",10,2,,",
            "2 packs of the register = 50 kg (packs) and 10 kg (mass_kg) are not the same amount; 10 kg is counted.",
        ),
        (
            "2 bags,,,5,",
            "5 g/m² over 1600 m² = 8 kg (rate_g_m2) and 2 packs of the register = 50 kg (packs) are not the same "
            "amount; 2 packs of the register = 50 kg is counted.",
        ),
        (
            "50 kg,,,5,",
            "5 g/m² over 1600 m² = 8 kg (rate_g_m2) and 50 kg (mass_kg) are not the same amount; 50 kg is counted.",
        ),
    ],
)
def test_amounts_that_contradict_each_other_are_named(county: Load, cells: str, message: str) -> None:
    """A pack is 25 kg, the green 1,600 m²."""
    assert said(county, cells, "amount.apart") == [message]


@pytest.mark.parametrize("cells", ["50 kg,,2,,", "50 kg,,,30,", "2 bags,,,31.25,", "50 kg,,,50,1000", "2 bags,,,,"])
def test_amounts_that_agree_but_for_rounding_are_not_asked_about(county: Load, cells: str) -> None:
    """30 g/m² over 1,600 m² is 48 kg, 4 % below 50 kg."""
    assert said(county, cells, "amount.apart") == []


def test_a_dose_far_too_small_names_its_likely_reading(county: Load) -> None:
    """35 g over 1,600 m² is 0.022 g/m²."""
    assert said(county, "35 g,,,,", "dose.low") == [
        "35 g over 1600 m² is 0.022 g/m² of product, far below what feeds a green; 35 g/m² may have been meant."
    ]


@pytest.mark.parametrize("cells", ["35 g,,,,100", "0.2 kg,,,,", ",,,0.5,", "50 kg,,,,", ",,,,"])
def test_a_thin_feed_and_one_of_a_patch_are_not_asked_about(county: Load, cells: str) -> None:
    assert said(county, cells, "dose.low") == []
