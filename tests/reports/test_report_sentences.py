"""Sentences and marks that say no more than their figures."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from pipeline.findings.findings import findings, rules
from pipeline.indicators.base.green_season import GreenSeason, Indicator, Sample, Verdict
from pipeline.indicators.families import DESCRIBED
from pipeline.indicators.surface.readings import Change
from pipeline.statistics.difference import Difference
from pipeline.summaries.changes import changes
from pipeline.summaries.club import club_season
from pipeline.survey.told import Told
from reports.condition import wording
from reports.page import changes as over_years
from reports.page import figures
from reports.page.charts import charts
from reports.summary import charts as summary_charts
from reports.summary import render as summary
from reports.survey import findings as survey_findings
from reports.survey.measured import since
from tests.reports import club_sample, sample
from tests.reports.conftest import VERSION


def plain(words: str) -> str:
    return words.replace("\u202f", " ").replace("\u00a0", " ")


def trend(label: str, band: str, clear: bool) -> Indicator:
    word = "falling" if clear else "no clear change"
    return Indicator("x", label, band, -0.4, "%", 9, verdict=Verdict(word, "9 samples", 0.01 if clear else 0.4))


def test_what_was_tested_is_named_whether_or_not_it_changed() -> None:
    """ "No clear change over the years on 2 greens tested." did not say of what."""
    still = {
        "A": (trend("Organic matter, change a year", "0–20 mm", False), trend("Green speed, change a year", "", False)),
        "B": (trend("Organic matter, change a year", "20–40 mm", False),),
    }
    assert [plain(one) for one in over_years.sentences(changes(still), str)] == [
        "No clear change over the years on 2 greens tested (organic matter and green speed)."
    ]
    moved = {**still, "C": (trend("Organic matter, change a year", "0–20 mm", True),)}
    (said,) = over_years.sentences(changes(moved), str)
    assert plain(said).startswith(
        "A real change over the years on 1 of 3 greens tested (organic matter and green speed): "
        "C (organic matter 0–20 mm falling). Where nothing changed"
    )


def test_how_often_chance_shows_a_change_is_told_in_greens_that_there_are() -> None:
    """ "Chance would still show one on 0.1 of them": nobody has a tenth of a green."""
    for number, said in ((2, "on 1 green in 20 at most."), (40, "on 2.0 of them at most.")):
        every = {str(i): (trend("Organic matter, change a year", "", not i),) for i in range(number)}
        (told,) = over_years.sentences(changes(every), str)
        assert told.endswith(f"chance would still show one {said}")


@pytest.mark.parametrize("off", [0, 1, 2])
def test_figures_off_beside_the_four_are_counted_on_the_clubs_page(off: int) -> None:
    """Page one spoke of four figures; a green whose levels and thatch were off read as if nothing were."""
    more = tuple(
        Indicator(f"y{i}_mm", f"Depth {i}", "", 19.0, "mm", 5, target_high=12.0, standing="above") for i in range(off)
    )
    close = Indicator("z_mm", "Depth z", "", 11.0, "mm", 5, 10.0, 13.0, target_high=12.0, standing="within")
    green = club_sample.main_green()
    club = club_season([replace(green, indicators=(*green.indicators, *more, close))])
    said = [plain(one) for one in summary.view(club, version=VERSION).matters]
    told = [one for one in said if one.startswith("Off target")]
    # Of the sample's own five checks two are off; the close one beside them is a sixth.
    assert told == [f"Off target: {2 + off} of {6 + off} checks on Main green."]


def test_a_total_of_a_season_that_runs_is_on_target_so_far() -> None:
    green = club_sample.main_green()
    fed = tuple(replace(one, so_far=one.name == "nitrogen_kg_ha") for one in green.indicators)
    report = summary.view(club_season([replace(green, indicators=fed)]), version=VERSION)
    assert "Nitrogen is on target so far on Main green." in map(plain, report.matters)
    assert report.panels[2].rows[0].standing == "on target so far"
    assert report.panels[3].rows[0].standing == "on target"


def test_what_is_about_the_crew_stands_behind_what_is_about_the_green() -> None:
    """A(8) headed a club's page one: it is the crew's exposure, and the farthest from its value as a share."""
    a8 = Indicator("vibration_a8_m_s2", "Hand-arm vibration, highest daily exposure A(8)", "", 25.0, "m/s²", 45,
                   target_high=2.5, standing="above", reached=True)  # fmt: skip
    depth = Indicator("thatch_mm", "Depth of thatch", "core", 12.2, "mm", 5, target_high=12.0, standing="above")
    near = replace(depth, band="b", value=11.9, low=11.0, high=12.4, standing="within")
    empty = replace(sample.empty(), due=())
    said = [plain(one) for one in wording.headline(replace(empty, indicators=(a8, near, depth)))]
    assert [one.partition(" is ")[0] for one in said[1:4]] == [
        "Depth of thatch (core)",
        "Depth of thatch (b)",
        "Hand-arm vibration, highest daily exposure A(8)",
    ]
    assert said[3].endswith(" is 25.0 m/s², off its target of under 2.5 m/s².")
    three = tuple(replace(depth, band=str(i)) for i in range(3))
    assert not any("Hand-arm" in one for one in wording.headline(replace(empty, indicators=(a8, *three))))


def test_a_bar_of_one_figure_and_one_limit_tells_how_far_they_are_apart() -> None:
    """Whatever the two numbers, they stood in the same two places: 21 and 5,000 of at least 20 looked alike."""
    near, far = (
        figures.strip(Indicator("p", "P", "", value, "mg/kg", 1, target_low=20.0, standing="within"))
        for value in (21.0, 100.0)
    )
    assert near and far and near.band_x is not None and far.band_x is not None
    width = figures.STRIP_WIDTH - 2 * figures.STRIP_PAD
    assert near.band_x == pytest.approx(figures.STRIP_PAD + width * 20 / (21 * 1.25), abs=0.01)
    assert far.band_x == pytest.approx(figures.STRIP_PAD + width * 20 / (100 * 1.25), abs=0.01)
    assert near.value_x == pytest.approx(far.value_x)
    with_interval = Indicator("p", "P", "", 21.0, "mg/kg", 3, 20.5, 21.5, target_low=20.0, standing="within")
    own_scale = figures.strip(with_interval)
    assert own_scale and own_scale.band_x is not None and own_scale.band_x < 30
    assert figures.strip(Indicator("t", "T", "", -3.0, "°C", 1, target_low=-5.0, standing="within")) is None
    assert figures.strip(Indicator("t", "T", "", 0.0, "mm", 1, target_high=0.0, standing="within")) is not None


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (0, ""),
        (1, "1 comparison with the visit before, each at 95 %: if nothing changed, chance would still show 0.05 of "
            "them as a change."),
        (14, "14 comparisons with the visit before, each at 95 %: if nothing changed, chance would still show 0.7 of "
             "them as a change."),
    ],
)  # fmt: skip
def test_comparisons_of_two_visits_say_how_many_chance_would_call_a_change(number: int, said: str) -> None:
    assert plain(over_years.comparisons(number)) == said


def test_the_interval_of_a_change_shows_whether_it_leaves_zero_out() -> None:
    """ "−7 (−14 to 0): lower" says two things."""
    lower = Change(date(2025, 9, 18), 89.0, Difference(-7.2, -14.1, -0.3))
    assert plain(since(lower, 0, "", dated=False)) == "−7 (−14.1 to −0.3): lower"
    none = Change(date(2025, 9, 18), 89.0, Difference(-7.2, -14.1, 0.2))
    assert plain(since(none, 0, "", dated=False)) == "−7 (−14 to 0): no change shown"
    barely = Change(date(2025, 9, 18), 89.0, Difference(-7.2, -14.1, -0.001))
    assert plain(since(barely, 0, "", dated=False)).endswith(": lower")


def test_a_finding_names_who_set_the_limit_it_rests_on() -> None:
    """A club's own limit was printed as "the target's own source", or as the magazine's that the rule had in mind."""
    cover = Indicator("cover_pct", "Ground cover", "point quadrat", 70.0, "%", 10, 65.0, 75.0, 90.0, None,
                      "agreed with the committee, 12 January 2023", "below", family="sward")  # fmt: skip
    loi = replace(cover, name="organic_matter_pct", label="Organic matter", band="0–20 mm", standing="above",
                  target_low=None, target_high=6.0, target_source="the county's own, no published source")  # fmt: skip
    for one, source in ((cover, cover.target_source), (loi, loi.target_source)):
        (found,) = findings([one], rules())
        told = Told((found,), of_visit=True)
        block = survey_findings.block(1, told, {(one.name, one.band): 1}, lambda _: "")
        assert block.source == f"Limit: {source}; what helps: common practice, no source."


