"""Nutrients applied: labels turned into elements by hand; what a label or a job does not say is not counted."""

from __future__ import annotations

from datetime import date

import pytest

from pipeline.indicators.feeding.nutrients import merge_spans
from tests.indicators.figures import HOUSE, Figures, lines, names, of
from tests.thorough import beyond

JOB = "date,green,operation,material,quantity,treated_area_m2\n"
FEED = "spring granular 11-5-5 + 8 Fe"  # oxide basis, 25 kg packs, 6 weeks; green 1,600 m²
P_OF_P2O5, K_OF_K2O = 0.4364, 0.8301  # standard oxide factors (2 × 30.974/141.943 and 2 × 39.098/94.196)


def test_two_bags_of_spring_feed(figures: Figures) -> None:
    """50 kg of 11-5-5 + 8 Fe on 1,600 m²: N 5.5 kg = 34.4 kg/ha; P 1.09 kg = 6.8; K 2.08 kg = 13.0; Fe 4 kg = 25."""
    done = figures(target=HOUSE, job=JOB + f"2026-03-16,ALD-1,fertilising,{FEED},2 x 25 kg,\n")
    nitrogen = of(done, "nitrogen_kg_ha")
    assert nitrogen.value == pytest.approx(34.375)
    assert of(done, "phosphorus_kg_ha").value == pytest.approx(2.5 * P_OF_P2O5 / 0.16, rel=1e-3)
    assert of(done, "potassium_kg_ha").value == pytest.approx(2.5 * K_OF_K2O / 0.16, rel=1e-3)
    assert of(done, "iron_kg_ha").value == pytest.approx(25.0)
    assert "magnesium_kg_ha" not in names(done), "a label that does not name it applies none that is known of"
    assert (nitrogen.n, lines(nitrogen)) == (1, [2])
    assert nitrogen.note == (
        "Open: 46 kg/ha until 30 September 2026; an even spread would be at 36 kg/ha by now. 3.44 g/m²."
    )
    assert (nitrogen.standing, nitrogen.target_low) == ("too early", 80)
    assert "P2O5 turned into the element" in of(done, "phosphorus_kg_ha").method
    dose = of(done, "nitrogen_dose_g_m2")
    assert dose.value == pytest.approx(3.4375)
    assert (dose.note, dose.standing) == ("On 16 March 2026.", "within")  # a largest dose is whole at any time
    assert of(done, "nitrogen_cover_weeks").value == pytest.approx(6.0)
    assert "nitrogen_gap_weeks" not in names(done)
    assert [point.total for point in done.running[1].points] == [pytest.approx(34.375)]


def test_cover_counts_overlap_once_and_names_the_longest_gap(figures: Figures) -> None:
    """Six weeks from 1 March end 12 April; a feed on 29 March runs to 10 May: ten weeks; then 7 June, four weeks on."""
    days = ("2026-03-01", "2026-03-29", "2026-06-07")
    material = "material,sort,n_pct\nplain,fertiliser,10\n"
    job = JOB + "".join(f"{day},ALD-1,fertilising,{FEED},25 kg,\n" for day in days)
    done = figures(material=material, job=job + "2026-08-01,ALD-1,fertilising,plain,25 kg,\n")
    assert of(done, "nitrogen_cover_weeks").value == pytest.approx(16.0)
    gap = of(done, "nitrogen_gap_weeks")
    assert gap.value == pytest.approx(4.0)
    assert (gap.note, gap.n) == ("1 of 4 feeds give no release time.", 3)


def test_cover_ends_with_the_season(figures: Figures) -> None:
    """A feed on 16 September covers the fifteen days that are left of the season, its own among them, not six weeks."""
    done = figures(job=JOB + f"2026-09-16,ALD-1,fertilising,{FEED},25 kg,\n")
    assert of(done, "nitrogen_cover_weeks").value == pytest.approx(15 / 7)


