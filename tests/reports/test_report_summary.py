"""The season summary of a club: values summed by hand, two to three pages, standards, and no other club in it."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache

import page
import pikepdf
import pypdfium2
import pytest

from pipeline.indicators.base.green_season import Caution, Due, Evidence, GreenSeason, Indicator, Question
from pipeline.indicators.base.judgement import judgement
from pipeline.publish import pool
from pipeline.summaries.club import club_season
from reports.condition import wording as condition
from reports.page.document import page_count
from reports.page.house_style import HouseStyle
from reports.summary import charts as summary_charts
from reports.summary import render as summary
from tests.outside_checks import outside
from tests.reports import club_sample, sample
from tests.reports.conftest import VERSION
from tests.reports.test_report_pages import attached, elements, flat, pages_text
from tests.thorough import but_for

CASES = {
    "two": lambda: [club_sample.lower_green(), club_sample.main_green()],
    "one": lambda: [club_sample.main_green()],
    "rich": lambda: [sample.rich()],
    "three": lambda: club_sample.many(3),
    "twelve": lambda: club_sample.many(12),
    "empty": lambda: [sample.empty()],
    "hostile": lambda: [club_sample.hostile_green(i) for i in range(3)],
}
NAMES = but_for(("two", "empty", "hostile"), CASES)


@cache
def made(name: str) -> bytes:
    return summary.render(club_season(CASES[name]()), version=VERSION)


def view_of(*greens: GreenSeason) -> summary.SummaryReport:
    return summary.view(club_season(greens), version=VERSION)


def test_sums_are_those_of_the_log_and_say_what_they_lack() -> None:
    # by hand: 4 + 1.5 + 2 = 7.5 h and 120 + 30 + 30 = £180; 1.25 h known of two jobs, no cost; in all 8.75 h of 5 jobs
    club = club_season(CASES["two"]())
    assert [green.green for green in club.greens] == ["LB-1", "LB-2"]
    assert [(e.jobs, e.hours, e.with_hours, e.cost) for e in club.efforts] == [(3, 7.5, 3, 180.0), (2, 1.25, 1, None)]
    assert (club.total.hours, club.total.with_hours, club.total.jobs) == (8.75, 4, 5)
    rows = summary.view(club, version=VERSION).efforts
    assert [(r.green, r.jobs, r.hours, r.cost) for r in rows] == [
        ("Main green", "3", "7.50", "180"),
        ("Lower green", "2", "1.25†", "–"),
        ("All greens", "5", "8.75†", "180†"),
    ]
    note = summary.view(club, version=VERSION).effort_note
    assert note.startswith("† Hours logged for 4 of 5 jobs; cost logged for 3 of 5 jobs")


def test_what_matters_follows_its_rules() -> None:
    said = [line.replace("\u202f", " ").replace("\u00a0", " ") for line in view_of(*CASES["two"]()).matters]
    assert said == [
        "Organic matter (0–20 mm) is above its target on Main green (7.2 %) and on target on Lower green.",
        "Top dressing is below its target on Main green (3.00 kg/m²) and Lower green (1.00 kg/m²).",
        "Nitrogen is on target on Main green.",
        "Green speed is on target on Main green.",
        "Off target: 2 of 5 checks on Main green and 1 of 2 checks on Lower green.",
        "Not recorded: nitrogen and green speed on Lower green.",
        "On the 2 greens together at least 8.75 hours of work and at least £180 of cost are logged.",
        "3 things are due; first: look at the green before the next feed, Main green, since 20 March 2026.",
    ]


def test_what_is_off_on_each_green_stands_in_its_own_report_s_words() -> None:
    """ "Within on every green" stood there, while a green had 6 of 15 checks off."""
    green = club_sample.main_green()
    report = view_of(green, club_sample.lower_green())
    row = report.checks[0]
    said = [judgement(i) for i in green.indicators if i.value is not None and i.standing != "no target"]
    assert (row.green, row.on_target, row.close, row.off) == (
        "Main green", str(said.count("on target")), str(said.count("close")), str(said.count("off")),
    )  # fmt: skip
    own = condition.headline(green)
    assert row.told
    assert all(line in own for line in row.told)
    good = replace(green, indicators=tuple(i for i in green.indicators if i.standing == "within"))
    assert view_of(good).checks[0].more == "Nothing is off target."


@pytest.mark.parametrize("level", summary.LAYOUT_LEVELS)
def test_of_few_greens_all_that_is_off_is_told_however_close_the_pages(level: summary.SummaryLevel) -> None:
    green = club_sample.main_green()
    off = replace(green, indicators=green.indicators * 2)
    row = summary.view(club_season([off]), level, version=VERSION).checks[0]
    assert len(row.told) >= int(row.off) > 1
    many = summary.view(club_season(club_sample.many(6)), level, version=VERSION)
    assert all(len(one.told) <= level.apart for one in many.checks)


def spent(of: GreenSeason, cost: str, hours: float) -> GreenSeason:
    return replace(of, works=(replace(of.works[0], cost=Decimal(cost), hours=hours),))


def test_what_is_printed_adds_up() -> None:
    """7,172.40 and 7,209.30 were printed as 7,172 and 7,209, and their sum as 14,382."""
    one, two = club_sample.main_green(), club_sample.lower_green()
    report = view_of(spent(one, "7172.40", 100.25), spent(two, "7209.30", 74.5))
    cells = [(Decimal(e.cost.replace(",", "")), Decimal(e.hours.replace(",", ""))) for e in report.efforts]
    assert cells == [(Decimal("7172.40"), Decimal("100.25")), (Decimal("7209.30"), Decimal("74.50")),
                     (Decimal("14381.70"), Decimal("174.75"))]  # fmt: skip
    assert any("174.75 hours of work and £14,381.70 of cost are logged" in line for line in report.matters)
    whole = view_of(spent(one, "7172", 100.0), spent(two, "7209", 74.5))
    assert [e.cost for e in whole.efforts] == ["7,172", "7,209", "14,381"]
    assert [e.hours for e in whole.efforts] == ["100.0", "74.5", "174.5"]


def test_where_hours_cannot_add_up_that_is_said() -> None:
    one, two = club_sample.main_green(), club_sample.lower_green()
    report = view_of(spent(one, "1", 25 / 6), spent(two, "1", 25 / 6))
    assert [e.hours for e in report.efforts] == ["4.17", "4.17", "8.33"]
    assert report.effort_note == "Hours are rounded, so the rows do not add up to the last digit."


def test_an_interval_that_reaches_the_target_is_told_as_doubt() -> None:
    green = club_sample.main_green()
    for high, words in ((8.6, "close to a limit of its target on"), (9.6, "known from too few records to say on")):
        one = replace(green.indicators[0], low=5.9, high=high)
        said = view_of(replace(green, indicators=(one, *green.indicators[1:]))).matters[0]
        assert words in said


def test_nothing_recorded_is_said_once_and_nothing_else() -> None:
    report = view_of(sample.empty())
    assert report.matters == (
        "Nothing is recorded for these greens in this season, so this summary can say nothing about them.",
    )
    assert {row.value for panel in report.panels for row in panel.rows} == {"not recorded"}
    assert report.efforts[0].hours == report.efforts[0].cost == "–"


def test_all_greens_of_a_panel_share_one_scale() -> None:
    # by hand: values 7.25 and 5, target up to 6: from 5 − 0.25 × 2.25 to 7.25 + 0.25 × 2.25, on 6 to 102 of 108 units
    panel = view_of(*CASES["two"]()).panels[0]
    left, width = 5 - 0.5625, 2.25 + 2 * 0.5625
    places = [row.strip.value_x for row in panel.rows if row.strip]
    assert places == pytest.approx([6 + 96 * (value - left) / width for value in (7.25, 5.0)], abs=0.01)
    edges = {row.strip.band_width for row in panel.rows if row.strip}
    assert len(edges) == 1
    assert panel.target.replace("\u202f", " ") == "target at most 6 %"
    assert [(row.mark, row.standing) for row in panel.rows] == [("▲", "off"), ("●", "on target")]


def test_targets_that_differ_stand_beside_each_green() -> None:
    lower = club_sample.lower_green()
    other = replace(lower, indicators=tuple(replace(i, target_high=7.0) for i in lower.indicators))
    panel = view_of(club_sample.main_green(), other).panels[0]
    assert panel.target == "target beside each green"
    assert [row.target for row in panel.rows] == ["at most 6", "at most 7"]


def test_charts_of_all_greens_have_one_scale_and_shown_readings() -> None:
    groups = summary_charts.chart_groups(club_season(club_sample.many(4)), height=100, most=12)
    for group in groups:
        scales = {str(c.spec["layer"][-1]["encoding"]["y"]["scale"]["domain"]) for c in group.charts}
        assert len(group.charts) > 1
        assert len(scales) == 1, group.heading
        assert "same scale" in group.caption
        assert all(len(chart.alt) > 40 for chart in group.charts)


def test_the_calendar_has_a_column_a_green_and_one_for_many() -> None:
    few, many = view_of(*CASES["two"]()).calendar, view_of(*club_sample.many(6)).calendar
    assert few.columns == ("Main green", "Lower green")
    assert [(r.work, [c.times for c in r.cells], r.hours) for r in few.rows] == [
        ("Mowing", ["1", "1"], "2.75"),
        ("Top dressing", ["1", "1"], "4.00†"),
        ("Fertilising", ["1", "–"], "2.00"),
    ]
    assert many.columns == ("All greens",)
    assert "works.csv" in many.note


def test_a_caution_of_two_greens_stands_once() -> None:
    report = view_of(*CASES["two"]())
    assert [(words, where) for words, where, _ in report.cautions] == [(club_sample.IRON, "")]
    assert [(weight, where) for weight, where, _ in report.notes] == [("Check", "Lower green")] * 2


def points(of: GreenSeason, number: int) -> GreenSeason:
    caution = Caution(f"Hand-arm vibration: {number} points.", "law", "scarifying", sort="vibration", degree=number)
    return replace(of, cautions=(caution, *of.cautions))


@pytest.mark.parametrize(("first", "second", "said", "gravest", "other"), [
    (143, 167, 167, "Lower green", "Main green"),
    (167, 143, 167, "Main green", "Lower green"),
])  # fmt: skip
def test_of_one_sort_of_caution_the_gravest_green_is_told(
    first: int, second: int, said: int, gravest: str, other: str
) -> None:
    """143 points stood there as the only ones, while another green had 167."""
    one, two = club_sample.main_green(), club_sample.lower_green()
    report = view_of(points(one, first), points(two, second))
    assert [(words, where) for words, where, _ in report.cautions] == [
        (f"Hand-arm vibration: {said} points.", f"Worst on {gravest}; no more than that on {other}"),
        (club_sample.IRON, ""),
    ]


def test_a_caution_with_one_greens_figures_names_that_green() -> None:
    one, two = club_sample.main_green(), club_sample.lower_green()
    where = [place for _, place, _ in view_of(one, points(two, 90)).cautions]
    assert where == ["", "On Lower green"]
    assert [place for _, place, _ in view_of(points(one, 90)).cautions] == ["", ""]


@outside("library", "page-validation 0.11: rules of ISO 14289-1 and ISO 19005-3")
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("profile", [page.ValidationProfile.PDF_UA_1, page.ValidationProfile.PDF_A_3A])
def test_both_standards_pass(name: str, profile: page.ValidationProfile) -> None:
    report = page.validate_pdf_bytes(made(name), profile=profile)
    assert report.is_compliant, [str(failure) for failure in report.failures]


@pytest.mark.parametrize("name", NAMES)
def test_four_pages_at_most_inside_their_margins(name: str) -> None:
    assert 1 <= page_count(made(name)) <= (3 if name in ("one", "rich", "empty") else 4)
    document = pypdfium2.PdfDocument(made(name))
    for i in range(len(document)):
        words = document[i].get_textpage()
        for k in range(words.count_rects()):
            left, _, right, _ = words.get_rect(k)
            assert left >= 16 / 25.4 * 72 - 1.5
            assert right <= 595.28 - 16 / 25.4 * 72 + 1.5, words.get_text_bounded(*words.get_rect(k))


def test_same_season_same_bytes_whatever_the_order_of_greens() -> None:
    again = summary.render(club_season(list(reversed(CASES["two"]()))), version=VERSION)
    assert again == made("two")


def test_every_green_is_attached_with_file_and_line() -> None:
    files = attached(made("two"))
    assert sorted(files) == ["about.csv", "columns.csv", "indicators.csv", "notes.csv", "readings.csv", "works.csv"]
    places = {(r["green"], r["name"], r["evidence_file"], r["evidence_line"]) for r in files["indicators.csv"]}
    assert ("LB-1", "dressing_kg_m2", club_sample.JOBS, "2") in places
    assert ("LB-2", "dressing_kg_m2", club_sample.JOBS, "12") in places
    hours = [float(r["hours"]) for r in files["works.csv"] if r["hours"]]
    assert (len(files["works.csv"]), sum(hours)) == (5, 8.75)
    described = {(row["file"], row["column"]) for row in files["columns.csv"]}
    assert described == {(name, c) for name, rows in files.items() if name != "columns.csv" for c in rows[0]}


def test_no_other_club_is_in_it() -> None:
    """The bundle is refused where another club's green is among them, and holds the words of its own greens alone."""
    with pytest.raises(AssertionError, match="one club"):
        club_season([club_sample.main_green(), club_sample.quiet_green()])
    pdf = made("two")
    with pikepdf.open(io.BytesIO(pdf)) as document:
        told = "".join(pages_text(pdf)) + str(document.docinfo) + str(document.open_metadata())
        told += "".join(item.get_file().read_bytes().decode() for item in document.attachments.values())
    for word in ("Otterhay", "OT-1", "Orchard green"):
        assert word not in told
    assert "Linden Bank" in told


