"""What the soil needs, and units that take a density: published worked examples, from the file to the figure."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.indicators.base.reading import read_records
from pipeline.season.green import green_season
from pipeline.standardise.results import NO_SLICE
from pipeline.store.store import Store
from pipeline.workspace.settings import Settings, Workspace
from tests.conftest import Load
from tests.indicators.figures import Figures, names, of
from tests.thorough import beyond

SOIL = "date,green,analyte,depth_from_mm,depth_to_mm,extractant,value,unit,density_kg_l,bulk_density_t_m3\n"
MATERIAL = "material,sort,form,n_pct\nurea,fertiliser,solid,46\n"
FED = "date,green,operation,material,quantity\n2026-05-01,ALD-1,fertilising,urea,{} kg\n"


def soil(analyte: str, value: float | str, unit: str = "mg/kg", rest: str = ",", extractant: str = "Mehlich 3") -> str:
    return f"2026-02-10,ALD-1,{analyte},0,152.4,{extractant},{value},{unit},{rest}\n"


def test_the_worked_need_of_potassium(figures: Figures) -> None:
    """ATC 2017-08-06: 30 g N/m² in bent use 15 g K/m²; 24 ppm against 37 in 6 inches at 1.5 t/m³ lacks 3: 18 g/m²."""
    urea = 30 * 1600 / 1000 / 0.46
    done = figures(
        material=MATERIAL,
        job=FED.format(urea),
        soil_test=SOIL + soil("potassium", 24, rest=",1.5") + soil("ph", 6.5, "pH"),
    )
    one = of(done, "potassium_need_kg_ha")
    assert one.value == pytest.approx(180, abs=1)
    assert one.note == "Use 15.0 g/m², soil 24 mg/kg, guideline 37 mg/kg; sampled 10 February 2026."
    assert "MLSN 2016, 152.4 mm, 1.5 t/m³ (the soil's); use is the season's nitrogen ÷ 2" in one.method
    assert {place.kind for place in one.evidence} == {"soil_test", "job"}


def test_a_soil_above_the_guideline_pays_for_its_use(figures: Figures) -> None:
    """15 g/m² used, but 137 ppm hold 22.9 g/m² more than the guideline: nothing is needed, and never less than that."""
    done = figures(material=MATERIAL, job=FED.format(30 * 1.6 / 0.46), soil_test=SOIL + soil("potassium", 137))
    one = of(done, "potassium_need_kg_ha")
    assert one.value == 0
    assert "the workspace's setting" in one.method
    assert one.note.endswith("The guideline holds above pH 5.5; the pH is not on record.")


def test_no_need_without_nitrogen_or_by_another_extractant(figures: Figures) -> None:
    """Use is computed from nitrogen, and the guideline is Mehlich 3's alone."""
    assert "potassium_need_kg_ha" not in names(figures(soil_test=SOIL + soil("potassium", 24)))
    olsen = SOIL + soil("phosphorus", 24, extractant="Olsen")
    assert "phosphorus_need_kg_ha" not in names(figures(material=MATERIAL, job=FED.format(50), soil_test=olsen))


@pytest.mark.parametrize(("version", "calcium"), [("2014", 331), ("2016", 348)])
@beyond(2)
def test_the_version_chosen_is_the_target_in_force(county: Load, county_store: Store, tmp_path: Path, version: str,
                                                   calcium: int) -> None:  # fmt: skip
    """Reference sheet 2014: calcium 331; paper of 2016: 348. A set that mixes the two is nobody's."""
    assert not county("soil.csv", SOIL + soil("calcium", 340)).failed
    workspace = Workspace(tmp_path, Settings.model_validate({"method_options": {"mlsn": version}}))
    done = green_season(read_records(county_store), "ALD-1", workspace.season("2026"), workspace)
    one = of(done, "calcium_mg_kg", "Mehlich 3")
    assert (one.target_low, version in one.target_source) == (calcium, True)
    assert one.standing == ("within" if version == "2014" else "below")


def test_exchange_capacity_by_summation(figures: Figures) -> None:
    """K 379, Mg 133, Ca 1600, Na 22 ppm by atomic weights (IUPAC 2021): 0.969 + 1.094 + 7.984 + 0.096 = 10.14."""
    results = {"potassium": 379, "magnesium": 133, "calcium": 1600, "sodium": 22}
    done = figures(soil_test=SOIL + "".join(soil(name, value) for name, value in results.items()))
    one = of(done, "cec_meq_100g", "Mehlich 3")
    assert one.value == pytest.approx(10.14, abs=0.01)
    assert (one.standing, one.n) == ("no target", 4)
    assert one.note.startswith("Ca 7.98, Mg 1.09, K 0.97, Na 0.10.")


