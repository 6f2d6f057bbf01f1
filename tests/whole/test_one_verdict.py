"""One verdict a figure: what a document says of a change over time is what ``show --json`` says of the same figure."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass
from importlib.resources import files
from typing import Any

import pytest

from pipeline.cli import printing as show
from pipeline.cli.printing.green import Wanted, printed
from pipeline.common.words import listed
from pipeline.compare.build import comparison
from pipeline.compare.county import county_of
from pipeline.compare.figures import NAMES
from pipeline.first_page.build import alone
from pipeline.indicators.base.green_season import GreenSeason
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.base.records import latest_season
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.summaries.club import club_season
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.workspace.settings import Workspace
from reports.comparison import render as comparison_page
from reports.condition import view as viewmodel
from reports.condition.levels import levels_for
from reports.page import attachments
from reports.page.charts import charts
from reports.round_up import render as round_up_page
from reports.summary import charts as summary_charts
from reports.summary import render as summary
from reports.survey import render as survey
from tests.conftest import Load
from tests.reports.club_sample import round_up

VERSION = "test"
CLEAR = {"falling", "rising", "slower", "faster"}
OF_A_CHANGE = re.compile(
    r"\b(?:falling|rising|slower|faster) by\b|real change|no clear change|than chance explains|told from chance", re.I
)
"""Words that a sentence on a change over time cannot do without, those of former days among them."""
SENTENCE = re.compile(r"(?P<label>[^:(]+?)(?: \((?P<bands>[^)]*)\))?: (?P<word>no clear change|\w+)\b")
OF_MANY = re.compile("(?:real|clear) change over the years", re.I)
BESIDE = re.compile(r"^(?:[\d–, ]+: )?(?P<word>No clear change|Falling|Rising|Slower|Faster): .*\bp [\d.e-]+")
"""A note beside the figure: the word, then the test."""
BELOW = re.compile(r"^[\d–, ]+: ")
"""Notes of a table's rows in one line below it, each as its figure has it."""


@dataclass(frozen=True)
class Demo:
    """The demo county put together."""

    seasons: tuple[GreenSeason, ...]
    surveys: tuple[ConditionSurvey, ...]
    compared: comparison_page.ComparisonReport


@pytest.fixture(scope="module")
def demo(
    demo_county: Workspace, demo_seasons: tuple[GreenSeason, ...], demo_surveys: tuple[ConditionSurvey, ...]
) -> Demo:
    with Store(demo_county.store, read_only=True) as store:
        records = read_records(store)
    span = latest_season(records, demo_county)
    assert span is not None
    compared = comparison(county_of(records, span, demo_county, NAMES))
    page = comparison_page.view(compared, version=VERSION)
    return Demo(demo_seasons, demo_surveys, page)


def plain(words: str) -> str:
    return re.sub("[\u202f\u00a0]", " ", words)


def texts(content: Any) -> Iterator[str]:
    """Every text of a view-model or a chart, whatever it lies in."""
    if isinstance(content, str):
        yield plain(content)
    elif is_dataclass(content):
        for field in fields(content):
            yield from texts(getattr(content, field.name))
    elif isinstance(content, dict):
        for one in content.values():
            yield from texts(one)
    elif isinstance(content, list | tuple):
        for one in content:
            yield from texts(one)


def verdicts(season: GreenSeason) -> dict[tuple[str, str], str]:
    """What ``show --json`` says of each change over time, by the label and band that pages print."""
    told = show.green_as_json(season)["indicators"]
    return {
        (one.label, one.band): row["note"].partition(":")[0].lower()
        for one, row in zip(season.indicators, told, strict=True)
        if "_trend_" in row["name"]
    }


def documents(season: GreenSeason) -> Iterator[tuple[str, list[str]]]:
    """The texts of a green's own documents; what charts say is held in a test of its own."""
    for name, short in (("condition", False), ("short form", True)):
        level = levels_for(short=short)[0]
        page = viewmodel.view(season, level, version=VERSION)
        findings = {words for line in page.first.found for words in texts(line)}  # held to their figures further below
        yield name, [one for one in texts(page) if one not in findings]


def held_to(sentence: str, known: dict[tuple[str, str], str]) -> set[tuple[str, str]]:
    """The figures a sentence speaks of, after holding its word to the verdict of each."""
    found = SENTENCE.fullmatch(sentence.rstrip(".").split(", a real change")[0]) or SENTENCE.match(sentence)
    assert found, f"a sentence on a change that names no figure: {sentence}"
    figures = {(found["label"], band) for band in (found["bands"] or "").split(", ")}
    for one in figures:
        assert known[one] == found["word"], sentence
    assert ("a real change" in sentence) == (found["word"] in CLEAR), sentence
    return figures


