"""One finding is said once: rules of one topic are one finding, what the visit showed stands first."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pipeline.findings.findings import Finding, rules
from pipeline.indicators.base.green_season import Evidence, Indicator
from pipeline.survey.told import Told, told
from pipeline.survey.visit_observations import NOTHING_SEEN, Measured, Photo, Reading
from reports.survey.findings import block

SHIPPED = rules()
BY_ID = {one.id: one for one in SHIPPED}
FIGURES = {
    "levels-out": Indicator("level_within_pct", "Points within the tolerance", "", 18.6, "%", 361, None, None, 100.0),
    "cover-thin": Indicator("cover_pct", "Ground cover", "point quadrat", 82.0, "%", 10, 76.0, 86.0, 95.0),
    "bare-ground": Indicator("bare_pct", "Bare ground", "point quadrat", 8.8, "%", 10, 5.6, 13.6, None, 5.0),
    "organic-matter-high": Indicator(
        "organic_matter_pct", "Organic matter", "0–20 mm", 8.1, "%", 5, 7.0, 9.2, None, 6.0
    ),
    "organic-matter-rising": Indicator("organic_matter_trend_pct_year", "Change a year", "0–20 mm", 0.54, "%", 12),
    "dressing-coarser": Indicator("sieve_match", "Dressing against root zone", "70/30, D50", 1.7, "", 17),
    "thatch-deep": Indicator("thatch_mm", "Depth of thatch", "core", 19.0, "mm", 5, 16.0, 21.0, None, 12.0),
}  # fmt: skip
OF_THE_VISIT = {"level_within_pct", "cover_pct", "bare_pct", "thatch_mm"}


def found(*names: str) -> list[Finding]:
    return [Finding(BY_ID[name], (FIGURES[name],), (), doubtful=False) for name in names]


def tell(*names: str, seen: object = NOTHING_SEEN) -> tuple[Told, ...]:
    return told(found(*names), SHIPPED, lambda one: one.name in OF_THE_VISIT, seen)  # type: ignore[arg-type]


def ids(every: tuple[Told, ...]) -> list[list[str]]:
    return [[part.rule.id for part in one.parts] for one in every]


def test_organic_matter_its_rise_and_the_dressing_over_it_are_one_finding() -> None:
    """They stood as findings 3, 7 and 9 of one survey, and the same dressing was asked for three times."""
    every = tell("bare-ground", "organic-matter-high", "thatch-deep", "organic-matter-rising", "dressing-coarser")
    assert ids(every) == [
        ["bare-ground"],
        ["thatch-deep"],
        ["organic-matter-high", "organic-matter-rising", "dressing-coarser"],
    ]
    assert [(one.of_visit, one.weight) for one in every] == [(True, 4), (True, 3), (False, 4)]


def test_what_the_visit_showed_heads_a_topic_then_the_order_of_the_rules() -> None:
    assert ids(tell("bare-ground", "cover-thin")) == [["cover-thin", "bare-ground"]]
    of_soil = found("organic-matter-high", "dressing-coarser")
    (one,) = told(of_soil, SHIPPED, lambda i: i.name == "sieve_match", NOTHING_SEEN)
    assert [part.rule.id for part in one.parts] == ["dressing-coarser", "organic-matter-high"]
    assert one.of_visit


def test_months_of_a_work_are_those_of_the_parts_that_ask_for_it() -> None:
    (one,) = tell("cover-thin", "bare-ground")
    assert one.works == ("overseeding", "turfing")
    assert one.months("overseeding") == (4, 5, 8, 9, 10)
    assert one.months("turfing") == (4, 5, 8, 9, 10)
    disease = Finding(BY_ID["disease"], (FIGURES["bare-ground"],), (), doubtful=False)
    (any_time,) = told([disease], SHIPPED, bool, NOTHING_SEEN)
    assert any_time.months("dew_removal") == ()


def test_a_finding_says_each_sign_once_and_leads_to_where_it_is_seen() -> None:
    (one,) = tell("cover-thin", "bare-ground")
    refs = {(i.name, i.band): 80 + at for at, i in enumerate(one.figures)}
    made = block(2, replace(one, photos=(1,)), refs, lambda _: "")
    assert (made.lead, made.priority, len(made.signs)) == ("Thin turf", "High priority", 2)
    assert made.rests_on.count("no. ") == 2
    assert made.source.count("what helps: common practice") == 1


@pytest.fixture
def thatch() -> Measured:
    place = Reading("C1, 8 m across", 8.0, 8.0, 19.0, None, None, "", Evidence("o.csv", 2, "observation", 1), "C1")
    return Measured(
        "thatch_depth", "Depth of thatch", "physical", "thatch_mm", "mm", "core", 19.0, 16.0, 21.0, None, 1, (place,),
        None, "", 0,
    )  # fmt: skip


def test_a_photo_is_of_the_findings_read_at_its_place_or_named_by_their_readings(thatch: Measured) -> None:
    shot = Photo("a.jpg", "Core", "c1", b"", "", Evidence("p.csv", 2, "photo", 1))
    elsewhere = replace(shot, file="b.jpg", place="F9")
    no_place = replace(shot, file="d.jpg", place="")
    seen = replace(NOTHING_SEEN, measured=(thatch,), photos=(elsewhere, shot, no_place))
    assert [one.photos for one in tell("thatch-deep", "cover-thin", seen=seen)] == [(), (2,)]
    named = replace(thatch, readings=(replace(thatch.readings[0], photo="b.jpg", spot=""),))
    assert tell("thatch-deep", seen=replace(seen, measured=(named,)))[0].photos == (1,)
