"""The contractor's round-up: sums and lags worked by hand, pages bounded from 1 green to 500, standards, files."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import cache

import page
import pikepdf
import pypdfium2
import pytest

from pipeline.indicators.base.green_season import Evidence, GreenSeason, Indicator
from pipeline.publish import pool
from pipeline.summaries.round_up import green_line, planned_on
from reports.page.document import page_count
from reports.page.house_style import HouseStyle
from reports.round_up import render as document
from reports.round_up import wording as round_up_wording
from tests.outside_checks import outside
from tests.reports import club_sample
from tests.reports.club_sample import round_up
from tests.reports.conftest import VERSION
from tests.reports.test_report_pages import attached, flat, pages_text
from tests.thorough import but_for, thorough

CASES: dict[str, Callable[[], list[GreenSeason]]] = {
    "three": lambda: [club_sample.quiet_green(), club_sample.lower_green(), club_sample.main_green()],
    "one": lambda: [club_sample.quiet_green()],
    "twelve": lambda: club_sample.county(12),
    "five hundred": lambda: club_sample.county(500),
    "hostile": lambda: [club_sample.hostile_green(i) for i in range(3)],
}


@cache
def made(name: str) -> bytes:
    return document.render(round_up(CASES[name]()), version=VERSION)


def plain(words: str) -> str:
    return words.replace("\u202f", " ").replace("\u00a0", " ")


def test_a_figure_that_waits_for_an_entry_has_one_mark() -> None:
    """“8.00 ? ? check”: the mark of the figure, and that of its standing once more."""
    slip = Evidence("jobs.csv", 209, "job")
    one = Indicator("nitrogen_kg_ha", "Nitrogen applied", "", 390.0, "kg/ha", 5, standing="above", target_high=200.0,
                    questioned=(slip,))  # fmt: skip
    cell = document._cell(one, "kg/ha", frozenset({slip}))
    assert (cell.value, cell.mark, cell.standing) == ("390.0", "?", "check")
    assert plain(document._cell(one, "kg/ha", frozenset()).value) == "390.0 ?", (
        "it is judged, and says what it rests on"
    )


def test_greens_stand_by_club_and_sums_are_those_of_the_log() -> None:
    # by hand: as in the summary 7.5 h + 1.25 h = 8.75 h, £180; mowing 1.5 + 1.25, dressing 4 (one without), feed 2
    whole = round_up(CASES["three"]())
    assert [line.green for line in whole.greens] == ["LB-1", "LB-2", "OT-1"]
    assert [(club, number, e.jobs, e.hours, e.cost) for club, _, number, e in whole.clubs] == [
        ("LB", 2, 5, 8.75, 180.0),
        ("OT", 1, 0, None, None),
    ]
    assert [(o, e.jobs, e.hours, e.with_hours) for o, e in whole.operations] == [
        ("Mowing", 2, 2.75, 2),
        ("Top dressing", 2, 4.0, 1),
        ("Fertilising", 1, 2.0, 1),
    ]
    assert (whole.total.jobs, whole.total.hours, whole.total.cost) == (5, 8.75, 180.0)


def test_behind_is_the_plan_on_the_day_less_what_is_on() -> None:
    # by hand: 181 of 364 days from 1 October 2025 to 31 March 2026, so 5 × 181 ÷ 364 = 2.486 kg/m² planned; 3 is on
    # the main green, 1 on the lower: (2.486 − 1) ÷ 5 = 29.7 % of the goal
    lines = {line.green: line for line in round_up(CASES["three"]()).greens}
    assert lines["LB-1"].behind == ()
    (lag,) = lines["LB-2"].behind
    assert (lag.done, lag.goal) == (1.0, 5.0)
    assert lag.planned == pytest.approx(5 * 181 / 364)
    assert lag.share == pytest.approx((5 * 181 / 364 - 1) / 5)
    assert lag.records == "jobs-2026.csv: 12"


def test_a_green_without_a_job_is_missing_not_behind() -> None:
    """Missing is not zero: nobody knows what was done where nothing is logged."""
    line = green_line(club_sample.quiet_green())
    assert line.behind == ()
    assert [gap.kind for gap in line.gaps] == ["jobs", "area", "soil test", "timed bowls"]
    assert line.effort.hours is None


def test_a_total_nobody_knows_is_not_behind_and_none_logged_is() -> None:
    green = club_sample.lower_green()
    unknown = replace(
        green, indicators=(replace(green.indicators[1], value=None),), running=club_sample._dressing(None)
    )
    assert green_line(unknown).behind == ()
    (lag,) = green_line(replace(unknown, indicators=())).behind
    assert lag.done == 0.0
    assert round_up_wording.done_text(lag) == "none logged"


def test_a_small_lag_is_none() -> None:
    # 2.486 planned: 2.0 lags by 0.486 ÷ 5 = 9.7 % of the goal, 1.98 by 10.1 %
    for total, number in ((2.0, 0), (1.98, 1)):
        green = replace(club_sample.lower_green(), running=club_sample._dressing(total))
        assert len(green_line(green).behind) == number


def test_the_plan_is_straight_between_its_points_and_flat_outside() -> None:
    running = club_sample._dressing(None)[0]
    days = (date(2025, 9, 1), date(2025, 10, 1), date(2026, 4, 1), date(2026, 9, 30), date(2027, 1, 1))
    assert [planned_on(running, day) for day in days] == [0.0, 0.0, 2.5, 5.0, 5.0]
    assert planned_on(replace(running, plan=()), days[0]) is None


def test_what_is_due_is_gathered_by_date_with_its_quantity() -> None:
    # by hand: 2.8 + 4.0 = 6.8 t at the least; one green has no upper end, so neither has the sum
    whole = round_up(CASES["three"]())
    first, second = whole.due
    assert (first.what, first.greens, first.low) == ("Look at the green before the next feed", ("LB-1",), None)
    assert (second.greens, second.low, second.high, second.unit) == (("LB-1", "LB-2"), pytest.approx(6.8), None, "t")
    rows = document.view(whole, version=VERSION).due
    assert [(row.by, row.passed, plain(row.quantity)) for row in rows] == [
        ("since 20 March 2026", True, ""),
        ("by 30 September 2026", False, "6.8 t"),
    ]


def test_what_matters_follows_its_rules() -> None:
    said = [plain(line) for line in document.view(round_up(CASES["three"]()), version=VERSION).matters]
    assert said == [
        "1 green is behind an even spread; the farthest is Lower green of Linden Bank Bowls Club: top dressing "
        "1 kg/m² of 2.49 kg/m² by its last day counted.",
        "Overdue on 1 green.",
        "Due at the least, on all greens together: top dressing 6.8 t.",
        "3 greens (LB-1, LB-2 and OT-1) had no visit on record for 21 days or more.",
        "Records are missing or waiting to be mended on 2 greens.",
        "5 jobs logged, at least 8.75 hours and at least £180 of cost.",
    ]


def test_gaps_are_named_with_the_greens_that_have_them() -> None:
    gaps = {
        row.what: (row.count, row.greens) for row in document.view(round_up(CASES["three"]()), version=VERSION).gaps
    }
    assert gaps == {
        "No job logged this season": ("1", "OT-1"),
        "No playing area": ("1", "OT-1"),
        "No soil test this season or the last": ("2", "LB-2, OT-1"),
        "No timed bowls this season": ("2", "LB-2, OT-1"),
        "Material not in the register": ("1", "LB-2"),
        "Rejected rows, not yet corrected": ("1", "LB-2"),
        "Jobs without hours": ("1", "LB-2"),
    }


def test_standing_is_said_in_words_with_its_mark_and_missing_is_not_zero() -> None:
    clubs = document.view(round_up(CASES["three"]()), version=VERSION).clubs
    main, lower = clubs[0].rows
    assert [(c.value, c.mark, c.standing) for c in main.cells] == [
        ("7.2", "▲", "off"),
        ("3.00", "▼", "off"),
        ("40", "●", "on target"),
        ("12.5", "●", "on target"),
    ]
    assert [(c.value, c.standing) for c in lower.cells[2:]] == [("", "not recorded")] * 2
    assert plain(clubs[1].rows[0].last_visit) == "1 Mar 2025"


def test_with_too_many_greens_the_most_pressing_are_printed() -> None:
    whole = round_up(CASES["five hundred"]())
    report = document.view(whole, replace(document.LAYOUT_LEVELS[0], greens=90), version=VERSION)
    shown = [row for club in report.clubs for row in club.rows]
    behind = {line.green for line in whole.greens if line.behind}
    assert len(shown) == 90
    assert {row.code for row in shown} <= behind
    assert plain(report.greens_more) == "410 further greens in the attached greens.csv and figures.csv."
    assert len(report.behind) == 30
    assert plain(report.behind_more) == f"{len(behind) - 30} further lines in the attached behind.csv."


@outside("library", "page-validation 0.11: rules of ISO 14289-1 and ISO 19005-3")
@pytest.mark.parametrize("name", but_for(("three", "one", "twelve", "hostile"), CASES))
@pytest.mark.parametrize("profile", [page.ValidationProfile.PDF_UA_1, page.ValidationProfile.PDF_A_3A])
def test_both_standards_pass(name: str, profile: page.ValidationProfile) -> None:
    report = page.validate_pdf_bytes(made(name), profile=profile)
    assert report.is_compliant, [str(failure) for failure in report.failures]


@pytest.mark.parametrize(
    ("name", "most"),
    [("one", 2), ("three", 2), ("twelve", 3), pytest.param("five hundred", 6, marks=thorough), ("hostile", 6)],
)
def test_pages_are_bounded_and_inside_their_margins(name: str, most: int) -> None:
    assert page_count(made(name)) <= most
    pages = pypdfium2.PdfDocument(made(name))
    for i in range(len(pages)):
        words = pages[i].get_textpage()
        for k in range(words.count_rects()):
            left, _, right, _ = words.get_rect(k)
            assert left >= 16 / 25.4 * 72 - 1.5
            assert right <= 595.28 - 16 / 25.4 * 72 + 1.5, words.get_text_bounded(*words.get_rect(k))


def test_same_season_same_bytes_whatever_the_order_of_greens() -> None:
    assert document.render(round_up(reversed(CASES["three"]())), version=VERSION) == made("three")


def test_every_green_and_every_sum_is_attached_with_its_lines() -> None:
    files = attached(made("five hundred"))
    assert len(files["greens.csv"]) == 500
    few = attached(made("three"))
    dressed = [(r["green"], r["hours"], r["records"]) for r in few["effort.csv"] if r["operation"] == "Top dressing"]
    assert dressed == [("LB-1", "4.0", "jobs-2026.csv: 2"), ("LB-2", "", "jobs-2026.csv: 12")]
    figures = {(r["green"], r["name"]): (r["value"], r["standing"], r["records"]) for r in few["figures.csv"]}
    assert figures["LB-1", "organic_matter_pct"] == ("7.25", "above", "jobs-2026.csv: 3")
    assert [(r["green"], r["passed"]) for r in few["due.csv"]] == [("LB-1", "no"), ("LB-1", "yes"), ("LB-2", "no")]
    described = {(row["file"], row["column"]) for row in few["columns.csv"]}
    assert described == {(name, c) for name, rows in few.items() if name != "columns.csv" for c in rows[0]}


def test_title_names_no_club_and_the_page_says_whose_it_is() -> None:
    with pikepdf.open(io.BytesIO(made("three"))) as pdf:
        assert str(pdf.docinfo.Title) == "Round-up of all greens, season 2026"
    assert flat("For the contractor’s own use: it names every club.") in flat(pages_text(made("three"))[0])


def test_hostile_text_is_printed_and_harmless() -> None:
    said = flat("".join(pages_text(made("hostile"))))
    assert "<script>alert(1)</script>" in said
    assert "\u202e" not in said
    assert flat("characters the typeface of this round-up cannot draw") in said
    for rows in attached(made("hostile")).values():
        assert not [cell for row in rows for cell in row.values() if cell.startswith(("=", "@"))]


def test_us_units_on_the_page_and_si_in_the_data() -> None:
    # NIST SP 811: 1 short ton is 907.18474 kg, so 6.8 t are 7.5 short tons
    shown = document.html(round_up(CASES["three"]()), version=VERSION, house=HouseStyle(units="US"))
    assert "kg/m²" not in shown
    assert "7.5" in plain(shown)
    assert {r["unit"] for r in attached(made("three"))["behind.csv"]} == {"kg/m²"}


def test_a_workspace_may_override_one_block(tmp_path_factory: pytest.TempPathFactory) -> None:
    folder = tmp_path_factory.mktemp("own")
    own = '{% extends "shipped/round-up.html.j2" %}{% block gaps %}<p>Our own words.</p>{% endblock %}'
    (folder / "round-up.html.j2").write_text(own, "utf-8")
    shown = document.html(round_up(CASES["three"]()), version=VERSION, house=HouseStyle(templates=folder))
    assert "Our own words." in shown
    assert "Where data is missing" not in shown


def test_the_pool_knows_the_document() -> None:
    assert pool.renderer_of("round-up") is document.render
