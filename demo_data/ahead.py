"""What is to come on the greens: programmes of two seasons, and the days on which greens are closed or played on."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

from demo_data.county import MIX_70, SEED, SPRING, SUMMER, Green
from demo_data.sheets import Cells, Sheet, Spoil, canonical
from demo_data.works import BAG_KG, Job

Row = dict[str, Any]

PROGRAMME_HEADERS = (
    "programme", "green", "operation", "material", "reference", "window_from", "window_to", "times", "mass_kg",
    "volume_l", "rate_g_m2", "rate_ml_m2", "depth_mm", "passes", "hours", "basis", "note",
)  # fmt: skip
"""Columns of a programme as the tool writes it."""
CALENDAR_HEADERS = ("green", "club", "from_day", "to_day", "occasion", "title", "note")

AGAIN = (
    "ALD-1", "ALD-2", "CUL-1", "DRA-1", "GAR-1", "HOL-1", "HOL-2", "INK-1", "LAR-1", "MOS-1", "PEL-1", "PEL-2",
)  # fmt: skip
"""Greens whose programme is last season's works again; of the routine work a person has taken out."""
KEPT = (
    "scarifying", "solid_tining", "hollow_coring", "top_dressing", "drag_matting", "fertilising", "overseeding",
    "wetting_agent",
)  # fmt: skip
ONE_YEAR = timedelta(weeks=52)

MEETING = "committee, 9 October 2026"
EDITED: dict[tuple[str, str, date], Row] = {
    ("ALD-1", "top_dressing", date(2027, 3, 22)): {"mass_kg": 3000, "note": f"changed, {MEETING}: was 2,250 kg"},
    ("ALD-2", "scarifying", date(2027, 3, 15)): {
        "window_from": date(2027, 3, 29), "window_to": date(2027, 4, 11), "note": "moved: the ditch is mended first",
    },
}  # fmt: skip
"""What a person changed, by green, operation and the first day of the window as it was written."""


def county_programme(jobs: list[Job], greens: tuple[Green, ...]) -> Sheet:
    """Programme 2027 of the contractor's greens: last season's works, templates, rates."""
    rows = [row for green in greens if green.code in AGAIN for row in _again(green, jobs)]
    rows += [*_bramfold(), *_kettle_lane(), *_by_rates()]
    rows.sort(key=lambda row: row["green"])
    return canonical("programme_2027.csv", PROGRAMME_HEADERS, rows)


def _again(green: Green, jobs: list[Job]) -> Iterator[Row]:
    """Season 2026's works of a green a year on, each in its week, but what is past by the last day on record."""
    last = max(job["date"] for job in jobs)
    for job in jobs:
        day = job["date"] + ONE_YEAR
        if job["green"] != green.code or job["operation"] not in KEPT or not last < day <= date(2027, 9, 30):
            continue
        monday = day - timedelta(days=day.weekday())
        amount = _amount(job)
        said = next((f": {size:,g} {unit}" for unit, size in _sizes(amount)), "")
        row = {
            "programme": 2027, "green": green.code, "operation": job["operation"], "material": job.get("material"),
            "reference": f"from {monday.day} {monday:%B}", "window_from": monday,
            "window_to": monday + timedelta(days=6), "times": 1, "depth_mm": job.get("depth_mm"),
            "passes": job.get("passes"), "basis": f"as on {job['date'].day} {job['date']:%B %Y}{said}", **amount,
        }  # fmt: skip
        yield row | EDITED.get((green.code, job["operation"], monday), {})


def _amount(job: Job) -> Row:
    """How much was put on, in the column of a programme it belongs to."""
    if "packs" in job:
        return {"mass_kg": job["packs"] * BAG_KG}
    return {name: job[name] for name in ("mass_kg", "volume_l", "rate_g_m2") if name in job}


def _sizes(amount: Row) -> Iterator[tuple[str, float]]:
    units = {"mass_kg": "kg", "volume_l": "l", "rate_g_m2": "g/m²"}
    return ((units[name], size) for name, size in amount.items())


