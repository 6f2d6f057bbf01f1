"""What was done in a season: operations, hours, cost, and the vibration of its worst day."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

import polars as pl

from pipeline.agronomy.work import EXPOSURE_ACTION_M_S2, EXPOSURE_LIMIT_M_S2, daily_exposure_m_s2
from pipeline.common.words import counted, logged_for, long_date
from pipeline.indicators.base.asked import BEHIND, Asked
from pipeline.indicators.base.description import MONEY, DefaultTarget, Description, Family
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.shares import CHANGED
from pipeline.indicators.works.worker import IF_ONE, of_one_person
from schemas.codes import code_list

OPERATIONS = Description(
    "operations", "Operations logged", "", "works", "Lines of the job log.", "Count.", decimals=0,
    accumulates=True, day_needed=False,
)  # fmt: skip
DAYS = Description(
    "days_worked", "Days with work on the green", "", "works", "Days with a line in the log.", "Count of dates.",
    decimals=0, accumulates=True,
)  # fmt: skip
_SUM = "Sum of what jobs give; the note says how many give none."
HOURS = Description(
    "hours_h", "Hours of work", "h", "works", "Hours of all people together.", _SUM, accumulates=True, day_needed=False,
)  # fmt: skip
COST = Description(
    "cost", "Cost of work and materials as logged", MONEY, "works", "Cost in the workspace's currency.", _SUM,
    decimals=0, accumulates=True, day_needed=False,
)  # fmt: skip
VIBRATION = Description(
    "vibration_a8_m_s2", "Hand-arm vibration, highest daily exposure A(8)", "m/s²", "works",
    "The worst day's exposure from what one writer of the log entered of this green, as if one person did all of it; "
    "other greens come on top.",
    "√ of the sum of a² T ÷ 8 over that day's machines (vibration_m_s2, trigger_hours).",
    formulas=(daily_exposure_m_s2,),
    targets=(DefaultTarget(
        None, EXPOSURE_ACTION_M_S2, "exposure action value, Directive 2002/44/EC, article 3 (UK: Control of Vibration "
        "at Work Regulations 2005)", note="from it on an employer has to act; nobody may be exposed above the limit "
        "value of 5 m/s², and the note says which; elsewhere other law holds", reached=True,
    ),), of_the_crew=True,
)  # fmt: skip
HOURS_OF = Description(
    "hours_of_h", "Hours", "h", "works", "Hours by operation.", "Sum of what jobs give.", band="operation",
    accumulates=True, day_needed=False,
)  # fmt: skip
COST_OF = Description(
    "cost_of", "Cost", MONEY, "works", "Cost by operation.", "Sum of what jobs give.", band="operation", decimals=0,
    accumulates=True, day_needed=False,
)  # fmt: skip
COST_M2 = Description(
    "cost_m2", "Cost per square metre", f"{MONEY}/m²", "works", "The same over the green.",
    "Cost over the green's own area.", decimals=2, label_us="Cost per 1000 square feet",
    accumulates=True, day_needed=False,
)  # fmt: skip


def works(asked: Asked) -> Iterator[Indicator]:
    """Operations, days of work, hours and cost of the seasons (grain: indicator)."""
    jobs = asked.in_season(asked.jobs)
    logged = jobs.group_by("of", maintain_order=True).agg(*BEHIND, pl.col("date").n_unique().alias("days"))
    for of, n, places, days in logged.iter_rows():
        behind = asked.evidence("job", places)
        yield OPERATIONS.at(of, float(n), n=n, places=behind, method="Lines of the job log in the season.")
        yield DAYS.at(of, float(days), n=n, places=behind, method="Different dates in the job log.")
    yield from _summed(asked, jobs, ["of"], {"hours": HOURS, "cost": COST})
    yield from _cost_a_square_metre(asked, jobs)
    yield from _vibration(asked, jobs)
    yield from _summed(asked, jobs, ["of", "operation"], {"hours": HOURS_OF, "cost": COST_OF})


def _vibration(asked: Asked, jobs: pl.DataFrame) -> Iterator[Indicator]:
    """Highest daily exposure A(8) of one writer's machines on a green; a day's machines add up by their squares."""
    magnitude, hours = pl.col("vibration_m_s2"), pl.col("trigger_hours")
    a8 = daily_exposure_m_s2(magnitude, hours).alias("a8")
    known = jobs.with_columns(a8).drop_nulls(["vibration_m_s2", "trigger_hours"])
    by_day = known.group_by("of", "date", "logged_by", maintain_order=True).agg(
        "a8", "origin", of_one_person().alias("one")
    )
    days: dict[int, list[_Day]] = {}
    for of, day, _, machines, places, one in by_day.iter_rows():
        days.setdefault(of, []).append(_Day(math.sqrt(math.fsum(each**2 for each in machines)), day, places, one))
    unsaid = dict(
        jobs.filter(magnitude.is_not_null() ^ hours.is_not_null()).group_by("of", maintain_order=True).len().iter_rows()
    )
    for of, found in days.items():
        worst = sorted(found, key=lambda day: (day.a8, day.date))[-1]
        whose = "" if worst.one else f" {IF_ONE}"
        parts = [f"{_against(worst.a8)}{whose}, {long_date(worst.date)}; other greens of that day come on top."]
        if of in unsaid:
            parts.append(f"{counted(unsaid[of], 'job')} with a figure or hours, not both, not counted.")
        yield VIBRATION.at(
            of,
            worst.a8,
            n=len(found),
            places=asked.evidence("job", worst.places),
            note=" ".join(parts),
            method="√ of the sum of a² T ÷ 8 over the machines of one day and writer of the log; declared magnitudes."
            + (
                ""
                if worst.one
                else " The log does not say that one person held all of them: of several, each had less."
            ),
        )


class _Day(NamedTuple):
    """A day of one writer of the log: exposure A(8), m/s², lines, and whether it is one person's."""

    a8: float
    date: date
    places: list[int]
    one: bool


