"""A step of a laboratory on many greens in one year is told beside each and changes no verdict; times of the year."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from pipeline.compare.build import comparison
from pipeline.compare.county import county_of
from pipeline.compare.figures import NAMES
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.soil import laboratory
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.summaries.round_up import green_line
from pipeline.workspace.method_options import MethodOptions
from pipeline.workspace.settings import Settings, Workspace
from reports.round_up import render, wording
from tests.indicators.figures import Figures, of
from tests.reports.club_sample import round_up
from tests.thorough import beyond, thorough

HEAD = "date,green,analyte,depth_from_mm,depth_to_mm,lab,sample,value,unit,burn_c,preparation,verdure,cores\n"
GREENS = [f"ALD-{i}" for i in range(1, 13)]
MORE = "green,club,name,area_m2\n" + "".join(f"{green},ALD,Green {green},1400\n" for green in GREENS[1:])
YEARS = range(2021, 2027)
NOISE = (0.3, -0.2, 0.1, -0.3, 0.2, -0.1)
BAND = "0–20 mm"


def steps(soil: pl.DataFrame, until: date, weeks: float | None) -> list[laboratory.Step]:
    return [one for one in laboratory.common(soil, until, weeks) if isinstance(one, laboratory.Step)]


def row(day: str, green: str, value: float, lab: str = "Lab A") -> str:
    return f"{day},{green},organic matter,0,20,{lab},,{value:.2f},%,440,whole,on,10\n"


def results(step: float, greens: list[str] = GREENS, moved: int = 12) -> str:
    """Twelve greens over six years, each with noise of its own; from 2024 so many of them by a share higher."""
    rows = []
    for at, green in enumerate(greens):
        for i, year in enumerate(YEARS):
            value = 6 + at / 4 + NOISE[(i + at) % 6] * (1 + at % 3)
            if year >= 2024 and at < moved:
                value *= 1 + step
            rows.append(row(f"{year}-02-{5 + at}", green, value))
    return HEAD + "".join(rows)


def test_a_step_is_told_of_every_green_and_names_none(figures: Figures) -> None:
    done = figures(green=MORE, soil_test=results(0.25))
    (note,) = (one for one in done.data_notes if one.topic == "laboratory")
    assert note.severity == "warning"
    assert note.text.startswith(
        "Organic matter by one laboratory and method (burned at 440 °C, whole, verdure left on, Lab A) came out "
    )
    assert " % higher from 2023 to 2024 than in other years, on " in note.text
    assert note.text.endswith("a change of the laboratory, or of the season, common to all.")
    assert "ALD" not in note.text


def test_no_verdict_rests_on_it(figures: Figures) -> None:
    """The green's own trend is to the letter what it is without the others."""
    alone = of(figures(soil_test=results(0.25, GREENS[:1])), "organic_matter_trend_pct_year", BAND)
    among = of(figures(green=MORE, soil_test=results(0.25)), "organic_matter_trend_pct_year", BAND)
    assert (among.value, among.low, among.high, among.verdict) == (alone.value, alone.low, alone.high, alone.verdict)
    assert among.note == alone.note


@pytest.mark.parametrize(("step", "moved"), [(0.0, 12), (0.25, 3)])
@beyond(2)
def test_an_even_laboratory_and_a_few_greens_that_moved_are_no_step(figures: Figures, step: float, moved: int) -> None:
    done = figures(green=MORE, soil_test=results(step, moved=moved))
    assert [one for one in done.data_notes if one.topic == "laboratory"] == []


def test_a_step_after_the_day_looked_at_is_not_known_yet(figures: Figures) -> None:
    done = figures(season="2023", green=MORE, soil_test=results(0.25))
    assert [one for one in done.data_notes if one.topic == "laboratory"] == []


@thorough
def test_spring_after_autumn_is_no_step_of_the_laboratory(figures: Figures, county_store: Store) -> None:
    """Every green sampled half a year later from 2024 on: pairs are made of the same time of the year only."""
    rows = results(0.25).replace("2024-02", "2024-09").replace("2025-02", "2025-09").replace("2026-02", "2026-09")
    done = figures(green=MORE, soil_test=rows)
    assert [one for one in done.data_notes if one.topic == "laboratory"] == []
    soil = read_records(county_store).soil
    assert steps(soil, date(2026, 12, 31), 6.0) == []
    assert [one.year for one in steps(soil, date(2026, 12, 31), None)] == [2024]


