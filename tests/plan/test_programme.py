"""Programmes: rates over a green's area, windows of a season, and one rule for each pair of sources."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations

import pytest

from pipeline.agronomy.soil.nutrients import nutrient_g_m2
from pipeline.common.refusal import WrongUsage
from pipeline.plan.entries import Entry, Logged, Place
from pipeline.plan.from_last import from_last
from pipeline.plan.from_targets import Asked, Goal
from pipeline.plan.from_template import Ahead, from_template
from pipeline.plan.matching import matched
from pipeline.plan.programme import Programme, Sources, programme
from pipeline.plan.templates import template_named, templates
from pipeline.plan.works import Done, Planned
from pipeline.workspace.settings import Season
from tests.outside_checks import outside

SEASON = Season.from_day(date(2026, 10, 1))
GREEN = Place("X-1", "X", 1475.0, "flat", "soil_push_up", "fescue and bent", 52.0)
GMA = "Grounds Management Association, bowling green cost of materials, spring 2003"


def of(name: str, place: Place = GREEN, day: date = SEASON.start, done: tuple[Done, ...] = ()) -> list[Entry]:
    return list(from_template(template_named(name), place, Ahead(SEASON, day, done))[0])


def in_month(entries: list[Entry], operation: str, month: int) -> list[Entry]:
    return [one for one in entries if one.work.operation == operation and one.work.last.month == month]


def job(operation: str, day: date, **more: object) -> Done:
    return Done("X-1", operation, day, day, **more)  # type: ignore[arg-type]


def made(sources: Sources, day: date = SEASON.start, place: Place = GREEN) -> Programme:
    return programme(place, SEASON, day, sources)


def planned(done: Programme, operation: str) -> list[Entry]:
    return [one for one in done.entries if one.work.operation == operation]


def left(done: Programme, operation: str) -> list[str]:
    return [one.why for one in done.left_out if one.operation == operation]


def dressing_goal(low: float | None, high: float | None = None, *, met: bool = False) -> Asked:
    work = Planned("X-1", "top_dressing", SEASON.start, SEASON.end, "kg", low, basis="target: the committee")
    return Asked((Goal("top_dressing", low, high, met, "target: the committee", () if met else (Entry(work),)),))


def nitrogen_goal(low: float, high: float | None = None) -> Asked:
    work = Planned("X-1", "fertilising", SEASON.start, SEASON.end, "kg", None, basis="target: the committee")
    goal = Goal("fertilising", low, high, met=False, basis="target: the committee", entries=(Entry(work),))
    return Asked((goal,))


@pytest.mark.parametrize(
    ("operation", "month", "kg", "g_m2"),
    [
        pytest.param("top_dressing", 4, 2000, 1355.9, marks=outside("figure", f"{GMA}: April 2 t")),
        pytest.param("overseeding", 4, 25, 16.9, marks=outside("figure", f"{GMA}: April 1 × 25 kg seed")),
        pytest.param("fertilising", 4, 75, 50.8, marks=outside("figure", f"{GMA}: April 3 × 25 kg feed")),
        pytest.param("fertilising", 6, 50, 33.9, marks=outside("figure", f"{GMA}: June 2 × 25 kg feed")),
        pytest.param("fertilising", 8, 50, 33.9, marks=outside("figure", f"{GMA}: August 2 × 25 kg feed")),
        pytest.param("top_dressing", 10, 7000, 4745.8, marks=outside("figure", f"{GMA}: October 7 t")),
        pytest.param("overseeding", 10, 50, 33.9, marks=outside("figure", f"{GMA}: October 2 × 25 kg seed")),
    ],
)
def test_the_published_materials_of_one_green_come_out_for_that_green(
    operation: str, month: int, kg: float, g_m2: float
) -> None:
    """Kilograms are the page's; g/m² are these over its 1,475 m², own arithmetic."""
    (one,) = in_month(of("gma-materials-year"), operation, month)
    assert one.work.unit == "kg"
    assert one.work.size == pytest.approx(kg, rel=1e-12)
    assert one.rate == pytest.approx(g_m2, abs=0.06)


@outside("figure", f"{GMA}: 2 t and 7 t of dressing on 1,475 m², 1 t for repairs beside them")
def test_the_published_dressing_of_a_year_is_9_t_without_repairs() -> None:
    entries = of("gma-materials-year")
    dressed = [one.work.size for one in entries if one.work.operation == "top_dressing"]
    assert sum(size for size in dressed if size) == pytest.approx(9000)
    (repairs,) = (one for one in entries if one.work.operation == "levelling")
    assert repairs.work.size == pytest.approx(1000)
    assert sum(one.rate for one in entries if one.work.operation == "top_dressing" and one.rate) == pytest.approx(
        6102, abs=1
    )


