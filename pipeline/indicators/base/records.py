"""The records indicators are made from: all of them, and those of one green."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence, Sized
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any, TypeVar

import polars as pl

from pipeline.common.closest import as_known
from pipeline.common.measured import told
from pipeline.indicators.base.by_green import BY_DAY, ByGreen, by_green, shared
from pipeline.indicators.base.by_kind import ByKind
from pipeline.indicators.base.green_season import Evidence
from pipeline.indicators.base.look import ORDINARY, Look
from pipeline.indicators.base.rejected import rejected_rows
from pipeline.store.register import aliases_of
from pipeline.workspace.settings import Season, Workspace
from schemas import AHEAD, KINDS, Kind

Made = TypeVar("Made")
QUESTION_NO_VALUE = (
    "amount.unknown", "bytes.encodings_mixed", "construction.twice", "construction.unknown", "load.closed",
    "load.goes_back", "load.not_closed", "load.one_call", "load.superseded_copy", "material.none", "read.header_only",
    "record.said_twice", "reference.material", "text.spellings", "text.too_long",
)  # fmt: skip
"""Warnings that question no value of their line: figures that rest on it carry no mark."""


@dataclass(frozen=True)
class Records(ByKind):
    """Every record in force, read once.

    Attributes:
        frames: records by kind with ``file``, ``line`` and ``load_id``, in the order of the kind; no pictures. Of a
            kind that may be known to the month or year only, those of a day.
        applications: jobs that put something on, resolved to mass or volume (view ``application``); those of a day.
        periods: the others, by kind, and ``application``.
        faults: faults met while loading, and likely doubles, with their file.
        loads: every load.
        rejects: files of rejected rows, and whose rows they hold.
        file_days: first and last day of what files with rejected rows brought.
        by_day: what registers said on which days (``Store.registers_by_day``); among ``frames`` each thing stands once,
            as its last row says.
        planned: planned works in force, each of one green (``pipeline.store.planned``); no figure rests on them.
        look: as what they are looked at; none of a later day is among them.
        of_greens: the greens they were read of; None for all.
        last_days: of each green the last day that its records or its station's speak of, where they were read in part
            and this of all of them (``pipeline.store.last_day``); None: it is told by the records here.
    """

    frames: Mapping[str, pl.DataFrame]
    applications: pl.DataFrame
    periods: Mapping[str, pl.DataFrame]
    faults: pl.DataFrame
    loads: pl.DataFrame
    rejects: pl.DataFrame
    file_days: pl.DataFrame
    by_day: Mapping[str, pl.DataFrame]
    planned: pl.DataFrame
    look: Look = ORDINARY
    of_greens: tuple[str, ...] | None = None
    last_days: Mapping[str, date] | None = None

    @property
    def clubs(self) -> pl.DataFrame:
        """Register of clubs."""
        return self.frames["club"]

    @property
    def greens(self) -> pl.DataFrame:
        """Register of greens, one row each, as its last row says."""
        return self.frames["green"]

    def greens_named(self, names: Iterable[str]) -> list[str]:
        """Codes of the greens of these names, in any case: codes, or aliases of the register.

        Raises:
            WrongUsage: one is none of the register's.
        """
        return as_known("green", names, set(self.greens["green"]), aliases_of(self.greens))

    @cached_property
    def last_day(self) -> date | None:
        """Latest day any record speaks of that a figure may rest on; None where there is none."""
        kinds = [kind.name for kind in KINDS.values() if kind.of_green and kind.attached]
        days: list[object] = [self.frames[name]["date"].max() for name in kinds if self.frames[name].height]
        days += [self.last_of_periods(self.periods[name]) for name in kinds if name in self.periods]
        return max((day for day in days if isinstance(day, date)), default=None)

    def last_of_periods(self, rows: pl.DataFrame) -> object:
        """The latest day that records of a period speak of: the last of one that was over when it was loaded."""
        loads = self.loads.select("load_id", pl.col("loaded_at").dt.date().alias("loaded"))
        known = rows.select("load_id", "date", "date_to").join(loads, on="load_id", how="left", maintain_order="left")
        over = pl.col("date_to") <= pl.col("loaded")
        return known.select(pl.when(over).then("date_to").otherwise("date").max()).item()

    @cached_property
    def warnings(self) -> pl.DataFrame:
        """Warnings that stand, each at the file, load and line of the record it is about.

        A warning follows its record, whatever else is loaded under the file's name since, until a load sees the record
        again or somebody confirms its cell (``settled_by``, written by pipeline/load/ledger.py).
        """
        own = self.faults.filter(
            (pl.col("severity") == "warning") & pl.col("settled_by").is_null() & pl.col("line").is_not_null()
        )
        held = own.with_columns(load_id="of_load", line="of_line").drop("file").drop_nulls("load_id")
        held = held.join(self.loads.select("load_id", "file"), on="load_id", how="left", maintain_order="left")
        return pl.concat([own, held.select(own.columns)])

    @cached_property
    def open_warnings(self) -> pl.DataFrame:
        """Those of the warnings that question a value: ``load_id``, ``line``, ``file``, ``code``, ``message``.

        Those on files and names, and those that only tell that something is missing, question none.
        """
        asking = self.warnings.filter(~pl.col("code").is_in(QUESTION_NO_VALUE))
        columns = ("load_id", "line", "file", "code", "message")
        return asking.select(columns).unique().sort("file", "line", "load_id", "code", "message", maintain_order=True)

    @cached_property
    def rejected(self) -> pl.DataFrame:
        """Rows of greens that were rejected and are still outside the store (pipeline/indicators/base/rejected.py)."""
        every = {name: pl.concat([self.frames[name], rows]) for name, rows in self.periods.items() if name in KINDS}
        days = {file: (first, last) for file, first, last in self.file_days.iter_rows()}
        frames = {**self.frames, **every, **self.by_day}
        found = rejected_rows(frames, days, self.faults, self.loads, self.rejects, self.of_greens)
        if self.look.as_of is None:
            return found
        return found.filter((pl.col("first") <= self.look.as_of) | pl.any_horizontal(pl.col("first", "last").is_null()))

    def by_green(self, name: str) -> ByGreen:
        """What of one sort is about each green, in order of date, file and line, made when it is first looked at.

        Args:
            name: a kind, ``application``, either with " of a period" (jobs with their share of the green), ``rejected``
                (no row of what is to come), ``planned``, or ``held``, what the register said of greens by day.
        """
        if name not in self._by_green:
            self._by_green[name] = self._parted(name)
        return self._by_green[name]

    @cached_property
    def _by_green(self) -> dict[str, ByGreen]:
        return {}

    def _parted(self, name: str) -> ByGreen:
        match name:
            case "held":
                return by_green(self.by_day["green"], "holds_from")
            case "planned":
                return by_green(self.planned)
            case "rejected":
                return by_green(self.rejected.filter(~pl.col("kind").is_in(AHEAD)))
        kind = name.removesuffix(" of a period")
        of_a_day = self.applications if kind == "application" else self.frames[kind]
        parted = by_green(of_a_day if kind == name else self.periods[kind], *BY_DAY)
        return shared(parted, self.by_green("held").rows) if kind in ("job", "application") else parted

    def of_green(self, green: str, kind: str) -> pl.DataFrame:
        """The green's records of a kind (or its ``application``), in order of date, file and line.

        Of a kind whose records may be about no green (a dressing's sieve analysis), these too, in the kind's order.
        """
        if kind in KINDS and not KINDS[kind].by_name["green"].required:
            return self.frames[kind].filter(pl.col("green").is_null() | (pl.col("green") == green))
        return self.by_green(kind).of(green)

    def periods_of(self, green: str) -> dict[str, pl.DataFrame]:
        """The green's records of a month or year, by kind and ``application``, in order of date, file and line."""
        return {name: self.by_green(f"{name} of a period").of(green) for name in self.periods}

    @cached_property
    def _of_stations(self) -> dict[str, dict[tuple[Any, ...], pl.DataFrame]]:
        kinds = [kind.name for kind in KINDS.values() if kind.dated and not kind.of_green]
        return {
            name: self.frames[name].sort("date", maintain_order=True).partition_by("station", as_dict=True)
            for name in kinds
        }

    def of_station(self, station: str | None, kind: str) -> pl.DataFrame:
        """The station's records of a kind in order of days; none where no station is named."""
        rows = self._of_stations[kind].get((station,)) if station is not None else None
        return self.frames[kind].clear() if rows is None else rows

    @cached_property
    def warned(self) -> dict[tuple[int, int], list[tuple[str, str]]]:
        """Load and line of everything under an open warning → the warnings, each with its code and message."""
        found: dict[tuple[int, int], list[tuple[str, str]]] = {}
        for load_id, line, code, message in self.open_warnings.select("load_id", "line", "code", "message").iter_rows():
            found.setdefault((load_id, line), []).append((code, told(code, message)))
        return found

    @cached_property
    def targets_by_scope(self) -> dict[tuple[str, str | None], list[tuple[int, dict[str, Any]]]]:
        """Targets of users by scope and what is named in it (a standard's names nothing), each with its number."""
        found: dict[tuple[str, str | None], list[tuple[int, dict[str, Any]]]] = {}
        for number, row in enumerate(self.frames["target"].iter_rows(named=True)):
            named = None if row["scope"] == "standard" else row["scope_name"]
            found.setdefault((row["scope"], named), []).append((number, row))
        return found

    @cached_property
    def material_rows(self) -> dict[str, dict[str, Any]]:
        """The register of materials as its last rows say, by name."""
        return {row["material"]: row for row in self.frames["material"].iter_rows(named=True)}

    @cached_property
    def _club_rows(self) -> dict[str, dict[str, Any]]:
        return {row["club"]: row for row in self.clubs.iter_rows(named=True)}

    def club(self, code: str) -> dict[str, Any]:
        """A club's register row."""
        return self._club_rows[code]

    def once(self, made: Callable[[Records], Made]) -> Made:
        """What a function makes of all of them, made once for all who ask."""
        if made not in self._once:
            self._once[made] = made(self)
        return self._once[made]  # type: ignore[no-any-return]

    @cached_property
    def _once(self) -> dict[Callable[[Records], Any], Any]:
        return {}

    @cached_property
    def looked_at(self) -> dict[str, Any]:
        """What is about the green looked at last: its seasons share it (pipeline/indicators/base/green_records.py)."""
        return {}


def evidence(rows: pl.DataFrame, kind: str) -> tuple[Evidence, ...]:
    """The lines of the users' files behind these rows."""
    places = sorted(set(zip(rows["file"], rows["line"], rows["load_id"], strict=True)))
    return tuple(Evidence(file, line, kind, load_id) for file, line, load_id in places)


def lacking(every: Sized | int, known: Sized | int, what: str) -> str:
    """How many rows are not among the known ones, and what of it: "2 of 9 jobs give no cost"; "" where all are."""
    count, of_them = (rows if isinstance(rows, int) else len(rows) for rows in (every, known))
    return f"{count - of_them} of {count} {what}" if count > of_them else ""


def part_of(records: Records, greens: Sequence[str]) -> Records:
    """Records of some of the greens they were read of, and of their stations, alone."""
    theirs = pl.col("green").is_null() | pl.col("green").is_in(greens)
    stations = records.by_day["green"].filter(theirs)["station"].to_list()
    of_stations = pl.col("station").is_in(stations)

    def part(kind: Kind) -> pl.DataFrame:
        frame = records.frames[kind.name]
        return frame.filter(theirs) if kind.of_green else frame.filter(of_stations) if kind.dated else frame

    return replace(
        records,
        frames={name: part(kind) for name, kind in KINDS.items()},
        applications=records.applications.filter(theirs),
        periods={name: frame.filter(theirs) for name, frame in records.periods.items()},
        planned=records.planned.filter(theirs),
        of_greens=tuple(greens),
    )


def latest_season(records: Records, workspace: Workspace) -> Season | None:
    """The season that most of the last year's records fall in; None where the store holds no dated record."""
    return None if records.last_day is None else workspace.season_in_hand(records.last_day)
