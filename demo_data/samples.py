"""What is measured on a green: organic matter, nutrients and green speed, from a simple simulation.

Organic matter of the top 20 mm grows through the season and is thinned by each dressing, mass for mass. Published
figures behind it: densities of 1.56 g/cm³ for sand and 0.22 g/cm³ for organic matter and the mixing formula
(Asian Turfgrass Center, "OM246 and soil bulk density"), a spread of 14 % between samples of one green (the same site,
6 July 2020), 38 % lost with the verdure (survey of Tennessee greens, 2023). Everything else is invented.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import Any

from demo_data.county import MATERIALS, Green
from demo_data.works import LAST_DAY, Job, day_of

Row = dict[str, Any]
SAND_DENSITY, ORGANIC_DENSITY = 1.56, 0.22
LAYER_MM = 20.0
CORE_SPREAD = 0.14
GROWTH = (0, 0, 0.05, 0.1, 0.17, 0.18, 0.16, 0.14, 0.11, 0.07, 0.02, 0)
"""Share of a year's organic matter made in each month."""
ORGANIC_OF = {m["material"]: m.get("organic_matter_pct", 0.0) for m in MATERIALS}
BULK_OF = {m["material"]: m.get("bulk_density_t_m3", 1.5) for m in MATERIALS}


@dataclass(frozen=True)
class Laboratory:
    """A laboratory and its method."""

    code: str
    name: str
    burn_c: int
    preparation: str
    verdure: str
    layers: tuple[tuple[int, int], ...]
    factors: tuple[float, ...]
    decimals: int
    limit: float


TARNFOLD = Laboratory("T", "Tarnfold Laboratory", 440, "whole", "on", ((0, 20), (20, 40), (40, 60)), (1, 1, 1), 2, 0.5)
QUILLBROOK = Laboratory("Q", "Quillbrook Soils", 360, "sieved", "off", ((0, 20), (20, 40)), (0.6, 0.93), 1, 0.5)
LABS = {lab.code: lab for lab in (TARNFOLD, QUILLBROOK)}

ANALYTES: dict[
    str, dict[str, tuple[str, str, float, float, int, float]]
] = {  # analyte: (extractant, unit, mean, relative spread, decimals, limit)
    "T": {
        "ph": ("", "pH", 0, 0, 1, 0),
        "phosphorus": ("mehlich_3", "mg/kg", 62, 0.15, 0, 5),
        "potassium": ("mehlich_3", "mg/kg", 82, 0.18, 0, 10),
        "magnesium": ("mehlich_3", "mg/kg", 96, 0.12, 0, 5),
        "calcium": ("mehlich_3", "mg/kg", 820, 0.12, 0, 20),
        "sulphur": ("mehlich_3", "mg/kg", 13, 0.2, 0, 5),
        "exchange_capacity": ("", "meq/100g", 6.4, 0.1, 1, 0),
    },
    "Q": {
        "ph": ("", "pH", 0, 0, 1, 0),
        "phosphorus": ("olsen", "mg/l", 19, 0.16, 0, 3),
        "potassium": ("ammonium_nitrate", "mg/l", 112, 0.18, 0, 10),
        "magnesium": ("ammonium_nitrate", "mg/l", 88, 0.12, 0, 5),
    },
}


def _density(organic: float) -> float:
    return 100 / (organic / ORGANIC_DENSITY + (100 - organic) / SAND_DENSITY)


def thinned(organic: float, dressing_mm: float, organic_of_dressing: float) -> float:
    """Organic matter, %, of the top layer once ``dressing_mm`` lies on it and the same depth has left at the foot."""
    old = _density(organic) * (LAYER_MM - dressing_mm)
    new = SAND_DENSITY * dressing_mm
    return (old * organic + new * organic_of_dressing) / (old + new)


def organic_matter(green: Green, jobs: Iterable[Job], days: Iterable[date]) -> dict[date, float]:
    """True organic matter of the top 20 mm, %, on each of the days."""
    dressings = [job for job in jobs if job["operation"] == "top_dressing"]
    wanted = set(days)
    level, day, found = green.habit.om, date(2022, 10, 1), {}
    while day <= LAST_DAY:
        for job in dressings:
            if job["date"] == day:
                mm = job["mass_kg"] / green.area_m2 / BULK_OF[job["material"]]
                level = thinned(level, mm, ORGANIC_OF[job["material"]])
        level += green.habit.gain * GROWTH[day.month - 1] / 30.4
        if day in wanted:
            found[day] = level
        day += timedelta(days=1)
    return found


def sampling_days(green: Green) -> list[tuple[date, Laboratory]]:
    """When a green was sampled, and by which laboratory."""
    rng = Random(f"{green.code} sampling")  # noqa: S311 - invented data, not a secret
    days = []
    for season, lab in green.habit.labs.items():
        days.append((day_of(season, 2, rng.randint(9, 25)), LABS[lab]))
        if green.habit.twice:
            days.append((day_of(season, 9, rng.randint(8, 24)), LABS[lab]))
    return days


def soil_tests_of(green: Green, jobs: list[Job]) -> Iterator[Row]:
    """Every soil-test result of a green, in order of date."""
    rng = Random(f"{green.code} laboratory")  # noqa: S311 - invented data, not a secret
    plan = sampling_days(green)
    true = organic_matter(green, jobs, [day for day, _ in plan])
    for number, (day, lab) in enumerate(plan, start=1):
        stem = f"{lab.code}{day:%y}-{green.code.replace('-', '')}{number}"
        yield from _organic_rows(green, day, lab, true[day], stem, rng)
        yield from _nutrient_rows(green, day, lab, stem, rng)


