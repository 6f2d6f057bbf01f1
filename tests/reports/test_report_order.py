"""The order's two PDFs: both standards, nothing cut off or too small, and who reads what."""

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

from pipeline.common.refusal import WrongUsage
from pipeline.indicators.base.green_season import Evidence
from pipeline.plan.ordering.placed import PackOf, PlacedOrder, ToGreen, pack_at
from pipeline.plan.ordering.places import places
from pipeline.plan.purchase.order import order
from pipeline.plan.purchase.parts import Material, Need, Offer, Order, Stock
from reports.order import office, van
from reports.order.amounts import ROUNDED, amount, exact_money, in_packs, money
from reports.page.house_style import HouseStyle
from reports.page.text import sentence
from tests.outside_checks import outside
from tests.reports.layout import filled, lines_of
from tests.reports.test_report_pages import attached, flat, overlaps, pages_text
from tests.reports.test_report_unbranded import named
from tests.thorough import beyond, thorough

VERSION = "0.0"
CLUBS = tuple(f"{name} Bowls Club" for name in ("Alder Brook", "Birkwell", "Cawdale and District Memorial Hall"))
GREENS = tuple(
    ToGreen(f"G-{i:02}", f"{'Upper' if i % 2 else 'Lower'} green", f"C{i % 3}", CLUBS[i % 3]) for i in range(24)
)
LINE = Evidence("programme-of-the-year-2027.csv", 41, "planned_work")


def ordered() -> Order:
    """Three materials for 24 greens: loads to the clubs, packs to the yard with stock; a fungicide, and no price."""
    needs = [
        need
        for i, green in enumerate(GREENS)
        for need in (
            Need("loam dressing", Decimal(2000 + 31 * i), "kg", green.club_name, green.green, place=LINE),
            Need("spring feed", Decimal("47.915"), "kg", "yard", green.green, place=LINE),
            Need("wetter", Decimal(7), "l", "yard", green.green, place=LINE),
        )
    ]
    needs += [
        Need("turf fungicide", Decimal(1), "l", "yard", "G-00", place=LINE),
        Need("a feed that nobody has a price of", Decimal(80), "kg", "yard", "G-03", place=LINE),
        Need("spring feed", None, "kg", "yard", "G-05", lacking="the area of G-05 is not recorded", place=LINE),
    ]
    offers = [
        Offer("loam dressing", "quarry", Decimal(10000), "kg", Decimal("512.50"), carriage=None),
        Offer("spring feed", "merchant", Decimal(25), "kg", Decimal("31.455"), carriage=Decimal("12.50")),
        Offer("spring feed", "merchant", Decimal(25), "kg", Decimal("29.9"), from_packs=40, carriage=Decimal("12.50")),
        Offer("wetter", "merchant", Decimal(10), "l", Decimal(90), carriage=Decimal("12.50")),
    ]
    sorts = {"loam dressing": "top_dressing", "wetter": "wetting_agent", "turf fungicide": "plant_protection"}
    names = ("loam dressing", "spring feed", "wetter", "turf fungicide", "a feed that nobody has a price of")
    return order(
        needs,
        [
            Stock("spring feed", Decimal(50), "kg", "yard", on_order=Decimal(100)),
            Stock("seed", Decimal(9), "kg", "yard"),
        ],
        offers,
        [Material(name, sorts.get(name, "fertiliser")) for name in names],
        vat_pct=Decimal("17.5"),
    )


@cache
def placed() -> PlacedOrder:
    return PlacedOrder(
        name="order of 2027-02-02 for 2027",
        folder="order-2027-02-02",
        day=date(2027, 2, 2),
        season="2027",
        of="Works of season 2027 that are still open on 2 February 2027, all clubs",
        currency="GBP",
        vat_pct=Decimal("17.5"),
        depots=tuple((club, f"C{i}") for i, club in enumerate(CLUBS)),
        greens=GREENS,
        packs=(PackOf("spring feed", Decimal(25), "kg"),),
        decided=("Packs go to the depot yard.", "No order costs less: proved."),
        order=ordered(),
    )


RENDER: dict[str, Callable[..., bytes]] = {"office": office.render, "van": van.render}
SMALLEST = {"office": 9.0, "van": 11.0}
"""Smallest type of each, pt."""


PT_OF_PX = 0.75
"""The renderer writes its pages in px."""


@cache
def pdf(which: str) -> bytes:
    return RENDER[which](placed(), version=VERSION)


