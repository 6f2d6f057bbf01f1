"""The finished pages: standards, text, boxes, alternative text, attachments."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import page
import pikepdf
import pypdfium2
import pytest

from pipeline.indicators.base.judgement import JUDGEMENTS
from reports.page import figures, text
from reports.page.document import page_count
from scripts.page_ends import MOST, empty_shares, worst
from tests.outside_checks import outside
from tests.reports import sample
from tests.thorough import but_for

NAMES = but_for(("rich", "empty", "hostile", "crowded"), sample.EVERY)
Pdf = Callable[[str], bytes]


def pages_text(pdf: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(pdf)
    return [document[i].get_textpage().get_text_bounded() for i in range(len(document))]


def flat(words: str) -> str:
    """Text without any kind of space, so that line breaks do not matter."""
    return re.sub(r"\s", "", words.replace("\u00ad", ""))


def attached(pdf: bytes) -> dict[str, list[dict[str, str]]]:
    with pikepdf.open(io.BytesIO(pdf)) as document:
        found = {name: item.get_file().read_bytes() for name, item in document.attachments.items()}
    return {name: list(csv.DictReader(io.StringIO(raw.decode("utf-8-sig")))) for name, raw in found.items()}


def elements(document: pikepdf.Pdf) -> Iterator[Any]:
    """Structure elements of the tag tree in reading order."""

    def walk(element: Any) -> Iterator[Any]:
        yield element
        kids = element.get("/K", [])
        for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
            if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
                yield from walk(kid)

    for top in document.Root.StructTreeRoot.K:
        yield from walk(top)


@outside("library", "page-validation 0.11: rules of ISO 14289-1 and ISO 19005-3")
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("profile", [page.ValidationProfile.PDF_UA_1, page.ValidationProfile.PDF_A_3A])
def test_both_standards_pass(pdf_of: Pdf, name: str, profile: Any) -> None:
    # a missing glyph fails both
    report = page.validate_pdf_bytes(pdf_of(name), profile=profile)
    assert report.is_compliant, [str(failure) for failure in report.failures]


@outside("library", "qpdf, through pikepdf")
@pytest.mark.parametrize("name", NAMES)
def test_syntax_is_clean(pdf_of: Pdf, name: str) -> None:
    with pikepdf.open(io.BytesIO(pdf_of(name))) as document:
        assert document.check_pdf_syntax() == []


@pytest.mark.parametrize("name", NAMES)
def test_no_page_before_the_last_is_more_than_a_third_empty(pdf_of: Pdf, name: str) -> None:
    """Page one of a green with speeds alone ended at three fifths, and "No work is recorded" stood on the next."""
    shares = empty_shares(pdf_of(name))
    assert worst(shares) <= MOST, shares


@pytest.mark.parametrize("name", NAMES)
def test_one_to_five_pages(pdf_of: Pdf, name: str) -> None:
    # a green nobody wrote about needs page one alone; everything else must fit a committee's patience
    pages = len(pypdfium2.PdfDocument(pdf_of(name)))
    assert pages == page_count(pdf_of(name))
    assert pages == 1 if name == "empty" else 3 <= pages <= 5


@pytest.mark.parametrize("name", NAMES)
def test_no_text_leaves_the_page_or_its_margins(pdf_of: Pdf, name: str) -> None:
    # guards against cut words: every run of text lies inside the 16 mm side margins of an A4 page (595 × 842 pt)
    document = pypdfium2.PdfDocument(pdf_of(name))
    for i in range(len(document)):
        words = document[i].get_textpage()
        for k in range(words.count_rects()):
            left, bottom, right, top = words.get_rect(k)
            said = words.get_text_bounded(left, bottom, right, top)
            assert left >= 16 / 25.4 * 72 - 1.5, (name, i + 1, said)
            assert right <= 595.28 - 16 / 25.4 * 72 + 1.5, (name, i + 1, said)
            assert bottom >= 14, (name, i + 1, said)
            assert top <= 842 - 14, (name, i + 1, said)


@pytest.mark.parametrize(
    "name", but_for(("rich", "crowded"), ["rich", "crowded", "no_targets", "many_works", "long_names"])
)
def test_no_text_lies_on_other_text(pdf_of: Pdf, name: str) -> None:
    # guards against overlap: no two runs of text share more than a third of the smaller one
    assert overlaps(pdf_of(name)) == []


def overlaps(pdf: bytes, least: float = 1 / 3) -> list[tuple[int, str, str]]:
    """Runs of text that share so much of the smaller one: page and both."""
    found, document = [], pypdfium2.PdfDocument(pdf)
    for i in range(len(document)):
        words = document[i].get_textpage()
        boxes = {words.get_rect(k) for k in range(words.count_rects())}  # a chart label's halo has the label's box
        ordered = sorted(boxes)
        for k, (left, bottom, right, top) in enumerate(ordered):
            for other in ordered[k + 1 :]:
                if other[0] >= right:
                    break
                width = min(right, other[2]) - max(left, other[0])
                height = min(top, other[3]) - max(bottom, other[1])
                if width <= 0.5 or height <= 0.5:
                    continue
                smaller = min((right - left) * (top - bottom), (other[2] - other[0]) * (other[3] - other[1]))
                said = words.get_text_bounded(left, bottom, right, top), words.get_text_bounded(*other)
                if width * height >= smaller * least:
                    found.append((i + 1, *said))
    return found


@pytest.mark.parametrize("name", ["rich", "crowded"])
def test_no_mark_of_a_note_stands_on_a_line_by_itself(pdf_of: Pdf, name: str) -> None:
    """A label that filled its column threw its "*" onto the next line."""
    lines = [line.strip() for words in pages_text(pdf_of(name)) for line in words.splitlines()]
    assert any(line.endswith("*") or " * " in line.replace("\u00a0", " ") for line in lines)
    assert "*" not in lines


def test_no_row_stands_alone_at_the_top_or_the_foot_of_a_page() -> None:
    """A table of seven rinks began with its last one on the next page, under a heading of its own."""
    import weasyprint

    style = (Path(text.__file__).parents[1] / "templates" / "style.css").read_text("utf-8")
    rows = "".join(f"<tr><td>row{i}</td></tr>" for i in range(8))
    table = f"<table><tbody>{rows}</tbody></table>"
    for above in range(200, 245, 3):
        markup = f"<style>{style}</style><div style='height: {above}mm'></div>{table}"
        pages = pages_text(weasyprint.HTML(string=markup).write_pdf())
        shared = [words.count("row") for words in pages if "row" in words]
        assert 1 not in shared, (above, shared)


@pytest.mark.parametrize("name", NAMES)
def test_only_the_bundled_typeface_is_embedded(pdf_of: Pdf, name: str) -> None:
    # guards against a silent fall-back to a font of the machine
    with pikepdf.open(io.BytesIO(pdf_of(name))) as document:
        fonts = {str(o.BaseFont) for o in document.objects if isinstance(o, pikepdf.Dictionary) and "/BaseFont" in o}
    assert fonts
    assert all(re.fullmatch(r"/[A-Z]{6}\+Inter(-[\w-]+)?", font) for font in fonts), fonts


def test_names_season_and_page_numbers_stand_on_every_page(pdf_of: Pdf) -> None:
    said = pages_text(pdf_of("rich"))
    assert "Condition report" in said[0]
    for number, words in enumerate(said, start=1):
        assert f"Page {number} of {len(said)}" in words
        assert "Main green" in words
        assert "Alder Brook Bowls Club" in words
        assert flat("Season 2026") in flat(words)
        assert "certifies nothing" in words


def test_page_one_says_how_it_stands_and_the_figures_in_words_follow(pdf_of: Pdf) -> None:
    page, *rest = map(flat, pages_text(pdf_of("rich")))
    first = "".join(words.split(flat("Main green, Alder Brook Bowls Club"))[0] for words in rest)
    assert flat("7 of 12 checks on target, 2 close. Off: ") in page
    assert flat("Of the 12 figures that have a target, 7 are on target, 2 are close and 3 are off.") in first
    assert flat("Top dressing applied is 3.75 kg/m², below the target of 4–6 kg/m².") in first
    assert flat("Due next: Top dressing, 70/30 sand and soil, 2 t (1.25 kg/m²), by 15 October 2026.") in first


def test_missing_is_not_zero(pdf_of: Pdf) -> None:
    said = "".join(pages_text(pdf_of("rich")))
    row = said[said.index("Cost of materials") :][:120]
    assert "not recorded" in row
    assert "0.00" not in row
    costs = [r for r in attached(pdf_of("rich"))["indicators.csv"] if r["name"] == "cost"]
    assert [r["value"] for r in costs] == [""]


@pytest.mark.parametrize("name", but_for(("rich", "crowded"), ["rich", "no_targets", "rising", "crowded"]))
def test_every_printed_figure_is_attached_with_file_and_line(pdf_of: Pdf, name: str) -> None:
    # the printed number, formatted afresh from the attached one, must stand on the pages; and the way back
    said = flat("".join(pages_text(pdf_of(name))))
    season = sample.EVERY[name]()
    rows = attached(pdf_of(name))["indicators.csv"]
    by_ref = {int(row["ref"]): row for row in rows}
    assert len(by_ref) == len(season.indicators)
    for row in by_ref.values():
        if row["value"] and (row["standing"] != "no target" or name != "crowded"):
            shown = text.quantity(float(row["value"]), row["unit"], int(row["decimals"]))
            assert flat(shown) in said, row["label"]
    lines = {(r["name"], r["band"], r["evidence_file"], r["evidence_line"]) for r in rows if r["evidence_file"]}
    assert lines == {(i.name, i.band, e.file, str(e.line)) for i in season.indicators for e in i.evidence}


def test_attachments_hold_every_work_reading_and_total(pdf_of: Pdf) -> None:
    season, files = sample.rich(), attached(pdf_of("rich"))
    assert sorted(files) == ["about.csv", "columns.csv", "indicators.csv", "notes.csv", "readings.csv", "works.csv"]
    assert len(files["works.csv"]) == len(season.works)
    kinds = [row["kind"] for row in files["readings.csv"]]
    assert kinds.count("reading") == sum(len(s.readings) for series in season.series for s in series.samples)
    assert kinds.count("mean") == sum(len(series.samples) for series in season.series)
    assert kinds.count("running total") == sum(len(r.points) for r in season.running)
    described = {(row["file"], row["column"]) for row in files["columns.csv"]}
    held = {(name, column) for name, rows in files.items() if name != "columns.csv" for column in rows[0]}
    assert described == held


def test_attachments_are_associated_once_with_description_and_relationship(pdf_of: Pdf) -> None:
    # ISO 19005-3, 6.8: AFRelationship; WeasyPrint lists each file twice
    with pikepdf.open(io.BytesIO(pdf_of("rich"))) as document:
        files = list(document.Root.AF)
        assert len(files) == len({f.objgen for f in files}) == 6
        assert {str(f.AFRelationship) for f in files} == {"/Data"}
        assert all(str(f.Desc) for f in files)
        assert [str(f.UF) for f in files] == sorted(str(f.UF) for f in files)


@pytest.mark.parametrize("name", but_for(("rich", "crowded"), ["rich", "rising", "crowded"]))
def test_every_figure_has_alternative_text_and_a_box_on_its_page(pdf_of: Pdf, name: str) -> None:
    with pikepdf.open(io.BytesIO(pdf_of(name))) as document:
        found = [e for e in elements(document) if e.S == "/Figure"]
        assert found
        for figure in found:
            assert len(str(figure.Alt)) > 15
            left, bottom, right, top = (float(x) for x in figure.A.BBox)
            assert 40 < left < right < 555
            assert 30 < bottom < top < 820


def test_chart_text_says_what_the_data_say(pdf_of: Pdf) -> None:
    with pikepdf.open(io.BytesIO(pdf_of("rich"))) as document:
        alts = [text.clean(str(e.Alt), 2000).replace("\u00a0", " ").replace("\u202f", " ")
                for e in elements(document) if e.S == "/Figure"]  # fmt: skip
    charts = [alt for alt in alts if " means from " in alt or "a line that rises" in alt]
    assert len(charts) == 6
    assert any("between 7.4 and 8.6 %, the latest 7.4 % (interval 6.6–8.2 %)" in alt for alt in charts)
    assert any("1 hollow: measured another way and not comparable" in alt for alt in charts)
    assert any("rises in 3 steps from 8 October 2025 to 22 June 2026, to 3.75 kg/m²" in alt for alt in charts)
    assert any("A dashed line spreads 5.00 kg/m² evenly up to 30 September 2026" in alt for alt in charts)


def test_header_cells_say_what_they_head_and_are_indexed(pdf_of: Pdf) -> None:
    # ISO 14289-1, 7.5: Scope; ISO 32000-1, 14.7.2: IDTree
    with pikepdf.open(io.BytesIO(pdf_of("rich"))) as document:
        heads = [e for e in elements(document) if e.S == "/TH"]
        scopes = [str(e.A.Scope) for e in heads]
        assert {"/Row", "/Column"} == set(scopes)
        assert scopes.count("/Row") >= len(sample.rich().indicators)
        names = [str(x) for x in document.Root.StructTreeRoot.IDTree.Names[::2]]
        assert names == sorted(names)
        assert {str(e.ID) for e in heads if "/ID" in e} == set(names)


def test_running_heads_are_artefacts(pdf_of: Pdf) -> None:
    # ISO 14289-1, 7.8: a screen reader must not say the page number in the middle of a sentence
    with pikepdf.open(io.BytesIO(pdf_of("rich"))) as document:
        for number, sheet in enumerate(document.pages):
            content = sheet.Contents.read_bytes()
            heads = content.count(b"/Type /Pagination")
            assert heads >= 2, number
        linked = {e.objgen for e in elements(document)}
        numbers = list(document.Root.StructTreeRoot.ParentTree.Nums)
        for slots in numbers[1::2]:
            for slot in slots if isinstance(slots, pikepdf.Array) else [slots]:
                assert slot is None or slot.objgen in linked


def test_title_language_bookmarks_and_dates_come_from_the_data(pdf_of: Pdf) -> None:
    with pikepdf.open(io.BytesIO(pdf_of("rich"))) as document:
        assert str(document.Root.Lang) == "en-GB"
        assert str(document.docinfo.Title) == "Condition report: Main green, Alder Brook Bowls Club, season 2026"
        assert str(document.docinfo.CreationDate) == "D:20260907000000Z"
        assert document.Root.ViewerPreferences.DisplayDocTitle
        with document.open_outline() as outline:
            titles = [str(item.title) for item in outline.root[0].children]
    assert titles[:3] == ["What we found", "Entries to check", "What to do"]
    assert [one for one in titles if one in ("The green", "Figures against target")] == [
        "The green",
        "Figures against target",
    ]
    assert "How each figure was made" in titles


def test_standing_is_said_in_words_and_mark_never_by_colour() -> None:
    marks = [*figures.MARKS.values(), *figures.WAYS.values()]
    assert len(set(marks)) == len(marks)
    assert set(figures.MARKS) == set(JUDGEMENTS)


def test_hostile_text_is_printed_and_harmless(pdf_of: Pdf) -> None:
    said = flat("".join(pages_text(pdf_of("hostile"))))
    assert "<script>alert(1)</script>" in said
    assert "{{7*7}}" in said
    assert "root:" not in said
    assert "\u202e" not in said
    with pikepdf.open(io.BytesIO(pdf_of("hostile"))) as document:
        assert "/JavaScript" not in document.Root.get("/Names", {})
        assert "\u202e" not in str(document.docinfo.Title)


def test_undrawable_characters_are_shown_as_boxes_and_named(pdf_of: Pdf) -> None:
    said = flat("".join(pages_text(pdf_of("hostile"))))
    assert "□□□" in said
    assert flat("characters the typeface of this report cannot draw") in said
    about = {row["name"]: row["text"] for row in attached(pdf_of("hostile"))["notes.csv"] if row["kind"] == "about"}
    assert about["club"] == "緑の芝 بولينج 🎳 Club"


def test_no_cell_of_an_attachment_is_a_formula(pdf_of: Pdf) -> None:
    # OWASP, "CSV Injection": = + - @ at the start of a text cell
    for rows in attached(pdf_of("hostile")).values():
        for row in rows:
            for cell in row.values():
                assert not re.match(r"\s*[=+@-]", cell) or re.fullmatch(r"[+-]?\d+(\.\d+)?(e-?\d+)?", cell), cell
    works = attached(pdf_of("hostile"))["works.csv"]
    assert works[0]["detail"].startswith("'=HYPERLINK")


@pytest.mark.parametrize("name", NAMES)
def test_page_one_is_one_page_whatever_is_said(pdf_of: Pdf, name: str) -> None:
    """Names of hundreds of characters and three times the figures: the six measures stand on page one, whole."""
    first, *others = map(flat, pages_text(pdf_of(name)))
    assert flat("Six measures against target") in first
    assert not [one for one in others if flat("Six measures") in one]
    follows = name in ("empty", "hostile")  # of little what follows begins on page one
    assert flat("What was done, and what it cost") in (first if follows else others[0])
    if name not in ("long_names", "hostile"):  # their own texts are cut
        assert "…" not in first
