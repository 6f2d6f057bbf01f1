"""The store's file is never written in its midst: what has come since it was made whole goes into a copy first.

DuckDB appends each transaction to a log beside the store (``.wal``), and later writes it into the store's file. There
it writes blocks again that hold what the file holds already: a process killed in the midst of one, or a disk that
fails there, leaves a store that nothing opens. So it is told never to do that by itself. The log goes into a copy,
which is brought to the disk and takes the store's place; only then does the log go. Whatever ends that early, store and
log together hold everything.
"""

from __future__ import annotations

import os
import re
import shutil
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

import duckdb

from pipeline.common.whole_files import clear_left, sync, taking_its_place
from pipeline.store.opening import SEALED

CONFIG: dict[str, str | bool | int | float | list[str]] = {
    **SEALED,
    "storage_compatibility_version": "v1.4.0",
    "wal_autocheckpoint": "1TB",
    "auto_checkpoint_skip_wal_threshold": 1 << 60,
}
"""How a store is opened for writing: for whom it can be read, and that no commit writes into its file."""
_ITERATIONS = re.compile(r"File checkpoint iteration: (\d+), WAL checkpoint iteration: (\d+)")
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
    """Make an empty store, whole before it has its name."""
    with taking_its_place(path) as made:
        duckdb.connect(str(made), config=CONFIG).close()
        try:
            os.link(made, path)
        except FileExistsError:  # another was first, and may have filled it by now: that one is the store
            return
        except OSError:  # a drive without second names
            made.rename(path) if WINDOWS or not path.exists() else None
        sync([path.parent])


def _opened(path: Path) -> duckdb.DuckDBPyConnection:
    try:
        return surely(path, read_only=False)
    except duckdb.Error as error:
        if not log_is_in(error):
            raise
    log_of(path).unlink()
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


def log_is_in(error: duckdb.Error) -> bool:
    """Whether a store could not be opened for its log is in it already: a process was killed before the log went."""
    found = _ITERATIONS.search(str(error))
    return found is not None and int(found[1]) == int(found[2]) + 1


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
        _takes_its_place(made, path)


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


def _takes_its_place(made: Path, path: Path) -> None:
    """Have a copy that holds all of a store and its log, and stands on the disk, be the store; then the log goes."""
    made.replace(path)
    sync([path.parent])
    log_of(path).unlink()
    sync([path.parent])
