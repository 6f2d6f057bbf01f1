"""The table of documents that are held, and what is held of each."""

from __future__ import annotations

import dataclasses
import json
import re
import tempfile
from collections.abc import Callable
from functools import cache, partial
from pathlib import Path
from typing import Any

import pypdfium2
from PIL import Image

from pipeline.compare.build import comparison as build_comparison
from pipeline.compare.comparison import Comparison, Topic
from pipeline.compare.county import Member
from pipeline.indicators.base.green_season import GreenSeason
from pipeline.summaries.club import club_season
from pipeline.summaries.club_season import ClubSeason, RoundUp
from pipeline.survey.build import condition_survey
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.workspace.settings import make_workspace, open_workspace
from reports.comparison import render as comparison
from reports.condition import render as condition
from reports.condition import view as viewmodel
from reports.page.house_style import PLAIN, HouseStyle
from reports.round_up import render as round_up_document
from reports.summary import render as summary
from reports.survey import render as survey
from tests.compare import counties
from tests.reports import club_sample, sample
from tests.survey.conftest import DAY, load_visit

HELD = Path(__file__).parent / "held"
_MARK = re.compile(r"<svg[^>]*>\s*(?P<title><title>.*?</title>).*?</svg>", re.DOTALL)
VERSION = "0.0"
"""Not the tool's own: a new version renews nothing."""
DPI = 54
STEP = 17
"""Step between the sixteen shades a held picture has: finer than a difference that counts, and small on the disk."""


@dataclasses.dataclass(frozen=True)
class Case:
    """One document that is held.

    Attributes:
        name: start of its files' names.
        model: its frozen view-model.
        html: its pages as HTML without style.
        pdf: its bytes.
        pictured: pages held as pictures, the first is 0.
    """

    name: str
    model: Callable[[], Any]
    html: Callable[[], str]
    pdf: Callable[[], bytes]
    pictured: tuple[int, ...] = ()


def condition_case(
    name: str, make: Callable[[], GreenSeason], house: HouseStyle = PLAIN, pictured: tuple[int, ...] = ()
) -> Case:
    """A condition report of a sample season."""

    def model() -> viewmodel.ConditionReport:
        return next(condition.reports(make(), VERSION, house)).report

    return Case(
        name,
        model,
        lambda: condition.html(make(), version=VERSION, house=house),
        cache(lambda: condition.render(make(), version=VERSION, house=house)),
        pictured,
    )


def comparison_case(name: str, make: Callable[[], Comparison], pictured: tuple[int, ...] = ()) -> Case:
    """A comparison, of the association or of one club."""
    return Case(
        name,
        lambda: comparison.view(make(), version=VERSION),
        lambda: comparison.html(make(), version=VERSION),
        cache(lambda: comparison.render(make(), version=VERSION)),
        pictured,
    )


def summary_case(name: str, pictured: tuple[int, ...] = ()) -> Case:
    """The season summary of a club with two greens."""

    def make() -> ClubSeason:
        return club_season([club_sample.main_green(), club_sample.lower_green()])

    return Case(
        name,
        lambda: summary.view(make(), version=VERSION),
        lambda: summary.html(make(), version=VERSION),
        cache(lambda: summary.render(make(), version=VERSION)),
        pictured,
    )


def round_up_case(name: str) -> Case:
    """The round-up of a few greens of several clubs."""

    def make() -> RoundUp:
        return club_sample.round_up(club_sample.county(6))

    return Case(
        name,
        lambda: round_up_document.view(make(), version=VERSION),
        lambda: round_up_document.html(make(), version=VERSION),
        cache(lambda: round_up_document.render(make(), version=VERSION)),
    )


@cache
def visit() -> ConditionSurvey:
    """The small visit of tests/survey; the day it was loaded, which is the clock's, is replaced."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "workspace"
        folder.mkdir()
        make_workspace(folder)
        workspace = load_visit(open_workspace(folder), Path(place) / "in", "sandy loam", "Core beside the ruler")
        found = condition_survey(workspace, "ALD-1", DAY)
    sources = tuple(dataclasses.replace(one, loaded_on="1 November 2026") for one in found.season.sources)
    return dataclasses.replace(found, season=dataclasses.replace(found.season, sources=sources))


def survey_case(name: str, pictured: tuple[int, ...] = ()) -> Case:
    """The condition survey of the small visit."""
    return Case(
        name,
        lambda: survey.view(visit(), version=VERSION),
        lambda: survey.html(visit(), version=VERSION),
        cache(lambda: survey.render(visit(), version=VERSION)),
        pictured,
    )


def twelve_greens(club: str) -> Comparison:
    """Twelve like greens of six clubs, each a little higher than the one before."""
    topic = Topic("organic_matter_pct", "Organic matter", "0–20 mm", "loss on ignition, 440 °C", "%", 0.5, 1)
    members = {
        f"G{i:02}": Member(f"Green {i}", f"C{i // 2}", ("flat", "Ostershire", "soil push-up", "bent"))
        for i in range(12)
    }
    now = {green: [(topic, 5.0 + i / 7, 0.07)] for i, green in enumerate(members)}
    before = {green: [(topic, 5.5 + i / 9, 0.07)] for i, green in enumerate(members)}
    return build_comparison(counties.county(members, now, before), club=club, club_name=f"Club {club}" if club else "")


SHORT = HouseStyle(short=True)
CASES = (
    condition_case("condition", sample.rich, pictured=(0, 1)),
    condition_case("condition-short", sample.no_targets, SHORT),
    condition_case("condition-empty", sample.empty),
    comparison_case("comparison-club", partial(twelve_greens, "C3"), pictured=(0,)),
    summary_case("summary"),
    round_up_case("round-up"),
    survey_case("survey", pictured=(2,)),
)
"""Every document held: a line for each, renewed by ``make golden``."""


def texts(case: Case, made: bytes) -> dict[str, str]:
    """What is held of a document as text, by file name.

    Args:
        case: the document.
        made: its bytes.
    """
    return {
        f"{case.name}.model.json": _model_text(case.model()),
        f"{case.name}.html": _by_line(case.html()),
        f"{case.name}.pages.txt": pages_text(made),
    }


def pages_text(made: bytes) -> str:
    """The text of each page under a line that numbers it, white space at line ends left out."""
    with pypdfium2.PdfDocument(made) as document:
        pages = [document[i].get_textpage().get_text_bounded() for i in range(len(document))]
    parts = []
    for number, text in enumerate(pages, start=1):
        lines = "\n".join(line.rstrip() for line in text.splitlines())
        parts.append(f"=== page {number} of {len(pages)} ===\n{lines}\n")
    return "\n".join(parts)


def pictures(case: Case, made: bytes) -> dict[str, Image.Image]:
    """The pages that are held as pictures, in a few shades of grey, by file name."""
    found = {}
    with pypdfium2.PdfDocument(made) as document:
        for i in case.pictured:
            grey = document[i].render(scale=DPI / 72, grayscale=True).to_pil().convert("L")
            found[f"{case.name}.page{i + 1}.png"] = grey.point([round(shade / STEP) * STEP for shade in range(256)])
    return found


def _model_text(model: Any) -> str:
    return json.dumps(dataclasses.asdict(model), indent=0, ensure_ascii=False, default=str) + "\n"


def _by_line(html: str) -> str:
    """The HTML with each element on a line of its own, so that a difference can be read; marks by their title alone.

    Where a mark's parts stand is in the view-model.
    """
    html = _MARK.sub(r"<svg>\g<title></svg>", html)
    lines = html.replace("><", ">\n<").splitlines()
    return "\n".join(line.strip() for line in lines if line.strip()) + "\n"
