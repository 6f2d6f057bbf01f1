"""Hashes of bytes, of columns of records, and of a chain of entries: of what they say alone, on any machine.

Source: RFC 6962, section 2.1 (a leaf's hash is of a zero byte and its data, a node's of a one byte and two hashes, with
SHA-256). A chain needs no more: its head after an entry is the node of the head before and the entry's leaf, which for
up to three entries is the root of RFC 6962's tree.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from hashlib import sha256
from typing import TYPE_CHECKING

from pipeline.common.side_by_side import side_by_side

if TYPE_CHECKING:
    import polars as pl

TEXTS_AT_ONCE = 100_000
"""Texts of a column that are laid one after the other at once."""


def leaf_hash(data: bytes) -> bytes:
    """Hash of an entry, 32 bytes."""
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Hash of two hashes, 32 bytes."""
    return sha256(b"\x01" + left + right).digest()


def next_head(head: bytes, leaf: bytes) -> bytes:
    """Head of the chain after an entry; ``head`` is empty before the first, whose leaf is the head."""
    return node_hash(head, leaf) if head else leaf


def salted(salt: str, data: bytes) -> str:
    """Hash of data under a salt (hexadecimal digits): who does not know the salt cannot try what the data may be."""
    return sha256(digits(salt) + data).hexdigest()


def digits(text: str) -> bytes:
    """The bytes that hexadecimal digits stand for; of anything else, which only tampering puts there, its own bytes."""
    try:
        return bytes.fromhex(text)
    except ValueError:
        return text.encode("utf-8", "surrogatepass")


def column_hashes(rows: pl.DataFrame, salts: Mapping[str, str]) -> dict[str, str]:
    """Hash of each column with a value in it, the rows taken in an order of their own.

    A column without a value has none, so that one that is added to a store later changes nothing.

    Args:
        rows: records, one column a field.
        salts: by column, the salt of those that may name a person.
    """
    held = rows.select(column.name for column in rows.iter_columns() if column.null_count() < len(column))
    order = _order(rows, salts)

    def hashed(column: pl.Series) -> str:
        return _hash_of(column.gather(order), salts.get(column.name, ""))

    return dict(zip(held.columns, side_by_side(hashed, held.get_columns(), held.height), strict=True))


def rows_hash(rows: pl.DataFrame) -> str:
    """One hash of all columns."""
    told = "".join(f"{name} {value}\n" for name, value in sorted(column_hashes(rows, {}).items()))
    return sha256(f"{rows.height}\n{told}".encode()).hexdigest()


def _order(rows: pl.DataFrame, last: Collection[str]) -> pl.Series:
    """Places of the rows by their line, those of one line by what they say: in whatever order a store gives them.

    ``last`` are columns that decide last, so that the order of the others' values does not hang on them.
    """
    import polars as pl

    if "line" in rows.columns:
        order = rows["line"].arg_sort()
        lines = rows["line"].gather(order)
        if not lines.eq_missing(lines.shift()).slice(1).any():
            return order
    by = sorted(rows.columns, key=lambda name: (name != "line", name in last, name))
    return rows.select(pl.arg_sort_by(by, nulls_last=True, maintain_order=True)).to_series()


def _hash_of(column: pl.Series, salt: str) -> str:
    """Hash under a salt of a column: its sort, how many values, which of them are missing, and the values.

    Numbers are 64 bits with the lowest first (IEEE 754 for fractions); days are counted from 1970-01-01; texts and
    bytes stand behind their lengths; decimals are texts.
    """
    import numpy as np
    import polars as pl

    texts = pl.Series([], dtype=pl.Binary)
    if column.dtype == pl.Float64:
        sort, numbers = "number", column.fill_null(0.0).to_numpy().astype("<f8", copy=False)
    elif column.dtype.is_integer() or column.dtype in (pl.Date, pl.Boolean):
        sort = "whole"
        whole = column.to_physical() if column.dtype == pl.Date else column
        numbers = whole.cast(pl.Int64).fill_null(0).to_numpy().astype("<i8", copy=False)
    else:
        plain = column if column.dtype == pl.Binary else column.cast(pl.String).cast(pl.Binary)
        sort = "bytes" if column.dtype == pl.Binary else "text"
        texts = plain.fill_null(b"")
        numbers = texts.bin.size("b").to_numpy().astype("<i8", copy=False)
    mark = sha256(digits(salt))
    mark.update(f"{sort} {len(column)}\n".encode())
    mark.update(np.packbits(column.is_null().to_numpy()).data)
    mark.update(np.ascontiguousarray(numbers).data)
    for at in range(0, len(texts), TEXTS_AT_ONCE):
        mark.update(_joined(texts.slice(at, TEXTS_AT_ONCE)))
    return mark.hexdigest()


def _joined(column: pl.Series) -> memoryview:
    """All values of a column of bytes, one after the other."""
    import pyarrow as pa

    array = column.to_arrow().cast(pa.large_binary())
    _, offsets, data = array.buffers()
    ends = memoryview(offsets).cast("q")[array.offset : array.offset + len(array) + 1]
    return memoryview(data)[ends[0] : ends[-1]] if data is not None and len(array) else memoryview(b"")