@pytest.mark.parametrize(
    ("weights", "meq_100g", "said"),
    [
        ("rounded", pytest.approx(10.1758, abs=5e-5), "rounded equivalent weights"),
        ("rounded_k_391", pytest.approx(10.1733, abs=5e-5), "rounded (K 391) equivalent weights"),
    ],
)
@beyond(2)
def test_exchange_capacity_by_round_weights(
    county: Load, county_store: Store, tmp_path: Path, weights: str, meq_100g: float, said: str
) -> None:
    """The same sample by Ca 200, Mg 120, K 390 and Na 230: 10.18 meq/100 g (a worked sum); by K 391, K is 379/391."""
    results = {"potassium": 379, "magnesium": 133, "calcium": 1600, "sodium": 22}
    assert not county("soil.csv", SOIL + "".join(soil(name, value) for name, value in results.items())).failed
    workspace = Workspace(tmp_path, Settings.model_validate({"method_options": {"cation_weights": weights}}))
    one = of(
        green_season(read_records(county_store), "ALD-1", workspace.season("2026"), workspace),
        "cec_meq_100g",
        "Mehlich 3",
    )
    assert one.value == meq_100g
    assert said in one.method


def test_no_capacity_where_a_base_is_missing(figures: Figures) -> None:
    """A sum without magnesium would be too small, and look like one."""
    done = figures(soil_test=SOIL + soil("potassium", 379) + soil("calcium", 1600))
    assert "cec_meq_100g" not in names(done)


def test_mg_l_becomes_mg_kg_only_with_a_density(figures: Figures) -> None:
    """100 mg/l at 1.3 kg/l is 76.9 mg/kg (by definition); without a density there is no second figure."""
    done = figures(soil_test=SOIL + soil("potassium", 100, "mg/l", "1.3,") + soil("magnesium", 100, "mg/l"))
    assert of(done, "potassium_mg_l", "Mehlich 3").value == 100
    one = of(done, "potassium_mg_kg", "Mehlich 3")
    assert (one.value, one.standing) == (pytest.approx(76.92, abs=0.01), "within")
    assert one.method.endswith("mg/l ÷ 1.3 kg/l of scooped soil.")
    assert "magnesium_mg_kg" not in names(done)


def test_no_twin_beside_the_laboratory_s_own(figures: Figures) -> None:
    """A laboratory that gives both units gives one result: the mean of the two would count it twice."""
    rows = soil("potassium", 100, "mg/l", "1.3,,a") + soil("potassium", 80, rest=",,b")
    done = figures(soil_test=SOIL.replace("\n", ",sample\n") + rows)
    one = of(done, "potassium_mg_kg", "Mehlich 3")
    assert (one.value, one.n) == (80, 1)


def test_pounds_an_acre_by_depth_and_density(figures: Figures) -> None:
    """A 6-inch slice of 2 million lb an acre: 74 lb/acre are 37 ppm (ATC 2017-08-06; Merced County converter)."""
    done = figures(soil_test=SOIL + soil("potassium", 74, "lb/acre", ",1.471"))
    assert of(done, "potassium_mg_kg", "Mehlich 3").value == pytest.approx(37, abs=0.01)


def test_pounds_an_acre_without_density_are_rejected(county: Load) -> None:
    """Halving them would guess what the soil weighs."""
    found = county("soil.csv", SOIL + soil("potassium", 74, "lb/acre"))
    assert (found.counts.rejected, found.faults["code"].to_list()) == (1, [NO_SLICE.code])
    assert "Potassium of 74.0 lb/acre" in found.faults["message"][0]


BY_LAB = SOIL.replace("extractant,", "extractant,lab,")


def by_lab(analyte: str, value: float, lab: str, unit: str = "mg/kg") -> str:
    return f"2026-02-10,ALD-1,{analyte},0,152.4,Mehlich 3,{lab},{value},{unit},,\n"


def test_two_laboratories_on_one_day_make_no_need_and_two_capacities(figures: Figures) -> None:
    """24 and 60 mg/kg of potassium: their mean of 42 would ask for nothing but use, and nobody measured it."""
    rows = "".join(
        by_lab(analyte, value, lab)
        for lab, potassium in (("Lab B", 60), ("Lab A", 24))
        for analyte, value in (("potassium", potassium), ("calcium", 400), ("magnesium", 50))
    )
    rows += by_lab("ph", 5.4, "Lab A", "pH") + by_lab("ph", 6.1, "Lab B", "pH")
    done = figures(material=MATERIAL, job=FED.format(50), soil_test=BY_LAB + rows)
    one = of(done, "potassium_need_kg_ha")
    assert (one.value, one.standing, one.n) == (None, "not comparable", 2)
    assert one.note == (
        "24 mg/kg by Lab A and 60 mg/kg by Lab B on 10 February 2026: not comparable, and no need is made of the one "
        "or the other."
    )
    low, high = (of(done, "cec_meq_100g", f"Mehlich 3, {lab}").value for lab in ("Lab A", "Lab B"))
    assert low is not None
    assert high is not None
    assert high - low == pytest.approx(36 / 391, abs=1e-3)


def test_ph_of_two_laboratories_is_told_of_both(figures: Figures) -> None:
    """The guideline's border lies between them: the mean of 5.75 would have hidden that one is below."""
    rows = by_lab("potassium", 24, "Lab A") + by_lab("ph", 5.4, "Lab A", "pH") + by_lab("ph", 6.1, "Lab B", "pH")
    one = of(figures(material=MATERIAL, job=FED.format(50), soil_test=BY_LAB + rows), "potassium_need_kg_ha")
    assert one.note.endswith("The guideline holds above pH 5.5; here it is 5.4 by Lab A and 6.1 by Lab B.")
