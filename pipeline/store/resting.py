"""Which later loads rest on one: what they did would have been something else without it."""

from __future__ import annotations

from pipeline.common.words import counted
from pipeline.store.store import Store
from schemas import KINDS, Kind


def why_resting(store: Store, load_id: int, kind: Kind) -> dict[int, list[str]]:
    """The later loads that rest on one of this kind, each with the reasons."""
    reasons: dict[int, list[str]] = {}
    for number, count in _ended_its(store, load_id, kind):
        reasons.setdefault(number, []).append(f"changed or ended {counted(count, 'record')} of it")
    rests = "SELECT load_id, how, records FROM meta.rests_on WHERE on_load = ? ORDER BY ALL"
    for number, how, records in store.rows(rests, [load_id]):
        if records is None:
            why = "may say records of it again"
        elif how == "again":
            why = f"says {counted(records, 'record')} of it again"
        elif how == "taken":
            why = f"takes from it what {counted(records, 'row')} left out"
        else:
            why = f"lacks {counted(records, 'record')} that it took back"
        reasons.setdefault(number, []).append(why)
    for number, count in _came_after_its_endings(store, load_id, kind):
        reasons.setdefault(number, []).append(f"holds {counted(count, 'record')} in place of what it ended")
    return reasons


def to_take_back(store: Store, load_id: int) -> list[int]:
    """The loads to be taken back so that this one can be, in the order in which that works; it is the last of them."""
    kinds = dict(store.rows("SELECT load_id, kind FROM meta.load"))
    found = {load_id}
    looked_at = [load_id]
    while looked_at:
        at = looked_at.pop()
        fresh = {number for number in why_resting(store, at, KINDS[kinds[at]]) if number in kinds} - found
        found |= fresh
        looked_at += sorted(fresh)
    return sorted(found, reverse=True)


def undo_command(store: Store, load_id: int) -> str:
    """The command line that takes a load back, and before it whatever rests on it."""
    return " && ".join(f"swardtally undo {number}" for number in to_take_back(store, load_id))


def _ended_its(store: Store, load_id: int, kind: Kind) -> list[tuple[int, int]]:
    """Later loads that ended records of this one, and how many."""
    return [
        (number, count)
        for number, count in store.rows(
            f"SELECT k.ended_by, count(*) FROM history.{kind.name} AS k "  # noqa: S608 (a name from KINDS)
            "WHERE k.load_id = ? AND k.ended_by IS NOT NULL GROUP BY k.ended_by ORDER BY k.ended_by",
            [load_id],
        )
    ]


def _came_after_its_endings(store: Store, load_id: int, kind: Kind) -> list[tuple[int, int]]:
    """Later loads that brought a record of a key of which this one ended a record, and how many.

    With that record in force they would have met it, and not brought a second.
    """
    same = " AND ".join(f'n."{name}" IS NOT DISTINCT FROM o."{name}"' for name in kind.key)
    return [
        (number, count)
        for number, count in store.rows(
            f"SELECT n.load_id, count(*) FROM history.{kind.name} AS n "  # noqa: S608 (names from KINDS)
            f"WHERE n.load_id > ? AND EXISTS (SELECT 1 FROM history.{kind.name} AS o WHERE o.ended_by = ? AND {same}) "
            "GROUP BY n.load_id ORDER BY n.load_id",
            [load_id, load_id],
        )
    ]
