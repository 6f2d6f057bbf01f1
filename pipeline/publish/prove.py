"""What a document proves: the hash it bears is found in the chain, and what the store held then is looked at."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from hashlib import sha256
from pathlib import Path

from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.publish.render_cache import RenderCache
from pipeline.store.proof.chain import SEALING, UNDONE, Entry, entries
from pipeline.store.proof.check import Alteration
from pipeline.store.store import Store
from pipeline.verify.found import records_altered
from pipeline.workspace.settings import Workspace
from reports.page.document import BORNE

LARGEST_BYTES = 200_000_000
"""Of a document: one of ours has a few megabytes."""
_BORNE = re.compile(BORNE.encode() + rb" ([0-9a-f]{64})")
"""How a document bears its hash, among its keywords (XMP, ISO 16684-1, which PDF/A leaves readable)."""


@dataclass(frozen=True)
class Proof:
    """What became of a document's hash.

    Attributes:
        document: the document's file.
        head: the hash it bears.
        entry: number of the entry of the chain that it is the head after; None where there is none.
        entries: entries of the chain now.
        load_id: load of that entry.
        file: its file, "" where it is gone.
        records: records that loads had brought by then, by kind.
        taken_back: loads taken back since, of those that stood then.
        alterations: what was altered of what stood then.
        as_written: whether the file is, byte for byte, the last that was written here; None where that is not known.
    """

    document: str
    head: str
    entry: int | None
    entries: int
    load_id: int | None = None
    file: str = ""
    records: tuple[tuple[str, int], ...] = ()
    taken_back: tuple[int, ...] = ()
    alterations: tuple[Alteration, ...] = ()
    as_written: bool | None = None

    @property
    def holds(self) -> bool:
        """Whether the hash was found and nothing that it covers was altered since."""
        return self.entry is not None and not self.alterations

    def as_json(self) -> dict[str, object]:
        """The form of ``prove --json``."""
        return {**asdict(self), "holds": self.holds}


def prove(workspace: Workspace, document: Path) -> Proof:
    """Find a document's hash in the chain of a workspace's store.

    Raises:
        WrongUsage: the file is not there.
        CannotDo: it bears no hash, or several, or the store cannot be read.
    """
    head = _borne(document)
    with Store(workspace.store, read_only=True) as store:
        chain = entries(store.con)
        at = next((one for one in chain if one.head == head), None)
        if at is None:
            return Proof(document.name, head, None, len(chain))
        stood = {one.number: one for one in chain[: at.entry] if one.what in SEALING and one.number is not None}
        before = {one.number for one in chain[: at.entry] if one.what == UNDONE}
        since = [one.number for one in chain[at.entry :] if one.what == UNDONE and one.number in stood]
        of_then = stood.keys() - before
        altered = [one for one in records_altered(store) if one.load_id is None or one.load_id in of_then]
        files = dict(store.rows("SELECT load_id, file FROM meta.load"))
        return Proof(
            document=document.name,
            head=head,
            entry=at.entry,
            entries=len(chain),
            load_id=at.number,
            file=files.get(at.number, "") if at.number else "",
            records=tuple(_records(stood[number] for number in sorted(of_then))),
            taken_back=tuple(number for number in since if number is not None),
            alterations=tuple(altered),
            as_written=_as_written(document),
        )


def _borne(document: Path) -> str:
    if not document.is_file():
        raise WrongUsage(f"There is no file {document}.", "Name a PDF that swardtally wrote.")
    if document.stat().st_size > LARGEST_BYTES:
        raise CannotDo(f"{document.name} is larger than any document of swardtally.", "Name a PDF that it wrote.")
    found = {bytes(one).decode() for one in _BORNE.findall(document.read_bytes())}
    if len(found) != 1:
        raise CannotDo(
            f"{document.name} bears {'no hash' if not found else 'several hashes'} of records.",
            "One that was written before the store had a chain bears none, and one that another program printed or "
            "saved anew may have lost it. Reports and surveys print it too, under the files behind them.",
        )
    return min(found)


def _records(sealed: Iterator[Entry]) -> Iterator[tuple[str, int]]:
    """Records that some loads brought, by kind."""
    found: dict[str, int] = {}
    for one in sealed:
        told = one.told
        kind = str(told.get("ledger", {}).get("kind", ""))
        found[kind] = found.get(kind, 0) + int(told.get("records", {}).get("rows", 0))
    yield from sorted((kind, count) for kind, count in found.items() if count)


def _as_written(document: Path) -> bool | None:
    """Whether a file is the last that was written under its name; None where no list beside it knows the name."""
    cache = RenderCache(document.parent)
    one = cache.known(document)
    if one is None or one.beside:
        return None
    return sha256(document.read_bytes()).hexdigest() == one.sha256