def test_a_step_in_a_gap_of_two_years_is_told_with_the_years_it_may_lie_in(figures: Figures) -> None:
    """Nobody sampled in 2024: after 2023, at the latest in 2025, and no neighbouring years show it."""
    rows = "".join(line for line in results(0.25).splitlines(keepends=True) if "2024-" not in line)
    done = figures(green=MORE, soil_test=rows)
    (note,) = (one for one in done.data_notes if one.topic == "laboratory")
    assert " % higher from 2023 to 2025 (2 years apart: in which of them is not known) than in other years" in note.text
    assert not [one for one in figures(green=MORE, soil_test=even_gap()).data_notes if one.topic == "laboratory"]


def even_gap() -> str:
    return "".join(line for line in results(0.0).splitlines(keepends=True) if "2024-" not in line)


@thorough
def test_what_a_green_loses_in_every_year_is_no_step_over_a_gap(figures: Figures, county_store: Store) -> None:
    """A fall of 8 % a year on every green is 15 % over two years: what is usual is taken over as many years."""
    rows = []
    for at, green in enumerate(GREENS):
        for i, year in enumerate((2015, 2016, 2017, 2019, 2020, 2021)):
            value = (8 + at / 4) * 0.92 ** (year - 2015) * (1 + NOISE[(i + at) % 6] / 12)
            rows.append(row(f"{year}-02-{5 + at}", green, value))
    figures(green=MORE, soil_test=HEAD + "".join(rows))
    assert steps(read_records(county_store).soil, date(2026, 12, 31), 6.0) == []


def county_of_gaps(seed: int, step: float) -> pl.DataFrame:
    """Eighteen greens of which a third each was sampled every year, every second, and when it came about."""
    draw = np.random.default_rng(seed)
    found = []
    for at in range(18):
        own, level = draw.normal(0, 0.03), draw.uniform(1.6, 2.3)
        for year in range(2016, 2026):
            if (at % 3 == 1 and year % 2) or (at % 3 == 2 and draw.random() < 0.4):
                continue
            value = level + own * (year - 2016) + draw.normal(0, 0.05) + (step if year >= 2021 else 0.0)
            found.append((f"G-{at}", date(year, 3, 1 + at), float(np.exp(value))))
    names = {"green": pl.String, "date": pl.Date, "value": pl.Float64}
    same = {"burn_c": 440.0, "preparation": "whole", "verdure": "on", "lab": "Lab A", "analyte": "organic_matter"}
    facts = {**same, "below_limit": False, "depth_from_mm": 0.0, "depth_to_mm": 20.0}
    return pl.DataFrame(found, schema=names, orient="row").with_columns(pl.lit(v).alias(k) for k, v in facts.items())


@thorough
def test_even_laboratories_whose_greens_have_gaps_are_seldom_said_to_have_stepped() -> None:
    """Of 100 at most one in twenty, give or take three errors of simulation; a step of 15 % is found in most."""
    until = date(2026, 12, 31)
    false = sum(bool(steps(county_of_gaps(seed, 0.0), until, 6.0)) for seed in range(100))
    assert false <= 100 * 0.05 + 3 * np.sqrt(100 * 0.05 * 0.95)
    told = [steps(county_of_gaps(seed, 0.15), until, 6.0) for seed in range(30)]
    assert sum(any(one.since < 2021 <= one.year for one in each) for each in told) >= 24


def drifting(share: float, moved: int = 12) -> str:
    rows = []
    for at, green in enumerate(GREENS):
        for i, year in enumerate(YEARS):
            value = (6 + at / 4 + NOISE[(i + at) % 6]) * (1 + share * i * (at < moved))
            rows.append(row(f"{year}-02-{5 + at}", green, value))
    return HEAD + "".join(rows)


