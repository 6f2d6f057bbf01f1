"""Nitrogen by the way it is released: shares, the quick doses, and what stated release times leave to come."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from pipeline.agronomy.soil import nutrients as formula
from pipeline.common.amounts import Amount, AmountText
from pipeline.common.words import long_date
from pipeline.indicators.base.description import Description, Family, one_by_one
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import GreenRecords, lacking
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
    formulas=(formula.nutrient_g_m2, formula.released_g_m2),
)  # fmt: skip


def release(records: GreenRecords) -> list[Indicator]:
    """Nitrogen of the season by class of release, its largest quick dose, and what is still to come."""
    fallen = _by_class(fed(records)).filter(pl.col("nitrogen_dose") > 0)
    every = fallen.drop_nulls("nitrogen")
    return [*_shares(records.in_season(every)), *_quick(records.in_season(fallen)), *_to_come(records, every)]


def _by_class(rows: pl.DataFrame) -> pl.DataFrame:
    """What was fed with ``slow`` (share of its nitrogen, null where nobody says) and ``slow_class``."""
    told = pl.when(pl.col("n_slow_pct") <= pl.col("n_pct")).then(pl.col("n_slow_pct") / pl.col("n_pct"))
    classed = pl.col("n_release").replace_strict(SLOW_SHARE, default=None, return_dtype=pl.Float64)
    organic = pl.col("n_release") == "organic"
    return rows.with_columns(
        pl.coalesce(told, classed).alias("slow"),
        pl.when(organic).then(pl.lit("organic")).otherwise(pl.lit("slow")).alias("slow_class"),
    )


def _shares(season: pl.DataFrame) -> Iterator[Indicator]:
    known = season.drop_nulls("slow")
    if not known.height:
        return
    parts = known.with_columns(
        (pl.col("nitrogen") * pl.col("slow")).alias("slow_g"),
        (pl.col("nitrogen") * (1 - pl.col("slow"))).alias("quick_g"),
    )
    note = lacking(season, known, "feeds do not say how their nitrogen is released; left out.")
    yield SLOW.figure(
        100 * float(parts["slow_g"].sum()) / float(parts["nitrogen"].sum()),
        known,
        note=note,
        method="Slow and organic nitrogen over all; by the label's figure where it gives one, else by the class.",
    )
    for name, code in code_list("nitrogen_release").items():
        if name == "quick":
            of_class, column = parts.filter(pl.col("quick_g") > 0), "quick_g"
        else:
            of_class, column = parts.filter((pl.col("slow_g") > 0) & (pl.col("slow_class") == name)), "slow_g"
        if of_class.height:
            how = "Nitrogen applied, by the class of release; a blend counts in both parts."
            value = formula.kg_ha(float(of_class[column].sum()))
            yield RELEASED_AS.figure(value, of_class, band=code.label, note=note, method=how)


def _quick(season: pl.DataFrame) -> Iterator[Indicator]:
    """The largest sum of quick nitrogen of one day, and how far it lies beyond the published limit for lawns."""
    known = season.filter(pl.col("slow") < 1)
    if not known.height:
        return
    quick = known.with_columns((pl.col("nitrogen_dose") * (1 - pl.col("slow"))).alias("quick_g"))
    day, dose = largest_dose(quick, "quick_g")
    over = formula.over_single_dose_g_m2(dose)
    limit = Amount(formula.SOLUBLE_N_LIMIT_G_M2, "g/m²", ".1f")
    beyond = AmountText(" ", Amount(over, "g/m²", ".1f"), " beyond the ", limit, " of lawns.") if over else ""
    yield QUICK_DOSE.figure(
        dose,
        known.filter(pl.col("date") == day),
        n=known.height,
        note=AmountText(f"On {long_date(day)}.", beyond),
        method="Largest sum of one day of the nitrogen that is not slow, on the area it fell on; parts under one "
        "feed lie side by side, and on each other once the green is full. Feeds of unknown release left out.",
    )


def _to_come(records: GreenRecords, every: pl.DataFrame) -> Iterator[Indicator]:
    """Nitrogen that the stated release times leave to come after the last day looked at."""
    said = every.filter((pl.col("release_weeks") > 0) & (pl.col("date") <= records.as_of))
    weeks = (pl.lit(records.as_of) - pl.col("date")).dt.total_days() / 7
    in_season = pl.col("date").is_between(records.season.start, records.as_of)
    rows = said.filter(in_season | (weeks < pl.col("release_weeks")))
    if not rows.height:
        return
    given = formula.released_g_m2(pl.col("nitrogen"), weeks, pl.col("release_weeks"))
    left = float(rows.select((pl.col("nitrogen") - given).sum()).item())
    yield TO_COME.figure(
        formula.kg_ha(left),
        rows,
        note=f"On {long_date(records.as_of)}.",
        method="Nitrogen of feeds whose stated release time is not over, released evenly over it; real release follows "
        "warmth and moisture.",
    )


FAMILY = Family((SLOW, RELEASED_AS, QUICK_DOSE, TO_COME), one_by_one(release))
