"""Jobs on a part of a green: a season's figure is mass over the green's area, whatever lines the log takes for it.

Each case is worked by hand on a green of 1,000 m². Logged in one line, in two halves, in 490 and 510 m², a job comes to
the same; the largest single dose stays a dose on the area it fell on.
"""

from __future__ import annotations

from datetime import date
from math import pi
from pathlib import Path

import polars as pl
import pytest

from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.base.shares import largest_dose, with_share
from pipeline.store.store import Store
from pipeline.workspace.settings import Settings, Workspace
from tests.conftest import Load
from tests.indicators.figures import Figures, lines, names, of
from tests.thorough import beyond, thorough

GREEN = "green,club,name,area_m2\nHAL-1,ALD,Halves,1000\n"
MIX = "70/30 sand and soil"  # 1.5 t/m³
FEED = "spring granular 11-5-5 + 8 Fe"
MATERIALS = (
    "material,sort,form,analysis,analysis_basis,n_release,n_slow_pct,pack,price\n"
    "urea,fertiliser,solid,46-0-0,oxide,quick,,25 kg,40\nblend,fertiliser,solid,20-0-0,oxide,slow,5,,\n"
)


def dressed(*parts: tuple[str, object], day: str = "2026-03-10") -> str:
    """Dressings of one day: mass and treated area of each line."""
    head = "date,green,operation,material,quantity,treated_area_m2\n"
    return head + "".join(f"{day},HAL-1,top dressing,{MIX},{mass},{area}\n" for mass, area in parts)


@pytest.mark.parametrize(
    "parts",
    [
        [("5 t", "")],
        [("5 t", 1000)],
        [("2.5 t", 500), ("2.5 t", 500)],
        [("2.45 t", 490), ("2.55 t", 510)],
        [("1 t", 900), ("4 t", 100)],
    ],
)
@beyond(1)
def test_five_tonnes_are_five_however_they_are_logged(figures: Figures, parts: list[tuple[str, object]]) -> None:
    """5 t on 1,000 m² are 5 kg/m², 3.33 mm at 1.5 t/m³; in halves they once came to 10, in 490 and 510 m² to 7.45."""
    done = figures("HAL-1", green=GREEN, job=dressed(*parts))
    one = of(done, "dressing_kg_m2")
    assert one.value == pytest.approx(5.0, rel=1e-9)
    assert one.standing == "within"
    assert lines(one) == [i + 2 for i in range(len(parts))]
    assert of(done, "dressing_mm").value == pytest.approx(5 / 1.5, rel=1e-9)
    assert of(done, "sand_kg_m2").value == pytest.approx(3.5, rel=1e-9)
    assert of(done, "dressing_t").value == pytest.approx(5.0, rel=1e-9)
    assert [point.total for point in done.running[0].points] == [pytest.approx(5.0, rel=1e-9)]


@thorough
def test_three_tonnes_on_600_m2_are_three_on_the_green(figures: Figures) -> None:
    """3 t on 600 of 1,000 m² are 3.0 kg/m² of the green; they once stood as 5.00. The reader is told."""
    done = figures("HAL-1", green=GREEN, job=dressed(("3 t", 600)))
    one = of(done, "dressing_kg_m2")
    assert one.value == pytest.approx(3.0, rel=1e-9)
    assert one.method == (
        "Mass as logged over the green's area. Work on a part of the green is weighted by the share treated."
    )
    said = "Work on a part of the green (600 m², 1 job) counts in the figures by the share of the green treated."
    assert said in [note.text for note in done.data_notes]


def test_a_job_beyond_the_green_counts_what_landed_on_it(figures: Figures) -> None:
    """5 t over green and surround, 1,250 m², are 4 kg/m² everywhere: 4 t of the 5 lie on the green's 1,000 m²."""
    done = figures("HAL-1", green=GREEN, job=dressed(("5 t", 1250)))
    one = of(done, "dressing_kg_m2")
    assert one.value == pytest.approx(4.0, rel=1e-9)
    assert one.method.endswith("Of an area larger than the green, what landed on the green counts.")
    assert of(done, "dressing_off_green_kg").value == pytest.approx(1000)


