"""One zero: a reading of -0.0 is 0, and is kept so.

The two are equal, and yet other bytes: a hash over the one is not that over the other, and DuckDB writes the one of
them that comes first into a Parquet file for both.
"""

from __future__ import annotations

import polars as pl


def one_zero(frame: pl.DataFrame) -> pl.DataFrame:
    """The frame with 0.0 for every -0.0."""
    fractions = [name for name, kind in frame.schema.items() if kind == pl.Float64]
    plain = [pl.when(pl.col(name) == 0).then(0.0).otherwise(pl.col(name)).alias(name) for name in fractions]
    return frame.with_columns(plain) if plain else frame
