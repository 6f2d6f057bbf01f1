"""What was done: sums that say what they lack, surface opened worked by hand, standing, notes and the bundle."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from pipeline.indicators.base.judgement import judgement, stand
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.base.records import latest_season
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.workspace.settings import Settings, Workspace
from reports.page.figures import target_text
from tests.conftest import Load
from tests.indicators.conftest import NOT_KEPT
from tests.indicators.figures import HOUSE, Figures, lines, names, of
from tests.outside_checks import outside
from tests.thorough import beyond, thorough

TINES = "date,green,operation,tine_mm,tine_basis,spacing_along_mm,holes,depth_mm,passes,treated_area_m2\n"


def test_solid_tining_by_spacing(figures: Figures) -> None:
    """12 mm tines every 50 mm: 400 holes/m² × π/4 × 144 mm² = 4.524 %; 75 mm deep 3.393 l/m²; twice over, double."""
    done = figures(target=HOUSE, job=TINES + "2026-03-10,ALD-1,solid tining,12,outside,50,,75,,\n")
    assert of(done, "holes_m2", "Solid tining").value == pytest.approx(400)
    assert of(done, "disturbed_pct").value == pytest.approx(400 * math.pi / 4 * 144 / 1e4)
    assert of(done, "opened_pct", "Solid tining").value == pytest.approx(4.5239, abs=1e-4)
    assert of(done, "disturbed_l_m2").value == pytest.approx(3.3929, abs=1e-4)
    assert of(done, "disturbed_pct").standing == "within"
    twice = figures(job=TINES + "2026-03-10,ALD-1,solid tining,12,outside,50,,75,2,\n")
    assert of(twice, "disturbed_pct").value == pytest.approx(9.0478, abs=1e-4)


def test_a_claimed_count_shows_the_spacing_it_would_need(figures: Figures) -> None:
    """A million holes on 1,600 m² are 625/m², one every 1000/√625 = 40 mm; the count beats spacing and passes."""
    done = figures(job=TINES + '2026-03-10,ALD-1,solid tining,19,,50,"1000000",90,2,\n')
    one = of(done, "holes_m2", "Solid tining")
    assert one.value == pytest.approx(625)
    # the job says 50 × 50 mm in two passes: 800/m², 22 % more than the 625 claimed
    said = "It is -22 % off what the spacing stated gives."
    assert one.note == f"A count of 1,000,000 holes is one every 40 mm both ways. {said}"


def test_hollow_tines_without_basis_carry_a_warning(figures: Figures) -> None:
    """Inside or outside diameter changes the share by nearly half; who does not say it is told."""
    done = figures(job=TINES + "2026-03-10,ALD-1,hollow coring,12,,50,,75,,\n")
    assert of(done, "disturbed_pct").note.startswith("Hollow tines without a word on inside or outside diameter")


def test_what_does_not_say_enough_is_counted_as_unknown(figures: Figures) -> None:
    """A tining without tine or spacing opened the surface by an unknown share, not by none."""
    done = figures(
        target=HOUSE,
        job=TINES + "2026-03-10,ALD-1,solid tining,12,outside,50,,75,,\n2026-09-10,ALD-1,solid tining,,,,,,,\n",
    )
    one = of(done, "disturbed_pct")
    assert (one.n, lines(one)) == (1, [2])
    assert one.note.startswith("1 of 2 jobs do not say enough to be counted; the true figure is larger. So far:")
    only = figures(job=TINES + "2025-09-10,ALD-1,solid tining,,,,,,,\n", season="2025")
    assert (of(only, "disturbed_pct").value, of(only, "disturbed_pct").n) == (None, 0)
    assert "holes_m2" not in names(only)
    assert "disturbed_l_m2" not in names(only)


def test_blades_are_kept_apart_from_tines(figures: Figures) -> None:
    """1 mm blades every 25 mm, twice over: 8 % of the sward grazed, none of it in the yearly figure for tines."""
    job = "date,green,operation,blade_mm,blade_spacing_mm,passes,depth_mm\n2026-03-10,ALD-1,scarifying,1,25,2,3\n"
    done = figures(job=job)
    assert of(done, "bladed_pct").value == pytest.approx(8.0)
    assert "disturbed_pct" not in names(done)
    assert of(done, "disturbed_l_m2").value == pytest.approx(0.24)


def test_a_patch_opened_is_a_share_of_the_whole_green(figures: Figures) -> None:
    """4.524 % of a 160 m² patch is 0.452 % of 1,600 m²; the count shows the patch's own spacing all the same."""
    done = figures(job=TINES + "2026-03-10,ALD-1,solid tining,12,outside,50,,75,,160\n")
    assert of(done, "disturbed_pct").value == pytest.approx(0.45239, abs=1e-4)
    assert of(done, "holes_m2", "Solid tining").value == pytest.approx(40)
    assert of(done, "disturbed_l_m2").value == pytest.approx(0.33929, abs=1e-4)
    counted = figures(
        job=TINES.replace("\n", ",reference\n") + "2025-03-10,ALD-1,solid tining,12,,,64000,75,,160,r\n", season="2025"
    )
    assert of(counted, "holes_m2", "Solid tining").value == pytest.approx(40)
    assert of(counted, "holes_m2", "Solid tining").note == "A count of 64,000 holes is one every 50 mm both ways."


