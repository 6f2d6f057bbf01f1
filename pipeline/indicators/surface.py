"""Green speed: seconds over 27 m, spread, evenness between rinks. Fewer seconds is a slower green."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import polars as pl

from pipeline.agronomy.green_speed import evenness_s, seconds_at_27_m
from pipeline.indicators.record import Indicator, Sample, Series
from pipeline.indicators.records import GreenRecords
from pipeline.indicators.standing import evidence, target_for
from pipeline.statistics.interval import mean_interval
from pipeline.words import counted, listed

METHOD = "Timed bowls, corrected to 27 m by t × √(27 ÷ d); fewer seconds is a slower green."


def timed(records: GreenRecords) -> pl.DataFrame:
    """Timed bowls up to the day of the report, with ``speed_s`` at 27 m and whether that distance was given."""
    rows = records.speeds.filter((pl.col("device") == "timed_bowl") & (pl.col("date") <= records.as_of))
    distance = pl.col("distance_m").fill_null(27.0)
    return rows.with_columns(
        seconds_at_27_m(pl.col("value"), distance).alias("speed_s"), pl.col("distance_m").is_null().alias("assumed")
    )


def speed(records: GreenRecords) -> list[Indicator]:
    """Mean, spread and evenness of the season's timed bowls (grain: indicator)."""
    rows = records.in_season(timed(records))
    if not rows.height:
        return []
    days = [sample.value for sample in day_samples(rows)]
    mean = mean_interval(days)
    place = evidence(rows, "green_speed")
    base = Indicator(
        "speed_s",
        "Green speed",
        "",
        mean.mean,
        "s",
        rows.height,
        mean.low,
        mean.high,
        family="surface",
        decimals=1,
        method=f"{METHOD} Mean of the {counted(len(days), 'day')}; 95 % interval from the spread between days.",
        note=_note(rows, days),
        evidence=place,
    )
    found = [base]
    if rows.height > 1:
        found.append(
            replace(
                base,
                name="speed_sd_s",
                label="Spread of single bowls",
                value=float(rows["speed_s"].std()),  # type: ignore[arg-type]
                low=None,
                high=None,
                note="",
                method=f"{METHOD} Standard deviation of all bowls of the season.",
            )
        )
    return found + _evenness(base, rows)


def _note(rows: pl.DataFrame, days: list[float]) -> str:
    parts = []
    if len(days) == 1:
        parts.append("One day only: no interval.")
    if assumed := rows.filter("assumed").height:
        parts.append(f"{assumed} of {rows.height} bowls give no distance; 27 m is taken.")
    return " ".join(parts)


def _evenness(base: Indicator, rows: pl.DataFrame) -> list[Indicator]:
    """Range between rink means, each day taken for itself so that weather does not count as unevenness."""
    known = rows.filter(pl.col("rink").is_not_null())
    known = known.filter(pl.col("rink").n_unique().over("date") > 1)  # a rink timed alone has nothing beside it
    daily = known.with_columns((pl.col("speed_s") - pl.col("speed_s").mean().over("date")).alias("off"))
    rinks = daily.group_by("rink").agg(pl.col("off").mean(), pl.len().alias("bowls")).sort("rink")
    if rinks.height < 2:
        return []
    slow, fast = rinks.sort("off")["rink"][0], rinks.sort("off")["rink"][-1]
    fewest = min(rinks["bowls"].to_list())
    return [
        replace(
            base,
            name="speed_range_s",
            label="Evenness: slowest to fastest rink",
            value=evenness_s(rinks["off"].to_list()),
            low=None,
            high=None,
            n=known.height,
            decimals=2,
            method="Each bowl against the mean of its day, averaged by rink; largest less smallest rink mean.",
            note=f"Slowest rink {slow}, fastest rink {fast}; at least {counted(fewest, 'bowl')} a rink.",
            evidence=evidence(known, "green_speed"),
        )
    ]


def day_samples(rows: pl.DataFrame) -> list[Sample]:
    """The timed bowls of each day as one sample, oldest first."""
    found = []
    for (day,), part in sorted(rows.group_by("date"), key=lambda group: str(group[0][0])):
        values = part["speed_s"].to_list()
        mean = mean_interval(values)
        assert isinstance(day, date)
        found.append(Sample(day, mean.mean, mean.low, mean.high, len(values), tuple(values), METHOD))
    return found


def speed_series(records: GreenRecords) -> list[Series]:
    """Green speed through the season, for the chart; empty where nothing was timed."""
    rows = records.in_season(timed(records))
    if not rows.height:
        return []
    target = target_for(records, "speed_s")
    ends = (target.low, target.high, target.source) if target else (None, None, "")
    return [Series("Green speed", "", "s", tuple(day_samples(rows)), *ends)]


def other_devices(records: GreenRecords) -> str:
    """What was measured otherwise and is therefore not in the figures; "" where nothing was."""
    rows = records.in_season(records.speeds).filter(pl.col("device") != "timed_bowl")
    if not rows.height:
        return ""
    names = listed(sorted(str(name).replace("_", " ") for name in rows["device"].unique()))
    return f"{counted(rows.height, 'reading')} by {names} are kept apart: they are never turned into seconds."
