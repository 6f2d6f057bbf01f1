"""The handout of a meeting: one page for up to four greens, no decision dropped, and an e-mail of its own words."""

from __future__ import annotations

import ctypes
import io
import re
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache

import page
import pikepdf
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.first_page.build import alone
from pipeline.first_page.handout import Handout, handout
from pipeline.indicators.base.first_page import Action, Amounts, Check, Decider, Found, Hollows, LoggedSum, Spent
from pipeline.indicators.base.green_season import Evidence, GreenSeason, Indicator, Question
from reports.condition.first.found import found_line
from reports.handout import render
from reports.handout.level import LEVELS
from reports.handout.message import GREETING, WIDTH, message
from reports.handout.view import HandoutReport, view
from reports.page.document import TEMPLATES
from reports.page.effort import adding_up
from reports.page.house_style import PLAIN, HouseStyle
from reports.page.own_text import html_of
from tests.outside_checks import outside
from tests.reports import club_sample
from tests.reports.conftest import VERSION
from tests.reports.test_report_pages import elements, flat, pages_text

FILES = ("LB-handout-2026.pdf", "LB-1-condition-2026.pdf", "LB-2-condition-2026.pdf")
HOUSE = HouseStyle(name="Vale Grounds", address="2 Mill Lane", prepared_for="The committee", number="VG {file}",
                   file="LB-handout-2026", signatures={"handout": ("For the club",)}, units="US", paper="Letter",
                   texts={"handout-closing.md": html_of("Bring this page to the meeting.")})  # fmt: skip


def action(what: str, who: Decider, cost: str | None, finding: int = 0, **more: object) -> Action:
    """A work of March with a cost, or one that is not priced."""
    money = None if cost is None else Decimal(cost)
    answers = (finding,) if finding else ()
    return Action(what, who, ("mowing",), answers, lines=1, first=date(2027, 3, 1), last=date(2027, 3, 31),
                  cost=money, priced=int(money is not None), of=1, **more)  # type: ignore[arg-type]  # fmt: skip


MAIN = (
    action("Dress the green", "Committee", "784.40", 1, amounts=(Amounts(4.5, 6.0, "t"),), materials=("70/30 mix",)),
    action("Scarifying", "Committee", None),
    action("Feed", "Greenkeeper", "301.20"),
    action("Drag matting", "Greenkeeper", "83.00"),
    action("Wetting agent", "Greenkeeper", "64.90"),
    action("Moss treatment", "Licensed person", None),
)
LOWER = (action("Scarifying", "Committee", "95.20"), action("Feed", "Greenkeeper", "38.10"))


def spent(cost: str | None, hours: str, known: int, jobs: int) -> Spent:
    money = LoggedSum(None if cost is None else Decimal(cost), 0 if cost is None else known, jobs)
    last = LoggedSum(Decimal("6000.00"), 30, 30)
    return Spent("2026", "2025", False, money, LoggedSum(Decimal(hours), known, jobs), None, last,
                 LoggedSum(Decimal(200), 30, 30), None)  # fmt: skip


def paged(season: GreenSeason, actions: tuple[Action, ...], took: Spent, entries: int = 0, **more: str) -> GreenSeason:
    """A green with its first page, so many entries of it under a warning."""
    lines = [Evidence("jobs.csv", 10 + 3 * i, "job", 1) for i in range(entries)]
    checks = tuple(Check(Question(line, "500 kg is far above what is held to be the most at once.", ("Nitrogen",)))
                   for line in lines)  # fmt: skip
    made = replace(alone(season), actions=actions, spent=took, checks=checks, season_due="2027", looks=("time bowls",))
    return replace(season, first=made, **more)  # type: ignore[arg-type]


def club(greens: int = 2, entries: int = 0) -> Handout:
    """The main green, then the lower one again and again."""
    lower = club_sample.lower_green()
    first = paged(club_sample.main_green(), MAIN, spent("7172.40", "231", 40, 40), entries)
    others = [
        paged(lower, LOWER, spent("7209.30", "243.75", 40, 40), green=f"LB-{i}", green_name=f"Green {i}")
        for i in range(2, greens + 1)
    ]
    return handout([*others, first])


