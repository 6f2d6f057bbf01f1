"""The programme with its price as a PDF: standards, margins, typeface, hostile texts, units, and nothing cut off."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any

import page
import pikepdf
import pypdfium2
import pytest

from pipeline.plan.account import Priced
from pipeline.plan.areas import Areas
from pipeline.plan.priced import NotPlanned, OfGreen, PricedProgramme, quoted, rates_used
from pipeline.plan.unit_price import UnitPrice
from pipeline.plan.works import Planned
from pipeline.workspace.settings import Season
from reports.page.document import page_count
from reports.page.house_style import HouseStyle
from reports.programme import render as document
from tests.outside_checks import outside
from tests.plan.test_plan_cost import FEED, LABOUR, MIX, PRICES, AtRate
from tests.reports.conftest import VERSION
from tests.reports.layout import filled, lines_of
from tests.reports.test_report_pages import attached, flat, overlaps, pages_text
from tests.thorough import beyond, but_for

SEASON = Season.from_day(date(2026, 10, 1))
GREENS = (OfGreen("LB-1", "Main green", 1369.0), OfGreen("LB-2", "Lower green", None))
HOSTILE = "<script>alert(1)</script> & {{ report }} " + "w" * 90 + " \u202e\U0001f600\u0000"
RATES = [LABOUR, AtRate("machine", Decimal("6.15")), AtRate("output", operation="scarifying", output_m2_h=450.0)]
PRICED = Priced(RATES, lambda _: PRICES, {}, Areas({"LB-1": ((None, 1369.0),)}))


def plain(words: str) -> str:
    return words.replace("\u00a0", " ").replace("\u202f", " ").replace("\u2060", "")


def work(green: str, operation: str, first: date, last: date, **more: object) -> Planned:
    told: dict[str, Any] = {"unit": "times", "size": 1.0, "basis": "autumn renovation, common practice", **more}
    return Planned(green, operation, first, last, **told)


def works(number: int = 1) -> list[Planned]:
    autumn, spring = (date(2026, 10, 5), date(2026, 10, 16)), (date(2027, 4, 5), date(2027, 4, 18))
    found = []
    for green in ("LB-1", "LB-2"):
        found += [
            work(green, "top_dressing", *autumn, unit="kg", size=6000.0, material=MIX, hours=9.0),
            work(green, "scarifying", *autumn, depth_mm=3.0, passes=2.0, note="Not in frost."),
            work(green, "overseeding", *autumn, unit="kg", size=None, material="bent", unsized="no rate is given"),
            work(green, "mowing", date(2027, 3, 20), SEASON.end, size=60.0, note="Not in frost."),
            work(green, "fertilising", *spring, unit="kg", size=25.0, times=2.0, material=FEED, hours=1.0),
        ] * number
    return found


def made(of: list[Planned], **more: object) -> PricedProgramme:
    price = UnitPrice(MIX, "kg", Decimal("0.042"), 10_000.0, Decimal(420), "quarry", date(2026, 1, 1))
    told: dict[str, Any] = {
        "about": "LB", "name": "Lime Bank Bowls Club", "club": "", "season": SEASON, "day": date(2026, 10, 1),
        "loaded": False, "greens": GREENS, "quotation": quoted(of, PRICED, Decimal(20), None), "prices": (price,),
        "rates": rates_used(of, PRICED.rates), "unused_prices": (), "currency": "GBP",
        "not_planned": (NotPlanned("LB-1", "moss_treatment", "last season's works", "a licensed person decides"),),
        **more,
    }  # fmt: skip
    return PricedProgramme(**told)


CASES: dict[str, Callable[[], PricedProgramme]] = {
    "club": lambda: made(works()),
    "empty": lambda: made([], not_planned=(), prices=()),
    "long": lambda: made(works(30)),
    "hostile": lambda: made(
        [replace(one, basis=HOSTILE * 4, note=f"{HOSTILE} {i}", material=HOSTILE) for i, one in enumerate(works())],
        name=HOSTILE, club=HOSTILE, greens=tuple(replace(one, name=HOSTILE) for one in GREENS), currency=HOSTILE[:8],
    ),
}  # fmt: skip
NAMES = but_for(("club", "empty", "hostile"), CASES)


@cache
def pdf(name: str) -> bytes:
    return document.render(CASES[name](), version=VERSION)


@outside("library", "page-validation 0.11: rules of ISO 14289-1 and ISO 19005-3")
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("profile", [page.ValidationProfile.PDF_UA_1, page.ValidationProfile.PDF_A_3A])
def test_both_standards_pass(name: str, profile: page.ValidationProfile) -> None:
    report = page.validate_pdf_bytes(pdf(name), profile=profile)
    assert report.is_compliant, [str(failure) for failure in report.failures]


@pytest.mark.parametrize("name", NAMES)
def test_no_text_leaves_the_margins_or_lies_on_other_text(name: str) -> None:
    pages = pypdfium2.PdfDocument(pdf(name))
    for i in range(len(pages)):
        words = pages[i].get_textpage()
        for k in range(words.count_rects()):
            left, bottom, right, top = words.get_rect(k)
            said = words.get_text_bounded(left, bottom, right, top)
            assert left >= 16 / 25.4 * 72 - 1.5, (i + 1, said)
            assert right <= 595.28 - 16 / 25.4 * 72 + 1.5, (i + 1, said)
            assert 14 <= bottom <= top <= 842 - 14, (i + 1, said)
    assert overlaps(pdf(name)) == []


@pytest.mark.parametrize("name", NAMES)
def test_only_the_bundled_typeface_is_embedded(name: str) -> None:
    with pikepdf.open(io.BytesIO(pdf(name))) as held:
        fonts = {str(o.BaseFont) for o in held.objects if isinstance(o, pikepdf.Dictionary) and "/BaseFont" in o}
        assert held.check_pdf_syntax() == []
    assert fonts
    assert all(re.fullmatch(r"/[A-Z]{6}\+Inter(-[\w-]+)?", font) for font in fonts), fonts


def test_a_club_has_its_price_and_its_months_on_page_one() -> None:
    assert page_count(pdf("club")) <= 3
    first = flat(pages_text(pdf("club"))[0])
    for words in (
        "Programme and price", "Lime Bank Bowls Club", "10 lines of work on 2 greens", "The price is without",
        "material of overseeding", "What is done, month by month", "October 2026",
        "Top dressing (70/30 sand and soil): 6 t on each of 2 greens", "Mowing: 60 times on each of 2 greens",
        "not loaded into the records yet",
    ):  # fmt: skip
        assert flat(words).lower() in first.lower(), words


def test_every_line_is_printed_with_its_basis_and_note() -> None:
    """However many lines: a programme is printed whole, and nothing of why is cut off."""
    said = flat("".join(pages_text(pdf("long"))))
    assert said.count(flat("Autumn renovation, common practice.")) == 300
    assert said.count(flat("Not in frost.")) == 1
    long = replace(works()[0], basis="target: " + " ".join(f"word{i}" for i in range(100)))
    assert flat("word99") in flat("".join(pages_text(document.render(made([long]), version=VERSION))))


def test_what_is_not_known_is_no_nought() -> None:
    report = document.view(CASES["club"](), version=VERSION)
    rows = {(i, row.work): row for i, table in enumerate(report.tables) for row in table.rows}
    assert rows[0, "Overseeding (bent)"].price == "–"
    assert rows[0, "Overseeding (bent)"].amount == "not known"
    assert (rows[0, "Scarifying"].hours, rows[1, "Scarifying"].hours) == ("6.08", "–")
    assert rows[0, "Mowing"].notes == rows[1, "Mowing"].notes == rows[0, "Scarifying"].notes
    assert report.tables[1].heading == "Lower green (LB-2), area not recorded"
    assert any("area of LB-2 is not recorded" in one for one in report.without)


def test_an_amount_that_is_not_known_is_told_beside_those_that_are() -> None:
    """6 t and an unknown amount on one green, 6 t on the other, are not 6 t on each."""
    known, unknown = works()[0], replace(works()[0], size=None)
    (month,) = document.view(made([known, unknown, replace(known, green="LB-2")]), version=VERSION).months
    assert month.works.replace("\u202f", " ").replace("\u00a0", " ") == (
        "Top dressing (70/30 sand and soil): 6 t on each of 2 greens, and more whose amount is not known."
    )


def test_what_is_attached_is_what_is_printed() -> None:
    files = attached(pdf("club"))
    assert len(files["lines.csv"]) == 10
    report = document.view(CASES["club"](), version=VERSION)
    assert sum(Decimal(row["price"]) for row in files["lines.csv"]) == Decimal(
        report.total_price.replace(",", "").rstrip("†")
    )
    assert files["prices.csv"][0]["price_each"] == "0.042"
    described = {(row["file"], row["column"]) for row in files["columns.csv"]}
    assert described == {(name, c) for name, rows in files.items() if name != "columns.csv" for c in rows[0]}


def test_the_house_style_and_its_units_hold() -> None:
    house = HouseStyle(name="Green Keeping Ostershire", units="US", paper="Letter")
    drawn = document.render(CASES["club"](), version=VERSION, house=house)
    assert [round(side) for side in pypdfium2.PdfDocument(drawn)[0].get_size()] == [612, 792]
    said = flat("".join(pages_text(drawn)))
    assert flat("Green Keeping Ostershire") in said
    assert flat("6.614 short tons on each of 2 greens") in said
    assert flat("£0.0191 a lb") in said
    assert flat("the price a lb or gallon of a pack") in said
    assert not [unit for unit in ("kg", "6\u202ft", "m²", "akm", "litre") if unit in said]


def test_same_programme_same_bytes() -> None:
    assert document.render(CASES["club"](), version=VERSION) == pdf("club")


def test_a_price_says_its_day_of_issue_and_how_long_it_holds() -> None:
    """The day of the document, unless one is named; 30 days from 20 January 2027 are 19 February."""
    said = document.view(CASES["club"](), version=VERSION)
    assert plain(said.issued) == "Issued on 1 October 2026. How long the price holds is not stated."
    named = made(works(), issued=date(2027, 1, 20), valid_days=30)
    assert plain(document.view(named, version=VERSION).issued) == (
        "Issued on 20 January 2027. The price holds until 19 February 2027."
    )
    assert flat("Issued on 20 January 2027.") in flat(pages_text(document.render(named, version=VERSION))[0])


def test_hours_add_up_as_printed() -> None:
    """Hours to a tenth made months of 58.9 beside a sum of 58.8; a third of an hour three times is 0.99."""
    report = document.view(CASES["long"](), version=VERSION)

    def hours(words: str) -> Decimal:
        return Decimal("0" if words == "–" else words.replace(",", "").rstrip("†"))

    whole = hours(report.total_hours)
    assert sum(hours(month.hours) for month in report.months) == whole
    assert sum(hours(table.hours) for table in report.tables) == whole
    assert sum(hours(row.hours) for table in report.tables for row in table.rows) == whole
    third = replace(works()[1], passes=None)
    rate = AtRate("output", operation="scarifying", output_m2_h=1369.0 * 3)
    quotation = quoted([third] * 3, replace(PRICED, rates=[LABOUR, rate]), None, None)
    assert document.view(made([third] * 3, quotation=quotation), version=VERSION).total_hours == "0.99"


def test_a_green_called_nothing_but_green_is_named_with_its_club() -> None:
    green = made(
        works(), about="TO-1", name="Green", club="Torwick Bowls Club", greens=(OfGreen("TO-1", "Green", 9.0),)
    )
    report = document.view(green, version=VERSION)
    assert plain(report.title) == "Programme and price: Green TO-1, Torwick Bowls Club, season 2027"
    assert (report.heading, report.about) == ("Torwick Bowls Club", "Green TO-1")


@pytest.mark.parametrize("number", [1, 2, 3, 5, 8])
@beyond(2)
def test_pages_of_a_programme_are_filled(number: int) -> None:
    drawn = document.render(made(works(number)), version=VERSION)
    shares = filled(drawn)
    assert all(share > 2 / 3 for share in shares[:-1]), shares
    assert shares[-1] > 0.1, shares
    for lines in lines_of(drawn):
        assert not re.match(r"(Main|Lower) green|Materials$|Work and travel|Cautions|Price$", lines[-1][1]), lines[-1]


def test_amounts_of_last_season_are_said_in_the_units_of_the_page() -> None:
    """The basis that the tool itself writes: 2250 kg beside 2.25 t, and kilograms among pounds."""
    of_last = [replace(works()[0], basis="as on 24 March 2026: 2250 kg")]
    for units, said in (("metric", "As on 24 March 2026: 2.25 t."), ("US", "As on 24 March 2026: 2.48 short tons.")):
        report = document.view(made(of_last), version=VERSION, units_=units)  # type: ignore[arg-type]
        assert plain(report.tables[0].rows[0].why) == said
