"""The caution about plant protection products: what the record lacks. Never a word on product or dose."""

from __future__ import annotations

import polars as pl

from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Caution
from pipeline.indicators.cautions.trigger import caution

ASKED: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("product", ("material",)),
    ("amount", ("mass_kg", "volume_l", "packs", "rate_g_m2", "rate_ml_m2")),
    ("area treated", ("treated_area_m2",)),
    ("operator", ("logged_by",)),
    ("reason", ("note",)),
)
"""What a record should say, and the fields of a job that may say it; one of them is enough. Product, time, dose, area
and crop: Regulation (EC) No 1107/2009, Article 67(1). Operator and reason: common practice, no source."""
SOURCE = (
    "Regulation (EC) No 1107/2009, Article 67(1); in Great Britain with the Plant Protection Products Regulations 2011"
)


def protection_jobs(records: GreenRecords) -> pl.DataFrame:
    """The season's applications of plant protection products (grain: job)."""
    jobs = records.in_season(records.jobs)
    products = records.applications.filter(pl.col("sort") == "plant_protection")["material"]
    return jobs.filter(
        (pl.col("operation") == "plant_protection") | pl.col("material").is_in(products.unique().implode())
    )


def records_kept(records: GreenRecords) -> Caution | None:
    """Applications of plant protection products, with the fields of the record left blank."""
    rows = protection_jobs(records)
    blank = [what for what, fields in ASKED if rows.filter(pl.all_horizontal(pl.col(*fields).is_null())).height]
    text = (
        "Plant protection products: only by a certificated user, by the label. Product, time, dose, area, crop and "
        "operator belong on record; the log has no time of day, so keep the spray sheet. This report gives no "
        "advice on product or dose."
    )
    lacking = f"left blank: {', '.join(blank)}" if blank else "no field of the log left blank"
    brief = "Plant protection: certificated users only, by the label; keep the full spray sheet."
    return caution(text, SOURCE, rows, lacking, brief=brief, by="Regulation (EC) 1107/2009")
