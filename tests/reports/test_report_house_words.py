"""A house's own words on every document: texts at fixed places, who signs, the number of the report, colours."""

from __future__ import annotations

import io
import re
from pathlib import Path

import page
import pytest
from PIL import Image

from pipeline.common.refusal import CannotDo
from pipeline.publish.branding import DOCUMENTS, house_style_of
from pipeline.publish.pool import Task, render_many
from pipeline.workspace.settings import SETTINGS, Workspace, open_workspace
from reports.condition import render as condition
from reports.order import van
from reports.page import document, rendering
from reports.page.charts import palette
from reports.page.document import TEMPLATES
from reports.page.house_style import FOR_CLIENTS, HouseStyle
from reports.page.own_text import OwnTextFault, html_of, of_document
from reports.page.templating import fill
from tests.reports import sample
from tests.reports.conftest import VERSION
from tests.reports.test_report_house import set_house
from tests.reports.test_report_pages import flat, pages_text

TEXT = """# Before you read on

All levels by [our method](https://vale.example/levels), said <b>once</b>; <https://vale.example> has more.

| Rink | Walked |
| --- | ---: |
| 3 | yes |

![The gate, 2.1 m wide](gate.png)
"""


def test_links_are_printed_addresses_and_nothing_can_be_followed() -> None:
    made = html_of(TEXT, heading="h2", pictures={"gate.png"})
    assert "our method (https://vale.example/levels)" in made
    assert made.count("https://vale.example has more") == 1  # an address that is its own words is not said twice
    assert "&lt;b&gt;" in made and "href" not in made


def test_tables_headings_and_pictures_are_set() -> None:
    made = html_of(TEXT, heading="h2", pictures={"gate.png"})
    assert "<h2>Before you read on</h2>" in made
    assert "<th>Rink</th>" in made and re.search(r"<td[^>]*>yes</td>", made)
    assert '<img src="asset:own/gate.png" alt="The gate, 2.1 m wide"' in made


@pytest.mark.parametrize(
    ("source", "line", "reason"),
    [
        ("one\n\n![a gate](gone.png)", 3, "there is no picture 'gone.png'"),
        ("![](gate.png)", 1, "no words say what 'gate.png' shows"),
        ("one\n![ ](gate.png)", 2, "no words say"),
        ("- a\n- ![a](../gate.png)", 2, "there is no picture"),
        ("![a](https://vale.example/a.png)", 1, "there is no picture"),
    ],
)
def test_a_picture_that_cannot_be_shown_is_a_fault_with_its_line(source: str, line: int, reason: str) -> None:
    with pytest.raises(OwnTextFault, match=re.escape(f"line {line}: {reason}")):
        html_of(source, pictures={"gate.png"})


@pytest.mark.parametrize(
    ("source", "line", "reason"),
    [
        ("| a | b |\n| - | - |\n| 1 | 2 | 3 |", 3, "the row has 3 cells, the table 2 columns"),
        ("> | a |\n> | - |\n> | 1 |\n> | 1 | 2 |", 4, "the row has 2 cells, the table 1 columns"),
        ("|a" * 11 + "|\n" + "|-" * 11 + "|\n", 1, "the table has more than the 10 columns"),
        (">" * 150 + " deep", 1, "lists and quotes lie more than 8 deep"),
        ("\n".join("  " * i + "- one" for i in range(9)), 9, "lists and quotes lie more than 8 deep"),
        ("one\n\ntwo שלום", 3, "the typeface of the documents has no “ש” (U+05E9), “ל” (U+05DC), “ו” (U+05D5)"),
        ("one\n\n&#128512;", 3, "the typeface of the documents has no “😀” (U+1F600)"),
        ("| a |\n| - |\n| 😀 |", 3, "the typeface of the documents has no “😀” (U+1F600)"),
    ],
)
def test_what_would_be_lost_of_a_text_is_a_fault_with_its_line(source: str, line: int, reason: str) -> None:
    """A third cell, what lay more than 20 deep, and every letter without a glyph were left out without a word."""
    with pytest.raises(OwnTextFault, match=re.escape(f"line {line}: {reason}")):
        html_of(source)


@pytest.mark.parametrize("row", ["| 1 |", "| 1 | 2 |  |", r"| 1 \| 2 | 3 |"])
def test_a_row_that_loses_nothing_stands(row: str) -> None:
    assert "<td>1" in html_of(f"| a | b |\n| - | - |\n{row}")


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_document_takes_texts_signatures_and_a_number(name: str, tmp_path: Path) -> None:
    """What each template does with them, without its report: the blocks that the house fills stand in every one."""
    source = (TEMPLATES / f"{name}.html.j2").read_text("utf-8")
    assert "{{ owntext(own.opening) }}" in source
    assert any(one in source for one in ("maker(house, own.issue)", "in own.issue", "house.report_number"))
    assert '{% extends "base.html.j2" %}' in source
    assert "{% block closing %}" not in source