def _against(a8_m_s2: float) -> str:
    """A day's exposure against both values of the directive."""
    action, limit = (f"{value:g} m/s²" for value in (EXPOSURE_ACTION_M_S2, EXPOSURE_LIMIT_M_S2))
    if a8_m_s2 > EXPOSURE_LIMIT_M_S2:
        return f"Above the exposure limit value ({limit})"
    if a8_m_s2 >= EXPOSURE_ACTION_M_S2 or math.isclose(a8_m_s2, EXPOSURE_ACTION_M_S2):
        return f"At or above the action value, below the limit value ({limit})"
    return f"Below the action value ({action})"


def _summed(asked: Asked, jobs: pl.DataFrame, by: list[str], told: dict[str, Description]) -> Iterator[Indicator]:
    """Hours and cost of the jobs that give any, of each group in the order of the operations."""
    given = {column: pl.col(column).is_not_null() for column in told}
    sums = jobs.group_by(by, maintain_order=True).agg(
        pl.len().alias("every"),
        pl.col(*told).drop_nulls(),
        *(pl.col("origin").filter(is_given).alias(f"{column} places") for column, is_given in given.items()),
    )
    operations = code_list("operation")
    turn = {name: at for at, name in enumerate(operations)}
    for row in sorted(sums.iter_rows(named=True), key=lambda row: turn[row["operation"]] if by[1:] else 0):
        for column, what in told.items():
            if values := row[column]:
                yield what.at(
                    row["of"],
                    float(sum(values)) if column == "cost" else math.fsum(values),  # money adds up exactly in decimal
                    n=len(values),
                    places=asked.evidence("job", row[f"{column} places"]),
                    band=operations[row["operation"]].label if by[1:] else "",
                    currency=asked.settings.currency,
                    note=_partly(len(values), row["every"]),
                    method=f"Sum of the {column} that jobs give{', by operation' if by[1:] else ''}.",
                )


def _partly(known: int, every: int) -> str:
    """Of how many jobs a sum is, as every document says it; "" where it is of all."""
    said = logged_for(known, every)
    return f"{said[:1].upper()}{said[1:]} jobs; the true sum is larger." if said else ""


def _cost_a_square_metre(asked: Asked, jobs: pl.DataFrame) -> Iterator[Indicator]:
    """Cost of the jobs over the green's area; where that changed within the season, each over that of its day."""
    lines = jobs.group_by("of", maintain_order=True).agg(pl.len().alias("every"))
    placed = jobs.drop_nulls(["cost", "green_m2"]).group_by("of", maintain_order=True)
    given = placed.agg(*BEHIND, pl.col("cost") / pl.col("green_m2"), pl.col("green_m2").n_unique().alias("areas"))
    for of, n, places, costs, areas, every in given.join(lines, on="of", maintain_order="left").iter_rows():
        yield COST_M2.at(
            of,
            math.fsum(costs),
            n=n,
            places=asked.evidence("job", places),
            currency=asked.settings.currency,
            note=_partly(n, every),
            method=f"Cost as logged over the green's area. {CHANGED if areas > 1 else ''}".rstrip(),
        )


FAMILY = Family((OPERATIONS, DAYS, HOURS, COST, VIBRATION, HOURS_OF, COST_OF, COST_M2), works)