EARLIER = range(2018, 2023)
"""Winters whose samples a club has kept, though nobody's log reaches back to them."""


def earlier_tests_of(green: Green) -> Iterator[Row]:
    """Organic matter of the winters before the log, by the laboratory of 2023, in order of date."""
    if green.habit.drift is None:
        return
    rng = Random(f"{green.code} earlier winters")  # noqa: S311 - invented data, not a secret
    lab = LABS[green.habit.labs[2023]]
    for year in EARLIER:
        day = day_of(year, 2, rng.randint(9, 25))
        level = green.habit.om + green.habit.drift * (year - 2022)
        yield from _organic_rows(green, day, lab, level, f"{lab.code}{day:%y}-{green.code.replace('-', '')}0", rng)


def _organic_rows(green: Green, day: date, lab: Laboratory, level: float, stem: str, rng: Random) -> Iterator[Row]:
    shares = (1.0, *green.habit.layers)
    for core in range(1, green.habit.cores + 1):
        spread = rng.gauss(0, 1)
        for (top, foot), factor, share in zip(lab.layers, lab.factors, shares, strict=False):
            here = 0.6 * spread + 0.8 * rng.gauss(0, 1)
            mean = level if share == 1 else green.habit.om * share
            value = mean * factor * math.exp(CORE_SPREAD * here - CORE_SPREAD**2 / 2)
            yield {"date": day, "green": green.code, "analyte": "organic_matter", "depth_from_mm": top,
                   "depth_to_mm": foot, "lab": lab.name, "reference": f"{stem}-{core:02d}", "unit": "%",
                   "burn_c": lab.burn_c, "preparation": lab.preparation, "verdure": lab.verdure, "cores": 1,
                   **_limited(value, lab.decimals, lab.limit)}  # fmt: skip


def _nutrient_rows(green: Green, day: date, lab: Laboratory, stem: str, rng: Random) -> Iterator[Row]:
    for analyte, (extractant, unit, mean, spread, decimals, limit) in ANALYTES[lab.code].items():
        richness = green.habit.nutrients if analyte in ("phosphorus", "potassium", "sulphur") else 1
        value = rng.gauss(green.habit.ph, 0.12) if analyte == "ph" else mean * richness * rng.gauss(1, spread)
        yield {"date": day, "green": green.code, "analyte": analyte, "depth_from_mm": 0, "depth_to_mm": 100,
               "extractant": extractant, "lab": lab.name, "reference": f"{stem}-N", "unit": unit, "cores": 15,
               **_limited(value, decimals, limit)}  # fmt: skip


def _limited(value: float, decimals: int, limit: float) -> Row:
    if value < limit:
        return {"value": limit, "below_limit": "yes"}
    return {"value": round(value, decimals) if decimals else round(value)}


ROUNDS = 12
"""Rounds of the county team in a season; a green is timed on some of them."""


def rounds(season: int) -> list[date]:
    """The Saturdays on which greens were timed."""
    first = day_of(season, 4, 18)
    first += timedelta(days=(5 - first.weekday()) % 7)
    return [first + timedelta(days=14 * number) for number in range(ROUNDS)]


def speeds_of(green: Green, season: int) -> Iterator[Row]:
    """Every timed bowl on a green in a season, in order of date."""
    habit = green.habit
    if day_of(season, 9, 30) < habit.joined:
        return
    lasting = Random(f"{green.code} rinks")  # noqa: S311 - invented data, not a secret
    rng = Random(f"{green.code} speed {season}")  # noqa: S311 - invented data, not a secret
    rinks = ("",) if green.shape == "crown" else ("1", "3", "6")
    ways = ("NE", "SE", "SW", "NW") if green.shape == "crown" else ("N", "S")
    rink_effect = {rink: lasting.gauss(0, habit.uneven) for rink in rinks}
    way_effect = {way: lasting.gauss(0, 0.15) for way in ways}
    drift = {"ALD-1": 0.2, "BRA-1": -0.15, "KET-1": -0.1}.get(green.code, 0.0) * (season - 2023)
    for day in sorted(rng.sample(rounds(season), habit.sessions)):
        course = -1.4 * ((day.timetuple().tm_yday - 205) / 95) ** 2
        weather = rng.gauss(0, 0.35)
        session = {"hours_since_cut": rng.choice((2, 3, 4, 5, 20, 26)), "cut_height_mm": rng.choice((5, 5, 5.5)),
                   "observer": "county team"}  # fmt: skip
        for rink in rinks:
            for way in ways:
                over_27 = habit.speed + drift + course + weather + rink_effect[rink] + way_effect[way]
                over_27 += rng.gauss(0, 0.25)
                distance = round(rng.uniform(26.2, 28.3), 1)
                yield {"date": day, "green": green.code, "rink": rink, "direction": way, "device": "timed_bowl",
                       "value": round(over_27 * math.sqrt(distance / 27), 1), "unit": "s", "distance_m": distance,
                       **session, "over_27": round(over_27, 1)}  # fmt: skip


def stimpmeter_rows(green: Green, day: date) -> Iterator[Row]:
    """A consultant's Stimpmeter series, six balls: never to be mixed with timed bowls."""
    rng = Random(f"{green.code} ball {day}")  # noqa: S311 - invented data, not a secret
    for way in ("N", "S"):
        for _ in range(3):
            yield {"date": day, "green": green.code, "rink": "3", "direction": way, "device": "stimpmeter",
                   "value": round(rng.gauss(7.6, 0.2), 1), "unit": "ft", "observer": "consultant"}  # fmt: skip