def _line(green: str, operation: str, first: date, last: date, basis: str, **more: object) -> Row:
    return {
        "programme": 2027, "green": green, "operation": operation, "reference": f"from {first.day} {first:%B}",
        "window_from": first, "window_to": last, "times": 1, "basis": basis, **more,
    }  # fmt: skip


SPRING_LED = (
    "template feeding-spring-led: Grounds Management Association, bowling green cost of materials, spring 2003: 75, 50 "
    "and 50 kg on 1,475 m²"
)
START_UP = "template gma-spring-flat: Grounds Management Association, bowling green maintenance: pre-season maintenance"


def _bramfold() -> Iterator[Row]:
    """BRA-1 from two templates: the feeds are named and made whole bags, the dressing is given an amount."""
    yield _line("BRA-1", "top_dressing", date(2027, 3, 25), date(2027, 4, 7), START_UP, material=MIX_70, mass_kg=3000,
                note="the template gives no rate: 3 t, as the head keeper says")  # fmt: skip
    yield _line("BRA-1", "solid_tining", date(2027, 4, 1), date(2027, 4, 14), START_UP, depth_mm=75)
    feeds = ((4, 30, SPRING, 75, "was 69.61 kg"), (6, 30, SUMMER, 50, "was 46.407 kg"), (8, 31, SUMMER, 50, ""))
    for month, end, material, mass, was in feeds:
        yield _line("BRA-1", "fertilising", date(2027, month, 1), date(2027, month, end), SPRING_LED,
                    material=material, mass_kg=mass, note=f"whole bags: {was}" if was else "")  # fmt: skip


def _kettle_lane() -> Iterator[Row]:
    """KET-1 from a template: what it leaves open is left open, so that its dressing asks for an amount."""
    yield _line("KET-1", "top_dressing", date(2027, 3, 25), date(2027, 4, 7), START_UP, material=MIX_70,
                note="Amount: the template gives no rate.")  # fmt: skip
    yield _line("KET-1", "solid_tining", date(2027, 4, 1), date(2027, 4, 14), START_UP)
    for month, end, material in ((4, 30, SPRING), (6, 30, SUMMER), (8, 31, SUMMER)):
        yield _line("KET-1", "fertilising", date(2027, month, 1), date(2027, month, end), SPRING_LED,
                    material=material, rate_g_m2=50.85 if month == 4 else 33.9)  # fmt: skip


def _by_rates() -> Iterator[Row]:
    """ELV-1 and WIC-1 by rates: of the first they are amounts, of the second nobody knows what they come to."""
    for green, agreed in (("ELV-1", "2 October 2026"), ("WIC-1", "16 October 2026")):
        why = f"agreed with the club, {agreed}"
        yield _line(green, "solid_tining", date(2027, 3, 15), date(2027, 3, 28), why, depth_mm=75)
        yield _line(green, "top_dressing", date(2027, 3, 22), date(2027, 4, 4), why, material=MIX_70, rate_g_m2=1000)
        yield _line(green, "fertilising", date(2027, 4, 1), date(2027, 4, 30), why, material=SPRING, rate_g_m2=35)


def season_just_over() -> Sheet:
    """Programme 2026 of two greens: done as planned, done short, and a dressing that was never given."""
    rows = [
        ("ALD-1", "hollow_coring", (2025, 10, 6), (2025, 10, 17), {"depth_mm": 75}),
        ("ALD-1", "top_dressing", (2025, 10, 6), (2025, 10, 17), {"material": MIX_70, "mass_kg": 6000}),
        ("ALD-1", "top_dressing", (2026, 3, 16), (2026, 3, 29), {"material": MIX_70, "mass_kg": 2250}),
        ("KET-1", "top_dressing", (2025, 10, 6), (2025, 10, 19), {"material": MIX_70, "mass_kg": 1750}),
        ("KET-1", "overseeding", (2025, 10, 6), (2025, 10, 19), {"material": SEED, "mass_kg": 20}),
        ("KET-1", "top_dressing", (2026, 5, 11), (2026, 5, 31), {"material": MIX_70, "mass_kg": 750}),
    ]
    return canonical("programme_2026.csv", PROGRAMME_HEADERS, [
        _line(green, work, date(*first), date(*last), "agreed with the committee, 17 November 2025", **more)
        | {"programme": 2026}
        for green, work, first, last, more in rows
    ])  # fmt: skip