def test_parts_beyond_the_green_are_told(figures: Figures) -> None:
    """2.5 t on 625 m² twice: green and surround in halves, or two rounds over parts? All 5 t count, and it is said."""
    done = figures("HAL-1", green=GREEN, job=dressed(("2.5 t", 625), ("2.5 t", 625)))
    assert of(done, "dressing_kg_m2").value == pytest.approx(5.0, rel=1e-9)
    said = "Parts logged for one day come to more than the green (1 day: top dressing): what is over lies on the rest."
    assert said in [note.text for note in done.data_notes]
    halves = figures("HAL-1", job=dressed(("2.5 t", 500), ("2.5 t", 500), day="2025-03-10"), season="2025")
    assert not [note for note in halves.data_notes if note.text.startswith("Parts logged")]


TOLD = ("dressing_kg_m2", "dressing_mm", "sand_kg_m2")
"""Figures that rest on how much of the green was gone over."""


def test_a_figure_of_parts_beyond_the_green_carries_its_mark(figures: Figures) -> None:
    """Two jobs of 700 m² on 1,000 m²: the note among the records said it, and no figure did."""
    done = figures("HAL-1", green=GREEN, job=dressed(("2.5 t", 700), ("2.5 t", 700)))
    for name in TOLD:
        assert [place.line for place in of(done, name).questioned] == [2, 3], name
    assert of(done, "dressing_kg_m2").method.endswith(
        "Parts logged for one day come to more than the green: what is over lies on the rest."
    )
    assert not of(done, "operations").questioned
    said = "With this part of 700 m² what is logged of top dressing for that day comes to 1400 m², the green has 1000: "
    said += "what is over is counted on the rest of it."
    assert [one.text for one in done.questions] == [said, said]


@thorough
def test_so_it_does_where_two_files_hold_the_parts(figures: Figures, county: Load) -> None:
    """Neither file says too much by itself: at loading it is asked only whether the two are one job."""
    head, row = dressed(("2.5 t", 700)).splitlines()
    figures("HAL-1", green=GREEN)
    first = county("crew_a.csv", f"{head},logged_by\n{row},crew A\n")
    second = county("crew_b.csv", f"{head},logged_by\n{row},crew B\n")
    assert (first.counts.warnings, second.counts.warnings) == (0, 1)
    assert second.faults["code"].to_list() == ["record.likely_double"]
    done = figures("HAL-1")
    for name in TOLD:
        assert [(place.file, place.line) for place in of(done, name).questioned] == [
            ("crew_a.csv", 2),
            ("crew_b.csv", 2),
        ]
    assert {one.text for one in done.questions} == {
        "Parts logged for one day come to more than the green: what is over lies on the rest.",
        "line 2 of crew_b.csv (load 7) and line 2 of crew_a.csv (load 6) may be one job that two people wrote down; "
        "both count.",
    }


def test_parts_are_of_the_jobs_looked_at(figures: Figures, county: Load, county_store: Store, tmp_path: Path) -> None:
    """Without one of the two entries, as when it is asked what rests on it, the other is no more than the green."""
    head, row = dressed(("2.5 t", 700)).splitlines()
    figures("HAL-1", green=GREEN)
    for crew in ("A", "B"):
        county(f"crew_{crew}.csv", f"{head},logged_by\n{row},crew {crew}\n")
    workspace = Workspace(tmp_path, Settings())
    records = green_records(read_records(county_store), "HAL-1", workspace.season("2026"), workspace)
    assert len(records.parts_over) == 2
    assert not records.having(job=records.jobs.filter(pl.col("file") == "crew_A.csv")).parts_over


DOSE = 4.68
OM = "date,green,analyte,depth_from_mm,depth_to_mm,lab,value,unit,burn_c,preparation,verdure,cores\n" + "".join(
    f"{day},HAL-1,organic matter,0,20,Lab A,{value},%,440,whole,on,10\n"
    for day, value in (("2024-10-10", 5.0), ("2025-10-10", 5.0), ("2026-09-25", 5.03))
)


