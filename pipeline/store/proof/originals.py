"""The bytes of what was loaded, kept in the store by their hash, and what each load was read by."""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO
from typing import TYPE_CHECKING, Any, BinaryIO

from pipeline.store.sql_text import quoted

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection as Connection

ORIGINALS = {
    "original": (
        "A part of the bytes of a loaded file, or of what it was read by (grain: bytes and part).",
        (
            ("sha256", "VARCHAR NOT NULL", "SHA-256 of all the bytes"),
            ("part", "BIGINT NOT NULL", "which part of them, from 1"),
            ("content", "BLOB NOT NULL", "the part, compressed (zlib, RFC 1950)"),
        ),
    ),
    "source": (
        "One thing a load was read from or by (grain: load, role and name).",
        (
            ("load_id", "BIGINT NOT NULL", "number of the load; it stays here when it is taken back"),
            ("role", "VARCHAR NOT NULL", "file; rules: settings, profiles, corrections and decisions then; "
             "call: what the person said of the file; when: the day, and the files before it"),
            ("name", "VARCHAR NOT NULL", "place of a file, from the workspace's folder; else empty"),
            ("sha256", "VARCHAR NOT NULL", "SHA-256 of its bytes (meta.original)"),
        ),
    ),
}  # fmt: skip
"""Tables of schema ``meta``."""
PART_BYTES = 8_000_000
"""Bytes of a part before it is compressed: what DuckDB is handed at once."""
LEVEL = 3
"""Of zlib: a log of ten million bytes in a fifth of a second, to a fifth of its size."""


def mark_of(content: bytes) -> str:
    """What bytes are kept by: their SHA-256."""
    return sha256(content).hexdigest()


@dataclass(frozen=True)
class Packed:
    """Bytes as they are kept: their SHA-256, and their parts compressed."""

    mark: str
    parts: Sequence[bytes]


def packed(content: bytes) -> Packed:
    """Bytes as they are kept."""
    return pack(BytesIO(content))


def pack(source: BinaryIO) -> Packed:
    """The bytes of a file as they are kept, read a part at a time.

    Raises:
        OSError: it cannot be read.
    """
    mark = sha256()
    parts: list[bytes] = []
    while (part := source.read(PART_BYTES)) or not parts:
        mark.update(part)
        parts.append(zlib.compress(part, LEVEL))
    return Packed(mark.hexdigest(), parts)


def keep(con: Connection, *contents: Packed) -> None:
    """Keep what is packed, but for what is kept already; asked and written at once."""
    import polars as pl

    new = {one.mark: one for one in contents}
    for mark in _held(con, new):
        del new[mark]
    rows = [(one.mark, part, content) for one in new.values() for part, content in enumerate(one.parts, 1)]
    if rows:
        schema = {"sha256": pl.String, "part": pl.Int64, "content": pl.Binary}
        con.register("original_frame", pl.DataFrame(rows, schema=schema, orient="row").to_arrow())
        con.execute("INSERT INTO meta.original SELECT sha256, part, content FROM original_frame")
        con.unregister("original_frame")


def kept_bytes(con: Connection, mark: str) -> bytes:
    """The bytes of this SHA-256, as they are kept.

    Raises:
        Altered: they are not there, or not what their hash says.
    """
    sql = f"SELECT content FROM meta.original WHERE sha256 = {quoted(mark)} ORDER BY part"  # noqa: S608 (quoted)
    parts = con.execute(sql).fetchall()
    try:
        content = b"".join(_unpacked(part) for (part,) in parts)
    except zlib.error:
        raise Altered(mark) from None
    if not parts or sha256(content).hexdigest() != mark:
        raise Altered(mark)
    return content


def kept_told(con: Connection, mark: str, *names: str) -> dict[str, Any]:
    """What is kept as JSON under a hash.

    Raises:
        Altered: it is not there, is something else, or lacks one of these names.
    """
    try:
        found = json.loads(kept_bytes(con, mark))
    except (ValueError, RecursionError):
        raise Altered(mark) from None
    if not isinstance(found, dict) or not found.keys() >= set(names):
        raise Altered(mark)
    return found


def _unpacked(part: bytes) -> bytes:
    """The bytes of a part; of one that unpacks to more than a part has, no more than that."""
    return zlib.decompressobj().decompress(part, PART_BYTES + 1)


class Altered(Exception):
    """Kept bytes are gone, or not what their hash says."""


def note_sources(con: Connection, load_id: int, sources: Iterable[tuple[str, str, str]]) -> None:
    """Write what a load was read from: role, name and SHA-256 of each."""
    import polars as pl

    rows = [(load_id, *one) for one in sources]
    schema = {"load_id": pl.Int64, "role": pl.String, "name": pl.String, "sha256": pl.String}
    con.register("source_frame", pl.DataFrame(rows, schema=schema, orient="row").to_arrow())
    con.execute("INSERT INTO meta.source SELECT load_id, role, name, sha256 FROM source_frame")
    con.unregister("source_frame")


def as_bytes(told: Mapping[str, object]) -> bytes:
    """What is kept of a call or of the rules: JSON with its names in order."""
    return json.dumps(told, ensure_ascii=False, sort_keys=True, indent=1).encode()


def _held(con: Connection, marks: Iterable[str]) -> list[str]:
    """Which of these are kept."""
    listed = ", ".join(f"'{_hex(mark)}'" for mark in marks) or "NULL"
    sql = f"SELECT DISTINCT sha256 FROM meta.original WHERE sha256 IN ({listed})"  # noqa: S608 (hexadecimal digits)
    return [mark for (mark,) in con.execute(sql).fetchall()]


def _hex(mark: str) -> str:
    assert len(mark) == 64, "not a SHA-256"
    assert set(mark) <= set("0123456789abcdef"), "not a SHA-256"
    return mark
