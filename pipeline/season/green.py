"""A green's season put together: every indicator, its series, what comes next, cautions and data notes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from types import MappingProxyType
from typing import Any

import polars as pl

from pipeline.common.amounts import T_PLACES, Amount, AmountText, joined, span
from pipeline.indicators import cautions, questions, verdicts
from pipeline.indicators.base import periods
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.green_records import GreenRecords, green_records
from pipeline.indicators.base.green_season import Evidence, GreenFigures, GreenSeason, Indicator, Latest, Running, Work
from pipeline.indicators.base.records import Records
from pipeline.indicators.families import FAMILIES, judged
from pipeline.indicators.families import made as of_family
from pipeline.indicators.feeding import nutrients
from pipeline.indicators.feeding.nutrients import JOB
from pipeline.indicators.play import surface
from pipeline.indicators.soil import soil
from pipeline.indicators.weather import weather
from pipeline.indicators.works import dressing
from pipeline.plan.next import due_next
from pipeline.season import notes, own_records
from pipeline.workspace.settings import Season, Workspace
from schemas.codes import code_list
from schemas.construction import construction_words

EMPTY: Mapping[str, Any] = MappingProxyType({})


def indicators(records: GreenRecords) -> tuple[Indicator, ...]:
    """Every indicator of a green in a season, with verdict, target and standing, and the entries that question it."""
    return indicators_of(Asked.about([records]))[0]


def indicators_of(asked: Asked) -> dict[int, tuple[Indicator, ...]]:
    """The same of many greens and seasons, by their number."""
    made: dict[int, list[Indicator]] = {of: [] for of in asked.each}
    for family in FAMILIES:
        for one in of_family(family, asked):
            made[one.of].append(one)
    return {
        of: questions.marked(judged(verdicts.settled(made[of]), records), records) for of, records in asked.each.items()
    }


def green_figures(every: Records, green: str, season: Season, workspace: Workspace) -> GreenFigures:
    """The figures of one green and season with entries to check first and data notes, made from all records."""
    records = green_records(every, green, season, workspace)
    figures = indicators(records)
    return GreenFigures(
        green=green,
        **records.names,
        season=season.name,
        season_start=season.start,
        season_end=season.end,
        as_of=records.as_of,
        indicators=figures,
        questions=tuple(questions.questions(figures, records)),
        data_notes=tuple(notes.data_notes(records, every)),
        known_to=records.last_day,
        look=every.look,
    )


def green_season(
    every: Records, green: str, season: Season, workspace: Workspace, kept: Mapping[str, tuple[Indicator, ...]] = EMPTY
) -> GreenSeason:
    """Everything a condition report needs about one green in one season; ``kept`` are figures made before, by green."""
    return season_of_records(green_records(every, green, season, workspace), every, kept.get(green))


def season_of_records(records: GreenRecords, every: Records, kept: tuple[Indicator, ...] | None = None) -> GreenSeason:
    """The same from the green's own records, up to the day they are looked at."""
    season, green = records.season, str(records.green["green"])
    figures = indicators(records) if kept is None else kept
    jobs = records.in_season(records.counting.jobs)
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
        running=tuple(_running(records, figures)),
        series=(*soil.organic_matter_series(records), *surface.speed_series(records)),
        due=due_next(records),
        cautions=tuple(cautions.cautions(records)),
        currency=records.settings.currency,
        records=own_records.own_records(records),
        area_m2=records.area_m2,
        questions=tuple(questions.questions(figures, records)),
        log_begins=records.log_begins,
        known_to=records.last_day,
        latest=_latest(records),
        look=every.look,
    )
    return notes.with_notes(done, records, every)


def _running(records: GreenRecords, figures: tuple[Indicator, ...]) -> Iterator[Running]:
    """Running totals, each in question where the figure it comes to is, or a row may be missing from it."""
    for one, what in (
        (dressing.running(records), dressing.DRESSING),
        (nutrients.running(records), nutrients.NITROGEN.applied),
    ):
        asked = any(figure.name == what.name and figure.questioned for figure in figures)
        yield replace(one, questioned=one.rejected or asked)


def _latest(records: GreenRecords) -> Latest:
    last: dict[str, tuple[date | None, date | None]] = {}
    for kind in ("job", "soil_test"):
        rows = records.of(kind).sort(periods.LAST, maintain_order=True).tail(1)
        last[kind] = next(rows.select("date", "date_to").iter_rows(), (None, None))
    speed = records.of("green_speed")["date"].max()
    (job, job_to), (test, test_to) = last["job"], last["soil_test"]
    return Latest(job, test, speed if isinstance(speed, date) else None, job_to, test_to)


