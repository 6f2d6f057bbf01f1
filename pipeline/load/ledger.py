"""The loads kept in ``meta``: what came, what became of it, and its faults."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from importlib.metadata import version
from typing import Any

import polars as pl

from pipeline.common.file_names import without_ending
from pipeline.load.clock import CLOCK_BACK, DAY_TAKEN
from pipeline.load.detect import DetectedFile
from pipeline.load.kept import EMPTIED, KEPT, NOT_KEPT
from pipeline.load.key_changed import REGISTER_KEY_CHANGED
from pipeline.load.key_pairs import KEY_CHANGED
from pipeline.load.match_faults import (
    CHANGED,
    CHANGED_MORE,
    GOES_BACK,
    ONE_CALL,
    OTHER_DAYS,
    OTHER_FILE,
    REPLACES,
    TAKEN_BACK,
)
from pipeline.load.matched import Matched, met_again
from pipeline.load.rejects import REJECTS_KEPT, REJECTS_STALE, originals
from pipeline.load.reported import ALTERS_REPORTED
from pipeline.load.result import Counts, FileResult
from pipeline.profiles.corrections import CONFIRMED
from pipeline.store.decisions import FROM_START, OF_TWO, now
from pipeline.store.keys import key_text
from pipeline.store.layout import Connection
from pipeline.store.store import Store
from schemas import KINDS, Kind

TOLD_ONCE = (
    REPLACES,
    CHANGED,
    CHANGED_MORE,
    TAKEN_BACK,
    OTHER_DAYS,
    OTHER_FILE,
    ONE_CALL,
    GOES_BACK,
    KEY_CHANGED,
    REGISTER_KEY_CHANGED,
    REJECTS_KEPT,
    REJECTS_STALE,
    KEPT,
    NOT_KEPT,
    EMPTIED,
    ALTERS_REPORTED,
    CLOCK_BACK,
    DAY_TAKEN,
)
"""What is true of one load alone: what it did to others, and how it found the folder of rejected rows."""


def tool_version() -> str:
    """Version of the tool."""
    return version("swardtally")


def loads_of(store: Store, sha256: str, kind: str, beside: tuple[str, ...] = ()) -> dict[int, str]:
    """Loads in force of a file with these bytes, read as this kind of record, and the file's name then; ascending.

    Without those of the profiles that read other parts of the file (``beside``).
    """
    sql = (
        "SELECT load_id, file FROM meta.load WHERE sha256 = ? AND kind = ? AND NOT list_contains(?, profile) "
        "ORDER BY load_id"
    )
    return dict(store.rows(sql, [sha256, kind, list(beside)]))


def told_before(store: Store, detected: DetectedFile, faults: pl.DataFrame) -> bool:
    """Whether these very bytes were loaded before, and the same was said then of their rows.

    Rejected rows count, what is asked about a value, and what somebody has confirmed; not what hangs on other loads.
    """
    latest = "SELECT max(load_id) FROM meta.load WHERE sha256 = $sha AND NOT list_contains($beside, profile)"
    met = store.frame(
        f'SELECT line, column_name AS "column", code, severity FROM meta.fault WHERE load_id = ({latest})',  # noqa: S608 (no word of a user's in it)
        sha=detected.sheet.sha256,
        beside=list(detected.beside),
    )
    return _of_rows(met).equals(_of_rows(faults))


def _of_rows(faults: pl.DataFrame) -> pl.DataFrame:
    """What is said of a file's rows by themselves: ``line``, ``column``, ``code``, in order."""
    of_loads = pl.col("code").str.contains("^(?:load|record)[.]")
    said = (pl.col("severity") != "note") | (pl.col("code") == CONFIRMED.code)
    rows = faults.filter(said & ~of_loads).select("line", "column", "code")
    return rows.sort("line", "column", "code", maintain_order=True)


def last_load(store: Store, sha256: str, file: str, rules: str, kind: str, profile: str) -> dict[str, Any] | None:
    """The entry of the latest load of this very file under these very rules; None where there is none.

    A file with rejected rows is always looked at again, so that they are written out again.
    ``rules`` are the fingerprint of every profile and of the file's corrections; kind and profile what the person
    named, "" where nothing.
    """
    found = store.frame(
        "SELECT * FROM meta.load WHERE sha256 = $sha AND file = $file AND rules_sha256 = $rules "
        "AND version = $version AND rejected = 0 AND $kind IN ('', kind) AND $profile IN ('', profile) "
        "AND load_id = (SELECT max(load_id) FROM meta.load WHERE sha256 = $sha AND file = $file)",
        sha=sha256,
        file=file,
        rules=rules,
        version=tool_version(),
        kind=kind,
        profile=profile,
    )
    return found.row(0, named=True) if found.height else None


