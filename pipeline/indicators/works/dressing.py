"""Top dressing applied: tonnes, kg/m², mm; by material; sand and soil apart; against target and plan."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.agronomy import dressing as formula
from pipeline.common.amounts import Amount, AmountText, joined
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.at_least import belongs
from pipeline.indicators.base.by_kind import ByKind, spread_out
from pipeline.indicators.base.description import DefaultTarget, Description, Family
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Indicator, Running, RunningPoint
from pipeline.indicators.base.periods import LAST
from pipeline.indicators.base.records import lacking
from pipeline.indicators.base.rows import Row, Rows
from pipeline.indicators.base.shares import SAID_OF_SHARES, in_words
from pipeline.indicators.base.standing import target_for

METHOD = "Mass as logged over the green's area."
MOISTURE_OFF = "Mass as logged less its moisture, where that is known, over the green's area."
ROUNDING_PCT = 0.5
"""Percent that rounded shares of a mix may be off 100."""

_MASS = (formula.dry_mass_kg, formula.mass_of_volume_kg)
_PARTS = (*_MASS, formula.part_of_mix_kg, formula.part_of_mix_by_volume_kg)
DRESSING = Description(
    "dressing_kg_m2", "Top dressing applied", "kg/m²", "dressing", "Dressing of the season over the green's area.",
    "Mass as logged, else packs × pack size, else rate × area, else volume × bulk density; moisture taken off where "
    "the material says how much and of what; over the area dressed × the share of the green that is.",
    decimals=2, formulas=_MASS,
    targets=(DefaultTarget(
        2.0, 6.0, "“Bowls green topdressing”: 2 to 4 kg/m² usual, 4 to 6 where needed",
        cited="“Bowls green topdressing”, UK trade magazine; author and year not stated",
        note="some greenkeepers hold that many greens should not be dressed with sand at all",
    ),), accumulates=True, day_needed=False,
)  # fmt: skip
AS_DEPTH = Description(
    "dressing_mm", "The same as depth", "mm", "dressing", "The dressing as a layer.",
    "kg/m² ÷ dry bulk density in t/m³, the material's or the workspace's.", formulas=(*_MASS, formula.depth_mm),
    accumulates=True, day_needed=False,
)  # fmt: skip
DELIVERED = Description(
    "dressing_delivered_t", "Total weight as delivered", "t", "dressing",
    "What the log says was delivered, moisture and all; only where moisture is taken off in the figures above.",
    "Sum of the masses as logged.", decimals=2, formulas=(formula.mass_of_volume_kg,),
    accumulates=True, day_needed=False,
)  # fmt: skip
IN_ALL = Description(
    "dressing_t", "Total weight", "t", "dressing", "The dressing of the season in all.",
    "Sum of the masses, dry where moisture is known.", decimals=2, formulas=_MASS, accumulates=True, day_needed=False,
)  # fmt: skip
OF_MATERIAL = Description(
    "dressing_of_kg_m2", "Top dressing", "kg/m²", "dressing", "Each material's part, where there was more than one.",
    "As above, by material.", band="material", decimals=2, formulas=_MASS, accumulates=True, day_needed=False,
)  # fmt: skip
SAND = Description(
    "sand_kg_m2", "Sand in it", "kg/m²", "dressing", "Sand put on.",
    "Share of the mix by mass, from the register of materials.", decimals=2, formulas=_PARTS,
    accumulates=True, day_needed=False,
)  # fmt: skip
SOIL = Description(
    "soil_kg_m2", "Soil in it", "kg/m²", "dressing", "Soil put on.",
    "Share of the mix by mass, from the register of materials; shares by volume (mix_by) are turned into mass by the "
    "bulk densities of sand and soil.", decimals=2, formulas=_PARTS, accumulates=True, day_needed=False,
)  # fmt: skip


def dressings(records: ByKind) -> pl.DataFrame:
    """Dressings of all seasons with ``dry_kg``, and ``kg_m2`` and ``mm`` over the whole green (grain: job).

    A volume becomes mass by the material's bulk density, or the workspace's where it gives none (``assumed_density``);
    moisture is taken off where the material says how much and of what.
    """
    rows = records.applications.filter(
        (pl.col("operation") == "top_dressing") | (pl.col("sort").fill_null("") == "top_dressing")
    )
    density = pl.coalesce("bulk_density_t_m3", pl.lit(records.settings.bulk_density_t_m3))
    rows = spread_out(
        rows.with_columns(
            density.alias("density"),
            pl.col("bulk_density_t_m3").is_null().alias("assumed_density"),
            pl.coalesce("mass_kg", formula.mass_of_volume_kg(pl.col("volume_l") / 1000, density)).alias("given_kg"),
            (pl.col("mass_kg").is_null() & pl.col("volume_l").is_not_null()).alias("from_volume"),
        )
    )
    dry = formula.dry_mass_kg(pl.col("given_kg"), pl.col("moisture_pct"), "dry")
    wet = formula.dry_mass_kg(pl.col("given_kg"), pl.col("moisture_pct"), "wet")
    # A volume is turned into mass by the dry bulk density: its moisture is not in it, and not to be taken off again.
    said = pl.col("moisture_pct").is_not_null() & ~pl.col("from_volume")
    rows = rows.with_columns(
        pl.when(said & (pl.col("moisture_basis") == "dry"))
        .then(dry)
        .when(said & (pl.col("moisture_basis") == "wet"))
        .then(wet)
        .otherwise(pl.col("given_kg"))
        .alias("dry_kg"),
        (said & pl.col("moisture_basis").is_not_null()).alias("dried"),
    )
    rows = rows.with_columns((pl.col("dry_kg") / pl.col("over_m2") * pl.col("share")).alias("kg_m2"))
    return rows.with_columns(formula.depth_mm(pl.col("kg_m2"), pl.col("density")).alias("mm"))


def dressing(asked: Asked) -> Iterator[Indicator]:
    """Dressing of the seasons in all, by material, and its sand and soil."""
    rows = in_parts(asked.in_season(asked.once(dressings)))
    for every in asked.each_season(rows, "job", *OF_DRESSING, *SAID_OF_SHARES):
        yield from _of_season(every)


OF_DRESSING = (
    "kg_m2", "mm", "dry_kg", "given_kg", "dried", "from_volume", "density", "assumed_density", "mix_by", "sand_pct",
    SAND.name, SOIL.name,
)  # fmt: skip


def _of_season(every: Rows) -> Iterator[Indicator]:
    known, massed = every.given("kg_m2"), every.given("dry_kg")
    note = _note(known, lacking(every, known, "dressings give no amount or the green no area; the true sum is larger."))
    in_all = _note(massed, lacking(every, massed, "dressings give no amount; the true sum is larger."))
    taken_off = MOISTURE_OFF if any(known.column("dried")) else METHOD
    how = f"{taken_off} {in_words(known, beside=True)}".strip()
    yield DRESSING.figure(applied_kg_m2(every), known, note=note, method=how)
    by_density = f"kg/m² ÷ dry bulk density in t/m³. {_density_used(known)}"
    yield AS_DEPTH.figure(_sum(known, "mm"), known, note=note, method=by_density)
    if dried_in_words(massed):
        yield DELIVERED.figure(_sum(massed, "given_kg", 0.001), massed, note=in_all)
        yield IN_ALL.figure(
            _sum(massed, "dry_kg", 0.001), massed, note=in_all, method="The mass delivered less its moisture."
        )
    else:
        yield IN_ALL.figure(_sum(massed, "dry_kg", 0.001), massed, note=in_all, method="Sum of the mass as logged.")
    materials = sorted({name for name in known.column("material") if name is not None})
    for name in materials if len(materials) > 1 else ():
        part = known.having("material", name)
        yield OF_MATERIAL.figure(_sum(part, "kg_m2"), part, band=name, method=how)
    yield from _parts_of_mix(known)


def applied_kg_m2(every: Rows) -> float | None:
    """Dressing in all over the whole green, kg/m², as far as it is known; None where none of it is."""
    return _sum(every.given("kg_m2"), "kg_m2")


def _parts_of_mix(known: Rows) -> Iterator[Indicator]:
    """Sand and soil of the dressings whose mix is known."""
    for what in (SAND, SOIL):
        part = known.given(what.name)
        if part:
            by_volume = any(by == "volume" for by in part.column("mix_by"))
            how = " Shares by volume turned into mass by the bulk densities of sand and soil." if by_volume else ""
            yield what.figure(
                _sum(part, what.name),
                part,
                note=lacking(known, part, f"dressings give no mix{_unweighed(known)}."),
                method=f"Share of the mix by mass, from the register of materials.{how}",
            )


def in_parts(rows: pl.DataFrame) -> pl.DataFrame:
    """Dressings with ``sand_kg_m2`` and ``soil_kg_m2`` (grain: job).

    Shares by volume count only where sand and soil are the whole mix and both bulk densities are known: null else.
    """
    by_volume = pl.col("mix_by").fill_null("mass") == "volume"
    parts = []
    for one, other in (("sand", "soil"), ("soil", "sand")):
        share, rest = pl.col(f"{one}_pct"), pl.col(f"{other}_pct")
        whole = rest.is_null() | ((share + rest - 100).abs() <= ROUNDING_PCT)
        densities = pl.col(f"{one}_density_t_m3"), pl.col(f"{other}_density_t_m3")
        turned = formula.part_of_mix_by_volume_kg(pl.col("kg_m2"), share, *densities)
        as_is = formula.part_of_mix_kg(pl.col("kg_m2"), share)
        parts.append(pl.when(~by_volume).then(as_is).when(whole).then(turned).alias(f"{one}_kg_m2"))
    return rows.with_columns(parts)


def _unweighed(known: Rows) -> str:
    """What keeps a mix by volume from being told by mass."""
    bare = known.given("sand_pct").having("mix_by", "volume").having(SAND.name, None)
    return ", or one by volume without the bulk densities of both" if bare else ""


def _sum(rows: Rows, column: str, factor: float = 1.0) -> float | None:
    return rows.total(column) * factor if rows else None


def _note(known: Rows, short: str) -> str:
    """What is to be known beside a sum of these dressings; first what it is short of."""
    parts = [short] if short else []
    if any(known.column("from_volume")):
        parts.append("Logged by volume in part; mass from the bulk density.")
    if delivered := dried_in_words(known):
        parts.append(delivered)
    if not all(row["dried"] or row["from_volume"] for row in known):
        parts.append("Mass as delivered: moisture is not known for all of it.")
    return joined(" ", parts)


def dried_in_words(rows: Iterable[Row]) -> str:
    """What was delivered and what of it is dry: "9.50 t delivered are 8.96 t dry"; "" where that is the same.

    Args:
        rows: dressings, with ``given_kg``, ``dry_kg`` and ``dried``.
    """
    told = [(row["given_kg"], row["dry_kg"]) for row in rows if row["dried"] and row["dry_kg"] is not None]
    if not told:
        return ""
    given, dry = (Amount(math.fsum(masses) / 1000, "t", ",.2f") for masses in zip(*told, strict=True))
    if given.number == dry.number:
        return ""
    return AmountText(given, " delivered are ", dry, " dry: moisture is taken off where the material says how much.")


def _density_used(known: Rows) -> str:
    said = ", ".join(f"{value:g}" for value in sorted(set(known.column("density"))))
    source = " (the workspace's setting where the material gives none)" if any(known.column("assumed_density")) else ""
    return f"Bulk density {said} t/m³{source}." if said else ""


def running(records: GreenRecords) -> Running:
    """Running total of the season's dressing against a straight plan to the target's lower end.

    The plan is a straight line from nothing at the season's start to the lower end of the target at its end: a
    yardstick, not advice on when to dress. A target with an upper end alone asks for nothing, and has none.
    """
    rows = records.in_season(dressings(records.counting)).drop_nulls("kg_m2")
    return running_total(records, rows, "kg_m2", "Top dressing", DRESSING)


def running_total(records: GreenRecords, rows: pl.DataFrame, column: str, name: str, what: Description) -> Running:
    """Running total of a column by date, with the target in force.

    What was put on within a month or year is on by its last day.

    Args:
        records: of the green.
        rows: what was put on.
        column: its amount, in the unit of the indicator.
        name: what is summed, as printed.
        what: the indicator whose target it runs towards.
    """
    rows = rows.with_columns(LAST.alias("date"))
    daily = rows.group_by("date", maintain_order=True).agg(pl.col(column).sum()).sort("date", maintain_order=True)
    totals = daily.with_columns(pl.col(column).cum_sum())
    points = tuple(RunningPoint(day, float(total)) for day, total in totals.select("date", column).iter_rows())
    target = target_for(records, what)
    lacks = any(belongs(row, what) for row in records.rejected_here)
    if target is None:
        return Running(name, what.unit, points, rejected=lacks)
    season, goal = records.season, target.low
    plan = (RunningPoint(season.start, 0.0), RunningPoint(season.end, goal)) if goal is not None else ()
    return Running(name, what.unit, points, plan, target.low, target.high, target.source, lacks)


@dataclass(frozen=True)
class LastDressing:
    """The latest dressing of a green.

    Attributes:
        material: what was put on, "" where the log does not say.
        delivered_of_dry: its mass as delivered over its dry mass, at least 1; None where its moisture is not known.
    """

    material: str
    delivered_of_dry: float | None


def last_dressed(records: GreenRecords) -> LastDressing | None:
    """What was put on last; None where nothing was, or it is not known what was the last."""
    rows = dressings(records).filter(pl.col("date") <= records.as_of)
    return _last(records, rows.row(-1, named=True)) if rows.height else None


def last_dressings(each: Sequence[GreenRecords], rows: pl.DataFrame) -> dict[int, LastDressing | None]:
    """The same of each of some greens that was dressed.

    Args:
        each: the greens.
        rows: their dressings up to the last day looked at, in order, with ``of``, the number of the green.
    """
    last = rows.group_by("of", maintain_order=True).last().select("of", "date", "material", *MOISTURE)
    return {row["of"]: _last(each[row["of"]], row) for row in last.iter_rows(named=True)}


MOISTURE = ("moisture_pct", "moisture_basis")


def _last(records: GreenRecords, last: Row) -> LastDressing | None:
    since = records.may_be_of(last["date"], records.as_of)
    if since.height and since.filter(pl.col("operation") == "top_dressing").height:
        return None
    pct, basis = (last[name] for name in MOISTURE)
    dry = formula.dry_mass_kg(1.0, pct, basis) if pct is not None and basis else 0.0
    return LastDressing(last["material"] or "", 1 / dry if dry > 0 else None)


FAMILY = Family((DRESSING, AS_DEPTH, DELIVERED, IN_ALL, OF_MATERIAL, SAND, SOIL), dressing)