def test_spans_that_touch_become_one() -> None:
    from datetime import date

    day = [date(2026, 3, d) for d in range(1, 11)]
    assert merge_spans([(day[0], day[2]), (day[2], day[4]), (day[1], day[3]), (day[6], day[7])]) == [
        (day[0], day[4]),
        (day[6], day[7]),
    ]
    assert merge_spans([]) == []


def test_two_feeds_of_one_day_are_one_dose(figures: Figures) -> None:
    """25 kg and 50 kg of 11 % on one day: 8.25 kg N / 1600 m² = 5.16 g/m² at once, above the 4.9 of the source."""
    job = JOB + f"2026-03-16,ALD-1,fertilising,{FEED},25 kg,\n2026-03-16,ALD-1,fertilising,{FEED},50 kg,\n"
    dose = of(figures(job=job + f"2026-05-16,ALD-1,fertilising,{FEED},25 kg,\n"), "nitrogen_dose_g_m2")
    assert dose.value == pytest.approx(5.15625)
    assert (dose.standing, lines(dose)) == ("above", [2, 3])


def test_rolling_twelve_months_reach_into_the_season_before(figures: Figures) -> None:
    """As of 10 July 2026: the feeds of 11 July 2025 and this March count, that of 10 July 2025 does not."""
    days = ("2025-07-10", "2025-07-11", "2026-03-16")
    job = JOB + "".join(f"{day},ALD-1,fertilising,{FEED},2 x 25 kg,\n" for day in days)
    done = figures(job=job + "2026-07-10,ALD-1,mowing,,,\n")
    rolling = of(done, "nitrogen_12m_kg_ha")
    assert rolling.value == pytest.approx(2 * 34.375)
    assert lines(rolling) == [3, 4]
    assert of(done, "nitrogen_kg_ha").value == pytest.approx(34.375)


def test_rolling_twelve_months_stand_before_the_first_feed_of_a_season(figures: Figures) -> None:
    """Nothing is fed in spring yet: the year to the day still holds last summer's 34.4 kg/ha."""
    job = JOB + f"2025-07-11,ALD-1,fertilising,{FEED},2 x 25 kg,\n2026-03-10,ALD-1,mowing,,,\n"
    done = figures(job=job)
    rolling = of(done, "nitrogen_12m_kg_ha")
    assert (rolling.value, lines(rolling)) == (pytest.approx(34.375), [2])
    assert rolling.method == "As above, over the 365 days to 10 March 2026."
    assert not {"nitrogen_kg_ha", "nitrogen_dose_g_m2"} & names(done)


def test_twelve_months_without_a_feed_are_no_figure(figures: Figures) -> None:
    """Nothing logged is not nothing fed."""
    job = JOB + f"2024-07-11,ALD-1,fertilising,{FEED},2 x 25 kg,\n2026-03-10,ALD-1,mowing,,,\n"
    assert "nitrogen_12m_kg_ha" not in names(figures(job=job))


MATERIALS = (
    "material,sort,form,analysis,analysis_basis,analysis_by,density_kg_l\n"
    "iron by volume,fertiliser,liquid,10-0-0 + 6 Fe,,w/v,\n"
    "feed by weight,fertiliser,liquid,10-0-0,,w/w,1.25\n"
    "no density,fertiliser,liquid,10-0-0,,w/w,\n"
    "no oxide word,fertiliser,solid,10-5-5,,,\n"
    "elements,fertiliser,solid,10-5-5,element,,\n"
    "urea,fertiliser,solid,46-0-0,oxide,,\n"
)


