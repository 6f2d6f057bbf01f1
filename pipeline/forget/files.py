"""A person's name out of the workspace's own files, and where else in the workspace it still stands."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from pipeline.common.whole_files import LEFT
from pipeline.forget.contents import CannotRedact, gone_from_bytes
from pipeline.forget.person import Person
from pipeline.workspace.settings import SETTINGS, Workspace

LARGEST_BYTES = 50_000_000
"""Of a file that is looked into for the name."""


def files_without(workspace: Workspace, person: Person) -> dict[Path, bytes]:
    """The rules of a workspace and its files of rejected rows that bear the name, each as it is without it."""
    found = {}
    for path in _own(workspace):
        content = path.read_bytes()
        try:
            gone = gone_from_bytes(content, person, ["utf-8"])
        except CannotRedact:
            continue
        if gone != content:
            found[path] = gone
    return found


def still_bearing(workspace: Workspace, person: Person) -> tuple[str, ...]:
    """Files of the workspace that bear the name still: a person's own, and any from which it cannot be taken."""
    own = set(_own(workspace))
    found = []
    for path in sorted(workspace.folder.rglob("*")):
        if path.name.startswith(workspace.store_file.name) or LEFT.fullmatch(path.name):
            continue
        if path.suffix == ".pdf" or not path.is_file():
            continue
        if path.stat().st_size > LARGEST_BYTES or path.is_symlink():
            continue
        content = path.read_bytes()
        try:
            bears = gone_from_bytes(content, person) != content and path not in own
        except CannotRedact:
            bears = True
        if bears:
            found.append(workspace.place_of(path))
    return tuple(found)


def _own(workspace: Workspace) -> Iterator[Path]:
    settings = workspace.folder / SETTINGS
    if settings.is_file():
        yield settings
    for folder, pattern in (
        (workspace.profiles, "*.toml"),
        (workspace.corrections, "*.toml"),
        (workspace.decisions, "*.toml"),
        (workspace.rejected, "*"),
    ):
        yield from (path for path in sorted(folder.glob(pattern)) if path.is_file())
