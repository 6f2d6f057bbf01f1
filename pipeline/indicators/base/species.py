"""Shares of one place that add up: several species, each with a reading of its own, that are one thing to a figure."""

from __future__ import annotations

import polars as pl

from schemas.codes import code_list

PLACE = ["date", "green", "survey", "place", "rink", "x_m", "y_m", "method", "observed"]
"""What is the same in readings that add up."""
LOAD = "load_id"
WHOLE_PCT = 100.0


def shares_of_ground() -> pl.Expr:
    """Whether a reading is a share of the ground, as plants, moss and bare ground have."""
    kinds = code_list("observation").items()
    return pl.col("observed").is_in(
        [name for name, code in kinds if code.facts["family"] == "sward" and code.facts["unit"] == "%"]
    )


def one_place(rows: pl.DataFrame) -> pl.Expr:
    """What is the same in readings of one thing at one place.

    Where nothing names the place two lines are two places, and only what stands in several columns of one line is of
    one.
    """
    nameless = pl.all_horizontal(pl.col("place", "x_m", "y_m").is_null())
    lines = [pl.when(nameless).then(name).alias(f"of_{name}") for name in ("line", LOAD) if name in rows.columns]
    return pl.struct(*PLACE, *lines)


def added_up(rows: pl.DataFrame) -> pl.DataFrame:
    """Readings with those of one thing at one place put together (grain: place and thing), in their first one's row.

    Hits add up over the same points; over others only the shares do. What comes to more than the whole counts as the
    whole: plants may lie one above another, and loading has asked about it. Readings that are no shares of the ground
    are left as they are.

    Args:
        rows: readings with a value.
    """
    if rows.height == 1:
        return rows
    shares = rows.filter(shares_of_ground())
    place = one_place(rows)
    if not shares.select(place.is_duplicated().any()).item():
        return rows
    counted = (pl.col("points").n_unique().over(place) == 1) & pl.col("points").is_not_null()
    added = shares.with_columns(
        pl.col("value").sum().over(place).clip(upper_bound=WHOLE_PCT),
        pl.when(counted).then(pl.min_horizontal(pl.col("hits").sum().over(place), "points")).alias("hits"),
        pl.when(counted).then("points").alias("points"),
    )
    return pl.concat(
        [rows.filter(~shares_of_ground()), added.filter(shares.select(place.is_first_distinct()).to_series())]
    )
