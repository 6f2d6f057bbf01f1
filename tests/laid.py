"""The same file loaded into the same workspace: done once in a process of the run, and copied for the tests after.

A small load takes a quarter of a second, and most tests begin with the same few. What is copied was made by the very
same call: its key is every byte of the workspace, its settings, the file and the options. A test that wants the load
itself (of a patched part, a held store, the time of a load) calls ``load_paths``.
"""

from __future__ import annotations

import shutil
import sys
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.workspace.settings import Workspace


@dataclass(frozen=True)
class _Kept:
    """What a load came to, and the files of the workspace that it made or changed, by their place in it."""

    result: FileResult
    changed: dict[Path, Path]


_KEPT: dict[bytes, _Kept] = {}
_FOLDER = TemporaryDirectory(prefix="swardtally-laid-")


def laid(workspace: Workspace, path: Path, **options: object) -> FileResult:
    """What ``load_paths`` does with one file, from a copy where it was done before to an equal workspace.

    A load with rejected rows or pictures is never copied: the workspace then names the folder that the file came from.
    """
    before = _marks(workspace.folder)
    key = _key(workspace, path, before, options)
    if (kept := _KEPT.get(key)) is not None:
        for place, copied in kept.changed.items():
            (workspace.folder / place).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(copied, workspace.folder / place)
        return kept.result
    result, *parts = load_paths(workspace, [path], **options)  # type: ignore[arg-type]
    after = _marks(workspace.folder)
    gone = before.keys() - after.keys()
    if not (parts or gone or result.counts.rejected or result.rejects_file or result.pictures):
        _KEPT[key] = _Kept(result, _copied(workspace.folder, [one for one in after if after[one] != before.get(one)]))
    return result


def patched(monkeypatch: pytest.MonkeyPatch | None) -> bool:
    """Whether a test has put anything in another's place by now, but for the words of its command line."""
    if monkeypatch is None:
        return False
    return bool(monkeypatch._setitem) or any(target is not sys for target, *_ in monkeypatch._setattr)


def _key(workspace: Workspace, path: Path, marks: dict[Path, bytes], options: dict[str, object]) -> bytes:
    inside = path.relative_to(workspace.folder) if path.is_relative_to(workspace.folder) else path.name
    told = (sorted(marks.items()), repr(workspace.settings), str(inside), path.read_bytes(), sorted(options.items()))
    return blake2b(repr(told).encode()).digest()


def _marks(folder: Path) -> dict[Path, bytes]:
    return {
        path.relative_to(folder): blake2b(path.read_bytes(), digest_size=16).digest()
        for path in folder.rglob("*")
        if path.is_file()
    }


def _copied(folder: Path, places: list[Path]) -> dict[Path, Path]:
    made = {}
    for number, place in enumerate(places):
        made[place] = Path(_FOLDER.name) / f"{len(_KEPT)}-{number}"
        shutil.copyfile(folder / place, made[place])
    return made