@pytest.mark.parametrize("areas", [[""], [500, 500], [490, 510], [100, 250, 650]])
@beyond(1)
def test_the_balance_counts_a_dressing_once(figures: Figures, areas: list[object]) -> None:
    """Dressed with 4.68 kg/m² in each of two autumns the layer stays at 5 %: 4.5 kg/m² a year hold it. In halves every
    dressing counted twice, and so 8.4 kg/m² a year were asked for."""
    job = dressed(("0 t", ""), day="2024-10-01").replace("top dressing", "mowing").replace("0 t", "")
    for day in ("2024-10-20", "2025-10-20"):
        parts = [(f"{DOSE * float(str(area)) / 1000 if area else DOSE} t", area) for area in areas]
        job += dressed(*parts, day=day).partition("\n")[2]
    done = figures("HAL-1", green=GREEN, soil_test=OM, job=job)
    hold = of(done, "dressing_hold_kg_m2_year", "0–20 mm").value
    assert hold == pytest.approx(4.5, abs=0.1)


@pytest.mark.parametrize(("areas", "kg"), [([""], [50]), ([500, 500], [25, 25]), ([490, 510], [24.5, 25.5])])
@beyond(1)
def test_nitrogen_and_the_rest_of_the_label(figures: Figures, areas: list[object], kg: list[float]) -> None:
    """50 kg of 11-5-5 + 8 Fe on 1,000 m² are 5.5 g N/m², 55 kg/ha, 40 kg Fe; in two halves they once were 110."""
    head = "date,green,operation,material,mass_kg,treated_area_m2\n"
    job = head + "".join(f"2026-03-16,HAL-1,fed,{FEED},{m},{a}\n" for m, a in zip(kg, areas, strict=True))
    done = figures("HAL-1", green=GREEN, job=job)
    assert of(done, "nitrogen_kg_ha").value == pytest.approx(55.0, rel=1e-9)
    assert of(done, "nitrogen_12m_kg_ha").value == pytest.approx(55.0, rel=1e-9)
    assert of(done, "iron_kg_ha").value == pytest.approx(40.0, rel=1e-9)
    assert of(done, "potassium_kg_ha").value == pytest.approx(50 * 0.05 * 0.83015 * 10, rel=1e-4)
    assert of(done, "nitrogen_dose_g_m2").value == pytest.approx(5.5, rel=1e-9)
    assert of(done, "nitrogen_price_kg").value == pytest.approx(2 * 31.5 / 5.5, rel=1e-9)
    assert [point.total for point in done.running[1].points] == [pytest.approx(55.0, rel=1e-9)]


def test_a_rate_on_a_part_is_weighted_and_its_dose_is_not(figures: Figures) -> None:
    """10 g/m² of urea on 600 of 1,000 m²: 4.6 g N/m² where it fell, 2.76 g/m² of the green, 27.6 kg/ha."""
    job = "date,green,operation,material,rate_g_m2,treated_area_m2\n2026-03-16,HAL-1,fed,urea,10,600\n"
    done = figures("HAL-1", green=GREEN, material=MATERIALS, job=job)
    assert of(done, "nitrogen_kg_ha").value == pytest.approx(27.6, rel=1e-9)
    assert of(done, "nitrogen_released_as_kg_ha", "Quick release").value == pytest.approx(27.6, rel=1e-9)
    for name in ("nitrogen_dose_g_m2", "nitrogen_quick_dose_g_m2"):
        assert of(done, name).value == pytest.approx(4.6, rel=1e-9)


@thorough
def test_the_largest_dose_of_halves_of_two_days_is_one_of_them(figures: Figures) -> None:
    """4.6 g/m² on each half, a day apart, and a blend of 20 % (15 quick) over all of it: 10 g/m² × 20 % lies on top."""
    job = (
        "date,green,operation,material,rate_g_m2,treated_area_m2\n"
        "2026-03-16,HAL-1,fed,urea,10,500\n2026-03-17,HAL-1,fed,urea,10,500\n2026-03-17,HAL-1,fed,blend,10,\n"
    )
    done = figures("HAL-1", green=GREEN, material=MATERIALS, job=job)
    assert of(done, "nitrogen_dose_g_m2").value == pytest.approx(4.6 + 2.0, rel=1e-9)
    assert of(done, "nitrogen_dose_g_m2").note == "On 17 March 2026."
    assert of(done, "nitrogen_quick_dose_g_m2").value == pytest.approx(4.6 + 1.5, rel=1e-9)
    assert of(done, "nitrogen_kg_ha").value == pytest.approx(46 + 20, rel=1e-9)