def test_iron_is_the_rate_times_the_area_times_six() -> None:
    """The page's own bags (2) do not hold its rate: 6 g/m² six times on 1,475 m² is 53.1 kg, more than two of 25 kg."""
    (iron,) = (one for one in of("gma-materials-year") if one.times == 6)
    assert iron.work.size == pytest.approx(53.1)
    assert iron.work.size > 50


@pytest.mark.parametrize(
    ("template", "low", "high"),
    [
        pytest.param(
            "trade-autumn-sand-light", 3000, 6000,
            marks=outside("figure", "UK trade magazine: 2 to 4 kg/m² on a bowls green of 1,500 m² is 3 to 6 t"),
        ),
        pytest.param(
            "trade-autumn-sand", 6000, 9000,
            marks=outside("figure", "UK trade magazine: 4 to 6 kg/m² on a bowls green of 1,500 m² is 6 to 9 t"),
        ),
    ],
)  # fmt: skip
def test_a_range_of_dressing_is_planned_at_its_lower_end_and_says_both(template: str, low: float, high: float) -> None:
    (one,) = (one for one in of(template, replace(GREEN, area_m2=1500.0)) if one.work.operation == "top_dressing")
    assert (one.work.size, one.most) == (pytest.approx(low), pytest.approx(high))
    assert f"{low / 1000:g} t to {high / 1000:g} t; the lower is planned" in one.work.basis


@outside(
    "worked example", "Grounds Management Association, fertiliser programmes: nitrogen; running total 7.0, 9.8, 12.6"
)
def test_the_published_feeding_runs_up_as_the_page_says() -> None:
    running, total = [], 0.0
    for one in of("feeding-spring-slow"):
        if one.work.size and one.nitrogen_pct:
            total += nutrient_g_m2(one.work.size, one.nitrogen_pct, 1475.0)
            running.append(round(total, 9))
    assert running == [7.0, 9.8, 12.6]


@outside("figure", "UK seed house, bowling green renovation: 35 g/m²; 40 kg on 1,369 m² are 29.2 g/m²")
def test_seed_at_the_printed_rate_takes_more_than_the_pack_on_a_larger_green() -> None:
    (seed,) = (one for one in of("seed-house-autumn", replace(GREEN, area_m2=1369.0)) if one.sort == "seed")
    assert seed.work.size == pytest.approx(47.915)
    assert 40 / seed.work.size * 35 == pytest.approx(29.2, abs=0.05)


def test_without_an_area_an_amount_is_not_known_and_says_why() -> None:
    """Never 0 and never another green's: an order of nothing is as wrong as one for 1,475 m²."""
    for one in of("gma-materials-year", replace(GREEN, area_m2=None)):
        if one.rate is not None:
            assert one.work.size is None
            assert one.lacking == "the area of the green is not known"


def test_amounts_follow_the_area() -> None:
    """Twice the green takes twice the material and as many mowings."""
    for name in templates():
        for one, twice in zip(of(name), of(name, replace(GREEN, area_m2=2950.0)), strict=True):
            if one.work.unit == "times" or one.work.size is None:
                assert twice.work.size == one.work.size
            else:
                assert twice.work.size == pytest.approx(2 * one.work.size)


def test_three_cuts_a_week_are_counted_over_the_days_that_are_left() -> None:
    """1 May to 15 September are 138 days: 59 cuts. From 1 September on 15 days: 6."""
    for day, cuts in ((SEASON.start, 59), (date(2027, 9, 1), 6)):
        (mowing,) = (one for one in of("trade-season-close", day=day) if one.work.operation == "mowing")
        assert mowing.work.size == cuts


@pytest.mark.parametrize("name", list(templates()))
def test_what_is_past_is_left_out_with_its_days_and_nothing_is_lost(name: str) -> None:
    """Whatever the day: each line of a template is planned or left out, and only a window that is over is."""
    template = template_named(name)
    for days in range(0, 365, 14):
        day = SEASON.start + timedelta(days=days)
        entries, out = from_template(template, GREEN, Ahead(SEASON, day))
        assert len(entries) + len(out) == len(template.line)
        assert all(one.work.last >= day for one in entries)
        assert all(one.why.startswith("its days are past") for one in out)