def test_a_drift_common_to_the_greens_is_told_and_changes_no_verdict(figures: Figures) -> None:
    """Every green falls by 5 % a year: well dressed, or a laboratory that slides; nothing here says which."""
    done = figures(green=MORE, soil_test=drifting(-0.05))
    (note,) = (one for one in done.data_notes if one.topic == "laboratory")
    assert note.severity == "note"
    assert note.text.startswith(
        "Organic matter by one laboratory and method (burned at 440 °C, whole, verdure left on, Lab A) fell by "
    )
    assert " % of itself a year from 2021 to 2026 on 12 of 12 greens (p 0.0028, years counted once): " in note.text
    assert note.text.endswith("may be the greens' or a drift of the laboratory; these records cannot tell which.")
    assert "ALD" not in note.text


def test_one_green_alone_tells_nothing_of_its_laboratory(figures: Figures) -> None:
    alone = "".join(
        line for line in drifting(-0.05).splitlines(keepends=True) if not re.search(r"ALD-(\d\d|[2-9])", line)
    )
    assert [one for one in figures(soil_test=alone).data_notes if one.topic == "laboratory"] == []


def test_half_of_the_greens_falling_is_no_drift_of_the_laboratory(figures: Figures) -> None:
    done = figures(green=MORE, soil_test=drifting(-0.05, moved=6))
    assert [one for one in done.data_notes if one.topic == "laboratory"] == []


def test_documents_of_the_county_tell_it_once(figures: Figures, county_store: Store, tmp_path: Path) -> None:
    figures(green=MORE, soil_test=results(0.25))
    records, workspace = read_records(county_store), Workspace(tmp_path, Settings())
    seasons = [green_season(records, green, workspace.season("2026"), workspace) for green in GREENS]
    whole = round_up(seasons)
    assert all(green_line(one).laboratory for one in seasons)
    assert sum("came out" in line and "Lab A" in line for line in wording.matters(whole)) == 1
    assert render.view(whole, version="test").matters == tuple(wording.matters(whole))
    county = county_of(records, workspace.season("2026"), workspace, NAMES)
    assert len(comparison(county).laboratory) == len(comparison(county, club="ALD").laboratory) == 1
    assert comparison(county, club="NONE").laboratory == ()


def test_samples_of_another_time_of_the_year_are_told(figures: Figures, county_store: Store, tmp_path: Path) -> None:
    """Spring until 2023, autumn after: no trend, and a note that says why; as one, if the settings say so."""
    spring = "".join(row(f"{year}-03-10", "ALD-1", 6 + 0.01 * year % 7) for year in range(2020, 2024))
    autumn = "".join(row(f"{year}-09-10", "ALD-1", 7 + 0.01 * year % 7) for year in range(2023, 2027))
    odd = row("2025-06-20", "ALD-1", 9)
    done = figures(soil_test=HEAD + spring.replace("2023-03", "2019-03") + autumn)
    one = of(done, "organic_matter_trend_pct_year", BAND)
    assert (one.value, one.standing) == (None, "not comparable")
    assert one.note.startswith("Not comparable: the time of year changed; 4 years since, 5 needed.")
    (told,) = (note for note in done.data_notes if "No trend of organic matter" in note.text)
    assert "4 more were taken over 6 weeks from the time of year" in told.text
    any_time = Workspace(tmp_path, Settings(method_options=MethodOptions(sampling_weeks="any")))
    free = green_season(read_records(county_store), "ALD-1", any_time.season("2026"), any_time)
    assert of(free, "organic_matter_trend_pct_year", BAND).value is not None
    linked = figures(soil_test=HEAD + spring + autumn + odd)
    assert of(linked, "organic_matter_trend_pct_year", BAND).standing == "no target"
    assert "Samples within 6 weeks" in of(linked, "organic_matter_trend_pct_year", BAND).method


def test_a_sample_that_leads_to_no_other_year_is_left_out_and_told(figures: Figures) -> None:
    autumn = "".join(row(f"{year}-09-10", "ALD-1", 7 + 0.3 * (year % 2)) for year in range(2021, 2027))
    done = figures(season="2026", soil_test=HEAD + autumn + row("2020-03-10", "ALD-1", 6))
    (told,) = (note for note in done.data_notes if note.text.startswith("Trend of organic matter"))
    assert told.severity == "note"
    assert "1 sample left out, of a time of the year that leads to no other year." in told.text
