"""The records of many greens and seasons at once: what a family of indicators makes its figures from.

Rows carry ``of``, the number of the green and season they are looked at for; a row of a green stands once for each of
its seasons. Frames are made, joined and grouped over all of them; what a group comes to is read out row by row.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import Any, TypeVar

import numpy as np
import polars as pl

from pipeline.indicators.base.by_kind import ByKind
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Evidence
from pipeline.indicators.base.rows import Row, Rows
from pipeline.workspace.method_options import MethodOptions
from pipeline.workspace.settings import Settings
from schemas import KINDS

Made = TypeVar("Made")
SPAN = ("season_start", "as_of", "looked_until")
PLACE = ["file", "line", "load_id"]
BEHIND = (pl.len().alias("n"), pl.col("origin").alias("places"))
"""Of a group of rows how many there are, and their places."""


@dataclass(frozen=True)
class Asked(ByKind):
    """Greens and seasons, at least one, each with its records by its number ``of``."""

    each: Mapping[int, GreenRecords]
    settings: Settings

    @staticmethod
    def about(records: Iterable[GreenRecords]) -> Asked:
        """Greens and seasons, numbered as they come."""
        each = dict(enumerate(records))
        return Asked(each, next(iter(each.values())).settings)

    def only(self, numbers: Iterable[int]) -> Asked:
        """Some of them; numbers stay."""
        return replace(self, each={of: self.each[of] for of in numbers})

    @cached_property
    def frames(self) -> Mapping[str, pl.DataFrame]:  # type: ignore[override]
        """Records of a kind of all of them, all years, with ``of`` and ``origin``; a register stands once."""
        return _Together(self)

    @cached_property
    def applications(self) -> pl.DataFrame:  # type: ignore[override]
        """What was put on, all seasons, with ``of`` and the ``origin`` of its job."""
        return self.placed(self.numbered([one.applications for one in self.each.values()]), "job")

    @cached_property
    def periods(self) -> Mapping[str, pl.DataFrame]:
        """Records of a month or year by kind, and ``application``, with ``of``."""
        kinds = next(iter(self.each.values())).periods
        return {kind: self.numbered([one.periods[kind] for one in self.each.values()]) for kind in kinds}

    @cached_property
    def seasons(self) -> pl.DataFrame:
        """The register's row of each, with ``of``, ``season_start``, ``season_end``, ``as_of`` and ``looked_until``."""
        rows = [
            {
                "of": of,
                "season_start": one.season.start,
                "season_end": one.season.end,
                "as_of": one.as_of,
                "looked_until": one.until,
                **one.green,
            }
            for of, one in self.each.items()
        ]
        return pl.DataFrame(rows, schema_overrides={"of": pl.UInt32}, infer_schema_length=None)

    @property
    def options(self) -> MethodOptions:
        """Method options of the workspace, where opinion differs."""
        return self.settings.method_options

    @cached_property
    def counting(self) -> Asked:
        """Those with records of a period that count, each with these among its records; numbers stay."""
        return replace(self, each={of: one.counting for of, one in self.each.items() if one.counting is not one})

    def once(self, made: Callable[[Asked], Made]) -> Made:
        """What a function makes of them, made once for all who ask."""
        if made not in self._once:
            self._once[made] = made(self)
        return self._once[made]  # type: ignore[no-any-return]

    @cached_property
    def _once(self) -> dict[Callable[[Asked], Any], Any]:
        return {}

    def of_season(self, kind: str) -> pl.DataFrame:
        """Records of a kind of each season up to its ``as_of``, with ``of`` and ``origin``.

        As ``in_season`` of all years' has them, which are many where a station's days are asked for.
        """
        return self.placed(self.numbered([one.in_season(one.frames[kind]) for one in self.each.values()]), kind)

    def shared(self, kind: str, *columns: str) -> tuple[pl.DataFrame, pl.DataFrame]:
        """These columns of the records of a kind, all years, each once however many seasons share them.

        Returns:
            The records, with ``part``: which of the frames they are from; and the ``part`` of each ``of``.
        """
        frames = {of: one.frames[kind] for of, one in self.each.items()}
        parts = {id(frame): frame for frame in frames.values()}
        number = {key: at for at, key in enumerate(parts)}
        rows = pl.concat([frame.select(*columns, part=pl.lit(at)) for at, frame in enumerate(parts.values())])
        schema: dict[str, pl.DataType | type[pl.DataType]] = {"of": pl.UInt32, "part": rows.schema["part"]}
        return rows, pl.DataFrame([(of, number[id(frame)]) for of, frame in frames.items()], schema, orient="row")

    def in_season(self, frame: pl.DataFrame) -> pl.DataFrame:
        """The rows of each season up to its ``as_of``."""
        return self._between(frame, pl.col("date").is_between("season_start", "as_of"))

    def so_far(self, frame: pl.DataFrame) -> pl.DataFrame:
        """The rows of all seasons up to each ``as_of``; of what is about no green, up to the last day looked at."""
        so_far = pl.col("date") <= pl.col("as_of")
        if "green" in frame.columns:
            so_far |= pl.col("green").is_null() & (pl.col("date") <= pl.col("looked_until"))
        return self._between(frame, so_far)

    def _between(self, frame: pl.DataFrame, kept: pl.Expr) -> pl.DataFrame:
        """The rows for which it holds, asked of a few columns: the others need not be joined."""
        few = frame.lazy().select("of", "date", *(["green"] if "green" in frame.columns else []))
        of_rows = few.join(self._spans, on="of", how="left", maintain_order="left").select(kept.fill_null(False))
        return frame.filter(of_rows.collect().to_series())

    @cached_property
    def _spans(self) -> pl.LazyFrame:
        return self.seasons.lazy().select("of", *SPAN)

    def evidence(self, kind: str, places: Sequence[int]) -> tuple[Evidence, ...]:
        """Places of rows of a kind as lines of the users' files, each once, in order of file and line."""
        known, asked = self._evidence.setdefault(kind, {}), tuple(places)
        if asked not in known:
            at = tuple(sorted(set(asked)))
            if at not in known:
                lines = self._lines[kind] if kind in self._lines else self._read(kind)
                known[at] = tuple([lines[i] for i in at])
            known[asked] = known[at]
        return known[asked]

    def each_season(self, frame: pl.DataFrame, kind: str, *columns: str) -> Iterator[Rows]:
        """The rows of each green and season that has any, one after the other, with these columns and ``origin``."""
        lines = partial(self.evidence, kind)
        found: dict[int, list[Row]] = {}
        for row in frame.select("of", "origin", *columns).iter_rows(named=True):
            found.setdefault(row["of"], []).append(row)
        return (Rows(of, rows, lines) for of, rows in found.items())

    def no_rows(self, of: int, kind: str) -> Rows:
        """None, of a green and season."""
        return Rows(of, (), partial(self.evidence, kind))

    def placed(self, rows: pl.DataFrame, kind: str) -> pl.DataFrame:
        """Rows with ``origin``: the number of their line among those of a kind."""
        return rows.join(self._places(kind), on=PLACE, how="left", maintain_order="left")

    @cached_property
    def _evidence(self) -> dict[str, dict[tuple[int, ...], tuple[Evidence, ...]]]:
        return {}

    @cached_property
    def _known_places(self) -> dict[str, pl.DataFrame]:
        return {}

    def _places(self, kind: str) -> pl.DataFrame:
        """Every line of a kind with its number, in order of file and line."""
        if kind not in self._known_places:
            frames = [one.frames[kind] for one in self.each.values()]
            frames += [one.periods[kind] for one in self.each.values() if kind in one.periods]
            parts = {id(frame): frame for frame in frames}  # seasons of a green share theirs
            lines = (
                pl.concat([frame.select(PLACE) for frame in parts.values()]).unique().sort(PLACE, maintain_order=True)
            )
            self._known_places[kind] = lines.with_row_index("origin")
        return self._known_places[kind]

    @cached_property
    def _lines(self) -> dict[str, list[Evidence]]:
        return {}

    def _read(self, kind: str) -> list[Evidence]:
        places = self._places(kind).select(PLACE).iter_rows()
        self._lines[kind] = [Evidence(file, line, kind, load_id) for file, line, load_id in places]
        return self._lines[kind]

    def numbered(self, frames: Sequence[pl.DataFrame]) -> pl.DataFrame:
        """Frames of the greens and seasons, in their order, as one with ``of``."""
        numbers = np.repeat(np.array(list(self.each), dtype=np.uint32), [frame.height for frame in frames])
        return pl.concat(frames, rechunk=True).with_columns(pl.Series("of", numbers, dtype=pl.UInt32))


class _Together(Mapping[str, pl.DataFrame]):
    """Frames of many greens and seasons, each made when it is first looked at."""

    def __init__(self, asked: Asked) -> None:
        self._asked = asked
        self._made: dict[str, pl.DataFrame] = {}

    def __getitem__(self, kind: str) -> pl.DataFrame:
        if kind not in self._made:
            frames = [one.frames[kind] for one in self._asked.each.values()]
            of_each = KINDS[kind].of_green or KINDS[kind].dated
            self._made[kind] = self._asked.placed(self._asked.numbered(frames), kind) if of_each else frames[0]
        return self._made[kind]

    def __iter__(self) -> Iterator[str]:
        return iter(KINDS)

    def __len__(self) -> int:
        return len(KINDS)
