"""Tables as plain CSV: whatever a cell holds comes back, and other programs read it as it was."""

from __future__ import annotations

import csv
import math
import struct
from datetime import date, datetime
from decimal import Decimal
from hashlib import sha256
from pathlib import Path

import duckdb
import pytest

from pipeline.copies import tables as of_tables
from pipeline.copies.plain import PlainFolder, plain_store
from pipeline.copies.tables import (
    TYPES,
    Column,
    Table,
    make_table,
    read_table,
    tables_of,
    told_of_bytes,
    write_table,
)
from pipeline.store.layout import tables as of_layout
from pipeline.store.store import Store, as_it_stands
from pipeline.workspace.settings import Workspace
from tests.outside_checks import outside

TEXTS = (
    None, "", " ", "a", 'q"q', '"', '""', "a,b", "l\nf", "c\rr", "c\r\nlf", "\n", "\r", "\0", "\\", "\\N", "NULL",
    "é😀\u2028", "\ufeffmark", "\t", " lead", "trail ", "=1+1", "\x1a", "#", "'", "x" * 1_000_000,
)  # fmt: skip
DOUBLES = (None, 0.0, -0.0, 0.1, 1 / 3, 5e-324, 1.7976931348623157e308, math.inf, -math.inf, 1e16, 123456789012345680.0)
TABLE = Table(
    "meta.hard",
    (
        Column("n", "BIGINT", False),
        Column('a "name", with all', "VARCHAR", True),
        Column("number", "DOUBLE", True),
        Column("yes", "BOOLEAN", True),
        Column("day", "DATE", True),
        Column("at", "TIMESTAMP", True),
        Column("money", "DECIMAL(14,4)", True),
        Column("bytes", "BLOB", True),
    ),
)


def rows() -> list[tuple[object, ...]]:
    """Rows of hard values: all texts, all numbers, both ends of days, times and money."""
    days = (None, date(1, 1, 1), date(9999, 12, 31))
    times = (None, datetime(2026, 1, 2, 3, 4, 5, 678901), datetime(2026, 1, 1))  # noqa: DTZ001 (as the store keeps them)
    money = (None, Decimal("0.1000"), Decimal("-9999999999.9999"))
    contents = (None, b"", b"\0\xff", bytes(range(256)), b"\xff\xd8\xff picture")
    return [
        (
            n, text, DOUBLES[n % len(DOUBLES)], (None, True, False)[n % 3], days[n % 3], times[n % 3], money[n % 3],
            contents[n % 5],
        )
        for n, text in enumerate(TEXTS)
    ]  # fmt: skip


def written(folder: Path) -> tuple[duckdb.DuckDBPyConnection, Path, dict[str, bytes]]:
    """A database with the hard rows, one taken out in their midst, the CSV of it, and its contents of bytes by hash."""
    con = duckdb.connect()
    make_table(con, TABLE)
    con.executemany(f"INSERT INTO {TABLE.name} VALUES ({', '.join('?' * 8)})", rows())
    con.execute(f"DELETE FROM {TABLE.name} WHERE n = 3")
    ((path, count),) = write_table(con, TABLE, folder, told_of_bytes(con, TABLE))
    assert count == len(TEXTS) - 1
    return con, path, {sha256(one).hexdigest(): one for *_, one in rows() if isinstance(one, bytes)}


def test_every_value_and_the_order_of_rows_come_back(tmp_path: Path) -> None:
    """A number a bit off, an empty text that became NULL or a row in another place would be a fault said in silence."""
    con, path, contents = written(tmp_path)
    other = duckdb.connect()
    make_table(other, TABLE)
    read_table(other, TABLE, path, contents.__getitem__)
    as_of = f"SELECT * FROM {TABLE.name} ORDER BY rowid"
    found = other.execute(as_of).fetchall()
    assert [*map(repr, found)] == [*map(repr, con.execute(as_of).fetchall())]  # repr: -0.0 is not 0.0
    assert [row[0] for row in found] == [n for n in range(len(TEXTS)) if n != 3]
    (tmp_path / "again").mkdir()
    ((again, _),) = write_table(other, TABLE, tmp_path / "again", told_of_bytes(other, TABLE))
    assert again.read_bytes() == path.read_bytes()


def test_numbers_stand_at_a_text_that_reads_as_the_same_number(tmp_path: Path) -> None:
    """Twenty thousand bit patterns, of which each must come back by Python's own reading of the text as well."""
    bits = [(7 + n * 0x9E3779B97F4A7C15) % 2**64 for n in range(20_000)]
    numbers = [one for one in (struct.unpack("<d", struct.pack("<Q", n))[0] for n in bits) if math.isfinite(one)]
    con = duckdb.connect()
    table = Table("meta.number", (Column("n", "BIGINT", False), Column("value", "DOUBLE", True)))
    make_table(con, table)
    con.execute("INSERT INTO meta.number SELECT unnest($1), unnest($2)", [[*range(len(numbers))], numbers])
    ((path, _),) = write_table(con, table, tmp_path, {})
    with path.open(encoding="utf-8", newline="") as source:
        assert [float(text) for _, text in list(csv.reader(source))[1:]] == numbers


