"""Nutrients applied: N, P, K, Mg, S, Fe, Ca and Mn as elements; single doses; rolling twelve months; weeks of cover."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import polars as pl

from pipeline.agronomy.soil import nutrients as formula
from pipeline.common.amounts import Amount, AmountText, joined
from pipeline.common.words import long_date
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.by_kind import ByKind
from pipeline.indicators.base.description import MONEY, NO_PUBLISHED, DefaultTarget, Description, Family
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Indicator, Running
from pipeline.indicators.base.records import lacking
from pipeline.indicators.base.rows import Row, Rows
from pipeline.indicators.base.shares import SAID_OF_SHARES, in_words, largest_dose
from pipeline.indicators.works.dressing import running_total


@dataclass(frozen=True)
class Element:
    """A nutrient: its label column, its name, the oxide its label may be written in, and its indicator."""

    column: str
    name: str
    oxide: formula.Oxide | None
    applied: Description


_DOSE = (formula.nutrient_g_m2, formula.element_from_oxide, formula.kg_ha)


def _element(
    symbol: str,
    name: str,
    oxide: formula.Oxide | None = None,
    decimals: int = 0,
    targets: tuple[DefaultTarget, ...] = (),
) -> Element:
    """An element with what its indicator is."""
    on_label = f"; {oxide} on a label is turned into the element" if oxide else ""
    applied = Description(
        f"{name}_kg_ha", f"{name.capitalize()} ({symbol}) applied", "kg/ha", "nutrients",
        f"{name.capitalize()} put on in the season, as the element.",
        f"Product over the green's area × share on the label{on_label}. A liquid counts by volume or by weight as its "
        "label says, and not at all where it does not say.", decimals=decimals, formulas=_DOSE, targets=targets,
        accumulates=True, day_needed=False,
    )  # fmt: skip
    return Element(f"{symbol.lower()}_pct", name, oxide, applied)


NITROGEN = _element(
    "N", "nitrogen",
    targets=(DefaultTarget(None, None, NO_PUBLISHED, note="what is commonly said stands in the set common-practice"),),
)  # fmt: skip
ELEMENTS = (
    NITROGEN,
    _element("P", "phosphorus", "P2O5", 1),
    _element("K", "potassium", "K2O"),
    _element("Mg", "magnesium", "MgO"),
    _element("S", "sulphur", "SO3"),
    _element("Fe", "iron"),
    _element("Ca", "calcium", "CaO"),
    _element("Mn", "manganese", None, 2),
)
ONE_DOSE = (DefaultTarget(
    None, 4.9, "1 lb N per 1,000 sq ft at most in one soluble dose: a New York extension leaflet on lawns"
),)  # fmt: skip
TWELVE_MONTHS = Description(
    "nitrogen_12m_kg_ha", "Nitrogen, last twelve months", "kg/ha", "nutrients",
    "Nitrogen of the 365 days up to the last day counted.", "As above, over those days.", decimals=0, formulas=_DOSE,
    beyond_season=True,
)  # fmt: skip
DOSE = Description(
    "nitrogen_dose_g_m2", "Largest single dose of nitrogen", "g/m²", "nutrients",
    "The most put on in one day of the season.",
    "Largest sum of one day, on the area it fell on: different feeds of a day lie on each other, parts of the green "
    "under one feed side by side, and on each other once the green is full.", formulas=(formula.nutrient_g_m2,),
    targets=ONE_DOSE,
)  # fmt: skip
COVER = Description(
    "nitrogen_cover_weeks", "Weeks fed, by the stated release times", "weeks", "nutrients",
    "How much of the season the feeds cover by their own statement.",
    "Each feed covers its release time from the day it was put on, from the season's start to its end; overlap counts "
    "once, and what feeds of the season before still release counts.",
    decimals=0, accumulates=True,
)  # fmt: skip
GAP = Description(
    "nitrogen_gap_weeks", "Longest gap between feeds", "weeks", "nutrients",
    "Longest stretch between two feeds that none covers.", "Between the spans of the line above.", decimals=0,
)  # fmt: skip
PRICE = Description(
    "nitrogen_price_kg", "Price of a kilogram of nitrogen", f"{MONEY}/kg", "nutrients",
    "What the nitrogen of the season's feeds cost; a bag's price says little.",
    "Packs used × price of the pack, over the nitrogen in them; the other nutrients count as free.", decimals=2,
    formulas=(formula.nutrient_g_m2, formula.price_per_kg), label_us="Price of a pound of nitrogen",
)  # fmt: skip


HALF_A_WEEK = 0.5
"""Weeks of cover over a season's border that are said: as a whole number, fewer are none."""
JOB = ["date", "file", "line", "load_id", "operation", "material"]
"""What tells a job from another: one line of a log may hold several."""


