"""Reports on greens of the demo county as they are printed: page one is one page, all is large, nothing is cut."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass, replace
from functools import cache
from itertools import pairwise

import pypdfium2
import pytest

from pipeline.indicators.base.green_season import GreenSeason
from pipeline.indicators.base.judgement import judgement
from pipeline.indicators.base.reading import read_records
from pipeline.publish.first_pages import FirstPages, first_pages
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.summaries.club import club_season
from pipeline.workspace.settings import Workspace
from reports.condition.chart_rows import SAFE_PT, Rows, height_pt, placed, rows_of
from reports.condition.first.found import found_line
from reports.condition.first.level import FIRST_LEVELS
from reports.condition.first.page import FirstPageView, first_page
from reports.condition.levels import LOWEST
from reports.condition.render import html, render, reports
from reports.condition.view import view
from reports.page import remarks
from reports.page.charts import charts
from reports.page.house_style import HouseStyle
from reports.page.units import in_units
from reports.page.works import work_table
from reports.round_up import render as round_up_page
from reports.summary import render as summary
from reports.summary.checks import checks_row
from scripts.type_sizes import SMALLEST, below, letters
from tests.reports.club_sample import round_up
from tests.reports.layout import filled, lines_of
from tests.thorough import beyond, thorough

GREENS = ("ALD-1", "HOL-1", "KET-1", "FEN-1", "WIC-1")
"""Surveyed and rich, with a keying slip, poor, a crown green, and one of which nothing is recorded."""
HOUSES = {
    "ours": HouseStyle(prepared_for="The committee", issued_on="28\u00a0November\u00a02026"),
    "US letter": HouseStyle(name="County Greens Service", address="The Yard", units="US", paper="Letter"),
}

SeasonOf = Callable[[str], GreenSeason]
Pdf = Callable[[str, str], bytes]


@pytest.fixture(scope="module")
def season_of(demo_county: Workspace) -> SeasonOf:
    span = demo_county.season("2026")
    with Store(demo_county.store, read_only=True) as store:
        records = read_records(store)
        pages: FirstPages = first_pages(store, records, list(GREENS), span, demo_county)

    @cache
    def made(green: str) -> GreenSeason:
        return pages.on(green_season(records, green, span, demo_county))

    return made


@pytest.fixture(scope="module")
def pdf_of_green(season_of: SeasonOf) -> Pdf:
    @cache
    def made(green: str, house: str) -> bytes:
        return render(season_of(green), version="test", house=HOUSES[house])

    return made


PRINTED = [
    *(pytest.param(green, "ours", marks=() if green in ("ALD-1", "WIC-1") else thorough) for green in GREENS),
    ("HOL-1", "US letter"),
    pytest.param("ALD-1", "US letter", marks=thorough),
]


def flat(words: str) -> str:
    return re.sub(r"\s", "", words.replace("\u00ad", ""))


def first_text(pdf: bytes) -> str:
    return flat(pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_bounded())


def texts_of(page: FirstPageView) -> list[str]:
    """Every text that has to be whole on the page, whichever level it is set at."""
    return [
        page.verdict,
        page.counts,
        *(word for cell in page.spent for word in (cell.label, cell.value, cell.below)),
        page.spent_note,
        *(row.label for row in page.measures),
        *(row.value for row in page.measures),
        *(limit.label for row in page.measures if row.bar for limit in row.bar.limits),
        page.key,
        page.checks.heading,
    ]


@pytest.mark.parametrize(("green", "house"), PRINTED)
@beyond(1)
def test_page_one_is_one_page_and_holds_the_six_measures(pdf_of_green: Pdf, green: str, house: str) -> None:
    document = pypdfium2.PdfDocument(pdf_of_green(green, house))
    first, second = (document[i].get_textpage().get_text_bounded() for i in (0, 1))
    assert "Six measures against target" in first
    assert "Shaded: target" in first or green == "WIC-1"
    on = first + second if green == "WIC-1" else second  # of little what follows page one may begin on it
    assert "What was done, and what it cost" in on and "Records up to" in on
    assert "Six measures" not in second


@pytest.mark.parametrize(("green", "house"), PRINTED)
def test_its_texts_are_whole_on_it(pdf_of_green: Pdf, season_of: SeasonOf, green: str, house: str) -> None:
    """What is said stands there, at whichever level, and nothing ends in dots."""
    said = first_text(pdf_of_green(green, house))
    assert "…" not in said
    units = HOUSES[house].units
    shown = in_units(season_of(green), units)
    for words in texts_of(first_page(shown, units=units)):
        assert flat(words) in said, words
    pages = [first_page(shown, level, units) for level in FIRST_LEVELS]
    assert any(
        all(flat(f"{line.lead}{line.words}") in said for line in page.found)
        and all(flat(f"{one.lead}{one.words}") in said for one in page.checks.paragraphs)
        and all(flat(word) in said for row in page.actions.rows for word in (row.what, row.amount, row.when, row.cost))
        and flat(page.actions.total_label) in said
        for page in pages
    )


@pytest.mark.parametrize(("green", "house"), PRINTED)
def test_no_type_in_it_is_smaller_than_8_pt(pdf_of_green: Pdf, green: str, house: str) -> None:
    """A committee member of eighty reads it without a glass: running text at 9.5 pt, most of the first page above."""
    found = letters(pdf_of_green(green, house))
    assert below(found, SMALLEST) == 0.0, sorted(found)
    assert {9.5, 11.0, 20.0, 27.0} <= set(found)


def body(pdf: bytes, season: GreenSeason) -> str:
    """The text of the pages without what runs along their heads and feet."""
    head = flat(remarks.green_head(season)["running_head"])
    with pypdfium2.PdfDocument(pdf) as document:
        pages = [flat(page.get_textpage().get_text_bounded()) for page in document]
    return "".join([pages[0], *(page.split(head)[0] for page in pages[1:])])


def bare(words: str) -> str:
    """Text without spaces and hyphens: one at the end of a line is read as another character."""
    return re.sub("[-\u2010\x02\ufffe]", "", flat(words))


def strings(of: object, without: frozenset[str]) -> Iterator[str]:
    """Every text in a view-model, but of the fields named."""
    if isinstance(of, str):
        yield of
    elif isinstance(of, tuple):
        for one in of:
            yield from strings(one, without)
    elif is_dataclass(of):
        for field in fields(of):
            if field.name not in without:
                yield from strings(getattr(of, field.name), without)


UNPRINTED = frozenset({
    "title", "density", "created", "version", "running_head", "season", "as_of", "period", "questions", "first",
    "strip", "loaded_on", "cost_heading",
})  # fmt: skip
"""Properties of the document, alternative texts, what heads a column; page one has tests of its own."""
PARTS = {"due": "due", "facts": "facts", "matters": "headline", "methods": "methods", "sources": "sources"}
"""Part that may be left out → its field."""


@pytest.mark.parametrize(("green", "house"), PRINTED)
def test_every_text_of_the_back_pages_is_whole_in_it(
    pdf_of_green: Pdf, season_of: SeasonOf, green: str, house: str
) -> None:
    """92 cells of the demo's documents ended in dots. The report is one of its drafts, and that one is all there."""
    said = bare(body(pdf_of_green(green, house), season_of(green)))
    assert "…" not in said
    missing = []
    for draft in reports(season_of(green), "test", HOUSES[house]):
        gone = UNPRINTED | {PARTS[part] for part in draft.left_out if part in PARTS}
        gone |= set() if draft.report.works.groups else {"total"}
        texts = strings(draft.report, gone)
        missing.append([words for words in texts if words != "none set" and bare(words) not in said])
        if not missing[-1]:
            break
    assert [] in missing, min(missing, key=len)


