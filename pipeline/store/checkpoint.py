"""The store's file is never written in its midst: what has come since it was made whole goes into a copy first.

DuckDB appends each transaction to a log beside the store (``.wal``), and later writes it into the store's file. There
it writes blocks again that hold what the file holds already: a process killed in the midst of one, or a disk that
fails there, leaves a store that nothing opens. So it is told never to do that by itself. The log goes into a copy,
which is brought to the disk and gets a name that says it is whole (``.whole``); then the log goes, then the copy takes
the store's place. Whatever ends that early, store and log together hold everything, or the whole copy does: whoever
opens the store next finishes. A log that is read once more beside a store that holds it would bring each record twice,
and DuckDB tells that of stores of its newer formats alone.
"""

from __future__ import annotations

import os
import shutil
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

import duckdb

from pipeline.common.whole_files import clear_left, sync, takes_free_place, taking_its_place
from pipeline.store.opening import SEALED

CONFIG: dict[str, str | bool | int | float | list[str]] = {
    **SEALED,
    "storage_compatibility_version": "v1.4.0",
    "wal_autocheckpoint": "1TB",
    "auto_checkpoint_skip_wal_threshold": 1 << 60,
}
"""How a store is opened for writing: for whom it can be read, and that no commit writes into its file."""
WINDOWS = os.name == "nt"
_open: Counter[Path] = Counter()
"""How often this process has each store open for writing: DuckDB gives the second time what the first one opened."""


def log_of(path: Path) -> Path:
    """The log beside a store."""
    return path.with_name(f"{path.name}.wal")


def connected(path: Path) -> duckdb.DuckDBPyConnection:
    """A store open for writing, which will not write into the midst of its file.

    Raises:
        duckdb.Error: another process holds it, or it is damaged.
        OSError: it is new, and could not be written.
    """
    if str(path) != ":memory:" and not path.exists():
        _make(path)
    con = _opened(path)
    _open[path.absolute()] += 1
    if str(path) != ":memory:" and not WINDOWS:
        con.execute("PRAGMA disable_checkpoint_on_shutdown")
        for folder in (path.parent, *(one for one in path.parent.iterdir() if one.is_dir())):
            clear_left(folder)
    return con


def _make(path: Path) -> None:
    """Make an empty store, whole before it has its name; another that was first may be filled by now, and stays."""
    with taking_its_place(path) as made:
        duckdb.connect(str(made), config=CONFIG).close()
        if takes_free_place(made, path):
            sync([path.parent])


def whole_of(path: Path) -> Path:
    """What a copy of a store is called that holds all of it and its log, until it takes the store's place."""
    return path.with_name(f"{path.name}.whole")


def _opened(path: Path) -> duckdb.DuckDBPyConnection:
    """The store open for writing, once what a process has left that was killed on the way is finished."""
    con = surely(path, read_only=False)
    if not whole_of(path).exists():
        return con
    _takes_its_place(path)  # nobody else does: the former store is held
    _let_go(con)
    return surely(path, read_only=False)


def surely(path: Path, *, read_only: bool) -> duckdb.DuckDBPyConnection:
    """The store of this name, open; not the file that had the name until a moment ago.

    Another process that settles its log just then replaces the file between the moments at which this one opens it and
    locks it: what is written to the former file would be lost, and what is read from it would lack the log.
    """
    while True:
        before = _which(path)
        con = duckdb.connect(_name(path), read_only=read_only, config=SEALED if read_only else CONFIG)
        if before is None or _which(path) == before:
            return con
        _let_go(con)


def _let_go(con: duckdb.DuckDBPyConnection) -> None:
    con.execute("PRAGMA disable_checkpoint_on_shutdown")
    con.close()


def _name(path: Path) -> str:
    """What DuckDB opens a file by: a whole path is no address."""
    return str(path) if str(path) == ":memory:" else str(path.absolute())


def _which(path: Path) -> tuple[int, int] | None:
    """What tells a file from another of its name; None where there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def settle(con: duckdb.DuckDBPyConnection, path: Path) -> None:
    """Bring the log of a store into its file before it is closed; where that fails, the log stays.

    Locks of a file end with the first of its handles that a process closes: so what is read here stays open until the
    copy, which this process holds as well, has taken the store's place.
    """
    log = log_of(path)
    _open[path.absolute()] -= 1
    if WINDOWS or _open[path.absolute()] or not log.exists():
        return
    with suppress(OSError, duckdb.Error), ExitStack() as until_done:
        until_done.callback(con.close)
        made = until_done.enter_context(copied(path))
        fresh = duckdb.connect(str(made), config=CONFIG)
        until_done.callback(fresh.close)
        fresh.execute("PRAGMA disable_checkpoint_on_shutdown")
        fresh.execute("CHECKPOINT")
        made.replace(whole_of(path))
        sync([path.parent])
        _takes_its_place(path)


@contextmanager
def copied(path: Path) -> Iterator[Path]:
    """A copy of a store, its log beside it, by the name of what is to take its place; else it goes at the end.

    This process holds the store, so that nobody writes to it meanwhile.

    Raises:
        OSError: it could not be read or written.
    """
    with ExitStack() as until_done:
        made = until_done.enter_context(taking_its_place(path))
        for source, target in ((path, made), (log_of(path), log_of(made))):
            if source.exists():
                read = until_done.enter_context(source.open("rb"))
                with target.open("wb") as write:
                    shutil.copyfileobj(read, write, 1 << 20)
        shutil.copymode(path, made)
        yield made


def _takes_its_place(path: Path) -> None:
    """Have the whole copy of a store be the store: the log that is in it goes first, and stands never beside it."""
    log_of(path).unlink(missing_ok=True)
    sync([path.parent])
    whole_of(path).replace(path)
    sync([path.parent])