def test_every_picture_has_words() -> None:
    with pikepdf.open(io.BytesIO(made("three"))) as document:
        alts = [str(e.Alt) for e in elements(document) if e.S == "/Figure"]
    assert len(alts) > 10
    assert all(len(alt) > 15 for alt in alts)
    assert any(alt.startswith("Green 0. Organic matter") for alt in alts)


def test_hostile_text_is_printed_and_harmless() -> None:
    said = flat("".join(pages_text(made("hostile"))))
    assert "<script>alert(1)</script>" in said
    assert "\u202e" not in said
    assert "root:" not in said
    for rows in attached(made("hostile")).values():
        assert not [cell for row in rows for cell in row.values() if cell.startswith(("=", "@"))]


def test_us_units_on_the_page_and_si_in_the_data() -> None:
    # NIST SP 811: 1 lb is 0.45359237 kg, 1 ft is 0.3048 m, so 3 kg/m² are 614.4 lb/1000 ft²
    shown = summary.html(club_season(CASES["two"]()), version=VERSION, house=HouseStyle(units="US"))
    assert "kg/m²" not in shown.split("How each figure was made")[0]
    assert "614\u202flb/1000\u00a0ft²" in shown
    assert {r["unit"] for r in attached(made("two"))["indicators.csv"]} == {"%", "kg/m²", "kg/ha", "s"}


