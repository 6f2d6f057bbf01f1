"""Invented greens of two clubs for the tests of the season summary and the round-up, few enough to sum by hand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from pipeline.indicators.base.green_season import (
    Caution,
    DataNote,
    Due,
    Evidence,
    GreenSeason,
    Indicator,
    Latest,
    Running,
    RunningPoint,
    Work,
)
from pipeline.summaries import round_up as summaries
from pipeline.summaries.club_season import RoundUp
from tests.reports import sample

JOBS, SOIL, SPEED = "jobs-2026.csv", "soil-2026.csv", "speeds-2026.csv"
START, END, AS_OF = date(2025, 10, 1), date(2026, 9, 30), date(2026, 3, 31)
AGREED = "agreed with the committee, 12 January 2026"
IRON = "Iron stains paving: keep it off hard surfaces."


def line(number: int, file: str = JOBS) -> tuple[Evidence, ...]:
    return (Evidence(file, number, "job", 1),)


def _work(day: date, operation: str, hours: float | None, cost: float | None, number: int) -> Work:
    return Work(day, operation, "", "", hours, None if cost is None else Decimal(str(cost)), line(number)[0])


def _figure(name: str, label: str, band: str, value: float | None, unit: str, standing: str, low: float | None,
            high: float | None, number: int, decimals: int = 1) -> Indicator:  # fmt: skip
    return Indicator(name, label, band, value, unit, 2, target_low=low, target_high=high, target_source=AGREED,
                     standing=standing, method=f"Method of {label}.", decimals=decimals,
                     evidence=line(number))  # type: ignore[arg-type]  # fmt: skip


def _dressing(total: float | None) -> tuple[Running, ...]:
    points = () if total is None else (RunningPoint(date(2025, 10, 20), total),)
    plan = (RunningPoint(START, 0.0), RunningPoint(END, 5.0))
    return (Running("Top dressing", "kg/m²", points, plan, 5.0, 8.0, AGREED),)


def main_green() -> GreenSeason:
    """A green on plan: three jobs, 7.5 h, £180, everything within its target but organic matter."""
    return GreenSeason(
        "LB-1", "Main green", "LB", "Linden Bank Bowls Club", "Ostershire", "2026", START, END, AS_OF,
        facts=(("Playing area", "1,400 m²"),),
        indicators=(
            _figure("organic_matter_pct", "Organic matter", "0–20 mm", 7.25, "%", "above", None, 6.0, 3),
            _figure("organic_matter_pct", "Organic matter", "20–40 mm", 4.0, "%", "within", None, 4.0, 4),
            _figure("dressing_kg_m2", "Top dressing applied", "", 3.0, "kg/m²", "below", 5.0, 8.0, 2, 2),
            _figure("nitrogen_kg_ha", "Nitrogen (N) applied", "", 40.0, "kg/ha", "within", 30.0, 60.0, 5, 0),
            _figure("speed_s", "Green speed", "", 12.5, "s", "within", 10.0, 15.0, 6),
        ),
        works=(
            _work(date(2025, 10, 20), "Top dressing", 4.0, 120.0, 2),
            _work(date(2026, 3, 2), "Mowing", 1.5, 30.0, 7),
            _work(date(2026, 3, 2), "Fertilising", 2.0, 30.0, 5),
        ),
        running=_dressing(3.0),
        series=(sample.organic("0–20 mm", [(2024, 7.9, 0.5, True), (2025, 7.25, 0.5, True)], None, 6.0),),
        due=(
            Due("Top dressing, 70/30", "2.8 to 7.0 t on 1,400 m²", "by 30 September 2026", "Open.", END, 2.8, 7.0, "t"),
            Due("Look at the green before the next feed", "when growth slows", "since 20 March 2026", "Feed.",
                date(2026, 3, 20), overdue=True),
        ),
        cautions=(Caution(IRON, "common practice, no source", "fertilising on 2 March 2026", line(5)),),
        currency="GBP", area_m2=1400.0, latest=Latest(date(2026, 3, 2), date(2025, 9, 4), date(2026, 3, 20)),
    )  # fmt: skip


def lower_green() -> GreenSeason:
    """The same club's second green: behind plan, one job without hours, none with a cost, a row rejected."""
    first = main_green()
    return replace(
        first,
        green="LB-2", green_name="Lower green",
        indicators=(
            _figure("organic_matter_pct", "Organic matter", "0–20 mm", 5.0, "%", "within", None, 6.0, 13),
            _figure("dressing_kg_m2", "Top dressing applied", "", 1.0, "kg/m²", "below", 5.0, 8.0, 12, 2),
        ),
        works=(
            _work(date(2025, 10, 21), "Top dressing", None, None, 12),
            _work(date(2026, 3, 3), "Mowing", 1.25, None, 17),
        ),
        running=_dressing(1.0),
        due=(Due("Top dressing, 70/30", "4.0 t on 1,000 m²", "by 30 September 2026", "Open.", END, 4.0, None, "t"),),
        cautions=(Caution(IRON, "common practice, no source", "fertilising on 3 March 2026", line(15)),),
        data_notes=(
            DataNote("warning", "1 row of jobs-2026.csv is not in these figures (line 9).", "rejected"),
            DataNote("warning", "1 job with “mystery feed”, not in the register of materials.", "material"),
        ),
        area_m2=1000.0, latest=Latest(date(2026, 3, 3), None, None),
    )  # fmt: skip


