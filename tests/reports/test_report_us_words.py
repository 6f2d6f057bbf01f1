"""US units everywhere: no document of the demo county prints a quantity in SI but where its words name or quote it.

The pages' own HTML is read, with the words on their charts, maps and drawings; the county's demo holds warnings,
cautions, levels, plans and orders, so that most sentences there are occur in it.
"""

from __future__ import annotations

import html as entities
import re
from collections.abc import Callable
from datetime import date
from functools import cache
from typing import Any

import pytest

from pipeline.common.amounts import AmountText
from pipeline.common.faults import catalogue
from pipeline.common.measured import MEASURED, remembered, told
from pipeline.common.words import told_of
from pipeline.compare.build import comparison
from pipeline.compare.comparison import Comparison
from pipeline.compare.county import county_of
from pipeline.compare.figures import NAMES
from pipeline.first_page.handout import handout
from pipeline.indicators.base.green_season import GreenSeason
from pipeline.indicators.base.reading import read_records
from pipeline.plan.ordering.placing import Request, place_order
from pipeline.plan.priced import PricedProgramme
from pipeline.publish import priced
from pipeline.publish.due import due_list
from pipeline.publish.first_pages import first_pages
from pipeline.publish.programme import Wanted, write_programme
from pipeline.store.store import Store
from pipeline.summaries.club import club_season
from pipeline.summaries.round_up import green_line, round_up
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.workspace.settings import Workspace
from reports.comparison import render as comparison_page
from reports.condition import render as condition
from reports.due import render as due
from reports.handout import render as handout_page
from reports.handout.message import message
from reports.order import office, van
from reports.page.house_style import HouseStyle
from reports.page.rendering import SVG
from reports.page.units import said
from reports.programme import render as programme_page
from reports.round_up import render as round_up_page
from reports.summary import render as summary
from reports.survey import render as survey

US = HouseStyle(units="US", paper="Letter")
SPRING, TODAY = date(2027, 3, 31), date(2026, 11, 1)
SI = (
    r"(?:mm/m|mm/h|mm|cm|km|m|m²|m³|ha|kg/m²|g/m²|g N/m²|kg/ha|ml/m²|l/m²|kg N|kg|t|t/m³|mg/kg|l|ml|°C|holes/m²|m/s"
    r"|litres?|metres?|tonnes?|kilograms?)"
)
QUANTITY = re.compile(rf"(?<![\w.])\d[\d,.]* (?:N )?{SI}(?![\w²³/])")
MAY_STAY = {
    r"\d+–\d+ mm": "a layer is named by what the laboratory cut",
    r"D\d\d(?: roughly)?(?: [\d.]+)? mm|[\d.]+–[\d.]+ mm|size in mm": "sieves and particles are named in mm",
    r"finer than [\d.]+ mm": "likewise, of a sieve curve",
    r"\(more than 0 and at most \d+ mm\)": "of a rejected cell: what may stand in the user's file, in its unit",
    r"(?:drop|kg hammer|mm ring)|[\d.]+ kg hammer|\d+ mm ring": "an instrument is named by its maker's size",
    r"[Bb]urned at \d+ °C": "the laboratory's method",
    r"27 m\b": "the timed bowl is laid down over 27 m",
    r"nitrate-zone rules 2 m": "a rule as it is laid down",
    r"below 0 °C: climate index FD|above 25 °C: climate index SU|10 mm a day, climate index R10mm": "a source's words",
    r"1 g/m² is 10 kg/ha": "how the figure was made, in the units of the attached data",
    r"\(to 0\.5 mm, of the reading|\(dry: under 1 mm\)": "how the figure was made: steps of its comparison",
    r"growth potential × 5 g/m² a month": "how the figure was made: a constant of its source",
    r"[\d.]+ t/m³ ?\(": "how the figure was made: densities as the attached data have them",
    r"Bulk density [\d., ]+ t/m³": "how the figure was made: densities as the attached data have them",
    r"Cut to 6 mm the day before": "the surveyor's own words",
    r"“Bowls green topdressing”: 2 to 4 kg/m² usual, 4 to 6": "a source's words",
    r"spring 2003: 75, 50 and 50 kg on 1,475 m²": "the name of a template's source",
    r"Note in the programme: “[^”]*”": "what a person typed, told as theirs",
}
"""What may stand in SI, and why."""
ABOUT_UNITS = {
    "area.unit_odd": "asks whether the area is in another unit",
    "area.treated_unit": "asks the same of a treated area",
    "level.line": "x of a point, as the file has it",
    "level.even": "asks whether heights are in another unit",
    "level.sight_near": "asks the same of staff readings",
    "core.overlap": "names a layer by where it begins, as the file has it",
}
"""Warnings with a unit in their words that are not turned, and why."""


