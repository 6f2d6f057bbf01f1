"""Nitrogen against what warmth would let the grass use: information beside the feeding, never a requirement."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import polars as pl

from pipeline.agronomy.soil.nutrients import nutrient_g_m2
from pipeline.agronomy.weather import growth_potential, nitrogen_ceiling_g_m2
from pipeline.common.amounts import AmountText, span
from pipeline.indicators.base.description import Description, Family
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import GreenRecords
from pipeline.indicators.base.standing import evidence
from pipeline.indicators.feeding.nutrients import fed
from pipeline.indicators.weather.growth import curve_in_words
from pipeline.indicators.weather.weather import daily

MONTHLY_MOST_G_M2 = 5.0
"""Nitrogen of a month of full growth, g/m²: the published maximum of a demand map (1 lb/1000 ft²; paceturf.org)."""
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


def months(records: GreenRecords) -> pl.DataFrame:
    """Months with enough weather: ``growth`` (mean of days), ``allowed`` and ``given`` in g/m² (grain: month)."""
    days = daily(records).filter(pl.col("growth").is_not_null())
    warm = days.group_by(pl.col("date").dt.truncate("1mo").alias("month"), maintain_order=True).agg(
        pl.col("growth").mean(), pl.len().alias("days")
    )
    warm = warm.filter(pl.col("days") >= FEWEST_DAYS).with_columns(
        nitrogen_ceiling_g_m2(pl.col("growth"), MONTHLY_MOST_G_M2).alias("allowed")
    )
    feeds = records.in_season(fed(records)).filter(pl.col("nitrogen").is_not_null())
    given = feeds.group_by(pl.col("date").dt.truncate("1mo").alias("month"), maintain_order=True).agg(
        pl.col("nitrogen").sum().alias("given")
    )
    return (
        warm.join(given, on="month", how="left", maintain_order="left")
        .with_columns(pl.col("given").fill_null(0.0))
        .sort("month", maintain_order=True)
    )


def feeding(records: GreenRecords) -> list[Indicator]:
    """Nitrogen put on as a share of what growth would allow, in all and month by month (grain: indicator)."""
    every = months(records)
    if not every.height or not records.in_season(records.jobs).height:
        return []
    return list(_figures(records, every))


def _figures(records: GreenRecords, every: pl.DataFrame) -> Iterator[Indicator]:
    feeds = records.in_season(fed(records)).filter(pl.col("nitrogen").is_not_null())
    months_of_feeds = feeds.with_columns(pl.col("date").dt.truncate("1mo").alias("month"))
    for band, part in [("", every), *((_month(row["month"]), every.filter(pl.col("month") == row["month"]))
                                      for row in every.iter_rows(named=True))]:  # fmt: skip
        allowed, given = float(part["allowed"].sum()), float(part["given"].sum())
        behind = months_of_feeds.filter(pl.col("month").is_in(part["month"].implode()))
        yield (OF_GROWTH_MONTH if band else OF_GROWTH).figure(
            100 * given / allowed if allowed else None,
            behind.height,
            band=band,
            note=AmountText(span(given, allowed, "g/m²", ".1f", between=" of "), ". " + COMPARED if not band else "."),
            method=(
                f"Nitrogen put on over growth potential × {MONTHLY_MOST_G_M2:g} g/m² a month; mean of daily growth "
                f"potentials ({curve_in_words(records)}), months with at least {FEWEST_DAYS} days of temperature."
            ),
            evidence=evidence(behind, "job"),
        )


def _month(day: date) -> str:
    return f"{day:%B %Y}"


FAMILY = Family((OF_GROWTH, OF_GROWTH_MONTH), feeding)
