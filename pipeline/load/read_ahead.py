"""Many large files in one call: so many cells are held at once, and the next file is read while one is written."""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterable, Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from pipeline.common.refusal import CannotDo
from pipeline.load.detect import DetectedFile
from pipeline.load.load import Loaded, Loader
from schemas import Kind

HELD_MB = 200
"""Of cells that are held from finding out what files are until they are loaded; others are read again for that."""


@dataclass(frozen=True)
class Later:
    """A part of a file of which it is known what it is, and that is read again when its turn has come.

    Attributes:
        path: the file.
        named: as the person named it.
        file: the part, as it is named in the store.
        shown: the part, as it is told of.
        kind: kind of record, None where it is none.
        named_kind: what the person said.
        named_profile: likewise.
        place: which part of the file, from 0.
        parts: how many there are.
    """

    path: Path
    named: str
    file: str
    shown: str
    kind: Kind | None
    named_kind: str
    named_profile: str
    place: int
    parts: int


Found = DetectedFile | Loaded | Later


def found(loader: Loader, files: Iterable[tuple[Path, str]], kind: str, profile: str) -> Iterator[Found]:
    """What each file holds, the cells of the first ones with it; ``kind`` and ``profile`` as the person named them.

    Raises:
        OSError: a file cannot be read.
    """
    held = 0.0
    for path, shown in files:
        parts = loader.detect(path, shown, kind, profile)
        read = [one for one in parts if isinstance(one, DetectedFile)]  # all of them, or it was loaded before
        size = sum(one.sheet.cells.estimated_size("mb") for one in read)
        if held and size and held + size > HELD_MB:
            for place, one in enumerate(read):
                yield Later(path, shown, one.file, one.shown, one.kind, kind, profile, place, len(read))
        else:
            held += size
            yield from parts


class Ahead:
    """Reads the file whose turn is next, and keeps what it holds until all parts of it are taken."""

    def __init__(self, loader: Loader, reader: Executor, files: Iterable[Found]) -> None:
        self._loader, self._reader = loader, reader
        self._waiting = deque(one for one in files if isinstance(one, Later))
        self._parts_left = Counter(one.path for one in self._waiting)
        self._begun: dict[Path, Future[tuple[DetectedFile, ...]]] = {}
        self._begin()

    def _begin(self) -> None:
        """Begin to read the next file, unless that is done."""
        if not self._waiting or (one := self._waiting[0]).path in self._begun:
            return
        search = self._loader.search(one.path, one.named_kind, one.named_profile)  # it asks the store: not in a thread
        named = bool(one.named_kind or one.named_profile)
        self._begun[one.path] = self._reader.submit(self._loader.read_by, search, one.path, one.named, named=named)

    def taken(self, one: Found) -> DetectedFile | Loaded:
        """What a file holds, read by now; the next is being read from then on.

        Raises:
            CannotDo: it cannot be read any more, or is not in as many parts as it was.
        """
        if not isinstance(one, Later):
            return one
        assert self._waiting.popleft() is one, "files are taken in their order"
        changed = CannotDo(f"{one.named} was changed while files before it were loaded.", "Load it again.")
        try:
            parts = self._begun[one.path].result()
        except OSError as error:
            raise changed from error
        self._parts_left[one.path] -= 1
        if not self._parts_left[one.path]:
            del self._begun[one.path]
        self._begin()
        if len(parts) != one.parts:
            raise changed
        return parts[one.place]


@contextmanager
def reading_ahead(loader: Loader, files: Iterable[Found]) -> Iterator[Ahead]:
    """Something that reads these files ahead, in their order, and stops at the end."""
    reader = ThreadPoolExecutor(1)
    try:
        yield Ahead(loader, reader, files)
    finally:
        reader.shutdown(cancel_futures=True)
