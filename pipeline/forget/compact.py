"""A store written anew: what was deleted or changed in it stands in no block of the file any more."""

from __future__ import annotations

import os
from pathlib import Path

from pipeline.common.whole_files import taking_its_place
from pipeline.store.checkpoint import log_of
from pipeline.store.shared import attach_to_read
from pipeline.store.store import Store
from pipeline.store.tables_between import FORMER, take_over


def written_anew(path: Path) -> None:
    """Put a copy of a store that nobody else has, table by table and row by row in their order, in its place.

    Raises:
        CannotDo: it cannot be read or written; the former file stands.
        OSError: the same, of the new file.
    """
    with taking_its_place(path) as fresh:
        with Store(fresh) as store:
            attach_to_read(store.con, path, FORMER)
            with store.transaction() as con:
                take_over(con)
            store.con.execute(f"DETACH {FORMER}")
            store.con.execute("CHECKPOINT")
        with fresh.open("rb") as made:
            os.fsync(made.fileno())
        fresh.replace(path)
        log_of(path).unlink(missing_ok=True)  # of the former file, which was read with it
