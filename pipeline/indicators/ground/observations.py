"""What a visit measured and counted: sward by points, thatch and roots, hardness, moisture, infiltration."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import polars as pl

from pipeline.common.words import long_date
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import GreenRecords
from pipeline.indicators.base.standing import evidence
from pipeline.indicators.ground.readings import Change, Visit, broken_series, figure_names, latest, readings, visits
from schemas.codes import code_list


def observations(records: GreenRecords) -> list[Indicator]:
    """The season's last visit for every thing and method, its spread and its change (grain: indicator)."""
    rows = readings(records.observations.filter(pl.col("date") <= records.as_of))
    found: list[Indicator] = []
    for what in code_list("observation"):
        every = visits(rows, what)
        for one, since in latest(every):
            if one.day >= records.season.start:
                found += _figures(one, since, broken_series([v for v in every if v.day <= one.day]))
    return found


def _figures(one: Visit, since: Change | None, broken: str) -> Iterator[Indicator]:
    code = one.code
    spread, changed = figure_names(code)
    base = Indicator(
        str(code.facts["figure"]),
        code.label,
        one.method,
        one.value,
        str(code.facts["unit"]),
        one.rows.height,
        one.low,
        one.high,
        family=str(code.facts["family"]),
        decimals=int(code.facts["decimals"]),
        method=one.how,
        note=" ".join(part for part in (f"Visit of {long_date(one.day)}.", broken) if part),
        evidence=evidence(one.rows, "observation"),
    )
    yield base
    if one.cv_pct is not None:
        yield replace(
            base,
            name=spread,
            label=f"{code.label}: spread over the green",
            value=one.cv_pct,
            unit="%",
            low=None,
            high=None,
            decimals=0,
            method="Standard deviation over the mean of the readings (coefficient of variation).",
            note="",
        )
    if since is not None:
        yield _changed(base, changed, one, since)


def _changed(base: Indicator, name: str, one: Visit, since: Change) -> Indicator:
    """The change since the visit before, by the same method."""
    found = since.difference
    way = "Newcombe interval from both Wilson intervals" if one.points else "Welch's t interval"
    if found.low is None:
        says = "A single reading on one of the two visits: no interval, and so no change is shown."
    else:
        says = "" if found.shown else "The interval holds zero: no change is shown."
    return replace(
        base,
        name=name,
        label=f"{base.label}: change since the visit before",
        value=found.change,
        unit="%-points" if base.unit == "%" else base.unit,
        low=found.low,
        high=found.high,
        method=f"Later less earlier, same method; 95 % {way}.",
        note=f"Since {long_date(since.since)}. {says}".strip(),
    )
