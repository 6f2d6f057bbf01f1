"""Whether a store is what was loaded: the chain, what it covers, the originals, and the records they make."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace

from pipeline.common.progress import SILENT, Progress
from pipeline.store.proof.chain import entries
from pipeline.store.proof.check import Alteration, redacted
from pipeline.store.store import Store
from pipeline.verify.differences import Difference, differences
from pipeline.verify.found import found_altered
from pipeline.verify.rebuild import rebuilt
from pipeline.workspace.settings import Workspace


@dataclass(frozen=True)
class Verified:
    """What was looked at and what was found.

    Attributes:
        loads: loads in force.
        entries: entries of the chain.
        head: its head, hexadecimal digits; "" where there is none.
        read_again: loads whose originals were read again.
        alterations: what is not as the chain says.
        differences: what the store says otherwise than its originals.
        unread: loads that could not be read again: number and why.
        carried: loads of which no original was kept.
        other_version: loads read by another version of the tool.
        redacted: loads from which a person's name was taken, and the entry of the chain that says so.
    """

    loads: int
    entries: int
    head: str
    read_again: int
    alterations: tuple[Alteration, ...]
    differences: tuple[Difference, ...] = ()
    unread: tuple[tuple[int, str], ...] = ()
    carried: tuple[int, ...] = ()
    other_version: tuple[int, ...] = ()
    redacted: tuple[tuple[int, int], ...] = ()

    @property
    def whole(self) -> bool:
        """Whether nothing was found."""
        return not (self.alterations or self.differences or self.unread)

    def as_json(self) -> dict[str, object]:
        """The form of ``verify --json``."""
        return {**asdict(self), "whole": self.whole}


def verify(workspace: Workspace, *, quick: bool = False, progress: Progress = SILENT) -> Verified:
    """Look at everything in a workspace's store; nothing in it is changed.

    Args:
        workspace: the workspace.
        quick: hold the store against its chain alone, without reading the originals again.
        progress: shown while originals are read.

    Raises:
        CannotDo: there is no store, or it cannot be read.
    """
    from pipeline.load.ledger import tool_version

    with Store(workspace.store, read_only=True) as store:
        chain = entries(store.con)
        versions = store.rows("SELECT load_id, version FROM meta.load ORDER BY load_id")
        found = Verified(
            loads=len(versions),
            entries=len(chain),
            head=chain[-1].head if chain else "",
            read_again=0,
            alterations=tuple(found_altered(store)),
            redacted=tuple(sorted((number, one.entry) for number, one in redacted(chain).items())),
            other_version=tuple(number for number, version in versions if version != tool_version()),
        )
        if quick:
            return found
        with rebuilt(store, progress) as anew:
            return replace(
                found,
                read_again=len(anew.results),
                differences=tuple(differences(store, anew)),
                unread=tuple(sorted(anew.unread.items())),
                carried=tuple(sorted(anew.carried)),
            )
