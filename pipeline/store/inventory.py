"""What the store holds, and what came when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pipeline.store.clock import set_back, told
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS


@dataclass(frozen=True)
class HeldGreen:
    """One green and what is held of it.

    Attributes:
        club: code of its club.
        green: its code.
        name: its name, "" where it has none.
        latest: for each kind it has records of, the day of the latest.
    """

    club: str
    green: str
    name: str
    latest: Mapping[str, str]

    @property
    def last(self) -> str:
        """Day of the latest record of any kind, "" where there is none."""
        return max(self.latest.values(), default="")


@dataclass(frozen=True)
class Inventory:
    """What a store holds.

    Attributes:
        store: address of the store.
        kinds: for each kind: records in force, first and last date ("" where it has none).
        greens: every green.
        clock: what is to be known of the times of loads, "" where nothing is.
    """

    store: str
    kinds: tuple[tuple[str, int, str, str], ...]
    greens: tuple[HeldGreen, ...]
    clock: str = ""

    def as_json(self) -> dict[str, Any]:
        """The form of ``status --json``."""
        kinds = [dict(zip(("kind", "records", "first", "last"), one, strict=True)) for one in self.kinds]
        greens = [
            {"club": one.club, "green": one.green, "name": one.name, "last": one.last, "latest": one.latest}
            for one in self.greens
        ]
        return {"store": self.store, "kinds": kinds, "greens": greens, "clock": self.clock}


def inventory(workspace: Workspace) -> Inventory:
    """What the workspace's store holds."""
    with Store(workspace.store, read_only=True) as store:
        kinds = tuple(_of_kind(store, name) for name in KINDS)
        latest = {kind.name: _latest(store, kind.name) for kind in KINDS.values() if kind.of_green}
        greens = store.rows("SELECT club, green, coalesce(name, '') FROM green ORDER BY ALL")
        clock = told(set_back(store))
    held = tuple(
        HeldGreen(club, green, name, {kind: days[green] for kind, days in latest.items() if green in days})
        for club, green, name in greens
    )
    return Inventory(str(workspace.store), kinds, held, clock)


def _of_kind(store: Store, kind: str) -> tuple[str, int, str, str]:
    span = "CAST(min(date) AS VARCHAR), CAST(max(date) AS VARCHAR)" if KINDS[kind].dated else "NULL, NULL"
    count, first, last = store.rows(f'SELECT count(*), {span} FROM "{KINDS[kind].name}"')[0]  # noqa: S608 (names from KINDS)
    return kind, count, first or "", last or ""


def _latest(store: Store, kind: str) -> dict[str, str]:
    """Green → day of its latest record of a kind."""
    sql = f'SELECT green, CAST(max(date) AS VARCHAR) FROM "{KINDS[kind].name}" WHERE green IS NOT NULL GROUP BY ALL'  # noqa: S608 (names from KINDS)
    return dict(store.rows(sql))


def loads(workspace: Workspace) -> list[dict[str, Any]]:
    """Every load, oldest first, with those that were taken back and when (``undone_at``); grain: load."""
    with Store(workspace.store, read_only=True) as store:
        every = "SELECT *, NULL AS undone_at FROM meta.load UNION ALL BY NAME SELECT * FROM meta.undone"
        return store.frame(every, by=["load_id"]).to_dicts()


def decisions(workspace: Workspace) -> list[dict[str, Any]]:
    """Every decision, oldest first, with those that were taken back and when; grain: decision."""
    shown = "decision, decided, kind, about, why, who, source, decided_at, fits, taken_back_at"
    with Store(workspace.store, read_only=True) as store:
        return store.frame(f"SELECT {shown} FROM meta.decision", by=["decision"]).to_dicts()  # noqa: S608 (our own names)