def test_hours_and_cost_say_what_they_lack(figures: Figures) -> None:
    """Three jobs, two with hours, one with cost: 3.5 h, 240 in all, 0.15 a square metre."""
    job = (
        "date,green,operation,hours,cost\n2026-03-10,ALD-1,mowing,1.5,\n2026-03-10,ALD-1,edging,2,\n"
        "2026-03-17,ALD-1,scarifying,,240\n"
    )
    done = figures(job=job)
    assert (of(done, "operations").value, of(done, "days_worked").value) == (3.0, 2.0)
    hours = of(done, "hours_h")
    assert (hours.value, hours.n, lines(hours)) == (3.5, 2, [2, 3])
    assert hours.note == "Logged for 2 of 3 jobs; the true sum is larger."
    assert (of(done, "cost").value, of(done, "cost").unit) == (240.0, "GBP")
    assert of(done, "cost_m2").value == pytest.approx(0.15)
    assert [work.operation for work in done.works] == ["Edging", "Mowing", "Scarifying"], "a visit's own order"


def test_no_hours_at_all_is_no_figure(figures: Figures) -> None:
    """Nobody wrote hours; zero hours of work would be a lie."""
    done = figures(job="date,green,operation\n2026-03-10,ALD-1,mowing\n")
    assert not {"hours_h", "cost", "cost_m2"} & names(done)


@pytest.mark.parametrize(
    ("value", "low", "high", "word"),
    [
        (1.9, 2, 6, "below"), (2, 2, 6, "within"), (6, 2, 6, "within"), (6.1, 2, 6, "above"),
        (0.0, 2, None, "below"), (0.0, None, 5, "within"), (9.0, None, None, "no target"),
    ],
)  # fmt: skip
def test_standing_in_words(value: float, low: float | None, high: float | None, word: str) -> None:
    """The ends of a band belong to it."""
    assert stand(value, low, high) == word


TARGETS = "indicator,scope,scope_name,season,low,high,unit,source\n"
SCOPES = {
    "standard": "dressing_kg_m2,standard,,,1,1.1,kg/m²,standard own",
    "region": "dressing_kg_m2,region,Ostershire,,2,2.1,kg/m²,region",
    "club": "dressing_kg_m2,club,ALD,,3,3.1,kg/m²,club",
    "green": "dressing_kg_m2,green,ALD-1,,4,4.1,kg/m²,green",
}
DRESSED = "date,green,operation,quantity\n2026-03-10,ALD-1,top dressing,2 t\n"


