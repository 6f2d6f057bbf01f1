"""Whether backups are as they were written: every object has the bytes that a manifest says."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.copies.folder import BackupFolder, to_read
from pipeline.copies.hashes import hash_of
from pipeline.copies.manifest import Kept, Manifest, read_manifest

MISSING = "missing"
"""What stands for the hash of a file that is not there."""


@dataclass(frozen=True)
class Damage:
    """A file of a backup that is not as it was written.

    Attributes:
        path: its path in the backup.
        expected: SHA-256 that the manifest says.
        found: SHA-256 that it has, "missing" where it is not there, or why it cannot be read.
        object: where its bytes lie in the folder of backups.
    """

    path: str
    expected: str
    found: str
    object: str

    def __str__(self) -> str:
        return f"{self.path}: expected {self.expected}, found {self.found} ({self.object})"


@dataclass(frozen=True)
class Checked:
    """What a check of a folder of backups came to.

    Attributes:
        backups: how many were looked at.
        files: how many files of theirs were looked at, each once.
        bytes: their bytes.
        damages: files that are not as they were written.
        unreadable: why manifests cannot be used.
    """

    backups: int
    files: int
    bytes: int
    damages: tuple[Damage, ...]
    unreadable: tuple[str, ...]

    @property
    def fine(self) -> bool:
        """Whether everything is as it was written."""
        return not self.damages and not self.unreadable

    def as_json(self) -> dict[str, Any]:
        """The form of ``backup --check --json``."""
        return {**asdict(self), "fine": self.fine}


def check(path: Path, parts: Sequence[str] = ()) -> Checked:
    """Look at all backups of a folder, or by the path of a manifest at that one; of parts only at these.

    Args:
        path: the folder, or a manifest in it.
        parts: paths in the backup, such as "tables" or "workspace/profiles": a file or all that lies below.

    Raises:
        CannotDo: there is no backup.
        WrongUsage: a part is in none of them.
    """
    folder, paths = to_read(path)
    manifests, unreadable = [], []
    for one in paths:
        try:
            manifests.append(read_manifest(one))
        except CannotDo as error:
            unreadable.append(error.message)
    for part in parts:
        if manifests and not any(one.of_part(part) for one in manifests):
            raise WrongUsage(
                f"No backup holds {part!r}.", "Parts are tables, blobs, workspace, elsewhere, and paths below them."
            )
    wanted = {one.object_name: one for manifest in manifests for one in manifest.of_part(*parts)}
    found = damages(folder, wanted.values())
    return Checked(len(paths), len(wanted), sum(one.bytes for one in wanted.values()), tuple(found), tuple(unreadable))


def damages(folder: BackupFolder, files: Iterable[Kept]) -> list[Damage]:
    """Those of these files that are not as they were written, by path."""
    found = []
    for one in sorted(files, key=lambda kept: kept.path):
        try:
            is_now = hash_of(folder.object_of(one))
        except (FileNotFoundError, NotADirectoryError):
            is_now = MISSING
        except OSError as error:
            is_now = error.strerror or str(error)
        if is_now != one.sha256:
            found.append(Damage(one.path, one.sha256, is_now, f"objects/{one.object_name}"))
    return found


def refuse_damaged(folder: BackupFolder, manifest: Manifest) -> None:
    """Refuse a backup of which any file is not as it was written.

    Raises:
        CannotDo: one is not; the message names the first few.
    """
    found = damages(folder, manifest.files)
    if found:
        more = f"; and {len(found) - MOST_NAMED} more" if len(found) > MOST_NAMED else ""
        raise CannotDo(
            f"The backup is damaged: {'; '.join(map(str, found[:MOST_NAMED]))}{more}.",
            "Nothing was restored. Put undamaged copies of these files there, or restore another backup of the folder; "
            "swardtally backup DIR --check names all that is damaged.",
        )


MOST_NAMED = 5
"""Damaged files named in a refusal; a check names all."""