def _house(**given: object) -> HouseStyle:
    texts = {"every-opening.md": "Of every document.", "order-van-closing.md": "# Of this one\n\nMind the gate."}
    made = {name: html_of(source, heading="h2") for name, source in texts.items()}
    return HouseStyle(texts=made, signatures={"order-van": ("Driver", "For the club")}, number="VG {file} {issued}",
                      file="order-2027", issued_iso="2027-02-15", issued_on="15 February 2027",
                      prepared_by="A. Field", prepared_for="The committee", **given)  # fmt: skip


def test_texts_signatures_and_number_stand_where_they_are_meant() -> None:
    made = fill("order-van.html.j2", _house(), attached=(), report=_empty_order())
    body = made[made.index("<body") :]
    told = (
        "No. VG order-2027 2027-02-15",
        "Of every document.",
        "No green gets",
        "<h2>Of this one",
        "Signed",
        "Driver",
    )
    places = [body.index(one) for one in told]
    assert places == sorted(places)
    assert "The committee" not in body, "an order is for the contractor's own use"
    assert "order-van" not in FOR_CLIENTS


@pytest.mark.parametrize(
    ("pattern", "without"),
    [
        ("VG {file}/{issued}", "VG order-2027"),
        ("{issued} – {file}", "order-2027"),
        ("VG {issued}: {file}", "VG order-2027"),
    ],
)
def test_a_number_without_a_day_of_issue_leaves_no_marks_behind(pattern: str, without: str) -> None:
    assert HouseStyle(number=pattern, file="order-2027").report_number == without
    assert "2027-02-15" in HouseStyle(number=pattern, file="order-2027", issued_iso="2027-02-15").report_number


def _empty_order() -> van.VanReport:
    return van.VanReport(
        **{name: () if "tuple" in str(one) else "" for name, one in van.VanReport.__annotations__.items()}
    )


def test_a_text_of_its_own_stands_before_that_of_every_document_and_an_empty_one_leaves_it_out() -> None:
    texts = {"every-closing.md": "For all.", "due-closing.md": "For this.", "summary-closing.md": ""}
    found = {
        name: of_document({file: html_of(one) for file, one in texts.items()}, name)["closing"]
        for name in ("due", "summary", "survey")
    }
    assert "For this." in found["due"] and "For all." not in found["due"]
    assert found["summary"] == ""
    assert "For all." in found["survey"]


@pytest.fixture
def branded(workspace: Workspace) -> Workspace:
    """A workspace with a style of its own in every part."""
    pages = workspace.folder / "pages"
    pages.mkdir()
    made = io.BytesIO()
    Image.new("RGB", (300, 100), "#805533").save(made, "PNG")
    (pages / "gate.png").write_bytes(made.getvalue())
    (pages / "every-closing.md").write_text(TEXT, "utf-8")
    told = 'report_number = "VG {file}"\ncolours = { accent = "#5A2D82", text = "#222222" }'
    return set_house(workspace, f'{told}\nsignatures = {{ condition = ["Surveyor"] }}')


def test_a_report_in_the_style_of_a_house_breaks_no_standard(branded: Workspace, tmp_path: Path) -> None:
    """Outside check: PDF/UA-1 and PDF/A-3a by the validator that every document is held to."""
    target = tmp_path / "ALD-1-condition-2026.pdf"
    task = Task("ALD-1", "condition", sample.rich(), target)
    (outcome,) = render_many([task], workers=1, version=VERSION, house=house_style_of(branded))
    assert not outcome.fault
    pdf = target.read_bytes()
    words = "".join(flat(one) for one in pages_text(pdf))
    assert "VGALD-1-condition-2026" in words
    assert "ourmethod(https://vale.example/levels)" in words and "Surveyor" in words
    for profile in (page.ValidationProfile.PDF_UA_1, page.ValidationProfile.PDF_A_3A):
        report = page.validate_pdf_bytes(pdf, profile=profile)
        assert report.is_compliant, [str(failure) for failure in report.failures]


