"""Records of many greens together: what is made of one frame for all of them, and read out row by row."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import Any

import numpy as np
import polars as pl

from pipeline.indicators.base.by_kind import ByKind, MadeWhenAsked
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.workspace.settings import Settings


class Together(ByKind):
    """Records of many greens, rows with ``of``, the number of the green they are of."""

    def __init__(self, each: Sequence[GreenRecords]) -> None:
        self.each = each

    @property
    def settings(self) -> Settings:  # type: ignore[override]
        """The workspace's."""
        return self.each[0].settings

    @cached_property
    def frames(self) -> Mapping[str, pl.DataFrame]:  # type: ignore[override]
        """Of a kind, all years, made when it is first looked at."""
        return MadeWhenAsked(lambda kind: self.numbered(one.frames[kind] for one in self.each))

    @cached_property
    def applications(self) -> pl.DataFrame:  # type: ignore[override]
        """What was put on, all seasons."""
        return self.numbered(one.applications for one in self.each)

    @cached_property
    def spans(self) -> pl.DataFrame:
        """Of each green ``of``, first and last day of the season up to ``as_of``, and the last day looked at."""
        rows = [(of, one.season.start, one.as_of, one.until) for of, one in enumerate(self.each)]
        schema = {"of": pl.UInt32, "season_start": pl.Date, "as_of": pl.Date, "looked_until": pl.Date}
        return pl.DataFrame(rows, schema=schema, orient="row")

    def numbered(self, frames: Iterable[pl.DataFrame]) -> pl.DataFrame:
        """Frames of the greens, in their order, as one with ``of``."""
        every = list(frames)
        numbers = np.repeat(np.arange(len(every), dtype=np.uint32), [frame.height for frame in every])
        return pl.concat(every, rechunk=True).with_columns(pl.Series("of", numbers, dtype=pl.UInt32))

    def in_season(self, frame: pl.DataFrame) -> pl.DataFrame:
        """The rows of each green's season up to its ``as_of``."""
        return self.where(frame, pl.col("date").is_between("season_start", "as_of"))

    def where(self, frame: pl.DataFrame, kept: pl.Expr) -> pl.DataFrame:
        """The rows for which something holds that also asks for ``spans``."""
        both = frame.join(self.spans, on="of", how="left", maintain_order="left")
        return both.filter(kept).drop("season_start", "as_of", "looked_until")


def by_number(frame: pl.DataFrame, *columns: str) -> dict[int, list[dict[str, Any]]]:
    """Rows of a frame by the number of their green, in their order."""
    found: dict[int, list[dict[str, Any]]] = {}
    for row in frame.select("of", *columns).iter_rows(named=True):
        found.setdefault(row["of"], []).append(row)
    return found
