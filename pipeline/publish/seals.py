"""Which load touched a document's records last, and the head of the store's chain after it: what the document bears."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from pipeline.common.refusal import CannotDo
from pipeline.indicators.base.green_season import NO_SEAL, GreenSeason, Seal
from pipeline.store.proof.chain import SEALING
from pipeline.store.sql_text import among, quoted
from pipeline.store.store import Store
from pipeline.verify.found import found_altered, in_short
from pipeline.workspace.settings import Season, Workspace
from schemas import KINDS
from schemas.kind import ENDINGS


@dataclass(frozen=True)
class Seals:
    """What gives seasons of greens their seal.

    Attributes:
        heads: by load, the head of the chain after it.
        ended: by green, the last load that put a record of the season out of force: it may have left nothing behind.
    """

    heads: Mapping[int, str]
    ended: Mapping[str, int]

    def on(self, season: GreenSeason) -> GreenSeason:
        """A season with its seal: loads of other greens change nothing in it."""
        loads = [*(one.load_id for one in season.sources), self.ended.get(season.green, 0)]
        return replace(season, seal=max((self.of(load) for load in loads), default=NO_SEAL))

    def of(self, load_id: int) -> Seal:
        """The seal of a load; none of one that is in no chain."""
        return Seal(load_id, self.heads[load_id]) if load_id in self.heads else NO_SEAL


def seals(store: Store, greens: Sequence[str], season: Season) -> Seals:
    """The seals for a season of some greens."""
    ways = ", ".join(map(quoted, ENDINGS))
    found: dict[str, int] = {}
    for kind in KINDS.values():
        if not (kind.of_green and kind.dated and kind.attached):
            continue
        frame = store.frame(
            f"SELECT green, max(ended_by) AS last FROM history.{kind.name} WHERE {among('green', greens, 'greens')} "  # noqa: S608
            f"AND ended_as IN ({ways}) AND date BETWEEN $first AND $last GROUP BY green",
            greens=list(greens),
            first=season.start,
            last=season.end,
        )
        for green, last in frame.iter_rows():
            found[green] = max(last, found.get(green, 0))
    return Seals(heads_of(store), found)


def seal_of_all(store: Store, greens: Sequence[str]) -> Seal:
    """The last load that touched any record of some greens, a register, or what is to come."""
    loads = [_last_of(store, kind.name, greens if "green" in kind.by_name else ()) for kind in KINDS.values()]
    held = Seals(heads_of(store), {})
    return max((held.of(load) for load in loads), default=NO_SEAL)


def sealed_now(workspace: Workspace, greens: Sequence[str]) -> Seal:
    """The same of a workspace's store as it stands."""
    with Store(workspace.store, read_only=True) as store:
        return seal_of_all(store, greens)


def heads_of(store: Store) -> dict[int, str]:
    """The head of the chain after each load that is in it, as it was entered last."""
    what = ", ".join(map(quoted, sorted(SEALING)))
    sql = f"SELECT number, arg_max(head, entry) FROM meta.chain WHERE what IN ({what}) GROUP BY number ORDER BY number"  # noqa: S608
    return dict(store.rows(sql))


def _last_of(store: Store, table: str, greens: Sequence[str]) -> int:
    """The last load that brought or ended a record of a table; of these greens or of no green, where there are any."""
    where = f"WHERE green IS NULL OR {among('green', greens, 'greens')}" if greens else ""
    loads = "SELECT load_id FROM meta.load"
    sql = (
        "SELECT coalesce(greatest(max(load_id), "  # noqa: S608 (names from KINDS)
        f"max(CASE WHEN ended_by IN ({loads}) THEN ended_by END)), 0) AS last FROM history.{table} {where}"
    )
    frame = store.frame(sql, **({"greens": list(greens)} if greens else {}))
    return int(frame["last"][0])


def refuse_altered(workspace: Workspace) -> None:
    """Refuse to write a document of records that are not what was loaded.

    Raises:
        CannotDo: something was changed by another way than loading; the first of it is named.
    """
    with Store(workspace.store, read_only=True) as store:
        found = found_altered(store)
    if found:
        raise CannotDo(
            in_short(found),
            "No document was written. swardtally verify names each difference; restore the store from a backup, or "
            "load the files into a new workspace.",
        )