def same_again(store: Store, row: dict[str, Any]) -> FileResult | None:
    """The result of a file that the store holds already; None where anything was loaded since that could change it."""
    touched = {kind.name for kind in KINDS.values() if kind.register} | {row["kind"]}
    later = store.rows(
        "SELECT count(*) FROM meta.load WHERE load_id > ? AND list_contains(?, kind) "
        "AND loaded + superseded + withdrawn + closed > 0",
        [row["load_id"], sorted(touched)],
    )[0][0]
    if later:
        return None
    faults = store.frame(
        'SELECT line, column_name AS "column", value, code, severity, message, hint FROM meta.fault '
        "WHERE load_id = $load AND NOT list_contains($once, code)",
        load=row["load_id"],
        once=[kind.code for kind in TOLD_ONCE],
    )
    faults = without_confirmed(faults)
    counts = Counts(
        rows=row["rows"] - row["closed"],
        unchanged=row["loaded"] + row["unchanged"] + row["superseded"],
        ignored=row["ignored"] + row["withdrawn"],
    ).warned(faults)
    counts.check()
    return FileResult(row["file"], row["kind"], row["profile"], counts, faults)


def record_load(con: Connection, load_id: int, detected: DetectedFile, counts: Counts) -> None:
    """Write the load's own entry."""
    assert detected.kind is not None
    entry = {
        "load_id": load_id,
        "file": detected.sheet.file,
        "sha256": detected.sheet.sha256,
        "kind": detected.kind.name,
        "profile": detected.profile_name,
        "rules_sha256": detected.rules,
        "loaded_at": now(),
        "version": tool_version(),
        "encoding": detected.sheet.encoding,
        **asdict(counts),
    }
    given = ", ".join("?" * len(entry))
    con.execute(f"INSERT INTO meta.load ({', '.join(entry)}) VALUES ({given})", [*entry.values()])  # noqa: S608


def record_rests(
    con: Connection, kind: Kind, load_id: int, matched: Matched, known: Iterable[int], taken: Mapping[int, int]
) -> None:
    """Write which earlier loads this one rests on: without them it would have done itself what they did.

    They hold records that it says again, or had taken back what it takes back too. Where it says what a later file has
    changed since its bytes were first loaded, it rests on both of these; and on those from whose rows of a register its
    own take what they leave out, ``taken``.
    """
    again = dict(met_again(con, kind)) if matched.unchanged else {}
    if matched.former:
        again = dict.fromkeys([*known, *(load for load, _ in matched.later)], matched.former) | again
    rests = [(load_id, on, "again", count) for on, count in sorted(again.items())]
    rests += [(load_id, on, "ended", count) for on, count in matched.gone]
    rests += [(load_id, on, "taken", count) for on, count in sorted(taken.items())]
    if rests:
        con.executemany("INSERT INTO meta.rests_on VALUES (?, ?, ?, ?)", rests)


def _about(faults: pl.DataFrame, kind: Kind, records: pl.DataFrame) -> pl.DataFrame:
    """Faults with what they are about: ``green``, ``record`` (its key) and ``of_value``.

    In a wide sheet a fault of a cell is about that cell's record; one of the whole line is about no single record, and
    about a green only where the line is of one green.
    """
    green = pl.col("green") if "green" in records.columns else pl.lit(None, dtype=pl.String).alias("green")
    here = records.join(faults.select("line"), on="line", how="semi", maintain_order="left")
    here = here.select("line", "cell", green, key_text(kind))
    of_line = here.group_by("line", maintain_order=True).agg(
        pl.when(pl.col("green").n_unique() == 1).then(pl.col("green").first()),
        pl.when(pl.col("cell").is_null().all()).then(pl.col("record").first()),
    )
    of_cell = here.filter(pl.col("cell").is_not_null()).rename({"cell": "column"})
    of_cell = of_cell.unique(["line", "column"], keep="first", maintain_order=True).with_columns(of_value=True)
    done = faults.join(of_line, on="line", how="left", maintain_order="left")
    done = done.join(of_cell, on=["line", "column"], how="left", suffix="_of_cell", maintain_order="left")
    return done.with_columns(
        pl.coalesce("green_of_cell", "green").alias("green"),
        pl.coalesce("record_of_cell", "record").alias("record"),
        pl.col("of_value").fill_null(value=False),
    )


