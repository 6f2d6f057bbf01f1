"""Steps that bring a store of a former layout up to the next one; each is part of the one transaction that opens it.

They use what a DuckDB file and DuckLake share, in DuckDB 1.5 and 2.0 alike: neither renames a schema, nor moves a table
to another.
"""

from __future__ import annotations

import re
from itertools import groupby

from duckdb import DuckDBPyConnection

HASHES = ("key_hash", "row_hash")
"""Columns of layout 1 that took two thirds of a store and were read only to find records of the same key."""

FORMER_WORDS = {"replaced": "superseded", "retired": "closed"}
"""What layout 2 called the ways a version ends, where the name has changed: in ``ended_as`` and as columns of loads."""

FORMER_CODES = {"load.retired": "load.closed", "load.not_retired": "load.not_closed"}
"""Codes of faults that had another name in layout 2."""

LATER_OF_FAULTS = {
    "record": "VARCHAR", "of_value": "BOOLEAN", "of_load": "BIGINT", "of_line": "BIGINT", "settled_by": "BIGINT",
}  # fmt: skip
"""Columns that faults have gained since layout 3."""

MONEY_OF_LAYOUT_7 = {"job": "cost", "material": "price"}
"""Columns that layout 6 kept as binary fractions, by table."""
MONEY = "DECIMAL(14,4)"
"""Type that they have since."""
SHARES_OF_GROUND = {
    "cover", "desirable_grass", "bent", "fescue", "meadow_grass", "ryegrass", "yorkshire_fog", "moss", "weed",
    "bare", "disease",
}  # fmt: skip
"""Things observed of which layout 6 tells species apart."""

ONE_SPECIES = {
    "red fescue": "red fescue",
    "chewings fescue": "chewings fescue",
    "browntop": "browntop",
    "browntop bent": "browntop",
    "colonial bent": "browntop",
}
"""Words of layout 6's list of things observed that name one species."""

WHOLE_KINDS = {
    "agrostis", "amg", "annual meadow grass", "bare", "bare area", "bare ground", "bare soil", "bent", "bentgrass",
    "bents", "broad leaved weed", "broad leaved weeds", "broadleaved weeds", "clegg hardness", "core layer",
    "cover", "depth of roots", "depth of thatch", "desirable", "desirable grass", "desirable grasses", "disease",
    "disease scars", "diseased", "diseased turf", "fescue", "fescues", "festuca", "fine fescue", "fine grasses",
    "firmness", "fog", "grass cover", "ground cover", "ground cover, all grasses", "hardness", "holcus", "horizon",
    "infiltration", "infiltration rate", "layer", "layer of a core", "live cover", "lolium", "meadow grass",
    "moisture", "moss", "mosses", "perennial ryegrass", "poa", "poa annua", "profile layer", "root depth",
    "rooting", "rooting depth", "roots", "rye", "ryegrass", "scarring", "soil moisture", "soil moisture by volume",
    "surface hardness", "thatch", "thatch depth", "thatch thickness", "total cover", "volumetric moisture", "vwc",
    "water content", "water infiltration", "weed", "weeds", "yorkshire fog",
}  # fmt: skip
"""Its other words: each names a whole kind."""

PER_CENT = re.compile(r"^(?:%|per ?cent|pct)\s+|[\s(\[]*(?:%|per ?cent|pct)[)\]]*$")
"""The unit that may stand beside such a word."""


def without_hashes(con: DuckDBPyConnection) -> None:
    """Drop the hashes that layout 1 kept beside every record: they are made where records meet (match.py)."""
    sql = "SELECT table_name, column_name FROM information_schema.columns WHERE table_schema = 'kept'"
    for table, column in con.execute(sql).fetchall():
        if column in HASHES:
            con.execute(f'ALTER TABLE kept.{table} DROP COLUMN "{column}"')


def plain_words(con: DuckDBPyConnection) -> None:
    """Move the records of schema ``kept`` to ``history``, and give what ended, loads and faults the words of layout 3.

    A complete file's closed records were counted as withdrawn too; since layout 3 each record is counted once.
    """
    con.execute("CREATE SCHEMA IF NOT EXISTS history")
    sql = (
        "SELECT table_name, column_name, data_type, is_nullable FROM information_schema.columns "
        "WHERE table_schema = 'kept' ORDER BY table_name, ordinal_position"
    )
    for table, columns in groupby(con.execute(sql).fetchall(), key=lambda row: str(row[0])):
        _move(con, table, [(name, kind, nullable == "YES") for _, name, kind, nullable in columns])
    con.execute("DROP SCHEMA kept")
    for table in ("load", "undone"):
        _rename_counts(con, table)
    _widen_faults(con)  # no table is altered once its rows have changed in a transaction
    for former, now in FORMER_CODES.items():
        con.execute("UPDATE meta.fault SET code = ? WHERE code = ?", [now, former])