@pytest.mark.parametrize(
    ("material", "quantity", "nitrogen", "why"),
    [
        ("iron by volume", "8 l", 5.0, ""),  # 10 kg in 100 l: 0.8 kg N / 1600 m² = 0.5 g/m² = 5 kg/ha
        ("iron by volume", "8 kg", None, "a liquid without density"),
        ("feed by weight", "8 l", 6.25, ""),  # 8 l × 1.25 = 10 kg, 1 kg N = 6.25 kg/ha
        ("feed by weight", "10 kg", 6.25, ""),
        ("no density", "8 l", None, "a liquid without density"),
        ("no density", "8 kg", 5.0, ""),
        ("urea", "8 l", None, "mass and volume do not fit the label"),
        ("urea", "", None, "no amount"),
    ],
)
@beyond(2)
def test_what_a_label_or_job_does_not_say_is_not_counted(
    figures: Figures, material: str, quantity: str, nitrogen: float | None, why: str
) -> None:
    """A liquid needs to say "by weight" or "by volume" and its density; without, no figure, and the note says why."""
    done = figures(material=MATERIALS, job=JOB + f"2026-03-16,ALD-1,fertilising,{material},{quantity},\n")
    one = of(done, "nitrogen_kg_ha")
    if nitrogen is None:
        assert (one.value, one.n, one.standing) == (None, 0, "no target")
        assert one.note == f"1 of 1 applications could not be counted: {why}."
        assert "nitrogen_dose_g_m2" not in names(done)
    else:
        assert one.value == pytest.approx(nitrogen)
        assert one.n == 1


def test_oxide_or_element_must_be_said(figures: Figures) -> None:
    """P and K of a label that does not say which are not counted, its nitrogen is; elements count as they stand."""
    job = JOB + "2026-03-16,ALD-1,fertilising,no oxide word,16 kg,\n2026-04-16,ALD-1,fertilising,elements,16 kg,\n"
    done = figures(material=MATERIALS, job=job)
    assert of(done, "nitrogen_kg_ha").value == pytest.approx(20.0)
    phosphorus = of(done, "phosphorus_kg_ha")
    assert phosphorus.value == pytest.approx(5.0)
    assert phosphorus.note == (
        "0.50 g/m². 1 of 2 applications could not be counted: a label that does not say oxide or element."
    )


def test_a_gap_in_the_sum_is_told_with_every_sum(figures: Figures) -> None:
    """The rolling sum misses what the season's sum misses; a reader of the one must know it too."""
    job = JOB + f"2026-03-16,ALD-1,fertilising,{FEED},25 kg,\n2026-04-16,ALD-1,fertilising,{FEED},,\n"
    rolling = of(figures(job=job), "nitrogen_12m_kg_ha")
    assert rolling.value == pytest.approx(17.1875)
    assert rolling.note == "1 of 2 applications could not be counted; the true sum is larger."


def test_a_green_without_area_has_no_rate_of_nutrients(figures: Figures) -> None:
    """Kilograms without square metres are no kg/ha."""
    done = figures(
        "BRA-1",
        green="green,club\nBRA-1,ALD\n",
        job=JOB + f"2026-03-16,BRA-1,fertilising,{FEED},25 kg,\n",
    )
    one = of(done, "nitrogen_kg_ha")
    assert one.value is None
    assert one.note == "1 of 1 applications could not be counted: no area of the green."
    assert not [due for due in done.due if due.what == "Nitrogen"]


def test_treated_area_of_a_feed(figures: Figures) -> None:
    """5.5 kg N on 1,250 of 1,600 m² are 34.375 kg/ha of the green, and a dose of 4.4 g/m² where they fell."""
    job = JOB + f"2026-03-16,ALD-1,fertilising,{FEED},50 kg,1250\n"
    done = figures(job=job)
    assert of(done, "nitrogen_kg_ha").value == pytest.approx(34.375)
    assert of(done, "nitrogen_dose_g_m2").value == pytest.approx(4.4)


def test_spot_feeding_by_rate_counts_what_the_patch_got(figures: Figures) -> None:
    """10 g/m² of 46 % on 160 m² is 1.6 kg, 0.736 kg N, on the whole 1,600 m² 4.6 kg/ha, not 46."""
    job = "date,green,operation,material,rate_g_m2,treated_area_m2\n2026-03-16,ALD-1,fertilising,urea,10,160\n"
    assert of(figures(material=MATERIALS, job=job), "nitrogen_kg_ha").value == pytest.approx(4.6)


