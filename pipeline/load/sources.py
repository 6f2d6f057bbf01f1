"""What a load was read from, kept with it: the file, what the person said of it, and every rule it may be read by."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.common.marks import mark_of_part
from pipeline.common.places import resolved
from pipeline.common.refusal import CannotDo
from pipeline.store.layout import Connection
from pipeline.store.proof.originals import Packed, as_bytes, keep, note_sources, packed
from pipeline.store.proof.rules import RULES
from pipeline.store.proof.seals import UNCOVERED
from pipeline.workspace.settings import Workspace, as_text

if TYPE_CHECKING:
    from pipeline.load.call import Call
    from pipeline.load.detect import DetectedFile

FILE, CALL, WHEN = "file", "call", UNCOVERED
"""Roles of what is kept beside the rules. The last, the day and the files before it in one call, is in no
hash."""


def keep_sources(con: Connection, call: Call, detected: DetectedFile, original: Packed, load_id: int) -> None:
    """Keep what a load was read from, the file packed already; inside the load's transaction.

    Raises:
        CannotDo: the file was changed since it was read.
    """
    mark = original.mark
    if detected.sheet.sha256 not in _marks_of_parts(detected, mark):
        raise CannotDo(
            f"{detected.path.name} was changed while it was being loaded.", "Nothing of it was kept. Load it again."
        )
    days = call.complete and [day.isoformat() for day in call.complete]
    said = packed(as_bytes({"complete": days, "given": dict(call.given)}))
    when = {"day": call.today.isoformat(), "before": call.loaded, "shown": _named(detected)}
    then, rules = packed(as_bytes(when)), call.rules.packed
    keep(con, original, *rules, said, then)
    told = [(RULES, "", rules[0].mark), (CALL, "", said.mark), (WHEN, "", then.mark)]
    note_sources(con, load_id, [(FILE, place_in(call.workspace, detected.path), mark), *told])


def place_in(workspace: Workspace, path: Path) -> str:
    """Where a file lies in the workspace; the name alone of one that lies elsewhere."""
    whole, home = resolved(path), resolved(workspace.folder)
    return as_text(whole.relative_to(home).as_posix() if whole.is_relative_to(home) else whole.name)


def _named(detected: DetectedFile) -> str:
    """A file as the person named it, also where a part of it has a name of its own."""
    part = detected.form_part or (f"[{detected.sheet.name}]" if detected.of_sheet else "")
    return detected.file.removesuffix(f" {part}") if part else detected.file


def _marks_of_parts(detected: DetectedFile, mark: str) -> set[str]:
    """What a file of this hash, or a part of it, is told by: parts by the hash of that and of their name."""
    names = [detected.sheet.name, detected.form_part.removeprefix("[").removesuffix("]")]
    return {mark, *(mark_of_part(mark, name) for name in names)}
