"""Oxides, ions and charges of a laboratory against figures that handbooks print."""

from __future__ import annotations

import pytest

from pipeline.agronomy.soil.nutrients import ATOMIC_WEIGHT, LABORATORY_FORM
from pipeline.agronomy.soil.soil import MG_KG_PER_MEQ
from schemas.codes import analytes, code_list


@pytest.mark.parametrize(
    ("form", "share"),
    [("P2O5", 0.436), ("K2O", 0.830), ("MgO", 0.603), ("CaO", 0.715), ("SO3", 0.400), ("NO3", 0.226), ("NH4", 0.776),
     ("PO4", 0.326), ("SO4", 0.334), ("Al2O3", 0.529)],
)  # fmt: skip
def test_the_element_in_an_oxide_or_ion(form: str, share: float) -> None:
    """Factors to three places as fertiliser and water tables print them."""
    assert LABORATORY_FORM[form] == pytest.approx(share, abs=6e-4)


def test_every_form_is_of_a_known_analyte_and_every_word_of_several() -> None:
    """Guards against a form without a factor, and a word that means an analyte that is not there."""
    stored = analytes()
    for name, code in code_list("analyte").items():
        if "of" in code.facts:
            assert code.facts["of"] in stored and code.facts["form"] in LABORATORY_FORM, name
        if "either" in code.facts:
            assert {code_list("analyte")[one].facts.get("of", one) for one in code.facts["either"]} <= set(stored), name
            assert len(code.facts["either"]) > 1, name


def test_the_charge_of_a_cation_is_that_of_the_exchange_capacity() -> None:
    """The way there and the way back are one factor; 4 meq Ca in 100 g are 800 ppm in a soil fertility course."""
    symbols = {code.facts["element"]: code.facts for code in analytes().values() if "charge" in code.facts}
    for cation, mg_kg in MG_KG_PER_MEQ["exact"].items():
        assert 10 * ATOMIC_WEIGHT[cation] / symbols[cation]["charge"] == pytest.approx(mg_kg)
    assert 4 * 10 * ATOMIC_WEIGHT["Ca"] / symbols["Ca"]["charge"] == pytest.approx(800, rel=0.003)
    assert 2 * 10 * ATOMIC_WEIGHT["Al"] / symbols["Al"]["charge"] == pytest.approx(180, rel=0.003)
