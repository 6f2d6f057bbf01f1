"""Template programmes: each says its source, names no pesticide, and holds the figures of the calendars it is from."""

from __future__ import annotations

import itertools
from datetime import date

import pytest

from pipeline.agronomy.disturbance import holes_per_m2, tined_area_pct_from_density, tined_volume_l_m2
from pipeline.agronomy.dressing import packs_cover_m2
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.plan.entries import LICENSED_PRACTICE, Place
from pipeline.plan.from_template import Ahead, fitting, from_template
from pipeline.plan.programme import schools
from pipeline.plan.templates import template_named, template_of, templates
from pipeline.plan.templates.model import LICENSED, NO_SOURCE, Line, Template
from pipeline.workspace.settings import Season
from tests.outside_checks import outside

SEASON = Season.from_day(date(2026, 10, 1))
STARTS = (date(2026, 10, 1), date(2026, 1, 1), date(2026, 4, 1), date(2027, 9, 16))
NAMES = list(templates())
SOUND = """
title = "Spring"
part = "spring"
school = "one"
source = "common practice, no source"
hemisphere = "north"
"""


def lines(name: str, operation: str) -> list[Line]:
    return [line for line in template_named(name).line if line.operation == operation]


@pytest.mark.parametrize("name", NAMES)
def test_a_shipped_template_says_where_every_figure_is_from(name: str) -> None:
    """A figure without a source is somebody's season; "common practice, no source" says so in these words alone."""
    template = template_named(name)
    for line in template.line:
        source = template.source_of(line)
        assert len(source) > 10
        assert "no source" not in source or source == NO_SOURCE


@pytest.mark.parametrize("name", NAMES)
def test_no_template_plans_what_a_licensed_person_decides(name: str) -> None:
    for line in template_named(name).line:
        assert not LICENSED & {line.operation, line.sort}


@pytest.mark.parametrize("name", NAMES)
def test_every_window_ends_within_the_season_and_is_of_a_year_at_most(name: str) -> None:
    """Whatever day seasons start on: a line whose window fell between two of them would be planned in neither."""
    for start in STARTS:
        season = Season.from_day(start)
        for line in template_named(name).line:
            first, last = line.window(season)
            assert season.start <= last <= season.end
            assert first <= last
            assert (last - first).days < 366
            assert f"{first:%m-%d} {last:%m-%d}" == f"{line.first} {line.last}"


@pytest.mark.parametrize("name", NAMES)
def test_a_line_on_pests_carries_the_caution_and_no_other_line_does(name: str) -> None:
    template = template_named(name)
    entries, _ = from_template(template, Place("X-1", area_m2=1000.0), Ahead(SEASON, SEASON.start))
    said = [LICENSED_PRACTICE in entry.cautions for entry in entries]
    assert said == [line.pests for line in template.line]


def test_iron_against_moss_is_kept_apart_from_iron_as_a_feed() -> None:
    """Sold against moss it is a plant protection product; every line of iron says that it is meant as a feed."""
    iron = [line for one in templates().values() for line in one.line if "iron" in line.material]
    assert len(iron) == 2
    assert all(line.pests and line.note.startswith("As a feed;") for line in iron)


