"""Top dressing: every figure worked by hand beside it; what is missing is never zero."""

from __future__ import annotations

from datetime import date

import pytest

from tests.indicators.figures import Figures, lines, names, of
from tests.thorough import thorough

JOB = "date,green,operation,material,quantity,treated_area_m2\n"
MIX = "70/30 sand and soil"  # 1,600 m²; 70 % sand, 30 % soil; 1.5 t/m³


def test_three_dressings_of_two_tonnes(figures: Figures) -> None:
    """2 t three times on 1,600 m²: 6000/1600 = 3.75 kg/m²; at 1.5 t/m³ 3.75/1.5 = 2.5 mm; 70 % of it sand, 2.625."""
    days = ("2026-03-10", "2026-06-10", "2026-09-10")
    done = figures(job=JOB + "".join(f"{day},ALD-1,top dressing,{MIX},2 t,\n" for day in days))
    assert of(done, "dressing_kg_m2").value == pytest.approx(3.75)
    assert of(done, "dressing_mm").value == pytest.approx(2.5)
    assert of(done, "dressing_t").value == pytest.approx(6.0)
    assert of(done, "sand_kg_m2").value == pytest.approx(2.625)
    assert of(done, "soil_kg_m2").value == pytest.approx(1.125)
    first = of(done, "dressing_kg_m2")
    assert (first.n, lines(first), {place.file for place in first.evidence}) == (3, [2, 3, 4], {"job.csv"})
    assert first.standing == "within"
    assert (first.target_low, first.target_high) == (2, 6)
    assert first.method == "Mass as logged over the green's area."
    assert first.note == (
        "Mass as delivered: moisture is not known for all of it. So far: the season runs to 30 September 2026."
    )
    assert "1.5 t/m³" in of(done, "dressing_mm").method
    assert "workspace" not in of(done, "dressing_mm").method
    running = done.running[0]
    assert [(point.date.month, point.total) for point in running.points] == [(3, 1.25), (6, 2.5), (9, 3.75)]
    assert [(point.date, point.total) for point in running.plan] == [(date(2025, 10, 1), 0.0), (date(2026, 9, 30), 2.0)]


def test_nothing_dressed_is_no_figure_rather_than_zero(figures: Figures) -> None:
    """Nobody knows whether nothing was dressed or nothing was logged."""
    done = figures(job=JOB + "2026-03-10,ALD-1,mowing,,,\n")
    assert not {name for name in names(done) if name.startswith("dressing")}
    assert done.running[0].points == ()


def test_a_dressing_without_amount_is_not_zero(figures: Figures) -> None:
    """Of two dressings one has an amount: the sum is that one's, and the note says that the truth is larger."""
    done = figures(job=JOB + f"2026-03-10,ALD-1,top dressing,{MIX},2 t,\n2026-06-10,ALD-1,top dressing,{MIX},,\n")
    one = of(done, "dressing_kg_m2")
    assert (one.value, one.n, lines(one)) == (1.25, 1, [2])
    assert "1 of 2 dressings give no amount or the green no area; the true sum is larger." in one.note


def test_only_dressings_without_amount_have_no_value(figures: Figures) -> None:
    """A figure that the records cannot carry is None, stands against no target, and is not shown as 0."""
    done = figures(job=JOB + f"2026-06-10,ALD-1,top dressing,{MIX},,\n")
    one = of(done, "dressing_kg_m2")
    assert (one.value, one.n, one.standing) == (None, 0, "no target")
    assert (of(done, "dressing_t").value, of(done, "dressing_mm").value) == (None, None)


def test_a_green_without_area_has_tonnes_but_no_rate(figures: Figures) -> None:
    """Without an area no figure per square metre is made: what a job's own area is of the green, nobody knows."""
    green = "green,club,name\nBRA-1,ALD,Bravery\n"
    done = figures("BRA-1", green=green, job=JOB + f"2026-03-10,BRA-1,top dressing,{MIX},2 t,\n")
    assert of(done, "dressing_kg_m2").value is None
    assert of(done, "dressing_t").value == 2.0
    assert ("Playing area", "not recorded") in done.facts
    assert any("area is not recorded" in note.text for note in done.data_notes)
    given = figures("BRA-1", job=JOB + f"2026-03-10,BRA-1,top dressing,{MIX},2 t,1000\n")
    assert of(given, "dressing_kg_m2").value is None


