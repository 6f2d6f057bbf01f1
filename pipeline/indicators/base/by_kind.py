"""Frames of records under the names that figures know them by."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

import polars as pl

from pipeline.workspace.settings import Settings
from schemas import KINDS


class ByKind:
    """Frames by kind of record, under the names that figures know them by."""

    frames: Mapping[str, pl.DataFrame]
    applications: pl.DataFrame
    settings: Settings

    @property
    def jobs(self) -> pl.DataFrame:
        """Job log."""
        return self.frames["job"]

    @property
    def soil(self) -> pl.DataFrame:
        """Soil tests."""
        return self.frames["soil_test"]

    @property
    def speeds(self) -> pl.DataFrame:
        """Green speeds."""
        return self.frames["green_speed"]

    @property
    def observations(self) -> pl.DataFrame:
        """What was measured and counted on visits."""
        return self.frames["observation"]

    @property
    def sieves(self) -> pl.DataFrame:
        """Sieve analyses, of root zones and of materials."""
        return self.frames["sieve"]

    @property
    def levels(self) -> pl.DataFrame:
        """Surveyed points."""
        return self.frames["level"]

    @property
    def weather(self) -> pl.DataFrame:
        """Weather by day."""
        return self.frames["weather_day"]

    @property
    def materials(self) -> pl.DataFrame:
        """Register of materials, one row each, as its last row says."""
        return self.frames["material"]

    @property
    def targets(self) -> pl.DataFrame:
        """Targets set by users, all scopes."""
        return self.frames["target"]


def spread_out(frame: pl.DataFrame) -> pl.DataFrame:
    """The frame with each column written out row by row, also where one value stands in all of them.

    By such a column polars divides as by one number, times its reciprocal: in the last digit a figure would then follow
    whether other greens asked for with it happen to have the same area.
    """
    return pl.DataFrame(frame.get_columns())


class MadeWhenAsked(Mapping[str, pl.DataFrame]):
    """Frames by kind, each made when it is first looked at: what is due looks at few of them."""

    def __init__(self, make: Callable[[str], pl.DataFrame]) -> None:
        self._make = make
        self._made: dict[str, pl.DataFrame] = {}

    def __getitem__(self, kind: str) -> pl.DataFrame:
        if kind not in self._made:
            self._made[kind] = self._make(kind)
        return self._made[kind]

    def __iter__(self) -> Iterator[str]:
        return iter(KINDS)

    def __len__(self) -> int:
        return len(KINDS)
