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
from pipeline.indicators.base.description import NO_PUBLISHED, DefaultTarget, Description, Family, one_by_one
from pipeline.indicators.base.green_season import DataNote, Indicator, Sample, Series, Severity, Standing, Verdict
from pipeline.indicators.base.records import GreenRecords, evidence
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
    "organic_matter_trend_pct_year", "Organic matter, change a year", "%-points a year", "soil",
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


def organic_matter(records: GreenRecords) -> Iterator[Indicator]:
    """Latest organic matter and its trend for every depth sampled (grain: indicator).

    A day's results made in two ways are two figures, their band parted further by what tells them apart.
    """
    for band, rows in depth_bands(records):
        day = last_day(rows)
        every = apart(rows.filter(pl.col("date") == day), method_parts)
        for words, here in every:
            value = _value(here)
            latest = day_samples(here)[-1] if value is not None else None
            yield ORGANIC_MATTER.figure(
                value,
                here,
                "soil_test",
                band=", ".join(filter(None, (band, words))),
                low=latest.low if latest else None,
                high=latest.high if latest else None,
                method=f"{method_key(here.row(0, named=True))}. {interval_method(here)}",
                note=f"Sampled {sampled(here)}.{_below_note(here)}{beside(words, every)}",
                basis=basis_of(rows, here),
            )
        yield _trend(records, band, rows)


def basis_of(rows: pl.DataFrame, here: pl.DataFrame) -> Basis:
    """How the laboratory made organic-matter results, for their target.

    Args:
        rows: every result of the layer, which say whether it was made in more than one way.
        here: those of one method.
    """
    one = here.row(-1, named=True)
    several = len({method_key(row) for row in rows.iter_rows(named=True)}) > 1
    return Basis(one["burn_c"], one["preparation"], one["verdure"], one["lab"], None, several)


def last_day(rows: pl.DataFrame) -> date:
    """The latest day of the rows."""
    day = rows["date"].max()
    assert isinstance(day, date)
    return day


def sampled(rows: pl.DataFrame) -> str:
    """When the results of one sampling were taken, in words; the month or year where no more is known."""
    return period(*rows.select("date", "date_to").row(0))


def depth_bands(records: GreenRecords) -> Iterator[tuple[str, pl.DataFrame]]:
    """Organic-matter results up to the day of the report, depth by depth, shallow first."""
    rows = records.soil.filter((pl.col("analyte") == "organic_matter") & (pl.col("date") <= records.as_of))
    layer = ("depth_from_mm", "depth_to_mm")
    for ends in rows.select(layer).unique().sort(layer, maintain_order=True).iter_rows():
        same = [pl.col(name).eq_missing(pl.lit(end)) for name, end in zip(layer, ends, strict=True)]
        yield band_name(*ends), rows.filter(same)


def band_name(low: float | None, high: float | None) -> str:
    """A layer as printed: 0–20 mm; "depth not stated" where the laboratory does not say."""
    if low is None and high is None:
        return "depth not stated"
    return f"{0 if low is None else low:g}–{'?' if high is None else f'{high:g}'} mm"


def day_samples(rows: pl.DataFrame) -> list[Sample]:
    """Results of each day and method as one sample, oldest first; comparable only with the latest's method."""
    keyed = rows.with_columns(
        pl.Series("key", [method_key(row) for row in rows.iter_rows(named=True)], dtype=pl.String)
    )
    latest = latest_method(rows)
    found = []
    for (day, key), part in sorted(
        keyed.group_by("date", "key", maintain_order=True), key=lambda group: (group[0][0], str(group[0][1]))
    ):
        values = part["value"].to_list()
        mean = mean_interval(values, confidence=CONFIDENCE)
        low, high = None if mean.low is None else max(0.0, mean.low), mean.high
        if low is None and (half := _core_half_width(part)) is not None:
            low, high = max(0.0, mean.mean - half), mean.mean + half
        assert isinstance(day, date)
        places = evidence(part, "soil_test")
        found.append(Sample(day, mean.mean, low, high, len(values), tuple(values), str(key), key == latest, places))
    return found


def _core_half_width(part: pl.DataFrame) -> float | None:
    cores = part["cores"].sum() if part["cores"].null_count() == 0 else None
    if not cores or part["below_limit"].any():
        return None
    return float(sampling_half_width(CORE_VARIATION * float(part["value"][0]), float(cores), CONFIDENCE))


