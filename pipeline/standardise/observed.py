"""Observations into their stored unit; readings made from counts, ring water and the ends of a layer."""

from __future__ import annotations

import re

import polars as pl

from pipeline.agronomy.surface import GRAVITIES_PER_CIV, falling_head_mm_h, infiltration_mm_h
from pipeline.agronomy.sward import cover_pct
from pipeline.common.faults import FaultKind, concat
from pipeline.profiles.style import Refused
from pipeline.standardise.cells import units
from schemas.codes import Code, code_list, fold, spellings

UNIT_MISSING = FaultKind(
    "unit.missing",
    "Reading without a unit",
    "{what}: nothing says in which unit {value} is.",
    "Write the unit ({wanted}, or one that can be turned into it) into the unit column, or under [constants] of the "
    "profile.",
)
UNIT_WRONG = FaultKind(
    "unit.observation",
    "Unit does not fit what was observed",
    "{what} in “{value}” cannot be stored in {wanted}.",
    "Check what was measured and in which unit.",
)
OUT_OF_RANGE = FaultKind(
    "value.observation",
    "Reading outside what is possible",
    "{what} of {value} {unit} cannot be: possible is {low} to {high}.",
    "Check the figure and its unit.",
)
BELOW_A_LIMIT = FaultKind(
    "observation.below",
    "“Less than” where a reading is needed",
    "“{value}” is a limit, not a reading.",
    "Write what was read or counted; zero is a reading too.",
)
_ONE_SPECIES = {
    "red fescue": "red fescue",
    "chewings fescue": "chewings fescue",
    "browntop": "browntop",
    "browntop bent": "browntop",
    "colonial bent": "browntop",
}
"""Words of the list that name one species, folded; its other words name the whole kind."""
_PER_CENT = re.compile(r"^(?:%|per ?cent|pct)\s+|[\s(\[]*(?:%|per ?cent|pct)[)\]]*$")


def is_share_of_ground(name: str) -> bool:
    """Whether a thing observed is a share of the ground, of which several species add up."""
    facts = code_list("observation")[name].facts
    return bool(facts["family"] == "sward" and facts["unit"] == "%")


def species_column(words: pl.Series, things: pl.Series) -> pl.Series:
    """The species each word names, folded; null where it names the whole kind, or what is no share of the ground."""
    known = pl.DataFrame({"word": words, "thing": things})
    told = known.unique(maintain_order=True).drop_nulls()
    species = [species_named(word) if is_share_of_ground(thing) else None for word, thing in told.iter_rows()]
    told = told.with_columns(pl.Series("species", species, dtype=pl.String))
    return known.join(told, on=["word", "thing"], how="left", maintain_order="left")["species"]


def species_listed(word: str) -> str | None:
    """The species that a word of the list names, None for any other word."""
    return _ONE_SPECIES.get(_bare(word))


def species_named(word: str) -> str | None:
    """The species that a word names, folded, None where it names a whole kind; a word that no list has is one."""
    return species_listed(word) or (None if _bare(word) in spellings("observation") else _bare(word))


def _bare(word: str) -> str:
    """A word for plants, folded, without the unit of their share."""
    return _PER_CENT.sub("", fold(word))


def made_from_parts() -> pl.Expr:
    """The reading that counts, ring water, fallen water or the ends of a layer give, in the thing's stored unit."""
    counted = pl.when(pl.col("hits") <= pl.col("points")).then(cover_pct(pl.col("hits"), pl.col("points")))
    soaked = infiltration_mm_h(pl.col("volume_ml"), pl.col("ring_mm"), pl.col("minutes"))
    fallen = falling_head_mm_h(pl.col("head_mm"), pl.col("head_end_mm"), pl.col("minutes"))
    thick = pl.col("depth_to_mm") - pl.col("depth_from_mm")
    unit = pl.col("observed").replace_strict(
        {name: code.facts["unit"] for name, code in code_list("observation").items()}
    )
    return (
        pl.when(unit == "%")
        .then(counted)
        .when(pl.col("observed") == "infiltration")
        .then(pl.coalesce(soaked, fallen))
        .when(unit == "mm")
        .then(thick)
        .alias("made")
    )


def observations(records: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Observations with ``value`` in the unit of their thing, and faults."""
    faults, parts = [], []
    told = records["species_named"].unique().drop_nulls()
    records = records.with_columns(pl.col("species_named").replace({word: fold(word) for word in told}))
    for (what,), part in records.with_row_index("row").group_by("observed", maintain_order=True):
        if what is None:
            parts.append(part)
            continue
        code = code_list("observation")[str(what)]
        part, found = _in_stored_unit(part, code)  # noqa: PLW2901
        part = part.with_columns(pl.coalesce("value", made_from_parts()).alias("value"))  # noqa: PLW2901
        part = part.with_columns(  # noqa: PLW2901
            pl.when(pl.col("value").is_not_null()).then(pl.lit(code.facts["unit"])).otherwise("unit").alias("unit")
        )
        parts.append(part)
        faults += [*found, _range(part, code)]
    if parts:
        records = pl.concat(parts).sort("row", maintain_order=True).drop("row")
    return records, concat(faults)


def _in_stored_unit(part: pl.DataFrame, code: Code) -> tuple[pl.DataFrame, list[pl.DataFrame]]:
    """Records of one thing with what was written in another unit turned into the stored one."""
    wanted, done, faults = str(code.facts["unit"]), [], []
    for (unit,), same in part.group_by("unit", maintain_order=True):
        given = same.filter(pl.col("value").is_not_null())
        if unit is None:
            faults.append(UNIT_MISSING.of(given, "unit", pl.col("value"), what=code.label, wanted=wanted))
        elif (factor := _factor(str(unit), wanted)) is None:
            faults.append(UNIT_WRONG.of(same, "unit", what=code.label, wanted=wanted))
        else:
            same = same.with_columns(pl.col("value") * factor)  # noqa: PLW2901
        done.append(same)
    return pl.concat(done), faults


def _factor(unit: str, wanted: str) -> float | None:
    """Factor from a written unit to the stored one; None where none leads there."""
    if unit == wanted:
        return 1.0
    if (unit, wanted) == ("CIV", "gravities"):
        return GRAVITIES_PER_CIV
    try:
        return units.scale(unit, wanted)[0]
    except Refused:
        return None


def _range(part: pl.DataFrame, code: Code) -> pl.DataFrame:
    low, high, unit = (code.facts[name] for name in ("low", "high", "unit"))
    odd = part.filter((pl.col("unit") == unit) & ~pl.col("value").is_between(low, high))
    return OUT_OF_RANGE.of(odd, "value", what=code.label, unit=unit, low=f"{low:g}", high=f"{high:g}")
