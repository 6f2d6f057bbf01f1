"""Whether figures in the store are those that were written: each season of a green keeps a hash of its rows."""

from __future__ import annotations

from collections.abc import Iterable
from hashlib import sha256
from typing import TYPE_CHECKING

from pipeline.store.derived import DERIVED
from pipeline.store.store import Store

if TYPE_CHECKING:
    import polars as pl

SEALED = ("figure", "compared")
"""Tables of schema ``derived`` whose rows the hash is of."""


def seals_of(frames: Iterable[tuple[str, pl.DataFrame]]) -> dict[tuple[str, str], str]:
    """A hash of the rows of each green and season.

    Args:
        frames: tables of ``SEALED``, in that order, by name; rows of a green and season in the order of their places.
    """
    found: dict[tuple[str, str], list[str]] = {}
    for table, frame in frames:
        columns = [name for name, *_ in DERIVED[table][1]]
        for row in frame.select(columns).iter_rows():
            found.setdefault((row[0], row[1]), []).append(repr(row))
    return {of: sha256("\n".join(rows).encode("utf-8", "surrogatepass")).hexdigest() for of, rows in found.items()}


def altered_figures(store: Store) -> list[tuple[str, str]]:
    """Greens and seasons whose figures in the store are not those that were written, in order."""
    seals = seals_of((table, store.frame(f"FROM derived.{table}", by=("green", "season", "place"))) for table in SEALED)
    held = store.rows("SELECT green, season, rows_sha256 FROM derived.green_season ORDER BY green, season")
    # A season without a figure has no rows; one that an older version wrote has no hash, and is made anew anyway.
    marks = {(green, season): mark for green, season, mark in held}
    altered = [of for of, mark in marks.items() if mark is not None and seals.get(of, "") != mark]
    return sorted([*altered, *(seals.keys() - marks.keys())])