@pytest.mark.parametrize(("green", "house"), PRINTED)
def test_pages_are_full_and_no_heading_ends_one(pdf_of_green: Pdf, green: str, house: str) -> None:
    """No page but the last is more than a third empty; a heading stands with what it heads, sums with what they sum."""
    pdf = pdf_of_green(green, house)
    if house == "ours":  # what is measured is measured on A4
        assert min(filled(pdf)[:-1]) > 2 / 3
    pages = [[words for _, words in page] for page in lines_of(pdf)]
    assert not {page[-1].strip() for page in pages} & HEADINGS
    (sums,) = [page for page in pages if any(words.startswith("Total") for words in page)] or [["Work"]]
    assert any(words.startswith("Work") for words in sums)


HEADINGS = {"The figures in words", "The green", "Figures against target", "How each figure was made",
            "Files behind this report", "Cautions", "About the records", "What is due, line by line"}  # fmt: skip


@pytest.mark.parametrize("green", ["ALD-1", "HOL-1", "WIC-1"])
@beyond(1)
def test_the_short_form_is_two_pages_at_most_with_every_caution_and_warning(season_of: SeasonOf, green: str) -> None:
    season = season_of(green)
    pdf = render(season, version="test", house=HouseStyle(short=True))
    said = body(pdf, season)
    assert len(filled(pdf)) <= 2 and below(letters(pdf), SMALLEST) == 0.0
    assert all(flat(one.text) in said for one in remarks.brief_cautions(season.cautions))
    assert all(flat(one.text) in said for one in remarks.notes(season, told=0) if one.weight != remarks.WEIGHTS["note"])
    assert season.works == () or flat(work_table(season.works).total.hours) in said


