"""Green speeds: feet into metres, a device named by its unit, and readings that only another unit makes a speed."""

from __future__ import annotations

import polars as pl

from pipeline.agronomy.green_speed import PLAYED_S, STIMP_PLAYED_M
from pipeline.common.faults import FaultKind, concat

OTHER_UNIT = FaultKind(
    "speed.other_unit",
    "Green speed that is one only in another unit",
    "A {device} reading of {value} {unit} is none that a green has ({range}); {value} {other} would be {as_other}.",
    "Look which unit the reading is in; say s, m or ft in the unit column or under [constants] of the profile; turn "
    "inches, centimetres and minutes into one of them (bounds: common practice, no source).",
)
FEET = 0.3048
"""Metres in a foot, exact (international foot)."""
_METRES = {"m": 1.0, "ft": FEET, "in": FEET / 12, "cm": 0.01}
_SECONDS = {"s": 1.0, "min": 60.0}


def green_speeds(records: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Readings in seconds or metres; a device named by its unit where none is given; 27 m is not filled in.

    Feet of a timed bowl stay feet: they are refused later, and the person is told of the unit that was written.
    """
    feet = (pl.col("unit") == "ft") & pl.col("device").ne_missing("timed_bowl")
    device = pl.when(pl.col("unit") == "s").then(pl.lit("timed_bowl")).otherwise(pl.lit("stimpmeter"))
    named = records.with_columns(pl.coalesce("device", device).alias("device"))
    faults = [
        *_of_another(named, "stimpmeter", ("m", "ft"), _METRES, STIMP_PLAYED_M),
        *_of_another(named, "timed_bowl", ("s",), _SECONDS, PLAYED_S),
    ]
    metres = named.with_columns(
        pl.when(feet).then(pl.col("value") * FEET).otherwise(pl.col("value")).alias("value"),
        pl.when(feet).then(pl.lit("m")).otherwise(pl.col("unit")).alias("unit"),
    )
    return metres, concat(faults)


def _of_another(
    records: pl.DataFrame, device: str, written: tuple[str, ...], sizes: dict[str, float], played: tuple[float, float]
) -> list[pl.DataFrame]:
    """The fault of each reading that lies outside what is played on in its own unit, and inside in another."""
    (low, high), base, faults = played, next(iter(sizes)), []
    for unit in written:
        mine = records.filter((pl.col("device") == device) & (pl.col("unit") == unit))
        odd = mine.filter(~(pl.col("value") * sizes[unit]).is_between(low, high))
        for (value,), same in odd.drop_nulls("value").group_by("value", maintain_order=True):
            fits = [other for other, size in sizes.items() if low <= float(str(value)) * size <= high]
            if fits:
                facts = {
                    "device": device.replace("_", " "),
                    "unit": unit,
                    "range": f"{low:g} to {high:g} {base}",
                    "other": fits[0],
                    "as_other": f"{float(str(value)) * sizes[fits[0]]:.3g} {base}",
                }
                faults.append(OTHER_UNIT.of(same, "value", pl.lit(f"{value:g}"), **facts))
    return faults