def quiet_green() -> GreenSeason:
    """Another club's green: no area, nothing logged this season, last seen a year ago."""
    return replace(
        main_green(),
        green="OT-1", green_name="Orchard green", club="OT", club_name="Otterhay Bowling Club",
        facts=(), indicators=(), works=(), running=_dressing(None), series=(), due=(), cautions=(),
        area_m2=None, latest=Latest(date(2025, 3, 1), date(2023, 9, 1), None),
    )  # fmt: skip


def hostile_green(i: int = 0) -> GreenSeason:
    """Names and texts of markup, direction marks, emoji and 2,000 letters without a space."""
    evil = "<script>alert(1)</script>{{ 7*7 }}"
    return replace(
        main_green(),
        green=f"=X\u202e{i}", green_name=("W" * 2000, f"{evil}\u202egreen\x00", "緑の芝 🎳")[i % 3], club="=LB",
        club_name=f"{evil} 緑 🎳 " + "W" * 500, region="\u202eregion",
        works=(replace(main_green().works[0], operation=evil, detail="=cmd()", amount="W" * 900),),
        due=(Due("W" * 2000, evil, "\u202ey" * 300, evil, END, 1.0, 2.0, "<b>t"),),
        cautions=(Caution(evil * 50, evil, evil),),
        data_notes=(DataNote("warning", "Z\u0301" * 3000, "rejected"),),
        running=(replace(_dressing(0.1)[0], unit="<i>kg"),),
    )  # fmt: skip


def many(number: int) -> list[GreenSeason]:
    """So many greens of one club, from a few kinds: full, behind, and with a long log."""
    made = []
    for i in range(number):
        base = (main_green(), lower_green(), replace(sample.rich(), works=sample.works(30)))[i % 3]
        made.append(replace(base, green=f"LB-{i:03d}", green_name=f"Green {i}", club="LB", club_name="Linden Bank",
                            season="2026"))  # fmt: skip
    return made


def county(number: int) -> list[GreenSeason]:
    """So many greens of as many clubs as have two greens each, light enough to be made by the hundred."""
    kinds = (main_green(), lower_green(), quiet_green())
    return [
        replace(kinds[i % 3], green=f"G{i:03d}", green_name=f"Green {i}", club=f"C{i // 2:03d}",
                club_name=f"Club {i // 2:03d}", as_of=AS_OF + timedelta(days=0))
        for i in range(number)
    ]  # fmt: skip


def round_up(seasons: Iterable[GreenSeason]) -> RoundUp:
    """The round-up of these greens, up to the last day that any of them reaches."""
    every = list(seasons)
    as_of = max(one.as_of for one in every)
    return summaries.round_up([summaries.green_line(one) for one in every], replace(every[0], as_of=as_of))