def test_nitrogen_due_in_kilograms_and_packs(figures: Figures) -> None:
    """Target 80 to 200, 34.375 on: 45.625 kg/ha × 0.16 ha = 7.3 kg N; at 11 % 66.4 kg, three 25 kg packs."""
    job = JOB + f"2026-03-16,ALD-1,fertilising,{FEED},2 x 25 kg,\n2026-06-10,ALD-1,mowing,,,\n"
    done = figures(target=HOUSE, job=job)
    found = next(one for one in done.due if one.what == "Nitrogen")
    assert (
        found.quantity == "7.3 to 26.5 kg N (5.5 kg already applied); the lower would be 66 kg of "
        f"{FEED} (3 packs of 25 kg) if all of it came as that"
    )
    assert found.by == "by 30 September 2026"
    following = next(one for one in done.due if one.what.startswith("Look at the green"))
    assert following.by == "since 27 April 2026"
    assert "lasted about 6 weeks by its label" in following.why


@pytest.mark.parametrize(("limit", "named"), [("4.5625", True), ("4.56", False), ("", True)])
@beyond(2)
def test_no_product_is_named_for_more_than_one_dose(figures: Figures, limit: str, named: bool) -> None:
    """45.625 kg/ha are 4.5625 g/m² at once; the default limit is 4.9."""
    job = JOB + f"2026-03-16,ALD-1,fertilising,{FEED},2 x 25 kg,\n2026-06-10,ALD-1,mowing,,,\n"
    own = f"nitrogen_dose_g_m2,club,ALD,,,{limit},g/m²,the committee\n" if limit else ""
    (found,) = (one for one in figures(target=HOUSE + own, job=job).due if one.what == "Nitrogen")
    assert ("packs of 25 kg" in found.quantity) == named
    assert found.quantity.startswith("7.3 to 26.5 kg N (5.5 kg already applied)")


def test_a_whole_season_is_no_single_purchase(figures: Figures) -> None:
    """80 kg/ha are 8 g/m², above 4.9 in one dose: a season's nitrogen was said as so many packs of the last feed."""
    job = JOB + f"2025-03-16,ALD-1,fertilising,{FEED},2 x 25 kg,\n2026-06-10,ALD-1,mowing,,,\n"
    (found,) = (one for one in figures(target=HOUSE, job=job).due if one.what == "Nitrogen")
    assert found.quantity == "12.8 to 32.0 kg N"


def test_no_nitrogen_is_asked_for_where_the_applied_is_not_known(figures: Figures) -> None:
    """Asking for the whole target on top of an uncounted feed would be a double dose."""
    job = JOB + "2026-03-16,ALD-1,fertilising,no density,8 l,\n2026-06-10,ALD-1,mowing,,,\n"
    done = figures(target=HOUSE, material=MATERIALS, job=job)
    (found,) = (one for one in done.due if one.what == "Nitrogen")
    assert found.quantity == "not known: 1 feed of season 2026 gives no amount"
    assert (found.low, found.high, found.unit) == (None, None, "kg")


@pytest.mark.parametrize("material", ["a feed nobody registered", ""])
@beyond(1)
def test_a_feed_of_unknown_material_is_not_a_feed_of_no_nitrogen(figures: Figures, material: str) -> None:
    """Its nitrogen stands in no figure; 12.8 kg asked for on top of it would be a double dose."""
    job = JOB + f"2026-03-16,ALD-1,fertilising,{material},50 kg,\n2026-06-10,ALD-1,mowing,,,\n"
    (found,) = (one for one in figures(target=HOUSE, job=job).due if one.what == "Nitrogen")
    assert found.quantity == "not known: 1 feed of season 2026 gives no amount"


