"""Nitrogen by release, calcium and manganese, and what clippings carry away: worked by hand on 1,600 m²."""

from __future__ import annotations

import pytest

from tests.indicators.figures import Figures, lines, names, of

MATERIAL = (
    "material,sort,form,analysis,analysis_basis,n_release,n_slow_pct,release_weeks\n"
    "quick feed,fertiliser,solid,10-0-0 + 14 CaO + 0.5 Mn,oxide,quick,,\n"
    "blend,fertiliser,solid,20-0-0,oxide,slow,5,10\n"
    "meal,fertiliser,solid,8-0-0,oxide,organic,,\n"
    "unsaid,fertiliser,solid,10-0-0,oxide,,,\n"
)
JOB = "date,green,operation,material,quantity\n"


def feed(day: str, material: str, kg: int) -> str:
    return f"{day},ALD-1,fertilising,{material},{kg} kg\n"


def test_nitrogen_by_release(figures: Figures) -> None:
    """80 kg quick at 10 %: 5 g/m². 80 kg blend at 20 %, 5 of it slow: 10 g/m², 2.5 slow. 100 kg meal: 5 g/m² organic.
    Slow 7.5 of 20: 37.5 %. The largest quick dose is the blend's 7.5 g/m², 2.6 beyond the 4.9 of lawns."""
    done = figures(
        material=MATERIAL,
        job=JOB
        + feed("2026-04-01", "quick feed", 80)
        + feed("2026-05-01", "blend", 80)
        + feed("2026-06-01", "meal", 100),
    )
    assert of(done, "nitrogen_slow_pct").value == pytest.approx(37.5)
    found = {one.band: one.value for one in done.indicators if one.name == "nitrogen_released_as_kg_ha"}
    wanted = {"Quick release": 125.0, "Slow or controlled release": 25.0, "Organic": 50.0}
    assert found == {band: pytest.approx(value) for band, value in wanted.items()}
    dose = of(done, "nitrogen_quick_dose_g_m2")
    assert (dose.value, dose.standing) == (pytest.approx(7.5), "above")
    assert dose.note == "On 1 May 2026. 2.6 g/m² beyond the 4.9 g/m² of lawns."
    assert sum(found.values()) == pytest.approx(of(done, "nitrogen_kg_ha").value)


def test_a_feed_that_does_not_say_is_left_out(figures: Figures) -> None:
    """Nobody knows whether it was slow; it is neither."""
    done = figures(material=MATERIAL, job=JOB + feed("2026-04-01", "quick feed", 80) + feed("2026-05-01", "unsaid", 80))
    one = of(done, "nitrogen_slow_pct")
    assert (one.value, one.n, lines(one)) == (0.0, 1, [2])
    assert one.note == "1 of 2 feeds do not say how their nitrogen is released; left out."
    alone = figures(job=JOB + feed("2025-05-01", "unsaid", 80), season="2025")
    assert not {"nitrogen_slow_pct", "nitrogen_quick_dose_g_m2", "nitrogen_released_as_kg_ha"} & names(alone)


def test_nitrogen_still_to_come(figures: Figures) -> None:
    """10 g/m² that last 10 weeks, seen 4 weeks on (the last day on record): six tenths are to come, 60 kg/ha."""
    done = figures(material=MATERIAL, job=JOB + feed("2026-05-01", "blend", 80) + "2026-05-29,ALD-1,mowing,,\n")
    assert of(done, "nitrogen_to_come_kg_ha").value == pytest.approx(60)
    over = figures(job="date,green,operation\n2026-08-01,ALD-1,mowing\n")
    assert of(over, "nitrogen_to_come_kg_ha").value == 0


def test_calcium_and_manganese_of_a_label(figures: Figures) -> None:
    """80 kg on 1,600 m² are 500 kg/ha: 14 % CaO is 70 × 0.7147 = 50.0 kg Ca/ha (IFA factor 0.715), 0.5 % Mn 2.5."""
    done = figures(material=MATERIAL, job=JOB + feed("2026-04-01", "quick feed", 80))
    assert of(done, "calcium_kg_ha").value == pytest.approx(50.0, abs=0.05)
    assert of(done, "manganese_kg_ha").value == pytest.approx(2.5)


def test_what_clippings_carry_away(figures: Figures) -> None:
    """150 g/m² of dry clippings at 4 % N, 2 % K and 0.5 % P (ATC seminar 2014-01): 60, 30 and 7.5 kg/ha."""
    job = "date,green,operation,clippings_g_m2\n" + "".join(
        f"2026-0{month}-01,ALD-1,mowing,{dry}\n" for month, dry in ((5, 50), (6, 60), (7, 40), (8, ""))
    )
    done = figures(job=job)
    nitrogen = of(done, "nitrogen_removed_kg_ha")
    assert (nitrogen.value, nitrogen.n) == (pytest.approx(60), 3)
    assert nitrogen.note == "Dry clippings: 150 g/m². 1 mowing without weighed clippings is not in it."
    assert of(done, "potassium_removed_kg_ha").value == pytest.approx(30)
    assert of(done, "phosphorus_removed_kg_ha").value == pytest.approx(7.5)
    assert "nitrogen_removed_kg_ha" not in names(
        figures(job="date,green,operation\n2025-05-01,ALD-1,mowing\n", season="2025")
    )
