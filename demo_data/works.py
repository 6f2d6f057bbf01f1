"""What is done on a green in a season: the job log as it should have been written."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import Any

from demo_data.county import IRON, LIME, LIQUID, MOSS, PRICE_A_UNIT, PROTECTION, SEED, TURF, WETTER, Green

Job = dict[str, Any]
LABOUR = 26.0
"""Price of an hour of work (invented)."""
BARROW_L = 85.0
"""Litres of one barrow load (invented, as the profiles declare it)."""
LAST_DAY = date(2026, 10, 20)

VIBRATION = {  # declared hand-arm vibration, m/s² (invented, in the range makers print)
    "mowing": 3.1, "scarifying": 5.8, "verticutting": 4.9, "hollow_coring": 4.4, "solid_tining": 4.2,
    "deep_aeration": 3.6, "slitting": 2.9, "edging": 4.6,
}  # fmt: skip
BAG_KG = 25.0


@dataclass(frozen=True)
class Routine:
    """Work that comes back through part of the season: first and last (month, day), days between, share done."""

    operation: str
    start: tuple[int, int]
    end: tuple[int, int]
    every: int
    hours: float
    share: float = 1.0
    people: int = 1


ROUTINES = (
    Routine("dew_removal", (10, 20), (3, 20), 14, 0.5, 0.8),
    Routine("brushing", (4, 4), (9, 20), 15, 0.75, 0.8),
    Routine("rolling", (4, 16), (9, 10), 21, 1.0, 0.7),
    Routine("edging", (4, 12), (9, 28), 28, 1.5, 0.9),
    Routine("verticutting", (5, 8), (8, 25), 22, 1.5, 0.8),
    Routine("spiking", (4, 25), (9, 5), 30, 1.0, 0.8),
    Routine("slitting", (11, 15), (2, 25), 32, 2.0, 0.8),
    Routine("wetting_agent", (5, 5), (8, 28), 30, 1.0, 0.9),
    Routine("inspection", (10, 25), (9, 25), 44, 0.75, 0.9),
    Routine("ditch_and_bank_work", (11, 5), (9, 5), 75, 3.0, 0.9, 2),
)


def day_of(season: int, month: int, day: int) -> date:
    """The day of a season (which starts on 1 October of the year before)."""
    return date(season - 1 if month >= 10 else season, month, day)


def jobs_of(green: Green, season: int) -> list[Job]:
    """Every job of a green in a season up to the last day of the records, by date; within a day in order of work."""
    rng = Random(f"{green.code} works {season}")  # noqa: S311 - invented data, not a secret
    jobs: list[Job] = []
    if season not in green.habit.skip_autumn:
        jobs += _autumn(green, season, rng)
    jobs += _spring(green, season, rng)
    jobs += _light_dressings(green, season, rng)
    jobs += _feeds(green, season, rng)
    jobs += _routines(green, season, rng)
    jobs += _mowing(green, season, rng)
    jobs += _watering(green, season, rng)
    jobs += _now_and_then(green, season, rng)
    jobs = [job for job in jobs if green.habit.joined <= job["date"] <= LAST_DAY]
    jobs.sort(key=lambda job: job["date"])
    return jobs


def _job(green: Green, day: date, operation: str, rng: Random, hours: float = 1.0, people: int = 1, **rest: Any) -> Job:
    worked = max(0.25, round(hours * rng.uniform(0.8, 1.25) * 4) / 4)
    job: Job = {"date": day, "green": green.code, "operation": operation, "logged_by": green.habit.crew,
                "hours": worked, "people": people, **rest}  # fmt: skip
    if operation in VIBRATION and green.habit.crew != "volunteers":
        job["vibration_m_s2"] = VIBRATION[operation]
        job["trigger_hours"] = round(worked / people * 0.7, 2)
    amount = job.get("mass_kg", 0) or job.get("volume_l", 0) or job.get("packs", 0) * BAG_KG
    amount = amount or job.get("rate_g_m2", 0) * green.area_m2 / 1000
    spent = amount * PRICE_A_UNIT.get(job.get("material", ""), 0)
    if green.habit.crew != "volunteers":
        job["cost"] = round(worked * LABOUR + spent, 2)
    return job


def _near(day: date, rng: Random, days: int = 3) -> date:
    """A working day near a day."""
    moved = day + timedelta(days=rng.randint(-days, days))
    return moved + timedelta(days=max(0, 7 - moved.weekday())) if moved.weekday() > 4 else moved


def _loads(rng: Random, low: int, high: int) -> float:
    return rng.randint(low, high) * BARROW_L


def _dressing(green: Green, day: date, kg_m2: float, rng: Random, note: str = "") -> Iterator[Job]:
    mass = max(250, round(green.area_m2 * kg_m2 * rng.uniform(0.9, 1.1) / 250) * 250)
    yield _job(green, day, "top_dressing", rng, 1 + mass / 900, 2, material=green.habit.mix, mass_kg=mass, note=note)
    yield _job(green, day, "drag_matting", rng, 1.0)


def _autumn(green: Green, season: int, rng: Random) -> Iterator[Job]:
    habit = green.habit
    day = _near(day_of(season, 10, 6), rng, 4)
    yield _job(green, day, "mowing", rng, 1.5, cut_height_mm=6)
    yield _job(green, day, "scarifying", rng, 1.5 * habit.scarify, 2, passes=habit.scarify, blade_mm=1,
               blade_spacing_mm=25, depth_mm=rng.choice((3, 4, 5)))  # fmt: skip
    yield _job(green, day, "debris_collection", rng, 2, 2, debris_l=_loads(rng, 7, 14))
    if habit.core == "hollow":
        yield _job(green, day, "hollow_coring", rng, 5, 2, depth_mm=rng.choice((70, 75, 80)), tine_mm=12,
                   tine_basis="outside", spacing_along_mm=50, spacing_across_mm=50)  # fmt: skip
        yield _job(green, day, "debris_collection", rng, 3, 2, debris_l=_loads(rng, 30, 44), note="cores")
    else:
        yield _job(green, day, "solid_tining", rng, 3, 1, depth_mm=rng.choice((90, 100)), tine_mm=12,
                   tine_basis="outside", spacing_along_mm=50, spacing_across_mm=65)  # fmt: skip
    after = _near(day + timedelta(days=2), rng, 0)
    yield _job(green, after, "overseeding", rng, 1.5, material=SEED, mass_kg=rng.choice((15, 20, 20, 25)))
    yield from _dressing(green, after, habit.dressing[0], rng)


def _spring(green: Green, season: int, rng: Random) -> Iterator[Job]:
    habit = green.habit
    day = _near(day_of(season, 3, 15), rng, 5)
    if habit.scarify > 1:
        yield _job(green, day, "scarifying", rng, 2, 2, passes=habit.scarify - 1, blade_mm=1, blade_spacing_mm=25,
                   depth_mm=rng.choice((2, 2.5, 3)))  # fmt: skip
        yield _job(green, day, "debris_collection", rng, 1.5, 2, debris_l=_loads(rng, 5, 10))
    yield _job(green, day, "solid_tining", rng, 3, 1, depth_mm=rng.choice((76, 89, 102)), tine_mm=10,
               tine_basis="outside", spacing_along_mm=40, spacing_across_mm=50)  # fmt: skip
    yield _job(green, day, "mowing", rng, 1.5, cut_height_mm=6)
    if habit.dressing[1]:
        yield from _dressing(green, _near(day + timedelta(days=5), rng, 1), habit.dressing[1], rng)


def _light_dressings(green: Green, season: int, rng: Random) -> Iterator[Job]:
    for month in (5, 6, 7)[: green.habit.lights]:
        if green.habit.dressing[2]:
            day = _near(day_of(season, month, 22), rng, 5)
            yield from _dressing(green, day, green.habit.dressing[2], rng, "light dressing")


def _feeds(green: Green, season: int, rng: Random) -> Iterator[Job]:
    habit = green.habit
    treated: dict[str, Any] = {"treated_area_m2": green.area_m2 + habit.surround_m2} if habit.surround_m2 else {}
    for feed in habit.feeds:
        day = _near(day_of(season, feed.month, feed.day), rng, 2)
        if feed.material in (LIQUID, IRON):
            yield _job(green, day, "fertilising", rng, 1, material=feed.material, volume_l=feed.rate, **treated)
            continue
        area = treated.get("treated_area_m2", green.area_m2)
        bags = max(1, round(area * feed.rate / 1000 / BAG_KG))
        amount = _granular(habit.crew, bags, area)
        yield _job(green, day, "fertilising", rng, 1, material=feed.material, **amount, **treated)


def _granular(crew: str, bags: int, area: float) -> dict[str, Any]:
    """How a crew writes granular feed: in bags, in kilograms, or as a rate."""
    if crew == "crew B":
        return {"packs": bags}
    if crew == "office":
        return {"rate_g_m2": round(bags * BAG_KG / area * 1000)}
    return {"mass_kg": bags * BAG_KG}


def _routines(green: Green, season: int, rng: Random) -> Iterator[Job]:
    for routine in ROUTINES:
        day = day_of(season, *routine.start) + timedelta(days=rng.randint(0, 9))
        while day <= day_of(season, *routine.end):
            if rng.random() < routine.share * green.habit.log_share:
                yield _routine(green, routine, _near(day, rng, 2), rng)
            day += timedelta(days=routine.every)


def _routine(green: Green, routine: Routine, day: date, rng: Random) -> Job:
    rest: dict[str, Any] = {}
    if routine.operation == "verticutting":
        rest = {"passes": 1, "depth_mm": rng.choice((1, 1.5, 2)), "blade_mm": 1, "blade_spacing_mm": 12}
    elif routine.operation == "slitting":
        rest = {"passes": rng.choice((1, 2)), "depth_mm": rng.choice((100, 120, 150))}
    elif routine.operation == "spiking":
        rest = {"passes": 2, "depth_mm": 15, "tine_mm": 3, "tine_basis": "outside", "spacing_along_mm": 35}
    elif routine.operation == "wetting_agent":
        rest = {"material": WETTER, "volume_l": 3}
        if green.habit.surround_m2:
            rest["treated_area_m2"] = green.area_m2 + green.habit.surround_m2
    elif routine.operation == "inspection":
        rest = {"note": rng.choice(("", "firm, dry by noon", "soft at the ditch", "a little disease, watched",
                                    "worm casts", "moss in the shade", "even sward", "bare at rink ends"))}  # fmt: skip
    return _job(green, day, routine.operation, rng, routine.hours, routine.people, **rest)


def _mowing(green: Green, season: int, rng: Random) -> Iterator[Job]:
    day = day_of(season, 10, 4)
    day += timedelta(days=(4 - day.weekday()) % 7)
    while day <= day_of(season, 9, 30):
        summer = 4 <= day.month <= 9
        winter = day.month in (12, 1, 2)
        if rng.random() < (0.18 if winter else 0.95 if summer else 0.6) * green.habit.log_share:
            cuts = max(1, green.habit.cuts + rng.choice((-1, 0, 0, 0, 1))) if summer else 1
            height = rng.choice((5, 5, 5, 5.5) if summer else (7, 8))
            yield _job(green, day, "mowing", rng, 1.25 * cuts, passes=cuts, cut_height_mm=height,
                       note="the week's cuts" if cuts > 1 else "")  # fmt: skip
        day += timedelta(days=7)


def _watering(green: Green, season: int, rng: Random) -> Iterator[Job]:
    dry = {2023: 1.1, 2024: 0.6, 2025: 1.5, 2026: 1.2}.get(season, 1.0)
    times = round(green.habit.water * dry * green.habit.log_share)
    for _ in range(times):
        day = day_of(season, 5, 10) + timedelta(days=rng.randint(0, 115))
        yield _job(green, day, "irrigation", rng, 0.5, volume_l=round(green.area_m2 * rng.uniform(3, 6), -2))


def _now_and_then(green: Green, season: int, rng: Random) -> Iterator[Job]:
    if green.habit.log_share < 1:
        return
    if rng.random() < 0.6:
        day = _near(day_of(season, rng.choice((11, 1)), 14), rng)
        yield _job(green, day, "deep_aeration", rng, 4, 2, depth_mm=rng.choice((200, 230, 250)), tine_mm=12,
                   tine_basis="outside", spacing_along_mm=75, spacing_across_mm=75, note="hired machine")  # fmt: skip
    if green.club == "MOS" or rng.random() < 0.25:
        day = _near(day_of(season, 2, 20), rng)
        yield _job(green, day, "moss_treatment", rng, 1.5, material=MOSS, mass_kg=12.5 if green.area_m2 < 1300 else 25)
    if rng.random() < 0.5:
        day = _near(day_of(season, rng.choice((10, 11, 6)), 24), rng)
        yield _job(green, day, "plant_protection", rng, 1.5, material=PROTECTION,
                   note="details in the application record kept by the operator")  # fmt: skip
    if rng.random() < 0.35:
        day = _near(day_of(season, 4, 2), rng)
        yield _job(green, day, "turfing", rng, 4, 2, material=TURF, treated_area_m2=rng.choice((4, 6, 9)),
                   note="rink ends patched")  # fmt: skip
    if green.habit.ph < 5.4 and season % 2 == 0:
        yield _job(green, _near(day_of(season, 11, 20), rng), "liming", rng, 2, material=LIME, mass_kg=75)
