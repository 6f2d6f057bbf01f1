"""A record's key as text: what a fault keeps of the record it is about, and what finds that record again later."""

from __future__ import annotations

from typing import TYPE_CHECKING

from schemas import Kind

if TYPE_CHECKING:
    import polars as pl


def key_text(kind: Kind) -> pl.Expr:
    """The key fields of a kind's records as JSON, null where a field is blank or was not understood."""
    import polars as pl

    fields = [pl.col(name).cast(pl.String) for name in kind.key]
    return pl.struct(fields).struct.json_encode().alias("record")
