"""The rules that files are read by, kept with each load as they stood: settings, profiles, corrections, decisions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from pipeline.common.toml import bytes_of
from pipeline.store.proof.originals import (
    Packed,
    as_bytes,
    keep,
    kept_bytes,
    kept_told,
    mark_of,
    note_sources,
    packed,
)
from pipeline.workspace.settings import SETTINGS, Workspace, as_text

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection as Connection

RULES = "rules"
"""Role of the list of them among what a load was read from."""


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

    @cached_property
    def packed(self) -> tuple[Packed, ...]:
        """The list as it is kept, then the files."""
        return tuple(map(packed, (self.list, *self.files.values())))


def keep_rules(con: Connection, workspace: Workspace, number: int) -> None:
    """Keep the rules of a workspace as they stand with a decision; inside its transaction."""
    rules = rules_of(workspace).packed
    keep(con, *rules)
    note_sources(con, number, [(RULES, "", rules[0].mark)])


def kept_rules(con: Connection, mark: str) -> Rules:
    """The rules that were kept under a hash.

    Raises:
        Altered: one of them is gone, or not what its hash says.
    """
    return Rules({place: kept_bytes(con, str(one)) for place, one in kept_told(con, mark).items()})


def rules_of(workspace: Workspace) -> Rules:
    """The rules of a workspace as they stand now."""
    found = {}
    if (settings := workspace.folder / SETTINGS).is_file():
        found[SETTINGS] = bytes_of(settings)
    folders = {"profiles": workspace.profiles, "corrections": workspace.corrections, "decisions": workspace.decisions}
    for name, folder in folders.items():
        found |= {f"{name}/{as_text(path.name)}": bytes_of(path) for path in sorted(folder.glob("*.toml"))}
    return Rules(found)