def test_a_workspace_may_override_one_block(tmp_path_factory: pytest.TempPathFactory) -> None:
    folder = tmp_path_factory.mktemp("own")
    own = '{% extends "shipped/summary.html.j2" %}{% block effort %}<p>Our own words.</p>{% endblock %}'
    (folder / "summary.html.j2").write_text(own, "utf-8")
    shown = summary.html(club_season(CASES["two"]()), version=VERSION, house=HouseStyle(templates=folder))
    assert "Our own words." in shown
    assert "Hours and cost" not in shown
    assert "The greens side by side" in shown


def test_the_pool_knows_the_document() -> None:
    assert pool.renderer_of("summary") is summary.render


def doubted() -> GreenSeason:
    """The main green, its nitrogen off by an entry under a warning."""
    green = club_sample.main_green()
    place = Evidence("jobs.csv", 209, "job", 1)
    entry = Question(place, "500 kg is far above what is held to be the most at once.", ("Nitrogen",))
    fed = Indicator("nitrogen_kg_ha", "Nitrogen (N) applied", "", 390.0, "kg/ha", 5, target_low=80.0, target_high=120.0,
                    standing="above", family="feeding", questioned=(place,))  # fmt: skip
    others = [one for one in green.indicators if one.name != fed.name]
    return replace(green, indicators=(*others, fed), questions=(entry,))