@outside("library", "page-validation 0.11: rules of ISO 14289-1 and ISO 19005-3")
@pytest.mark.parametrize("which", RENDER)
@pytest.mark.parametrize("profile", [page.ValidationProfile.PDF_UA_1, page.ValidationProfile.PDF_A_3A])
def test_both_standards_pass(which: str, profile: Any) -> None:
    report = page.validate_pdf_bytes(pdf(which), profile=profile)
    assert report.is_compliant, [str(failure) for failure in report.failures]
    with pikepdf.open(io.BytesIO(pdf(which))) as document:
        assert document.check_pdf_syntax() == []


@pytest.mark.parametrize("which", RENDER)
def test_no_text_is_cut_off_lies_on_other_text_or_is_too_small(which: str) -> None:
    document = pypdfium2.PdfDocument(pdf(which))
    for i in range(len(document)):
        words = document[i].get_textpage()
        for k in range(words.count_rects()):
            left, bottom, right, top = words.get_rect(k)
            said = words.get_text_bounded(left, bottom, right, top)
            assert left >= 16 / 25.4 * 72 - 1.5, said
            assert right <= 595.28 - 16 / 25.4 * 72 + 1.5, said
            assert bottom >= 14, said
        every = (pypdfium2.raw.FPDFText_GetFontSize(words.raw, k) for k in range(words.count_chars()))
        sizes = {round(size * PT_OF_PX, 1) for size in every if size > 1}  # 1: line ends that the reader puts in
        assert min(sizes) >= SMALLEST[which], sizes
    assert overlaps(pdf(which)) == []


@pytest.mark.parametrize("which", RENDER)
@beyond(1)
def test_the_same_order_makes_the_same_bytes_and_names_no_tool(which: str) -> None:
    assert RENDER[which](placed(), version=VERSION) == pdf(which)
    assert named(pdf(which)) == []
    house = HouseStyle(name="Vale Grounds", address="2 Mill Lane, Ostershire")
    assert "Vale Grounds" in pages_text(RENDER[which](placed(), version=VERSION, house=house))[0]


def test_the_office_reads_first_what_is_not_ordered_then_what_to_ask() -> None:
    said = flat("".join(pages_text(pdf("office"))))
    places = [said.index(flat(part)) for part in ("Not ordered", "Look at these first", "What it costs", "How it was")]
    assert places == sorted(places)
    for part in (
        "no offer of it is known, and so no price: 80 kg are needed",
        "The area of G-05 is not recorded.",
        "it is a plant protection product",
        "programme-of-the-year-2027.csv, line 41",
        "Carriage is not known from quarry",
        "The sums are without the carriage of quarry and what is not ordered.",
        "1 further line of stock that no green asks for",
    ):
        assert flat(part).lower() in said.lower(), part


def test_sums_of_the_office_add_up_as_printed() -> None:
    report = office.view(placed(), version=VERSION)

    def pence(of: str) -> Decimal:
        return Decimal(of.removeprefix("£").replace(",", ""))

    assert report.total is not None
    for name in ("before_vat", "vat", "gross"):
        assert sum(pence(getattr(one, name)) for one in report.sums) == pence(getattr(report.total, name)), name
    for one in (*report.sums, report.total):
        assert pence(one.before_vat) + pence(one.vat) == pence(one.gross)
    assert [one.carriage for one in report.sums] == ["£12.50", "not known"]


def test_the_van_has_no_money_and_every_green() -> None:
    """What a crew loads by: each green's packs, by club; a page left at a club tells no price."""
    said = "".join(pages_text(pdf("van")))
    held = repr(attached(pdf("van"))) + said
    for word in ("£", "GBP", "31.455", "512.5", "merchant", "quarry", "VAT"):
        assert word not in held
    for club in CLUBS:
        assert flat(f"At {club}") in flat(said)
    assert said.count("Upper green") == said.count("Lower green") == 24  # at its club and at the yard, each
    assert flat("1 × 25 kg + 22.9 kg") in flat(said)
    assert flat("lines could not be ordered") in flat(said)


def test_no_green_of_the_van_is_parted_from_its_name() -> None:
    """A material at the head of a page, under no name, would be put on another green."""
    feeds = [f"feed {letter}" for letter in "ABCDEFG"]
    needs = [Need(feed, Decimal(50), "kg", "yard", green.green, place=LINE) for green in GREENS[:12] for feed in feeds]
    offers = [Offer(feed, "merchant", Decimal(25), "kg", Decimal(30), carriage=Decimal(0)) for feed in feeds]
    asked = order(needs, [], offers, [Material(feed, "fertiliser") for feed in feeds], vat_pct=None)
    pages = pages_text(van.render(replace(placed(), order=asked), version=VERSION))
    assert len(pages) > 2
    for said in pages[1:]:
        assert "G-" in said.split("By green", 1)[1].splitlines()[1]


