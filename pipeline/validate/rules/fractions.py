"""Rules for percentages so small that they may be fractions of 1: 0.041 where 4.1 % is meant."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.words import counted
from pipeline.indicators.base.species import shares_of_ground
from schemas import Kind
from schemas.codes import code_list

FRACTIONS = FaultKind(
    "value.fraction",
    "Fractions of 1 where percent is wanted",
    "{what}: {value} is {value} % as it stands, and {percent} % if a fraction of 1 is meant ({count} so small; {why}).",
    "If it is percent, nothing need be done. Else take this load back (undo LOAD), write percent or say factor = 100 "
    "of the column in a source profile, and load again.",
    severity="warning",
)

LEAST = {
    "organic_matter": 0.1, "organic_carbon": 0.05, "total_carbon": 0.05, "total_nitrogen": 0.005, "sand": 1.0,
    "moisture": 1.0, "cover": 1.0, "desirable_grass": 1.0,
}  # fmt: skip
"""By what was measured, percent: less is hardly found in the ground of a green (common practice, no source; of 8,700
samples of turf in open data none has less than 0.1 % of organic matter)."""
LEAST_OF_A_FILE = {"organic_matter": 0.3, "organic_carbon": 0.15, "total_carbon": 0.15}
"""The same where all results of a file are so small: one of pure sand may be, a whole file of them hardly is."""
OF_FIELDS = {
    "weather_day": {"humidity_pct": 1.0, "humidity_max_pct": 1.0, "humidity_min_pct": 1.0},
    "material": {
        "moisture_pct": 0.5, "sand_pct": 1.0, "soil_pct": 1.0, "organic_matter_pct": 0.1, "n_slow_pct": 1.0,
    },
}  # fmt: skip
"""The same of other fields: nowhere is the air so dry, and nobody declares so little (common practice, no source)."""
OF_INDICATORS = {
    "organic_matter_pct": LEAST_OF_A_FILE["organic_matter"], "moisture_pct": LEAST["moisture"],
    "cover_pct": LEAST["cover"], "desirable_pct": LEAST["desirable_grass"],
}  # fmt: skip
"""The same of indicators, for targets."""
LABEL = ("n_pct", "p_pct", "k_pct", "mg_pct", "s_pct", "fe_pct", "ca_pct", "mn_pct")
LEAST_LABEL = 0.65
"""Percent of the largest part of a label under which it is asked about: as fractions of 1 the strongest feeds have 0.46
of nitrogen and 0.6 of potash (common practice, no source)."""
ONE_IN_A_THOUSAND = 0.1
"""Percent that a count of plants can hardly tell: a single share under it is asked about, others only where all are
so small."""
MONTH_DAYS = 20
"""Days from which on a month's mean humidity is asked about instead (weather.py)."""


def check(kind: Kind, records: pl.DataFrame) -> pl.DataFrame:
    """Warnings of percentages that may be fractions of 1: one a thing measured, field or label, at its first line."""
    faults = [_of_field(records, name, least) for name, least in OF_FIELDS.get(kind.name, {}).items()]
    if kind.name == "material":
        faults.append(_of_label(records))
    if kind.name == "target":
        faults.append(_of_targets(records))
    if kind.name == "soil_test":
        faults += _of_things(records, "analyte")
    if kind.name == "observation":
        faults += [*_of_things(records.filter(pl.col("hits").is_null()), "observed"), _of_sward(records)]
    return concat(faults)


def _of_field(records: pl.DataFrame, name: str, least: float) -> pl.DataFrame:
    known = records.filter(pl.col(name) > 0)
    if name.startswith("humidity") and known.height >= MONTH_DAYS:
        return no_faults()
    return _warned(known.filter(pl.col(name) < least), name, name, f"less than {least:g} % is hardly found")


def _of_things(records: pl.DataFrame, named: str) -> Iterator[pl.DataFrame]:
    """Results of each thing that are smaller than it is found."""
    low = records.filter((pl.col("unit") == "%") & (pl.col("value") > 0))
    if "below_limit" in low.columns:  # a limit may lie lower than anything is found
        low = low.filter(~pl.col("below_limit").fill_null(value=False))
    most = pl.col("value").max().over(named)
    single, whole = (pl.col(named).replace_strict(one, default=None, return_dtype=pl.Float64) for one in _BOUNDS)
    low = low.filter((pl.col("value") < single) | (most < whole))
    for (thing,), part in low.group_by(named, maintain_order=True):
        label = next(codes[str(thing)].label for codes in _LISTS if str(thing) in codes)
        least = LEAST_OF_A_FILE.get(str(thing), LEAST[str(thing)])
        why = f"less than {LEAST[str(thing)]:g} % is hardly found"
        if part["value"].max() > LEAST[str(thing)]:  # type: ignore[operator]  # figures, none of them null
            why = f"no result of the file is {least:g} % or more"
        yield _warned(part, "value", label, why)


_BOUNDS = (LEAST, {**LEAST, **LEAST_OF_A_FILE})
_LISTS = [code_list("analyte"), code_list("observation")]


def _of_label(records: pl.DataFrame) -> pl.DataFrame:
    """Materials of whose label every part is less than a feed's strongest would be as a fraction."""
    largest = pl.max_horizontal(LABEL)
    low = records.with_columns(largest.alias("largest")).filter((largest > 0) & (largest < LEAST_LABEL))
    name = next((one for one in LABEL if low.height and low[one].item(0) == low["largest"].item(0)), LABEL[0])
    return _warned(low, "largest", "Label", f"every part of the label is under {LEAST_LABEL:g} %", at=name)


def _of_targets(records: pl.DataFrame) -> pl.DataFrame:
    """Targets in percent whose upper end, or lower where it is blank, is smaller than the thing is found."""
    end = pl.coalesce("high", "low")
    least = pl.col("indicator").replace_strict(OF_INDICATORS, default=None, return_dtype=pl.Float64)
    low = records.with_columns(end.alias("end")).filter((pl.col("unit") == "%") & (end > 0) & (end < least))
    at = "low" if low.height and low["high"].item(0) is None else "high"
    return _warned(low, "end", "Target", "the thing itself is hardly found so small", at=at)


def _of_sward(records: pl.DataFrame) -> pl.DataFrame:
    """Shares of the ground that were not made from counts, where none of the file is more than 1."""
    known = records.filter(shares_of_ground() & pl.col("hits").is_null() & (pl.col("value") > 0))
    known = known.filter(~pl.col("observed").is_in([name for name in LEAST if name in code_list("observation")]))
    low = known.filter(pl.col("value") < ONE_IN_A_THOUSAND)
    if known.height and (known["value"] <= 1).all() and known.filter(pl.col("value") < 1)["value"].n_unique() > 1:
        return _warned(
            known.filter(pl.col("value") < 1), "value", "Shares of the ground", "none of the file is above 1"
        )
    return _warned(low, "value", "Shares of the ground", "one point in a thousand is hardly counted")


def _warned(low: pl.DataFrame, name: str, what: str, why: str, at: str = "") -> pl.DataFrame:
    """One warning of all these records, at the first; none where there are none."""
    if low.is_empty():
        return no_faults()
    line, value = low.select("line", name).row(0)
    facts = {"what": what, "percent": f"{100 * value:.10g}", "count": counted(low.height, "figure"), "why": why}
    return FRACTIONS.at(line, f"{value:.10g}", at or name, **facts)
