"""Loads of which no original was kept, copied from one store into another as they stand."""

from __future__ import annotations

from collections.abc import Collection

from pipeline.store.store import Store
from schemas import KINDS


def carry_over(store: Store, into: Store, loads: Collection[int]) -> None:
    """Copy the records, ledger and warnings of some loads; what later loads ended of them is in force again."""
    listed = ", ".join(str(int(one)) for one in sorted(loads))
    with into.transaction() as con:
        for kind in KINDS.values():
            columns = ", ".join([*(f'"{one.name}"' for one in kind.stored), "load_id", "line", "written"])
            ended = f"CASE WHEN ended_by IN ({listed}) THEN ended_by END AS ended_by"
            how = f"CASE WHEN ended_by IN ({listed}) THEN ended_as END AS ended_as"
            rows = store.frame(
                f"SELECT {columns}, {ended}, {how}, rowid AS stands_at FROM history.{kind.name} "  # noqa: S608 (names from KINDS)
                f"WHERE load_id IN ({listed})",
                by=("stands_at",),
            )
            con.register("carried_frame", rows.to_arrow())
            con.execute(
                f"INSERT INTO history.{kind.name} BY NAME "  # noqa: S608
                "SELECT * EXCLUDE (stands_at) FROM carried_frame ORDER BY stands_at"
            )
            con.unregister("carried_frame")
        for table in ("load", "fault", "rests_on"):
            rows = store.frame(f"SELECT * FROM meta.{table} WHERE load_id IN ({listed})")  # noqa: S608 (names of ours)
            con.register("carried_frame", rows.to_arrow())
            con.execute(f"INSERT INTO meta.{table} BY NAME SELECT * FROM carried_frame")  # noqa: S608
            con.unregister("carried_frame")
        con.execute(f"UPDATE meta.fault SET settled_by = NULL WHERE settled_by NOT IN ({listed})")  # noqa: S608