def record_faults(
    store: Store,
    load_id: int,
    faults: pl.DataFrame,
    kind: Kind,
    records: pl.DataFrame,
    matched: Matched,
    stood: pl.DataFrame | None = None,
) -> None:
    """Write the load's faults, each with the green and the record it concerns.

    What this load says of a record that the store held already is what stands of it: former warnings of it are
    settled, and its own are of that record, in whatever file it came first. No warning stands of a confirmed cell.
    Made from the temporary table ``incoming`` (match.py), before the records are written.

    ``stood`` is where the rows of a file of rejected rows stood in their own file (``line``, ``stood``): an error keeps
    that as ``of_line``, so that what is decided of the row is known to be of it.
    """
    seen = _seen_again(store, kind, faults) if matched.met else pl.DataFrame(schema=_SEEN)
    if seen.height:
        store.con.register("seen_frame", seen.to_arrow())
        store.con.execute(_SETTLE, {"load": load_id, "of_two": [*OF_TWO, FROM_START]})
        store.con.unregister("seen_frame")
    if not faults.height:
        return
    confirmed = (
        faults.filter(pl.col("code") == CONFIRMED.code)
        .select("line", "column")
        .unique(maintain_order=True)
        .with_columns(c=True)
    )
    _settle_confirmed(
        store, load_id, confirmed.join(seen.filter(pl.col("value_of").is_null()), on="line", maintain_order="left")
    )
    told = _about(faults, kind, records).with_columns(pl.when("of_value").then("record").alias("value_of"))
    told = told.join(seen, on=["line", "value_of"], how="left", nulls_equal=True, maintain_order="left")
    told = told.join(confirmed, on=["line", "column"], how="left", maintain_order="left")
    if stood is not None:
        told = told.join(stood, on="line", how="left", maintain_order="left")
        told = told.with_columns(of_line=pl.when(pl.col("severity") == "error").then("stood").otherwise("of_line"))
    settled = pl.when(pl.col("c") & (pl.col("severity") == "warning")).then(pl.lit(load_id, dtype=pl.Int64))
    store.con.register("fault_frame", told.with_columns(settled_by=settled).to_arrow())
    store.con.execute(
        "INSERT INTO meta.fault BY NAME "
        'SELECT ? AS load_id, f.line, f."column" AS column_name, f.value, f.code, f.severity, f.message, f.hint, '
        "f.green, f.record, f.of_value, f.of_load, f.of_line, f.settled_by FROM fault_frame AS f",
        [load_id],
    )
    store.con.unregister("fault_frame")


def without_confirmed(faults: pl.DataFrame) -> pl.DataFrame:
    """Faults without the warnings of cells that somebody has confirmed: the note that says so stands for them."""
    confirmed = faults.filter(pl.col("code") == CONFIRMED.code).select("line", "column").with_columns(said=True)
    both = faults.join(confirmed.unique(maintain_order=True), on=["line", "column"], how="left", maintain_order="left")
    return both.filter(pl.col("said").is_null() | (pl.col("severity") != "warning")).drop("said")


def _settle_confirmed(store: Store, load_id: int, cells: pl.DataFrame) -> None:
    """Settle what was asked of a register's row that changes what held from the start, once its cells are confirmed.

    Read again it changes nothing any more, so that it is the confirmation alone that answers; and where every value it
    changed is confirmed, it is answered as well that another file said something else.
    """
    asked = {"load": load_id, "start": FROM_START, "other": OTHER_FILE.code}
    for column, of_load, of_line in (
        cells.select("column", "of_load", "of_line").sort(pl.all(), maintain_order=True).iter_rows()
    ):
        here = {**asked, "of_load": of_load, "of_line": of_line}
        store.con.execute(
            "UPDATE meta.fault SET settled_by = $load WHERE code = $start AND settled_by IS NULL "
            "AND load_id = $of_load AND line = $of_line AND column_name = $column",
            {**{name: here[name] for name in ("load", "start", "of_load", "of_line")}, "column": column},
        )
        place = "FROM meta.fault AS f WHERE f.code = $start AND f.load_id = $of_load AND f.line = $of_line"
        store.con.execute(
            "UPDATE meta.fault SET settled_by = $load WHERE code = $other AND settled_by IS NULL "  # noqa: S608
            f"AND load_id = $of_load AND line = $of_line AND EXISTS (SELECT 1 {place}) "
            f"AND NOT EXISTS (SELECT 1 {place} AND f.settled_by IS NULL)",
            here,
        )


