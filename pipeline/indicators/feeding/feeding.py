"""Nitrogen against what warmth would let the grass use: information beside the feeding, never a requirement."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from pipeline.agronomy.soil.nutrients import nutrient_g_m2
from pipeline.agronomy.weather import growth_potential, nitrogen_ceiling_g_m2
from pipeline.common.amounts import AmountText, span
from pipeline.indicators.base.description import Description, Family
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import GreenRecords
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

_FORMULAS = (nutrient_g_m2, growth_potential, nitrogen_ceiling_g_m2)
OF_GROWTH = Description(
    "nitrogen_of_growth_pct", "Nitrogen against what warmth allows", "%", "nutrients",
    "Nitrogen put on as a share of what growth by temperature would allow; information only.",
    f"Over growth potential × {MONTHLY_MOST_G_M2:g} g/m² a month, months with at least {FEWEST_DAYS} days of "
    "temperature.", decimals=0, formulas=_FORMULAS,
)  # fmt: skip
OF_GROWTH_MONTH = Description(
    "nitrogen_of_growth_month_pct", OF_GROWTH.label, "%", "nutrients", "The same month by month.", "As above.",
    band="month", decimals=0, formulas=_FORMULAS, monthly=True,
)  # fmt: skip


def warm_months(records: GreenRecords) -> pl.DataFrame:
    """Months with enough weather: ``growth`` (mean of days), and ``allowed`` in g/m² (grain: month)."""
    days = daily(records).drop_nulls("growth").group_by(BY_MONTH, maintain_order=True)
    warm = days.agg(pl.col("growth").mean(), pl.len().alias("days")).filter(pl.col("days") >= FEWEST_DAYS)
    return warm.with_columns(nitrogen_ceiling_g_m2(pl.col("growth"), MONTHLY_MOST_G_M2).alias("allowed")).sort(
        "month", maintain_order=True
    )


def feeding(records: GreenRecords) -> Iterator[Indicator]:
    """Nitrogen put on as a share of what growth would allow, in all and month by month (grain: indicator)."""
    every = warm_months(records)
    if not every.height or not records.in_season(records.jobs).height:
        return
    feeds = records.in_season(fed(records)).drop_nulls("nitrogen").with_columns(BY_MONTH)
    bands = [("", every), *((f"{part['month'][0]:%B %Y}", part) for part in every.partition_by("month"))]
    for band, part in bands:
        behind = feeds.filter(pl.col("month").is_in(part["month"].implode()))
        allowed, given = float(part["allowed"].sum()), float(behind["nitrogen"].sum())
        yield (OF_GROWTH_MONTH if band else OF_GROWTH).figure(
            100 * given / allowed if allowed else None,
            behind,
            band=band,
            note=AmountText(span(given, allowed, "g/m²", ".1f", between=" of "), ". " + COMPARED if not band else "."),
            method=f"Nitrogen put on over growth potential × {MONTHLY_MOST_G_M2:g} g/m² a month; mean of daily growth "
            f"potentials ({curve_in_words(records)}), months with at least {FEWEST_DAYS} days of temperature.",
        )


FAMILY = Family((OF_GROWTH, OF_GROWTH_MONTH), feeding)
