"""What a document proves: the hash it bears is found in the chain, and what the store held then is looked at."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.publish.written import Written, written_as
from pipeline.store.proof.chain import SEALING, UNDONE, Entry, entries
from pipeline.store.proof.check import Alteration, redacted
from pipeline.store.store import Store
from pipeline.verify.found import records_altered
from pipeline.workspace.settings import Workspace
from reports.page.document import BORNE

LARGEST_BYTES = 200_000_000
"""Of a document: one of ours has a few megabytes."""
_BORNE = re.compile(BORNE.encode() + rb" ([0-9a-f]{64})")
"""How a document bears its hash, among its keywords (XMP, ISO 16684-1, which PDF/A leaves readable)."""
_TYPED = re.compile(r"[0-9a-f]{64}")
"""A hash as somebody types it from paper."""


@dataclass(frozen=True)
class Proof:
    """What became of a document's hash.

    Attributes:
        document: the document's file; "" where the hash itself was given.
        head: the hash it bears.
        entry: number of the entry of the chain that it is the head after; None where there is none.
        entries: entries of the chain now.
        load_id: load of that entry.
        file: its file.
        records: records that loads had brought by then, by kind.
        taken_back: loads taken back since, of those that stood then.
        taken_back_files: their files.
        redacted: loads of then from which a person's name was taken since.
        alterations: what was altered of what stood then.
        as_written: whether the file is, byte for byte, the last that was written here; None where that is not known.
        written_file: the document in the reports that it is, or should be; "" where none is known.
    """

    document: str
    head: str
    entry: int | None
    entries: int
    load_id: int | None = None
    file: str = ""
    records: tuple[tuple[str, int], ...] = ()
    taken_back: tuple[int, ...] = ()
    taken_back_files: tuple[str, ...] = ()
    redacted: tuple[int, ...] = ()
    alterations: tuple[Alteration, ...] = ()
    as_written: bool | None = None
    written_file: str = ""

    @property
    def holds(self) -> bool:
        """Whether the hash was found and nothing that it covers was altered since."""
        return self.entry is not None and not self.alterations

    def as_json(self) -> dict[str, object]:
        """The form of ``prove --json``."""
        return {**asdict(self), "holds": self.holds}


def prove(workspace: Workspace, document: Path) -> Proof:
    """Find a document's hash in the chain of a workspace's store.

    Args:
        workspace: the workspace.
        document: the document's file, or the hash itself as its page prints it.

    Raises:
        WrongUsage: the file is not there.
        CannotDo: it bears no hash, or several, or the store cannot be read.
    """
    typed = _typed(document)
    head = typed or _borne(document)
    name = "" if typed else document.name
    with Store(workspace.store, read_only=True) as store:
        chain = entries(store.con)
        at = next((one for one in chain if one.head == head), None)
        if at is None:
            return Proof(name, head, None, len(chain))
        stood = {one.number: one for one in chain[: at.entry] if one.what in SEALING and one.number is not None}
        before = {one.number for one in chain[: at.entry] if one.what == UNDONE}
        since = [
            one.number
            for one in chain[at.entry :]
            if one.what == UNDONE and one.number is not None and one.number in stood
        ]
        of_then = stood.keys() - before
        altered = [one for one in records_altered(store) if one.load_id is None or one.load_id in of_then]
        files = dict(store.rows("SELECT load_id, file FROM meta.load UNION ALL SELECT load_id, file FROM meta.undone"))
        written = Written(None) if typed else written_as(workspace.reports, document)
        return Proof(
            document=name,
            head=head,
            entry=at.entry,
            entries=len(chain),
            load_id=at.number,
            file=files.get(at.number, "") if at.number else "",
            records=tuple(_records(stood[number] for number in sorted(of_then))),
            taken_back=tuple(since),
            taken_back_files=tuple(files.get(number, "") for number in since),
            redacted=tuple(sorted(redacted(chain[at.entry :]).keys() & of_then)),
            alterations=tuple(altered),
            as_written=written.same,
            written_file=written.file,
        )


def _typed(document: Path) -> str:
    """The hash that stands where a file's name is asked for, with or without blanks; "" where it is none."""
    text = "".join(str(document).split()).lower()
    return text if _TYPED.fullmatch(text) and not document.is_file() else ""


def _borne(document: Path) -> str:
    if not document.is_file():
        raise WrongUsage(f"There is no file {document}", "Name a PDF that swardtally wrote, or the hash it prints.")
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
