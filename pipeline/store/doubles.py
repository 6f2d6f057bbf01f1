"""Likely doubles: two jobs in force that two hands wrote down and that may be one.

The rule (docs/decisions.md says it in words): two jobs of one green, day and operation, of different keys, of which
nothing that is said of the work differs. Where the day of one is known to a month, a year or some days alone: two jobs
of one green and operation that may be of one day, of work that is not done every few days. Records of one key and span
are not asked about here: a second one stands only where one file says it twice, and that is a promise (two identical
jobs in a file are both real). Readings repeat by design (timed bowls, quadrats, drops), so a second one like the first
is no sign of a double, and their keys name the place.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterable, Sequence
from datetime import date

import polars as pl

from pipeline.common.faults import FAULT_SCHEMA, FaultKind
from pipeline.common.file_names import last_part, without_ending
from pipeline.store.decisions import KEY_CHANGED
from pipeline.store.keys import key_text
from pipeline.store.sql_text import among
from pipeline.store.store import Store
from schemas import KINDS
from schemas.job import OPENS

LIKELY_DOUBLE = FaultKind(
    "record.likely_double",
    "Two lines may be one job",
    "{record} and {other} may be one job that two people wrote down; both count.",
    "Say which it is: decide one FILE:LINE FILE:LINE (the first counts, the second no longer does), or "
    "decide two FILE:LINE FILE:LINE; status writes the commands out.",
    severity="warning",
)
SAME_WITHIN = 0.02
"""Amounts that differ by no more than this share of the larger are the same: common practice, no source.

110 lb written beside 50 kg differ by 0.2 %, 35 g/m² over a green beside the bags that were emptied by about 2 %.
"""
SPELT_ALIKE = 80
"""From this likeness of 100 on (letters alone; figures must agree) two names may be one: common practice, no source."""

WORK = (
    "passes", "depth_mm", "tine_mm", "spacing_along_mm", "spacing_across_mm", "holes", "blade_mm", "blade_spacing_mm",
    "cut_height_mm", "treated_area_m2",
)  # fmt: skip
"""What was done: where both lines say it and differ, they are two jobs."""
TALLIES = ("hours", "debris_l", "debris_kg", "clippings_g_m2")
"""What each hand counts for itself: it tells two goes apart only of work that is done several times a day."""
UNRESOLVED = ("packs", "rate_g_m2", "rate_ml_m2")
"""Amounts as written, where the register does not turn them into a mass or volume."""
PAIR = {
    "load_id": pl.Int64, "line": pl.Int64, "record": pl.String, "file": pl.String, "other_load": pl.Int64,
    "other_line": pl.Int64, "other_record": pl.String, "other_file": pl.String, "green": pl.String,
}  # fmt: skip
"""Columns of :func:`likely_doubles`: the later record, the earlier one, and their green."""
_DAYS_WORK = ("green", "date", "operation")
_HAND = "count(logged_by) = count(*) AND min(logged_by) = max(logged_by)"
_ONE_HAND_NUMBERED = f"{_HAND} AND min(file) = max(file) AND count(DISTINCT reference) = count(*)"
"""SQL of whether one person of one file gave each of a day's lines a number: no two of them are asked about."""
_OF_ONE_LOAD = (
    f"{_HAND} AND min(load_id) = max(load_id) AND count(reference) = count(*) "
    "AND list_unique(list(hash(reference))) = count(*)"
)
"""The same of one load's lines, told in half the time: numbers of one hash are looked at again."""


def likely_doubles(
    store: Store, load_id: int | None = None, greens: Sequence[str] | None = None, since: date | None = None
) -> pl.DataFrame:
    """Pairs of jobs in force that may be one, and of which nobody has decided (grain: the later job).

    Each is asked about once, beside the earliest of those that it may be. Columns: ``PAIR``, in a total order.

    Args:
        store: open.
        load_id: only pairs that this load brought a record of; None: all.
        greens: only pairs of these greens; None: of all.
        since: only pairs of a day from then on, or of a month; None: of any.
    """
    rows = _candidates(store, load_id, greens, since)
    if rows is None:
        return pl.DataFrame(schema=PAIR)
    both = pl.concat([_of_one_day(rows), _of_a_month(rows)]).filter(~_differ())
    if load_id is not None:
        both = both.filter(pl.col("load_id_b") == load_id)
    both = both.filter(_alike(both))
    told = both.select(
        *(pl.col(f"{name}_b").alias(name) for name in ("load_id", "line", "record", "file")),
        pl.col("load_id").alias("other_load"), pl.col("line").alias("other_line"),
        pl.col("record").alias("other_record"), pl.col("file").alias("other_file"), "green",
    )  # fmt: skip
    told = _undecided(store, told)
    return told.unique(["load_id", "line", "record"], keep="first", maintain_order=True)


