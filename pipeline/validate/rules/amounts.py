"""Rules for what was put on: amounts of one job that contradict each other, and doses far too small."""

from __future__ import annotations

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.store.register import Register
from pipeline.validate.rules.places import with_green

AMOUNTS_APART = FaultKind(
    "amount.apart",
    "Two amounts of one job contradict each other",
    "{value} ({column}) and {other} are not the same amount; {counted} is counted.",
    "Check both, the pack in the register of materials and the treated area; correct the one that is wrong, or leave "
    "it blank, and load the file again (up to 5 % apart is taken as rounding: common practice, no source).",
    severity="warning",
)
DOSE_LOW = FaultKind(
    "dose.low",
    "Very small dose of a fertiliser",
    "{value} over {area} m² is {dose} of product, far below what feeds a green{reading}.",
    "Check the figure and its unit, and the treated area if only a part was treated; correct the file and load it "
    "again if it is wrong (a fertiliser is asked about below {least}: common practice, no source).",
    severity="warning",
)
ROUNDING = 0.05
"""Share of the larger by which two amounts of one job may differ: common practice, no source."""
LEAST_DOSE = 0.1
"""g/m² or ml/m² of a fertiliser below which a dose is asked about; a foliar feed is ten times as much (common practice,
no source)."""
USUAL_RATE = (1.0, 100.0)
"""g/m² or ml/m² of a fertiliser within which a figure may have been meant as a rate (common practice, no source)."""
SORTS = (("kg", "g", "mass_kg", "pack_kg", "rate_g_m2"), ("l", "ml", "volume_l", "pack_l", "rate_ml_m2"))
"""Of masses and volumes: unit, a thousandth of it, and the fields that give an amount, the one that counts first."""


def check(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Warnings of amounts of one job that differ, and of fertiliser far too thin to be meant."""
    given = records.filter(pl.any_horizontal(pl.col("mass_kg", "volume_l", "packs", "rate_g_m2", "rate_ml_m2") > 0))
    if given.is_empty():
        return no_faults()
    placed = register.joined(with_green(given, register), "material", ("sort", "pack_kg", "pack_l"))
    placed = placed.with_columns(pl.coalesce("treated_area_m2", "area_m2").alias("area"))
    return concat([part for names in SORTS for part in (_apart(placed, *names), _low(placed, *names))])


def _amounts(total: str, pack: str, rate: str) -> dict[str, pl.Expr]:
    """What each field comes to in kg or l, the one that counts first."""
    return {
        total: pl.col(total),
        "packs": pl.col("packs") * pl.col(pack),
        rate: pl.col(rate) * pl.col("area") / 1000,
    }


def _apart(placed: pl.DataFrame, unit: str, small: str, total: str, pack: str, rate: str) -> pl.DataFrame:
    amounts = _amounts(total, pack, rate)
    faults = []
    pairs = [(one, other) for n, one in enumerate(amounts) for other in list(amounts)[n + 1 :]]
    for one, other in pairs:
        first, second = amounts[one], amounts[other]
        apart = (first - second).abs() > ROUNDING * pl.max_horizontal(first, second)
        rows = placed.filter(apart).with_columns(first.alias("first"), second.alias("second"))
        for row in rows.iter_rows(named=True):
            shown = _shown(row, other, row["second"], unit, small)
            met = _shown(row, one, row["first"], unit, small)
            faults.append(AMOUNTS_APART.at(row["line"], shown, other, other=f"{met} ({one})", counted=met))
    return concat(faults)


def _shown(row: dict[str, object], name: str, amount: float, unit: str, small: str) -> str:
    """An amount as its field gives it, and what it comes to."""
    if name == "packs":
        return f"{row['packs']:g} packs of the register = {amount:g} {unit}"
    if name.startswith("rate"):
        return f"{row[name]:g} {small}/m² over {row['area']:g} m² = {amount:.4g} {unit}"
    return f"{amount:g} {unit}"


def _low(placed: pl.DataFrame, unit: str, small: str, total: str, pack: str, rate: str) -> pl.DataFrame:
    amount = pl.coalesce(*_amounts(total, pack, rate).values())
    fed = placed.filter(pl.col("sort") == "fertiliser").with_columns(amount.alias("amount"))
    thin = fed.filter((pl.col("amount") > 0) & (1000 * pl.col("amount") / pl.col("area") < LEAST_DOSE))
    faults = []
    for row in thin.iter_rows(named=True):
        least = 1000 * row["amount"]
        meant = USUAL_RATE[0] <= least <= USUAL_RATE[1]
        faults.append(
            DOSE_LOW.at(
                row["line"],
                f"{least:g} {small}",
                next(name for name in (total, "packs", rate) if row[name] is not None),
                area=f"{row['area']:g}",
                dose=f"{least / row['area']:.2g} {small}/m²",
                reading=f"; {least:g} {small}/m² may have been meant" if meant else "",
                least=f"{LEAST_DOSE:g} {small}/m²",
            )
        )
    return concat(faults)