def test_every_rule_that_judges_by_a_target_names_the_target_in_force() -> None:
    judging = [rule for rule in rules() if rule.all[0].standing in ("above", "below")]
    assert len(judging) > 10
    assert {rule.source for rule in judging} == {"limit: {source}; what helps: common practice, no source"}


def asked_season() -> GreenSeason:
    """A green with one sampling of organic matter in question, the one before the latest."""
    green = club_sample.main_green()
    (series,) = green.series
    first, *others = series.samples
    return replace(green, series=(replace(series, samples=(replace(first, questioned=True), *others)),))


def test_a_sampling_in_question_is_marked_over_the_years_and_in_the_clubs_panels() -> None:
    done = asked_season()
    group = next(one for one in charts.chart_groups(done) if one.kind == "years")
    (panels, *_) = summary_charts.chart_groups(club_season([done, club_sample.lower_green()]), height=100, most=12)
    for drawn in (group, panels):
        assert "?: rests on an entry to be checked." in drawn.caption
        spec, days = drawn.charts[0].spec, [one.date for one in done.series[0].samples]
        marks = [row["day"] for one in spec["layer"] for row in one["data"]["values"] if row.get("label") == "?"]
        assert set(marks) == {days[0].isoformat()}
        assert "rests on an entry to be checked" in drawn.charts[0].alt
    sure = next(one for one in charts.chart_groups(club_sample.main_green()) if one.kind == "years")
    assert "?" not in sure.caption


def test_the_latest_sampling_has_the_mark_beside_its_number() -> None:
    green = club_sample.main_green()
    (series,) = green.series
    latest: Sample = replace(series.samples[-1], questioned=True)
    done = replace(green, series=(replace(series, samples=(*series.samples[:-1], latest)),))
    group = next(one for one in charts.chart_groups(done) if one.kind == "years")
    spec = group.charts[0].spec
    labels = {row["label"] for one in spec["layer"] if one["mark"]["type"] == "text" for row in one["data"]["values"]}
    assert labels == {f"{latest.value:.1f}\u00a0?"}


def test_a_unit_has_one_spelling() -> None:
    """Two figures of one table stood in meq/100g and meq/100 g."""
    spelled: dict[str, set[str]] = {}
    for one in DESCRIBED.values():
        spelled.setdefault(one.unit.replace(" ", "").replace("³", "3"), set()).add(one.unit)
    assert {key: found for key, found in spelled.items() if len(found) > 1} == {}
