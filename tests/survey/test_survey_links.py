"""Links of a survey: contents, from a finding to its map and photos and back; all lead somewhere and are tagged."""

from __future__ import annotations

import io
import re

import pikepdf
import pytest

from pipeline.survey.condition_survey import ConditionSurvey
from reports.survey import render as document
from tests.reports.conftest import VERSION
from tests.reports.test_report_pages import pages_text


@pytest.fixture(scope="module")
def made(found: ConditionSurvey) -> str:
    return document.html(found, version=VERSION)


def test_every_link_leads_to_one_place(made: str) -> None:
    places = re.findall(r' id="([^"]+)"', made)
    assert len(places) == len(set(places))
    asked = set(re.findall(r'(?:href|data-to)="#([^"]+)"', made))
    assert asked <= set(places)
    assert {"findings", "map-of-levels", "finding-1", "photo-1"} <= asked


def test_a_finding_on_levels_leads_to_the_map_and_the_map_back(made: str) -> None:
    levels = re.search(r'<h3 id="(finding-\d+)">(?:(?!</div>).)*Levels are out(?:(?!</div>).)*</div>', made, re.DOTALL)
    assert levels
    assert 'href="#map-of-levels"' in levels[0]
    section = made.partition('<h2 id="map-of-levels">')[2][:600]
    assert f'href="#{levels[1]}"' in section


def test_a_photo_is_numbered_and_leads_to_its_findings(made: str) -> None:
    (photo,) = re.findall(r'<figure id="photo-1">.*?</figure>', made, re.DOTALL)
    assert "Photo 1." in photo
    assert "Core beside the ruler" in photo


def test_contents_name_the_page_each_section_is_on(pdf: bytes) -> None:
    pages = pages_text(pdf)
    (number,) = re.findall(r"Files behind this survey\s+(\d+)\s", pages[0] + pages[1])
    assert "Files behind this survey" in pages[int(number) - 1]
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        links = [one for sheet in opened.pages for one in sheet.get("/Annots", []) if one.Subtype == "/Link"]
    assert len(links) > 10