def words_of(page: str) -> str:
    """The words of a page, drawings included, spaces plain."""
    bare = re.sub(r"<(style|script)[^>]*>.*?</\1>", " ", page, flags=re.DOTALL)
    bare = entities.unescape(re.sub(r"<[^>]*?(?:alt|title)=\"([^\"]*)\"[^>]*>", r" \1 ", bare))
    return re.sub(r"\s+", " ", re.sub("[\u202f\u00a0\u2060]", " ", re.sub(r"<[^>]*>", " ", bare)))


def in_si(words: str) -> list[str]:
    """Quantities in SI that no reason lets stand, each with the words around it."""
    allowed = [found.span() for one in MAY_STAY for found in re.finditer(one, words)]
    return [
        words[max(0, found.start() - 60) : found.end() + 20]
        for found in QUANTITY.finditer(words)
        if not any(start <= found.start() < end or start < found.end() <= end for start, end in allowed)
    ]


def unit_heads(page: str) -> list[str]:
    """Words between two tags that end in an SI unit after a comma."""
    bare = re.sub("</?span[^>]*>|[\u2060]", "", page).replace("\u00a0", " ").replace("\u202f", " ")
    return re.findall(rf">([^<]*, {SI})<", entities.unescape(bare))


@pytest.fixture(scope="module")
def paged(demo_county: Workspace, demo_seasons: tuple[GreenSeason, ...]) -> list[GreenSeason]:
    """The seasons of a club with two greens, with the first pages of their reports."""
    seasons = [one for one in demo_seasons if one.club == "HOL"]
    span = demo_county.season(seasons[0].season)
    with Store(demo_county.store, read_only=True) as store:
        first = first_pages(store, read_records(store), [one.green for one in seasons], span, demo_county)
    return [first.on(one) for one in seasons]


@pytest.fixture(scope="module")
def priced_programmes(demo_county: Workspace, tmp_path_factory: pytest.TempPathFactory) -> list[PricedProgramme]:
    """Programmes just made, by every source that says why, and loaded ones, of which people changed some lines."""
    folder = tmp_path_factory.mktemp("programmes")
    with pytest.MonkeyPatch.context() as patch:  # their words are looked at here, no page is rendered
        patch.setattr(priced, "write_documents", lambda planned, **_: [one.written(1) for one in planned])
        by_targets, again = Wanted(only_targets=True), Wanted(last=True, since=date(2026, 10, 20))
        made = [
            priced.price_made(demo_county, whose, write_programme(
                demo_county, whose, "2027", wanted, folder, force=True).programmes, folder)
            for whose, wanted in (("LAR-1", by_targets), ("HOL-1", again), ("ALD-2", again))
        ]  # fmt: skip
        made += [priced.price_loaded(demo_county, club, "2027", folder, travel_km=160) for club in ("ALD", "BRA")]
    return [one.programme for one in made]


@pytest.fixture(scope="module")
def pages(
    demo_county: Workspace,
    demo_seasons: tuple[GreenSeason, ...],
    demo_surveys: tuple[ConditionSurvey, ...],
    paged: list[GreenSeason],
    priced_programmes: list[PricedProgramme],
) -> dict[str, Callable[[], str]]:
    """A document by name → its HTML in US units."""

    def of(club: str) -> list[GreenSeason]:
        return [one for one in demo_seasons if one.club == club]

    def page_of(document: Any, content: Any) -> str:
        """The first draft of a document as HTML, its drawings behind it."""
        made = document.DOCUMENT
        draft = next(made.drafts(content, [file.name for file in made.attached(content)], "1", US))
        drawn = [one.content.decode() for one in draft.images().values() if one.kind == SVG]
        return "".join((draft.html, *drawn))

    every = list(demo_seasons)
    ordered = cache(lambda: place_order(demo_county, Request(as_of=date(2026, 10, 31), to="north yard")))
    made: dict[str, Callable[[], str]] = {
        "condition": lambda: "".join(page_of(condition, one) for one in paged),
        "handout": lambda: page_of(handout_page, handout(paged)),
        "message": lambda: message(handout(paged), ["HOL-handout-2026.pdf"], US),
        "comparison": lambda: page_of(comparison_page, compared(demo_county)),
        "programme": lambda: "".join(page_of(programme_page, one) for one in priced_programmes),
        "summary": lambda: page_of(summary, club_season(of("ALD"))),
        "survey": lambda: "".join(page_of(survey, one) for one in demo_surveys),
        "round-up": lambda: page_of(round_up_page, round_up(map(green_line, every), every[0])),
        "due": lambda: page_of(due, due_list(demo_county, until=SPRING, today=TODAY)),
        "order-office": lambda: page_of(office, ordered()),
        "order-van": lambda: page_of(van, ordered()),
    }
    return {name: cache(make) for name, make in made.items()}


