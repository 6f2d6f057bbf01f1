"""A workspace's own name, paper and templates on the pages; nothing of anybody's without them."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import get_args

import page
import pypdfium2
import pytest
from PIL import Image

from pipeline.common.refusal import CannotDo
from pipeline.publish.branding import house_style_of
from pipeline.publish.pool import Task, render_many
from pipeline.workspace.settings import SETTINGS, HouseStyleSettings, Workspace, open_workspace
from reports.condition import render as condition
from reports.page import document
from reports.page.house_style import PLAIN, HouseStyle
from tests.reports import sample
from tests.reports.conftest import VERSION
from tests.reports.test_report_pages import flat, pages_text
from tests.thorough import beyond, but_for, thorough

SECTIONS = get_args(get_args(HouseStyleSettings.model_fields["leave_out"].annotation)[0])

LOGO = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 40"><rect width="120" height="40"/></svg>'
OURS = HouseStyle(name="Vale Grounds", address="2 Mill Lane, Ostershire", logo=LOGO, logo_type="image/svg+xml")


def test_name_address_and_logo_stand_on_page_one_and_break_no_standard() -> None:
    pdf = condition.render(sample.empty(), version=VERSION, house=OURS)
    assert "ValeGrounds2MillLane,Ostershire" in flat(pages_text(pdf)[0])
    for profile in (page.ValidationProfile.PDF_UA_1, page.ValidationProfile.PDF_A_3A):
        assert page.validate_pdf_bytes(pdf, profile=profile).is_compliant


def test_a_logo_of_pixels_breaks_no_standard() -> None:
    made = io.BytesIO()
    Image.new("RGB", (40, 20), "#1d5660").save(made, "PNG")
    house = HouseStyle(logo=made.getvalue(), logo_type="image/png")
    pdf = condition.render(sample.empty(), version=VERSION, house=house)
    report = page.validate_pdf_bytes(pdf, profile=page.ValidationProfile.PDF_A_3A)
    assert report.is_compliant, [str(failure) for failure in report.failures]


def test_nobody_is_named_without_a_setting() -> None:
    assert "maker" not in condition.html(sample.rich(), version=VERSION)


@pytest.mark.parametrize(("paper", "size"), [("A4", (595, 842)), ("Letter", (612, 792))])
@beyond(1)
def test_paper(paper: str, size: tuple[int, int]) -> None:
    # ISO 216 A4 is 210 × 297 mm; ANSI A (Letter) is 8.5 × 11 in
    pdf = condition.render(sample.rich(), version=VERSION, house=HouseStyle(paper=paper))  # type: ignore[arg-type]
    pages = pypdfium2.PdfDocument(pdf)
    assert {tuple(round(x) for x in pages[i].get_size()) for i in range(len(pages))} == {size}
    assert len(pages) <= 5


@pytest.mark.parametrize("section", SECTIONS)
def test_a_part_can_be_left_out_and_what_guards_the_reader_cannot(section: str) -> None:
    made = condition.html(sample.rich(), version=VERSION, house=HouseStyle(left_out=(section,)))
    assert f'<section class="{section}">' not in made
    assert f'<section class="{section}">' in condition.html(sample.rich(), version=VERSION)
    for stays in ("certifies", "cautions", "notes", "figures"):
        assert f'class="{stays}"' in made


@pytest.mark.parametrize("name", but_for(("crowded",), ("crowded", "long_names")))
def test_the_short_form_has_two_pages_and_says_where_the_rest_is(name: str) -> None:
    pdf = condition.render(sample.EVERY[name](), version=VERSION, house=HouseStyle(short=True))
    words = [flat(one) for one in pages_text(pdf)]
    assert len(words) <= 2
    assert "fileandlineofeveryrecordbehindit" in "".join(words)
    assert "certifiesnothing" in words[0]
    for profile in (page.ValidationProfile.PDF_UA_1, page.ValidationProfile.PDF_A_3A):
        assert page.validate_pdf_bytes(pdf, profile=profile).is_compliant


def test_the_short_form_heads_no_empty_column_and_says_what_its_marks_mean() -> None:
    """“With what and how” and “Amount” stood over nothing, and a star after a name was explained nowhere."""
    made = condition.html(sample.crowded(), version=VERSION, house=HouseStyle(short=True))
    assert "With what and how" not in made and "Amount</th>" not in made.partition("page-two")[2]
    assert 'class="star"' in made and "*: see the note." in made


def test_every_figure_is_printed_where_the_workspace_asks(workspace: Workspace) -> None:
    """A row without a target too: it takes its pages, and no figure stands in the attachment alone."""
    season = sample.crowded()
    house = house_style_of(set_house(workspace, 'untargeted_figures = "printed"'))
    assert house.mark != house_style_of(set_house(workspace, 'untargeted_figures = "attached"')).mark
    usual, whole = (condition.html(season, version=VERSION, house=one) for one in (PLAIN, house))
    assert "in the attached indicators.csv, " in usual and "in the attached indicators.csv, " not in whole
    numbered = re.findall(r'<tr>\s*<td class="ref">(?:<[^>]*>)?(\d+)', whole)
    assert numbered == [str(n) for n in range(1, len(season.indicators) + 1)]


@thorough
def test_every_figure_is_in_the_pdf_of_it(workspace: Workspace) -> None:
    """What the page holds is laid out on pages, however many."""
    season = sample.crowded()
    house = house_style_of(set_house(workspace, 'untargeted_figures = "printed"'))
    words = "".join(flat(one) for one in pages_text(condition.render(season, version=VERSION, house=house)))
    assert flat(season.indicators[-1].label) in words and "furtherfigures" not in words


def test_a_template_of_the_workspace_replaces_one_block(tmp_path: Path) -> None:
    own = '{% extends "shipped/condition.html.j2" %}{% block due %}<h2>Our plan</h2>{{ super() }}{% endblock %}'
    (tmp_path / "condition.html.j2").write_text(own, "utf-8")
    made = condition.html(sample.rich(), version=VERSION, house=HouseStyle(templates=tmp_path))
    assert "<h2>Our plan</h2>" in made
    assert made.replace("<h2>Our plan</h2>", "") == condition.html(sample.rich(), version=VERSION)


def test_a_stylesheet_of_the_workspace_is_laid_over(tmp_path: Path) -> None:
    (tmp_path / document.OWN_STYLE).write_text("@page { size: A5 landscape }", "utf-8")
    pdf = condition.render(sample.empty(), version=VERSION, house=HouseStyle(templates=tmp_path))
    assert round(pypdfium2.PdfDocument(pdf)[0].get_size()[0]) == 595


@pytest.mark.parametrize(
    "template",
    [
        '{% include "../settings.toml" %}',
        '{% include "/etc/hostname" %}',
        "{{ ''.__class__.__mro__ }}",
        "{{ report.nothing_of_that_name }}",
        "{% for %}",
        "<img src='file:///etc/hostname' alt='x'>",
        "<link rel=attachment href='file:///etc/hostname'>",
    ],
)
def test_a_template_that_reaches_out_or_is_wrong_is_a_named_fault(tmp_path: Path, template: str) -> None:
    # guards against files of the machine reaching the page through a template that came with somebody's workspace
    pages = tmp_path / "pages"
    pages.mkdir()
    (tmp_path / "settings.toml").write_text("secret", "utf-8")
    (pages / "condition.html.j2").write_text(f"<html lang=en><title>t</title>{template}</html>", "utf-8")
    task = Task("ALD-1", "condition", sample.empty(), tmp_path / "out.pdf")
    (outcome,) = render_many([task], workers=1, version=VERSION, house=HouseStyle(templates=pages))
    assert outcome.fault
    assert not task.target.exists()


def test_a_stylesheet_that_reaches_out_is_a_fault(tmp_path: Path) -> None:
    (tmp_path / document.OWN_STYLE).write_text("@import url(file:///etc/hostname);", "utf-8")
    with pytest.raises(document.RenderingFault):
        condition.render(sample.empty(), version=VERSION, house=HouseStyle(templates=tmp_path))


@pytest.mark.parametrize("logo", [b"<svg", b"\x89PNG\r\n\x1a\nbroken", b"\xff\xd8\xffbroken"])
def test_a_logo_that_cannot_be_drawn_is_a_fault(logo: bytes) -> None:
    with pytest.raises(document.RenderingFault):
        condition.render(sample.empty(), version=VERSION, house=HouseStyle(logo=logo, logo_type="image/png"))


def test_a_logo_that_asks_for_a_file_gets_none() -> None:
    logo = LOGO.replace(b"<rect", b'<image href="file:///etc/hostname" width="9" height="9"/><rect')
    with pytest.raises(document.RenderingFault):
        condition.render(sample.empty(), version=VERSION, house=HouseStyle(logo=logo, logo_type="image/svg+xml"))


def set_house(workspace: Workspace, text: str) -> Workspace:
    (workspace.folder / SETTINGS).write_text(f"[house]\n{text}\n", "utf-8")
    return open_workspace(workspace.folder)


def test_the_settings_become_the_house_style(workspace: Workspace) -> None:
    (workspace.folder / "mark.svg").write_bytes(LOGO)
    told = 'name = "Vale  Grounds\\u202e"\nlogo = "mark.svg"\npaper = "Letter"\nleave_out = ["charts"]\nshort = true'
    house = house_style_of(set_house(workspace, told))
    assert (house.name, house.logo, house.logo_type) == ("Vale Grounds", LOGO, "image/svg+xml")
    assert (house.paper, house.left_out, house.short, house.templates) == ("Letter", ("charts",), True, None)
    assert house_style_of(open_workspace(workspace.folder)).mark == house.mark != PLAIN.mark


@pytest.mark.parametrize(
    ("logo", "content", "reason"),
    [
        ("gone.png", None, "is not there"),
        ("big.png", b"\x89PNG\r\n\x1a\n" + b"0" * 1_000_000, "is 1,001 kB large; 1,000 kB are the most"),
        ("mark.txt", b"words", "not a PNG, JPEG or SVG"),
        ("../mark.svg", LOGO, "outside the workspace"),
    ],
)
def test_a_logo_that_will_not_do_is_said(workspace: Workspace, logo: str, content: bytes | None, reason: str) -> None:
    if content is not None:
        (workspace.folder / logo).write_bytes(content)
    with pytest.raises(CannotDo, match=re.escape(reason)):
        house_style_of(set_house(workspace, f'logo = "{logo}"'))


@pytest.mark.parametrize("wrong", ['paper = "A3"', 'units = "imperial"', 'leave_out = ["cautions"]', "colour = 1"])
def test_a_setting_that_cannot_be_is_named(workspace: Workspace, wrong: str) -> None:
    with pytest.raises(CannotDo, match=wrong.split(" ", 1)[0]):
        set_house(workspace, wrong)
