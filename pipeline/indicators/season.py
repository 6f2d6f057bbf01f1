"""A green's season put together: every indicator, its series, what comes next, cautions and data notes."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from pipeline.indicators import (
    balance,
    cautions,
    dressing,
    due,
    feeding,
    notes,
    nutrients,
    soil,
    speed_change,
    surface,
    weather,
    works,
)
from pipeline.indicators.record import GreenSeason, Indicator, Work
from pipeline.indicators.records import GreenRecords, Records, green_records
from pipeline.indicators.standing import against_target, evidence
from pipeline.workspace import Season, Workspace
from schemas.codes import code_list

FAMILIES = (
    soil.organic_matter,
    balance.balance,
    dressing.dressing,
    nutrients.nutrients,
    feeding.feeding,
    works.disturbed,
    surface.speed,
    speed_change.speed_change,
    soil.chemistry,
    weather.weather,
    works.works,
)
"""Every family of indicators, in the order of the report."""


def indicators(records: GreenRecords) -> tuple[Indicator, ...]:
    """Every indicator of a green in a season, with target and standing."""
    return tuple(against_target(one, records) for family in FAMILIES for one in family(records))


def green_season(every: Records, green: str, season: Season, workspace: Workspace) -> GreenSeason:
    """Everything a condition report needs about one green in one season."""
    records = green_records(every, green, season, workspace)
    figures = indicators(records)
    jobs = records.in_season(records.jobs)
    done = GreenSeason(
        green=green,
        green_name=records.green["name"] or green,
        club=records.club["club"],
        club_name=records.club["name"],
        region=records.club["region"] or "",
        season=season.name,
        season_start=season.start,
        season_end=season.end,
        as_of=records.as_of,
        facts=tuple(_facts(records)),
        indicators=figures,
        works=tuple(_works(records, jobs)),
        running=(dressing.running(records), nutrients.running(records)),
        series=(*soil.organic_matter_series(records), *surface.speed_series(records)),
        due=tuple(due.due(records, figures)),
        cautions=tuple(cautions.cautions(records)),
        currency=records.currency,
    )
    return notes.with_notes(done, records, every)


def _facts(records: GreenRecords) -> Iterator[tuple[str, str]]:
    green = records.green
    yield "Playing area", f"{green['area_m2']:,.0f} m²" if green["area_m2"] else "not recorded"
    if green["length_m"] and green["width_m"]:
        yield "Size", f"{green['length_m']:g} × {green['width_m']:g} m"
    if green["shape"]:
        yield "Shape", code_list("green_shape")[green["shape"]].label
    for name, label in (("construction", "Construction"), ("grasses", "Grasses")):
        if green[name]:
            yield label, green[name]
    if green["laid_on"]:
        yield "Laid", str(green["laid_on"].year)


def _works(records: GreenRecords, jobs: pl.DataFrame) -> Iterator[Work]:
    order = {name: i for i, name in enumerate(code_list("operation"))}
    sky = weather.in_words(records)
    jobs = jobs.with_columns(pl.col("operation").replace_strict(order).alias("place")).sort(
        "date", "place", "file", "line"
    )
    for row in jobs.iter_rows(named=True):
        yield Work(
            date=row["date"],
            operation=code_list("operation")[row["operation"]].label,
            detail=_detail(row),
            amount=_amount(row),
            hours=row["hours"],
            cost=row["cost"],
            evidence=evidence(pl.DataFrame([{k: row[k] for k in ("file", "line", "load_id")}]), "job")[0],
            weather=sky.get(row["date"], ""),
        )


def _detail(row: dict[str, object]) -> str:
    parts = []
    if row["material"]:
        parts.append(str(row["material"]))
    for name, text in (
        ("passes", "{:g} passes"),
        ("depth_mm", "{:g} mm deep"),
        ("tine_mm", "{:.3g} mm tines"),
        ("spacing_along_mm", "at {:g} mm"),
        ("holes", "{:,.0f} holes"),
        ("blade_mm", "{:g} mm blades"),
        ("cut_height_mm", "cut at {:g} mm"),
        ("debris_l", "{:,.0f} l off"),
        ("debris_kg", "{:,.0f} kg off"),
    ):
        if row[name] is not None:
            parts.append("1 pass" if name == "passes" and row[name] == 1 else text.format(row[name]))
    return ", ".join(parts)


def _amount(row: dict[str, object]) -> str:
    for name, text in (
        ("mass_kg", "{:,.4g} kg"),
        ("volume_l", "{:,.4g} l"),
        ("packs", "{:g} packs"),
        ("rate_g_m2", "{:g} g/m²"),
        ("rate_ml_m2", "{:g} ml/m²"),
    ):
        value = row[name]
        if isinstance(value, float):
            if name == "mass_kg" and value >= 1000:
                return f"{value / 1000:.3g} t"
            return text.format(value)
    return ""
