"""The one home of files that are written: each stands whole under its name or not at all, however many belong together.

What a process that was killed left unfinished is known by its name, and goes with the next that writes to its folder.
"""

from __future__ import annotations

import errno
import os
import re
import shutil
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from hashlib import sha256
from pathlib import Path

LEFT = re.compile(r"\..+\.(\d+)\.(?:unfinished|former)(?:\.wal|\.whole)?")
"""Names of files that are not finished, or kept until others are: hidden, with the number of the process."""
OLD_S = 3600.0
"""Seconds after which such a file is taken to be left, where the system does not tell which processes there are."""
_UNSYNCED = {errno.EINVAL, errno.ENOTSUP, errno.EBADF}
"""What some network drives say where a folder is to be brought to the disk: they have no such thing."""
_in_use: set[Path] = set()


def write_whole(files: Mapping[Path, bytes | None]) -> None:
    """Write files that belong together: all stand with this content, on the disk, or each is as it was before.

    Only a process that is killed between the last steps, which are renames, can part them; each is whole all the same.

    Raises:
        OSError: one could not be written; nothing was changed.
    """
    with standing(files):
        pass


@contextmanager
def standing(
    files: Mapping[Path, bytes | None], check: Callable[[Path | None], None] = lambda _: None
) -> Iterator[None]:
    """Have files stand with this content during the block, and after it; where it fails each is as it was before.

    Args:
        files: content by path, None of one that stands whole already under its name of :func:`unfinished`; a folder
            that is not there is made.
        check: called with each former file, or None where there was none, just before another takes its place and
            after; what it raises ends the change.

    Raises:
        OSError: one could not be written; nothing was changed.
    """
    former: dict[Path, Path | None] = {}
    done: list[Path] = []
    folders = list(dict.fromkeys(target.parent for target in files))
    for folder in folders:
        folder.mkdir(parents=True, exist_ok=True)
        clear_left(folder)
    try:
        for target, content in files.items():
            made = _named(target, "unfinished")
            if content is not None:
                _write(made, content, like=target)
        for target in files:
            former[target] = _kept(target)
        for target in files:
            check(former[target])
            unfinished(target).replace(target)
            done.append(target)
            _in_use.discard(unfinished(target))
            check(former[target])
        sync(folders)
        yield
    except BaseException:
        for target in reversed(done):
            with suppress(OSError):
                _put_back(target, former[target])
        with suppress(OSError):
            sync(folders)
        raise
    finally:
        _forget(*(unfinished(target) for target in files if target not in done))
        _forget(*(_beside(target, "former") for target in files if target not in former or former[target]))


def unfinished(target: Path) -> Path:
    """What a file is called until it is whole."""
    return _beside(target, "unfinished")


@contextmanager
def taking_its_place(target: Path) -> Iterator[Path]:
    """A name beside a file, for what is to take its place; where it stands there still at the end, it goes.

    The caller writes it, brings it to the disk and renames it.
    """
    clear_left(target.parent)
    made = _named(target, "unfinished")
    try:
        yield made
    finally:
        _forget(made, *(made.with_name(f"{made.name}{ending}") for ending in (".wal", ".whole")))


def write_new(target: Path, content: bytes) -> bool:
    """Write a file whole under a name that no other has; whether the name was free.

    Raises:
        OSError: it could not be written; nothing was changed.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    with taking_its_place(target) as made:
        _write(made, content, like=target)
        if not takes_free_place(made, target):
            return False
        try:
            sync([target.parent])
        except OSError:
            target.unlink(missing_ok=True)
            raise
        return True


def takes_free_place(made: Path, target: Path) -> bool:
    """Have a file that stands whole get a name, where no other has it; whether it was free.

    A renaming would take the other's place; on a drive without second names another may come in between.
    """
    try:
        os.link(made, target)
    except FileExistsError:
        return False
    except OSError:
        if target.exists():
            return False
        made.rename(target)
    return True


def clear_left(folder: Path) -> None:
    """Take away what processes that are no more have left unfinished in a folder."""
    with suppress(OSError):
        for path in [one for one in folder.iterdir() if one.name.startswith(".") and LEFT.fullmatch(one.name)]:
            if not {path, path.with_suffix("")} & _in_use and not _at_work(path):
                with suppress(OSError):
                    path.unlink()


def sync(folders: Iterable[Path]) -> None:
    """Bring the names in folders to the disk, where the system has that.

    Raises:
        OSError: the disk failed.
    """
    if os.name == "nt":
        return
    for folder in folders:
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        except OSError as error:
            if error.errno not in _UNSYNCED:
                raise
        finally:
            os.close(opened)


def running(process: int) -> bool:
    """Whether there is a process of this number, which is not to be asked on Windows: there the question ends it."""
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:
        return True
    return True


def sha256_of(contents: Iterable[bytes]) -> str:
    """SHA-256 of the files of one document, one after the other."""
    found = sha256()
    for content in contents:
        found.update(content)
    return found.hexdigest()


def _beside(target: Path, how: str) -> Path:
    return target.with_name(f".{target.name}.{os.getpid()}.{how}")


def _named(target: Path, how: str) -> Path:
    """The name beside a file, from now on in use by this process."""
    made = _beside(target, how)
    _in_use.add(made)
    return made


def _write(path: Path, content: bytes, *, like: Path) -> None:
    with path.open("wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    with suppress(FileNotFoundError):
        shutil.copymode(like, path)


def _kept(target: Path) -> Path | None:
    """The file as it stands, under a second name; None where there is none."""
    if not target.exists():
        return None
    made = _named(target, "former")
    made.unlink(missing_ok=True)
    try:
        os.link(target, made)
    except OSError:  # a drive without second names
        shutil.copy2(target, made)
    return made


def _put_back(target: Path, former: Path | None) -> None:
    if former is None:
        target.unlink()
    else:
        former.replace(target)


def _forget(*made: Path) -> None:
    for path in made:
        with suppress(OSError):
            path.unlink(missing_ok=True)
        _in_use.discard(path)


def _at_work(path: Path) -> bool:
    """Whether the process that a file is named by may still be at work on it."""
    found = LEFT.fullmatch(path.name)
    assert found is not None
    process = int(found[1])
    if process == os.getpid():
        return False
    if os.name == "nt":
        return time.time() - path.stat().st_mtime < OLD_S
    return running(process)