def test_what_waits_for_an_entry_is_not_told_as_off() -> None:
    """ "Nitrogen is above its target" stood above a page that says to ignore the figure until the entry is settled."""
    said = view_of(doubted())
    (nitrogen,) = [one for one in said.matters if one.startswith("Nitrogen")]
    assert nitrogen.replace("\u202f", " ") == "Nitrogen on Main green (390.0 kg/ha) waits for an entry to be checked."
    (row,) = said.checks
    told = [one.startswith("Waits for an entry to be checked: nitrogen (N) applied is 390") for one in row.told]
    assert told == [False] * (len(told) - 1) + [True]
    assert len(said.questions) == 1 and said.rejected == ()


def test_rows_that_were_rejected_stand_below_what_matters() -> None:
    """A misspelt word of one job was the first thing that a committee read."""
    row = Question(Evidence("jobs.csv", 3, "job", 1), "Not a known operation.", ("Hours",), rejected=True)
    shown = view_of(replace(doubted(), questions=(*doubted().questions, row)))
    assert [len(one) for one in (shown.questions, shown.rejected)] == [1, 1]
    page = summary.html(club_season([replace(club_sample.main_green(), questions=(row,))]), version=VERSION)
    assert page.index("What matters") < page.index("Rejected rows to correct")
    assert "Check these entries first" not in page


