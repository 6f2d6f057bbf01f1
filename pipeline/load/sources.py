"""What a load was read from, kept with it: the file, what the person said of it, and every rule it may be read by."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from pipeline.store.layout import Connection
from pipeline.store.proof.originals import as_bytes, changed, keep_all, keep_file, mark_of, note_sources
from pipeline.workspace.settings import SETTINGS, Workspace, as_text

if TYPE_CHECKING:
    from pipeline.load.call import Call
    from pipeline.load.detect import DetectedFile

FILE, RULES, CALL, WHEN = "file", "rules", "call", "when"
"""Roles of what is kept. The last is the day and the files before it in one call, which no hash covers."""


@dataclass(frozen=True)
class Rules:
    """The files of a workspace that say how others are read, as they stand at a moment.

    Attributes:
        files: their bytes, by their place: settings.toml, profiles/NAME, corrections/NAME, decisions/NAME.
    """

    files: Mapping[str, bytes]

    @cached_property
    def list(self) -> bytes:
        """Which they are: the SHA-256 of each by its place, as JSON."""
        return as_bytes({place: mark_of(content) for place, content in self.files.items()})


def rules_of(workspace: Workspace) -> Rules:
    """The rules of a workspace as they stand now."""
    found = {}
    if (settings := workspace.folder / SETTINGS).is_file():
        found[SETTINGS] = settings.read_bytes()
    folders = {"profiles": workspace.profiles, "corrections": workspace.corrections, "decisions": workspace.decisions}
    for name, folder in folders.items():
        found |= {f"{name}/{as_text(path.name)}": path.read_bytes() for path in sorted(folder.glob("*.toml"))}
    return Rules(found)


def keep_sources(con: Connection, call: Call, detected: DetectedFile, source: BinaryIO, load_id: int) -> None:
    """Keep what a load was read from; inside its transaction.

    Raises:
        CannotDo: the file was changed since it was read.
    """
    mark = keep_file(con, source)
    if detected.sheet.sha256 not in _marks_of_parts(detected, mark):
        raise changed(detected.path.name)
    days = call.complete and [day.isoformat() for day in call.complete]
    said = as_bytes({"complete": days, "given": dict(call.given)})
    when = as_bytes({"day": call.today.isoformat(), "before": call.loaded})
    keep_all(con, {call.rules.list: call.rules.files.values(), said: (), when: ()})
    told = [(RULES, "", mark_of(call.rules.list)), (CALL, "", mark_of(said)), (WHEN, "", mark_of(when))]
    note_sources(con, load_id, [(FILE, place_in(call.workspace, detected.path), mark), *told])


def place_in(workspace: Workspace, path: Path) -> str:
    """Where a file lies in the workspace; the name alone of one that lies elsewhere."""
    whole, home = path.resolve(), workspace.folder.resolve()
    return as_text(whole.relative_to(home).as_posix() if whole.is_relative_to(home) else whole.name)


def _marks_of_parts(detected: DetectedFile, mark: str) -> set[str]:
    """What a file of this hash, or a part of it, is told by: parts by the hash of that and of their name."""
    names = [detected.sheet.name, detected.form_part.removeprefix("[").removesuffix("]")]
    return {mark, *(sha256(f"{mark} {name}".encode()).hexdigest() for name in names)}
