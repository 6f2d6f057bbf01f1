"""Nitrogen by the way it is released: shares, the quick doses, and what stated release times leave to come."""

from __future__ import annotations

import math
from collections.abc import Iterator

import polars as pl

from pipeline.agronomy.soil import nutrients as formula
from pipeline.common.amounts import Amount, AmountText
from pipeline.common.words import long_date
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import Description, Family
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import lacking
from pipeline.indicators.base.rows import Row, Rows
from pipeline.indicators.base.shares import largest_dose
from pipeline.indicators.feeding.nutrients import ONE_DOSE, fed
from schemas.codes import code_list

SLOW_SHARE = {"quick": 0.0, "slow": 1.0, "organic": 1.0}
"""Share of the nitrogen that is not at hand at once, by class, where the label gives no figure of its own."""

SLOW = Description(
    "nitrogen_slow_pct", "Nitrogen of slow release", "%", "nutrients",
    "Share of the season's nitrogen that is not at hand at once.",
    "n_slow_pct over n_pct where the label gives it, else by n_release: slow and organic all, quick none. Feeds that "
    "do not say are left out.", decimals=0,
)  # fmt: skip
RELEASED_AS = Description(
    "nitrogen_released_as_kg_ha", "Nitrogen", "kg/ha", "nutrients", "Nitrogen by class of release.",
    "As above; a blend counts in both parts.", band="class of release", decimals=0,
    formulas=(formula.nutrient_g_m2, formula.element_from_oxide, formula.kg_ha), accumulates=True,
)  # fmt: skip
QUICK_DOSE = Description(
    "nitrogen_quick_dose_g_m2", "Largest single dose of quick nitrogen", "g/m²", "nutrients",
    "The most at once of what the published limit speaks of.",
    "Largest sum of one day of nitrogen not slow, on the area it fell on.",
    formulas=(formula.nutrient_g_m2, formula.over_single_dose_g_m2), targets=ONE_DOSE,
)  # fmt: skip
TO_COME = Description(
    "nitrogen_to_come_kg_ha", "Nitrogen still to be released", "kg/ha", "nutrients",
    "What the stated release times leave to come after the last day counted.",
    "Released evenly over release_weeks; real release follows warmth and moisture.", decimals=0,
    formulas=(formula.nutrient_g_m2, formula.released_g_m2), beyond_season=True,
)  # fmt: skip


def release(asked: Asked) -> Iterator[Indicator]:
    """Nitrogen of the seasons by class of release, its largest quick dose, and what is still to come."""
    fallen = _by_class(asked.so_far(asked.once(fed))).filter(pl.col("nitrogen_dose") > 0)
    for fed_so_far in asked.each_season(fallen, "job", *OF_RELEASE):
        records = asked.each[fed_so_far.of]
        season = fed_so_far.since(records.season.start)
        yield from _shares(season.given("nitrogen"))
        yield from _quick(season)
        yield from _to_come(records, fed_so_far.given("nitrogen"))


OF_RELEASE = ("date", "material", "share", "nitrogen", "nitrogen_dose", "slow", "slow_class", "release_weeks")


def _by_class(rows: pl.DataFrame) -> pl.DataFrame:
    """What was fed with ``slow`` (share of its nitrogen, null where nobody says) and ``slow_class``."""
    told = pl.when(pl.col("n_slow_pct") <= pl.col("n_pct")).then(pl.col("n_slow_pct") / pl.col("n_pct"))
    classed = pl.col("n_release").replace_strict(SLOW_SHARE, default=None, return_dtype=pl.Float64)
    organic = pl.col("n_release") == "organic"
    return rows.with_columns(
        pl.coalesce(told, classed).alias("slow"),
        pl.when(organic).then(pl.lit("organic")).otherwise(pl.lit("slow")).alias("slow_class"),
    )


def _shares(season: Rows) -> Iterator[Indicator]:
    known = season.given("slow")
    if not known:
        return
    note = lacking(season, known, "feeds do not say how their nitrogen is released; left out.")
    yield SLOW.figure(
        100 * _grams(known, slow=True) / known.total("nitrogen"),
        known,
        note=note,
        method="Slow and organic nitrogen over all; by the label's figure where it gives one, else by the class.",
    )
    for name, code in code_list("nitrogen_release").items():
        slow = name != "quick"
        of_class = known.having("slow_class", name) if slow else known
        of_class = of_class.these([row for row in of_class if row["nitrogen"] * _part(row, slow=slow) > 0])
        if of_class:
            how = "Nitrogen applied, by the class of release; a blend counts in both parts."
            value = formula.kg_ha(_grams(of_class, slow=slow))
            yield RELEASED_AS.figure(value, of_class, band=code.label, note=note, method=how)


def _part(row: Row, *, slow: bool) -> float:
    """Share of a feed's nitrogen that is slow, or that is not."""
    return float(row["slow"] if slow else 1 - row["slow"])


def _grams(feeds: Rows, *, slow: bool) -> float:
    """Nitrogen of feeds that is slow, or that is not, g/m²."""
    return math.fsum(row["nitrogen"] * _part(row, slow=slow) for row in feeds)


def _quick(season: Rows) -> Iterator[Indicator]:
    """The largest sum of quick nitrogen of one day, and how far it lies beyond the published limit for lawns."""
    known = season.given("slow").where(lambda row: row["slow"] < 1)
    if not known:
        return
    quick = [{**row, "quick_g": row["nitrogen_dose"] * _part(row, slow=False)} for row in known]
    day, dose = largest_dose(quick, "quick_g")
    over = formula.over_single_dose_g_m2(dose)
    limit = Amount(formula.SOLUBLE_N_LIMIT_G_M2, "g/m²", ".1f")
    beyond = AmountText(" ", Amount(over, "g/m²", ".1f"), " beyond the ", limit, " of lawns.") if over else ""
    yield QUICK_DOSE.figure(
        dose,
        known.having("date", day),
        n=len(known),
        note=AmountText(f"On {long_date(day)}.", beyond),
        method="Largest sum of one day of the nitrogen that is not slow, on the area it fell on; parts under one "
        "feed lie side by side, and on each other once the green is full. Feeds of unknown release left out.",
    )


def _to_come(records: GreenRecords, every: Rows) -> Iterator[Indicator]:
    """Nitrogen that the stated release times leave to come after the last day looked at."""

    def weeks(row: Row) -> float:
        return float((records.as_of - row["date"]).days / 7)

    said = every.where(lambda row: (row["release_weeks"] or 0.0) > 0)
    rows = said.where(lambda row: row["date"] >= records.season.start or weeks(row) < row["release_weeks"])
    if not rows:
        return
    left = (row["nitrogen"] - formula.released_g_m2(row["nitrogen"], weeks(row), row["release_weeks"]) for row in rows)
    yield TO_COME.figure(
        formula.kg_ha(math.fsum(left)),
        rows,
        note=f"On {long_date(records.as_of)}.",
        method="Nitrogen of feeds whose stated release time is not over, released evenly over it; real release follows "
        "warmth and moisture.",
    )


FAMILY = Family((SLOW, RELEASED_AS, QUICK_DOSE, TO_COME), release)
