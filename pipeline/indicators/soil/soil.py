"""Soil tests: organic matter by depth with its trend, pH and nutrients with their method."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from typing import Any

import polars as pl

from pipeline.agronomy.soil.organic_matter import sampling_half_width
from pipeline.agronomy.soil.soil import UkNutrient, mg_kg_from_lb_acre, mg_kg_from_mg_l, uk_index
from pipeline.common.words import counted, listed, long_date, period
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import NO_PUBLISHED, DefaultTarget, Description, Family
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import DataNote, Indicator, Sample, Series, Severity, Standing, Verdict
from pipeline.indicators.base.rows import Row, Rows
from pipeline.indicators.base.standing import series
from pipeline.indicators.soil.methods import (
    apart,
    beside,
    lab_parts,
    latest_method,
    method_key,
    method_parts,
    of_method,
)
from pipeline.indicators.soil.readings import reading_of
from pipeline.statistics.interval import mean_interval, sampling_sd
from pipeline.statistics.kendall import mann_kendall
from pipeline.statistics.trend import least_squares, theil_sen
from pipeline.statistics.verdict import Laboratory, Trend, fewest_years, trend_verdict
from pipeline.statistics.year_effects import year_effects
from pipeline.workspace.targets.fit import Basis
from schemas.codes import analytes, code_list

CORE_VARIATION = 0.14
"""Spread between single cores of one green, as a share of their mean: median of 16 greens, 112 tests (Asian Turfgrass
Center 2020-07-06). Used only where a sample is one bulked result and says how many cores it holds."""
LABORATORY = Laboratory(year_cv=0.04, drift=0.015)
"""What a laboratory's own level is taken to differ by from year to year (4 % of the result), and to drift by (1.5 % a
year): common practice, no source. Between laboratories organic matter differs by 15 to 20 % (Miller & Czyryca 2015,
ALP program, abstract 93418 of the ASA, CSSA and SSSA meetings); none was found for one laboratory over the years. With
these, simulated laboratories that drift by 2 % a year or step by 15 % make 5 % false trends at most."""
CONFIDENCE = 0.95
ALPHA = 0.05
"""Level of the test for a trend, two-sided."""
WITHOUT_EXTRACTANT = {
    *("ph", "exchange_capacity", "conductivity", "bulk_density", "sand", "silt", "clay"),
    *("total_nitrogen", "total_carbon", "organic_carbon", "inorganic_carbon"),
}
"""Results that are not of an extract, or whose name says it all."""
UK_SCALE: dict[tuple[str, str], UkNutrient] = {
    ("phosphorus", "olsen"): "P",
    ("potassium", "ammonium_nitrate"): "K",
    ("magnesium", "ammonium_nitrate"): "Mg",
}
"""Analyte and extractant that the UK agricultural index is made for, in mg/l."""

ORGANIC_MATTER = Description(
    "organic_matter_pct", "Organic matter", "%", "soil",
    "Loss on ignition of the layer, latest sampling.",
    "Mean of that day's results; 95 % interval from their spread, or, for one bulked sample that says how many cores "
    "it holds, from the 14 % by which cores of one green vary. A result that only says \"less than\" makes no mean.",
    band="depth", formulas=(sampling_half_width,),
    targets=(DefaultTarget(
        None, None, NO_PUBLISHED, note="limits for golf greens stand in the set golf-greens; without their method they "
        "judge no result",
    ),),
    reading=reading_of("organic_matter"), day_needed=False,
)  # fmt: skip
ORGANIC_MATTER_TREND = Description(
    "organic_matter_trend_pct_year", "Organic matter, change a year", "percentage points a year", "soil",
    "Whether the layer gains or loses organic matter, and how fast.",
    "Only from samples of one method (burn temperature, preparation, verdure, laboratory), each time of the year with "
    "its like (`sampling_weeks` of the settings), a year counting once: Mann–Kendall test and Theil–Sen slope with its "
    "interval, which allows for the laboratory's own change (4 % between years, 1.5 % drift a year: common practice, "
    "no source); least squares beside it. \"too few\" or \"not comparable\" with the reason where that cannot be.",
    band="depth", decimals=2, formulas=(mann_kendall, theil_sen, least_squares, year_effects), difference=True,
)  # fmt: skip


def _results() -> Iterator[Description]:
    """One a measured thing and unit: mg/l stays mg/l, because only a density turns it into mg/kg."""
    for analyte, code in analytes().items():
        if analyte == "organic_matter":
            continue
        wanted = str(code.facts["unit"])
        for unit in (wanted, "mg/l") if wanted == "mg/kg" else (wanted,):
            yield Description(
                result_name(analyte, unit), code.label, _printed(unit), "soil", "Latest sampling.",
                "Mean of that day's results.",
                band="extractant" if wanted == "mg/kg" else "", decimals=int(code.facts["decimals"]),
                formulas=_formulas(analyte, unit), targets=_PH if analyte == "ph" else (),
                reading=reading_of(analyte), day_needed=False,
            )  # fmt: skip


def _printed(unit: str) -> str:
    """A unit as it is printed, its code where that says the same."""
    codes = code_list("soil_unit")
    return codes[unit].label if unit in codes and unit != "pH" else unit


def result_name(analyte: str, unit: str) -> str:
    """The indicator of a result: its analyte and unit (``potassium_mg_kg``)."""
    suffix = unit.replace("%", "pct").replace("/", "_").lower()
    return analyte if unit in {"", "pH"} else f"{analyte}_{suffix}"


def _formulas(analyte: str, unit: str) -> tuple[Callable[..., Any], ...]:
    if unit == "mg/kg":
        return (mg_kg_from_mg_l, mg_kg_from_lb_acre)
    return (uk_index,) if unit == "mg/l" and analyte in {one for one, _ in UK_SCALE} else ()


_PH = (DefaultTarget(None, None, NO_PUBLISHED, unit="pH"),)
RESULTS = {one.name: one for one in _results()}


OF_RESULT = (
    "date", "date_to", "analyte", "depth_from_mm", "depth_to_mm", "extractant", "lab", "sample", "reference", "value",
    "unit", "below_limit", "cores", "burn_c", "preparation", "verdure", "density_kg_l", "bulk_density_t_m3",
)  # fmt: skip


def results(asked: Asked) -> list[Rows]:
    """Organic-matter results of each green up to the last day counted."""
    return asked.once(_read_out)


def _read_out(asked: Asked) -> list[Rows]:
    return list(asked.each_season(asked.so_far(of_organic_matter(asked)), "soil_test", *OF_RESULT))


def of_organic_matter(asked: Asked) -> pl.DataFrame:
    """Results of organic matter, of all years."""
    return asked.soil.filter(pl.col("analyte") == "organic_matter")


def organic_matter(asked: Asked) -> Iterator[Indicator]:
    """Latest organic matter and its trend for every depth sampled (grain: indicator).

    A day's results made in two ways are two figures, their band parted further by what tells them apart.
    """
    for band, rows, verdict in asked.once(trends):
        yield from _latest_matter(band, rows)
        yield _trend(asked.each[rows.of], band, rows, verdict)


def trends(asked: Asked) -> list[tuple[str, Rows, Trend]]:
    """Every depth sampled with its results and the verdict on them (grain: green, season and depth)."""
    of_greens = ((asked.each[every.of], *layer) for every in results(asked) for layer in depth_bands(every))
    return [(band, rows, trend(records, rows)) for records, band, rows in of_greens]


def _latest_matter(band: str, rows: Rows) -> Iterator[Indicator]:
    every = apart(rows.having("date", last_day(rows)), method_parts)
    for words, here in every:
        value = _value(here)
        latest = day_samples(here)[-1] if value is not None else None
        yield ORGANIC_MATTER.figure(
            value,
            here,
            band=", ".join(filter(None, (band, words))),
            low=latest.low if latest else None,
            high=latest.high if latest else None,
            method=f"{method_key(here.rows[0])}. {interval_method(here)}",
            note=f"Sampled {sampled(here)}.{_below_note(here)}{beside(words, every)}",
            basis=basis_of(rows, here),
        )


def basis_of(rows: Rows, here: Rows) -> Basis:
    """How the laboratory made organic-matter results, for their target.

    Args:
        rows: every result of the layer, which say whether it was made in more than one way.
        here: those of one method.
    """
    one = here.rows[-1]
    several = len({method_key(row) for row in rows}) > 1
    return Basis(one["burn_c"], one["preparation"], one["verdure"], one["lab"], None, several)


def last_day(rows: Rows) -> date:
    """The latest day of the rows."""
    day: date = max(rows.column("date"))
    return day


def sampled(rows: Rows) -> str:
    """When the results of one sampling were taken, in words; the month or year where no more is known."""
    return period(rows.rows[0]["date"], rows.rows[0]["date_to"])


def layers(records: GreenRecords) -> Iterator[tuple[str, Rows]]:
    """Organic-matter results of a green up to the last day counted, depth by depth, shallow first."""
    for rows in results(Asked.about([records])):
        yield from depth_bands(rows)


def depth_bands(rows: Rows) -> Iterator[tuple[str, Rows]]:
    """A green's organic-matter results, depth by depth, shallow first."""
    parts = rows.split("depth_from_mm", "depth_to_mm")
    for ends in sorted(parts, key=lambda ends: [(end is not None, end or 0.0) for end in ends]):
        yield band_name(*ends), parts[ends]


