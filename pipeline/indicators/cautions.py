"""Cautions whose trigger stands in the season's records, each with its source or "common practice"."""

from __future__ import annotations

from collections.abc import Callable

import polars as pl

from pipeline.agronomy.work import vibration_points
from pipeline.indicators.record import Caution
from pipeline.indicators.records import GreenRecords
from pipeline.words import counted, long_date

HEAVY_PACK_KG = 20
"""Packs from this mass on are named for handling: common practice, no source."""


def cautions(records: GreenRecords) -> list[Caution]:
    """Every caution the season's jobs give reason for."""
    jobs = records.in_season(records.jobs)
    put_on = records.in_season(records.applications)
    return [one for rule in _RULES if (one := rule(jobs, put_on)) is not None]


Rule = Callable[[pl.DataFrame, pl.DataFrame], Caution | None]


def _times(rows: pl.DataFrame, one: str, many: str = "") -> str:
    return f"{counted(rows.height, one, many)} this season"


def _iron(_jobs: pl.DataFrame, put_on: pl.DataFrame) -> Caution | None:
    rows = put_on.filter(pl.col("fe_pct") > 0)
    text = (
        "Iron stains paving, stone and footwear: sweep it off hard surfaces, keep it out of drains and off wet shoes."
    )
    source = "common practice, no source"
    return Caution(text, source, _times(rows, "feed with iron", "feeds with iron")) if rows.height else None


def _sand(_jobs: pl.DataFrame, put_on: pl.DataFrame) -> Caution | None:
    rows = put_on.filter((pl.col("sort") == "top_dressing") | (pl.col("operation") == "top_dressing"))
    text = (
        "Dry sand dressing raises respirable silica dust: keep it damp, stay upwind, use breathing protection as the "
        "site's own assessment says."
    )
    source = "workplace exposure limit 0.1 mg/m³ over 8 h for respirable crystalline silica (UK)"
    return Caution(text, source, _times(rows, "dressing")) if rows.height else None


def _services(jobs: pl.DataFrame, _put_on: pl.DataFrame) -> Caution | None:
    rows = jobs.filter((pl.col("operation") == "deep_aeration") | (pl.col("depth_mm") >= 150))
    text = (
        "Before deep tining, find irrigation pipes, drains and cables: plans are unreliable, scan, and beware of "
        "plastic pipes that a scan does not show."
    )
    source = "trade guidance; HSE HSG47 (named from memory)"
    return Caution(text, source, _times(rows, "deep working")) if rows.height else None


def _vibration(jobs: pl.DataFrame, _put_on: pl.DataFrame) -> Caution | None:
    rows = jobs.filter(pl.col("vibration_m_s2").is_not_null() & pl.col("trigger_hours").is_not_null())
    if not rows.height:
        return None
    points = rows.with_columns(vibration_points(pl.col("vibration_m_s2"), pl.col("trigger_hours")).alias("points"))
    days = points.group_by("date", "logged_by").agg(pl.col("points").sum()).sort("points", "date")
    day, most = days.select("date", "points").row(-1)
    text = (
        f"Hand-arm vibration: the work logged on this green came to {most:.0f} points for one person on "
        f"{long_date(day)}, other greens of that day not counted; 100 points a day call for action, 400 are the limit. "
        "Makers' figures can be lower than real use."
    )
    return Caution(
        text,
        "Control of Vibration at Work Regulations 2005 (UK): points = 2 a² t",
        _times(rows, "job with a vibration figure", "jobs with a vibration figure"),
    )


def _water(_jobs: pl.DataFrame, put_on: pl.DataFrame) -> Caution | None:
    rows = put_on.filter((pl.col("n_pct") > 0) | (pl.col("p_pct") > 0))
    text = (
        "Keep fertiliser off ditches, drains and watercourses, and do not spread before heavy rain or on frozen "
        "ground. Nitrate rules may apply: check locally; the label decides."
    )
    return (
        Caution(text, "gov.uk guidance on nitrogen fertilisers in nitrate vulnerable zones", _times(rows, "feed"))
        if rows.height
        else None
    )


def _protection(jobs: pl.DataFrame, _put_on: pl.DataFrame) -> Caution | None:
    rows = jobs.filter(pl.col("operation") == "plant_protection")
    text = (
        "Plant protection products: only by a certificated user, by the label, with name, time, dose and area on "
        "record. This report gives no product and no rate."
    )
    return (
        Caution(text, "Plant Protection Products (Sustainable Use) Regulations 2012 (UK)", _times(rows, "application"))
        if rows.height
        else None
    )


def _handling(_jobs: pl.DataFrame, put_on: pl.DataFrame) -> Caution | None:
    rows = put_on.filter(pl.col("pack_kg") >= HEAVY_PACK_KG)
    text = "Bags of 20 kg and more: lift with two, or use a truck; store them low and dry."
    source = "common practice, no source"
    return Caution(text, source, _times(rows, "job with heavy bags", "jobs with heavy bags")) if rows.height else None


def _machines(jobs: pl.DataFrame, _put_on: pl.DataFrame) -> Caution | None:
    machines = ["scarifying", "verticutting", "solid_tining", "hollow_coring", "deep_aeration", "slitting"]
    rows = jobs.filter(pl.col("operation").is_in(machines))
    text = "Keep members and the public off the green while machines work and until surfaces are swept and drag-matted."
    return (
        Caution(
            text, "common practice, no source", _times(rows, "job with powered machines", "jobs with powered machines")
        )
        if rows.height
        else None
    )


_RULES: tuple[Rule, ...] = (_iron, _sand, _services, _vibration, _water, _protection, _handling, _machines)