def test_large_and_small_parts_count_alike_by_their_share(figures: Figures) -> None:
    """1,600 kg on 1,250 m² and 160 kg on 160.5 m² of a green of 1,600 m²: 1,760 kg over it, 1.1 kg/m²."""
    done = figures(
        job=JOB
        + f"2026-03-10,ALD-1,top dressing,{MIX},1600 kg,1250\n2026-06-10,ALD-1,top dressing,{MIX},160 kg,160.5\n"
    )
    one = of(done, "dressing_kg_m2")
    assert one.value == pytest.approx(1.1)
    assert one.method.endswith("Work on a part of the green is weighted by the share treated.")
    said = (
        "Work on a part of the green (160 to 1,250 m², 2 jobs) counts in the figures by the share of the green treated."
    )
    assert said in [note.text for note in done.data_notes]


def test_volume_becomes_mass_by_bulk_density_and_says_so(figures: Figures) -> None:
    """1,000 l at 1.5 t/m³ (the workspace's, since the material is not known) is 1,500 kg: 0.9375 kg/m²."""
    done = figures(job=JOB + "2026-03-10,ALD-1,top dressing,pit sand,1000 l,\n")
    one = of(done, "dressing_kg_m2")
    assert one.value == pytest.approx(0.9375)
    assert "Logged by volume in part; mass from the bulk density." in one.note
    assert (
        "Bulk density 1.5 t/m³ (the workspace's setting where the material gives none)."
        in of(done, "dressing_mm").method
    )
    texts = [note.text for note in done.data_notes]
    assert "1 job with “pit sand”, not in the register of materials: nutrients not counted." in texts
    assert "Some dressings were logged by volume; their mass comes from a bulk density." in texts
    assert "sand_kg_m2" not in names(done)


def test_moisture_is_taken_off_by_its_basis(figures: Figures) -> None:
    """1,000 kg with 10 % of the dry mass as water is 1000/1.1 = 909.09 kg dry; of the wet mass, 900 kg."""
    material = (
        "material,sort,moisture_pct,moisture_basis,mix\n"
        "dry basis,top dressing,10,dry,\nwet basis,top dressing,10,wet,80/20\nno basis,top dressing,10,,\n"
    )
    rows = [("2026-03-10", "dry basis"), ("2026-04-10", "wet basis"), ("2026-05-10", "no basis")]
    done = figures(material=material, job=JOB + "".join(f"{d},ALD-1,top dressing,{m},1000 kg,\n" for d, m in rows))
    assert of(done, "dressing_of_kg_m2", "dry basis").value == pytest.approx(1000 / 1.1 / 1600)
    assert of(done, "dressing_of_kg_m2", "wet basis").value == pytest.approx(900 / 1600)
    assert of(done, "dressing_of_kg_m2", "no basis").value == pytest.approx(1000 / 1600)
    assert of(done, "dressing_t").value == pytest.approx((1000 / 1.1 + 900 + 1000) / 1000)
    assert "moisture is not known for all of it" in of(done, "dressing_kg_m2").note
    sand = of(done, "sand_kg_m2")
    assert sand.value == pytest.approx(0.8 * 900 / 1600)
    assert sand.note == "2 of 3 dressings give no mix."
    assert (sand.n, lines(sand)) == (1, [3])


def test_packs_and_rates_are_dressings_too(figures: Figures) -> None:
    """40 bags of 25 kg are 1,000 kg; 500 g/m² over the green's 1,600 m² are 800 kg: 1.125 kg/m² in all."""
    material = "material,sort,pack\nbagged sand,sand,25 kg\n"
    job = (
        "date,green,operation,material,packs,rate\n"
        "2026-03-10,ALD-1,top dressing,bagged sand,40,\n2026-04-10,ALD-1,top dressing,bagged sand,,500 g/m2\n"
    )
    done = figures(material=material, job=job)
    assert of(done, "dressing_kg_m2").value == pytest.approx(1.125)
    assert [(work.operation, work.amount) for work in done.works] == [
        ("Top dressing", "40 packs"),
        ("Top dressing", "500 g/m²"),
    ]


def test_what_is_due_is_the_rest_of_the_target(figures: Figures) -> None:
    """Target 2 to 6, 1.25 applied by June: 0.75 × 1.6 = 1.2 t to 4.75 × 1.6 = 7.6 t, by the season's end."""
    job = JOB + f"2026-03-10,ALD-1,top dressing,{MIX},2 t,\n2026-06-10,ALD-1,mowing,,,\n"
    done = figures(job=job)
    found = next(one for one in done.due if one.what.startswith("Top dressing"))
    assert found.what == f"Top dressing, {MIX}"
    assert found.quantity == "1.2 to 7.6 t as delivered, moisture not known, on 1,600 m² (2 t already applied)"
    assert found.applied == pytest.approx(2.0)
    assert found.by == "by 30 September 2026"
    assert found.why.startswith("Still open: 0.75 to 4.8 kg/m² (")
    assert found.why.endswith(" Logged to 10 June 2026.")