def test_a_place_of_one_green_has_its_list_once() -> None:
    """A club with one green read the same amounts twice, and a driver may load both."""
    feed = Offer("feed", "merchant", Decimal(25), "kg", Decimal(30), carriage=Decimal(0))
    needs = [Need("feed", Decimal(50), "kg", CLUBS[0], "G-00", place=LINE)]
    asked = order(needs, [], [feed], [Material("feed", "fertiliser")], vat_pct=None)
    said = flat("".join(pages_text(van.render(replace(placed(), order=asked), version=VERSION))))
    assert flat(f"All of it for Lower green G-00, {CLUBS[0]}") in said
    assert said.count(flat("2 × 25 kg")) == 1


@thorough
def test_no_place_of_the_office_is_parted_from_its_name() -> None:
    """As on the van's list."""
    feeds = [f"feed {letter}" for letter in "ABCDE"]
    drops = [f"place {number}" for number in range(20)]
    needs = [Need(feed, Decimal(50), "kg", drop, "G-00", place=LINE) for drop in drops for feed in feeds]
    offers = [Offer(feed, "merchant", Decimal(25), "kg", Decimal(30), carriage=Decimal(0)) for feed in feeds]
    asked = order(needs, [], offers, [Material(feed, "fertiliser") for feed in feeds], vat_pct=None)
    pages = pages_text(office.render(replace(placed(), order=asked), version=VERSION))
    held = [said for said in pages if "A pack Sum" in said]
    assert len(held) > 2
    for said in held:
        assert said.split("A pack Sum", 1)[1].splitlines()[1].startswith("To place")


def test_a_question_ends_with_its_own_mark() -> None:
    assert sentence("is it of a bag?") == "Is it of a bag?"
    assert sentence("no area.") == "No area."


def test_a_list_cut_short_tells_whole_amounts_and_how_many_greens_are_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """A place's total over the greens that are printed would be loaded as all that is needed."""
    whole = van.view(placed(), version=VERSION)
    assert (sum(len(one.greens) for one in whole.places), whole.more) == (48, "")
    monkeypatch.setattr(van, "MOST_ROWS", 27)
    short = van.view(placed(), version=VERSION)
    assert [one.loads for one in short.places] == [one.loads for one in whole.places]
    assert [len(one.greens) for one in short.places] == [8, 8, 8, 1]
    assert flat(short.more) == flat("23 further greens in the attached split.csv.")


def test_split_and_balance_are_attached_whole() -> None:
    tables = attached(pdf("office"))
    needed = sum(Decimal(row["needed"]) for row in tables["split.csv"] if row["material"] == "spring feed")
    (feed,) = [row for row in tables["balances.csv"] if row["material"] == "spring feed"]
    assert needed == Decimal(feed["needed"]) == 24 * Decimal("47.915")
    assert Decimal(feed["from_stock"]) + Decimal(feed["from_on_order"]) == 150
    assert {row["what"] for row in tables["asked.csv"]} == {"not ordered", "question"}
    assert {row["file"] for row in tables["lines.csv"]} == {""}


def test_an_order_of_nothing_is_a_page_of_plain_words() -> None:
    empty = replace(placed(), order=order((), (), (), (), vat_pct=None), greens=())
    said = flat("".join(pages_text(office.render(empty, version=VERSION))))
    assert flat("Nothing that is asked for is left out.") in said
    assert flat("Nothing is bought.") in said
    assert flat("No green gets anything.") in flat("".join(pages_text(van.render(empty, version=VERSION))))


@pytest.mark.parametrize(
    ("of", "unit", "size", "said"),
    [
        ("47.915", "kg", "25", "1 × 25 kg + 22.9 kg"),
        ("75", "kg", "25", "3 × 25 kg"),
        ("1149.96", "kg", "25", "46 × 25 kg"),
        ("12.5", "kg", "25", "12.5 kg"),
        ("7", "l", "10", "7 l"),
        ("2100", "kg", "1000", ""),
        ("80", "kg", None, ""),
        ("0", "kg", "25", ""),
    ],
)
def test_amounts_in_packs(of: str, unit: Any, size: str | None, said: str) -> None:
    told = in_packs(Decimal(of), unit, None if size is None else Decimal(size))
    assert told.replace("\u202f", " ") == said


