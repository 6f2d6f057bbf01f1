"""Sieve figures from the file to the figure: the worked root zone, the bands, and the match with what was put on."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.agronomy.soil.particle_size import Curve
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.soil.curves import match_in_words
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.workspace.settings import Settings, Workspace
from tests.conftest import Load
from tests.indicators.figures import Figures, names, of

HEAD = "date,green,material,sample,size,basis,value,unit\n"
# The worked example of a root zone (log-linear interpolation): D10 0.1593 … Cu 2.55.
SIZES = (0.002, 0.05, 0.15, 0.25, 0.5, 1.0, 2.0, 3.4)
PASSING = (1.5, 3, 8, 25, 75, 95, 99.5, 100)
MIX = "70/30 sand and soil"
JOB = f"date,green,operation,material,quantity\n2026-03-20,ALD-1,top dressing,{MIX},2 t\n"
SAND_GREEN = "green,club,name,area_m2,construction\nALD-1,ALD,Main green,1600,sand-based\n"


def passing(owner: str, values: tuple[float, ...] = PASSING, day: str = "2026-03-04") -> str:
    return "".join(f"{day},{owner},S,{size},passing,{v},%\n" for size, v in zip(SIZES, values, strict=True))


D_VALUES = {10: 0.1593, 15: 0.1851, 50: 0.3536, 60: 0.4061, 85: 0.7071, 90: 0.8409}


def test_the_worked_root_zone(figures: Figures) -> None:
    done = figures(sieve=HEAD + passing("ALD-1,"))
    for share, size in D_VALUES.items():
        assert of(done, f"sieve_d{share}_mm", "root zone").value == pytest.approx(size, abs=5e-5)
    assert of(done, "sieve_uniformity", "root zone").value == pytest.approx(2.55, abs=0.005)
    assert of(done, "sieve_silt_clay_pct", "root zone").value == pytest.approx(3.0)


def test_retained_in_grams_is_the_same_curve(figures: Figures) -> None:
    """200 g: what stays on a sieve is the step to the next coarser one; the pan takes the finest."""
    steps = [b - a for a, b in zip((0.0, *PASSING), PASSING, strict=False)]
    rows = [
        f"2026-03-04,ALD-1,,S,{size},retained,{2 * step:g},g\n" for size, step in zip((0, *SIZES), steps, strict=False)
    ]
    done = figures(sieve=HEAD + "".join(rows))
    assert of(done, "sieve_d50_mm", "root zone").value == pytest.approx(0.3536, abs=5e-5)
    assert of(done, "sieve_d90_mm", "root zone").value == pytest.approx(0.8409, abs=5e-5)


def test_usga_limits_judge_a_sand_green_and_no_other(figures: Figures) -> None:
    """USGA: coarse and medium sand 60 % at least, very fine sand, silt and clay 10 % at most; a soil green is another
    thing, and the figure says that it was not judged."""
    done = figures(sieve=HEAD + passing("ALD-1,"))
    one = of(done, "sieve_coarse_medium_pct", "root zone")
    assert (one.value, one.standing, one.target_low) == (pytest.approx(70.0), "no target", None)
    assert "does not say how the green is built" in one.note
    fine = (1.5, 9, 24, 46, 75, 95, 99.5, 100)
    done = figures(green=SAND_GREEN, sieve=HEAD + passing("ALD-1,", fine))
    low, high = of(done, "sieve_coarse_medium_pct", "root zone"), of(done, "sieve_very_fine_pct", "root zone")
    assert (low.value, low.target_low, low.standing) == (pytest.approx(49.0), 60.0, "below")
    assert (high.value, high.target_high, high.standing) == (pytest.approx(24.0), 10.0, "above")
    assert low.target_source.startswith("“USGA Recommendations")


def test_a_dressing_like_the_root_zone_matches_and_a_coarser_one_does_not(figures: Figures) -> None:
    done = figures(job=JOB, sieve=HEAD + passing("ALD-1,") + passing(f",{MIX}"))
    one = of(done, "sieve_match", f"{MIX}, D50")
    assert (one.value, one.standing) == (pytest.approx(1.0), "no target")
    assert {place.line for place in one.evidence} == set(range(2, 18))
    coarse = (0.2, 0.5, 2, 6, 30, 80, 98, 100)
    done = figures(sieve=HEAD + passing(f",{MIX}", coarse, "2026-04-01"))
    one = of(done, "sieve_match", f"{MIX}, D50")
    # D50 between 0.5 mm (30 %) and 1 mm (80 %): 0.5 · 2^0.4 = 0.6598; over 0.3536 it is 1.866
    assert (one.value, one.standing) == (pytest.approx(0.6598 / 0.3536, abs=2e-3), "no target")
    assert one.note.startswith("Furthest apart at 0.5–1 mm: 30 percentage points more in the dressing. No target: ")


def test_alike_in_the_middle_is_not_alike(figures: Figures) -> None:
    """D50 and D90 of the root zone's, D10 by 9.5 times finer: the line said "within", for it judged D50 alone.

    No published limit was found, so that none is judged unless a set or the user's own target says how near is near.
    """
    fine = (2, 14.11, 18, 25, 75, 95, 99.5, 100)
    done = figures(job=JOB, sieve=HEAD + passing("ALD-1,") + passing(f",{MIX}", fine))
    found = {one.band.rpartition(", ")[2]: one for one in done.indicators if one.name == "sieve_match"}
    assert {one.standing for one in found.values()} == {"no target"}
    assert [round(found[size].value or 0.0, 2) for size in ("D10", "D50", "D90")] == [0.11, 1.0, 1.0]
    assert found["D10"].value == pytest.approx(1 / 9.5, abs=1e-3)
    assert {one.label for one in found.values()} == {"Dressing against root zone"}
    assert found["D10"].note.startswith("Read between 0.002 and 0.05 mm, where nothing was sieved: roughly.")


def test_a_size_that_the_sieves_do_not_reach_is_not_judged(figures: Figures) -> None:
    """30 % pass the finest sieve: nothing is known of D10."""
    fine = (30, 32, 34, 36, 75, 95, 99.5, 100)
    done = figures(job=JOB, sieve=HEAD + passing("ALD-1,") + passing(f",{MIX}", fine))
    one = of(done, "sieve_match", f"{MIX}, D10")
    assert (one.value, one.standing, one.note) == (None, "no target", "The sieves do not reach it.")


def test_a_dressing_without_a_curve_is_said(figures: Figures) -> None:
    done = figures(job=JOB, sieve=HEAD + passing("ALD-1,"))
    one = of(done, "sieve_match", MIX)
    assert (one.value, one.note) == (None, f"No sieve curve of {MIX}: whether it matches is not known.")


def test_a_mix_with_soil_is_not_judged_as_sand(figures: Figures) -> None:
    """70/30 has 30 % soil: the band of a dressing sand is not its own."""
    one = of(figures(job=JOB, sieve=HEAD + passing(f",{MIX}")), "sieve_medium_pct", MIX)
    assert (one.value, one.standing) == (pytest.approx(50.0), "no target")
    assert "without soil" in one.note


def test_a_material_that_was_not_put_on_is_not_told(figures: Figures) -> None:
    assert not any(name.startswith("sieve") for name in names(figures(sieve=HEAD + passing(f",{MIX}"))))


def test_fractions_that_make_no_curve_say_why(figures: Figures) -> None:
    """One sieve, or a sample whose halves came in two files and contradict each other: no figure, and the reason."""
    done = figures(sieve=HEAD + "2026-03-04,ALD-1,,S,0.25,passing,25,%\n")
    one = of(done, "sieve_d50_mm", "root zone")
    assert (one.value, one.note) == (None, "Sample of 4 March 2026, S. No curve: it has too few sieves.")
    done = figures(sieve=HEAD + "2026-03-04,ALD-1,,S,0.5,passing,20,%\n")
    one = of(done, "sieve_d50_mm", "root zone")
    assert one.value is None
    assert "more cannot pass a finer sieve than a coarser one" in one.note


STONES = ((1, 0), (2, 3), (4, 20), (6.3, 65), (9.5, 98), (12.5, 100))
ON_GRAVEL = "green,club,name,area_m2,gravel\nALD-1,ALD,Main green,1600,drainage gravel\n"


def test_gravel_under_the_root_zone(figures: Figures) -> None:
    """The worked example: bridging 3.262/0.7071 = 4.61 (8 at most), permeability 3.262/0.1851 = 17.6 (5 at least),
    uniformity 2.64 (3.0 at most in 2018)."""
    gravel = "".join(f"2026-03-04,,drainage gravel,G,{size},passing,{value},%\n" for size, value in STONES)
    done = figures(
        green=ON_GRAVEL, material="material,sort\ndrainage gravel,gravel\n", sieve=HEAD + passing("ALD-1,") + gravel
    )
    found = {one.name: one for one in done.indicators if one.name.startswith("gravel")}
    wanted = {"gravel_bridging": 3.262 / 0.7071, "gravel_permeability": 3.262 / 0.1851, "gravel_uniformity": 2.64}
    wanted |= {"gravel_under_2_mm_pct": 3, "gravel_under_1_mm_pct": 0}
    over = found.pop("gravel_over_12_mm_pct")
    assert {name: one.value for name, one in found.items()} == {
        name: pytest.approx(value, rel=2e-3) for name, value in wanted.items()
    }
    assert {one.standing for one in found.values()} == {"within"}
    # 2 % lie between the sieves of 9.5 and 12.5 mm: whether a grain is larger than 12 mm is not known
    assert (over.value, over.standing, over.target_high) == (None, "no target", 0)
    assert over.note.endswith("The sieves do not say whether there is any.")
    assert found["gravel_bridging"].target_high == 8
    assert "USGA edition of 2018" in found["gravel_bridging"].method
    assert found["gravel_bridging"].n == 14


def test_gravel_on_the_line_is_within(figures: Figures) -> None:
    """8·D85 = 4.80 mm for a root zone of D85 0.60: read off the curve, 0.6 is off by the last bit of a float."""
    root = "2026-03-04,ALD-1,,R,0.2,passing,15,%\n2026-03-04,ALD-1,,R,0.6,passing,85,%\n"
    gravel = "".join(
        f"2026-03-04,,drainage gravel,G,{size},passing,{value},%\n" for size, value in ((4.8, 15), (11.9, 90), (13, 99))
    )
    register = "material,sort\ndrainage gravel,gravel\n"
    done = figures(green=ON_GRAVEL, material=register, sieve=HEAD + root + gravel)
    assert of(done, "gravel_bridging", "drainage gravel").standing == "within"
    assert of(done, "gravel_over_12_mm_pct", "drainage gravel").standing == "above"


def test_no_word_on_gravel_that_the_register_does_not_place(figures: Figures) -> None:
    """A gravel with a certificate lies somewhere; only the register says under which green."""
    gravel = "".join(f"2026-03-04,,drainage gravel,G,{size},passing,{value},%\n" for size, value in STONES)
    done = figures(material="material,sort\ndrainage gravel,gravel\n", sieve=HEAD + passing("ALD-1,") + gravel)
    assert not any(name.startswith("gravel") for name in names(done))


def test_a_curve_read_straight(county: Load, county_store: Store, tmp_path: Path) -> None:
    """Straight lines on a plain scale give a coefficient of uniformity of 2.63 where the logarithm gives 2.55."""
    assert not county("sieve.csv", HEAD + passing("ALD-1,")).failed
    workspace = Workspace(tmp_path, Settings.model_validate({"method_options": {"sieve_interpolation": "linear"}}))
    done = green_season(read_records(county_store), "ALD-1", workspace.season("2026"), workspace)
    assert of(done, "sieve_uniformity", "root zone").value == pytest.approx(2.63, abs=0.005)
    assert of(done, "sieve_d50_mm", "root zone").method == "Read from the sieve curve, straight between two sieves."


def test_another_sample_of_that_day_is_named(figures: Figures) -> None:
    """Two samples of one day are two curves; the one not looked at is told, where its number alone had left it out."""
    coarse = passing("ALD-1,", (0.2, 0.5, 2, 6, 30, 80, 98, 100)).replace(",S,", ",R,")
    one = of(figures(sieve=HEAD + passing("ALD-1,") + coarse), "sieve_d50_mm", "root zone")
    assert one.value == pytest.approx(0.3536, abs=5e-5)
    assert one.note == "Sample of 4 March 2026, S. Of that day there is “R” as well, not in this figure."
    older = passing("ALD-1,", day="2025-03-04").replace(",S,", ",R,")
    alone = of(figures(sieve=HEAD + passing("ALD-1,", day="2026-04-04") + older), "sieve_d50_mm", "root zone")
    assert "as well" not in alone.note


def test_a_dressing_against_the_root_zone_is_told_as_ratios_and_roughly_where_nothing_was_sieved() -> None:
    """“D10 9.52, D50 1.14” stood unexplained, read as sizes the wrong way round, and as if 9.52 were known."""
    root = Curve((0.002, 0.05, 0.25, 0.5, 1, 2), (9.0, 24.0, 52.0, 75.0, 88.0, 100.0))
    sand = Curve((0.05, 0.15, 0.25, 0.5, 1, 2), (10.0, 20.0, 37.0, 79.0, 97.0, 100.0))
    words = match_in_words(sand, root, "log_linear")
    # by hand: D10 of the root zone 0.002 · 25^(1/15) = 0.00248 mm, of the dressing 0.05 mm: 20.2
    assert words.startswith("its D10 is roughly 20 times that of the root zone, its D50 1.3")
    assert "(10, 50 and 90 % of the mass are finer than these sizes; above 1 it is coarser)" in words
    # by hand: 0.5 · √2 = 0.707 mm over 0.05 · 5^(26/28) = 0.223 mm is 3.17
    coarse = Curve((0.5, 1, 2), (40.0, 60.0, 100.0))
    assert match_in_words(coarse, root, "log_linear").startswith("its D50 is 3.17 times that of the root zone, its D90")
    one = match_in_words(Curve((0.5, 1, 2), (40.0, 60.0, 80.0)), root, "log_linear")
    assert "(50 % of the mass is finer than it; above 1 it is coarser)" in one