def band_name(low: float | None, high: float | None) -> str:
    """A layer as printed: 0–20 mm; "depth not stated" where the laboratory does not say."""
    if low is None and high is None:
        return "depth not stated"
    return f"{0 if low is None else low:g}–{'?' if high is None else f'{high:g}'} mm"


def day_samples(rows: Rows) -> list[Sample]:
    """Results of each day and method as one sample, oldest first; comparable only with the latest's method."""
    latest = latest_method(rows)
    parts: dict[tuple[date, str], list[Row]] = {}
    for row in rows:
        parts.setdefault((row["date"], method_key(row)), []).append(row)
    return [_sample(rows.these(of_day), key, latest) for (_, key), of_day in sorted(parts.items())]


def _sample(part: Rows, key: str, latest: str) -> Sample:
    """Results of one day and method as one sample."""
    values = part.column("value")
    mean = mean_interval(values, confidence=CONFIDENCE)
    low, high = None if mean.low is None else max(0.0, mean.low), mean.high
    if low is None and (half := _core_half_width(part)) is not None:
        low, high = max(0.0, mean.mean - half), mean.mean + half
    day = part.rows[0]["date"]
    return Sample(day, mean.mean, low, high, len(values), tuple(values), key, key == latest, part.evidence)


def _core_half_width(part: Rows) -> float | None:
    cores = None if part.having("cores", None) else part.total("cores")
    if not cores or any(part.column("below_limit")):
        return None
    return float(sampling_half_width(CORE_VARIATION * float(part.rows[0]["value"]), cores, CONFIDENCE))