def test_amounts_and_money_as_printed() -> None:
    shown = [amount(Decimal(of), "kg").replace("\u202f", " ") for of in ("2053.5", "999.96", "53.1", "0.4567", "1000")]
    assert shown == ["2.054 t", "1 t", "53.1 kg", "0.457 kg", "1 t"]
    assert [exact_money(Decimal(of)) for of in ("90", "31.455", "0.5")] == ["90.00", "31.455", "0.50"]
    assert [money(Decimal(of), "GBP") for of in ("1040", "31.455")] == ["£1,040.00", "£31.455"]


def test_packs_are_those_bought_at_the_place_and_else_the_registers() -> None:
    made = placed()
    assert pack_at(made, "spring feed", "yard", "kg") == 25
    assert pack_at(made, "wetter", "yard", "l") == 10
    assert pack_at(made, "wetter", "yard", "kg") is None
    assert pack_at(made, "spring feed", CLUBS[0], "kg") == 25


@pytest.mark.parametrize("which", RENDER)
def test_an_order_is_said_in_the_units_of_the_house(which: str) -> None:
    """Pounds beside kilograms of the same feed on one page: somebody weighs out twice too much."""
    drawn = RENDER[which](placed(), version=VERSION, house=HouseStyle(units="US"))
    said = "".join(pages_text(drawn)).replace("\u202f", " ").replace("\u00a0", " ")
    assert "55.1 lb" in said
    assert "short tons" in said
    assert not re.findall(r"[\d.,]+ (?:kg|l|t)\b", said)
    if which == "office":
        assert flat("no price: 176.4 lb are needed") in flat(said)
    assert {row["unit"] for row in attached(drawn)["split.csv"]} == {"kg", "l"}, "what is attached stays in SI"


def test_that_rounded_amounts_need_not_add_up_is_said_where_one_is_rounded() -> None:
    """47.915 kg are told as 47.9: twenty-four of them are 1.15 t and not 24 × 47.9."""
    assert office.view(placed(), version=VERSION).rounded == van.view(placed(), version=VERSION).rounded == ROUNDED
    feed = Offer("feed", "merchant", Decimal(25), "kg", Decimal(30), carriage=Decimal(0))
    asked = order([Need("feed", Decimal("62.5"), "kg", "yard", "G-00", place=LINE)], [], [feed],
                  [Material("feed", "fertiliser")], vat_pct=None)  # fmt: skip
    whole = replace(placed(), order=asked)
    assert office.view(whole, version=VERSION).rounded == van.view(whole, version=VERSION).rounded == ""
    assert office.view(whole, version=VERSION, units_="US").rounded == ROUNDED


@pytest.mark.parametrize("feeds", range(1, 9))
@beyond(1)
def test_no_place_is_parted_from_its_rows_wherever_the_page_ends(feeds: int) -> None:
    """The first place of a supplier stood at the foot of a page, and what it gets at the head of the next."""
    names = [f"feed {number}" for number in range(feeds)]
    needs = [Need(feed, Decimal(50), "kg", f"place {n}", "G-00", place=LINE) for n in range(12) for feed in names]
    offers = [
        Offer(feed, f"merchant {number % 2}", Decimal(25), "kg", Decimal(30), carriage=None)
        for number, feed in enumerate(names)
    ]
    asked = order(needs, [], offers, [Material(feed, "fertiliser") for feed in names], vat_pct=None)
    for which, render in RENDER.items():
        drawn = render(replace(placed(), order=asked), version=VERSION)
        for page_ in lines_of(drawn):
            last = page_[-1][1]
            assert not last.startswith(("To place", "At place", "merchant", "Reference", "Material", "By green")), last
        shares = filled(drawn)
        assert all(share > 2 / 3 for share in shares[:-1]), (which, shares)
        assert len(shares) == 1 or shares[-1] > 0.08, (which, shares)


def test_several_depots_are_named_with_the_command_of_each() -> None:
    with pytest.raises(WrongUsage) as refused:
        places("", "", ["north yard", "barn"], (), {"C0": CLUBS[0]}, {"G-00": "C0"})
    assert refused.value.message.startswith("There are several depots, north yard and barn")
    for command in ('swardtally order --to "north yard"', "swardtally order --to barn", "swardtally order --to clubs"):
        assert command in refused.value.hint
