"""A store copied from a file into one that offices share, or back, and held against what it was copied from."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from pipeline.common.refusal import CannotDo
from pipeline.common.whole_files import sync, takes_free_place, taking_its_place
from pipeline.store.shared import attach_to_read
from pipeline.store.store import Store
from pipeline.store.tables_between import FORMER, take_over, taken_over
from pipeline.workspace.shared import Shared


@dataclass(frozen=True)
class CopiedStore:
    """What a copy came to: from where, to where, and rows by table, all of them seen to be the same."""

    source: str
    target: str
    rows: dict[str, int]

    def as_json(self) -> dict[str, object]:
        """The form of ``copy --json``."""
        return {"from": self.source, "to": self.target, "rows": self.rows}


def copy_store(source: Path | Shared, target: Path | Shared) -> CopiedStore:
    """Copy a store: all or nothing, every table row for row in its order, then held against the source by hashes.

    Args:
        source: the store; it is only read.
        target: a file that is not there yet, or a shared store that holds nothing.

    Raises:
        CannotDo: there is no store, it is of another layout, the target holds something, or what was copied differs.
    """
    with Store(source, read_only=True):  # it is a store, of this layout
        pass
    with _made(target) as path, Store(path) as store:
        _refuse_filled(store, target)
        attach_to_read(store.con, source, FORMER)
        with store.transaction() as con:
            take_over(con)
            found = list(taken_over(con))
            if wrong := [table for table, _, same in found if not same]:
                raise CannotDo(
                    f"{wrong[0]} did not come over as it is in {source}.", f"Nothing was kept in {target}; try again."
                )
        store.con.execute(f"DETACH {FORMER}")
        if isinstance(path, Path):
            store.con.execute("CHECKPOINT")
    return CopiedStore(str(source), str(target), {table: rows for table, rows, _ in found if rows})


@contextmanager
def _made(target: Path | Shared) -> Iterator[Path | Shared]:
    """Where to write: of a file, one that gets its name once it is whole.

    Raises:
        CannotDo: the file is there, or cannot be written.
    """
    if isinstance(target, Shared):
        yield target
        return
    there = CannotDo(f"{target} is there already.", "Name a file that is not there yet. Nothing was written.")
    if target.exists():
        raise there
    try:
        with taking_its_place(target) as made:
            yield made
            if not takes_free_place(made, target):
                raise there
            sync([target.parent])
    except OSError as error:
        raise CannotDo(
            f"{target} could not be written: {error.strerror or error}.", "Nothing was kept of it."
        ) from error


def _refuse_filled(store: Store, target: Path | Shared) -> None:
    if store.rows("SELECT 1 FROM meta.load UNION ALL SELECT 1 FROM meta.undone LIMIT 1"):
        raise CannotDo(
            f"{target} holds records already.", "Name the database of a new store: a copy is never mixed with another."
        )