def fed(records: ByKind) -> pl.DataFrame:
    """What was put on that carries nutrients, with g/m² of each element over the whole green (grain: job).

    ``nitrogen_dose`` is the nitrogen in g/m² on the area it fell on.

    A solid counts by mass. A liquid counts by volume where its label is by volume, by mass (or volume times density)
    where it is by weight, and not at all where the label does not say which. P, K, Mg, Ca and S count only where the
    label says oxide or element. What cannot be counted is null, never 0.
    """
    rows = records.applications.filter(
        pl.col("in_register") & pl.any_horizontal(pl.col(e.column) > 0 for e in ELEMENTS)
    )
    liquid = pl.col("form").fill_null("solid") == "liquid"
    by_volume = pl.col("analysis_by") == "w/v"
    mass = pl.coalesce("mass_kg", pl.col("volume_l") * pl.col("density_kg_l"))
    litres = pl.coalesce("volume_l", pl.col("mass_kg") / pl.col("density_kg_l"))
    # 1 % w/v is 1 kg in 100 l, as 1 % w/w is 1 kg in 100 kg.
    base = (
        pl.when(liquid & by_volume)
        .then(litres)
        .when(liquid & (pl.col("analysis_by") == "w/w"))
        .then(mass)
        .when(liquid)
        .then(None)
        .otherwise(pl.col("mass_kg"))
    )
    rows = rows.with_columns(base.alias("carrier"), mass.alias("product_kg"))
    amounts = []
    for element in ELEMENTS:
        share = pl.col(element.column)
        if element.oxide is not None:
            basis = pl.col("analysis_basis")
            as_oxide = formula.element_from_oxide(share, element.oxide)
            share = pl.when(basis == "oxide").then(as_oxide).when(basis == "element").then(share)
            share = pl.when(pl.col(element.column) == 0).then(0.0).otherwise(share)
        amounts.append(formula.nutrient_g_m2(pl.col("carrier"), share, pl.col("over_m2")).alias(element.name))
    rows = rows.with_columns(amounts).with_columns(pl.col("nitrogen").alias("nitrogen_dose"))
    return rows.with_columns(pl.col(element.name) * pl.col("share") for element in ELEMENTS)


def uncounted(records: ByKind, every: pl.DataFrame) -> pl.DataFrame:
    """Feeds of all seasons whose nitrogen is not known (grain: job); columns as in ``JOB``, of many greens ``of`` too.

    Fertilising counts as such unless its material is in the register and says how much nitrogen is in it; any other
    work with a material that holds nitrogen does so where the amount is not known. ``every`` is what :func:`fed` makes
    of the records.
    """
    job = [*JOB, *(name for name in every.columns if name == "of")]
    told = pl.concat(
        [
            every.filter(pl.col("nitrogen").is_not_null()).select(job),
            records.applications.filter(pl.col("in_register") & (pl.col("n_pct") == 0)).select(job),
        ]
    )
    lacking = every.filter((pl.col("n_pct") > 0) & pl.col("nitrogen").is_null()).select(job)
    feeds = records.jobs.filter(pl.col("operation") == "fertilising").select(job)
    return (
        pl.concat([lacking, feeds.join(told, on=job, how="anti", nulls_equal=True, maintain_order="left")])
        .unique()
        .sort(JOB, maintain_order=True)
    )