@pytest.mark.parametrize("narrowest", range(1, 5))
@beyond(1)
def test_the_narrowest_target_wins(figures: Figures, narrowest: int) -> None:
    """Green beats club beats region beats standard; a target of another green or club is none of this one's."""
    others = "dressing_kg_m2,green,BRA-1,,9,9.1,kg/m²,other\ndressing_kg_m2,club,BRA,,9,9.1,kg/m²,other\n"
    chosen = list(SCOPES.values())[:narrowest]
    done = figures(target=TARGETS + others + "\n".join(chosen) + "\n", job=DRESSED)
    one = of(done, "dressing_kg_m2")
    assert one.target_low == narrowest
    assert one.target_source == ["standard own", "region", "club", "green"][narrowest - 1]


def test_a_seasons_own_target_beats_the_standing_one(figures: Figures) -> None:
    """What was agreed for 2026 holds in 2026; in 2025 the standing one does."""
    text = TARGETS + "dressing_kg_m2,club,ALD,,3,,kg/m²,always\ndressing_kg_m2,club,ALD,2026,1,,kg/m²,for 2026\n"
    job = DRESSED + "2025-03-10,ALD-1,top dressing,2 t\n"
    assert of(figures(target=text, job=job), "dressing_kg_m2").standing == "within"
    assert of(figures(season="2025"), "dressing_kg_m2").target_source == "always"


def test_a_target_in_another_unit_is_not_compared(figures: Figures) -> None:
    """3 t of a target against 1.25 kg/m² would be "below" by accident."""
    done = figures(target=TARGETS + "dressing_kg_m2,green,ALD-1,,3,,t,agreed\n", job=DRESSED)
    one = of(done, "dressing_kg_m2")
    assert (one.standing, one.target_low) == ("no target", None)
    assert one.note.endswith("The target is in t, the figure in kg/m²: not compared.")


@pytest.mark.parametrize("unit", ["meq/100g", "meq/100 g", "cmolc/kg"])
@beyond(1)
def test_a_target_holds_however_its_unit_is_spelled(figures: Figures, unit: str) -> None:
    """The unit is printed with a space now; targets written without one went on to hold."""
    soil = (
        "date,green,analyte,depth_from_mm,depth_to_mm,lab,value,unit\n2026-02-10,ALD-1,cec,0,100,Lab A,6.1,meq/100g\n"
    )
    done = figures(target=TARGETS + f"exchange_capacity_meq_100g,green,ALD-1,,5,,{unit},agreed\n", soil_test=soil)
    one = of(done, "exchange_capacity_meq_100g")
    assert (one.unit, one.standing, one.target_low) == ("meq/100 g", "within", 5)


def test_a_target_for_one_band_leaves_the_others(figures: Figures) -> None:
    """A target for 0–20 mm says nothing on 20–40 mm."""
    soil = "date,green,analyte,depth_from_mm,depth_to_mm,value,unit\n"
    rows = "2026-02-10,ALD-1,om,0,20,5,%\n2026-02-10,ALD-1,om,40,60,2,%\n"
    target = TARGETS.replace("season", "season,band") + "organic_matter_pct,club,ALD,,0–20 mm,,4.5,%,agreed\n"
    done = figures(target=target, soil_test=soil + rows)
    assert of(done, "organic_matter_pct", "0–20 mm").target_source == "agreed"
    assert of(done, "organic_matter_pct", "40–60 mm").standing == "no target"


def test_cautions_stand_where_their_trigger_does(figures: Figures) -> None:
    """Every caution's trigger in one season; vibration by 2 a² t = 2 × 25 × 2 = 100 points."""
    job = (
        "date,green,operation,material,depth_mm,vibration_m_s2,trigger_hours\n"
        "2026-03-10,ALD-1,fertilising,spring granular 11-5-5 + 8 Fe,,,\n2026-03-11,ALD-1,top dressing,,,,\n"
        "2026-03-12,ALD-1,deep aeration,,200,5,2\n2026-03-13,ALD-1,plant protection,,,,\n"
    )
    done = figures(job=job)
    starts = [one.text.split()[0] for one in done.cautions]
    assert starts == ["Plant", "Hand-arm", "Before", "Dry", "Keep", "Bags", "Keep", "Iron"]
    vibration = done.cautions[1]
    assert "came to 100 points on 12 March 2026 if one person did all of it" in vibration.text  # 2 · 5² · 2 h
    assert all(one.source and one.trigger for one in done.cautions)
    quiet = figures(season="2025")
    assert quiet.cautions == ()