def interval_method(rows: Rows) -> str:
    """How the interval of a sample was made, or why there is none."""
    if len(rows) > 1:
        return f"95 % interval from the spread of the {len(rows)} results."
    if (cores := rows.rows[0]["cores"]) is not None:
        return (
            f"One bulked sample of {cores} cores: 95 % interval from the 14 % by which cores of one green are known to "
            "vary."
        )
    return "One result without a number of cores: no interval."


def _value(rows: Rows) -> float | None:
    """Mean of the results, None where one of them only says "less than"."""
    return None if any(rows.column("below_limit")) else rows.mean("value")


def _below_note(rows: Rows) -> str:
    below = rows.having("below_limit", True)
    if not below:
        return ""
    said = sorted(below.split("value", "unit"), key=lambda limit: (limit[0] is not None, *limit))
    limits = ", ".join("limit not stated" if value is None else f"<{value:g} {unit}" for value, unit in said)
    return f" {len(below)} of {len(rows)} below the laboratory's limit ({limits}): no mean is made."


def trend(records: GreenRecords, rows: Rows) -> Trend:
    """The verdict on the green's organic matter at one depth."""
    known = rows.given("value")
    return trend_verdict(
        known.column("date"),
        known.column("value"),
        [method_key(row) for row in known],
        measurement_sd=_measurement_sd(known),
        laboratory=LABORATORY,
        weeks=records.options.weeks,
        alpha=ALPHA,
        below_limit=[bool(below) for below in known.column("below_limit")],
        unit="%",
    )


