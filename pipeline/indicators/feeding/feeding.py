"""Nitrogen released against what warmth would let the grass use: information, never a requirement."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import polars as pl

from pipeline.agronomy.soil.nutrients import nutrient_g_m2, released_g_m2
from pipeline.agronomy.weather import growth_potential, nitrogen_ceiling_g_m2
from pipeline.common.amounts import Amount, AmountText, joined, span
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import Description, Family, one_by_one
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import GreenRecords, lacking
from pipeline.indicators.feeding.nutrients import fed
from pipeline.indicators.weather.growth import BY_MONTH, curve_in_words
from pipeline.indicators.weather.weather import daily

MONTHLY_MOST_G_M2 = 5.0
"""Nitrogen of a month of full growth, g/m²: the published maximum of a demand map (1 lb/1000 ft²; PACE Turf)."""
FEWEST_DAYS = 25
"""Days of temperature a month must have for its growth to be told: common practice, no source."""
COMPARED = (
    "Information only: 76 golf courses were found to use about 27 % of what this model allows (Bekken & Soldat 2022), "
    "so it asks for nothing."
)
"""Nitrogen efficiency score 0.27: Bekken & Soldat 2022, Quantifying golf course nitrogen use efficiency, Grassland
Research 1(3):174–186, doi 10.1002/glr2.12024, abstract."""

_FORMULAS = (nutrient_g_m2, released_g_m2, growth_potential, nitrogen_ceiling_g_m2)
OF_GROWTH = Description(
    "nitrogen_of_growth_pct", "Nitrogen against what warmth allows", "%", "nutrients",
    "Nitrogen released as a share of what growth by temperature would allow; information only.",
    "Nitrogen spread evenly over the stated release time (release_weeks), over the season's border too; on the day it "
    "was put on where none is stated. "
    f"Over growth potential × {MONTHLY_MOST_G_M2:g} g/m² a month, months with at least {FEWEST_DAYS} days of "
    "temperature.", decimals=0, formulas=_FORMULAS,
)  # fmt: skip
OF_GROWTH_MONTH = Description(
    "nitrogen_of_growth_month_pct", OF_GROWTH.label, "%", "nutrients", "The same month by month.", "As above.",
    band="month", decimals=0, formulas=_FORMULAS, monthly=True,
)  # fmt: skip


def warm_months(records: GreenRecords) -> pl.DataFrame:
    """Months with enough weather: ``growth`` (mean of days), and ``allowed`` in g/m² (grain: month)."""
    days = Asked.about([records]).once(daily).drop_nulls("growth").group_by(BY_MONTH, maintain_order=True)
    warm = days.agg(pl.col("growth").mean(), pl.len().alias("days")).filter(pl.col("days") >= FEWEST_DAYS)
    return warm.with_columns(nitrogen_ceiling_g_m2(pl.col("growth"), MONTHLY_MOST_G_M2).alias("allowed")).sort(
        "month", maintain_order=True
    )


def feeding(records: GreenRecords) -> Iterator[Indicator]:
    """Nitrogen released as a share of what growth would allow, in all and month by month (grain: indicator).

    What a feed releases in months without enough weather stands in neither of the two.
    """
    every = warm_months(records)
    if not every.height or not records.in_season(records.jobs).height:
        return
    feeds = fed(records).filter((pl.col("date") <= records.as_of) & (pl.col("nitrogen") > 0))
    bands = [("", every), *((f"{part['month'][0]:%B %Y}", part) for part in every.partition_by("month"))]
    for band, part in bands:
        months = [(day, _month_after(day)) for day in part["month"]]
        released = pl.sum_horizontal([_released(first, after) for first, after in months])
        behind = feeds.with_columns(released.alias("released")).filter(pl.col("released") > 0)
        allowed, given = float(part["allowed"].sum()), float(behind["released"].sum())
        yield (OF_GROWTH_MONTH if band else OF_GROWTH).figure(
            100 * given / allowed if allowed else None,
            behind,
            band=band,
            note=joined(" ", list(filter(None, _notes(given, allowed, behind, records, whole=not band)))),
            method="Nitrogen, spread evenly over the stated release time of its feed, over growth potential × "
            f"{MONTHLY_MOST_G_M2:g} g/m² a month; mean of daily growth potentials ({curve_in_words(records)}), months "
            f"with at least {FEWEST_DAYS} days of temperature.",
        )


def _released(first: date, after: date) -> pl.Expr:
    """Nitrogen in g/m² that each feed releases from a day up to another; on its own day where no time is stated."""
    weeks = pl.col("release_weeks")
    evenly = [
        released_g_m2(
            pl.col("nitrogen"),
            pl.max_horizontal((pl.lit(day) - pl.col("date")).dt.total_days() / 7, pl.lit(0.0)),
            pl.when(weeks > 0).then(weeks),
        )
        for day in (first, after)
    ]
    at_once = pl.when(pl.col("date").is_between(first, after, closed="left")).then(pl.col("nitrogen")).otherwise(0.0)
    return pl.when(weeks > 0).then(evenly[1] - evenly[0]).otherwise(at_once)


def _month_after(day: date) -> date:
    return date(day.year + day.month // 12, day.month % 12 + 1, 1)


def _notes(given: float, allowed: float, behind: pl.DataFrame, records: GreenRecords, *, whole: bool) -> Iterator[str]:
    """Both amounts; what of it was put on before the season; which feeds state no time; that it asks for nothing."""
    yield AmountText(span(given, allowed, "g/m²", ".1f", between=" of "), ".")
    before = float(behind.filter(pl.col("date") < records.season.start)["released"].sum())
    if whole and before > 0:
        yield AmountText(Amount(before, "g/m²", ".1f"), " of it by feeds of the season before.")
    said = behind.filter(pl.col("release_weeks") > 0)
    yield lacking(behind, said, "feeds state no release time: set whole on their day.")
    if whole:
        yield COMPARED


FAMILY = Family((OF_GROWTH, OF_GROWTH_MONTH), one_by_one(feeding))