def test_data_notes_name_rejected_rows_and_gaps(figures: Figures, county: Load) -> None:
    """What is missing from the figures is said beside them, with its lines."""
    head = "date,green,operation,material,hours\n"
    bad = head + "2026-04-02,ALD-1,moing,,\n2026-04-09,ALD-1,mowing,,lots\n2026-04-16,ALD-1,mowing,,1\n"
    rejected = county("log.csv", bad + "2026-06-30,ALD-1,mowing,,1\n2026-07-01,ALD-1,feeding,mystery,1\n")
    assert rejected.rejects_file is not None
    done = figures()
    texts = [note.text for note in done.data_notes]
    assert texts[0].startswith("Line 2 of log.csv: the row is not in these figures. operation: “moing” is not a known")
    assert texts[1].startswith("Line 3 of log.csv: the row is not in these figures.")
    assert "Nothing is logged between 16 April 2026 and 30 June 2026." in texts
    assert any("“mystery”" in text for text in texts)
    source = done.sources[0]
    assert (source.file, source.rows, source.lines, source.kind) == ("log.csv", 3, "4–6", "job")


def test_rows_mended_in_the_rejects_file_are_no_longer_missing(figures: Figures, county: Load) -> None:
    """Once the mended rows are in, the report may not go on saying that they are not."""
    head = "date,green,operation,hours\n"
    rejected = county("log.csv", head + "2026-04-02,ALD-1,moing,1\n2026-04-16,ALD-1,mowing,1\n")
    assert rejected.rejects_file is not None
    text = rejected.rejects_file.read_text("utf-8-sig").replace("ALD-1,moing", "ALD-1,mowing")
    mended = county(rejected.rejects_file.name, text)
    assert (mended.counts.loaded, mended.counts.rejected) == (1, 0)
    done = figures()
    assert of(done, "operations").value == 2.0
    assert not [note.text for note in done.data_notes if "not in these figures" in note.text]


def test_no_job_is_a_warning_and_a_season_without_records_is_empty(figures: Figures) -> None:
    """An empty report says so, rather than looking like a season in which nothing was needed."""
    done = figures(job="date,green,operation\n2024-03-10,ALD-1,mowing\n")
    assert "No job is logged for this season." in [note.text for note in done.data_notes]
    assert (done.indicators, done.works, done.sources) == ((), (), ())


def test_facts_of_a_green(figures: Figures) -> None:
    """What the register says is what the report prints."""
    text = (
        "green,club,name,area_m2,length_m,width_m,shape,construction,grasses,laid_on\n"
        "BRA-1,ALD,,1444,38,38,crown,soil push-up,fescue and bent,1926-05-01\n"
    )
    done = figures("BRA-1", green=text)
    assert (done.green_name, done.club_name, done.region) == ("BRA-1", "Alder Brook Bowls Club", "Ostershire")
    assert done.facts == (
        ("Playing area", "1,444 m²"), ("Size", "38 × 38 m"), ("Shape", "Crown green"),
        ("Construction", "soil push-up"), ("Grasses", "fescue and bent"), ("Laid", "1926"),
    )  # fmt: skip


def test_works_are_told_in_the_words_of_the_trade(figures: Figures) -> None:
    """Detail and amount of a line, as printed in "what was done and when"."""
    job = (
        "date,green,operation,material,passes,depth_mm,blade_mm,cut_height_mm,debris_l,rate_ml_m2,volume_l\n"
        "2026-03-10,ALD-1,scarifying,,2,3,1,,765,,\n2026-03-11,ALD-1,mowing,,1,,,6,,,\n"
        "2026-03-12,ALD-1,wetting agent,wetter,,,,,,2.5,\n2026-03-13,ALD-1,wetting agent,wetter,,,,,,,20\n"
        "2026-03-14,ALD-1,top dressing,,,,,,,,\n"
    )
    found = [(work.detail, work.amount) for work in figures(job=job).works]
    assert found == [
        ("2 passes, 3 mm deep, 1 mm blades, 765 l off", ""), ("1 pass, cut at 6 mm", ""),
        ("wetter", "2.5 ml/m²"), ("wetter", "20 l"), ("", ""),
    ]  # fmt: skip