def test_what_is_due_after_the_season_is_the_next_ones_target(figures: Figures) -> None:
    """Once the season is over nothing can be added to it: the next one's whole target, 3.2 to 9.6 t, is due."""
    done = figures(job=JOB + f"2026-03-10,ALD-1,top dressing,{MIX},2 t,\n2026-10-05,ALD-1,mowing,,,\n")
    found = next(one for one in done.due if one.what.startswith("Top dressing"))
    assert found.quantity == "3.2 to 9.6 t as delivered, moisture not known, on 1,600 m²"
    assert found.by == "season 2027"
    assert done.as_of == date(2026, 9, 30)


def test_no_amount_is_due_where_what_is_on_is_not_known(figures: Figures) -> None:
    """A dressing of unknown mass is not a dressing of zero: the whole target may not be asked for on top of it."""
    done = figures(job=JOB + f"2026-03-10,ALD-1,top dressing,{MIX},,\n2026-06-10,ALD-1,mowing,,,\n")
    (found,) = (one for one in done.due if one.what.startswith("Top dressing"))
    assert found.quantity == "not known: 1 dressing of season 2026 gives no amount"
    assert (found.low, found.high, found.applied) == (None, None, None)
    assert found.why.endswith("What that put on comes off it.")


def test_a_part_of_unknown_mass_is_not_zero_either(figures: Figures) -> None:
    """1 t known and one dressing without an amount: 2.2 t would be asked for as if nothing else were on."""
    done = figures(
        job=JOB + f"2026-03-10,ALD-1,top dressing,{MIX},1 t,\n2026-04-10,ALD-1,top dressing,{MIX},,\n"
        "2026-06-10,ALD-1,mowing,,,\n"
    )
    (found,) = (one for one in done.due if one.what.startswith("Top dressing"))
    assert (found.quantity, found.low) == ("not known: 1 dressing of season 2026 gives no amount", None)


def test_nothing_is_due_once_the_known_part_reaches_the_target(figures: Figures) -> None:
    """3.2 t are the lower end: whatever the other dressing was, no more is asked for."""
    done = figures(
        job=JOB + f"2026-03-10,ALD-1,top dressing,{MIX},3.2 t,\n2026-04-10,ALD-1,top dressing,{MIX},,\n"
        "2026-06-10,ALD-1,mowing,,,\n"
    )
    assert not [one for one in done.due if one.what.startswith("Top dressing")]


def test_trays_beside_the_delivery_note(figures: Figures) -> None:
    """400 g in a 2,000 cm² tray at 1.5 t/m³ is 1.33 mm (Asian Turfgrass Center 2020-12-24), 2 kg/m². Delivered were
    4 t on 1,600 m², 2.5 kg/m²: the trays say 20 % less, and 800 kg did not land on the green."""
    head = "date,green,operation,material,quantity,tray_g,tray_cm2\n"
    done = figures(
        job=head + f"2026-03-10,ALD-1,top dressing,{MIX},4 t,400,2000\n2026-06-10,ALD-1,top dressing,{MIX},2 t,,\n"
    )
    one = of(done, "dressing_tray_kg_m2")
    assert (one.value, one.n, lines(one)) == (pytest.approx(2.0), 1, [2])
    assert one.note == (
        "By delivery note the same dressings are 2.50 kg/m²: the trays say -20 %. 1 of 2 dressings without a tray are "
        "not in it."
    )
    assert of(done, "dressing_tray_mm").value == pytest.approx(1.333, abs=5e-4)
    assert of(done, "dressing_off_green_kg").value == pytest.approx(800)
    assert of(done, "dressing_kg_m2").value == pytest.approx(3.75)


def test_what_lands_beside_the_green(figures: Figures) -> None:
    """2,000 kg over a treated 2,000 m² round a green of 1,600 m²: a fifth, 400 kg, lies beside it."""
    done = figures(job=JOB + f"2026-03-10,ALD-1,top dressing,{MIX},2000 kg,2000\n")
    assert of(done, "dressing_off_green_kg").value == pytest.approx(400)
    assert of(done, "dressing_kg_m2").value == pytest.approx(1.0)
    texts = [note.text for note in done.data_notes]
    assert "Treated areas (2,000 m², 1 job) are larger than the green: product on the surround is not counted." in texts
    inside = figures(job=JOB + f"2025-03-10,ALD-1,top dressing,{MIX},2000 kg,1250\n", season="2025")
    assert "dressing_off_green_kg" not in names(inside)