def test_every_sentence_of_the_demo_county_says_the_verdict_of_its_figure(demo: Demo) -> None:
    """Page 1 said "falling … more than chance explains" of a figure whose verdict was no clear change, p 0.061."""
    clear = 0
    for season in demo.seasons:
        known = verdicts(season)
        judged = {figure for figure, word in known.items() if word in CLEAR or word == "no clear change"}
        clear += sum(word in CLEAR for word in known.values())
        for name, told in documents(season):
            said: set[tuple[str, str]] = set()
            for sentence in filter(OF_A_CHANGE.search, told):
                if sentence == "no clear change":  # the cell of its row, held to its figure in the test below
                    assert sentence in known.values()
                elif not BESIDE.match(sentence) and not BELOW.match(sentence):
                    said |= held_to(sentence, known)
            assert said == judged, (season.green, name)
    assert clear >= 2, "the demo must hold clear changes, or nothing is tested"


WENT = {"falling": "fell", "rising": "rose"}
LAYER = re.compile(r"\d+–\d+")


def test_titles_and_words_of_charts_say_the_verdict_of_each_layer(demo: Demo) -> None:
    """A title that tells a change of two dots that no test tells from chance is believed before the table is read."""
    clear = 0
    for season in demo.seasons:
        known = verdicts(season)
        for group in charts.chart_groups(season):
            if group.kind != "years":
                assert not OF_A_CHANGE.search(group.heading)
                continue
            heading, told = plain(group.heading), dict[str, str]()
            for chart in group.charts:
                (layer,) = LAYER.findall(chart.title)[:1]
                word = known.get(("Organic matter, change a year", f"{layer} mm"), "")
                told[layer] = word
                assert ("a real change" in chart.alt) == (word in CLEAR), chart.alt
                assert ("No clear change" in chart.alt) == (word == "no clear change"), chart.alt
            went = {layer: verb for verb, layer in re.findall(r"(fell|rose) by [^;]*? at (\d+–\d+)", heading)}
            assert went == {layer: WENT[word] for layer, word in told.items() if word in CLEAR}, heading
            still = {layer for layer, word in told.items() if word == "no clear change"}
            named = re.search(r"no clear change(?: at ([^;]*))?", heading)
            assert bool(named) == bool(still), heading
            if named and (named[1] or "any depth") != "any depth":
                assert set(LAYER.findall(named[1])) == still, heading
            clear += len(went)
    assert clear >= 2, "the demo must hold clear changes, or nothing is tested"


def test_findings_of_page_one_say_the_verdict_of_their_figure(demo: Demo) -> None:
    told = 0
    for season in demo.seasons:
        known = verdicts(season)
        page = viewmodel.view(season, version=VERSION).first
        for found, line in zip(alone(season).found, page.found, strict=True):
            word = known.get((f"{found.figure.label}, change a year", found.figure.band))
            if found.figure.name == "organic_matter_pct":
                assert ("a real change" in line.words) == (word in CLEAR), (season.green, line)
                assert ("No clear change." in line.words) == (word == "no clear change"), (season.green, line)
                assert word not in CLEAR or f"{str(word).capitalize()}, a real change" in line.words
                told += 1
            else:
                assert not OF_A_CHANGE.search(line.words) or found.change is not None
    assert told >= 5, "page one of the demo finds organic matter, or nothing is tested"


def test_notes_tables_and_attached_figures_say_the_same_word(demo: Demo) -> None:
    for season in demo.seasons:
        told = show.green_as_json(season)["indicators"]
        (file,) = (one for one in attachments.csv_files(season) if one.name == "indicators.csv")
        attached = {
            (row["name"], row["band"]): row for row in csv.DictReader(io.StringIO(file.content.decode("utf-8-sig")))
        }
        lines = {line.strip().split("  ")[0]: line for line in printed(season, 0, Wanted(every=True))}
        for one, row in zip(season.indicators, told, strict=True):
            assert attached[row["name"], row["band"]]["verdict"] == (row["verdict"] or "")
            assert ("trend" in row["name"]) == (row["verdict"] is not None)
            if row["verdict"] is not None:
                assert row["note"].startswith(f"{row['verdict'].capitalize()}: "), row
                label = f"{one.label}, {one.band}" if one.band else one.label
                assert lines[label].endswith(f"  {row['verdict']}"), lines[label]