def test_latest_season_is_the_one_just_ended_in_its_first_weeks(
    county: Load, county_store: Store, workspace: Workspace
) -> None:
    """A log that runs three weeks into October is looked at for the season it closes."""

    county_store.con.execute(NOT_KEPT)

    def latest() -> str | None:
        season = latest_season(read_records(county_store), workspace)
        return season.name if season else None

    assert latest() is None
    county("a.csv", "date,green,operation\n2025-10-21,ALD-1,mowing\n")
    assert latest() == "2025"
    county("b.csv", "date,green,operation\n2025-11-30,ALD-1,mowing\n")
    assert latest() == "2026"


def test_sand_to_refill_the_core_holes(figures: Figures) -> None:
    """12 mm cores every 50 mm, 70 mm deep on 37 × 37 m: 4.335 m³ of holes, 6.50 t of sand at 1.5 t/m³ (geometry)."""
    green = "green,club,name,area_m2\nCED-1,ALD,Cedars,1369\n"
    done = figures("CED-1", green=green, job=TINES + "2026-03-10,CED-1,hollow coring,12,outside,50,,70,,\n")
    assert of(done, "refill_sand_kg").value == pytest.approx(6502, abs=1)
    blades = "date,green,operation,blade_mm,blade_spacing_mm,depth_mm\n2026-04-10,CED-1,scarifying,2,25,5\n"
    assert of(figures("CED-1", job=blades), "refill_sand_kg").value == pytest.approx(6502, abs=1)
    patch = figures("CED-1", job=TINES + "2025-03-10,CED-1,hollow coring,12,outside,50,,70,,136.9\n", season="2025")
    assert of(patch, "refill_sand_kg").value == pytest.approx(650.2, abs=0.1)


def test_solid_tines_take_nothing_out(figures: Figures) -> None:
    """Cored and tined alike on 1,612 m²: 15,313 kg were asked for, half of them for holes that close by themselves."""
    green = "green,club,name,area_m2\nCED-1,ALD,Cedars,1612\n"
    tine = "2026-03-{},CED-1,{},12,outside,50,,70,{},\n"
    job = TINES + tine.format(10, "hollow coring", "") + tine.format(11, "solid tining", "")
    done = figures("CED-1", green=green, job=job)
    one = of(done, "refill_sand_kg")
    assert (one.value, lines(one)) == (pytest.approx(15_313 / 2, abs=1), [2])
    assert one.label == "Dry sand to fill the core holes"
    assert one.note.startswith("Without the holes of 1 job with solid tines or spikes.")
    assert of(done, "disturbed_l_m2").value == pytest.approx(2 * 3.1667, abs=1e-3)
    solid = figures("CED-1", job=TINES + tine.format(10, "spiking", "").replace("2026", "2025"), season="2025")
    assert "refill_sand_kg" not in names(solid)


@thorough
def test_passes_of_blades_and_slits_are_called_added_up(figures: Figures) -> None:
    """2 mm every 25 mm, seven passes, are 56 %; slits of 2.85 mm every 50 mm 5.7 %: 61.7 % is no share touched."""
    head = "date,green,operation,blade_mm,blade_spacing_mm,passes\n"
    job = head + "2026-03-10,ALD-1,scarifying,2,25,7\n2026-03-11,ALD-1,slitting,2.85,50,1\n"
    one = of(figures(job=job), "bladed_pct")
    assert (one.value, one.n) == (pytest.approx(61.7), 2)
    assert one.label == "Blade and slit passes added up"
    more = of(figures(job=job.replace("25,7", "25,14").replace("2026-03", "2025-03"), season="2025"), "bladed_pct")
    assert more.value == pytest.approx(117.7)