def _of_one_day(rows: pl.DataFrame) -> pl.DataFrame:
    """Pairs of one green, day and operation, of different keys; the earlier one first."""
    both = rows.join(rows, on=["green", "operation", "date"], how="inner", suffix="_b", maintain_order="left_right")
    same_span = pl.col("date_to").eq_missing(pl.col("date_to_b"))  # 1 November and November 2024 are two answers
    both = both.with_columns(pl.col("date").alias("date_b")).select(_both_columns(rows))
    return both.filter((pl.col("at") < pl.col("at_b")) & same_span & _two_hands() & ~_one_hand())


def _both_columns(rows: pl.DataFrame) -> list[str]:
    """Columns of two jobs of one green and operation."""
    shared = {"green", "operation"}
    return [*rows.columns, *(f"{name}_b" for name in rows.columns if name not in shared)]


def _of_a_month(rows: pl.DataFrame) -> pl.DataFrame:
    """Pairs of one green and operation that may be of one day, one of them known to a month or year; earlier first.

    Of work that opens the surface, or that puts something on: what is done every few days is done in every month, and
    a month's entry beside a day's says nothing.
    """
    opens = pl.col("operation").is_in(list(OPENS))
    put_on = pl.any_horizontal(pl.col(name).is_not_null() for name in ("material", "mass_kg", "volume_l", *UNRESOLVED))
    rare = rows.filter(opens | put_on | (pl.col("operation") == "top_dressing"))
    spans = rare.filter(pl.col("date_to").is_not_null())
    days = rare.filter(pl.col("date_to").is_null())
    on = ["green", "operation"]
    both = pl.concat(
        one.join(other, on=on, how="inner", suffix="_b", maintain_order="left_right").select(_both_columns(rows))
        for one, other in ((spans, spans), (spans, days), (days, spans))
    )
    last, last_b = (pl.coalesce(f"date_to{side}", f"date{side}") for side in ("", "_b"))
    overlap = (pl.col("date") <= last_b) & (pl.col("date_b") <= last)
    other_days = pl.col("date").ne_missing(pl.col("date_b")) | pl.col("date_to").ne_missing(pl.col("date_to_b"))
    return both.filter((pl.col("at") < pl.col("at_b")) & overlap & other_days & ~_one_hand()).sort(
        "at", "at_b", maintain_order=True
    )


def _candidates(
    store: Store, load_id: int | None, greens: Sequence[str] | None, since: date | None
) -> pl.DataFrame | None:
    """Jobs that share green, day and operation, with what was put on, in the order they came; None where none do."""
    own, theirs = ", ".join(_DAYS_WORK), _of("", greens)
    days = "SELECT min(date), max(date) FROM history.job WHERE load_id = coalesce(?, load_id)"
    ((first, last),) = store.rows(days, [load_id])
    first = max(first, since) if first and since else first
    days_but = (
        f"SELECT {own} FROM {{}} WHERE date BETWEEN $first AND $last {theirs} GROUP BY ALL "  # noqa: S608
        "HAVING count(*) > 1 AND coalesce(bool_or(load_id = $load), true) AND NOT ({})"
    )
    spans = ""
    if store.rows("SELECT 1 FROM job WHERE date_to IS NOT NULL LIMIT 1"):
        spans = f" UNION {_may_be_of_one_day('p', greens)} UNION {_may_be_of_one_day('d', greens)}"
    given = {"first": first, "last": last, "load": load_id, **({} if greens is None else {"greens": list(greens)})}
    in_force = "(FROM history.job WHERE ended_by IS NULL)"
    several = days_but.format("job", _ONE_HAND_NUMBERED) + spans
    for days in (days_but.format(in_force, _OF_ONE_LOAD) + spans, several):
        if not store.frame(f"SELECT count(*) AS days FROM ({days})", **given)["days"][0]:  # noqa: S608
            return None  # most logs: what was put on need not be worked out
    within = "" if spans else " AND {}.date BETWEEN $first AND $last"  # also here: no scan reads more
    named = dict.fromkeys((*KINDS["job"].key, "date_to", *WORK, *TALLIES, *UNRESOLVED))
    fields = ", ".join(f'"{name}"' for name in named)
    rows = store.frame(
        f"WITH several AS MATERIALIZED ({several}) "  # noqa: S608 (names from KINDS)
        f"SELECT {fields}, tine_basis, load_id, line, file, mass_kg, volume_l, density_kg_l, in_register FROM ("
        f"SELECT a.* FROM application AS a SEMI JOIN several USING ({own}) "
        f"WHERE true{within.format('a')} {_of('a.', greens)} "
        f"UNION ALL BY NAME SELECT j.* FROM job AS j SEMI JOIN several USING ({own}) "
        f"WHERE NOT (j.material IS NOT NULL OR j.operation = 'top_dressing'){within.format('j')} {_of('j.', greens)})",
        by=(*_DAYS_WORK, "load_id", "line"),
        **given,
    )
    whose = {without_ending(n): one for n, one in store.rows("SELECT name, file FROM meta.rejects ORDER BY ALL")}
    source = {one: whose.get(without_ending(one), last_part(one)) for one in rows["file"].unique(maintain_order=True)}
    return rows.with_columns(
        key_text(KINDS["job"]),
        pl.struct("load_id", "line").rank("ordinal").alias("at"),
        pl.col("file").replace(source).alias("source"),
    )