def test_colours_of_the_house_stand_everywhere(branded: Workspace) -> None:
    house = house_style_of(branded)
    assert house.colours == {palette.ACCENT: "#5a2d82", palette.INK: "#222222"}
    for path in TEMPLATES.glob("*.css"):
        sheet = house.recoloured(path.read_text("utf-8"))
        assert palette.ACCENT not in sheet and palette.INK not in sheet
    made = condition.html(sample.rich(), version=VERSION, house=house)
    assert palette.ACCENT not in made and palette.INK not in made and "#5a2d82" in made
    drawn = document._recoloured(rendering.Image(rendering.SVG, f'<path fill="{palette.ACCENT}"/>'.encode()), house)
    assert drawn.content == b'<path fill="#5a2d82"/>'
    photo = document.Image("image/jpeg", palette.ACCENT.encode())
    assert document._recoloured(photo, house) is photo


@pytest.mark.parametrize(("colour", "contrast"), [("#8aa0b0", "2.71"), ("#ffffff", "1.00"), ("#767676", "4.13")])
def test_a_colour_that_is_hard_to_read_is_refused(workspace: Workspace, colour: str, contrast: str) -> None:
    """Outside check: #767676 has 4.54 on white (the lightest grey that passes WCAG 2.2 there), not so on a box."""
    with pytest.raises(
        CannotDo, match=f"settings.toml, line 2: house.colours.accent = '{colour}' has a contrast of {contrast} on"
    ):
        house_style_of(set_house(workspace, f'colours = {{ accent = "{colour}" }}'))


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ('report_number = "VG {green}"', "line 2, house.report_number = 'VG {green}': {green} is neither"),
        ('report_number = "VG {file"', "{file is neither"),
        ('report_number = "VG 12"', "house.report_number = 'VG 12' must hold {file}, or every document has the same"),
        ('report_number = "VG {issued}"', "must hold {file}"),
        ('colours = { accent = "purple" }', "line 2, house.colours.accent = 'purple' must be # and six of 0 to 9"),
        ('colours = { ground = "#000000" }', "line 2, house.colours.ground must be 'accent' or 'text'"),
        ('signatures = { surveys = ["Surveyor"] }', "house.signatures.surveys must be 'condition', "),
        ('signatures = { survey = [" "] }', "line 2, house.signatures.survey.0 = ' ' must not be empty"),
        ('glossary = "yes"', "line 2, house.glossary = 'yes' must be true or false"),
        ("short = 1", "line 2, house.short = 1 must be true or false"),
    ],
)
def test_a_setting_that_says_nothing_known_is_refused(workspace: Workspace, line: str, reason: str) -> None:
    path = workspace.folder / SETTINGS
    path.write_text(f"[house]\n{line}\n", "utf-8")
    with pytest.raises(CannotDo, match=re.escape(reason)):
        open_workspace(workspace.folder)


@pytest.mark.parametrize(
    ("name", "content", "reason"),
    [
        ("survey-openning.md", b"text", "survey-opening.md"),
        ("every-opening.md", b"\xff\xfe", "is not UTF-8"),
        ("every-opening.md", b"x" * 40_001, "40,000 are the most"),
        ("due-closing.md", b"![gate](gate.png)", "due-closing.md, line 1: there is no picture"),
        ("ours.html.j2", b"x" * 1_000_001, "pages/ours.html.j2 is larger than 1 MB."),
        ("gate.png", b"\x89PNG\r\n\x1a\n", "No document uses pages/gate.png"),
    ],
)
def test_a_text_that_cannot_be_printed_is_refused(workspace: Workspace, name: str, content: bytes, reason: str) -> None:
    pages = workspace.folder / "pages"
    pages.mkdir()
    (pages / name).write_bytes(content)
    with pytest.raises(CannotDo) as told:
        house_style_of(workspace)
    assert reason in told.value.message


@pytest.mark.parametrize(
    "line", ['name = "שלום"', 'signatures = { due = ["Chair 😀"] }', 'prepared_for_club = { ALD = "日本" }']
)
def test_a_setting_that_cannot_be_drawn_is_refused(workspace: Workspace, line: str) -> None:
    """Each letter was printed as a box, and nobody was told."""
    key = line.partition(" ")[0]
    with pytest.raises(CannotDo, match=rf"settings\.toml, line 2: house\.{key}.* has no “"):
        house_style_of(set_house(workspace, line))


def test_a_text_that_leads_out_of_the_folder_is_not_read(workspace: Workspace, tmp_path: Path) -> None:
    pages = workspace.folder / "pages"
    pages.mkdir()
    secret = tmp_path / "secret.md"
    secret.write_text("secret", "utf-8")
    (pages / "every-opening.md").symlink_to(secret)
    with pytest.raises(CannotDo, match="leads out of the folder"):
        house_style_of(workspace)