def test_what_is_off_and_left_out_of_the_short_form_is_counted(season_of: SeasonOf) -> None:
    """“19 of them with a target” said nothing of the five that are off: its reader took the table for all of them."""
    season = season_of("KET-1")
    report = next(iter(reports(season, "test", HouseStyle(short=True)))).report
    shown = sum(one.standing == "off" for table in report.tables for one in table.figures)
    off = sum(judgement(one) == "off" for one in season.indicators)
    assert 0 < shown < off
    assert report.tables_more.endswith(f", {off - shown} off.")


def test_a_swatch_of_the_small_map_says_its_tone_and_not_the_words_beside_it(season_of: SeasonOf) -> None:
    page = html(season_of("ALD-1"), version="test").partition('class="mapkey"')[2].partition("</div>")[0]
    entries = re.findall(r"<title>([^<]*)</title>.*?</svg> ([^<]*)</p>", page, re.DOTALL)
    assert len(entries) > 2 and len({title for title, _ in entries}) == len(entries)
    assert all(title.endswith(("tone", "Hatched")) and title not in label for title, label in entries)


def test_a_keying_slip_of_the_demo_heads_its_page(season_of: SeasonOf) -> None:
    """500 kg of 9 % on 1,406 m² are 320 of the season's 390 kg/ha."""
    page = first_page(season_of("HOL-1"))
    assert page.verdict == "Check one entry first. The rest is sound."
    assert page.checks.framed
    said = " ".join(f"{one.lead} {one.words}" for one in page.checks.paragraphs).replace("\u202f", " ")
    assert "jobs_south_crew.csv, line 209:" in said
    assert "ignore the nitrogen (N) applied of 390 kg/ha. Without this entry it would be 70 kg/ha: off." in said


def test_a_green_that_falls_to_a_side_has_no_hollow(season_of: SeasonOf) -> None:
    """A fall of the whole green was "one hollow, 30 mm deep"; a hollow in a level green stays one."""
    sides = {green: page.hollows.one_side for green in GREENS if (page := season_of(green).first) and page.hollows}
    assert sides["KET-1"] and not sides["ALD-1"]
    lead = first_page(season_of("KET-1")).found[0]
    assert (lead.lead, flat(lead.words)[:19]) == ("One side is low,", flat("to 30 mm (limit 6 mm); deepest")[:19])


