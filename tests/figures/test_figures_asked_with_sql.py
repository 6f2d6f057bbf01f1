"""Twenty questions that somebody with SQL asks of the figures, each answered as ``show --json`` answers it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import duckdb
import pytest

from pipeline.cli.printing import green_as_json
from pipeline.indicators.base.green_season import GreenSeason
from pipeline.store.figure_views import VIEWS

Answer = Sequence[tuple[Any, ...]]
Shown = dict[str, list[dict[str, Any]]]
TOP = "0–20 mm"


def of(figures: list[dict[str, Any]], name: str, band: str = "") -> Any:
    """The value of a figure; None where there is none."""
    return next((one["value"] for one in figures if (one["name"], one["band"]) == (name, band)), None)


def each(shown: Shown, name: str, band: str = "") -> Answer:
    """Green and value of a figure, of those that have one."""
    return [(green, value) for green, of_it in shown.items() if (value := of(of_it, name, band)) is not None]


def where(shown: Shown, test: Callable[[dict[str, Any]], bool]) -> Answer:
    """Green, name and band of the figures that something holds of."""
    return [(green, one["name"], one["band"]) for green, figures in shown.items() for one in figures if test(one)]


def greens(shown: Shown, name: str, test: Callable[[dict[str, Any]], bool], band: str = "") -> Answer:
    """Greens whose figure of a name something holds of."""
    return [(green,) for green, at, of_band in where(shown, test) if (at, of_band) == (name, band)]


IN_2026 = "season = '2026'"
QUESTIONS: dict[str, tuple[str, Callable[[Shown], Answer]]] = {
    "How much nitrogen did each green get?": (
        f"SELECT green, nitrogen_kg_ha FROM nitrogen_by_season WHERE {IN_2026}",
        lambda shown: each(shown, "nitrogen_kg_ha"),
    ),
    "Which greens got more nitrogen than their target allows?": (
        f"SELECT green FROM nitrogen_by_season WHERE {IN_2026} AND standing = 'above'",
        lambda shown: greens(shown, "nitrogen_kg_ha", lambda one: one["standing"] == "above"),
    ),
    "What stands in the top layer?": (
        f"SELECT green, organic_matter_pct FROM organic_matter WHERE {IN_2026} AND band = '{TOP}'",
        lambda shown: each(shown, "organic_matter_pct", TOP),
    ),
    "Where is the top layer over its target?": (
        f"SELECT green FROM organic_matter WHERE {IN_2026} AND band = '{TOP}' AND standing = 'above'",
        lambda shown: greens(shown, "organic_matter_pct", lambda one: one["standing"] == "above", TOP),
    ),
    "How sure is the top layer's figure?": (
        f"SELECT green, low, high FROM organic_matter WHERE {IN_2026} AND band = '{TOP}' AND low IS NOT NULL",
        lambda shown: [
            (green, one["low"], one["high"])
            for green, figures in shown.items()
            for one in figures
            if (one["name"], one["band"]) == ("organic_matter_pct", TOP) and one["low"] is not None
        ],
    ),
    "How much was each green dressed?": (
        f"SELECT green, dressing_kg_m2 FROM dressing_by_season WHERE {IN_2026}",
        lambda shown: each(shown, "dressing_kg_m2"),
    ),
    "Which greens were dressed less than their target asks?": (
        f"SELECT green FROM dressing_by_season WHERE {IN_2026} AND standing = 'below'",
        lambda shown: greens(shown, "dressing_kg_m2", lambda one: one["standing"] == "below"),
    ),
    "Which greens have no dressing on record?": (
        f"SELECT green FROM green_season WHERE {IN_2026} EXCEPT SELECT green FROM dressing_by_season WHERE {IN_2026}",
        lambda shown: [
            (green,) for green, figures in shown.items() if not any(one["name"] == "dressing_kg_m2" for one in figures)
        ],
    ),
    "How many figures of each green are off their target?": (
        f"SELECT green, off_target FROM green_season WHERE {IN_2026}",
        lambda shown: [
            (green, sum(one["standing"] in ("below", "above") for one in figures)) for green, figures in shown.items()
        ],
    ),
    "How many figures of each green are in question?": (
        f"SELECT green, in_question FROM green_season WHERE {IN_2026}",
        lambda shown: [(green, sum(bool(one["questioned"]) for one in of_it)) for green, of_it in shown.items()],
    ),
    "Which green is the fastest?": (
        f"SELECT green FROM figure WHERE {IN_2026} AND indicator = 'speed_s' ORDER BY value DESC LIMIT 1",
        lambda shown: [max(each(shown, "speed_s"), key=lambda one: one[1])[:1]],
    ),
    "Where is organic matter falling?": (
        f"SELECT green, band FROM figure WHERE {IN_2026} AND verdict = 'falling' "
        "AND indicator = 'organic_matter_trend_pct_year'",
        lambda shown: [
            (green, band)
            for green, name, band in where(shown, lambda one: one["verdict"] == "falling")
            if name.startswith("organic_matter_trend")
        ],
    ),
    "How many hours went into each green?": (
        f"SELECT green, value FROM figure WHERE {IN_2026} AND indicator = 'hours_h'",
        lambda shown: each(shown, "hours_h"),
    ),
    "What did all of them cost together?": (
        f"SELECT round(sum(value), 6) FROM figure WHERE {IN_2026} AND indicator = 'cost'",
        lambda shown: [(round(sum(value for _, value in each(shown, "cost")), 6),)],
    ),
    "What was the mean nitrogen of each club?": (
        "SELECT g.club, round(avg(n.nitrogen_kg_ha), 6) FROM nitrogen_by_season AS n "
        f"JOIN green AS g ON g.green = n.green WHERE n.{IN_2026} GROUP BY g.club",
        lambda shown: [
            (club, round(sum(values) / len(values), 6))
            for club in {green.split("-")[0] for green, _ in each(shown, "nitrogen_kg_ha")}
            if (values := [v for green, v in each(shown, "nitrogen_kg_ha") if green.split("-")[0] == club])
        ],
    ),
    "Which soils are more acid than pH 6?": (
        f"SELECT green FROM figure WHERE {IN_2026} AND indicator = 'ph' AND band = '' AND value < 6",
        lambda shown: [(green,) for green, value in each(shown, "ph") if value < 6],
    ),
    "Which single dose of nitrogen was over the limit?": (
        f"SELECT green, value FROM figure WHERE {IN_2026} AND indicator = 'nitrogen_dose_g_m2' AND standing = 'above'",
        lambda shown: [
            (green, of(shown[green], "nitrogen_dose_g_m2"))
            for (green,) in greens(shown, "nitrogen_dose_g_m2", lambda one: one["standing"] == "above")
        ],
    ),
    "How much rain fell on each green?": (
        f"SELECT green, value FROM figure WHERE {IN_2026} AND indicator = 'rain_mm'",
        lambda shown: each(shown, "rain_mm"),
    ),
    "What has no value, and why?": (
        f"SELECT green, indicator, band FROM figure WHERE {IN_2026} AND value IS NULL AND (note <> '' OR n >= 0)",
        lambda shown: where(shown, lambda one: one["value"] is None),
    ),
    "Whose target is behind the judgement of the dressing?": (
        f"SELECT DISTINCT target_source FROM figure WHERE {IN_2026} AND indicator = 'dressing_kg_m2'",
        lambda shown: list(
            {
                (one["target_source"],)
                for figures in shown.values()
                for one in figures
                if one["name"] == "dressing_kg_m2"
            }
        ),
    ),
}  # fmt: skip


@pytest.fixture(scope="module")
def shown(demo_seasons: tuple[GreenSeason, ...]) -> Shown:
    """The figures of every green of the latest season, as ``show --json`` has them; made from the records.

    A green of which nothing is on record has no season in the store.
    """
    return {one.green: green_as_json(one)["indicators"] for one in demo_seasons if one.indicators}


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_question(question: str, figured: Path, shown: Shown) -> None:
    sql, answer = QUESTIONS[question]
    with duckdb.connect(str(figured), read_only=True) as con:
        found = con.execute(sql).fetchall()
    assert sorted(found, key=repr) == sorted(answer(shown), key=repr)
    assert found, "a question that nothing answers tests nothing"


def test_the_lines_behind_a_figure(figured: Path, demo_seasons: tuple[GreenSeason, ...]) -> None:
    """Each with its file, line and load, and whether it puts the figure in question."""
    sql = (
        "SELECT file, line, kind, load_id, in_question FROM figure_evidence "
        "WHERE green = 'ALD-1' AND season = '2026' AND indicator = 'nitrogen_kg_ha'"
    )
    with duckdb.connect(str(figured), read_only=True) as con:
        found = con.execute(sql).fetchall()
    (green,) = [one for one in demo_seasons if one.green == "ALD-1"]
    (figure,) = [one for one in green.indicators if one.name == "nitrogen_kg_ha"]
    asked = {(at.load_id, at.line) for at in figure.questioned}
    assert sorted(found) == sorted(
        (at.file, at.line, at.kind, at.load_id, (at.load_id, at.line) in asked) for at in figure.evidence
    )


def test_every_view_says_its_grain_first_and_explains_its_columns(figured: Path) -> None:
    with duckdb.connect(str(figured), read_only=True) as con:
        for name in VIEWS:
            ((comment,),) = con.execute("SELECT comment FROM duckdb_views() WHERE view_name = ?", [name]).fetchall()
            assert comment.startswith("One ") or "(grain: " in comment.split(".")[0], comment
            assert "(grain: " in comment.split(". ")[0], comment
            columns = con.execute(
                "SELECT column_name, comment FROM duckdb_columns() WHERE table_name = ? AND schema_name = 'main'",
                [name],
            ).fetchall()
            assert columns and all(text for _, text in columns), columns
