"""One call of loading: the open store, and what is the same for all its files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from pipeline.profiles.corrections import Correction
from pipeline.profiles.profile import Profile
from pipeline.store.decisions import Decision, read_decisions
from pipeline.store.proof.rules import Rules, rules_of
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace


@dataclass(frozen=True)
class Call:
    """What is the same for every file of one call.

    Attributes:
        store: the store, open for writing.
        workspace: settings and folders.
        profiles: every source profile of the workspace.
        today: day of loading.
        dry_run: say everything, change nothing.
        complete: first and last day that the files hold completely; None where they do not.
        corrections: every correction of the workspace.
        given: by field, what the person says of each whole file.
        number: number that the load has already, where it is read again; 0 where it is new.
        loaded: files it has loaded so far.
    """

    store: Store
    workspace: Workspace
    profiles: tuple[Profile, ...]
    today: date
    dry_run: bool = False
    complete: tuple[date, date] | None = None
    corrections: tuple[Correction, ...] = ()
    given: Mapping[str, str] = field(default_factory=dict)
    number: int = 0
    loaded: list[str] = field(default_factory=list, init=False)

    @cached_property
    def decisions(self) -> tuple[Decision, ...]:
        """Every decision of the workspace."""
        return read_decisions(self.workspace.decisions)

    @cached_property
    def rules(self) -> Rules:
        """The files that say how others are read, as they stood when the first of them was loaded."""
        return rules_of(self.workspace)
