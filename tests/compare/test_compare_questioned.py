"""What rests on an entry to be checked is marked year on year as it is in the groups."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from pipeline.compare import build
from pipeline.compare.county import County, Member
from pipeline.compare.figures import Figure
from pipeline.compare.programme import RESTS_ON_QUESTIONED
from reports.comparison import data, render, wording
from tests.compare.counties import DRESSED, OM

GREENS = [f"G{i}" for i in range(12)]
"""Twelve greens of three clubs; the first six got 2 kg/m² more than the year before."""


def county(season: str, asked: bool) -> County:
    """The county, the dressing of one green in question in this season or in the one before."""
    members = {green: Member(green, f"C{i % 3}", ("flat greens",)) for i, green in enumerate(GREENS)}

    def of(rates: list[float], shift: float, questioned: bool) -> dict[str, list[Figure]]:
        made = {green: [Figure(DRESSED, rate)] for green, rate in zip(GREENS, rates, strict=True)}
        made["G0"] = [replace(made["G0"][0], questioned=questioned)]
        for i, green in enumerate(GREENS):
            made[green].append(Figure(OM, 5.0 + i / 4 + shift * (i % 3), sd=0.4, sampled=True))
        return made

    now, before = [4.0] * 6 + [2.0] * 6, [2.0] * 12
    return County(
        members,
        of(now, 0.5, asked and season == "2026"),
        of(before, 0.0, asked and season == "2025"),
        "2026",
        "2025",
        date(2026, 9, 30),
    )


@pytest.mark.parametrize("season", ["2026", "2025"])
def test_a_change_from_or_to_a_figure_in_question_has_its_mark(season: str) -> None:
    """The table year on year printed a slip of either season as fact, while the groups above had the mark."""
    found = build.comparison(county(season, asked=True))
    report = render.view(found, version="test")
    marked = {line.what.replace("\u202f", " "): line.figure.endswith("\u00a0?") for line in report.changes}
    assert marked == {"Top dressing applied": True, "Organic matter, 0–20 mm": False}
    assert render.CHECK_FIRST in report.method
    rows = next(one for one in data.csv_files(found) if one.name == "changes.csv").content.decode("utf-8-sig")
    assert [line.rpartition(",")[2] for line in rows.splitlines()] == ["questioned", "no", "yes"]


def test_what_went_with_a_programme_in_question_says_so() -> None:
    told = [[a.text for a in build.comparison(county("2026", asked=asked)).associations if a.value is not None]
            for asked in (True, False)]  # fmt: skip
    assert told[0] and all(text.endswith(RESTS_ON_QUESTIONED) for text in told[0])
    assert told[1] and not any(RESTS_ON_QUESTIONED in text for text in told[1])


def test_a_group_that_stands_out_says_that_it_rests_on_an_entry_in_question() -> None:
    said = [
        render.view(build.comparison(county("2026", asked=asked)), version="test").matters for asked in (True, False)
    ]
    (dressed,) = (line for line in said[0] if line.startswith("Top dressing applied"))
    assert dressed.endswith(f", {wording.IF_RIGHT}.")
    assert not any(wording.IF_RIGHT in line for line in said[1])