def _move(con: DuckDBPyConnection, table: str, columns: list[tuple[str, str, bool]]) -> None:
    """Move a table from ``kept`` to ``history``, its rows in the order they stood in: twins are paired by it.

    Of each column are given the name, the type, and whether it may be NULL.
    """
    body = ", ".join(f'"{name}" {kind}{"" if nullable else " NOT NULL"}' for name, kind, nullable in columns)
    con.execute(f'CREATE TABLE history."{table}" ({body})')
    cases = " ".join(f"WHEN '{former}' THEN '{now}'" for former, now in FORMER_WORDS.items())
    ended_as = f'CASE k.ended_as {cases} ELSE k.ended_as END AS "ended_as"'
    values = ", ".join(ended_as if name == "ended_as" else f'k."{name}"' for name, *_ in columns)
    con.execute(f'INSERT INTO history."{table}" SELECT {values} FROM kept."{table}" AS k ORDER BY k.rowid')  # noqa: S608
    con.execute(f'DROP TABLE kept."{table}"')


def _rename_counts(con: DuckDBPyConnection, table: str) -> None:
    """Give the counts of ``meta.load`` or ``meta.undone`` their names of layout 3, and count what was closed once."""
    sql = "SELECT column_name FROM information_schema.columns WHERE table_schema = 'meta' AND table_name = ?"
    names = {name for (name,) in con.execute(sql, [table]).fetchall()}
    if "retired" not in names:  # the first stores did not count it
        con.execute(f"ALTER TABLE meta.{table} ADD COLUMN retired BIGINT")
    for former, now in FORMER_WORDS.items():
        con.execute(f'ALTER TABLE meta.{table} RENAME COLUMN "{former}" TO "{now}"')
    con.execute(f"UPDATE meta.{table} SET closed = coalesce(closed, 0)")  # noqa: S608 (one of the two names)
    con.execute(f"UPDATE meta.{table} SET withdrawn = withdrawn - closed")  # noqa: S608


def settled_warnings(con: DuckDBPyConnection) -> None:
    """Say of each warning which load settled it; layout 3 worked that out from loads and lines when it was read.

    Settled was what the last load of the same bytes did not tell again, or told of a cell that is confirmed there.
    """
    _widen_faults(con)
    con.execute(
        """
        UPDATE meta.fault SET settled_by = s.last FROM (
            SELECT f.rowid AS nr, n.last FROM meta.fault AS f JOIN meta.load AS l ON l.load_id = f.load_id
            JOIN (SELECT sha256, max(load_id) AS last FROM meta.load GROUP BY sha256) AS n ON n.sha256 = l.sha256
            LEFT JOIN meta.fault AS a ON a.load_id = n.last AND a.line = f.line AND a.severity = 'warning'
                AND a.code = f.code AND a.column_name IS NOT DISTINCT FROM f.column_name
            LEFT JOIN meta.fault AS c ON c.load_id = n.last AND c.line = f.line AND c.code = 'correction.confirmed'
                AND c.column_name = f.column_name
            WHERE f.severity = 'warning' AND f.line IS NOT NULL AND (a.line IS NULL OR c.line IS NOT NULL)
        ) AS s WHERE meta.fault.rowid = s.nr
        """
    )


def _widen_faults(con: DuckDBPyConnection) -> None:
    """Give faults the columns they lack."""
    sql = "SELECT column_name FROM information_schema.columns WHERE table_schema = 'meta' AND table_name = 'fault'"
    have = {name for (name,) in con.execute(sql).fetchall()}
    for name, declared in LATER_OF_FAULTS.items():
        if name not in have:
            con.execute(f"ALTER TABLE meta.fault ADD COLUMN {name} {declared}")


def earlier_loads(con: DuckDBPyConnection) -> None:
    """Say of each load which earlier ones it may rest on; layout 4 kept only how many records it met again."""
    con.execute("DROP TABLE IF EXISTS meta.rests_on")
    con.execute("CREATE TABLE meta.rests_on (load_id BIGINT, on_load BIGINT, how VARCHAR, records BIGINT)")
    con.execute(
        "INSERT INTO meta.rests_on SELECT l.load_id, e.load_id, 'again', NULL FROM meta.load AS l "
        "JOIN meta.load AS e ON e.kind = l.kind AND e.load_id < l.load_id "
        "WHERE l.unchanged > 0 OR l.ignored > 0 OR e.withdrawn + e.closed > 0 ORDER BY l.load_id, e.load_id"
    )


