"""Rows of a file's former version that it no longer holds, and that stand in it now under another key.

A date, a green, a depth or a number is part of what makes a record the same: corrected in the file, it makes another
record, and the former one stays in force beside it. Such a pair is asked about (pipeline/store/decisions.py), for a
second job like the first may be true. A row that the file merely lacks is no sign: exports grow, and old rows drop out
of those that show the last weeks. A pair therefore says the same in all but one field of the key, and

- where other rows of the former version stand in the file, its new row is where the former was, counted from the rows
  about it, or the former is of a day between the file's first and last; an issue of another name is a former version
  where most of its rows of those days stand in the file;
- where none stands in a file of the same name, all rows changed in one way: one value to another, or the same days of
  another year, and they are most of the former version;
- of a file of another name of which none stands, they are all there is on either side, and their results are several.

In a register whose rows hold from a day on, a dated row of a name that the file holds no more is its former version as
well where the file has a new dated row of that name: the day was corrected, whatever else was. Of a file that holds but
one row of a name this is said only where nothing but the day differs: it may be a list of what holds now.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.file_names import last_part
from pipeline.load.detect import DetectedFile
from pipeline.load.in_words import shown
from pipeline.load.key_moved import dated_rows, moved_samples, told_of_samples
from pipeline.load.key_pairs import KEY_CHANGED, Fields, behind, count, once
from pipeline.load.matched import fields_matched
from pipeline.load.read_otherwise import MOST_OF_IT
from pipeline.load.source import same_source
from pipeline.store.layout import Connection
from pipeline.store.store import queried
from schemas import Kind

REGISTER_KEY_CHANGED = FaultKind(
    "register.key_changed",
    "Register holds a row under its former name as well",
    "{value} said the same, but for {what}. The file no longer holds that row, and both are in the register.",
    "If it was corrected, take the load that brought the former back (undo {load}; loads that rest on it first), and "
    "load this file again. If both are true, nothing need be done.",
    severity="warning",
)
SEVERAL = 3
"""Different results from which on two files that agree in all are no chance: common practice, no source."""
LATEST = 5
"""Files of another name that are looked at, the latest first."""
NEAREST = 5
"""New rows of nearest days that a former row is held against."""
_PAIRS = {
    "record": pl.Int64, "line": pl.Int64, "old": pl.Int64, "load": pl.Int64, "was": pl.Int64, "file": pl.String,
    "field": pl.String, "former": pl.String, "now": pl.String,
}  # fmt: skip
"""Columns of pairs: the new record, and the former one."""


def key_changed(
    con: Connection,
    kind: Kind,
    detected: DetectedFile,
    told: Collection[str],
    known: Collection[int],
    said: Collection[int] = (),
    before: Collection[str] = (),
) -> pl.DataFrame:
    """Warnings of the new records that say what the file's former version said under another key. After `match`.

    Args:
        con: connection inside a transaction.
        kind: kind of record.
        detected: the file.
        told: fields that the file says something of.
        known: loads of the very same bytes: a file that is no other version has no former one.
        said: earlier loads of which it has been said already.
        before: files that the same call loaded before: one of the same name in another folder is no former version.
    """
    given = fields_matched(con)
    named = not kind.register or kind.name in kind.by_name
    if known or detected.is_rejects_file or not named or "old" not in given:
        return no_faults()
    if not con.execute("SELECT 1 FROM incoming WHERE status = 'new' LIMIT 1").fetchall():
        return no_faults()
    fields = Fields(kind, given, frozenset(told))
    loads = con.execute(
        "SELECT load_id, file, profile FROM meta.load WHERE kind = ? AND NOT list_contains(?, profile) "
        "AND NOT list_contains(?, load_id) ORDER BY load_id DESC",
        [kind.name, list(detected.beside), list(said)],
    ).fetchall()
    own = [one for one, file, _ in loads if last_part(file) == last_part(detected.file) and file not in before]
    others = [one for one, file, by in loads if one not in own and _alike(detected, file, by)]
    pairs = _in_versions(con, fields, own, others)
    whole = pairs is None
    if pairs is None:
        pairs = _of_its_own(con, fields, own)
    if whole and not pairs.height and kind.value_field and not kind.period:
        pairs = _of_others(con, fields, others)
    dated = dated_rows(con, fields, [*own, *others]) if kind.by_day and "valid_from" in given else no_faults()
    if dated.height:
        pairs = pairs.filter(pl.col("field") != "valid_from")
    sampled = moved_samples(con, fields, pairs["record"].to_list())
    for table in ("behind", "shown", "anchor"):
        con.execute(f"DROP TABLE IF EXISTS {table}")
    return concat([*_faults(kind, pairs, detected.file, whole=whole), dated, told_of_samples(kind, sampled)])


def _alike(detected: DetectedFile, file: str, profile: str) -> bool:
    return same_source(detected.file, detected.profile_name, file, profile)


def _in_versions(con: Connection, fields: Fields, own: Sequence[int], others: Sequence[int]) -> pl.DataFrame | None:
    """Pairs with versions of which rows stand in the file; None where there is no such version.

    Makes the temporary table ``anchor``: lines of versions that stand, and how far they moved.
    """
    con.execute(
        "CREATE OR REPLACE TEMP TABLE anchor AS "  # noqa: S608 (a name from KINDS)
        "SELECT k.load_id, k.line AS was, min(i.line - k.line) AS shift, count(*) AS records "
        f"FROM incoming AS i JOIN history.{fields.kind.name} AS k ON k.rowid = i.old "
        "WHERE list_contains(?, k.load_id) OR list_contains(?, k.load_id) GROUP BY ALL",
        [list(own), list(others)],
    )
    standing = {one for (one,) in con.execute("SELECT DISTINCT load_id FROM anchor").fetchall()}
    few = standing.intersection(others) - _most_stand(con, fields, sorted(standing.intersection(others)))
    con.execute("DELETE FROM anchor WHERE list_contains(?, load_id)", [sorted(few)])
    if not standing - few:
        return None
    versions = [*(own if standing & {*own} else ()), *sorted(standing.intersection(others) - few)]
    if not behind(con, fields.kind, versions):
        return pl.DataFrame(schema=_PAIRS)
    return once(pl.concat([_in_its_place(con, fields), _in_its_days(con, fields)]))


def _most_stand(con: Connection, fields: Fields, loads: Sequence[int]) -> set[int]:
    """Those of these loads of whose records, of the days that the file shows, most stand in it."""
    if not loads:
        return set()
    rows = con.execute(
        f"SELECT k.load_id FROM history.{fields.kind.name} AS k "  # noqa: S608 (a name from KINDS)
        f"WHERE k.ended_by IS NULL AND list_contains(?, k.load_id) AND {_within(fields.kind)} GROUP BY k.load_id "
        "HAVING (SELECT sum(a.records) FROM anchor AS a WHERE a.load_id = k.load_id) >= ? * count(*)",
        [list(loads), MOST_OF_IT],
    ).fetchall()
    return {one for (one,) in rows}


def _within(kind: Kind) -> str:
    """SQL of whether a former row ``k`` is of a day between the file's first and last.

    Of these two it may show a part: the last five hundred rows begin somewhere in a day.
    """
    if not kind.dated:
        return "true"
    first, last = (f"(SELECT {end}(i.date) FROM incoming AS i)" for end in ("min", "max"))  # noqa: S608 (no word of a user's)
    return f"k.date > {first} AND k.date < {last}"


def _of_its_own(con: Connection, fields: Fields, own: Sequence[int]) -> pl.DataFrame:
    """Pairs with what the last load of a file of this name brought, of which nothing stands."""
    if not own or not behind(con, fields.kind, own):
        return pl.DataFrame(schema=_PAIRS)
    con.execute("DELETE FROM behind WHERE load_id < (SELECT max(load_id) FROM behind)")
    return _whole(con, fields)


def _in_its_place(con: Connection, fields: Fields) -> pl.DataFrame:
    """Pairs whose new row is where the former was, counted from the nearest row above or below that still stands."""
    former = queried(con, "SELECT b.old, b.load_id, b.line FROM behind AS b ORDER BY b.line, b.old")
    stand = queried(con, "SELECT a.load_id, a.was, a.shift FROM anchor AS a ORDER BY a.was, a.load_id")
    places = pl.concat(
        former.join_asof(
            stand, left_on="line", right_on="was", by=by, strategy=way, check_sortedness=False
        ).select("old", (pl.col("line") + pl.col("shift")).alias("line"))
        for by in ("load_id", None)
        for way in ("backward", "forward")
    )  # fmt: skip
    new = queried(con, "SELECT DISTINCT i.line FROM incoming AS i WHERE i.status = 'new'")
    places = places.join(new, on="line", how="semi", maintain_order="left").unique(maintain_order=True)
    if not places.height:  # a window: what dropped out would stand outside the file
        return pl.DataFrame(schema=_PAIRS)
    con.register("place", places.to_arrow())
    found = _pairs(
        con,
        f"SELECT {fields.pair()} FROM place AS p JOIN behind AS k ON k.old = p.old "  # noqa: S608 (names from KINDS)
        f"JOIN incoming AS n ON n.line = p.line WHERE n.status = 'new' AND {fields.one_differs} "
        "ORDER BY n.line, n.record, k.line, k.old",
    )
    con.unregister("place")
    return found


def _in_its_days(con: Connection, fields: Fields) -> pl.DataFrame:
    """Pairs whose former row is of a day between the first and last of the file, which would show it still."""
    con.execute(f"CREATE OR REPLACE TEMP TABLE shown AS SELECT k.* FROM behind AS k WHERE {_within(fields.kind)}")  # noqa: S608
    if not count(con, "SELECT count(*) FROM shown"):
        return pl.DataFrame(schema=_PAIRS)
    nearest = "abs(n.date - k.date), " if fields.kind.dated else ""
    found = [
        _pairs(
            con,
            f"SELECT {fields.pair(group)} FROM shown AS k JOIN incoming AS n ON {fields.all_but(group)} "  # noqa: S608
            "WHERE n.status = 'new' "
            f"QUALIFY row_number() OVER (PARTITION BY k.old ORDER BY {nearest}n.line, n.record) <= {NEAREST} "
            f"ORDER BY {nearest}n.line, n.record, k.line, k.old",
        )
        for group in fields.keys
    ]
    return pl.concat(found)


def _whole(con: Connection, fields: Fields, least: float = MOST_OF_IT) -> pl.DataFrame:
    """Pairs of a file all of whose rows changed in one way; none where they are less than this share of the former."""
    if fields.kind.period:
        return pl.DataFrame(schema=_PAIRS)
    held = count(con, "SELECT count(*) FROM behind")
    for group, also in _one_ways(con, fields):
        found = once(
            _pairs(
                con,
                f"SELECT {fields.pair(group)} FROM behind AS k "  # noqa: S608
                f"JOIN incoming AS n ON {fields.all_but(group)} AND {also} "
                "WHERE n.status = 'new' ORDER BY n.line <> k.line, n.line, n.record, k.line, k.old",
            )
        )
        if found.height and found.height >= least * held:
            return found
    return pl.DataFrame(schema=_PAIRS)


def _one_ways(con: Connection, fields: Fields) -> Iterator[tuple[tuple[str, ...], str]]:
    """Parts of the key that all rows may have changed in one way, and the way."""
    for group in fields.keys:
        former, now = (shown([f'{side}."{name}"' for name in group if name in some])
                       for side, some in (("k", fields.kind.by_name), ("n", fields.given)))  # fmt: skip
        several = (
            count(con, f"SELECT count(DISTINCT {former}) FROM behind AS k"),  # noqa: S608 (names from KINDS)
            count(con, f"SELECT count(DISTINCT {now}) FROM incoming AS n WHERE n.status = 'new'"),  # noqa: S608
        )
        if several == (1, 1):
            yield group, "true"
        elif group[0] == "date":
            yield group, "month(n.date) = month(k.date) AND day(n.date) = day(k.date)"


def _of_others(con: Connection, fields: Fields, loads: Sequence[int]) -> pl.DataFrame:
    """Pairs with the latest file of another name that says all that this one does, under another key."""
    new = count(con, "SELECT count(*) FROM incoming WHERE status = 'new'")
    if not loads or new < SEVERAL or new != count(con, "SELECT count(*) FROM incoming"):
        return pl.DataFrame(schema=_PAIRS)
    if count(con, f'SELECT count(DISTINCT "{fields.kind.value_field}") FROM incoming') < SEVERAL:  # noqa: S608 (a name from KINDS)
        return pl.DataFrame(schema=_PAIRS)
    as_many = con.execute(
        f"SELECT k.load_id FROM history.{fields.kind.name} AS k WHERE k.ended_by IS NULL "  # noqa: S608 (a name from KINDS)
        "AND list_contains(?, k.load_id) GROUP BY k.load_id HAVING count(*) = ? ORDER BY k.load_id DESC LIMIT ?",
        [list(loads), new, LATEST],
    ).fetchall()
    for (load_id,) in as_many:
        if behind(con, fields.kind, [load_id]) == new:
            found = _whole(con, fields, least=1.0)
            if found.height:
                return found
    return pl.DataFrame(schema=_PAIRS)


def _pairs(con: Connection, sql: str) -> pl.DataFrame:
    return pl.DataFrame(con.execute(sql).fetchall(), schema=_PAIRS, orient="row")


def _faults(kind: Kind, pairs: pl.DataFrame, here: str, *, whole: bool) -> Iterator[pl.DataFrame]:
    """A warning for each line and the one it said before."""
    told = REGISTER_KEY_CHANGED if kind.register else KEY_CHANGED
    where = pl.format("line {} of {} (load {})", "was", "file", "load").alias("where")
    pairs = pairs.with_columns(where).unique(["line", "where"], keep="first", maintain_order=True)
    hidden = pl.col("field").is_in([one.name for one in kind.fields if one.private])
    values = pl.format("{}: {} there, {} here", "field", "former", "now")
    pairs = pairs.with_columns(pl.when(hidden).then("field").otherwise(values).alias("what"))
    for (load, file), part in pairs.group_by(["load", "file"], maintain_order=True):
        own = not whole or last_part(str(file)) == last_part(here)
        gone = "The file no longer holds that row" if own else "All that the two files say differs in this alone"
        yield told.frame(part["line"], part["where"], "", what=part["what"], load=load, gone=gone)


def settle_gone(con: Connection, kind: Kind, load_id: int) -> None:
    """Settle the questions about rows that this load ended: there is no second row any more."""
    con.execute(
        "UPDATE meta.fault SET settled_by = $load FROM meta.load AS l WHERE l.load_id = fault.load_id "  # noqa: S608 (a name from KINDS)
        "AND l.kind = $kind AND fault.code = $code AND fault.settled_by IS NULL "
        f"AND EXISTS (SELECT 1 FROM history.{kind.name} AS k WHERE k.ended_by = $load "
        "AND k.load_id = CAST(regexp_extract(fault.value, '\\(load (\\d+)\\)$', 1) AS BIGINT) "
        "AND k.line = CAST(regexp_extract(fault.value, '^line (\\d+) ', 1) AS BIGINT))",
        {"load": load_id, "kind": kind.name, "code": KEY_CHANGED.code},
    )