def test_iron_without_nitrogen_leaves_the_whole_target_due(figures: Figures) -> None:
    """0-0-0 on the label is an amount, and it is zero."""
    material = "material,sort,form,analysis\niron alone,fertiliser,solid,0-0-0 + 20 Fe\n"
    job = JOB + "2026-03-16,ALD-1,fertilising,iron alone,10 kg,\n2026-06-10,ALD-1,mowing,,,\n"
    (found,) = (one for one in figures(target=HOUSE, material=material, job=job).due if one.what == "Nitrogen")
    assert (found.quantity, found.applied) == ("12.8 to 32.0 kg N", 0.0)


def test_a_green_fed_since_is_not_overdue(figures: Figures) -> None:
    """The feed of August lasted to 1 October; on 12 October the green was fed again, after the season of the report."""
    alone = figures(job=JOB + f"2026-08-20,ALD-1,fertilising,{FEED},50 kg,\n2026-10-12,ALD-1,mowing,,,\n")
    (found,) = (one for one in alone.due if one.what.startswith("Look at the green"))
    assert (found.by, found.overdue) == ("since 1 October 2026", True)
    done = figures(job=JOB + f"2026-10-12,ALD-1,fertilising,{FEED},50 kg,\n")
    (found,) = (one for one in done.due if one.what.startswith("Look at the green"))
    assert (found.by, found.overdue) == ("from 23 November 2026", False)


@pytest.mark.parametrize("later", ["a feed nobody registered", "no release"])
@beyond(2)
def test_a_feed_since_whose_release_is_not_known_says_no_day(figures: Figures, later: str) -> None:
    """Fed since with something that says no release time: nobody knows when that runs out, but it is not overdue."""
    material = "material,sort,form,analysis\nno release,fertiliser,solid,10-0-0\n"
    job = JOB + f"2026-07-20,ALD-1,fertilising,{FEED},50 kg,\n2026-09-12,ALD-1,fertilising,{later},50 kg,\n"
    assert not [one for one in figures(material=material, job=job).due if one.what.startswith("Look at the green")]


def test_cover_is_carried_over_the_borders_of_a_season(figures: Figures) -> None:
    """Fed on 20 September 2025 and 25 August 2026 for six weeks each: to 1 November 31 days lie in the season, to 30
    September 37; five more follow. It once counted 5 weeks of the season and no gap."""
    days = ("2025-09-20", "2026-08-25")
    done = figures(job=JOB + "".join(f"{day},ALD-1,fertilising,{FEED},25 kg,\n" for day in days))
    cover = of(done, "nitrogen_cover_weeks")
    assert cover.value == pytest.approx((31 + 37) / 7)
    assert (cover.n, lines(cover)) == (2, [2, 3])
    assert cover.note == "4 of them by feeds of the season before. 1 more follow after the season's end."
    assert of(done, "nitrogen_gap_weeks").value == pytest.approx((date(2026, 8, 25) - date(2025, 11, 1)).days / 7)
    assert of(done, "nitrogen_kg_ha").n == 1
    before = figures("ALD-1", season="2025")
    assert of(before, "nitrogen_cover_weeks").note == "4 more follow after the season's end."
    assert of(before, "nitrogen_to_come_kg_ha").value == pytest.approx(17.1875 * 32 / 42)


def test_more_than_a_green_takes_is_not_due(figures: Figures) -> None:
    """A slip in a target (grams for kilograms, a tenfold figure) is asked about, not ordered."""
    targets = "indicator,scope,scope_name,season,band,low,high,unit,source\n"
    rows = "nitrogen_kg_ha,club,ALD,,,1200,1500,kg/ha,house\ndressing_kg_m2,club,ALD,,,50,60,kg/m²,house\n"
    done = figures("ALD-1", target=targets + rows)
    found = {one.what: one for one in done.due if one.what in {"Nitrogen", "Top dressing"}}
    assert {one.quantity for one in found.values()} == {"not ordered: more than a green takes in a season"}
    assert all(one.low is None for one in found.values())
    check = "in a season: check the target, its unit and the log."
    assert found["Nitrogen"].why.endswith(f"A green takes at most about 586 kg/ha {check}")
    assert found["Top dressing"].why.endswith(f"A green takes at most about 24 kg/m² {check}")
