"""The one writer of a store as plain files: for backups, and for a folder that is given to somebody."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Protocol

from pipeline.copies.hashes import hash_of, settle
from pipeline.copies.manifest import BLOBS, Kept, KeptColumn, KeptTable, path_of_table
from pipeline.copies.tables import Bytes, Column, Table, blobs, tables_of, told_of_bytes, write_table
from pipeline.store.layout import Connection

ENDINGS = {b"\xff\xd8\xff": ".jpg", b"\x1f\x8b": ".gz", b"\x89PNG": ".png", b"%PDF": ".pdf", b"\x78\x5e": ".zz"}
"""What the bytes of a file begin with, and the ending by which a person can open it."""


class Keeper(Protocol):
    """Where plain files go: objects of a backup by their hash, or a folder by their path."""

    def holds(self, path: str, sha256: str) -> bool:
        """Whether a file is there with these bytes, so that it need not be written."""

    def keep(self, path: str, made: Path, sha256: str) -> None:
        """Take a file that was written beside, and is settled on the disk."""


class PlainFolder:
    """A folder that takes files under their own paths."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def holds(self, path: str, sha256: str) -> bool:
        """Whether the file is there with these bytes."""
        there = self.folder / path
        return there.is_file() and hash_of(there) == sha256

    def keep(self, path: str, made: Path, sha256: str) -> None:
        """Put a file into its place; it has its bytes or is not there."""
        assert hash_of(made) == sha256, f"{made} is not what it was said to be"
        target = self.folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        made.replace(target)


def plain_store(
    con: Connection, keeper: Keeper, work: Path, only: Mapping[str, str] | None = None
) -> Iterator[tuple[KeptTable, list[Kept]]]:
    """Write the tables of a store, each as a CSV and a file for each content of bytes in it.

    Args:
        con: connection of the store.
        keeper: where the files go.
        work: a folder in the same file system, for what is being written.
        only: SQL of the rows of each table (``only.rows_of``), a table not named left out; all rows of all where None.

    Yields:
        Each table with its files, as soon as they are kept.
    """
    for table in tables_of(con):
        if only is not None and table.name not in only:
            continue
        where = "true" if only is None else only[table.name]
        bytes_told = told_of_bytes(con, table, where)
        rows, files = 0, []
        for part, (made, count) in enumerate(write_table(con, table, work, bytes_told, where), start=1):
            rows += count
            files.append(_kept(keeper, path_of_table(table.name, part), made))
        told = KeptTable(
            name=table.name,
            rows=rows,
            parts=len(files),
            columns=[KeptColumn(name=one.name, type=one.type, nullable=one.nullable) for one in table.columns],
        )
        for column in table.blobs:
            files += _blobs(con, keeper, work, table, column, bytes_told[column.name])
        yield told, files


def _kept(keeper: Keeper, path: str, made: Path) -> Kept:
    settle(made)
    one = Kept(path=path, sha256=hash_of(made), bytes=made.stat().st_size)
    keeper.keep(path, made, one.sha256)
    return one


def _blobs(
    con: Connection, keeper: Keeper, work: Path, table: Table, column: Column, told: Mapping[int, Bytes]
) -> Iterator[Kept]:
    """The files of a column of bytes: those that are there already are not read from the store once more."""
    rows = {one.sha256: row for row, one in told.items()}
    paths = {sha256: f"{BLOBS}/{sha256}{_ending(told[row].start)}" for sha256, row in rows.items()}
    lacking = sorted(row for sha256, row in rows.items() if not keeper.holds(paths[sha256], sha256))
    for row, content in zip(lacking, blobs(con, table, column, lacking), strict=True):
        made = work / "bytes"
        made.write_bytes(content)
        settle(made)
        keeper.keep(paths[told[row].sha256], made, told[row].sha256)
    for sha256, row in sorted(rows.items()):
        yield Kept(path=paths[sha256], sha256=sha256, bytes=told[row].count)


def _ending(start: bytes) -> str:
    return next((ending for begins, ending in ENDINGS.items() if start.startswith(begins)), "")