@outside("library", "Python csv module (RFC 4180 quoting)")
def test_another_program_reads_the_same_texts(tmp_path: Path) -> None:
    """The files must be of use without this tool: a plain reader of CSV finds every text as it was, NULL as nothing."""
    _, path, contents = written(tmp_path)
    csv.field_size_limit(2_000_000)
    with path.open(encoding="utf-8", newline="") as source:
        head, *found = csv.reader(source)
    assert head == [column.name for column in TABLE.columns]
    assert [row[1] for row in found] == [text or "" for n, text in enumerate(TEXTS) if n != 3]
    assert {row[7] for row in found} == {"", *contents}
    raw = path.read_bytes().split(b"\n")
    assert (raw[1], raw[2][:8]) == (b"0,,,,,,,", b'1,"",0.0')  # NULL is nothing, the empty text two quotes


def test_the_tables_are_those_of_the_layout(original: Workspace) -> None:
    """A table that a later layout gains must come along; what is made from the records must not."""
    wanted = {name: columns for name, _, columns in of_layout() if not name.startswith("derived.")}
    with as_it_stands(original.store, read_only=True) as con:
        found = {table.name: table for table in tables_of(con)}
    assert found.keys() == wanted.keys()
    for name, columns in wanted.items():
        told = [(one.name, one.type + ("" if one.nullable else " NOT NULL")) for one in found[name].columns]
        assert told == [(column, declared) for column, declared, _ in columns]
        assert all(TYPES.fullmatch(one.type) for one in found[name].columns)


def test_a_folder_gets_every_file_under_its_path_once(original: Workspace, tmp_path: Path) -> None:
    """The same writer serves a folder that is given away: tables by name, a picture as a file that opens.

    It needs nothing of DuckDB but the store: a connection that may open no other file does.
    """
    folder = PlainFolder(tmp_path / "out")
    (tmp_path / "work").mkdir()
    with as_it_stands(original.store, read_only=True) as con:
        con.execute("SET enable_external_access = false")
        told = list(plain_store(con, folder, tmp_path / "work"))
    files = [one for _, files in told for one in files]
    assert {one.path for one in files} == {
        path.relative_to(folder.folder).as_posix() for path in folder.folder.rglob("*") if path.is_file()
    }
    for one in files:
        assert sha256((folder.folder / one.path).read_bytes()).hexdigest() == one.sha256
        assert (folder.folder / one.path).stat().st_size == one.bytes
    pictures = [one.path for one in files if one.path.endswith(".jpg")]
    assert len(pictures) == 1
    with Store(original.store, read_only=True) as store:
        assert store.rows("SELECT jpeg FROM photo") == [((folder.folder / pictures[0]).read_bytes(),)]
        counts = {table.name: store.rows(f"SELECT count(*) FROM {table.name}")[0][0] for table, _ in told}
    assert counts == {table.name: table.rows for table, _ in told}


@pytest.mark.parametrize(("rows", "files"), [(0, [0]), (1, [1]), (2, [2]), (3, [2, 1]), (5, [2, 2, 1])])
def test_a_long_table_stands_in_several_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, rows: int, files: list[int]
) -> None:
    """A row on the seam of two files, or of two readings, may neither be lost nor stand twice."""
    monkeypatch.setattr(of_tables, "ROWS_A_FILE", 2)
    monkeypatch.setattr(of_tables, "LINES_AT_ONCE", 3)
    con = duckdb.connect()
    table = Table("meta.number", (Column("n", "BIGINT", False), Column("value", "VARCHAR", True)))
    make_table(con, table)
    con.execute(f"INSERT INTO meta.number SELECT n, 'x' || n FROM range({rows}) AS t (n)")
    found = list(write_table(con, table, tmp_path, {}))
    assert [count for _, count in found] == files
    other = duckdb.connect()
    make_table(other, table)
    for path, _ in found:
        read_table(other, table, path, lambda _: b"")
    assert other.execute("FROM meta.number ORDER BY rowid").fetchall() == [(n, f"x{n}") for n in range(rows)]


@pytest.mark.parametrize("value", ["1e400", "twelve", "1,5"])
def test_a_cell_that_is_no_value_of_its_column_is_refused(tmp_path: Path, value: str) -> None:
    """A table that somebody edited may not come back with a number that nobody wrote."""
    con = duckdb.connect()
    table = Table("meta.number", (Column("n", "BIGINT", False), Column("value", "BIGINT", True)))
    make_table(con, table)
    (tmp_path / "n.csv").write_text(f'n,value\n1,"{value}"\n', "utf-8")
    with pytest.raises(duckdb.Error):
        read_table(con, table, tmp_path / "n.csv", lambda _: b"")