def report(of: Handout, level: int = 0) -> HandoutReport:
    return view(of, LEVELS[level], version=VERSION)


@cache
def made(name: str) -> bytes:
    return render.render(*{"two": (club(2, 1),), "US": (club(),), "four": (club(4, 2),)}[name], version=VERSION,
                         house=HOUSE if name == "US" else PLAIN)  # fmt: skip


NAMES = ("two", "US", "four")


@outside("library", "page-validation 0.11: rules of ISO 14289-1 and ISO 19005-3")
@pytest.mark.parametrize("name", NAMES)
def test_it_is_one_page_and_breaks_no_standard(name: str) -> None:
    pdf = made(name)
    assert len(pypdfium2.PdfDocument(pdf)) == 1
    for profile in (page.ValidationProfile.PDF_UA_1, page.ValidationProfile.PDF_A_3A):
        found = page.validate_pdf_bytes(pdf, profile=profile)
        assert found.is_compliant, [str(failure) for failure in found.failures]


@pytest.mark.parametrize("name", NAMES)
def test_no_type_is_smaller_than_9_pt(name: str) -> None:
    words = pypdfium2.PdfDocument(made(name))[0].get_textpage()
    sizes = set()
    for at in range(words.count_chars()):
        matrix = pdfium.FS_MATRIX()
        if not chr(pdfium.FPDFText_GetUnicode(words.raw, at)).isspace():
            assert pdfium.FPDFText_GetMatrix(words.raw, at, ctypes.byref(matrix))
            sizes.add(round(pdfium.FPDFText_GetFontSize(words.raw, at) * abs(matrix.d), 2))
    assert min(sizes) >= 8.99, sorted(sizes)


def test_what_the_house_has_of_its_own_stands_on_it() -> None:
    said = flat(pages_text(made("US"))[0])
    for words in ("Vale Grounds", "For: The committee", "No. VG LB-handout-2026", "Bring this page", "For the club"):
        assert flat(words) in said
    assert flat("4.96–6.61 short tons") in said, "4.5 to 6 t, and a short ton is 907.18474 kg"


def test_the_entry_comes_first_and_its_table_has_the_committee_s_answers() -> None:
    said = flat(pages_text(made("two"))[0])
    places = [said.index(flat(words)) for words in ("Check one entry first", "Spent on both greens", "What to do, and")]
    assert places == sorted(places)
    assert flat("Main green: jobs.csv, line 10: 500 kg is far above") in said
    assert said.count("YesNo") == 3
    with pikepdf.open(io.BytesIO(made("two"))) as document:
        tags = [str(one.S) for one in elements(document)]
    assert {"/H1", "/H2", "/Table", "/TH"} <= set(tags)


def test_sums_are_of_unrounded_figures_and_printed_digits_add_up() -> None:
    """7,172.40 + 7,209.30 = 14,381.70; in whole pounds 7,172 + 7,209 would come to 14,381, and the sum to 14,382."""
    shown = report(club())
    assert [f"{one.value} {one.unit}".strip() for one in shown.sums] == [
        "£14,381.70", "474.8 hours", "£1,360", "3\u00a0questions",
    ]  # fmt: skip
    assert shown.sums[3].below == "£880, priced so far (2 of 3 in full)"
    assert shown.greens[0].spent.startswith("Spent on the green: £7,172.40 (last season £6,000).")
    assert "243.8 hours" in shown.greens[1].spent