def _measurement_sd(rows: Rows) -> list[float] | None:
    """Standard deviation of each result by coring alone; None where a result does not say how many cores it holds."""
    if rows.having("cores", None) or any(value <= 0 for value in rows.column("value")):
        return None
    return [sampling_sd(row["value"], row["cores"], core_cv=CORE_VARIATION) for row in rows]


def _trend(records: GreenRecords, band: str, rows: Rows, verdict: Trend) -> Indicator:
    standing: Standing = verdict.word if verdict.word in {"too few", "not comparable"} else "no target"
    return ORGANIC_MATTER_TREND.figure(
        verdict.slope,
        rows,
        n=verdict.n,
        band=band,
        low=verdict.low,
        high=verdict.high,
        standing=standing,
        method=f"{verdict.method}. {season_rule(records)}" if verdict.method else "No trend made.",
        note=_least_squares(verdict),
        verdict=Verdict(verdict.word, _in_short(verdict), verdict.p),
    )


def season_rule(records: GreenRecords) -> str:
    """What is taken to be the same time of the year, in words."""
    weeks = records.options.weeks
    if weeks is None:
        return "Whatever the time of the year, samples are taken to be alike (settings)."
    return f"Samples within {weeks:g} weeks of the same time of the year are alike (common practice, no source)."


def _in_short(verdict: Trend) -> str:
    """What the verdict rests on, as it stands beside its figure; the reason in full is a data note."""
    needed = fewest_years(ALPHA)
    if verdict.word == "not comparable":
        return f"the {verdict.broken_by} changed; {counted(verdict.years, 'year')} since, {needed} needed"
    samples = f"{counted(verdict.n, 'comparable sample')} of {counted(verdict.years, 'year')}"
    return f"{samples}, {needed} needed" if verdict.word == "too few" else f"{samples}, p {verdict.p:.2g}"


def _least_squares(verdict: Trend) -> str:
    """The least-squares slope with its interval, which stands beside the verdict's own; "" where there is none."""
    if (line := verdict.line) and line.low < line.high:
        return f"Least squares {line.slope:z.2f} ({line.low:z.2f} to {line.high:z.2f})."
    return ""


def breaks(asked: Asked) -> dict[int, list[DataNote]]:
    """Of each green and season that has any: why organic matter gives no trend, or what of it is not in the trend.

    Each with the depths that it holds for.
    """
    found: dict[tuple[int, Severity, str, str], list[str]] = {}
    for band, rows, verdict in asked.once(trends):
        for said in _broken(asked.each[rows.of], rows, verdict):
            found.setdefault((rows.of, *said), []).append(band)
    notes: dict[int, list[DataNote]] = {}
    for (of, severity, what, why), bands in found.items():
        notes.setdefault(of, []).append(DataNote(severity, f"{what} ({listed(bands)}): {why}"))
    return notes


def _broken(records: GreenRecords, rows: Rows, verdict: Trend) -> Iterator[tuple[Severity, str, str]]:
    """What is to be told of one depth: severity, of what, and why."""
    day = last_day(rows)
    if len(apart(rows.having("date", day), method_parts)) > 1:
        why = f"on {long_date(day)} it was measured in more than one way; figures stand for each, trend and chart go "
        yield "note", "Organic matter", f"{why}on with the longer record, {latest_method(rows)}."
    if verdict.word == "not comparable":
        yield "warning", "No trend of organic matter", verdict.why
    elif verdict.left_out:
        left = counted(verdict.left_out, "sample")
        why = f"{left} left out, of a time of the year that leads to no other year. {season_rule(records)}"
        yield "note", "Trend of organic matter", why


def organic_matter_series(records: GreenRecords) -> Iterator[Series]:
    """Organic matter over the years, depth by depth, for the charts."""
    for band, rows in layers(records):
        plain = rows.where(lambda row: not row["below_limit"])
        if plain:
            latest = of_method(plain, latest_method(plain))
            yield series(records, ORGANIC_MATTER, day_samples(plain), band, basis_of(rows, latest))


