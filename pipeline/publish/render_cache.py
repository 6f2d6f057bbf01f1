"""What the documents of a folder were made from, so that what would come out the same is not made again."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path

from pipeline.common import marks
from pipeline.common.marks import mark
from pipeline.common.whole_files import sha256_of, write_whole
from pipeline.store.store import Store

LIST_FILE = ".render-cache.json"
FORMER_LIST_FILE = ".made.json"
"""What the list was called before; removed once the new one is written."""
DRAWN_BY = ("swardtally", "weasyprint", "pydyf", "vl-convert-python", "polars", "scipy", "numpy")
"""Distributions whose version a document's bytes may depend on."""


@dataclass(frozen=True)
class Rendered:
    """One document as it was rendered: from what, and what came out.

    Attributes:
        store: mark of the whole store and every setting when it was last known to be right.
        content: mark of its content and its style.
        sha256: of its files.
        pages: its pages.
        beside: names of the files that were written with it.
    """

    store: str
    content: str
    sha256: str
    pages: int
    beside: Sequence[str] = ()


def store_mark(store: Store) -> str:
    """The state of a store: what went in, in which order, and what came of it; not when.

    Records change by loads, by decisions and by taking them back alone, so the same files read by the same rules, with
    the same counts, and the same decisions leave the same records.
    """
    decided = "SELECT * EXCLUDE (decided_at) FROM meta.decision WHERE taken_back_at IS NULL ORDER BY decision"
    return mark(store.rows("SELECT * EXCLUDE (loaded_at) FROM meta.load ORDER BY load_id"), store.rows(decided))


def code_mark() -> str:
    """The code, templates and fonts that documents are made with, and the versions of what draws them."""
    return marks.code_mark(("pipeline", "reports", "schemas"), DRAWN_BY)


class RenderCache:
    """The documents of one folder as they were last rendered; a list that cannot be read counts as none."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        try:
            held = json.loads((folder / LIST_FILE).read_text("utf-8"))
            self._rendered = {name: Rendered(**one) for name, one in held.items()}
        except (OSError, ValueError, TypeError, AttributeError):
            self._rendered = {}

    def all(self) -> Iterator[tuple[Path, Rendered]]:
        """Every document as it was last rendered, whatever its file holds now."""
        for name, one in self._rendered.items():
            yield self.folder / name, one

    def by_store(self, path: Path, store: str) -> Rendered | None:
        """The document, where neither the store nor a setting has changed since and the file is as it was written."""
        one = self._rendered.get(path.name)
        return one if one and one.store == store and _is(path, one) else None

    def by_content(self, path: Path, content: str) -> Rendered | None:
        """The document, where its content and style would be the same and the file is as it was written."""
        one = self._rendered.get(path.name)
        return one if one and one.content == content and _is(path, one) else None

    def note(self, path: Path, one: Rendered) -> None:
        """Keep what is known of the document; the list on disk has it after ``save``."""
        self._rendered[path.name] = one

    def save(self) -> None:
        """Write the list beside the documents; where it cannot be, they stand all the same, and are made anew."""
        told = {name: asdict(one) for name, one in sorted(self._rendered.items())}
        with suppress(OSError):
            write_whole({self.folder / LIST_FILE: json.dumps(told, indent=1).encode()})
            (self.folder / FORMER_LIST_FILE).unlink(missing_ok=True)


def _is(path: Path, one: Rendered) -> bool:
    try:
        return sha256_of(file.read_bytes() for file in (path, *map(path.with_name, one.beside))) == one.sha256
    except (OSError, ValueError, TypeError):
        return False