def test_of_twelve_dressings_those_that_are_on_are_not_planned_again() -> None:
    """Twelve times 0.75 kg/m², four of them on by 1 July: eight are planned, with the material of eight."""
    place = replace(GREEN, construction="sand")
    on = tuple(job("top_dressing", date(2027, 4, 1) + timedelta(weeks=3 * week)) for week in range(4))
    (one,) = (one for one in of("sand-light-dressing", place, date(2027, 7, 1), on) if one.sort)
    assert (one.times, one.work.size) == (8, pytest.approx(8 * 0.75 * 1475))
    assert "4 of 12 are done" in one.work.basis


def test_what_is_done_stays_out_and_half_of_it_does_not() -> None:
    """Half the green seeded is not the green seeded."""
    days = (date(2026, 10, 3), date(2026, 10, 5))
    half = tuple(job("overseeding", day, part=0.5) for day in days)
    for jobs, times in (((), 1), (half[:1], 1), (half, 0)):
        entries, out = from_template(template_named("trade-autumn-sand"), GREEN, Ahead(SEASON, date(2026, 10, 8), jobs))
        assert len([one for one in entries if one.work.operation == "overseeding"]) == times
        assert [one.why for one in out if one.operation == "overseeding"] == (
            [] if times else ["done between 16 September 2026 and 8 October 2026"]
        )


def test_a_job_that_may_be_one_of_several_works_takes_none_of_them_out() -> None:
    """A feed in April may be the feed, the iron or the ammonium sulphate: which, a person says."""
    done = (job("fertilising", date(2027, 4, 10)),)
    entries = of("gma-materials-year", day=date(2027, 4, 20), done=done)
    feeds = [one for one in entries if one.work.operation == "fertilising" and one.work.first <= date(2027, 4, 10)]
    assert len(feeds) == 3
    assert all("logged once from 1 April 2027 on, which may be this work or another" in one.work.basis for one in feeds)


@pytest.mark.parametrize(
    ("last", "comes"), [(None, True), (date(2023, 10, 6), True), (date(2024, 10, 6), False), (date(2025, 10, 6), False)]
)
def test_coring_every_third_season_comes_when_it_is_its_turn(last: date | None, *, comes: bool) -> None:
    done = () if last is None else (job("hollow_coring", last),)
    entries, out = from_template(template_named("gma-autumn-coring-third"), GREEN, Ahead(SEASON, SEASON.start, done))
    cored = [one for one in entries if one.work.operation == "hollow_coring"]
    assert bool(cored) == comes
    if not comes:
        assert [one.why[:40] for one in out] == [f"once in 3 seasons, and last on 6 October {last:%Y}"[:40]]
    if last is None:
        assert "no earlier one is on record" in cored[0].work.basis


def test_two_schools_of_one_work_are_refused_together() -> None:
    """Cut to 8 mm by the end of March and to 11 mm at its end: planned together they are no programme at all."""
    with pytest.raises(WrongUsage) as refused:
        made(Sources([template_named("trade-autumn-sand"), template_named("trade-autumn-sand-light")]))
    assert "Templates trade-autumn-sand and trade-autumn-sand-light both plan" in refused.value.message


def test_no_two_lines_of_what_is_let_through_are_one_work_of_two_templates() -> None:
    """Of every pair of templates: refused, or no operation of both has a day in common."""
    let_through = 0
    for one, other in combinations(templates().values(), 2):
        try:
            entries = made(Sources([one, other]), place=Place("X-1")).entries
        except WrongUsage:
            continue
        let_through += 1
        for mine, its in combinations(entries, 2):
            if mine.template != its.template and mine.work.operation == its.work.operation:
                assert mine.work.last < its.work.first or its.work.last < mine.work.first
    assert let_through > 100


def test_a_template_for_another_kind_of_green_plans_nothing_on_it() -> None:
    done = made(Sources([template_named("crown-autumn")]))
    assert done.entries == ()
    assert left(done, "every work") == ["it is made for another kind of green"]


AUTUMN = Sources([template_named("trade-autumn-sand-light")])
"""2 to 4 kg/m² on 1,475 m²: 2.95 t are planned."""


@pytest.mark.parametrize(
    ("low", "high", "planned_kg", "said"),
    [
        (2000.0, 4000.0, 2950.0, "within target: the committee: 2,000 to 4,000 kg are open"),
        (2000.0, None, 2950.0, "within target"),
        (4000.0, 6000.0, 4000.0, "2,950 kg brought to 4,000 kg in all by target: the committee"),
        (500.0, 1000.0, 1000.0, "2,950 kg brought to 1,000 kg in all by target: the committee"),
        (None, None, 2950.0, "is not known, so that this amount stands"),
    ],
)
def test_the_target_has_the_last_word_on_how_much_dressing(
    low: float | None, high: float | None, planned_kg: float, said: str
) -> None:
    """The template says when. Planned from both, the green would get its dressing twice."""
    done = made(replace(AUTUMN, asked=dressing_goal(low, high)))
    (one,) = planned(done, "top_dressing")
    assert one.work.size == pytest.approx(planned_kg)
    assert (one.work.first, one.work.last) == (date(2026, 9, 16), date(2026, 10, 15))
    assert said in one.work.basis