def species_named(con: DuckDBPyConnection) -> None:
    """Say of each observation which species its word named: of one class the key of layout 5 could not tell two apart.

    The table is made anew, since none may be altered once its rows have changed in a transaction.
    """
    sql = (
        "SELECT column_name, data_type, is_nullable = 'YES' FROM information_schema.columns "
        "WHERE table_schema = 'history' AND table_name = 'observation' ORDER BY ordinal_position"
    )
    columns = con.execute(sql).fetchall()
    if not columns or "species_named" in {name for name, *_ in columns}:
        return
    con.execute("CREATE OR REPLACE TEMP TABLE species (observed VARCHAR, word VARCHAR, named VARCHAR)")
    sql = (
        "SELECT DISTINCT observed, json_extract_string(written, '$.observed') FROM history.observation "
        "WHERE written IS NOT NULL AND json_extract_string(written, '$.observed') IS NOT NULL ORDER BY ALL"
    )
    for observed, word in con.execute(sql).fetchall():
        folded = PER_CENT.sub("", " ".join(word.casefold().replace("-", " ").replace("_", " ").split()))
        named = ONE_SPECIES.get(folded, None if folded in WHOLE_KINDS else folded)
        if observed in SHARES_OF_GROUND and named:
            con.execute("INSERT INTO species VALUES (?, ?, ?)", [observed, word, named])
    body = ", ".join(f'"{name}" {kind}{"" if nullable else " NOT NULL"}' for name, kind, nullable in columns)
    con.execute("CREATE OR REPLACE TEMP TABLE as_it_was AS SELECT o.*, o.rowid AS place FROM history.observation AS o")
    con.execute("DROP TABLE history.observation")
    con.execute(f"CREATE TABLE history.observation ({body}, species_named VARCHAR)")
    fields = ", ".join(f'o."{name}"' for name, *_ in columns)
    con.execute(
        f"INSERT INTO history.observation SELECT {fields}, s.named FROM as_it_was AS o LEFT JOIN species AS s "  # noqa: S608
        "ON s.observed = o.observed AND s.word = json_extract_string(o.written, '$.observed') ORDER BY o.place"
    )
    con.execute("DROP TABLE as_it_was")
    con.execute("DROP TABLE species")


def money_in_decimal(con: DuckDBPyConnection) -> None:
    """Keep costs and prices in decimal; layout 6 kept them as binary fractions.

    One with more decimals than are kept is rounded, half away from zero, and stands in ``written`` as it was.
    """
    for table, column in MONEY_OF_LAYOUT_7.items():
        _in_decimal(con, table, column)


def _in_decimal(con: DuckDBPyConnection, table: str, column: str) -> None:
    """Make a table anew with a column in decimal, for none may be altered once its rows have changed in a transaction.

    A binary fraction is taken at its shortest text, which is what was written.
    """
    columns = con.execute(
        "SELECT column_name, data_type, is_nullable = 'YES' FROM information_schema.columns "
        "WHERE table_schema = 'history' AND table_name = ? ORDER BY ordinal_position",
        [table],
    ).fetchall()
    if "DOUBLE" not in {kind for name, kind, _ in columns if name == column}:
        return
    types = {name: MONEY if name == column else kind for name, kind, _ in columns}
    body = ", ".join(f'"{name}" {types[name]}{"" if nullable else " NOT NULL"}' for name, _, nullable in columns)
    text, amount = f'CAST(o."{column}" AS VARCHAR)', f'CAST(CAST(o."{column}" AS VARCHAR) AS {MONEY})'
    told = f"""'"{column}": "' || {text} || '"'"""
    written = (
        f'CASE WHEN CAST({amount} AS DOUBLE) IS NOT DISTINCT FROM o."{column}" OR o.written LIKE \'%"{column}": %\' '
        f"THEN o.written WHEN o.written IS NULL THEN '{{' || {told} || '}}' "
        f"ELSE left(o.written, length(o.written) - 1) || ', ' || {told} || '}}' END"
    )
    own = {column: amount, "written": written}
    values = ", ".join(own.get(name, f'o."{name}"') for name in types)
    con.execute(f'CREATE OR REPLACE TEMP TABLE as_it_was AS SELECT o.*, o.rowid AS place FROM history."{table}" AS o')  # noqa: S608
    con.execute(f'DROP TABLE history."{table}"')
    con.execute(f'CREATE TABLE history."{table}" ({body})')
    con.execute(f'INSERT INTO history."{table}" SELECT {values} FROM as_it_was AS o ORDER BY o.place')  # noqa: S608
    con.execute("DROP TABLE as_it_was")


def nothing_to_move(con: DuckDBPyConnection) -> None:
    """Layout 8 keeps originals and a chain of hashes in tables of their own; loads are entered once these are there."""


MIGRATIONS = {
    1: without_hashes, 2: plain_words, 3: settled_warnings, 4: earlier_loads, 5: species_named, 6: money_in_decimal,
    7: nothing_to_move,
}  # fmt: skip
"""Layout version → the step that brings it to the next."""
