"""Taking a load back: the store holds what it would hold had that load never been; or a decision: it has no effect."""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.words import counted, listed
from pipeline.store.decide import take_back
from pipeline.store.decisions import KEY_CHANGED, follow, lift, now, read_decisions
from pipeline.store.proof.chain import add_undone
from pipeline.store.resting import why_resting
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS, Kind

MOST_NAMED = 5
"""Loads named in a refusal, each with its reason; more are counted."""


@dataclass(frozen=True)
class Undone:
    """What taking a load or a decision back did.

    Attributes:
        load_id: its number.
        file: file of the load; of a decision, the file it stood in.
        kind: kind of record, "" of a decision.
        removed: records that are gone.
        restored: records that are in force again.
        about: the lines a decision was about, "" of a load.
    """

    load_id: int
    file: str
    kind: str
    removed: int
    restored: int
    about: str = ""

    def as_json(self) -> dict[str, object]:
        """The form of ``undo --json``."""
        return {
            "load": self.load_id,
            "file": self.file,
            "kind": self.kind,
            "removed": self.removed,
            "restored": self.restored,
        }


def undo(workspace: Workspace, load_id: int) -> Undone:
    """Take a load back: its records go, those it ended are in force again, its entry moves to ``meta.undone``.

    Loads that came later stay, where nothing of theirs rests on this one. A number of a decision takes that back.

    Raises:
        WrongUsage: there is no such load, or it has been taken back already.
        CannotDo: a later load builds on it, or facts name what it brought.
    """
    with Store(workspace.store) as store:
        if store.rows("SELECT 1 FROM meta.decision WHERE decision = ?", [load_id]):
            source, about = take_back(workspace, store, load_id)
            return Undone(load_id, f"decisions/{source}", "", 0, 0, about)
        file, kind = _load(store, load_id)
        decided = read_decisions(workspace.decisions)
        with store.transaction() as con:
            lift(store)
            _refuse_where_built_on(store, load_id, KINDS[kind])
            removed = _count(store, f"SELECT count(*) FROM history.{kind} WHERE load_id = ?", load_id)  # noqa: S608 (kind from KINDS)
            restored = _count(store, f"SELECT count(*) FROM history.{kind} WHERE ended_by = ?", load_id)  # noqa: S608
            con.execute(f"DELETE FROM history.{kind} WHERE load_id = ?", [load_id])  # noqa: S608
            con.execute(f"UPDATE history.{kind} SET ended_by = NULL, ended_as = NULL WHERE ended_by = ?", [load_id])  # noqa: S608
            con.execute(
                "DELETE FROM meta.fault WHERE load_id = ? OR (code = ? AND ends_with(value, ?))",
                [load_id, KEY_CHANGED, f" (load {load_id})"],
            )
            con.execute("UPDATE meta.fault SET settled_by = NULL WHERE settled_by = ?", [load_id])
            con.execute(
                "INSERT INTO meta.undone BY NAME "
                "SELECT *, CAST(? AS TIMESTAMP) AS undone_at FROM meta.load WHERE load_id = ?",
                [now(), load_id],
            )
            con.execute("DELETE FROM meta.rests_on WHERE load_id = ?", [load_id])
            con.execute("DELETE FROM meta.load WHERE load_id = ?", [load_id])
            if KINDS[kind].register:
                _refuse_orphans(store, kind)
            follow(store, decided)
            add_undone(con, load_id)
    return Undone(load_id, file, kind, removed, restored)


def _load(store: Store, load_id: int) -> tuple[str, str]:
    found = store.rows("SELECT file, kind FROM meta.load WHERE load_id = ?", [load_id])
    if found:
        file, kind = found[0]
        return file, kind
    if store.rows("SELECT 1 FROM meta.undone WHERE load_id = ?", [load_id]):
        raise WrongUsage(f"Load {load_id} has been taken back already.", "swardtally history lists the loads in force.")
    raise WrongUsage(f"There is no load {load_id}.", "swardtally history lists the loads.")


def _count(store: Store, sql: str, load_id: int) -> int:
    count: int = store.rows(sql, [load_id])[0][0]
    return count


def _refuse_where_built_on(store: Store, load_id: int, kind: Kind) -> None:
    """Refuse where what a later load did would have been something else without this one, naming each and why."""
    reasons = why_resting(store, load_id, kind)
    if not reasons:
        return
    files = dict(store.rows("SELECT load_id, file FROM meta.load"))
    told = [
        f"load {number} ({files[number]}) {listed(reasons[number])}" for number in sorted(reasons) if number in files
    ]
    more = f"; and {counted(len(told) - MOST_NAMED, 'more load')}" if len(told) > MOST_NAMED else ""
    newest = max(reasons)
    raise CannotDo(
        f"Load {load_id} cannot be taken back, for what came later rests on it: {'; '.join(told[:MOST_NAMED])}{more}.",
        f"Take back {'that' if len(told) == 1 else 'those'} first, newest first: swardtally undo {newest}",
    )


def _refuse_orphans(store: Store, kind: str) -> None:
    """Refuse (and so roll back) where records in force name one that is gone; an open name may stand in no register."""
    for name, other in KINDS.items():
        for field in other.stored:
            if field.refers != kind or field.open:
                continue
            orphans = store.rows(
                f'SELECT r.load_id, r.file, count(*) FROM "{name}" AS r WHERE r."{field.name}" IS NOT NULL '  # noqa: S608 (names from KINDS)
                f'AND r."{field.name}" NOT IN (SELECT k."{kind}" FROM "{kind}" AS k) GROUP BY ALL ORDER BY ALL'
            )
            if orphans:
                count = sum(number for _, _, number in orphans)
                loads = listed([f"load {load_id} ({file})" for load_id, file, _ in orphans[:MOST_NAMED]])
                more = f" and {counted(len(orphans) - MOST_NAMED, 'more load')}" if len(orphans) > MOST_NAMED else ""
                raise CannotDo(
                    f"It cannot be taken back: {counted(count, other.name.replace('_', ' '))} would name a {kind} "
                    f"that is not in the register: {loads}{more}.",
                    f"Take back the loads of those {other.title} first, newest first: swardtally undo {orphans[-1][0]}",
                )