def test_of_a_target_that_is_met_nothing_more_is_planned() -> None:
    done = made(replace(AUTUMN, asked=dressing_goal(0.0, met=True)))
    assert planned(done, "top_dressing") == []
    assert left(done, "top_dressing") == ["target: the committee, which is met by what is logged"]


def test_a_target_alone_plans_its_lower_end() -> None:
    (one,) = planned(made(Sources(asked=dressing_goal(3000.0, 5000.0))), "top_dressing")
    assert one.work.size == 3000.0


def test_lines_without_an_amount_share_what_the_others_leave_open() -> None:
    """A dressing without a rate takes all by itself; one that is done only where needed takes none beside another."""
    spring, crown = template_named("trade-spring-flat"), template_named("gma-spring-flat")
    (one,) = planned(made(Sources([spring], asked=dressing_goal(3000.0))), "top_dressing")
    assert one.work.size == pytest.approx(3000)
    assert one.lacking == ""
    both = made(Sources([crown, template_named("trade-autumn-sand-light")], asked=dressing_goal(4000.0)))
    assert [round(line.work.size or 0) for line in planned(both, "top_dressing")] == [4000]
    assert left(both, "top_dressing") == ["target: the committee, which the other lines reach"]


def test_nitrogen_is_brought_to_its_target_by_each_feeds_label() -> None:
    """7 + 2.8 + 2.8 g/m² are 18.6 kg N on 1,475 m²; the fourth dose of 20.5 % takes what is missing to 24 kg."""
    done = made(Sources([template_named("feeding-spring-slow")], asked=nitrogen_goal(24.0, 30.0)))
    feeds = planned(done, "fertilising")
    nitrogen = [one.work.size * one.nitrogen_pct / 100 for one in feeds if one.work.size and one.nitrogen_pct]
    assert sum(nitrogen) == pytest.approx(24.0)
    assert nitrogen[:3] == pytest.approx([10.325, 4.13, 4.13])
    assert feeds[3].work.size == pytest.approx((24.0 - 18.585) / 0.205)
    assert feeds[0].cautions[0].startswith("7 g/m² of nitrogen at one time; at most 4.88")


def test_a_feed_without_a_label_is_not_held_against_nitrogen_and_says_so() -> None:
    done = made(Sources([template_named("feeding-spring-led")], asked=nitrogen_goal(24.0)))
    feeds = planned(done, "fertilising")
    assert [one.work.size for one in feeds] == pytest.approx([75, 50, 50])
    assert all("24 kg N are open. Not every feed here has a mass and an N %" in one.work.basis for one in feeds)


def logged(operation: str, day: date, **more: object) -> Logged:
    own = {
        name: more.pop(name) for name in ("depth_mm", "passes", "sort", "nitrogen_pct", "asked_about") if name in more
    }
    return Logged(job(operation, day, **more), **own)  # type: ignore[arg-type]


def test_last_seasons_work_comes_in_the_week_of_its_day_a_year_on() -> None:
    """12 October 2025 is a Sunday; 12 October 2026 a Monday: its week is the 12th to the 18th."""
    (entries, out) = from_last(
        [logged("top_dressing", date(2025, 10, 12), material="mix", kg=6000.0, sort="top_dressing")],
        GREEN, SEASON, SEASON.start,
    )  # fmt: skip
    (one,) = entries
    assert (one.work.first, one.work.last) == (date(2026, 10, 12), date(2026, 10, 18))
    assert (one.work.material, one.work.size, one.work.unit) == ("mix", 6000.0, "kg")
    assert one.work.basis == "as on 12 October 2025: 6 t"
    assert one.rate == pytest.approx(6000 * 1000 / 1475)
    assert out == ()


def test_mowings_of_a_month_are_one_line_with_how_often() -> None:
    days = [date(2026, 5, day) for day in (4, 7, 11, 14)] + [date(2026, 6, 1)]
    entries, _ = from_last([logged("mowing", day) for day in days], GREEN, SEASON, SEASON.start)
    may, june = sorted(entries, key=lambda one: one.work.first)
    assert (may.work.first, may.work.last, may.work.size) == (date(2027, 5, 1), date(2027, 5, 31), 4.0)
    assert may.work.basis == "as 4 times from 4 May 2026 to 14 May 2026"
    assert (june.work.first, june.work.size) == (date(2027, 5, 31), 1.0)


