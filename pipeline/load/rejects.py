"""Where a file's rejected rows go: to a file of their own, whole before the load is, never over a person's work.

``meta.rejects`` holds which file of rejected rows is whose, and the mark of what was written into it: only so is it
seen whether somebody has changed it since.
"""

from __future__ import annotations

import stat
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from hashlib import file_digest, sha256
from itertools import chain
from pathlib import Path

import polars as pl

from pipeline.common.faults import FaultKind, no_faults
from pipeline.common.file_names import same_file, without_ending
from pipeline.common.places import resolved
from pipeline.common.refusal import CannotDo
from pipeline.common.whole_files import standing
from pipeline.common.words import listed
from pipeline.store.layout import Connection
from pipeline.store.refused import whose_rejects
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, as_text, rejects_name

REJECTS_KEPT = FaultKind(
    "load.rejects_kept",
    "A file of rejected rows is left as it is",
    "{value} {why}, so it was not written over; {where}.",
    "Load the file you mended; delete it once its rows are in.",
    severity="note",
)
REJECTS_STALE = FaultKind(
    "load.rejects_stale",
    "A file of rejected rows is no longer needed",
    "Nothing of this file is rejected any more; {value} holds rows that an earlier load of it rejected.",
    "Delete it, unless rows in it are still to be mended: one that came in another way would be counted twice.",
    severity="note",
)
CHANGED = "was changed since it was written"
STRANGE = "belongs to no load of this store"
"""As one that a person laid there, or a load that was killed before its end."""
MOST_OF_ONE = 10_000
"""Files of rejected rows of one name that are looked through for a free one."""


@dataclass(frozen=True)
class Rejects:
    """A file of rejected rows: decided on, not yet written.

    Attributes:
        path: the file.
        content: what it is to hold.
        place: the input the rows are of.
        file: that input as the person named it.
        fresh: whether it has to be written; False where it holds the content already, or a person's work on it.
        found: mark of what it held when that was decided, None where there was no such file.
        faults: FAULT_SCHEMA; what is said of files left as they are.
        itself: whether the file is the input.
    """

    path: Path
    content: bytes
    place: str
    file: str
    fresh: bool
    found: str | None
    faults: pl.DataFrame
    itself: bool = False

    @contextmanager
    def standing(self) -> Iterator[None]:
        """The file stands, whole, during the block; where the block fails it is as it was before.

        Raises:
            CannotDo: it cannot be written.
        """
        if not self.fresh:
            yield
            return
        with ExitStack() as until_done:
            try:
                until_done.enter_context(standing({self.path: self.content}, self._refuse_changed))
            except OSError as error:
                raise CannotDo(
                    f"The rejected rows of {self.file} could not be written to {self.path}: {error.strerror or error}.",
                    "Nothing of it was kept. Make room on the disk, close that file where it is open, and load again.",
                ) from error
            yield

    def _refuse_changed(self, former: Path | None) -> None:
        """Refuse to write over a file that is not as it was when this was decided."""
        if (_mark(former) if former else None) != self.found:
            raise OSError("it was changed at this very moment")

    def record(self, con: Connection) -> None:
        """Keep whose file it is and what was written into it."""
        if self.itself:
            return
        name, mark = self.path.name, sha256(self.content).hexdigest()
        con.execute("UPDATE meta.rejects SET sha256 = ? WHERE name = ? AND sha256 <> ?", [mark, name, mark])
        if not con.execute("SELECT 1 FROM meta.rejects WHERE name = ? AND file = ?", [name, self.file]).fetchall():
            con.execute("INSERT INTO meta.rejects VALUES (?, ?, ?, ?)", [name, self.place, self.file, mark])


def decide(store: Store, workspace: Workspace, path: Path, file: str, content: bytes, part: str = "") -> Rejects:
    """Which file takes the rejected rows of an input, and whether it is to be written.

    An input has one file of its own, whatever name or folder it is loaded by. That file is written over only where it
    holds what was last written into it. Where a person has changed it, and it was not made of the very rows that are
    rejected now, they go to a file with the next number.

    Args:
        store: says which file is whose.
        workspace: settings and folders.
        path: the input.
        file: the input as the person named it.
        content: what the file of rejected rows is to hold.
        part: the part of the input that they are of: the profile that read it, or a form's sheet; else "".
    """
    mark, place = sha256(content).hexdigest(), place_of(workspace, path, part)
    written = _written(store)
    owners: dict[str, tuple[str, str | None]] = {same_file(name): (owner, was) for name, owner, was in written}
    own = [name for name, owner, _ in written if owner == place]
    left: dict[str, str] = {}
    for name in chain(own, _names(rejects_name(file))):
        owner, was = owners.get(same_file(name), ("", None))
        if owner not in {"", place}:
            continue
        path = workspace.rejected / name
        found = _mark(path)
        if found in {None, mark, was}:
            where = f"the rows rejected now are in {_shown(workspace, name)}"
            return Rejects(path, content, place, file, found != mark, found, _kept(workspace, left, where))
        if was == mark:
            where = "it was made of the very rows that are rejected now"
            return Rejects(path, content, place, file, False, found, _kept(workspace, {name: CHANGED}, where))
        left.setdefault(name, CHANGED if owner else STRANGE)
    raise CannotDo(
        f"Rejected rows of {file} cannot be written: {workspace.rejected} cannot be read, or holds "
        f"{MOST_OF_ONE:,} files of its name.",
        "Clear that folder away, or have settings.toml name another under rejected. Nothing of this file was changed.",
    )