WISH_HEADERS = ("Which green", "Job", "With", "How much", "Not before", "Not after", "Why")
WISHES = (
    ("Fennick top", "solid tine", "", "", "15/03/27", "15/04/27", "as every spring"),
    ("Fennick top", "dressed", MIX_70, "1.25 kg/m2", "22/03/27", "10/04/27", "levels at the crown"),
    ("Fennick top", "feed", SPRING, "35 g/m2", "01/04/27", "30/04/27", ""),
    ("Fennick top", "feed", SUMMER, "35 g/m2", "10/06/27", "30/06/27", ""),
    ("Fennick bottom", "solid tine", "", "", "15/03/27", "15/04/27", ""),
    ("Fennick bottom", "dressed", MIX_70, "1 kg/m2", "22/03/27", "10/04/27", "as last year"),
    ("Fennick bottom", "feed", SPRING, "35 g/m2", "01/04/27", "30/04/27", ""),
    ("Fennick bottom", "scarify", "", "", "01/09/27", "30/09/27", "before the sand"),
)


def volunteers_programme() -> Sheet:
    """What the crown greens' volunteers want done in season 2027, in their own words; one window runs backwards."""
    sheet = Sheet("programme_volunteers_2027.csv")
    sheet.add(WISH_HEADERS)
    rows: list[Cells] = [dict(zip(WISH_HEADERS, wish, strict=True)) for wish in WISHES]
    sheet.fill(WISH_HEADERS, rows, (
        Spoil("Not after", "15/03/26", "window that ends before it begins (2027 mistyped)",
              where=lambda row: row["Job"] == "scarify"),
    ))  # fmt: skip
    return sheet


def closed_days() -> Sheet:
    """Days on which nobody may work or play: the county's, a club's, and one green's."""
    return canonical("closed_days.csv", CALENDAR_HEADERS, [
        {"from_day": date(2026, 12, 24), "to_day": date(2027, 1, 2), "occasion": "closed", "title": "county holiday"},
        {"club": "ALD", "from_day": date(2027, 3, 22), "to_day": date(2027, 3, 24), "occasion": "closed",
         "title": "pavilion roof, no vehicles"},
        {"green": "HOL-1", "from_day": date(2027, 4, 5), "to_day": date(2027, 4, 8), "occasion": "closed",
         "title": "ditch boards"},
    ])  # fmt: skip


FIXTURE_HEADERS = ("Day", "Club", "H/A", "Against", "Competition")
AGAINST = ("Bramfold Park", "Drayfield Institute", "Garsmere Social", "Inkwater Mill", "Larkmarsh", "Torwick")


def fixtures() -> Sheet:
    """Matches of two clubs from April to September 2027, as their secretaries' list has them."""
    sheet = Sheet("fixtures_2027.csv", line_end="\r\n", encoding="utf-8-sig")
    sheet.add(["Ostershire league - fixtures 2027"])
    sheet.add(FIXTURE_HEADERS)
    rows: list[Cells] = []
    first = date(2027, 4, 17)
    for week in range(23):
        for number, club in enumerate(("ALD", "KET")):
            if (week + number) % 3 != 2:
                rows.append({
                    "Day": f"{first + timedelta(weeks=week):%d/%m/%Y}", "Club": club,
                    "H/A": "HA"[(week + number) % 2], "Against": AGAINST[(week + 2 * number) % len(AGAINST)],
                    "Competition": "cup" if week % 7 == 6 else "league",
                })  # fmt: skip
    sheet.fill(FIXTURE_HEADERS, rows)
    return sheet