@given(st.lists(st.one_of(st.none(), st.decimals(0, 9999, places=2)), max_size=6))
def test_the_digits_chosen_always_add_up(parts: list[Decimal | None]) -> None:
    digits = adding_up(parts)
    known = [part for part in parts if part is not None]
    step = Decimal(1).scaleb(-digits)
    halves = [(part / step + Decimal("0.5")) // 1 * step for part in known]
    assert sum(halves) == (sum(known, Decimal(0)) / step + Decimal("0.5")) // 1 * step


def test_a_sum_that_is_not_complete_says_of_how_many() -> None:
    some = paged(club_sample.lower_green(), LOWER, spent(None, "60", 31, 40))
    both = handout([club().greens[0], some])
    assert [one.below for one in report(both).sums[:2]] == ["logged for 40 of 80 jobs", "logged for 71 of 80 jobs"]
    none = replace(some, first=replace(some.first, spent=replace(spent("1", "1", 0, 0), cost=LoggedSum(None, 0, 0))))
    shown = report(handout([club().greens[0], none]))
    assert shown.sums[0].label == "Spent on 1 of 2 greens"
    assert shown.unlogged.startswith("No job of this season is logged of Lower green")


def test_the_sum_is_that_of_the_rows_at_every_level() -> None:
    """784.40 → 780, 301.20 → 300, 83 → 80, 64.90 → 60; 95.20 → 100 and 38.10 → 40: 1,360, at every level the same."""
    for level in range(len(LEVELS)):
        shown = report(club(), level)
        assert (shown.todo[0].label, shown.todo[0].total) == ("Priced so far (4 of 6 in full)", "£1,220")
        assert shown.todo_total == "£1,360"
        for green, total in zip(shown.todo, (1220, 140), strict=True):
            assert sum(int(row.cost[1:]) for row in green.rows if row.cost[0] == "£") == total


def test_no_level_drops_a_warning_or_a_decision() -> None:
    of = club(2, entries=5)
    asked = {row.what for row in report(of).todo[0].rows if row.who == "Committee"}
    assert asked == {"Dress the green", "Scarifying"}
    for level in range(len(LEVELS)):
        shown = report(of, level)
        assert {row.what for row in shown.todo[0].rows if row.who == "Committee"} == asked
        assert "Moss treatment" in {row.what for row in shown.todo[0].rows}
        said = " ".join(f"{one.lead} {one.words}" for one in shown.checks)
        assert {int(line) for line in re.findall(r"\b\d\d\b", said)} == {10, 13, 16, 19, 22}, said
        assert shown.checks_heading == "Check five entries first"
        assert len(shown.greens[0].found) in (1, 2)
        assert shown.greens[0].verdict and shown.greens[0].counts


def test_routine_that_has_no_room_is_counted_with_its_cost() -> None:
    rows = report(club(), len(LEVELS) - 1).todo[0].rows
    assert [(row.what, row.cost) for row in rows[2:]] == [
        ("Moss treatment", "not priced"), ("And 3 more in the report", "£440"),
    ]  # fmt: skip


@pytest.mark.parametrize("house", [PLAIN, HOUSE], ids=["ours", "US"])
@pytest.mark.parametrize("of", [club(), club(4, 3)], ids=["two", "four"])
def test_the_e_mail_has_no_figure_and_no_word_that_the_page_has_not(of: Handout, house: HouseStyle) -> None:
    """At whichever level the page is set: every number of the text stands on it, and every sentence of a finding."""
    text = message(of, FILES, house)
    told = text.partition("Attached:")[0].removeprefix("Subject: ")
    numbers = set(re.findall(r"\d[\d,.]*\d|\d", told.replace(GREETING, "")))
    own = render.shown(of, house)
    for level in LEVELS:
        shown = repr(view(own, level, version=VERSION, units=house.units)).replace("\\u202f", " ").replace("\\xa0", " ")
        there = set(re.findall(r"\d[\d,.]*\d|\d", shown))
        lines = {line for low, high in re.findall(r"(\d+)–(\d+)", told) for line in (low, high)}
        assert numbers - there <= lines, (level.name, numbers - there)


def test_the_e_mail_is_plain_text_for_a_person_to_send() -> None:
    lines = message(club(2, 1), FILES, HOUSE).splitlines()
    assert lines[0] == "Subject: Linden Bank Bowls Club: the greens in season 2026"
    assert lines[2] == GREETING
    assert max(map(len, lines)) <= WIDTH == 76
    assert not any(line.startswith(("#", "-", "*", "|")) or "**" in line for line in lines)
    assert lines[lines.index("Attached:") + 1 :] == [
        *(f"  {name}" for name in FILES),
        "",
        "Vale Grounds",
        "2 Mill Lane",
    ]
    said = " ".join(lines)
    assert (
        "The committee decides: dress the green (4.96–6.61 short tons, March, £780); scarifying (once, March, not"
        in said
    )
    assert "The greenkeeper does: feed, drag matting and wetting agent." in said
    assert "A licensed person decides about: moss treatment." in said


def test_greens_with_long_or_like_names_are_told_apart() -> None:
    """Names were cut at 48 characters, so that three greens of a club read the same."""
    long = "The lower green beside the river at Nether Wallop, number"
    named = [replace(one, green_name=f"{long} {i}" if i < 2 else "The green") for i, one in enumerate(club(4).greens)]
    shown = report(handout(named))
    codes = [one.green for one in named]
    assert [one.green for one in shown.greens] == [
        f"{long} 0", f"{long} 1", f"The green ({codes[2]})", f"The green ({codes[3]})",
    ]  # fmt: skip
    assert [one.green for one in shown.todo] == [one.green for one in shown.greens]


def test_a_club_with_one_green_has_one_too() -> None:
    shown = report(club(1))
    assert shown.one and shown.about.startswith("Main green, 1")
    assert shown.sums[0].label == "Spent on the green"
    assert shown.greens[0].spent == ""


def test_four_greens_with_five_decisions_each_fit_one_page() -> None:
    """The most that was tried; what is more goes onto a second page, and nothing is dropped."""
    asked = tuple(action(f"Work {i}", "Committee", "120") for i in range(5))
    greens = [
        paged(club_sample.main_green(), (*asked, *MAIN[2:5]), spent("7172.40", "231", 40, 40), 3, green=f"LB-{i}")
        for i in range(4)
    ]
    assert len(pypdfium2.PdfDocument(render.render(handout(greens), version=VERSION))) == 1


def test_what_is_not_priced_is_said_in_words_and_no_dash_stands_for_it() -> None:
    """ "To do, season 2027: – (nothing of this is priced)" and "Nothing of this is priced: –." were sent to a club."""
    bare = paged(club_sample.lower_green(), (action("Scarifying", "Committee", None),), spent("60", "60", 31, 40))
    text = " ".join(message(handout([bare]), FILES, PLAIN).split())
    assert "Nothing of this is priced. Spent on the green" in text
    assert "To do, season 2027: not priced. The committee decides: 1 question (nothing of this is priced)." in text
    assert not re.search(r"(?<!\w)–(?!\w)", text)
    assert text.startswith("Subject: Linden Bank Bowls Club: the green in season 2026")


def test_a_log_that_begins_late_is_told_where_its_sums_stand() -> None:
    late = replace(spent("60", "60", 40, 40), log_begins=date(2026, 3, 6))
    one = report(handout([paged(club_sample.lower_green(), LOWER, late)]))
    assert [cell.below.replace("\u00a0", " ") for cell in one.sums[:2]] == ["logged from 6 Mar 2026"] * 2
    both = report(handout([club().greens[0], paged(club_sample.lower_green(), LOWER, late)]))
    assert both.sums[0].below.replace("\u00a0", " ") == "part of the season on 1 green"
    assert "logged from" in both.greens[1].spent and "logged from" not in both.greens[0].spent


def test_a_place_on_the_green_is_told_from_a_corner_that_the_page_names() -> None:
    """ "From corner 0" is of a map that a handout has not."""
    low = Hollows(1, 14.8, 30.0, 28.0, 5, 3.0, 0.8)
    of = Found("", Indicator("level_deviation_mm", "Level", "", 14.8, "mm", 5, target_high=6.0), hollows=low)
    assert "(from corner 0)" in found_line(1, of, "metric").words
    green = club().greens[0]
    assert green.first is not None
    shown = report(handout([replace(green, first=replace(green.first, found=(of,)))]))
    assert "(from the survey’s corner 0)" in shown.greens[0].found[0].words


def test_the_number_of_the_report_stands_whole_on_a_line() -> None:
    """It was broken at one of its hyphens."""
    lines = [line.replace("\u00a0", " ") for page in pages_text(made("US")) for line in page.splitlines()]
    assert any("VG LB-handout-2026" in line for line in lines)
    assert ".issue .whole { display: inline-block;" in (TEMPLATES / "handout.css").read_text("utf-8")