def chemistry(asked: Asked) -> Iterator[Indicator]:
    """Every other result, latest sampling.

    Grain: analyte, extractant and unit, and depth and laboratory where there are several.
    """
    rows = with_twins(asked.so_far(asked.soil.filter(pl.col("analyte") != "organic_matter")))
    for every in asked.each_season(rows, "soil_test", *OF_RESULT, "from_mg_l"):
        yield from _chemistry(every)


def _chemistry(every: Rows) -> Iterator[Indicator]:
    order = list(analytes())
    groups = every.split("analyte", "extractant", "unit").items()
    for (analyte, extractant, unit), part in sorted(groups, key=lambda g: (order.index(g[0][0]), str(g[0][1:]))):
        of_depth = part.split("depth_from_mm", "depth_to_mm")
        for ends, layer in of_depth.items():
            depth = band_name(*ends) if len(of_depth) > 1 else ""
            ways = apart(layer.having("date", last_day(layer)), lab_parts)
            for words, here in ways:
                one = _latest(analyte, extractant, unit, here)
                band = ", ".join(filter(None, (one.band, depth, words)))
                yield replace(one, band=band, note=f"{one.note}{beside(words, ways)}")


def with_twins(rows: pl.DataFrame) -> pl.DataFrame:
    """Results, and those in mg/l again in mg/kg where the laboratory states the soil's density (``from_mg_l``).

    No twin is made where that laboratory gives the same thing of that day in mg/kg itself.
    """
    rows = rows.with_columns(pl.lit(value=False).alias("from_mg_l"))
    dense = rows.filter((pl.col("unit") == "mg/l") & pl.col("density_kg_l").is_not_null())
    same = ["of", "date", "analyte", "extractant", "depth_from_mm", "depth_to_mm", "lab"]
    own = rows.filter(pl.col("unit") == "mg/kg")
    twins = dense.join(own, on=same, how="anti", nulls_equal=True, maintain_order="left").with_columns(
        mg_kg_from_mg_l(pl.col("value"), pl.col("density_kg_l")).alias("value"),
        pl.lit("mg/kg").alias("unit"),
        pl.lit(value=True).alias("from_mg_l"),
    )
    return pl.concat([rows, twins])


def _latest(analyte: str, extractant: str | None, unit: str, here: Rows) -> Indicator:
    by = code_list("extractant")[extractant].label if extractant else ""
    value, one = _value(here), here.rows[0]
    mean = mean_interval(here.column("value"), confidence=CONFIDENCE) if value is not None else None
    layer = band_name(one["depth_from_mm"], one["depth_to_mm"])
    band = "" if analyte in WITHOUT_EXTRACTANT else by or "extractant not stated"
    return RESULTS[result_name(analyte, unit)].figure(
        value,
        here,
        band=band,
        low=mean.low if mean else None,
        high=mean.high if mean else None,
        method=f"{one['lab'] or 'laboratory not stated'}; {layer}{f'; {by}' if by else ''}.{_turned(here)}",
        note=f"Sampled {sampled(here)}.{_below_note(here)}{_uk_index(analyte, extractant, unit, value)}",
        basis=Basis(lab=one["lab"], extractant=extractant),
    )


def _turned(here: Rows) -> str:
    """The density that turned mg/l into mg/kg; "" where the laboratory gave the unit itself."""
    densities = sorted(set(here.having("from_mg_l", True).column("density_kg_l")))
    return f" mg/l ÷ {', '.join(f'{one:g}' for one in densities)} kg/l of scooped soil." if densities else ""


def _uk_index(analyte: str, extractant: object, unit: str, value: float | None) -> str:
    """The result's UK agricultural index, said to be agricultural; "" where the scale is not made for it."""
    nutrient = UK_SCALE.get((analyte, str(extractant)))
    if nutrient is None or unit != "mg/l" or value is None:
        return ""
    return f" UK agricultural index {uk_index(value, nutrient)}: no measure of what turf needs."


DEPTHS = Family((ORGANIC_MATTER, ORGANIC_MATTER_TREND), organic_matter)
CHEMISTRY = Family(tuple(RESULTS.values()), chemistry)
