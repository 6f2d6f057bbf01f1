"""What the store holds, and what came when."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS


@dataclass(frozen=True)
class Inventory:
    """What a store holds.

    Attributes:
        store: address of the store.
        kinds: for each kind: records in force, first and last date ("" where it has none).
        greens: (club, green, name, latest record) of every green.
    """

    store: str
    kinds: tuple[tuple[str, int, str, str], ...]
    greens: tuple[tuple[str, str, str, str], ...]

    def as_json(self) -> dict[str, Any]:
        """The form of ``status --json``."""
        kinds = [dict(zip(("kind", "records", "first", "last"), one, strict=True)) for one in self.kinds]
        greens = [dict(zip(("club", "green", "name", "last"), one, strict=True)) for one in self.greens]
        return {"store": self.store, "kinds": kinds, "greens": greens}


def inventory(workspace: Workspace) -> Inventory:
    """What the workspace's store holds."""
    with Store(workspace.store, read_only=True) as store:
        kinds = tuple(_of_kind(store, name) for name in KINDS)
        greens = store.rows(
            """
            SELECT g.club, g.green, coalesce(g.name, ''), coalesce(CAST(max(f.date) AS VARCHAR), '')
            FROM green AS g LEFT JOIN (
                SELECT green, date FROM job UNION ALL SELECT green, date FROM soil_test
                UNION ALL SELECT green, date FROM green_speed UNION ALL SELECT green, date FROM observation
            ) AS f ON f.green = g.green
            GROUP BY ALL ORDER BY ALL
            """
        )
    return Inventory(str(workspace.store), kinds, tuple((a, b, c, d) for a, b, c, d in greens))


def _of_kind(store: Store, kind: str) -> tuple[str, int, str, str]:
    span = "CAST(min(date) AS VARCHAR), CAST(max(date) AS VARCHAR)" if "date" in KINDS[kind].by_name else "NULL, NULL"
    count, first, last = store.rows(f'SELECT count(*), {span} FROM "{KINDS[kind].name}"')[0]  # noqa: S608 (names from KINDS)
    return kind, count, first or "", last or ""


def loads(workspace: Workspace) -> list[dict[str, Any]]:
    """Every load, oldest first; grain: load."""
    with Store(workspace.store, read_only=True) as store:
        return store.frame("SELECT * FROM meta.load").to_dicts()