@pytest.mark.parametrize(("chosen", "share"), [("as_logged", 7.71), ("inside", 7.71), ("outside", 13.635)])
@beyond(2)
def test_hollow_tines_by_the_diameter_chosen(county: Load, county_store: Store, tmp_path: Path, chosen: str,
                                             share: float) -> None:  # fmt: skip
    """A tine of 5/8 inch outside and 0.470 inside, every 1.5 inch: 13.63 % against 7.71 % (GCSAA forum 2013)."""
    head = "date,green,operation,tine_mm,tine_basis,tine_wall_mm,spacing_along_mm,depth_mm\n"
    inside, wall = 0.470 * 25.4, (0.625 - 0.470) / 2 * 25.4
    job = f"2026-03-10,ALD-1,hollow coring,{inside},inside,{wall},38.1,70\n"
    assert not county("jobs.csv", head + job).failed
    workspace = Workspace(tmp_path, Settings.model_validate({"method_options": {"hollow_tine": chosen}}))
    one = of(green_season(read_records(county_store), "ALD-1", workspace.season("2026"), workspace), "disturbed_pct")
    assert one.value == pytest.approx(share, abs=0.01)
    assert ("made from the other one and the wall" in one.method) == (chosen == "outside")


@outside("figure", "Vibration Regulations 2005, a UK consultancy's worked example: 4.29 m/s²")
def test_daily_exposure_of_the_worst_day(figures: Figures) -> None:
    """7 m/s² for 3 h is 4.29 m/s² A(8) (a worked example): under the limit value of 5, which stood as "within", but
    above the action value of 2.5, from which on an employer has to act (Directive 2002/44/EC; Regulations 2005)."""
    head = "date,green,operation,logged_by,vibration_m_s2,trigger_hours\n"
    rows = "2026-03-10,ALD-1,scarifying,crew A,7,3\n2026-03-11,ALD-1,scarifying,crew A,4,2\n"
    one = of(figures(job=head + rows), "vibration_a8_m_s2")
    assert (one.value, one.standing, lines(one)) == (pytest.approx(4.29, abs=0.005), "above", [2])
    assert one.n == 2
    assert one.target_high == 2.5
    assert one.note == (
        "At or above the action value, below the limit value (5 m/s²) if one person did all of it, 10 March 2026; "
        "other greens of that day come on top."
    )
    assert one.method.endswith(" The log does not say that one person held all of them: of several, each had less.")


def test_exposure_above_the_limit_value(figures: Figures) -> None:
    """8 m/s² for 4 h is 8 × √½ = 5.66 m/s²: above 5."""
    head = "date,green,operation,vibration_m_s2,trigger_hours\n"
    one = of(figures(job=head + "2026-03-10,ALD-1,scarifying,8,4\n"), "vibration_a8_m_s2")
    assert (one.value, one.standing) == (pytest.approx(5.657, abs=5e-4), "above")
    assert one.note.startswith("Above the exposure limit value (5 m/s²) if one person did all of it, 10 March 2026")
    low = of(figures(job=head + "2025-03-10,ALD-1,scarifying,2,4\n", season="2025"), "vibration_a8_m_s2")
    assert (low.value, low.standing) == (pytest.approx(2 * 0.5**0.5), "within")
    assert low.note.startswith("Below the action value (2.5 m/s²) if one person did all of it")


def test_the_action_value_counts_as_reached_at_the_value_itself(figures: Figures) -> None:
    """5 m/s² for 2 h is 5 × √¼ = 2.5: it stood "within", beside a note that said at or above the action value.

    From the value on an employer has to act (Control of Vibration at Work Regulations 2005).
    """
    head = "date,green,operation,vibration_m_s2,trigger_hours\n"
    one = of(figures(job=head + "2026-03-10,ALD-1,scarifying,5,2\n"), "vibration_a8_m_s2")
    assert (one.value, one.standing, judgement(one)) == (2.5, "above", "off")
    assert one.note.startswith("At or above the action value, below the limit value (5 m/s²)")
    assert target_text(one).replace("\u202f", " ") == "under 2.5 m/s²"
    under = of(figures(job=head + "2026-03-10,ALD-1,scarifying,4.99,2\n"), "vibration_a8_m_s2")
    assert under.standing == "within"