def test_the_head_leaves_lines_to_fill_in_and_prints_what_is_given(pdf_of_green: Pdf, season_of: SeasonOf) -> None:
    ours, theirs = first_text(pdf_of_green("ALD-1", "ours")), first_text(pdf_of_green("ALD-1", "US letter"))
    assert "PreparedbyForThecommitteeIssuedon28November2026" in ours
    assert "PreparedbyCountyGreensServiceTheYardForIssuedon" in theirs


def test_what_gives_way_does_so_in_its_order(season_of: SeasonOf) -> None:
    """Each level says no more than the one before, and verdict, counts, sums and measures stand at all of them."""
    for green in GREENS:
        pages = [first_page(season_of(green), level) for level in FIRST_LEVELS]
        for one, closer in pairwise(pages):
            assert (one.verdict, one.counts, one.spent, one.measures) == (
                closer.verdict,
                closer.counts,
                closer.spent,
                closer.measures,
            )
            assert len(closer.found) <= len(one.found)
            assert len(closer.actions.rows) <= len(one.actions.rows)
            assert len(closer.checks.paragraphs) <= len(one.checks.paragraphs) + 1


def test_a_kind_of_work_with_a_line_under_a_warning_is_marked_where_its_sums_stand(season_of: SeasonOf) -> None:
    """Page one doubted 500 kg of feed, and page two printed them as if nobody did."""
    table = view(season_of("HOL-1"), version="test").works
    marked = [line.operation for group in table.groups for line in group.lines if line.operation.endswith("?")]
    assert [flat(one) for one in marked] == ["Fertilising?"]
    assert table.note.startswith(
        "?: rests on an entry to be checked first, see page 1 (jobs_south_crew.csv, line 209)."
    )
    assert "?" not in view(season_of("KET-1"), version="test").works.note


def test_works_that_stand_in_one_row_are_named_below_it(season_of: SeasonOf) -> None:
    of = season_of("HOL-1")
    level = next(one for one in FIRST_LEVELS if one.actions == 4)
    note = first_page(of, level).actions.note
    assert note.startswith("Other routine work: ") and "drag matting" in note
    assert "look at the green before the next feed: the last one lasts to " in note


def test_the_measure_says_of_which_layer_it_is_and_a_finding_that_its_own_is_another(season_of: SeasonOf) -> None:
    """5.3 % stood twice on one page, of the top and of 20 to 40 mm."""
    page = first_page(season_of("ALD-1"))
    assert flat(page.measures[0].label) == "Organicmatter0–20mm"
    assert flat(page.found[1].lead) == "Spongylayerat20–40mm:"
    assert page.found[1].words.startswith("organic matter there ")


def test_what_there_is_no_room_for_is_said_with_where_it_stands(season_of: SeasonOf) -> None:
    """The third finding, the map and what is to be looked at were left out without a word."""
    of = season_of("ALD-1")
    assert of.first is not None and len(of.first.found) == 3
    for level in FIRST_LEVELS:
        page = first_page(of, level)
        left = 3 - len(page.found)
        assert flat(page.found_more).startswith(f"{left}furtherfinding") if left else not page.found_more
        assert "look at the green before the next feed" in page.actions.note
        assert ("by its label" in page.actions.note) == level.looks
        assert ("records-level.csv" in page.key) == (page.map is None)


def test_the_key_of_the_bars_tells_what_is_drawn_and_nothing_else(season_of: SeasonOf) -> None:
    """It said "Shaded: target" where no measure has a target."""
    of = season_of("KET-1")
    assert of.first is not None
    assert flat(first_page(of).key) == flat(
        "Shaded: target. Dot: this season, with its 95 % interval where there is one. Ring: last season."
    )
    bare = [
        replace(one, last=None, figure=replace(one.figure, target_low=None, target_high=None, standing="no target"))
        for one in of.first.measures
        if one.figure
    ]
    without = replace(of, first=replace(of.first, measures=tuple(bare)))
    assert flat(first_page(without).key) == flat("Dot: this season, with its 95 % interval where there is one.")
    assert "Cross: rests on an entry to be checked." in first_page(season_of("HOL-1")).key
    assert first_page(season_of("WIC-1")).key == ""


