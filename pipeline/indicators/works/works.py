"""What was done in a season: operations, hours, cost, and the vibration of its worst day."""

from __future__ import annotations

import polars as pl

from pipeline.agronomy.work import daily_exposure_m_s2
from pipeline.common.words import counted, long_date
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import GreenRecords
from pipeline.indicators.base.standing import evidence
from schemas.codes import code_list


def works(records: GreenRecords) -> list[Indicator]:
    """Operations, days of work, hours and cost of the season (grain: indicator)."""
    jobs = records.in_season(records.jobs)
    if not jobs.height:
        return []
    found = [
        Indicator(
            "operations",
            "Operations logged",
            "",
            float(jobs.height),
            "",
            jobs.height,
            family="works",
            decimals=0,
            method="Lines of the job log in the season.",
            evidence=evidence(jobs, "job"),
        ),
        Indicator(
            "days_worked",
            "Days with work on the green",
            "",
            float(jobs["date"].n_unique()),
            "",
            jobs.height,
            family="works",
            decimals=0,
            method="Different dates in the job log.",
            evidence=evidence(jobs, "job"),
        ),
    ]
    found += _summed(records, jobs, "hours", "hours_h", "Hours of work", "h", 1)
    found += _summed(records, jobs, "cost", "cost", "Cost of work and materials as logged", records.currency, 0)
    return [*found, *_vibration(jobs), *_by_operation(records, jobs)]


def _vibration(jobs: pl.DataFrame) -> list[Indicator]:
    """Highest daily exposure A(8) of one writer's machines on this green; a day's machines add up by their squares."""
    said = pl.col("vibration_m_s2").is_not_null() & pl.col("trigger_hours").is_not_null()
    known = jobs.filter(said).with_columns(
        daily_exposure_m_s2(pl.col("vibration_m_s2"), pl.col("trigger_hours")).alias("a8")
    )
    if not known.height:
        return []
    by = ["date", "logged_by"]
    days = (
        known.group_by(by, maintain_order=True)
        .agg((pl.col("a8") ** 2).sum().sqrt())
        .sort("a8", "date", maintain_order=True)
    )
    worst = known.join(days.tail(1), on=by, how="semi", nulls_equal=True, maintain_order="left")
    unsaid = jobs.filter(pl.col("vibration_m_s2").is_not_null() ^ pl.col("trigger_hours").is_not_null()).height
    parts = [f"On {long_date(days['date'][-1])}; other greens of that day come on top."]
    if unsaid:
        parts.append(f"{counted(unsaid, 'job')} with a figure or hours, not both, not counted.")
    return [
        Indicator(
            "vibration_a8_m_s2",
            "Hand-arm vibration, highest daily exposure A(8)",
            "",
            float(days["a8"][-1]),
            "m/s²",
            days.height,
            family="works",
            decimals=1,
            note=" ".join(parts),
            method="√ of the sum of a² T ÷ 8 over the machines of one day and writer of the log; declared magnitudes.",
            evidence=evidence(worst, "job"),
        )
    ]


def _by_operation(records: GreenRecords, jobs: pl.DataFrame) -> list[Indicator]:
    """Hours and cost of each operation, in the order of work."""
    found = []
    for operation, code in code_list("operation").items():
        part = jobs.filter(pl.col("operation") == operation)
        for column, name, unit, decimals in (
            ("hours", "hours_of_h", "h", 1),
            ("cost", "cost_of", records.currency, 0),
        ):
            given = part.filter(pl.col(column).is_not_null())
            if not given.height:
                continue
            gap = part.height - given.height
            found.append(
                Indicator(
                    name,
                    "Hours" if column == "hours" else "Cost",
                    code.label,
                    float(given[column].sum()),
                    unit,
                    given.height,
                    family="works",
                    decimals=decimals,
                    note=f"{gap} of {part.height} jobs give no {column}; the true sum is larger." if gap else "",
                    method=f"Sum of the {column} that jobs give, by operation.",
                    evidence=evidence(given, "job"),
                )
            )
    return found


def _summed(
    records: GreenRecords, jobs: pl.DataFrame, column: str, name: str, label: str, unit: str, decimals: int
) -> list[Indicator]:
    given = jobs.filter(pl.col(column).is_not_null())
    if not given.height:
        return []
    total = float(given[column].sum())
    gap = jobs.height - given.height
    note = f"{gap} of {jobs.height} jobs give no {column}; the true sum is larger." if gap else ""
    first = Indicator(
        name,
        label,
        "",
        total,
        unit,
        given.height,
        family="works",
        decimals=decimals,
        note=note,
        method=f"Sum of the {column} that jobs give.",
        evidence=evidence(given, "job"),
    )
    if column != "cost" or not records.area_m2:
        return [first]
    per_area = Indicator(
        "cost_m2",
        "Cost per square metre",
        "",
        total / records.area_m2,
        f"{unit}/m²",
        given.height,
        family="works",
        decimals=2,
        note=note,
        method="Cost as logged over the green's area.",
        evidence=evidence(given, "job"),
    )
    return [first, per_area]