@pytest.mark.parametrize(
    "job_",
    [
        logged("plant_protection", date(2026, 5, 4), material="spray"),
        logged("moss_treatment", date(2026, 5, 4)),
        logged("fertilising", date(2026, 5, 4), material="mixed", sort="plant_protection"),
    ],
)
def test_a_pesticide_of_last_season_is_never_planned_again(job_: Logged) -> None:
    entries, (out,) = from_last([job_], GREEN, SEASON, SEASON.start)
    assert entries == ()
    assert out.why == "of 4 May 2026: whether it is done again a licensed person decides by the label"


def test_an_amount_under_a_warning_is_not_repeated() -> None:
    """Twenty packs for two would be ordered again."""
    slip = logged("fertilising", date(2026, 5, 4), material="feed", kg=500.0, asked_about="a dose of 340 g/m²")
    (one,), _ = from_last([slip], GREEN, SEASON, SEASON.start)
    assert one.work.size is None
    assert one.lacking == "its entry is to be checked first: a dose of 340 g/m²"


def test_the_water_of_last_season_is_not_planned_again() -> None:
    wet = [logged("irrigation", date(2026, 7, day), l=5000.0) for day in (1, 8)]
    (one,), _ = from_last(wet, GREEN, SEASON, SEASON.start)
    assert (one.work.unit, one.work.size) == ("times", 2.0)
    assert "10,000 l in all as far as logged; the weather decides" in one.work.basis


def test_a_leap_day_has_a_day_a_year_on() -> None:
    season = Season.from_day(date(2024, 10, 1))
    (one,), _ = from_last([logged("slitting", date(2024, 2, 29))], GREEN, season, season.start)
    assert one.work.first <= date(2025, 2, 28) <= one.work.last


def test_a_work_that_last_season_holds_is_not_planned_from_a_template_too() -> None:
    last = [logged("top_dressing", date(2026, 4, 6), material="mix", kg=3000.0, sort="top_dressing")]
    done = made(replace(AUTUMN, last=last))
    assert [one.work.size for one in planned(done, "top_dressing")] == [3000.0]
    assert left(done, "top_dressing") == ["planned from last season's works"]
    assert planned(done, "overseeding")


def test_the_same_sources_in_another_order_make_the_same_programme() -> None:
    names = ["gma-season", "feeding-spring-slow", "trade-autumn-sand-light", "gma-spring-flat"]
    asked = dressing_goal(3000.0, 5000.0)
    one = made(Sources([template_named(name) for name in names], asked=asked))
    other = made(Sources([template_named(name) for name in reversed(names)], asked=asked))
    assert sorted(one.entries, key=repr) == sorted(other.entries, key=repr)


def test_records_of_one_visit_are_one_line() -> None:
    """A day counts as one time: planned as two, the second would be overdue for ever."""
    day = date(2026, 5, 12)
    two = [logged("slitting", day), logged("slitting", day)]
    (one,), _ = from_last(two, GREEN, SEASON, SEASON.start)
    assert (one.work.unit, one.work.size, one.work.basis) == ("times", 1.0, "as on 12 May 2026 in 2 records")
    halves = [Logged(job("fertilising", day, material="feed", kg=kg, part=0.5)) for kg in (20.0, 30.0)]
    (feed,), _ = from_last(halves, GREEN, SEASON, SEASON.start)
    assert (feed.work.size, feed.work.basis) == (50.0, "as on 12 May 2026: 50 kg in 2 records")
    other = [*halves, Logged(job("fertilising", day, material="iron", kg=5.0))]
    assert [one.work.material for one in from_last(other, GREEN, SEASON, SEASON.start)[0]] == ["feed", "iron"]
    apart = [logged("slitting", day), logged("slitting", date(2026, 5, 19))]
    assert [one.times for one in from_last(apart, GREEN, SEASON, SEASON.start)[0]] == [2.0]


def test_a_season_that_repeats_last_seasons_visits_leaves_nothing_missing() -> None:
    """Planned from two records of a day and logged the same way a year on, every line is done."""
    days = [date(2026, 5, 12), date(2026, 5, 12), date(2026, 6, 2)]
    plan = [one.work for one in from_last([logged("slitting", d) for d in days], GREEN, SEASON, SEASON.start)[0]]
    again = [job("slitting", d.replace(year=2027)) for d in days]
    found = matched(plan, again, date(2027, 9, 30), SEASON.end)
    assert {line.state for line in found.lines} == {"done"}
    assert not found.extras
