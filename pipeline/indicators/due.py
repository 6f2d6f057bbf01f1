"""What comes next, with quantities for this green: from targets, last works and stated release times."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

import polars as pl

from pipeline.agronomy import dressing as formula
from pipeline.agronomy import nutrients as feed
from pipeline.amounts import Amount, AmountText, span
from pipeline.indicators import dressing, nutrients
from pipeline.indicators.record import Due, Indicator
from pipeline.indicators.records import GreenRecords
from pipeline.indicators.standing import target_for
from pipeline.words import counted, long_date

SAMPLE_EVERY_DAYS = 365
"""Organic matter is sampled about once a year, same method and depth: common practice, no source."""


def due(records: GreenRecords, figures: tuple[Indicator, ...]) -> Iterator[Due]:
    """What is due next on this green, most weighty first."""
    yield from _dressing(records, figures)
    yield from _nitrogen(records, figures)
    yield from _next_feed(records)
    yield from _sample(records)
    if not any(one.name == "speed_s" for one in figures):
        yield Due("Time bowls", "at least 4 bowls a rink", "in play season", "No green speed was recorded this season.")


def _when(records: GreenRecords) -> tuple[str, bool]:
    """By when, and whether the season is over (what is due is then the next season's)."""
    if records.as_of >= records.season.end:
        return f"season {int(records.season.name) + 1}", True
    return f"by {long_date(records.season.end)}", False


def _applied(figures: tuple[Indicator, ...], name: str) -> float | None:
    """What is on: 0 where nothing was logged, None where something was whose amount is not known."""
    return next((one.value for one in figures if one.name == name), 0.0)


def _open(records: GreenRecords, figures: tuple[Indicator, ...], name: str) -> tuple[float, float | None, str] | None:
    """What is still open to a target's lower end, its upper end less what is on, and the source.

    None where nothing is open, or where what is on is not known.
    """
    target = target_for(records, name)
    if target is None or target.low is None:
        return None
    _, over = _when(records)
    done = 0.0 if over else _applied(figures, name)
    if done is None or target.low - done <= 0:
        return None
    return target.low - done, None if target.high is None else target.high - done, target.source


def _dressing(records: GreenRecords, figures: tuple[Indicator, ...]) -> Iterator[Due]:
    todo = _open(records, figures, "dressing_kg_m2")
    if todo is None or not records.area_m2:
        return
    low, high, source = todo
    tonnes = _on_green(records.area_m2, 1000, low, high, "t")
    by, over = _when(records)
    last = dressing.last_dressed(records)
    what = f"Top dressing, {last[1]}" if last and last[1] else "Top dressing"
    why = AmountText("Target ", span(low, high, "kg/m²", ".2g", carries=2), f" ({source}).")
    if not over:
        why = AmountText("Still open against the target: ", Amount(low, "kg/m²", ".2g"), f" ({source}).")
    quantity = AmountText(tonnes, " on ", Amount(records.area_m2, "m²", ",.0f"))
    day = None if over else records.season.end
    yield Due(what, quantity, by, why, day, *_of_green(records.area_m2, 1000, low, high), "t")


def _on_green(area_m2: float, parts: float, low: float, high: float | None, unit: str) -> AmountText:
    """A rate, or a range of rates, over the green's area in the larger unit, of which the rate's has so many parts."""
    return span(*_of_green(area_m2, parts, low, high), unit, ".1f")


def _of_green(area_m2: float, parts: float, low: float, high: float | None) -> tuple[float, float | None]:
    return low * area_m2 / parts, None if high is None else high * area_m2 / parts


def _nitrogen(records: GreenRecords, figures: tuple[Indicator, ...]) -> Iterator[Due]:
    todo = _open(records, figures, "nitrogen_kg_ha")
    if todo is None or not records.area_m2:
        return
    low, high, source = todo
    kg = low * records.area_m2 / 10_000
    by, over = _when(records)
    quantity = _on_green(records.area_m2, 10_000, low, high, "kg")
    why = AmountText(span(low, high, "kg/ha", ".0f"), f" ({source}); growth, colour and the label decide each dose.")
    day = None if over else records.season.end
    words = AmountText(quantity, " N", _as_product(records, kg))
    yield Due("Nitrogen", words, by, why, day, *_of_green(records.area_m2, 10_000, low, high), "kg")


def _as_product(records: GreenRecords, nitrogen_kg: float) -> str:
    """The lower figure in packs of the solid feed last used, "" where none can be named."""
    rows = nutrients.fed(records).filter(
        (pl.col("date") <= records.as_of) & (pl.col("n_pct") > 0) & (pl.col("form").fill_null("solid") == "solid")
    )
    if not rows.height:
        return ""
    last = rows.row(-1, named=True)
    kg = feed.product_for_nutrient_kg(nitrogen_kg, last["n_pct"])
    packs: str = ""
    if last["pack_kg"]:
        number = int(formula.packs(kg, last["pack_kg"]))
        packs = AmountText(f" ({counted(number, 'pack')} of ", Amount(last["pack_kg"], "kg"), ")")
    return AmountText("; the lower is ", Amount(kg, "kg", ",.0f"), f" of {last['material']}", packs)


def _next_feed(records: GreenRecords) -> Iterator[Due]:
    rows = nutrients.fed(records).filter(
        (pl.col("date") <= records.as_of) & (pl.col("nitrogen") > 0) & (pl.col("release_weeks") > 0)
    )
    if not rows.height:
        return
    last = rows.row(-1, named=True)
    until: date = last["date"] + timedelta(weeks=last["release_weeks"])
    word = "lasts" if until >= records.as_of else "lasted"
    yield Due(
        "Look at the green before the next feed",
        "as growth asks",
        f"from {long_date(until)}",
        f"{last['material']} of {long_date(last['date'])} {word} about {last['release_weeks']:g} weeks by its label.",
        until,
    )


def _sample(records: GreenRecords) -> Iterator[Due]:
    rows = records.soil.filter((pl.col("analyte") == "organic_matter") & (pl.col("date") <= records.as_of))
    last = rows["date"].max()
    if last is None:
        yield Due("Sample organic matter", "10 cores or more, 0–20 mm", "this winter", "No result is on record.")
    elif isinstance(last, date) and (records.as_of - last).days >= SAMPLE_EVERY_DAYS:
        again = last + timedelta(days=SAMPLE_EVERY_DAYS)
        yield Due(
            "Sample organic matter again",
            "same depths, laboratory and method",
            f"from {long_date(again)}",
            f"Last sampled {long_date(last)}; about once a year is common practice.",
            again,
        )