@pytest.mark.parametrize(
    ("broken", "said"),
    [
        ('[[line]]\noperation = "topdresing"\nfirst = "04-01"\nlast = "04-30"', "closest: top_dressing"),
        ('[[line]]\noperation = "mowing"\nfirst = "02-30"\nlast = "04-30"', "“02-30” is no day of every year"),
        ('[[line]]\noperation = "mowing"\nfirst = "02-29"\nlast = "04-30"', "“02-29” is no day of every year"),
        ('[[line]]\noperation = "mowing"\nfirst = "W01-1"\nlast = "04-30"', "“W01-1” is no day of every year"),
        (
            '[[line]]\noperation = "overseeding"\nfirst = "04-01"\nlast = "04-30"\nsort = "seed"\nrate = 35',
            "a rate says its unit: write rate_g_m2, rate_kg_m2 or rate_ml_m2",
        ),
        (
            '[[line]]\noperation = "overseeding"\nfirst = "04-01"\nlast = "04-30"\nrate_g_m2 = 35',
            "a material or a rate needs its sort",
        ),
        (
            '[[line]]\noperation = "overseeding"\nfirst = "04-01"\nlast = "04-30"\nsort = "seed"\nrate_g_m2 = 35\n'
            "rate_kg_m2 = 0.035",
            "rate_g_m2 and rate_kg_m2 say one thing twice",
        ),
        (
            '[[line]]\noperation = "overseeding"\nfirst = "04-01"\nlast = "04-30"\nsort = "seed"\nrate_g_m2 = [35, 25]',
            "35 to 25 is no range",
        ),
        (
            '[[line]]\noperation = "overseeding"\nfirst = "04-01"\nlast = "04-30"\nsort = "seed"\namount_kg = 50',
            "amount_kg and of_m2 go together",
        ),
        (
            '[[line]]\noperation = "plant_protection"\nfirst = "04-01"\nlast = "04-30"',
            "a licensed person decides on it by the label",
        ),
        (
            '[[line]]\noperation = "fertilising"\nfirst = "04-01"\nlast = "04-30"\nsort = "moss_treatment"',
            "a licensed person decides on it by the label",
        ),
        ('[[line]]\noperation = "mowing"\nfirst = "04-01"\nlast = "04-30"\ntine_mm = 12', "mowing has no tines"),
        (
            '[[line]]\noperation = "rolling"\nfirst = "04-01"\nlast = "04-30"\ncut_height_mm = 5',
            "only mowing has a height of cut",
        ),
        (
            '[[line]]\noperation = "mowing"\nfirst = "04-01"\nlast = "04-30"\ntimes = 3\na_week = 1',
            "times and a_week exclude each other",
        ),
        (
            '[[line]]\noperation = "fertilising"\nfirst = "04-01"\nlast = "04-30"\nsort = "fertiliser"\nn_pct = 140',
            "140 to 140 is no share",
        ),
        (
            '[[line]]\noperation = "mowing"\nfirst = "04-01"\nlast = "04-30"\ncut_hight_mm = 5',
            "there is no such key; closest: cut_height_mm",
        ),
        ("", "line is missing"),
        ("title = 3", "not readable TOML"),
    ],
)
def test_a_broken_template_is_refused_with_the_place(broken: str, said: str) -> None:
    """Each is one slip in a template that is sound without it; read past, it would plan a wrong work on every green."""
    with pytest.raises(CannotDo) as refused:
        template_of((SOUND + broken).encode(), "spring")
    assert said in refused.value.message
    assert refused.value.message.startswith("spring.toml")


def test_the_place_of_a_broken_line_is_counted_from_one() -> None:
    sound = '[[line]]\noperation = "mowing"\nfirst = "04-01"\nlast = "04-30"\n'
    assert template_of((SOUND + sound).encode(), "spring").line[0].operation == "mowing"
    with pytest.raises(CannotDo) as refused:
        template_of((SOUND + sound + sound.replace("mowing", "mowign")).encode(), "spring")
    assert "[[line]] 2.operation: there is no operation 'mowign'; closest: mowing" in refused.value.message


def test_a_name_that_is_none_is_refused_with_the_closest() -> None:
    with pytest.raises(WrongUsage) as refused:
        template_named("gma-spring")
    assert "closest: gma-spring-flat" in refused.value.message


@pytest.mark.parametrize(
    ("shape", "construction"), [(s, c) for s in ("flat", "crown") for c in ("soil_push_up", "sand", "sand_soil_mix")]
)
def test_every_green_of_the_north_has_a_template_for_each_part_of_the_year(shape: str, construction: str) -> None:
    found = schools(list(templates().values()), Place("X-1", shape=shape, construction=construction, latitude_deg=52.0))
    assert {"spring", "season", "autumn", "winter"} <= set(found)