def test_documents_of_many_greens_say_the_verdicts_and_what_chance_would_give(demo: Demo) -> None:
    clubs: dict[str, list[GreenSeason]] = {}
    for season in demo.seasons:
        clubs.setdefault(season.club, []).append(season)
    for seasons in clubs.values():
        club = club_season(seasons)
        told = list(texts(summary.view(club, version=VERSION)))
        assert list(filter(OF_MANY.search, told)) == over_years(seasons, {one.green: one.green_name for one in seasons})
        assert not list(filter(OF_A_CHANGE.search, texts(summary_charts.chart_groups(club, height=100, most=12))))
    told = list(texts(round_up_page.view(round_up(demo.seasons), version=VERSION)))
    (said,) = filter(OF_MANY.search, told)
    assert [said] == over_years(demo.seasons, {one.green: one.green for one in demo.seasons})
    assert said.startswith("A real change over the years on "), "the demo holds clear changes, or nothing is tested"
    assert re.search(r"chance would still show one on 1 green in 20 at most\.$", said)
    went = re.compile(r"Went with (?:a change|no clear change) of ")
    assert [one for one in texts(demo.compared) if OF_A_CHANGE.search(one) and not went.match(one)] == []


def over_years(seasons: Sequence[GreenSeason], names: dict[str, str]) -> list[str]:
    """The sentence on changes over the years, written from what ``show --json`` says of each green."""
    known = {one.green: verdicts(one) for one in seasons}
    count = sum(any(word in {*CLEAR, "no clear change"} for word in of.values()) for of in known.values())
    if not count:
        return []
    of_what = dict.fromkeys(
        label.partition(",")[0].lower()
        for of in known.values()
        for (label, _), word in of.items()
        if word in {*CLEAR, "no clear change"}
    )
    greens = f"{count} green{'s' if count > 1 else ''} tested ({listed(list(of_what))})"
    clear = {
        green: [
            f"{label.partition(',')[0].lower()}{f' {band}' if band else ''} {word}"
            for (label, band), word in of.items()
            if word in CLEAR
        ]
        for green, of in sorted(known.items())
    }
    shown = [f"{names[green]} ({listed(told)})" for green, told in clear.items() if told]
    if not shown:
        return [f"No clear change over the years on {greens}."]
    few = "Where nothing changed, chance would still show one on 1 green in 20 at most."
    many = f"If nothing changed on any green, chance would still show one on {0.05 * count:.1f} of them at most."
    more = [f"{len(shown) - 3} more green{'s' if len(shown) > 4 else ''}"] if len(shown) > 3 else []
    return [
        f"A real change over the years on {len(shown)} of {greens}: {listed([*shown[:3], *more])}. "
        f"{few if count < 20 else many}"
    ]


def test_findings_of_surveys_say_the_verdict(demo: Demo) -> None:
    rising = 0
    for one in demo.surveys:
        known = verdicts(one.season)
        page = survey.view(one, version=VERSION)
        for sentence in filter(OF_A_CHANGE.search, texts(page)):
            if BESIDE.match(sentence) or sentence.startswith(("rising: ", "falling: ")):
                continue
            found = re.fullmatch(r"Organic matter at (.+) is rising by .+, a real change\.( Measured .+\.)?", sentence)
            assert found, sentence
            assert known["Organic matter, change a year", found[1]] == "rising", sentence
            rising += 1
        for finding in one.findings:
            for figure in finding.figures:
                assert figure.verdict is None or figure.verdict.clear, finding
    assert rising, "no survey of the demo finds a rise, so nothing was tested"


def test_the_main_green_of_the_demo(demo: Demo, county: Load, workspace: Workspace) -> None:
    """Eight samples, two a year: page 1 called it falling, the test said p 0.061; four years are too few for either.

    With the winters sampled before, nine years are enough.
    """
    season = next(one for one in demo.seasons if one.green == "ALD-1")
    assert [plain(one) for one in viewmodel.view(season, version=VERSION).headline if "change a year" in one] == [
        "Organic matter, change a year (0–20 mm): falling by 0.50 percentage points a year (0.18–0.80), a real change.",
        "Organic matter, change a year (20–40 mm, 40–60 mm): no clear change.",
        "Green speed, change a year: no clear change.",
    ]
    tests = files("demo_data").joinpath("clean", "soil_tests.csv").read_text("utf-8").splitlines()
    assert not county("soil_tests.csv", "\n".join(one for one in tests if "ALD-1" in one or one == tests[0])).failed
    with Store(workspace.store, read_only=True) as store:
        alone = green_season(read_records(store), "ALD-1", workspace.season("2026"), workspace)
    (row,) = (
        one for one in show.green_as_json(alone)["indicators"]
        if (one["name"], one["band"]) == ("organic_matter_trend_pct_year", "0–20 mm")
    )  # fmt: skip
    assert row["note"].startswith("Too few: 6 comparable samples of 3 years, 5 needed.")
    assert (row["value"], row["verdict"]) == (None, "too few")
