"""A workspace made of a backup: whole, in a place that held nothing, or not at all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline.common.refusal import CannotDo
from pipeline.copies.check import refuse_damaged
from pipeline.copies.folder import to_read
from pipeline.copies.fresh_place import empty_place, made_beside
from pipeline.copies.manifest import ELSEWHERE, FILES, Manifest, read_manifest
from pipeline.copies.restored_files import restore_files
from pipeline.copies.restored_store import remake_figures, restore_store
from pipeline.store.layout import SCHEMA_VERSION
from pipeline.workspace.settings import Workspace


@dataclass(frozen=True)
class Restored:
    """What a restore came to.

    Attributes:
        folder: the workspace.
        manifest: the backup that it was made of.
        changed: settings that named a place outside the workspace → the place in it that they name now.
        figures: why the figures could not be made; "" where they were, or where the backup had none.
    """

    folder: Path
    manifest: Manifest
    changed: Mapping[str, str]
    figures: str

    @property
    def brought_up(self) -> bool:
        """Whether the backup was of an older layout."""
        return self.manifest.layout is not None and self.manifest.layout < SCHEMA_VERSION

    @property
    def files(self) -> int:
        """Files of the workspace."""
        return sum(one.path.startswith((f"{FILES}/", f"{ELSEWHERE}/")) for one in self.manifest.files)

    def as_json(self) -> dict[str, Any]:
        """The form of ``restore --json``."""
        return {
            "workspace": str(self.folder),
            "number": self.manifest.number,
            "made_at": self.manifest.made_at,
            "tables": {table.name: table.rows for table in self.manifest.tables},
            "files": self.files,
            "brought_up": self.brought_up,
            "changed": dict(self.changed),
            "figures": self.figures,
        }


def restore(backup: Path, target: Path) -> Restored:
    """Make the workspace of a backup in a place that holds nothing; the backup is only read.

    Every hash is looked at before anything is used. The workspace is made in a folder beside its place and moved there
    once it is whole: a run that was stopped leaves the place as it was, and the next one starts over.

    Args:
        backup: a folder of backups, of which the last one is taken, or the manifest of another.
        target: the place: an empty folder, or none yet.

    Raises:
        CannotDo: the backup is damaged or of a newer version, the place holds something, or it cannot be written.
    """
    folder, manifests = to_read(backup)
    manifest = read_manifest(manifests[-1])
    if manifest.layout is not None and manifest.layout > SCHEMA_VERSION:
        raise CannotDo(
            f"The store in the backup was made by a newer version of swardtally (layout {manifest.layout}).",
            "Install that version. Nothing was restored.",
        )
    place = empty_place(target)
    refuse_damaged(folder, manifest)
    figures = ""
    with made_beside(place) as work:
        places = restore_files(folder, manifest, work)
        if manifest.layout is not None:
            here = Workspace(work, places.settings)
            restore_store(folder, manifest, here)
            figures = remake_figures(manifest.figures, here)
    return Restored(target, manifest, places.changed, figures)