def record_late(store: Store, load_id: int, faults: pl.DataFrame) -> None:
    """Write faults of the whole file that are known only once its records are written."""
    store.con.register("late_frame", faults.to_arrow())
    store.con.execute(
        "INSERT INTO meta.fault BY NAME "
        'SELECT ? AS load_id, f.line, f."column" AS column_name, f.value, f.code, f.severity, f.message, f.hint, '
        "false AS of_value FROM late_frame AS f",
        [load_id],
    )
    store.con.unregister("late_frame")


def settle_mended(store: Store, load_id: int, detected: DetectedFile) -> None:
    """Settle what was rejected of the files whose rows a workbook of them holds, whatever it was named since.

    What is rejected of the workbook is said of that. Of one that has its name still the name says whose rows it holds.
    """
    if not detected.rejects_of or without_ending(detected.rejects_of) == without_ending(detected.path.name):
        return
    files = [detected.rejects_of, *originals(store, detected.rejects_of)]
    store.con.execute(
        "UPDATE meta.fault SET settled_by = $load FROM meta.load AS l WHERE l.load_id = fault.load_id "
        "AND l.load_id < $load AND l.kind = $kind AND fault.severity = 'error' AND fault.settled_by IS NULL "
        "AND list_contains($files, l.file)",
        {"load": load_id, "kind": detected.kind.name if detected.kind else "", "files": files},
    )


def record_warnings(con: Connection, load_id: int, counts: Counts) -> None:
    """Write how many warnings the load came to, once all are known."""
    con.execute("UPDATE meta.load SET warnings = ? WHERE load_id = ?", [counts.warnings, load_id])


_SETTLE = """
    UPDATE meta.fault SET settled_by = $load FROM seen_frame AS s
    WHERE fault.severity = 'warning' AND fault.settled_by IS NULL AND NOT list_contains($of_two, fault.code)
        AND coalesce(fault.of_load, fault.load_id) = s.of_load AND coalesce(fault.of_line, fault.line) = s.of_line
        AND CASE WHEN fault.of_value THEN fault.record END IS NOT DISTINCT FROM s.value_of
        AND s.whole
"""
"""What two files say of one record is not settled by reading one of them again: that decides nothing between them."""


def _seen_again(store: Store, kind: Kind, faults: pl.DataFrame) -> pl.DataFrame:
    """Records under a warning, former or new, that the store held already.

    ``line`` is where they stand now, ``of_load`` and ``of_line`` are what they came by. Grain: line, for what is said
    of it as a whole, ``value_of`` null; and value of a line, ``value_of`` its key. ``whole`` is false of a line that
    came with further records which were not seen again: what was said of it may be about those.
    """
    keys = ", ".join(f'k."{name}"' for name in kind.key)
    rows = store.frame(
        f"SELECT i.line, k.load_id AS of_load, k.line AS of_line, {keys} FROM history.{kind.name} AS k "  # noqa: S608 (names from KINDS)
        "LEFT JOIN (SELECT n.line, n.old FROM incoming AS n WHERE n.status = 'unchanged') AS i ON i.old = k.rowid "
        "WHERE k.ended_by IS NULL AND (list_contains($lines, i.line) OR EXISTS (SELECT 1 FROM meta.fault AS f "
        "WHERE f.severity = 'warning' AND coalesce(f.of_load, f.load_id) = k.load_id "
        "AND coalesce(f.of_line, f.line) = k.line))",
        lines=faults["line"].drop_nulls().unique().to_list(),
    )
    place = ["of_load", "of_line"]
    seen = rows.with_columns(pl.col("line").is_not_null().all().over(place).alias("whole")).drop_nulls("line")
    values = seen.select("line", key_text(kind).alias("value_of"), *place, "whole")
    values = values.unique(["line", "value_of"], keep="first", maintain_order=True)
    lines = values.unique("line", keep="first", maintain_order=True)
    return pl.concat(
        [lines.with_columns(pl.lit(None, dtype=pl.String).alias("value_of")), values.with_columns(whole=True)]
    )


_SEEN = {"line": pl.Int64, "value_of": pl.String, "of_load": pl.Int64, "of_line": pl.Int64, "whole": pl.Boolean}
