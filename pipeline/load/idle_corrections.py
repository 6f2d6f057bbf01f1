"""Corrections of files that were never loaded: a name of a file that is misspelt corrects nothing."""

from __future__ import annotations

from collections.abc import Iterable

from pipeline.profiles.corrections import idle, read_corrections
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace


def idle_corrections(workspace: Workspace, files: Iterable[str]) -> tuple[str, ...]:
    """What to say of each correction whose file is neither among these nor in the store, with the closest names."""
    corrections = read_corrections(workspace.corrections)
    if not corrections:
        return ()
    known = set(files)
    if workspace.store.exists():
        with Store(workspace.store, read_only=True) as store:
            known.update(file for (file,) in store.rows("SELECT DISTINCT file FROM meta.load"))
    known |= {file.rpartition(" [")[0] for file in known if file.endswith("]")}  # a sheet read as a file of its own
    return tuple(idle(corrections, known))
