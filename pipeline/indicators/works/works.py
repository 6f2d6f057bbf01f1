"""What was done in a season: operations, hours, cost, and the vibration of its worst day."""

from __future__ import annotations

import math
from collections.abc import Iterator

import polars as pl

from pipeline.agronomy.work import EXPOSURE_ACTION_M_S2, EXPOSURE_LIMIT_M_S2, daily_exposure_m_s2
from pipeline.common.words import counted, long_date
from pipeline.indicators.base.description import MONEY, DefaultTarget, Description, Family
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import GreenRecords, lacking
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


def works(records: GreenRecords) -> Iterator[Indicator]:
    """Operations, days of work, hours and cost of the season (grain: indicator)."""
    jobs = records.in_season(records.jobs)
    if not jobs.height:
        return
    yield OPERATIONS.figure(float(jobs.height), jobs, method="Lines of the job log in the season.")
    yield DAYS.figure(float(jobs["date"].n_unique()), jobs, method="Different dates in the job log.")
    yield from _summed(records, jobs, "hours", HOURS)
    yield from _summed(records, jobs, "cost", COST)
    yield from _vibration(jobs)
    for operation, code in code_list("operation").items():
        part = jobs.filter(pl.col("operation") == operation)
        yield from _summed(records, part, "hours", HOURS_OF, code.label)
        yield from _summed(records, part, "cost", COST_OF, code.label)


def _vibration(jobs: pl.DataFrame) -> Iterator[Indicator]:
    """Highest daily exposure A(8) of one writer's machines on this green; a day's machines add up by their squares."""
    known = jobs.drop_nulls(["vibration_m_s2", "trigger_hours"]).with_columns(
        daily_exposure_m_s2(pl.col("vibration_m_s2"), pl.col("trigger_hours")).alias("a8")
    )
    if not known.height:
        return
    by = ["date", "logged_by"]
    days = (
        known.group_by(by, maintain_order=True)
        .agg((pl.col("a8") ** 2).sum().sqrt(), of_one_person().alias("one"))
        .sort("a8", "date", maintain_order=True)
    )
    worst = known.join(days.tail(1), on=by, how="semi", nulls_equal=True, maintain_order="left")
    unsaid = jobs.filter(pl.col("vibration_m_s2").is_not_null() ^ pl.col("trigger_hours").is_not_null()).height
    most = float(days["a8"][-1])
    one = bool(days["one"][-1])
    whose = "" if one else f" {IF_ONE}"
    parts = [f"{_against(most)}{whose}, {long_date(days['date'][-1])}; other greens of that day come on top."]
    if unsaid:
        parts.append(f"{counted(unsaid, 'job')} with a figure or hours, not both, not counted.")
    yield VIBRATION.figure(
        most,
        worst,
        n=days.height,
        note=" ".join(parts),
        method="√ of the sum of a² T ÷ 8 over the machines of one day and writer of the log; declared magnitudes."
        + ("" if one else " The log does not say that one person held all of them: of several, each had less."),
    )


def _against(a8_m_s2: float) -> str:
    """A day's exposure against both values of the directive."""
    action, limit = (f"{value:g} m/s²" for value in (EXPOSURE_ACTION_M_S2, EXPOSURE_LIMIT_M_S2))
    if a8_m_s2 > EXPOSURE_LIMIT_M_S2:
        return f"Above the exposure limit value ({limit})"
    if a8_m_s2 >= EXPOSURE_ACTION_M_S2 or math.isclose(a8_m_s2, EXPOSURE_ACTION_M_S2):
        return f"At or above the action value, below the limit value ({limit})"
    return f"Below the action value ({action})"


def _summed(
    records: GreenRecords, jobs: pl.DataFrame, column: str, what: Description, operation: str = ""
) -> Iterator[Indicator]:
    """Hours or cost of the jobs that give any; of all of them the cost over the green's area too."""
    given = jobs.drop_nulls(column)
    if not given.height:
        return
    total = float(given[column].sum())
    note = lacking(jobs, given, f"jobs give no {column}; the true sum is larger.")
    how = f"Sum of the {column} that jobs give{', by operation' if operation else ''}."
    yield what.figure(total, given, band=operation, currency=records.settings.currency, note=note, method=how)
    if what is COST:
        yield from _cost_a_square_metre(records, jobs, given)


def _cost_a_square_metre(records: GreenRecords, jobs: pl.DataFrame, given: pl.DataFrame) -> Iterator[Indicator]:
    """Cost of the jobs over the green's area; where that changed within the season, each over that of its day."""
    placed = given.drop_nulls("green_m2")
    if not placed.height:
        return
    areas = placed["green_m2"].unique(maintain_order=True).to_list()
    cost = sum(float(placed.filter(pl.col("green_m2") == area)["cost"].sum()) / area for area in areas)
    note = lacking(jobs, placed, "jobs give no cost; the true sum is larger.")
    how = f"Cost as logged over the green's area. {CHANGED if len(areas) > 1 else ''}".rstrip()
    yield COST_M2.figure(cost, placed, currency=records.settings.currency, note=note, method=how)


FAMILY = Family((OPERATIONS, DAYS, HOURS, COST, VIBRATION, HOURS_OF, COST_OF, COST_M2), works)
