"""Whether the store holds as many rows as its ledger says were brought: counted, gone through, and reckoned."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.store.store import Store
from schemas import KINDS


@dataclass(frozen=True)
class Imbalance:
    """A kind of record whose rows do not add up.

    Attributes:
        kind: name of the kind.
        counted: rows, as the store counts them; of a shared one its catalogue may say so.
        met: different rows met in going through all of them.
        brought: rows that loads in force have brought, by the ledger.
    """

    kind: str
    counted: int
    met: int
    brought: int

    def __str__(self) -> str:
        return f"{self.kind}: {self.counted:,} counted, {self.met:,} met, {self.brought:,} by the ledger"


def imbalances(store: Store) -> Iterator[Imbalance]:
    """The kinds of which the three numbers differ; versions that are no longer in force count as well."""
    brought = dict(store.rows("SELECT kind, sum(loaded + superseded) FROM meta.load GROUP BY kind"))
    for name in KINDS:
        ((counted,),) = store.rows(f"SELECT count(*) FROM history.{name}")  # noqa: S608 (a name from KINDS)
        ((met,),) = store.rows(f"SELECT count(DISTINCT rowid) FROM history.{name}")  # noqa: S608
        found = Imbalance(name, counted, met, int(brought.get(name) or 0))
        if not found.counted == found.met == found.brought:
            yield found