def test_a_way_that_made_the_figure_of_one_green_alone_names_it() -> None:
    """Two lines were numbered 1, and nothing said of which green each was."""
    main, lower = club_sample.main_green(), club_sample.lower_green()
    topic = club_season([main, lower]).topics[0]
    changed = [replace(one, method="Burned at 360 °C") if one.name == topic.name else one for one in lower.indicators]
    told = [
        one.method for one in view_of(main, replace(lower, indicators=tuple(changed))).methods if "1" in one.numbers
    ]
    assert len(told) == 2
    assert told[0].startswith("Main green: ") and told[1].startswith("Lower green: Burned at 360")
    assert not any("green: " in one.method for one in view_of(main, replace(lower, indicators=main.indicators)).methods)


def test_days_to_come_are_a_range_and_what_is_late_keeps_its_words() -> None:
    """ "Between 15 and 21 March 2027" took two lines of a column beside an empty one."""
    coming = Due("Tining", "once", "between 15 and 21 March 2027", "", day=date(2027, 3, 21), first=date(2027, 3, 15),
                 operation="solid_tining", state="not due yet")  # fmt: skip
    late = replace(coming, by="by 21 March 2027 (passed)", state="overdue", overdue=True)
    shown = view_of(replace(club_sample.main_green(), due=(coming, late))).due
    assert sorted(re.sub("[\u2060\u00a0]", lambda one: " " * (one[0] == "\u00a0"), one.by) for one in shown) == [
        "15–21 Mar 2027",
        "by 21 March 2027 (passed)",
    ]