def test_a_template_of_another_kind_of_green_is_not_offered() -> None:
    """Crown against flat, sand against soil, south against north, couch against fescue."""
    place = Place("X-1", "X", 1400.0, "flat", "soil_push_up", "fescue and bent", 52.0)
    held = {one.name: unsaid for one, unsaid in fitting(templates().values(), place)}
    assert set(held.values()) == {""}
    assert not {"crown-autumn", "sand-winter", "sand-light-dressing", "cotula-autumn", "couch-twice-a-year"} & set(held)
    assert {"gma-spring-flat", "trade-spring-flat", "soil-winter"} <= set(held)


def test_what_the_register_does_not_say_is_said_and_hides_no_template() -> None:
    held = {one.name: unsaid for one, unsaid in fitting(templates().values(), Place("X-1"))}
    assert set(held) == set(NAMES)
    assert held["sand-winter"] == "not in the register: construction, latitude"
    assert held["couch-twice-a-year"] == "not in the register: latitude, grasses"


@outside("figure", "Grounds Management Association, bowling green pre-season maintenance: 11, 9.5, 8, 6.5 (6) mm")
def test_the_spring_cut_comes_down_in_three_steps_of_a_millimetre_and_a_half() -> None:
    heights = [line.cut_height_mm for line in lines("gma-spring-flat", "mowing")]
    high = [height[1] for height in heights if height]
    assert high == [11, 9.5, 8, 6.5]
    assert [one - other for one, other in itertools.pairwise(high)] == [1.5, 1.5, 1.5]
    assert heights[-1] == (6, 6.5)


@pytest.mark.parametrize(
    ("template", "end", "printed", "tolerance"),
    [
        pytest.param(
            "gma-autumn-coring", 1, 10.0, 0.2,
            marks=outside("figure", "Grounds Management Association, end of season maintenance: 18 mm at 50 mm, 10 %"),
        ),
        pytest.param(
            "gma-autumn-coring-third", 0, 5.0, 0.2,
            marks=outside("figure", "Grounds Management Association, end of season maintenance: 12.5 mm, 5 %"),
        ),
    ],
)  # fmt: skip
def test_the_tines_open_what_the_page_says(template: str, end: int, printed: float, tolerance: float) -> None:
    (line,) = lines(template, "hollow_coring")
    assert line.tine_mm
    assert line.spacing_mm
    opened = tined_area_pct_from_density(line.tine_mm[end], holes_per_m2(line.spacing_mm, line.spacing_mm))
    assert opened == pytest.approx(printed, abs=tolerance)
    assert f"{opened:.1f} %" in line.note


def test_couch_is_cored_twice_a_year_with_half_inch_tines() -> None:
    """5.07 % and 3.80 l/m² are own arithmetic of the tool's formulas, as the template says."""
    cored = lines("couch-twice-a-year", "hollow_coring")
    assert [line.first[:2] for line in cored] == ["03", "09"]
    for line in cored:
        assert line.tine_mm
        assert line.depth_mm
        opened = tined_area_pct_from_density(line.tine_mm[0], holes_per_m2(50, 50))
        assert f"{opened:.2f} %" in line.note
        assert f"{tined_volume_l_m2(opened, line.depth_mm[0]):.2f} l/m²" in line.note


@outside("figure", "UK seed house, bowling green renovation: 40 kg at 35 g/m² (2 × 20 kg), as recomputed 1,143 m²")
def test_forty_kilograms_of_seed_cover_what_they_are_sold_for() -> None:
    (line,) = lines("seed-house-autumn", "overseeding")
    assert line.rate == (35, 35, "g/m²")
    assert packs_cover_m2(2, 20, line.rate[0] / 1000) == pytest.approx(1143, abs=0.5)


def test_schools_that_differ_are_templates_of_their_own() -> None:
    """Averaged, they would be a programme that nobody recommends."""
    of_part: dict[str, list[Template]] = {}
    for one in templates().values():
        of_part.setdefault(one.part, []).append(one)
    for part, ones in of_part.items():
        assert len({one.school for one in ones if one.hemisphere == "north"}) == sum(
            one.hemisphere == "north" for one in ones
        ), part
    assert not lines("no-routine-sand", "top_dressing")
    assert [line.every_seasons for line in lines("gma-autumn-coring-third", "hollow_coring")] == [3]
    assert [line.every_seasons for line in lines("gma-autumn-coring", "hollow_coring")] == [1]