def test_a_check_that_waits_is_neither_on_nor_off_target_on_any_page(season_of: SeasonOf) -> None:
    """Page one had 1 off and 2 waiting, and page three 3 off."""
    of = season_of("HOL-1")
    report = view(of, version="test")
    assert flat("10areontarget,2arecloseand1isoff;of1therearetoofewrecordstosay;2waitforanentry") in flat(
        " ".join(report.headline)
    )
    rows = {row.label: row for table in report.tables for row in table.figures}
    assert {rows[label].standing for label in ("Nitrogen (N) applied", "Largest single dose of nitrogen")} == {"check"}
    assert (checks_row(of, 3).off, checks_row(of, 3).open) == ("1", "3")
    beside = [row for panel in summary.view(club_season([of]), version="test").panels for row in panel.rows]
    assert [(row.mark, row.standing) for row in beside if row.value.startswith("390")] == [("?", "check")]
    (line,) = (line for club in round_up_page.view(round_up([of]), version="test").clubs for line in club.rows)
    assert [(cell.mark, cell.standing) for cell in line.cells if cell.value.startswith("390")] == [("?", "check")]


def test_what_is_off_by_little_is_not_called_open(season_of: SeasonOf) -> None:
    """pH stood under what is off in the counts, and as too close to call among the findings."""
    of = season_of("ALD-1")
    assert of.first is not None
    spongy = replace(of.first.found[1], doubtful=True)
    assert flat(found_line(1, spongy, "metric").lead).endswith(flat("just above target,"))


def test_charts_of_the_season_follow_the_works_and_none_is_low(season_of: SeasonOf) -> None:
    """Speeds stood on page two only where few works were logged; curves were a centimetre high."""
    for green in GREENS[:4]:
        drafts = list(reports(season_of(green), "test", HouseStyle()))
        assert [one.kind for one in drafts[0].groups][:2] == ["running", "speed"]
        for draft in drafts:
            for row in rows_of(draft.groups):
                full = {"years": charts.YEARS_HEIGHT, "running": charts.RUNNING_HEIGHT, "speed": charts.SPEED_HEIGHT}
                assert all(
                    LOWEST * full[of.kind] - 1 <= chart.spec["height"] <= full[of.kind]
                    for of in row
                    for chart in of.charts
                )


def test_rows_of_charts_take_the_room_that_page_two_has_left(season_of: SeasonOf) -> None:
    low = charts.chart_groups(season_of("KET-1"), charts.Heights(LOWEST))
    assert [len(row) for row in rows_of(low)] == [2, 1]
    every = height_pt(low)
    assert placed(low, every + 200.0, LOWEST) == Rows(charts.Heights(LOWEST), 0.0)  # all fit, and more begins below
    one_row = placed(low, every - 40.0, LOWEST)
    assert one_row.heights.rows == 1 and LOWEST < one_row.heights.first <= 1.0
    grown = charts.chart_groups(season_of("KET-1"), one_row.heights)
    assert height_pt(grown) - height_pt(low) + one_row.wasted_pt == pytest.approx(
        every - 40.0 - SAFE_PT - height_pt(low[:2]), abs=2.0
    )
    assert placed(low, 60.0, LOWEST).heights.rows == 0
    assert placed((), 500.0, LOWEST) == Rows(charts.Heights(LOWEST), 0.0)


def test_the_last_page_holds_what_is_due_as_far_as_it_has_room(season_of: SeasonOf) -> None:
    """Six lines of twelve were left to an attachment above half an empty page."""
    of = season_of("CUL-1")
    draft = next(reports(of, "test", HouseStyle()))
    assert len(draft.report.due) == len(of.due) > 6
    assert not draft.report.due_more