def _facts(records: GreenRecords) -> Iterator[tuple[str, str]]:
    green = records.green
    yield "Playing area", _area(green["area_m2"])
    if green["length_m"] and green["width_m"]:
        yield "Size", span(green["length_m"], green["width_m"], "m", "g", between=" × ")
    if green["shape"]:
        yield "Shape", code_list("green_shape")[green["shape"]].label
    if built := construction_words(green):
        yield "Construction", built
    if green["grasses"]:
        yield "Grasses", green["grasses"]
    if green["laid_on"]:
        yield "Laid", str(green["laid_on"].year)


def _area(area_m2: float | None) -> str:
    return AmountText(Amount(area_m2, "m²", ",.0f")) if area_m2 else "not recorded"


def _works(records: GreenRecords, jobs: pl.DataFrame) -> Iterator[Work]:
    order = {name: i for i, name in enumerate(code_list("operation"))}
    beside, dry = weather.in_words(records), _dry(records)
    jobs = jobs.with_columns(pl.col("operation").replace_strict(order).alias("place")).sort(
        "date", "place", "file", "line", maintain_order=True
    )
    for row in jobs.iter_rows(named=True):
        dry_t, code = dry.get(tuple(row[name] for name in JOB)), code_list("operation")[row["operation"]]
        beside_it = () if dry_t is None else (" (", Amount(dry_t, "t", ".3g", carries=T_PLACES), " dry)")
        yield Work(
            date=row["date"],
            operation=code.label,
            detail=_detail(row),
            amount=AmountText(_amount(row), *beside_it),
            hours=row["hours"],
            cost=row["cost"],
            evidence=Evidence(row["file"], row["line"], "job", row["load_id"]),
            weather="" if row["date_to"] else beside.get(row["date"], ""),
            date_to=row["date_to"],
            code=code.name,
            material=row["material"] or "",
            given=_given(row),
            dry_t=dry_t,
        )


def _dry(records: GreenRecords) -> dict[tuple[Any, ...], float]:
    """Dry mass of a dressing whose moisture is known, t: it stands beside the amount, and the figures count it."""
    rows = dressing.dressings(records.counting).filter("dried").drop_nulls("dry_kg")
    return {
        tuple(row[name] for name in JOB): row["dry_kg"] / 1000
        for row in rows.iter_rows(named=True)
        if f"{row['dry_kg']:.3g}" != f"{row['given_kg']:.3g}"
    }


HOW = (
    ("depth_mm", "", "mm", ".3g", " deep"),
    ("tine_mm", "", "mm", ".3g", " tines"),
    ("spacing_along_mm", "at ", "mm", ".3g", ""),
    ("holes", "", "", ",.0f", " holes"),
    ("blade_mm", "", "mm", ".3g", " blades"),
    ("cut_height_mm", "cut at ", "mm", ".3g", ""),
    ("debris_l", "", "l", ",.0f", " off"),
    ("debris_kg", "", "kg", ",.0f", " off"),
)
"""What a job says of how it was done: field, words before, unit, format, words after."""
HOW_MUCH = (
    ("mass_kg", "kg", ",.4g"),
    ("volume_l", "l", ",.4g"),
    ("packs", "packs", "g"),
    ("rate_g_m2", "g/m²", "g"),
    ("rate_ml_m2", "ml/m²", "g"),
)
"""What a job says of how much, the best first: field, unit, format."""


def _detail(row: dict[str, Any]) -> str:
    parts = [row["material"]] if row["material"] else []
    if row["passes"] is not None:
        parts.append("1 pass" if row["passes"] == 1 else f"{row['passes']:g} passes")
    for name, before, unit, form, after in HOW:
        if row[name] is not None:
            parts.append(AmountText(before, Amount(row[name], unit, form, bare=not unit), after))
    return joined(", ", parts)


def _amount(row: dict[str, Any]) -> str:
    for name, unit, form in HOW_MUCH:
        value = row[name]
        if isinstance(value, float):
            if name == "mass_kg" and value >= 1000:
                return AmountText(Amount(value / 1000, "t", ".3g", carries=T_PLACES))
            return AmountText(Amount(value, unit, form))
    return ""


def _given(row: dict[str, Any]) -> Amount | None:
    """What was put on, or else taken off, the best of what the job says; None where it gives no amount."""
    fields = (*((name, unit) for name, unit, _ in HOW_MUCH), ("debris_l", "l"), ("debris_kg", "kg"))
    return next((Amount(row[name], unit) for name, unit in fields if isinstance(row[name], float)), None)
