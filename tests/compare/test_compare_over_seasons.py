"""Changes: their digits, their intervals, percentage points, and the line through all seasons of a county."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from scipy.stats import linregress, t

from pipeline.common.words import difference_unit, ordinal, place_words
from pipeline.compare.build import comparison
from pipeline.compare.comparison import OverSeasons
from pipeline.compare.county import County, Member, is_whole
from pipeline.compare.figures import Figure
from pipeline.compare.over_seasons import over_seasons
from pipeline.statistics.season_trend import widening
from pipeline.workspace.settings import Season
from reports.comparison import wording
from reports.comparison.data import csv_files
from reports.comparison.render import NOT_WHOLE, view
from reports.comparison.units import in_units
from tests.compare.counties import DRESSED, OM
from tests.outside_checks import outside

GREENS = [f"G{i}" for i in range(8)]
MEMBERS = {green: Member(f"Lawn {green}", f"C{i % 4}", ("flat greens", "North")) for i, green in enumerate(GREENS)}
DRAW = np.random.default_rng(7)
LEVELS = {season: {green: 5.0 + i / 2 + 0.5 * (season - 2021) + DRAW.normal(0, 0.2) for i, green in enumerate(GREENS)}
          for season in range(2021, 2027)}  # fmt: skip


def made(levels: dict[int, dict[str, float]], topic: object = OM, **more: object) -> County:
    """A county with these figures of each season, the last of them compared."""
    seasons = {
        str(season): {green: [Figure(topic, value)] for green, value in of.items()}  # type: ignore[arg-type]
        for season, of in levels.items()
    }
    names = sorted(seasons)
    now, before = seasons.pop(names[-1]), seasons.pop(names[-2])
    found = County(MEMBERS, now, before, names[-1], names[-2], date(2026, 9, 30), earlier=seasons)
    return replace(found, **more)  # type: ignore[arg-type]


@outside("library", "numpy.linalg.lstsq with a column for each season and green; scipy.stats.linregress and t")
def test_the_line_through_the_seasons() -> None:
    """Levels by least squares on dummies, then a line; its error widened for seasons alike."""
    gaps = {season: dict(of) for season, of in LEVELS.items()}
    del gaps[2022]["G3"], gaps[2024]["G0"], gaps[2026]["G5"]
    (found,) = over_seasons(made(gaps))
    rows = [(season, green, round(v / 0.5) * 0.5) for season, of in gaps.items() for green, v in of.items()]
    design = [[*(s == one for one in gaps), *(g == one for one in GREENS[1:])] for s, g, _ in rows]
    levels = np.linalg.lstsq(np.array(design, float), [v for *_, v in rows], rcond=None)[0][: len(gaps)]
    line = linregress(list(gaps), levels)
    half = t.ppf(0.975, len(gaps) - 2) * line.stderr * widening(np.array(list(gaps), float), 0.5)
    assert found.slope == pytest.approx(line.slope)
    assert (found.low, found.high) == (pytest.approx(line.slope - half), pytest.approx(line.slope + half))
    assert found.clear
    assert (found.seasons, found.n, found.clubs) == (tuple(map(str, gaps)), 8, 4)


def test_seasons_of_too_few_greens_do_not_count_and_too_few_seasons_are_said() -> None:
    few = {season: {green: of[green] for green in (GREENS if season > 2023 else GREENS[:4])}
           for season, of in LEVELS.items()}  # fmt: skip
    (found,) = over_seasons(made(few))
    assert found.slope is None
    assert found.seasons == ("2024", "2025", "2026")
    assert found.refused == "3 of the 4 seasons needed"
    report = view(comparison(made(few)), version="0")
    assert (report.seasons[0].figure, report.seasons[0].verdict) == ("–", found.refused)
    assert not list(over_seasons(made({2026: LEVELS[2026], 2025: {}})))


def test_greens_that_round_alike_are_not_known_exactly() -> None:
    """No spread is left where all round alike; the interval is that of rounding, by hand as below."""
    flat = {season: dict.fromkeys(GREENS, 5.0) for season in range(2023, 2027)}
    county = made(flat)
    (found,) = over_seasons(county)
    half = t.ppf(0.975, 2) * 0.5 / math.sqrt(12 * 8 * 5)  # five: squares of −1.5, −0.5, 0.5, 1.5 added up
    assert (found.slope, found.high) == (0.0, pytest.approx(half))
    (change,) = comparison(county).changes
    assert change.mean == 0.0
    assert change.high == pytest.approx(t.ppf(0.975, 7) * 0.5 / math.sqrt(6) / math.sqrt(8))
    assert not found.clear
    assert not change.clear


def test_a_season_that_runs_has_no_sum_to_hold_against_others() -> None:
    """Half a season's dressing against a whole one's looks like a fall."""
    sums = {season: dict.fromkeys(GREENS, 4.0 if season < 2026 else 1.0) for season in range(2021, 2027)}
    whole, running = (comparison(made(sums, DRESSED, whole=whole)) for whole in (True, False))
    assert whole.changes
    assert whole.over_seasons[0].seasons[-1] == "2026"
    assert not running.changes
    assert running.over_seasons[0].seasons[-1] == "2025"
    assert view(running, version="0").changes_note == NOT_WHOLE
    season = Season("2026", date(2025, 10, 1), date(2026, 9, 30))
    assert is_whole(season, date(2026, 9, 10))
    assert not is_whole(season, date(2026, 5, 1))


def test_what_a_county_reads_first_is_a_clear_change() -> None:
    said = [
        line.replace("\u202f", " ").replace("\u00a0", " ")
        for line in view(comparison(made(LEVELS)), version="0").matters
    ]
    assert said[0].startswith("Organic matter, 0–20 mm: +0.5")
    assert "percentage points a season" in said[0]
    assert said[0].endswith("over 2021–2026, 8 greens, 4 clubs.")
    still = dict.fromkeys(LEVELS, LEVELS[2021])
    assert view(comparison(made(still)), version="0").matters[0] == wording.NO_CLEAR_CHANGE


@pytest.mark.parametrize(
    ("value", "low", "high", "shown"),
    [
        (-0.27, -0.37, -0.17, "−0.27 percentage points"),  # was printed as 0.0
        (0.063, -0.02, 0.147, "+0.06 percentage points"),
        (1.8, -0.9, 4.5, "+1.8 percentage points"),
        (-0.004, -0.0055, -0.0025, "−0.004 percentage points"),
    ],
)
def test_a_change_has_the_digits_that_show_it(value: float, low: float, high: float, shown: str) -> None:
    said = wording.changed(value, low, high, OM, questioned=False)
    assert said.replace("\u202f", " ").replace("\u00a0", " ") == shown


def test_a_clear_change_does_not_read_as_none() -> None:
    """Whatever the figures, neither end of an interval that leaves zero out is printed as zero."""
    for half in (0.003, 0.02, 0.1, 0.34, 0.36, 0.9, 4.0):
        for near in (half / 100, half / 3, 2 * half):
            places = wording.places_of(near, near + 2 * half, 0)
            assert round(near, places) > 0
            assert wording.places_of(-near - 2 * half, -near, 0) == places


def test_differences_of_percentages_are_percentage_points_everywhere() -> None:
    found = comparison(made(LEVELS))
    report = view(found, version="0")
    for line in (*report.changes, *report.seasons):
        assert line.figure.endswith("percentage points")
    files = {file.name: file.content.decode("utf-8-sig").splitlines() for file in csv_files(found)}
    for name in ("changes.csv", "seasons.csv"):
        assert ",percentage points," in files[name][1]
    assert [difference_unit(unit) for unit in ("%", "% a year", "kg/m²")] == [
        "percentage points",
        "percentage points a year",
        "kg/m²",
    ]


def test_places_in_words() -> None:
    assert place_words(4, 6, 8) == "4th to 6th lowest of 8"
    assert [place_words(n, n, 27) for n in (1, 2, 27)] == ["lowest of 27", "2nd lowest of 27", "highest of 27"]
    assert [ordinal(n) for n in (1, 2, 3, 4, 11, 12, 13, 21, 112, 1003)] == [
        "1st", "2nd", "3rd", "4th", "11th", "12th", "13th", "21st", "112th", "1,003rd",
    ]  # fmt: skip


@outside("figure", "NIST Handbook 44, Appendix C: 1 lb = 0.453 592 37 kg, 1 ft = 0.3048 m")
def test_customary_units_on_the_page_and_si_in_the_data() -> None:
    """1 kg/m² is 1000·0.3048²/0.45359237 = 204.8 lb/1000 ft²."""
    sums = {season: {g: 1.0 + i / 2 for i, g in enumerate(GREENS)} for season in range(2022, 2027)}
    metric = comparison(made(sums, DRESSED), club="C1", club_name="C1")
    us = in_units(metric, "US")
    factor = 1000 * 0.3048**2 / 0.45359237
    assert us.own[0].value == pytest.approx(metric.own[0].value * factor)
    assert us.own[0].cell == us.cells[0]
    assert metric.cells[0].high * factor <= us.cells[0].high < metric.cells[0].high * factor + 10
    assert us.cells[0].high % 10 == 0  # printed in tens, and rounded outwards to them
    assert us.own[0].place_low == metric.own[0].place_low
    report = view(us, version="0")
    assert report.own[0].value.replace("\u202f", " ").replace("\u00a0", " ") == "310 lb/1000 ft²"
    assert "lb/1000" in report.changes[0].figure
    assert "lb/1000" in report.tables[0].method
    assert not any(
        "kg" in str(part) for part in (report.tables, report.own, report.changes, report.seasons, report.matters)
    )
    assert isinstance(us.over_seasons[0], OverSeasons)
    assert in_units(metric, "metric") is metric