def interval_method(rows: pl.DataFrame) -> str:
    """How the interval of a sample was made, or why there is none."""
    if rows.height > 1:
        return f"95 % interval from the spread of the {rows.height} results."
    if rows["cores"].null_count() == 0:
        return (
            f"One bulked sample of {rows['cores'][0]} cores: 95 % interval from the 14 % by which cores of one green "
            "are known to vary."
        )
    return "One result without a number of cores: no interval."


def _value(rows: pl.DataFrame) -> float | None:
    """Mean of the results, None where one of them only says "less than"."""
    return None if rows["below_limit"].any() else float(rows["value"].mean())  # type: ignore[arg-type]


def _below_note(rows: pl.DataFrame) -> str:
    below = rows.filter("below_limit")
    if not below.height:
        return ""
    said = below.select("value", "unit").unique().sort("value", "unit", maintain_order=True).iter_rows()
    limits = ", ".join("limit not stated" if value is None else f"<{value:g} {unit}" for value, unit in said)
    return f" {below.height} of {rows.height} below the laboratory's limit ({limits}): no mean is made."


def trend(records: GreenRecords, rows: pl.DataFrame) -> Trend:
    """The verdict on the green's organic matter at one depth."""
    order = rows.drop_nulls("value").sort("date", "file", "line", maintain_order=True)
    keys = [method_key(row) for row in order.iter_rows(named=True)]
    return trend_verdict(
        order["date"].to_list(),
        order["value"].to_list(),
        keys,
        measurement_sd=_measurement_sd(order),
        laboratory=LABORATORY,
        weeks=records.options.weeks,
        alpha=ALPHA,
        below_limit=order["below_limit"].fill_null(value=False).to_list(),
        unit="%",
    )


def _measurement_sd(rows: pl.DataFrame) -> list[float] | None:
    """Standard deviation of each result by coring alone; None where a result does not say how many cores it holds."""
    if rows["cores"].null_count() or (rows["value"] <= 0).any():
        return None
    pairs = rows.select("value", "cores").iter_rows()
    return [sampling_sd(value, cores, core_cv=CORE_VARIATION) for value, cores in pairs]


