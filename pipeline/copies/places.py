"""The files of a workspace that a copy takes: all that a person wrote or that cannot be made anew."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath, PureWindowsPath

from pipeline.common.refusal import CannotDo
from pipeline.copies.folder import is_backup_folder
from pipeline.copies.manifest import ELSEWHERE, FILES
from pipeline.workspace.settings import SETTINGS, Settings, Workspace
from pipeline.workspace.shared import BEGINS, Shared

MADE_ANEW = (".pdf",)
"""Endings of files in the folder of reports that are made anew; a sheet that lies there may have been edited."""
SET_ELSEWHERE = ("profiles", "rejected")
"""Settings that name a folder with files of a person, which may lie outside the workspace."""


@dataclass
class Found:
    """What a workspace holds for a copy.

    Attributes:
        files: path in the copy → the file.
        folders: paths in the copy of folders that hold nothing.
        left_out: paths in the workspace of links, and of what is neither file nor folder: not followed, not copied.
    """

    files: dict[str, Path] = field(default_factory=dict)
    folders: list[str] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)


def files_of(workspace: Workspace) -> Found:
    """The files of a workspace, sorted by path.

    Hidden files, the store, PDFs in the folder of reports and folders of backups are left out. A link is followed where
    the tool itself reads by that name: settings, profiles, rejected rows, corrections, decisions.
    """
    found = Found()
    home = workspace.folder
    followed = {home / SETTINGS, workspace.profiles, workspace.rejected, workspace.corrections, workspace.decisions}
    _walk(workspace, home, FILES, found, followed)
    for name in SET_ELSEWHERE:
        place = home / getattr(workspace.settings, name)
        if not within(getattr(workspace.settings, name)) and place.is_dir():
            _walk(workspace, place, f"{ELSEWHERE}/{name}", found, followed)
    found.files = dict(sorted(found.files.items()))
    found.folders.sort()
    found.left_out.sort()
    return found


def within(place: str) -> bool:
    """Whether a place that settings name lies in the workspace, by its words alone, on any machine."""
    if PureWindowsPath(place).is_absolute() or PureWindowsPath(place).drive or PurePosixPath(place).is_absolute():
        return False
    return ".." not in place.replace("\\", "/").split("/")


def _walk(workspace: Workspace, folder: Path, told: str, found: Found, followed: set[Path]) -> None:
    before = len(found.files)
    entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
    for entry in entries:
        path, name = Path(entry.path), f"{told}/{entry.name}"
        if entry.name.startswith(".") or _of_the_store(workspace, path) or _made_anew(workspace, path):
            continue
        if entry.is_symlink() and path not in followed:
            found.left_out.append(workspace.place_of(path))
        elif entry.is_dir():
            if not is_backup_folder(path):
                _walk(workspace, path, name, found, followed)
        elif entry.is_file():
            found.files[name] = path
        else:
            found.left_out.append(name.partition("/")[2])
    if len(found.files) == before and not any(one.startswith(f"{told}/") for one in found.folders) and "/" in told:
        found.folders.append(told)


def _of_the_store(workspace: Workspace, path: Path) -> bool:
    """Whether a file is the store or one that DuckDB lays beside it; of a shared store, the folder of its files."""
    place, here = workspace.store, path.resolve()
    if isinstance(place, Shared):
        return here == place.files.resolve()
    store = place.resolve()
    return here.parent == store.parent and (here == store or here.name.startswith(f"{store.name}."))


def _made_anew(workspace: Workspace, path: Path) -> bool:
    return path.suffix.lower() in MADE_ANEW and path.is_relative_to(workspace.reports)


@dataclass(frozen=True)
class Places:
    """Where a restored workspace has what its settings name.

    Attributes:
        settings: the settings it will have.
        changed: settings that named a place outside the workspace → the place in it that they name now.
        text: the text of its settings; None where it has none.
    """

    settings: Settings
    changed: dict[str, str]
    text: bytes | None


def places_inside(settings: Settings, content: bytes | None, taken: set[str]) -> Places:
    """The settings of a workspace with every place in it: one made anew never reaches out of its folder.

    The store of one whose store was shared is a file: what is restored stands beside what the offices write to.

    Args:
        settings: the settings as they were.
        content: bytes of settings.toml; None where there was none.
        taken: names of files and folders that the workspace has at its top.

    Raises:
        CannotDo: the line of such a setting is not found.
    """
    changed = {}
    for name in ("store", "rejected", "profiles", "reports"):
        place = getattr(settings, name)
        if place.startswith(BEGINS) or not within(place):
            changed[name] = _free(Settings.model_fields[name].default, taken)
    if not changed or content is None:
        return Places(settings, {}, content)
    text = content.decode("utf-8-sig")
    lines = text.splitlines(keepends=True)
    for name, place in changed.items():
        at = [number for number, line in enumerate(lines) if line.partition("=")[0].strip().strip("\"'") == name]
        if len(at) != 1:
            raise CannotDo(
                f"{SETTINGS} names {name} outside the workspace, in a line that cannot be told.",
                f"Name a place in the workspace before the backup: {name} = {place!r}. Nothing was written.",
            )
        lines[at[0]] = f'{name} = "{place}"\n'
    return Places(settings.model_copy(update=changed), changed, "".join(lines).encode())


def _free(name: str, taken: set[str]) -> str:
    while name in taken:
        name = f"own-{name}"
    taken.add(name)
    return name