def nutrients(asked: Asked) -> Iterator[Indicator]:
    """Elements applied in the seasons, and nitrogen's single doses, rolling twelve months, cover and gaps."""
    every = asked.once(fed)
    days = (pl.col("release_weeks") * 7).floor().cast(pl.Int64)
    until = pl.col("date").dt.offset_by(pl.format("{}d", days)).alias("until")
    for fed_so_far in asked.each_season(asked.so_far(every.with_columns(until)), "job", *OF_FEEDS, *SAID_OF_SHARES):
        records = asked.each[fed_so_far.of]
        season = fed_so_far.since(records.season.start)
        for element in ELEMENTS:
            yield from _applied(element, season)
        feeds = season.where(_feeds)
        yield from _twelve_months(records, fed_so_far)
        if feeds:
            yield from _doses(feeds)
            yield from _price(records, feeds)
        yield from _cover(records, feeds, fed_so_far)


OF_FEEDS = (
    *(element.name for element in ELEMENTS), *(element.column for element in ELEMENTS), "nitrogen_dose", "over_m2",
    "mass_kg", "volume_l", "pack_kg", "pack_l", "price", "form", "analysis_by", "analysis_basis", "density_kg_l",
    "release_weeks", "until",
)  # fmt: skip


def _feeds(row: Row) -> bool:
    """Whether a job put nitrogen on."""
    return (row["nitrogen_dose"] or 0.0) > 0


def _doses(feeds: Rows) -> Iterator[Indicator]:
    """The season's largest dose of one day."""
    day, dose = largest_dose(feeds, "nitrogen_dose")
    yield DOSE.figure(
        dose,
        feeds.having("date", day),
        n=len(feeds),
        note=f"On {long_date(day)}.",
        method="Largest sum of one day, on the area it fell on; parts under one feed lie side by side, "
        "and on each other once the green is full.",
    )


def _price(records: GreenRecords, feeds: Rows) -> Iterator[Indicator]:
    """What a kilogram of nitrogen cost in the season's feeds, by the price of the packs used."""
    priced = feeds.given("price", "over_m2").where(lambda row: _packs(row) is not None)
    if priced:
        paid = math.fsum((_packs(row) or 0.0) * float(row["price"]) for row in priced)
        kg = math.fsum(row["nitrogen_dose"] * row["over_m2"] / 1000 for row in priced)
        note = lacking(feeds, priced, "feeds without a price or a pack size left out.")
        price = formula.price_per_kg(paid, kg, 100.0)
        yield PRICE.figure(price, priced, currency=records.settings.currency, note=note)


def _packs(row: Row) -> float | None:
    """Packs used, by mass or else by volume; None where neither is known with the size of a pack."""
    for amount, pack in (("mass_kg", "pack_kg"), ("volume_l", "pack_l")):
        if row[amount] is not None and row[pack] is not None:
            return float(row[amount] / row[pack])
    return None


def _applied(element: Element, season: Rows) -> Iterator[Indicator]:
    carrying = _carrying(element, season)
    if not carrying:
        return
    known = carrying.given(element.name)
    g_m2 = known.total(element.name) if known else None
    notes: list[str] = []
    if g_m2 is not None:
        notes.append(AmountText(Amount(g_m2, "g/m²", ".2f", again=True), "."))
    if short := lacking(carrying, known, "applications could not be counted"):
        notes.append(f"{short}: {_why(carrying, element)}.")
    how = "Product over the green's area × share on the label"
    if element.oxide:
        how += f", {element.oxide} turned into the element where the label is in oxides"
    method = f"{how}. {in_words(known, beside=True)}".strip()
    yield element.applied.figure(
        applied_kg_ha(element, season),
        known,
        note=joined(" ", notes),
        method=f"{method} 1 g/m² is 10 kg/ha.",
    )


def applied_kg_ha(element: Element, season: Rows) -> float | None:
    """What was put on of an element in all, kg/ha, as far as it is known; None where none of it is."""
    known = _carrying(element, season).given(element.name)
    return formula.kg_ha(known.total(element.name)) if known else None


def _carrying(element: Element, rows: Rows) -> Rows:
    """What carries an element by its label."""
    return rows.where(lambda row: (row[element.column] or 0.0) > 0)


