"""What a template of a house says and Jinja would leave out is a fault with its line; nothing is lost in silence."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from reports.condition import render as condition
from reports.page import document
from reports.page.document import Pages, RenderingFault
from reports.page.house_style import PLAIN, HouseStyle
from reports.page.own_text import html_of, pages_of
from reports.page.rendering import fonts_of_pages
from reports.page.templating import TemplateFault, fill
from tests.reports import sample
from tests.reports.conftest import VERSION

SHIPPED = '{% extends "shipped/condition.html.j2" %}\n'


def made(folder: Path, template: str | bytes) -> str:
    path = folder / "condition.html.j2"
    path.write_bytes(template if isinstance(template, bytes) else template.encode())
    return condition.html(sample.empty(), version=VERSION, house=HouseStyle(templates=folder))


@pytest.mark.parametrize(
    ("template", "said"),
    [
        (f"{SHIPPED}{{% block deu %}}x{{% endblock %}}", "line 2: shipped/condition.html.j2 has no block “deu”; clos"),
        (f"{SHIPPED}\n<p>Our plan</p>", "line 2: what stands outside of the blocks of a template that extends"),
        (f"{SHIPPED}{{{{ report.green }}}}", "what stands outside of the blocks"),
        (b"caf\xe9", "condition.html.j2 is not UTF-8 (byte 3)"),
    ],
)  # fmt: skip
def test_what_would_not_be_printed_is_a_fault(tmp_path: Path, template: str | bytes, said: str) -> None:
    """A misspelt block printed the shipped page in its place, and nobody was told."""
    with pytest.raises(TemplateFault) as fault:
        made(tmp_path, template)
    assert said in str(fault.value) and tmp_path.name in str(fault.value)


def test_a_block_within_a_block_and_a_chain_of_templates_stand(tmp_path: Path) -> None:
    (tmp_path / "ours.html.j2").write_text(
        f"{SHIPPED}{{% block due %}}<p>{{% block ours %}}{{% endblock %}}</p>{{% endblock %}}"
    )
    words = made(tmp_path, '{# ours #}{% extends "ours.html.j2" %}\n{% block ours %}Our plan{% endblock %}')
    assert "<p>Our plan</p>" in words


def test_a_complaint_of_the_houses_own_stylesheet_names_its_line(tmp_path: Path) -> None:
    """“at 3:5” alone was told, of no file: whoever wrote two faults had to look for both."""
    (tmp_path / document.OWN_STYLE).write_text("/* ours */\n\np { colour: red }\nh2 { margin: 2quux }\n", "utf-8")
    with pytest.raises(RenderingFault) as fault:
        condition.render(sample.empty(), version=VERSION, house=HouseStyle(templates=tmp_path))
    first, second = str(fault.value).split("; ")
    assert first.startswith(f"{tmp_path.name}/house.css, line 3: ") and "colour" in first
    assert second.startswith(f"{tmp_path.name}/house.css, line 4: ") and "2quux" in second
    assert not re.search(r"\d:\d", str(fault.value))


def test_a_complaint_of_no_known_place_names_the_templates_of_the_house(tmp_path: Path) -> None:
    block = f'{SHIPPED}{{% block due %}}<p style="colour: red">x</p>{{% endblock %}}'
    (tmp_path / "condition.html.j2").write_text(block, "utf-8")
    with pytest.raises(
        RenderingFault, match=rf"unknown property.* \(made with condition.html.j2 of the folder {tmp_path.name}\)"
    ):
        condition.render(sample.rich(), version=VERSION, house=HouseStyle(templates=tmp_path))


def test_name_and_address_stand_whoever_prepared_it() -> None:
    """A name gave way to who prepared the report, and an address without a name was not printed."""
    told = HouseStyle(name="Vale Grounds", address="2 Mill Lane", prepared_by="A. Field")
    head = condition.html(sample.empty(), version=VERSION, house=told)
    assert "A. Field<br>Vale Grounds<br>" in head and "2 Mill Lane" in head
    assert condition.html(sample.empty(), version=VERSION, house=HouseStyle(name="Vale")).count(">Vale<") == 1
    alone = HouseStyle(address="2 Mill Lane")
    assert "2 Mill Lane" in condition.html(sample.empty(), version=VERSION, house=alone)
    from tests.reports.test_report_house_words import _empty_order

    assert "2 Mill Lane" in fill("order-van.html.j2", alone, attached=(), report=_empty_order())


def _page(name: str, pages: int) -> Pages:
    rest = "".join(f"<p style='break-before: page'>{i}</p>" for i in range(1, pages))
    return Pages(f"<html lang=en><head><title>t</title></head><body><p id={name}>x</p>{rest}</body></html>")


@pytest.mark.parametrize(("most", "taken"), [(1, "second"), (2, "second"), (3, "first")])
def test_the_most_open_setting_of_the_fewest_pages_is_taken(most: int, taken: str) -> None:
    """A long text of the house's own set everything at its smallest, with findings left out, on as many pages."""
    drafts = [_page("first", 3), _page("second", 2), _page("third", 2)]
    found = document._laid_out(fonts_of_pages(), drafts, ([], []), most, PLAIN)
    assert taken in found.pages[0].anchors


def test_a_text_of_the_house_counts_as_the_pages_it_takes() -> None:
    """31 lines of 13.8 pt with 5 pt between them are 583 of the 750 pt of a page, four of them 75."""
    section = '<section class="owntext">{}</section>'
    assert pages_of(section.format(html_of("word word\n\n" * 31))) == 1
    assert pages_of(section.format(html_of("word word\n\n" * 4))) == 0
    assert pages_of("<p>" + "word " * 9000 + "</p>") == 0
