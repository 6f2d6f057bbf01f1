"""A folder that is made whole or not at all, in a place that holds nothing."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from pipeline.common.refusal import CannotDo
from pipeline.copies.hashes import settle
from pipeline.copies.lock import held


def empty_place(target: Path) -> Path:
    """The place, where it holds nothing.

    Raises:
        CannotDo: it holds something, or is the current folder, which no other can take the place of.
    """
    place = target.resolve()
    if place.exists() and (not place.is_dir() or any(place.iterdir())):
        raise CannotDo(f"{target} is not empty.", "Name a new folder, or an empty one. Nothing was written.")
    if place == Path.cwd():
        raise CannotDo(
            "A workspace is not restored into the folder that the command is run in.",
            "Name a new folder. Nothing was written.",
        )
    return place


@contextmanager
def made_beside(place: Path) -> Iterator[Path]:
    """A folder beside the place, which is moved there once everything in it is done; removed where that fails.

    What a run left that was stopped is removed first: it is known by the file that was held meanwhile.

    Raises:
        CannotDo: the same place is being made already, or it could not be written.
    """
    work, lock = (place.with_name(f".{place.name}.restoring{ending}") for ending in ("", ".lock"))
    mine = False
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        if work.exists() and not lock.exists():
            raise CannotDo(f"{work} is in the way.", "Move it away. Nothing was written.")
        with held(lock, f"{place} is being restored already."):
            mine = True
            shutil.rmtree(work, ignore_errors=True)
            work.mkdir()
            try:
                _see_movable(work, place)
                yield work
                _settle_all(work)
                if place.exists():
                    place.rmdir()
                work.rename(place)
                settle(place.parent)
            finally:
                shutil.rmtree(work, ignore_errors=True)
    except OSError as error:
        where = f" ({error.filename})" if error.filename else ""
        raise CannotDo(
            f"The workspace could not be written: {error.strerror or error}{where}.", f"Nothing stands in {place}."
        ) from error
    finally:
        if mine:
            with suppress(OSError):  # one that stays holds nothing up
                lock.unlink(missing_ok=True)


def _see_movable(work: Path, place: Path) -> None:
    """See that the folder can be moved to its place, before much is written."""
    if place.exists() and place.stat().st_dev != work.stat().st_dev:
        raise CannotDo(f"{place} is a disk of its own.", "Name a new folder on it. Nothing was written.")


def _settle_all(work: Path) -> None:
    for folder, _, names in os.walk(work, topdown=False):
        for name in names:
            settle(Path(folder) / name)
        settle(Path(folder))