def test_the_action_value_is_reached_whatever_rounding_leaves_of_it(figures: Figures) -> None:
    """Three machines of 2.5 m/s² for 8/3 h each are 2.5 together, less the last bit of a computer's sum."""
    head = "date,green,operation,logged_by,vibration_m_s2,trigger_hours\n"
    rows = "".join(f"2026-03-10,ALD-1,{name},A,2.5,{8 / 3}\n" for name in ("scarifying", "verticutting", "mowing"))
    one = of(figures(job=head + rows), "vibration_a8_m_s2")
    assert one.value == pytest.approx(2.5, abs=1e-12)
    assert one.standing == "above"
    assert one.note.startswith("At or above the action value")


@pytest.mark.parametrize(("writer", "people"), [("", 1), ("A", ""), ("A", 2), ("A", 1)])
@beyond(2)
def test_an_exposure_is_one_persons_only_where_the_log_says_so(figures: Figures, writer: str, people: object) -> None:
    """A file without the column of writers, or a line of two people, was one person's A(8)."""
    head = "date,green,operation,logged_by,people,vibration_m_s2,trigger_hours\n"
    job = head + f"2026-03-10,ALD-1,scarifying,{writer},{people},8,4\n"
    one = of(figures(job=job), "vibration_a8_m_s2")
    assert ("if one person did all of it" not in one.note) == (writer == "A" and people == 1)
    assert ("each had less" not in one.method) == (writer == "A" and people == 1)


def test_machines_of_one_day_add_up_by_their_squares(figures: Figures) -> None:
    """4 m/s² for 2 h is 64 points, twice is 128: 2.5 × √1.28 = 2.828; another writer's work is another person's."""
    head = "date,green,operation,logged_by,vibration_m_s2,trigger_hours\n"
    rows = "2026-03-10,ALD-1,scarifying,A,4,2\n2026-03-10,ALD-1,hollow coring,A,4,2\n"
    one = of(figures(job=head + rows + "2026-03-10,ALD-1,verticutting,B,5,2\n"), "vibration_a8_m_s2")
    assert (one.value, lines(one)) == (pytest.approx(2.8284, abs=1e-4), [2, 3])
    half = of(figures(job=head + rows + "2026-03-12,ALD-1,scarifying,A,4,\n"), "vibration_a8_m_s2")
    assert half.note.endswith("1 job with a figure or hours, not both, not counted.")
    assert "vibration_a8_m_s2" not in names(figures(job=head + "2025-03-12,ALD-1,scarifying,A,4,\n", season="2025"))


def test_a_question_about_hours_marks_the_hours_and_no_amount(figures: Figures) -> None:
    """Thirty hours of one person in a day: the amount spread that day once carried the mark, the hours none."""
    done = figures(
        material="material,sort,bulk_density_t_m3\n80/20,top_dressing,1.5\n",
        job="date,green,operation,material,quantity,hours,people,cost\n"
        "2026-03-02,ALD-1,top dressing,80/20,2 t,30,1,90\n",
    )
    asked = {one.name for one in done.indicators if one.questioned}
    assert asked == {"hours_h", "hours_of_h"}


def test_cost_a_square_metre_is_the_same_to_the_last_digit_alone(figures: Figures) -> None:
    """By a column that holds one value polars divides by its reciprocal: 3 ÷ 1173 is not 3 × (1 ÷ 1173).

    The figure of a green asked for alone would not be the one that stands in the store, made among other greens'.
    """
    green = "green,club,name,area_m2\nALD-1,ALD,Main,1173\n"
    job = "date,green,operation,cost\n2026-03-01,ALD-1,mowing,3\n2026-03-02,ALD-1,mowing,12\n"
    assert of(figures(green=green, job=job), "cost_m2").value == math.fsum([3 / 1173, 12 / 1173])