def _of(table: str, greens: Sequence[str] | None) -> str:
    """SQL that leaves the jobs of these greens alone, where some are named."""
    return "" if greens is None else f"AND {among(f'{table}green', greens, 'greens')}"


def _may_be_of_one_day(side: str, greens: Sequence[str] | None) -> str:
    """SQL of days and work of jobs known to a month (``p``), or of those that may be of one day with them (``d``)."""
    own = ", ".join(f"{side}.{name}" for name in _DAYS_WORK)
    return (
        f"SELECT {own} FROM job AS p JOIN job AS d ON d.green = p.green AND d.operation = p.operation "  # noqa: S608
        "AND d.date <= p.date_to AND coalesce(d.date_to, d.date) >= p.date "
        "AND (d.date <> p.date OR d.date_to IS DISTINCT FROM p.date_to) "
        f"WHERE p.date_to IS NOT NULL AND coalesce(p.load_id = $load OR d.load_id = $load, true) {_of('p.', greens)}"
    )


def _two_hands() -> pl.Expr:
    """Whether two jobs of one day are of different keys."""
    return pl.any_horizontal(
        pl.col(name).ne_missing(pl.col(f"{name}_b")) for name in ("material", "reference", "logged_by")
    )


def _one_hand() -> pl.Expr:
    """Whether one person of one file gave each of two jobs a number: then they are two."""
    return (
        (pl.col("source") == pl.col("source_b"))
        & (pl.col("logged_by") == pl.col("logged_by_b")).fill_null(value=False)
        & (pl.col("reference") != pl.col("reference_b")).fill_null(value=False)
    )


def _differ() -> pl.Expr:
    """Whether what two jobs say of the work differs; what one of them leaves blank tells nothing."""
    turned = [
        pl.coalesce(f"mass_kg{side}", pl.col(f"volume_l{side}") * pl.coalesce("density_kg_l", "density_kg_l_b"))
        for side in ("", "_b")
    ]
    by_mass, by_volume = _apart(*turned), _apart(pl.col("volume_l"), pl.col("volume_l_b"))
    as_written = pl.any_horizontal(
        _apart(pl.col(name), pl.col(f"{name}_b")).fill_null(value=False) for name in UNRESOLVED
    )
    amount = pl.coalesce(by_mass, by_volume, as_written)
    work = [_apart(pl.col(name), pl.col(f"{name}_b")).fill_null(value=False) for name in WORK]
    basis = (pl.col("tine_basis") != pl.col("tine_basis_b")).fill_null(value=False)
    given = [
        pl.col(f"{name}{side}").is_not_null() for name in ("material", "mass_kg", "volume_l") for side in ("", "_b")
    ]
    several_a_day = ~pl.col("operation").is_in(list(OPENS)) & ~pl.any_horizontal(given)
    tallies = [_apart(pl.col(name), pl.col(f"{name}_b")).fill_null(value=False) for name in TALLIES]
    return pl.any_horizontal(amount, basis, *work, several_a_day & pl.any_horizontal(tallies))


def _apart(one: pl.Expr, other: pl.Expr) -> pl.Expr:
    """Whether two figures differ by more than rounding; null where one is missing."""
    return (one - other).abs() > SAME_WITHIN * pl.max_horizontal(one.abs(), other.abs())


