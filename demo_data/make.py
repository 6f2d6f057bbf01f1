"""Writes every CSV and picture of this folder: ``python -m demo_data.make``. The same each time, byte for byte."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

from demo_data import ahead, arrival, arrival_results, county, market, surveys, visits, weather
from demo_data.samples import QUILLBROOK, TARNFOLD, earlier_tests_of, soil_tests_of, speeds_of, stimpmeter_rows
from demo_data.sheets import Sheet, canonical
from demo_data.works import Job, jobs_of

HERE = Path(__file__).parent
CLEAN_SEASONS = (2023, 2024, 2025)
START_2026 = date(2025, 10, 1)

JOB_HEADERS = (
    "date", "green", "operation", "material", "logged_by", "passes", "depth_mm", "tine_mm", "tine_basis",
    "spacing_along_mm", "spacing_across_mm", "blade_mm", "blade_spacing_mm", "cut_height_mm", "mass_kg", "volume_l",
    "packs", "rate_g_m2", "treated_area_m2", "debris_l", "hours", "people", "vibration_m_s2", "trigger_hours", "cost",
    "note",
)  # fmt: skip
SOIL_HEADERS = (
    "date", "green", "analyte", "depth_from_mm", "depth_to_mm", "extractant", "lab", "reference", "value", "unit",
    "below_limit", "burn_c", "preparation", "verdure", "cores",
)  # fmt: skip
SPEED_HEADERS = (
    "date", "green", "rink", "direction", "device", "value", "unit", "distance_m", "hours_since_cut", "cut_height_mm",
    "observer",
)  # fmt: skip
GREEN_HEADERS = (
    "green", "club", "name", "area_m2", "length_m", "width_m", "shape", "construction", "construction_type",
    "grasses", "laid_on", "latitude_deg", "station", "aliases",
)  # fmt: skip

Row = dict[str, Any]


def registers() -> Iterator[Sheet]:
    """Clubs, greens, materials and targets."""
    yield canonical("clubs.csv", ("club", "name", "region"), [
        {"club": code, "name": name, "region": "Ostershire"} for code, name in county.CLUBS
    ])  # fmt: skip
    yield canonical("greens.csv", GREEN_HEADERS, [
        *({"station": weather.STATION} | {
            name: getattr(green, {"green": "code", "latitude_deg": "latitude"}.get(name, name))
            for name in GREEN_HEADERS if name != "station"
        } for green in county.GREENS),
        county.UNMEASURED,
    ])  # fmt: skip
    yield canonical("materials.csv", county.MATERIAL_HEADERS, county.MATERIALS)
    yield canonical("targets.csv", county.TARGET_HEADERS, [
        *(dict(zip(county.TARGET_COLUMNS, row, strict=True)) for row in county.TARGETS), *county.SURFACE_TARGETS
    ])  # fmt: skip


def clean(jobs: list[Job], tests: list[Row], speeds: list[Row]) -> Iterator[Sheet]:
    """Seasons 2023 to 2025, a consultant's visits, and what is to come, with the kinds' own headers."""
    for season in CLEAN_SEASONS:
        start, end = date(season - 1, 10, 1), date(season, 9, 30)
        yield canonical(f"jobs_{season}.csv", JOB_HEADERS, [job for job in jobs if start <= job["date"] <= end])
    earlier = [row for green in county.GREENS for row in earlier_tests_of(green)]
    yield canonical("soil_tests_2018_2022.csv", SOIL_HEADERS, earlier)
    yield canonical("soil_tests.csv", SOIL_HEADERS, [row for row in tests if row["date"] < START_2026])
    yield canonical("green_speeds.csv", SPEED_HEADERS, [row for row in speeds if row["date"] < START_2026])
    yield canonical("weather_days.csv", weather.HEADERS, list(weather.days()))
    yield canonical("observations.csv", visits.OBSERVATION_HEADERS, visits.observations())
    yield canonical("sieves.csv", visits.SIEVE_HEADERS, visits.sieves())
    yield canonical("photos.csv", visits.PHOTO_HEADERS, visits.photos())
    yield canonical("levels_settled.csv", surveys.HEADERS, surveys.settled_green())
    yield canonical("levels_crown.csv", surveys.HEADERS, surveys.crown_green())
    yield canonical("levels_tilted.csv", surveys.HEADERS, surveys.tilted_green())
    yield ahead.season_just_over()
    yield ahead.county_programme(jobs, county.GREENS)
    yield ahead.closed_days()
    yield market.merchant()
    yield market.rates()


def as_it_arrives(jobs: list[Job], tests: list[Row], speeds: list[Row]) -> Iterator[Sheet]:
    """Season 2026, the first weeks of 2027, and what is to come, as they come in."""
    log = [job for job in jobs if job["date"] >= START_2026]
    by_hand = {hand: [job for job in log if job["logged_by"] == hand]
               for hand in ("crew A", "crew B", "office", "volunteers")}  # fmt: skip
    yield arrival.north_round(by_hand["crew A"])
    yield arrival.south_crew(by_hand["crew B"])
    yield arrival.volunteers(by_hand["volunteers"])
    yield from arrival.office_exports(by_hand["office"])
    yield arrival.loose_sheet()
    new = [row for row in tests if row["date"] >= START_2026]
    whole = [row for row in new if row["lab"] == TARNFOLD.name]
    yield from arrival_results.tarnfold_organic(whole)
    yield arrival_results.tarnfold_nutrients(whole)
    yield arrival_results.quillbrook([row for row in new if row["lab"] == QUILLBROOK.name])
    timed = [row for row in speeds if row["date"] >= START_2026]
    yield arrival_results.county_speeds(timed)
    yield arrival_results.crown_speeds(timed)
    yield ahead.volunteers_programme()
    yield ahead.fixtures()
    yield market.quarry()
    yield market.farm_store()
    yield market.yard_count()


def simulate() -> tuple[list[Job], list[Row], list[Row]]:
    """Every job, soil test and green speed of four seasons and three weeks, by date and green."""
    jobs: list[Job] = []
    tests: list[Row] = []
    speeds: list[Row] = []
    for green in county.GREENS:
        own = [job for season in (*CLEAN_SEASONS, 2026, 2027) for job in jobs_of(green, season)]
        jobs += own
        tests += soil_tests_of(green, own)
        speeds += [row for season in (*CLEAN_SEASONS, 2026) for row in speeds_of(green, season)]
    steady = next(green for green in county.GREENS if green.code == "LAR-1")
    speeds += stimpmeter_rows(steady, date(2025, 6, 18))
    for rows in (jobs, tests, speeds):
        rows.sort(key=lambda row: (row["date"], row["green"]))
    return jobs, tests, speeds


def main() -> None:
    """Write the files, and a table of the troubles planted in them."""
    jobs, tests, speeds = simulate()
    folders = {
        "registers": registers(),
        "clean": clean(jobs, tests, speeds),
        "as_it_arrives": as_it_arrives(jobs, tests, speeds),
    }
    planted = []
    for folder, sheets in folders.items():
        for sheet in sheets:
            sheet.save(HERE / folder)
            planted += [vars(trouble) for trouble in sheet.planted]
            sys.stdout.write(f"{folder}/{sheet.name}: {sheet.rows} rows\n")
    for shown in visits.photos():
        path = HERE / "clean" / shown["picture"]
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(visits.picture(shown["picture"]))
    headers = ("file", "line", "column", "value", "trouble", "outcome")
    canonical("planted.csv", headers, planted).save(HERE)
    sys.stdout.write(f"planted.csv: {len(planted)} troubles\n")


if __name__ == "__main__":
    main()
