"""Taking a load back: the store is exactly what it was before."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.words import counted, listed
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS


@dataclass(frozen=True)
class Undone:
    """What taking a load back did."""

    load_id: int
    file: str
    kind: str
    removed: int
    restored: int

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

    Raises:
        WrongUsage: there is no such load, or it has been taken back already.
        CannotDo: a later load of the same kind builds on it, or facts name what it brought.
    """
    with Store(workspace.store) as store:
        file, kind = _load(store, load_id)
        _refuse_where_built_on(store, load_id, kind)
        with store.transaction() as con:
            removed = _count(store, f"SELECT count(*) FROM history.{kind} WHERE load_id = ?", load_id)  # noqa: S608 (kind from KINDS)
            restored = _count(store, f"SELECT count(*) FROM history.{kind} WHERE ended_by = ?", load_id)  # noqa: S608
            con.execute(f"DELETE FROM history.{kind} WHERE load_id = ?", [load_id])  # noqa: S608
            con.execute(f"UPDATE history.{kind} SET ended_by = NULL, ended_as = NULL WHERE ended_by = ?", [load_id])  # noqa: S608
            con.execute("DELETE FROM meta.fault WHERE load_id = ?", [load_id])
            con.execute("UPDATE meta.fault SET settled_by = NULL WHERE settled_by = ?", [load_id])
            now = datetime.now(UTC).replace(tzinfo=None, microsecond=0)
            con.execute(
                "INSERT INTO meta.undone BY NAME "
                "SELECT *, CAST(? AS TIMESTAMP) AS undone_at FROM meta.load WHERE load_id = ?",
                [now, load_id],
            )
            con.execute("DELETE FROM meta.load WHERE load_id = ?", [load_id])
            if KINDS[kind].register:
                _refuse_orphans(store, kind)
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


def _refuse_where_built_on(store: Store, load_id: int, kind: str) -> None:
    later = store.rows(
        "SELECT load_id FROM meta.load WHERE load_id > ? AND kind = ? ORDER BY load_id DESC", [load_id, kind]
    )
    if later:
        numbers = [str(number) for (number,) in later]
        raise CannotDo(
            f"Load {load_id} cannot be taken back: {counted(len(later), 'later load')} of the same kind "
            f"({listed(numbers)}) may build on it.",
            f"Take back {'that' if len(later) == 1 else 'those'} first, newest first: swardtally undo {numbers[0]}",
        )


def _refuse_orphans(store: Store, kind: str) -> None:
    """Refuse (and so roll back) where records in force name one that is gone; an open name may stand in no register."""
    for name, other in KINDS.items():
        for field in other.stored:
            if field.refers != kind or field.open:
                continue
            count = store.rows(
                f'SELECT count(*) FROM "{name}" AS r WHERE r."{field.name}" IS NOT NULL '  # noqa: S608 (names from KINDS)
                f'AND r."{field.name}" NOT IN (SELECT k."{kind}" FROM "{kind}" AS k)'
            )[0][0]
            if count:
                raise CannotDo(
                    f"It cannot be taken back: {counted(count, other.name.replace('_', ' '))} would name a {kind} "
                    "that is not in the register.",
                    f"Take back the loads of those {other.title} first: swardtally history",
                )