def holding_itself(path: Path, file: str, content: bytes) -> Rejects:
    """A file of rejected rows of which every row is rejected again: it holds them already, so none is written."""
    return Rejects(path, content, "", file, fresh=False, found=_mark(path), faults=no_faults(), itself=True)


def _names(first: str) -> Iterator[str]:
    """The name, then the same with 2, 3 and so on."""
    yield first
    stem = first.removesuffix(".csv")
    for number in range(2, MOST_OF_ONE + 1):
        yield f"{stem}-{number}.csv"


def _written(store: Store) -> list[tuple[str, str, str]]:
    """Every file of rejected rows that was written: name, whose it is, mark of its content; in the order of writing."""
    rows = store.rows("SELECT DISTINCT name, place, sha256 FROM meta.rejects ORDER BY length(name), name")
    return [(name, place, mark) for name, place, mark in rows]


def _mark(path: Path) -> str | None:
    """SHA-256 of a file, None where there is none, "" where it cannot be read."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            return ""
        with path.open("rb") as source:
            return file_digest(source, "sha256").hexdigest()
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError:
        return ""


_OF_PART = "\n"
"""What stands between the place of an input and the profile that read a part of it, or the form's sheet."""


def place_of(workspace: Workspace, path: Path, part: str = "") -> str:
    """Where an input lies: in the workspace, wherever that is moved to, or on this machine; and the part of it."""
    whole, home = resolved(path), resolved(workspace.folder)
    place = whole.relative_to(home) if whole.is_relative_to(home) else whole
    return as_text(place.as_posix()) + (f"{_OF_PART}{part}" if part else "")


def part_of(store: Store, name: str) -> str:
    """The profile that read the rows of a file of rejected rows, where it read a part of its file; else ""."""
    places = {place for held, place, _ in _written(store) if without_ending(held) == without_ending(name)}
    return next((place.partition(_OF_PART)[2].partition(_OF_PART)[0] for place in sorted(places)), "")


def to_be_mended(store: Store, workspace: Workspace, path: Path) -> bool:
    """Whether a file is one of rejected rows by its name, whatever a person or a spreadsheet has made of its columns.

    It may lie elsewhere by now; a file that had rejected rows of its own is no such file.
    """
    if without_ending(path.name) not in {without_ending(name) for name, _, _ in _written(store)}:
        return False
    own = place_of(workspace, path)
    return _is_within(path, workspace.rejected) or own not in {place for _, place, _ in _written(store)}


def _is_within(path: Path, folder: Path) -> bool:
    return resolved(path).parent == resolved(folder)


def _shown(workspace: Workspace, name: str) -> str:
    return f"{workspace.settings.rejected}/{name}"


def _kept(workspace: Workspace, left: dict[str, str], where: str) -> pl.DataFrame:
    if not left:
        return no_faults()
    return pl.concat(
        [REJECTS_KEPT.at(None, _shown(workspace, name), why=why, where=where) for name, why in left.items()]
    )


def stale(store: Store, workspace: Workspace, path: Path, part: str = "") -> pl.DataFrame:
    """A note of the files that hold rows an input had rejected once, where nothing of it is rejected now.

    A load that was killed just before its end may have left one of which the store knows nothing.
    """
    place, written = place_of(workspace, path, part), _written(store)
    names = [name for name, owner, _ in written if owner == place and (workspace.rejected / name).exists()]
    if names:
        return REJECTS_STALE.at(None, listed([_shown(workspace, name) for name in names]))
    name = rejects_name(path.name)
    known = same_file(name) in {same_file(held) for held, _, _ in written}
    left = {} if known or not (workspace.rejected / name).exists() else {name: STRANGE}
    return _kept(workspace, left, "nothing of this file is rejected now")


def originals(store: Store, name: str) -> tuple[str, ...]:
    """Files, as the person named them, whose rejected rows a file of this name holds: its own, then that one's own."""
    return whose_rejects(store).get(without_ending(name), ())
