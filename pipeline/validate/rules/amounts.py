"""Rules for what was put on: amounts of one job that contradict each other, also by density, and doses too small."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

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
DENSITY_ODD = FaultKind(
    "amount.density",
    "Mass and volume of one job contradict each other",
    "{value} and {other} are {density} {unit}; {known}.",
    "Check both and their units; correct the one that is wrong, or leave it blank, and load the file again. Where both "
    "are right, fill in {field} in the register of materials.",
    severity="warning",
)
SAND_T_M3 = (1.2, 1.8)
"""Dry bulk density of sand and root zone, t/m³: 1.2 to 1.6 in the specification for putting greens of 1993 (USGA), to
1.8 of packed sand (common practice, no source)."""
LIQUID_KG_L = (0.8, 1.6)
"""Density of a liquid product, kg/l: an emulsion to a strong solution (common practice, no source)."""
MOISTURE = 0.1
"""What a delivered dressing weighs more than dry, as a share, where no moisture is registered (common practice, no
source)."""
LOOSE = 0.15
"""Share by which a heap lies looser or denser than the bulk density registered (common practice, no source)."""
ROUNDING = 0.05
"""Share of the larger by which two amounts of one job may differ: common practice, no source."""
LEAST_DOSE = 0.1
"""g/m² or ml/m² of a fertiliser below which a dose is asked about; a foliar feed is ten times as much (common practice,
no source)."""
USUAL_RATE = (1.0, 100.0)
"""g/m² or ml/m² of a fertiliser within which a figure may have been meant as a rate (common practice, no source)."""
AMOUNTS = ("mass_kg", "volume_l", "packs", "rate_g_m2", "rate_ml_m2")
"""Fields that say how much was put on, the one that counts first at the head."""
OF_MATERIAL = ("sort", "form", "pack_kg", "pack_l", "density_kg_l", "bulk_density_t_m3", "moisture_pct")
"""What the register says of a material that amounts are held against."""
SORTS = (("kg", "g", "mass_kg", "pack_kg", "rate_g_m2"), ("l", "ml", "volume_l", "pack_l", "rate_ml_m2"))
"""Of masses and volumes: unit, a thousandth of it, and the fields that give an amount, the one that counts first."""


def check(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Warnings of amounts of one job that differ, and of fertiliser far too thin to be meant."""
    given = records.filter(pl.any_horizontal(pl.col(*AMOUNTS) > 0))
    if given.is_empty():
        return no_faults()
    placed = register.joined(with_green(given, register), "material", OF_MATERIAL)
    placed = placed.with_columns(pl.coalesce("treated_area_m2", "area_m2").alias("area"))
    found = [part for names in SORTS for part in (_apart(placed, *names), _low(placed, *names))]
    return concat([*found, _densities(placed)])


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


def _densities(placed: pl.DataFrame) -> pl.DataFrame:
    """Warnings of jobs whose mass and volume cannot be of one thing, by the density registered or usual."""
    mass, volume = (pl.coalesce(*_amounts(*names[2:]).values()) for names in SORTS)
    both = placed.with_columns(mass.alias("mass"), volume.alias("volume")).filter(
        (pl.col("mass") > 0) & (pl.col("volume") > 0)
    )
    faults = []
    for row in both.iter_rows(named=True):
        known = _density(row)
        density = row["mass"] / row["volume"]
        if known is None or known.low <= density <= known.high:
            continue
        faults.append(
            DENSITY_ODD.at(
                row["line"],
                f"{row['mass']:.4g} kg",
                next(name for name in ("mass_kg", "packs", "rate_g_m2") if row[name] is not None),
                other=f"{row['volume']:.4g} l",
                density=f"{density:.2g}",
                unit=known.unit,
                known=known.words,
                field=known.field,
            )
        )
    return concat(faults)


@dataclass(frozen=True)
class _Density:
    """What a material weighs: between which densities it lies, their unit, who says so, and the field that would."""

    low: float
    high: float
    unit: str
    words: str
    field: str


def _density(row: Mapping[str, Any]) -> _Density | None:
    """Between which densities the material of a job lies; None where nothing tells."""
    if row["form"] == "liquid" or row["density_kg_l"]:
        field, unit, given = "density_kg_l", "kg/l", row["density_kg_l"]
        if given:
            return _Density(given * (1 - ROUNDING), given * (1 + ROUNDING), unit, f"the register has {given:g}", field)
        low, high = LIQUID_KG_L
        return _Density(low, high, unit, f"liquid products have {low:g} to {high:g}", field)
    field, unit, given = "bulk_density_t_m3", "t/m³", row["bulk_density_t_m3"]
    wet = 1.0 + (MOISTURE if row["moisture_pct"] is None else row["moisture_pct"] / 100)
    if given:
        low, high = given * (1 - LOOSE), given * (1 + LOOSE) * wet
        return _Density(low, high, unit, f"the register has {given:g} of it dry", field)
    if row["sort"] not in {None, "top_dressing"} or row["operation"] != "top_dressing":
        return None
    low, high = SAND_T_M3
    return _Density(low, high * wet, unit, f"sand and root zone have {low:g} to {high:g}, dry", field)


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
