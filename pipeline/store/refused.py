"""Rejected rows that nobody has set aside, and whose rows a file of rejected rows holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.common.file_names import whose_of, without_ending
from pipeline.store.store import Store


def whose_rejects(store: Store) -> dict[str, tuple[str, ...]]:
    """By the name of a file of rejected rows, without ending: the files its rows are of, and those that these are."""
    held: dict[str, list[str]] = {}
    for name, file in store.rows("SELECT DISTINCT name, file FROM meta.rejects ORDER BY ALL"):
        held.setdefault(without_ending(name), []).append(file)
    return {stem: whose_of(f"{stem}.csv", held) for stem in held}


@dataclass(frozen=True)
class Refused:
    """A rejected row as its faults tell it; ``stood`` is its line in its own file, where it is of rejected rows."""

    load_id: int
    kind: str
    file: str
    line: int
    says: Mapping[str, str]
    stood: int | None = None


def rejected(store: Store) -> list[Refused]:
    """Rejected rows that nobody has set aside, of the last load of each file, each with the cells its faults name."""
    rows = store.rows(
        "SELECT f.load_id, l.kind, l.file, f.line, f.of_line, coalesce(nullif(f.column_name, ''), f.code), "
        "coalesce(f.value, '') "
        "FROM meta.fault AS f JOIN meta.load AS l ON l.load_id = f.load_id "
        "WHERE f.severity = 'error' AND f.line IS NOT NULL AND f.settled_by IS NULL "
        "AND f.load_id IN (SELECT max(e.load_id) FROM meta.load AS e GROUP BY e.file) ORDER BY ALL"
    )
    found: dict[tuple[int, str, str, int, int | None], dict[str, str]] = {}
    for load_id, kind, file, line, stood, name, value in rows:
        found.setdefault((load_id, kind, file, line, stood), {})[name] = value
    return [Refused(load, kind, file, line, says, stood) for (load, kind, file, line, stood), says in found.items()]