def test_a_mix_by_volume_is_told_by_mass(figures: Figures) -> None:
    """70 parts of sand at 1.6 and 30 of soil at 1.1 t/m³: 112 of 145 by mass is sand, 77.24 %, of 1.25 kg/m²."""
    material = (
        "material,sort,mix,mix_by,sand_density_t_m3,soil_density_t_m3\n"
        "by volume,top dressing,70/30,by volume,1.6,1.1\nunweighed,top dressing,70/30,by volume,,\n"
    )
    done = figures(material=material, job=JOB + "2026-03-10,ALD-1,top dressing,by volume,2 t,\n")
    sand = of(done, "sand_kg_m2")
    assert sand.value == pytest.approx(1.25 * 112 / 145)
    assert of(done, "soil_kg_m2").value == pytest.approx(1.25 * 33 / 145)
    assert sand.method.endswith("Shares by volume turned into mass by the bulk densities of sand and soil.")
    both = figures(job=JOB + "2026-04-10,ALD-1,top dressing,unweighed,2 t,\n")
    sand = of(both, "sand_kg_m2")
    assert sand.value == pytest.approx(1.25 * 112 / 145)
    assert sand.note == "1 of 2 dressings give no mix, or one by volume without the bulk densities of both."


MOIST = "material,sort,mix,bulk_density_t_m3,moisture_pct,moisture_basis\nmoist,top dressing,70/30,1.5,6,dry\n"


def test_what_was_delivered_stands_beside_what_is_dry(figures: Figures) -> None:
    """The log says 9.50 t, with 6 % of the dry mass as water: 8.96 t dry. 8.96 stood alone, unlike the log."""
    done = figures(material=MOIST, job=JOB + "2026-03-10,ALD-1,top dressing,moist,9.5 t,\n")
    assert of(done, "dressing_delivered_t").value == pytest.approx(9.5)
    assert of(done, "dressing_t").value == pytest.approx(9.5 / 1.06)
    said = "9.50 t delivered are 8.96 t dry: moisture is taken off where the material says how much."
    for name in ("dressing_kg_m2", "dressing_t"):
        assert said in of(done, name).note
    assert of(done, "dressing_kg_m2").method.startswith("Mass as logged less its moisture")
    assert [work.amount for work in done.works] == ["9.5 t (8.96 t dry)"]
    assert f"Top dressing: {said}" in [note.text for note in done.data_notes]
    bare = figures(job=JOB + f"2025-03-10,ALD-1,top dressing,{MIX},9.5 t,\n", season="2025")
    assert "dressing_delivered_t" not in names(bare)
    assert [work.amount for work in bare.works] == ["9.5 t"]


def test_moisture_is_not_taken_off_a_volume(figures: Figures) -> None:
    """1,000 l at 1.5 t/m³, a dry bulk density, are 1,500 kg dry: 6 % off that again made 1,415."""
    done = figures(material=MOIST, job=JOB + "2026-03-10,ALD-1,top dressing,moist,1000 l,\n")
    assert of(done, "dressing_t").value == pytest.approx(1.5)
    assert "moisture is not known" not in of(done, "dressing_kg_m2").note


def test_nothing_is_said_of_a_moisture_that_takes_nothing_off(figures: Figures) -> None:
    """A dried sand of 0 %: "9.50 t delivered are 9.50 t dry" tells a reader nothing."""
    job = JOB + "2026-03-10,ALD-1,top dressing,moist,9.5 t,\n"
    done = figures(material=MOIST.replace(",6,dry", ",0,dry"), job=job)
    assert "dressing_delivered_t" not in names(done)
    assert [work.amount for work in done.works] == ["9.5 t"]
    assert "delivered" not in of(done, "dressing_kg_m2").note


@thorough
def test_tonnes_of_a_green_without_area_lack_nothing(figures: Figures) -> None:
    """The mass in all needs no area; its note said that a dressing gave no amount or the green no area."""
    bare = "green,club,name,area_m2\nALD-1,ALD,Main green,\n"
    jobs = f"2026-03-10,ALD-1,top dressing,{MIX},2 t,\n2026-06-10,ALD-1,top dressing,{MIX},{{}},\n"
    done = figures(green=bare, job=JOB + jobs.format("1 t"))
    one = of(done, "dressing_t")
    assert (one.value, one.n) == (3.0, 2)
    assert one.note.startswith("Mass as delivered: moisture is not known for all of it.")
    assert "2 of 2 dressings give no amount or the green no area" in of(done, "dressing_kg_m2").note
    done = figures(job=JOB + jobs.format("").replace("03-10", "03-11").replace("06-10", "06-11"))
    assert "1 of 4 dressings give no amount; the true sum is larger." in of(done, "dressing_t").note
