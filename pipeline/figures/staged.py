"""Rows of figures on their way into the store: each lot's in files of its own, so that no process holds them all."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.common.refusal import CannotDo
from pipeline.common.whole_files import running
from pipeline.store.sql_text import quoted
from pipeline.store.store import Store

if TYPE_CHECKING:
    import polars as pl

PREFIX = "swardtally-figures-"
"""How such a folder is called; the number of the process and something drawn follow."""
NEW = {name: f"new_{name}" for name in ("green_season", "figure", "compared", "note", "question", "evidence")}
"""What SQL knows the new rows of each table by; with the number of the lot they came with and their place in it."""


@contextmanager
def folder() -> Iterator[Path]:
    """A folder for the files of one refresh, that goes with it; those of processes that are no more go as well.

    Raises:
        CannotDo: the disk is full or cannot be written.
    """
    try:
        _clear_left(Path(tempfile.gettempdir()))
        own = f"{PREFIX}{os.getpid()}-"
        with tempfile.TemporaryDirectory(prefix=own, ignore_cleanup_errors=True) as name:
            yield Path(name)
    except OSError as error:
        where = f" ({error.filename})" if error.filename else ""
        raise CannotDo(
            f"Figures could not be kept on their way into the store: {error.strerror or error}{where}.",
            "Look at the disk that holds temporary files (TMPDIR). Nothing was changed.",
        ) from error


def _clear_left(within: Path) -> None:
    """Take away the folders of refreshes whose process was killed."""
    for path in within.glob(f"{PREFIX}*-*"):
        process = path.name.removeprefix(PREFIX).partition("-")[0]
        if os.name != "nt" and process.isdecimal() and not running(int(process)):
            shutil.rmtree(path, ignore_errors=True)


def stage(into: Path, lot: int, rows: Mapping[str, pl.DataFrame]) -> None:
    """Put a lot's rows into files, table by table.

    Raises:
        OSError: the disk is full or cannot be written.
    """
    import polars as pl

    for table, frame in rows.items():
        placed = frame.with_row_index("at_place").with_columns(pl.lit(lot).alias("lot"))
        try:
            placed.write_parquet(_file(into, table, lot), compression="lz4")
        except pl.exceptions.PolarsError as error:  # what it makes of a write that stops in its midst
            raise OSError(str(error).splitlines()[0]) from error


@contextmanager
def reading(store: Store, into: Path, lots: int) -> Iterator[None]:
    """Have the store know the rows of so many lots by the names of ``NEW``, in the order of the lots."""
    for table, name in NEW.items():
        files = ", ".join(quoted(str(_file(into, table, lot))) for lot in range(lots))
        none = f"SELECT *, 0 AS lot, 0 AS at_place FROM derived.{table} LIMIT 0"  # noqa: S608 (names of ours)
        rows = f"FROM read_parquet([{files}])" if lots else none
        store.con.execute(f"CREATE OR REPLACE TEMP VIEW {name} AS {rows}")
    yield
    for name in NEW.values():
        store.con.execute(f"DROP VIEW {name}")


def _file(into: Path, table: str, lot: int) -> Path:
    return into / f"{table}-{lot}.parquet"