def _trend(records: GreenRecords, band: str, rows: pl.DataFrame) -> Indicator:
    verdict = trend(records, rows)
    standing: Standing = verdict.word if verdict.word in {"too few", "not comparable"} else "no target"
    return ORGANIC_MATTER_TREND.figure(
        verdict.slope,
        rows,
        "soil_test",
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
        return f"Least squares {line.slope:.2f} ({line.low:.2f} to {line.high:.2f})."
    return ""


def breaks(records: GreenRecords) -> Iterator[DataNote]:
    """Why organic matter gives no trend, or what of it is not in the trend, with the depths that it holds for."""
    found: dict[tuple[Severity, str, str], list[str]] = {}
    for band, rows in depth_bands(records):
        verdict = trend(records, rows)
        day = last_day(rows)
        if len(apart(rows.filter(pl.col("date") == day), method_parts)) > 1:
            why = (
                f"on {long_date(day)} it was measured in more than one way; figures stand for each, trend and chart go "
            )
            found.setdefault(
                ("note", "Organic matter", f"{why}on with the longer record, {latest_method(rows)}."), []
            ).append(band)
        if verdict.word == "not comparable":
            found.setdefault(("warning", "No trend of organic matter", verdict.why), []).append(band)
        elif verdict.left_out:
            left = counted(verdict.left_out, "sample")
            why = f"{left} left out, of a time of the year that leads to no other year. {season_rule(records)}"
            found.setdefault(("note", "Trend of organic matter", why), []).append(band)
    for (severity, what, why), bands in found.items():
        yield DataNote(severity, f"{what} ({listed(bands)}): {why}")


def organic_matter_series(records: GreenRecords) -> Iterator[Series]:
    """Organic matter over the years, depth by depth, for the charts."""
    for band, rows in depth_bands(records):
        plain = rows.filter(~pl.col("below_limit").fill_null(value=False))
        if plain.height:
            latest = of_method(plain, latest_method(plain))
            yield series(records, ORGANIC_MATTER, day_samples(plain), band, basis_of(rows, latest))


def chemistry(records: GreenRecords) -> Iterator[Indicator]:
    """Every other result, latest sampling.

    Grain: analyte, extractant and unit, and depth and laboratory where there are several.
    """
    rows = with_twins(records.soil.filter((pl.col("analyte") != "organic_matter") & (pl.col("date") <= records.as_of)))
    order = list(analytes())
    groups = rows.group_by("analyte", "extractant", "unit", maintain_order=True)
    for (analyte, extractant, unit), part in sorted(groups, key=lambda g: (order.index(g[0][0]), str(g[0][1:]))):
        layers = part.partition_by("depth_from_mm", "depth_to_mm")
        for layer in layers:
            day = last_day(layer)
            depth = band_name(*layer.select("depth_from_mm", "depth_to_mm").row(0)) if len(layers) > 1 else ""
            every = apart(layer.filter(pl.col("date") == day), lab_parts)
            for words, here in every:
                one = _latest(str(analyte), None if extractant is None else str(extractant), str(unit), day, here)
                band = ", ".join(filter(None, (one.band, depth, words)))
                yield replace(one, band=band, note=f"{one.note}{beside(words, every)}")


def with_twins(rows: pl.DataFrame) -> pl.DataFrame:
    """Results, and those in mg/l again in mg/kg where the laboratory states the soil's density (``from_mg_l``).

    No twin is made where that laboratory gives the same thing of that day in mg/kg itself.
    """
    rows = rows.with_columns(pl.lit(value=False).alias("from_mg_l"))
    dense = rows.filter((pl.col("unit") == "mg/l") & pl.col("density_kg_l").is_not_null())
    same = ["date", "analyte", "extractant", "depth_from_mm", "depth_to_mm", "lab"]
    own = rows.filter(pl.col("unit") == "mg/kg")
    twins = dense.join(own, on=same, how="anti", nulls_equal=True, maintain_order="left").with_columns(
        mg_kg_from_mg_l(pl.col("value"), pl.col("density_kg_l")).alias("value"),
        pl.lit("mg/kg").alias("unit"),
        pl.lit(value=True).alias("from_mg_l"),
    )
    return pl.concat([rows, twins])


def _latest(analyte: str, extractant: str | None, unit: str, day: date, here: pl.DataFrame) -> Indicator:
    by = code_list("extractant")[extractant].label if extractant else ""
    value = _value(here)
    mean = mean_interval(here["value"].to_list(), confidence=CONFIDENCE) if value is not None else None
    layer = band_name(*here.select("depth_from_mm", "depth_to_mm").row(0))
    lab = here["lab"][0]
    band = "" if analyte in WITHOUT_EXTRACTANT else by or "extractant not stated"
    return RESULTS[result_name(analyte, unit)].figure(
        value,
        here,
        "soil_test",
        band=band,
        low=mean.low if mean else None,
        high=mean.high if mean else None,
        method=f"{lab or 'laboratory not stated'}; {layer}{f'; {by}' if by else ''}.{_turned(here)}",
        note=f"Sampled {sampled(here)}.{_below_note(here)}{_uk_index(analyte, extractant, unit, value)}",
        basis=Basis(lab=lab, extractant=extractant),
    )


def _turned(here: pl.DataFrame) -> str:
    """The density that turned mg/l into mg/kg; "" where the laboratory gave the unit itself."""
    densities = here.filter("from_mg_l")["density_kg_l"].unique().sort()
    return f" mg/l ÷ {', '.join(f'{one:g}' for one in densities)} kg/l of scooped soil." if len(densities) else ""


def _uk_index(analyte: str, extractant: object, unit: str, value: float | None) -> str:
    """The result's UK agricultural index, said to be agricultural; "" where the scale is not made for it."""
    nutrient = UK_SCALE.get((analyte, str(extractant)))
    if nutrient is None or unit != "mg/l" or value is None:
        return ""
    return f" UK agricultural index {uk_index(value, nutrient)}: no measure of what turf needs."


DEPTHS = Family((ORGANIC_MATTER, ORGANIC_MATTER_TREND), one_by_one(organic_matter))
CHEMISTRY = Family(tuple(RESULTS.values()), one_by_one(chemistry))