def _alike(both: pl.DataFrame) -> pl.Series:
    """Whether the materials of each pair may be one; worked out once for each two names."""
    names = ["material", "material_b", "in_register", "in_register_b"]
    known = {row: _one_material(*row) for row in both.select(names).unique(maintain_order=True).iter_rows()}
    return pl.Series([known[row] for row in both.select(names).iter_rows()], dtype=pl.Boolean)


def _one_material(one: str | None, other: str | None, held: bool | None, held_too: bool | None) -> bool:
    """Whether two names may be one material: one is blank, or they are spelt alike and not both in the register."""
    if one is None or other is None or one == other:
        return True
    if held and held_too:
        return False
    from rapidfuzz import fuzz

    if re.findall(r"\d+", one) != re.findall(r"\d+", other):  # 12-3-9 is not 6-0-12, however like the words
        return False
    letters = [re.sub(r"[\W\d_]+", "", name.casefold()) for name in (one, other)]
    return fuzz.ratio(*letters) >= SPELT_ALIKE


def _undecided(store: Store, pairs: pl.DataFrame) -> pl.DataFrame:
    """The pairs without those somebody has said are two jobs, and those that are asked about as a corrected key."""
    decided = store.frame(
        "SELECT of_load AS load_id, of_line AS line, record, other_load, other_line, other_record FROM meta.decision "
        "WHERE taken_back_at IS NULL AND fits AND decided = 'two' AND other_load IS NOT NULL"
    )
    ends = ("load_id", "other_load"), ("line", "other_line"), ("record", "other_record")
    turned = decided.rename(dict(ends) | {other: one for one, other in ends})
    both = pl.concat([decided, turned.select(decided.columns)])
    pairs = pairs.join(both, on=both.columns, how="anti", maintain_order="left")
    asked = store.frame(
        "SELECT load_id, line, CAST(regexp_extract(value, '\\(load (\\d+)\\)$', 1) AS BIGINT) AS other_load, "
        "CAST(regexp_extract(value, '^line (\\d+) ', 1) AS BIGINT) AS other_line FROM meta.fault WHERE code = $code",
        code=KEY_CHANGED,
    )
    return pairs.join(asked, on=asked.columns, how="anti", maintain_order="left")


def told(pairs: pl.DataFrame) -> pl.DataFrame:
    """A warning for each pair, at the later line, that names both (FAULT_SCHEMA)."""
    rows = []
    for load, line, _, file, other_load, other_line, _, other_file, _ in pairs.select(*PAIR).iter_rows():
        facts = {
            "record": f"line {line} of {file} (load {load})",
            "other": f"line {other_line} of {other_file} (load {other_load})",
        }
        kind = LIKELY_DOUBLE
        said = (kind.code, kind.severity, kind.template.format(**facts), kind.hint)
        rows.append((line, "", None, *said))
    return pl.DataFrame(rows, schema=FAULT_SCHEMA, orient="row")


def command(word: str, *places: tuple[str, int]) -> str:
    """What a person types to decide about these lines, but for the reason and the name."""
    return shlex.join(["swardtally", "decide", word, *(f"{file}:{line}" for file, line in places)])


def as_faults(store: Store, greens: Sequence[str] | None = None, since: date | None = None) -> pl.DataFrame:
    """Every likely double as a row of ``meta.fault`` with its file: a warning that stands on the later record.

    Args:
        store: open.
        greens: those of these greens alone; None: of all.
        since: those of a day from then on alone, or of a month; None: of any.
    """
    pairs = likely_doubles(store, greens=greens, since=since)
    return told(pairs).rename({"column": "column_name"}).with_columns(
        pairs["load_id"], pairs["file"], pairs["green"], pairs["record"],
    )  # fmt: skip


def between(pairs: pl.DataFrame, places: Iterable[tuple[str, int | None]]) -> pl.DataFrame:
    """The pairs whose two records stand at these two places; a place without a line is the whole file."""
    one, other = list(places)
    return pairs.filter((_at(one, "") & _at(other, "other_")) | (_at(other, "") & _at(one, "other_")))


def _at(place: tuple[str, int | None], start: str) -> pl.Expr:
    file, line = place
    name = pl.col(f"{start}file")
    here = (name == file) | (name.str.split("/").list.last() == file)
    return here if line is None else here & (pl.col(f"{start}line") == line)
