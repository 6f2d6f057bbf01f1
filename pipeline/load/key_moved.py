"""Rows whose day was corrected: of a register, and of a laboratory's sample that another list holds on another day."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import polars as pl

from pipeline.common.faults import no_faults
from pipeline.load.in_words import differences
from pipeline.load.key_pairs import KEY_CHANGED, Fields, behind, count, once
from pipeline.store.layout import Connection
from schemas import Kind

SEVERAL = 3
"""Results of one sample that agree from which on it is no chance, whatever the days: common practice, no source."""
NEAR_DAYS = 31
"""Days within which one or two results of one number of a laboratory's are asked about: common practice, no source."""
_NUMBERS = ("reference", "sample")
"""Fields of the key that number a sample."""
_SAMPLED = {"record": pl.Int64, "line": pl.Int64, "old": pl.Int64, "load": pl.Int64, "was": pl.Int64,
            "file": pl.String, "former": pl.String, "now": pl.String}  # fmt: skip


def dated_rows(con: Connection, fields: Fields, loads: Sequence[int]) -> pl.DataFrame:
    """Warnings of a register's new dated rows beside one of another day that the file holds no more."""
    kind = fields.kind
    if not loads or not behind(con, kind, loads):
        return no_faults()
    others = [one for one in kind.stored if one.name in fields.told and not one.key and one.type != "image"]
    rows = con.execute(
        f"SELECT n.record, n.line, k.old, k.load_id, k.line AS was, k.of_file, "  # noqa: S608 (names from KINDS)
        f"concat_ws('; ', concat('valid_from: ', k.valid_from, ' there, ', n.valid_from, ' here'), "
        f"nullif({differences(others, 'k', 'n', fields.given)}, '')) AS what "
        f'FROM behind AS k JOIN incoming AS n ON n."{kind.name}" = k."{kind.name}" AND n.valid_from <> k.valid_from '
        f"WHERE n.status = 'new' AND ({fields.rest_same} OR EXISTS (SELECT 1 FROM incoming AS o "
        f'WHERE o."{kind.name}" = n."{kind.name}" AND o.record <> n.record)) '
        "ORDER BY abs(n.valid_from - k.valid_from), n.line, n.record, k.line, k.old"
    ).fetchall()
    names = {"record": pl.Int64, "line": pl.Int64, "old": pl.Int64, "load": pl.Int64, "was": pl.Int64,
             "file": pl.String, "what": pl.String}  # fmt: skip
    pairs = once(pl.DataFrame(rows, schema=names, orient="row")).sort("line", "was", maintain_order=True)
    where = pairs.select(pl.format("line {} of {} (load {})", "was", "file", "load")).to_series()
    return KEY_CHANGED.frame(pairs["line"], where, "", what=pairs["what"], gone="The file no longer holds that row")


def moved_samples(con: Connection, fields: Fields, told: Collection[int] = ()) -> pl.DataFrame:
    """New results of a sample whose number another list gave another day, with all that both say of it the same.

    Whatever the files are called: a yearly list holds the samples of the lists before. ``told`` are new records of
    which it has been said already.
    """
    kind = fields.kind
    numbers = [name for name in _NUMBERS if name in kind.key and name in fields.given]
    empty = pl.DataFrame(schema=_SAMPLED)
    if not (numbers and kind.value_field and kind.dated and not kind.period):
        return empty
    numbered = " OR ".join(f'n."{name}" IS NOT NULL' for name in numbers)
    if not count(con, f"SELECT count(*) FROM incoming AS n WHERE n.status = 'new' AND ({numbered})"):  # noqa: S608
        return empty
    # by the numbers alone first, which is quick in a large store
    apart = " OR ".join(f'k."{name}" IN (SELECT n."{name}" FROM incoming AS n)' for name in numbers)  # noqa: S608
    loads = con.execute(f"SELECT DISTINCT k.load_id FROM history.{kind.name} AS k WHERE {apart}").fetchall()  # noqa: S608
    if not behind(con, kind, [one for (one,) in loads]):
        return empty
    group = ("date", "date_to") if kind.by_period else ("date",)
    owner = [name for name in ("green",) if name in fields.given]  # an analysis of a material is about none
    sample = ", ".join([*(f'n."{name}"' for name in (*owner, *numbers)), "n.date"])
    own = " AND ".join(
        [f'm."{name}" IS NOT DISTINCT FROM n."{name}"' for name in (*owner, *numbers, "date")] + ["m.status = 'new'"]
    )
    near = "n.reference IS NOT NULL" if "reference" in numbers else "false"  # the sender's number may be of a place
    rows = con.execute(
        f"SELECT n.record, n.line, k.old, k.load_id, k.line, k.of_file, CAST(k.date AS VARCHAR), "  # noqa: S608
        f"CAST(n.date AS VARCHAR) FROM behind AS k JOIN incoming AS n ON {fields.all_but(group)} "
        f"WHERE n.status = 'new' AND ({numbered}) AND n.date <> k.date "
        f"WINDOW same AS (PARTITION BY {sample}, k.load_id, k.date) "
        "QUALIFY count(*) OVER same = (SELECT count(*) FROM incoming AS m WHERE " + own + ") "
        f'AND (count(DISTINCT n."{kind.value_field}") OVER same >= {SEVERAL} '
        f"OR ({near} AND abs(n.date - k.date) <= {NEAR_DAYS})) "
        "ORDER BY n.line, n.record, abs(n.date - k.date), k.line, k.old"
    ).fetchall()
    found = once(pl.DataFrame(rows, schema=_SAMPLED, orient="row"))
    return found.filter(~pl.col("record").is_in(list(told)))


def told_of_samples(kind: Kind, pairs: pl.DataFrame) -> pl.DataFrame:
    """A warning for each line of such results and the one of the former day."""
    where = pl.format("line {} of {} (load {})", "was", "file", "load").alias("where")
    lines = pairs.with_columns(where).unique(["line", "where"], keep="first", maintain_order=True)
    what = lines.select(pl.format("date: {} there, {} here", "former", "now")).to_series()
    gone = "All else that the two say of the sample of this number agrees"
    return KEY_CHANGED.frame(lines["line"], lines["where"], "", what=what, gone=gone)
