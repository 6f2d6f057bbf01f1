"""The files of a workspace made of those of a backup, each where it stood and none outside."""

from __future__ import annotations

import os
from hashlib import sha256
from pathlib import Path

from pipeline.common.refusal import CannotDo
from pipeline.copies.folder import BackupFolder
from pipeline.copies.hashes import copy_hashed
from pipeline.copies.manifest import ELSEWHERE, FILES, Kept, Manifest
from pipeline.copies.places import SET_ELSEWHERE, Places, places_inside
from pipeline.workspace.settings import SETTINGS, Settings, open_workspace


def restore_files(folder: BackupFolder, manifest: Manifest, work: Path) -> Places:
    """Copy the files of a backup into a workspace that is being made; the settings it has then.

    Raises:
        CannotDo: a file is another one than it was when it was looked at, or its name leads elsewhere on this machine.
    """
    settings = next((one for one in manifest.files if one.path == f"{FILES}/{SETTINGS}"), None)
    content = None if settings is None else bytes_of(folder, settings)
    paths = [*(one.path for one in manifest.files), *manifest.folders]
    taken = {path.split("/")[1] for path in paths if path.startswith(f"{FILES}/")}
    places = places_inside(_settings_in(content, work), content, taken)
    if places.text is not None:
        (work / SETTINGS).write_bytes(places.text)
    for path in manifest.folders:
        if (there := _place_of(path, places, work)) is not None:
            there.mkdir(parents=True, exist_ok=True)
    for one in manifest.files:
        target = _place_of(one.path, places, work)
        if target is not None and one is not settings:
            _copy(folder, one, target)
    return places


def bytes_of(folder: BackupFolder, one: Kept) -> bytes:
    """The bytes of a file of a backup.

    Raises:
        CannotDo: they are not what they were when they were looked at.
    """
    content = folder.object_of(one).read_bytes()
    _see_same(one, sha256(content).hexdigest())
    return content


def _settings_in(content: bytes | None, work: Path) -> Settings:
    """The settings in the bytes of their file."""
    if content is None:
        return Settings()
    path = work / SETTINGS
    path.write_bytes(content)
    return open_workspace(work).settings


def _place_of(path: str, places: Places, work: Path) -> Path | None:
    """Where a file of the backup belongs in the workspace; None of what is the store's.

    Raises:
        CannotDo: its name leads out of the workspace on this machine.
    """
    first, rest = path.split("/", 1)
    if first not in (FILES, ELSEWHERE):
        return None
    setting, _, below = rest.partition("/")
    if first == ELSEWHERE and setting in SET_ELSEWHERE:
        rest = f"{getattr(places.settings, setting)}/{below}"
    target = os.path.abspath(work / rest)  # noqa: PTH100 (by its words: nothing is there that could be a link)
    if not target.startswith(os.path.join(os.path.abspath(work), "")):  # noqa: PTH100, PTH118
        raise CannotDo(f"The name {path!r} leads out of the workspace on this machine.", "Nothing was restored.")
    return work / rest


def _copy(folder: BackupFolder, one: Kept, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    try:
        found = copy_hashed(folder.object_of(one), target)
    except FileExistsError:
        raise CannotDo(
            f"{one.path} and another file have names that are the same on this disk (capitals or accents differ).",
            "Restore to a disk that tells them apart. Nothing was restored.",
        ) from None
    _see_same(one, found)


def _see_same(one: Kept, found: str) -> None:
    if found != one.sha256:
        raise CannotDo(
            f"{one.path} was changed while it was read: expected {one.sha256}, found {found}.", "Nothing was restored."
        )