@pytest.mark.parametrize(
    ("given", "most"),
    [
        ([("a", 5, 500), ("a", 5, 500)], 5),  # side by side
        ([("a", 5, 490), ("a", 5, 510)], 5),
        ([("a", 5, None), ("a", 5, None)], 10),  # two passes over all of it lie on each other
        ([("a", 5, None), ("a", 10, 500)], 15),
        ([("a", 5, 500), ("a", 5, 500), ("a", 5, 500), ("a", 5, 500)], 10),  # two passes, each in halves
        ([("a", 5, 500), ("b", 3, 500)], 8),  # one may lie on the other
        ([("a", 20, 400), ("a", 1, 600)], 20),
        ([("a", 5, 1250)], 5),
        ([("a", 5, 600), ("a", 5, 600)], 10),  # 1,200 m² of 1,000: somewhere one lies on the other
        ([("a", 5, None), ("a", 3, 600)], 8),
        ([("a", 5, 500), ("a", 5, 500), ("a", 3, 600)], 8),  # the same, the first in halves: once 6.8
        ([("a", 5, 500), ("a", 5, 500), ("a", 3, 300), ("a", 3, 300)], 8),
    ],
)
def test_how_doses_of_one_day_lie(given: list[tuple[str, float, float | None]], most: float) -> None:
    """Material, dose and treated area of each line of a day on 1,000 m² → the most that fell on any of it, g/m²."""
    rows = pl.DataFrame(given, {"material": pl.String, "dose": pl.Float64, "treated_area_m2": pl.Float64}, orient="row")
    day = with_share(rows, 1000).with_columns(pl.lit(date(2026, 3, 1)).alias("date"))
    assert largest_dose(day.to_dicts(), "dose")[1] == pytest.approx(most, rel=1e-9)


@pytest.mark.parametrize(
    ("area", "treated", "over", "share"),
    [
        (1369.0, None, 1369.0, 1.0), (1369.0, 1369.0, 1369.0, 1.0), (1000.0, 250.0, 250.0, 0.25),
        (1000.0, 1250.0, 1250.0, 1.0), (None, None, None, 1.0), (None, 500.0, 500.0, None),
    ],
)  # fmt: skip
def test_share_of_the_green(area: float | None, treated: float | None, over: float | None, share: float | None) -> None:
    """A job without an area went over all of it; beyond the edge is no more than all; of an unknown green, unknown."""
    jobs = pl.DataFrame({"treated_area_m2": [treated]}, {"treated_area_m2": pl.Float64})
    assert with_share(jobs, area).select("over_m2", "share").row(0) == (over, share)


TINES = "date,green,operation,tine_mm,tine_basis,spacing_along_mm,holes,depth_mm,treated_area_m2\n"


@pytest.mark.parametrize("parts", [[("", 400_000)], [(500, 200_000)] * 2, [(490, 196_000), (510, 204_000)]])
@pytest.mark.parametrize("counted", [False, True])
@beyond(1)
def test_coring_in_parts(figures: Figures, parts: list[tuple[object, int]], *, counted: bool) -> None:
    """12 mm every 50 mm, 70 mm deep: 400 holes/m², 4.524 %, 3.167 l/m², 4.75 t of sand; halves once came to 9.05 %."""
    job = TINES + "".join(
        f"2026-03-10,HAL-1,hollow coring,12,outside,{'' if counted else 50},{holes if counted else ''},70,{area}\n"
        for area, holes in parts
    )
    done = figures("HAL-1", green=GREEN, job=job)
    share = 400 * pi / 4 * 144 / 1e4
    assert of(done, "disturbed_pct").value == pytest.approx(share, rel=1e-9)
    assert of(done, "opened_pct", "Hollow coring").value == pytest.approx(share, rel=1e-9)
    assert of(done, "holes_m2", "Hollow coring").value == pytest.approx(400, rel=1e-9)
    assert of(done, "disturbed_l_m2").value == pytest.approx(share * 0.7, rel=1e-9)
    assert of(done, "refill_sand_kg").value == pytest.approx(share * 0.7 * 1000 * 1.5, rel=1e-9)