def compared(workspace: Workspace) -> Comparison:
    """The comparison of the demo's last season for one of its clubs."""
    with Store(workspace.store, read_only=True) as store:
        county = county_of(read_records(store), workspace.season("2026"), workspace, NAMES)
    return comparison(county, club="ALD", club_name="Alderton")


DOCUMENTS = [
    "condition", "handout", "message", "summary", "survey", "round-up", "comparison", "programme", "due",
    "order-office", "order-van",
]  # fmt: skip


@pytest.mark.parametrize("name", DOCUMENTS)
def test_no_quantity_stands_in_si(pages: dict[str, Callable[[], str]], name: str) -> None:
    words = words_of(pages[name]())
    assert in_si(words) == []
    assert re.search(r"\d (?:lb|short tons?|in|gal|ft²)\b", words), "nothing in US units either: the search is blind"


@pytest.mark.parametrize("name", DOCUMENTS)
def test_no_heading_and_no_label_names_an_si_unit(pages: dict[str, Callable[[], str]], name: str) -> None:
    """A heading, a key of a map or an axis names its unit once, beside no figure: “Height, mm”."""
    assert unit_heads(pages[name]()) == []


def test_the_drawings_are_read(pages: dict[str, Callable[[], str]]) -> None:
    """Words that stand in drawings alone; without them the search above is blind to charts."""
    assert re.search(r">target [\d.,]+–[\d.,]+[^<]*lb/1000[^<]*ft²<", pages["condition"]())
    assert re.search(r">Height, in<", pages["survey"]())


def test_the_search_sees_what_it_looks_for() -> None:
    page = "<p>Lows of 12\u202fmm, <b>5.75</b> t delivered</p><img alt='x'><svg><title>1,600&#160;m²</title></svg>"
    assert [found[-8:].split()[-1] for found in in_si(words_of(page) + " .....................")] != []
    assert len(in_si(words_of(page))) == 3
    assert in_si("Organic matter, 0–20 mm, and a ring of 300 mm ring") == []
    assert unit_heads('<th>Nitrogen, <span class="nb">kg/ha</span></th><text x="1">Height, mm</text><p>a, b</p>') == [
        "Nitrogen, kg/ha",
        "Height, mm",
    ]


def test_every_warning_with_a_quantity_is_turned_or_is_about_a_unit() -> None:
    """A new warning whose quantities nobody thought of would be read in SI between figures in US units."""
    told_in_si = {
        kind.code
        for kind in catalogue()
        if kind.severity != "error" and re.search(rf"\}} {SI}(?![\w²³/])", kind.template)
    }
    assert told_in_si - MEASURED == set(ABOUT_UNITS)
    kinds = {kind.code: kind for kind in catalogue()}
    assert {code for code in MEASURED if code not in kinds or kinds[code].severity != "warning"} == set()


@pytest.mark.parametrize(
    ("message", "shown"),
    [
        (
            "500 kg is 356 g/m² of product and 32.0 g N/m² in one dose, far above the 4.9 g N/m² held to be the most",
            "1,102 lb is 72.9 lb/1000 ft² of product and 6.55 lb N/1000 ft² in one dose, far above the "
            "1.00 lb N/1000 ft² held to be the most",
        ),
        ("A working depth of 350 mm is unusual (50 to 300 mm is usual).",
         "A working depth of 13.78 in is unusual (1.97 to 11.81 in is usual)."),
        ("The mean temperature of May 2026 at A comes to -31 °C, colder than -30 °C.",
         "The mean temperature of May 2026 at A comes to −24 °F, colder than −22 °F."),
        ("“12 mm” stays, and so does 70/30 kg", "“12 mm” stays, and so does 70/30 kg"),
    ],
)  # fmt: skip
def test_a_message_of_the_store_is_told_in_other_units(message: str, shown: str) -> None:
    made = remembered(message)
    assert made == message
    assert words_of(made.said(said)).replace("-", "−") == shown.replace("-", "−")


def test_a_message_is_turned_by_its_code_alone() -> None:
    warning = "A working depth of 350 mm is unusual"
    assert isinstance(told_of("log.csv", 3, told("depth.odd", warning)), AmountText)
    assert not isinstance(told("value.range", warning), AmountText)