def _why(carrying: Rows, element: Element) -> str:
    missing = carrying.having(element.name, None)
    liquids = missing.having("form", "liquid")
    reasons = []
    if missing.having("over_m2", None) or missing.having("share", None):
        reasons.append("no area of the green")
    if missing.having("mass_kg", None).having("volume_l", None):
        reasons.append("no amount")
    if liquids.having("analysis_by", None):
        reasons.append("a liquid whose label does not say by weight or by volume")
    if liquids.having("density_kg_l", None):
        reasons.append("a liquid without density")
    if element.oxide and missing.having("analysis_basis", None):
        reasons.append("a label that does not say oxide or element")
    return ", ".join(reasons) or "mass and volume do not fit the label"


def _twelve_months(records: GreenRecords, fed_so_far: Rows) -> Iterator[Indicator]:
    """Nitrogen of the 365 days to the last day counted, whichever season fed it; none where nothing did."""
    year_back = records.as_of - timedelta(days=365)
    carrying = _carrying(NITROGEN, fed_so_far.where(lambda row: row["date"] > year_back))
    if not carrying:
        return
    year = carrying.given("nitrogen")
    yield TWELVE_MONTHS.figure(
        formula.kg_ha(year.total("nitrogen")) if year else None,
        year,
        note=lacking(carrying, year, "applications could not be counted; the true sum is larger."),
        method=f"As above, over the 365 days to {long_date(records.as_of)}.",
    )


def _cover(records: GreenRecords, feeds: Rows, fed_so_far: Rows) -> Iterator[Indicator]:
    """Weeks of the season that the stated release of feeds covers, also of those put on before it, and the longest gap.

    Args:
        records: of the green.
        feeds: the season's feeds with nitrogen.
        fed_so_far: those of all seasons.
    """
    start, end = records.season.start, records.season.end + timedelta(days=1)
    said = fed_so_far.where(lambda row: _feeds(row) and (row["release_weeks"] or 0.0) > 0 and row["until"] > start)
    if not said:
        return
    own = said.since(start)
    merged, alone = (merge_spans(_within(rows, start, end)) for rows in (said, own))
    carried = _weeks(merged) - _weeks(alone)
    beyond = max((until - end).days for until in said.column("until")) / 7
    notes = (
        lacking(feeds, own, "feeds give no release time."),
        f"{carried:.0f} of them by feeds of the season before." if carried >= HALF_A_WEEK else "",
        f"{beyond:.0f} more follow after the season's end." if beyond >= HALF_A_WEEK else "",
    )
    method = "Each feed covers its stated release time from the day it was put on; times that overlap count once."
    yield COVER.figure(_weeks(merged), said, note=" ".join(filter(None, notes)), method=method)
    gaps = [(after[0] - before[1]).days / 7 for before, after in itertools.pairwise(merged)]
    if gaps:
        yield GAP.figure(max(gaps), said, note=notes[0], method=method)


def _within(rows: Rows, start: date, end: date) -> list[tuple[date, date]]:
    """From when to when each feed releases within these days, in order."""
    return sorted((max(row["date"], start), min(row["until"], end)) for row in rows)


def _weeks(spans: list[tuple[date, date]]) -> float:
    return sum((end - start).days for start, end in spans) / 7


def merge_spans(spans: list[tuple[date, date]]) -> list[tuple[date, date]]:
    """Spans of days in order, those that touch or overlap made one."""
    merged: list[tuple[date, date]] = []
    for start, end in spans:
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        else:
            merged.append((start, end))
    return merged


def running(records: GreenRecords) -> Running:
    """Running total of the season's nitrogen in kg/ha against a straight plan to the target."""
    rows = records.in_season(fed(records.counting)).filter(pl.col("nitrogen") > 0)
    rows = rows.with_columns(formula.kg_ha(pl.col("nitrogen")).alias("kg_ha"))
    return running_total(records, rows, "kg_ha", "Nitrogen", NITROGEN.applied)


FAMILY = Family((*(element.applied for element in ELEMENTS), TWELVE_MONTHS, DOSE, COVER, GAP, PRICE), nutrients)