@thorough
def test_blades_on_a_part(figures: Figures) -> None:
    """1 mm blades every 25 mm on 600 of 1,000 m²: 4 % there, 2.4 % of the green."""
    head = "date,green,operation,blade_mm,blade_spacing_mm,treated_area_m2\n"
    done = figures("HAL-1", green=GREEN, job=head + "2026-03-10,HAL-1,scarifying,1,25,600\n")
    one = of(done, "bladed_pct")
    assert one.value == pytest.approx(2.4, rel=1e-9)
    assert one.method.endswith("Work on a part of the green is weighted by the share treated.")


@thorough
def test_clippings_and_trays_of_halves(figures: Figures) -> None:
    """40 g/m² dry off each half are 40 of the green, 16 kg N/ha; a tray on each half caught 2 kg/m²: 2 in all.

    Of 2.5 t delivered to the halves 2 kg/m² × 1,000 m² landed: 500 kg did not.
    """
    head = "date,green,operation,material,quantity,clippings_g_m2,tray_g,tray_cm2,treated_area_m2\n"
    job = head + "".join(
        f"2026-06-10,HAL-1,mowing,,,40,,,500\n2026-03-10,HAL-1,top dressing,{MIX},{t},,400,2000,500\n"
        for t in ("1.25 t", "1.25 t")
    )
    done = figures("HAL-1", green=GREEN, job=job)
    assert of(done, "nitrogen_removed_kg_ha").value == pytest.approx(16.0, rel=1e-9)
    assert of(done, "dressing_tray_kg_m2").value == pytest.approx(2.0, rel=1e-9)
    assert of(done, "dressing_tray_mm").value == pytest.approx(2 / 1.5, rel=1e-9)
    assert of(done, "dressing_tray_kg_m2").note.startswith("By delivery note the same dressings are 2.50 kg/m²")
    assert of(done, "dressing_off_green_kg").value == pytest.approx(500, rel=1e-9)


def test_a_part_of_a_green_of_unknown_area_has_no_share(figures: Figures) -> None:
    """2 t on 500 m² of a green nobody measured are 4 kg/m² there, and of the green nobody knows; doses are known."""
    green = "green,club,name\nBRA-1,ALD,Bravery\n"
    job = (
        "date,green,operation,material,quantity,treated_area_m2,tine_mm,tine_basis,spacing_along_mm,depth_mm\n"
        f"2026-03-10,BRA-1,top dressing,{MIX},2 t,500,,,,\n2026-03-16,BRA-1,fed,{FEED},25 kg,500,,,,\n"
        "2026-03-17,BRA-1,hollow coring,,,500,12,outside,50,70\n2026-03-18,BRA-1,hollow coring,,,,12,outside,50,70\n"
    )
    done = figures("BRA-1", green=green, job=job)
    assert of(done, "dressing_kg_m2").value is None
    assert of(done, "nitrogen_kg_ha").value is None
    assert of(done, "nitrogen_12m_kg_ha").value is None
    assert of(done, "nitrogen_kg_ha").note == "1 of 1 applications could not be counted: no area of the green."
    assert of(done, "nitrogen_dose_g_m2").value == pytest.approx(5.5, rel=1e-9)
    assert of(done, "dressing_t").value == 2.0
    assert of(done, "disturbed_pct").n == 1
    assert of(done, "refill_sand_kg").value == pytest.approx(4.5239 * 0.7 * 500 * 1.5, rel=1e-4)
    assert any("area is not recorded" in note.text for note in done.data_notes)
    assert "dressing_off_green_kg" not in names(done)
