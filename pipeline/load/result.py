"""What loading a file came to: every row accounted for."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.common.faults import errors, refuse_file
from pipeline.load.left_out import LEFT_OUT
from pipeline.read.sheet import Sheet


@dataclass(frozen=True)
class Counts:
    """What became of the rows of a file; ``rows`` is the sum of the others but ``warnings``, always.

    A row is a record put forward (of a wide sheet: a cell), a line left out, or, where a file is declared complete, a
    record of the store that the file lacks (closed).
    """

    rows: int = 0
    loaded: int = 0
    unchanged: int = 0
    superseded: int = 0
    withdrawn: int = 0
    closed: int = 0
    rejected: int = 0
    ignored: int = 0
    warnings: int = 0

    def check(self) -> None:
        """Stop the load where a row is not accounted for."""
        total = self.changed + self.unchanged + self.rejected + self.ignored
        assert self.rows == total, f"rows do not balance: {self}"

    def warned(self, faults: pl.DataFrame) -> Counts:
        """The same with the warnings that are among these faults."""
        return replace(self, warnings=faults.filter(pl.col("severity") == "warning").height)

    @property
    def changed(self) -> int:
        """Records that came, or that ended: superseded, withdrawn or closed."""
        return self.loaded + self.superseded + self.withdrawn + self.closed

    @property
    def effect(self) -> bool:
        """Whether the store's records changed."""
        return self.changed > 0


def all_rejected(sheet: Sheet) -> Counts:
    """Counts of a file refused as a whole: every row is rejected."""
    rejected = sheet.cells.height + sheet.rejected.height
    return Counts(rows=rejected + sheet.ignored.height, rejected=rejected, ignored=sheet.ignored.height)


@dataclass(frozen=True)
class FileResult:
    """What loading one file came to.

    Attributes:
        file: file as the person named it.
        kind: kind of record, "" where it could not be told.
        profile: source profile used, "" where none.
        counts: what became of the rows.
        faults: FAULT_SCHEMA.
        rejects_file: CSV of the rejected rows, None where there is none.
        load_id: number of the load, None where nothing was written.
        span: first and last date of the accepted records, None where they have none.
        pictures: files of pictures that its rows name.
        part: profile that read but a part of the file, "" where it was read as a whole.
    """

    file: str
    kind: str
    profile: str
    counts: Counts
    faults: pl.DataFrame
    rejects_file: Path | None = None
    load_id: int | None = None
    span: tuple[date, date] | None = None
    pictures: frozenset[Path] = frozenset()
    part: str = ""

    @property
    def shown(self) -> str:
        """The file, and which part of it, as a person reads it."""
        return self.file if not self.part or self.file.endswith(f" {self.part}") else f"{self.file} ({self.part})"

    @property
    def failed(self) -> bool:
        """Whether anything was rejected, or the whole file refused."""
        return self.counts.rejected > 0 or not errors(self.faults).is_empty()

    @property
    def left_out(self) -> bool:
        """Whether a sheet or a layer with data was not read."""
        return self.faults["code"].is_in(list(LEFT_OUT)).any()

    @property
    def refused(self) -> bool:
        """Whether nothing of the file was taken, for a reason that concerns all of it."""
        return refuse_file(self.faults)

    def as_json(self) -> dict[str, Any]:
        """The file's part of ``load --json``."""
        head = {"file": self.file, "kind": self.kind, "profile": self.profile}
        return {**head, **asdict(self.counts), "faults": self.faults.to_dicts()}
