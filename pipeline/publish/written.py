"""Whether a file is one of the documents that were written here, told by its bytes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pipeline.common.whole_files import sha256_of
from pipeline.publish.render_cache import LIST_FILE, RenderCache, Rendered


@dataclass(frozen=True)
class Written:
    """What the lists of the reports say of a file.

    Attributes:
        same: whether it is, byte for byte, what was last written; None where no list tells.
        file: the document in the reports that it is or should be, below their folder; "" where none is known.
    """

    same: bool | None
    file: str = ""


def written_as(reports: Path, document: Path) -> Written:
    """Find a file among the documents last written into the reports, under whatever name it came back.

    Only lists in the reports' own folder count: one that lies beside a file somebody sent is that person's. Of a
    document that stands in the reports it is known when its bytes are others; of one from elsewhere it is not, for it
    may have been written before the last.

    Args:
        reports: the folder of reports.
        document: the file.
    """
    content = document.read_bytes()
    alone, listed = sha256_of((content,)), list(_listed(reports))
    for path, one in listed:
        if (_with_those_beside(path, one, content) if one.beside else alone) == one.sha256:
            return Written(True, path.relative_to(reports).as_posix())
    for path, one in listed:
        if not one.beside and path.resolve() == document.resolve():
            return Written(False, path.relative_to(reports).as_posix())
    return Written(None)


def _with_those_beside(path: Path, one: Rendered, content: bytes) -> str:
    """Hash of bytes and of the files beside a document, as they stand there; "" where one cannot be read."""
    try:
        return sha256_of((content, *(path.with_name(name).read_bytes() for name in one.beside)))
    except OSError:
        return ""


def _listed(reports: Path) -> Iterator[tuple[Path, Rendered]]:
    for found in sorted(reports.rglob(LIST_FILE)):
        yield from RenderCache(found.parent).all()
