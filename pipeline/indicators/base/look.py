"""A look at another day: records dated later left out, or the store as it stood then. No figure of one is stored."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from pipeline.common.refusal import WrongUsage
from pipeline.common.words import counted, long_date
from pipeline.workspace.settings import Season, Workspace


@dataclass(frozen=True)
class Look:
    """What counts: by the day a record is of, and by the day it came.

    Attributes:
        as_of: records dated after this day do not count; None: all do, up to the ordinary last day.
        known_by: only what was in the store at the end of this day counts; None: what is there now.
        gone: loads and decisions that the store held then and holds no more, in words: nothing shows what they did.
    """

    as_of: date | None = None
    known_by: date | None = None
    gone: tuple[str, ...] = ()

    @property
    def ordinary(self) -> bool:
        """Whether everything counts: figures of no other look stand in the store."""
        return self.as_of is None and self.known_by is None

    @property
    def stem(self) -> str:
        """What a document's file is called by beside its season; "" of an ordinary one."""
        days = (("as-of", self.as_of), ("known-by", self.known_by))
        return "".join(f"-{word}-{day.isoformat()}" for word, day in days if day)

    @property
    def words(self) -> tuple[str, ...]:
        """The same as a document says it, in parts of a sentence; none of an ordinary one."""
        said = [f"records dated after {long_date(self.as_of)} are left out"] if self.as_of else []
        if self.known_by:
            gone = counted(len(self.gone), "load or decision", "loads and decisions") if self.gone else ""
            but = f" but for {gone} taken back since" if gone else ""
            said.append(f"all of it from the store as it stood at the end of {long_date(self.known_by)}{but}")
        return tuple(said)

    def season(self, workspace: Workspace, named: str) -> Season | None:
        """The season of this name, or that of the day; None where neither is given.

        Raises:
            WrongUsage: the day lies before the season of this name.
            CannotDo: the name is no season's.
        """
        span = workspace.season(named) if named else self.as_of and workspace.season_of(self.as_of)
        if span and self.as_of and self.as_of < span.start:
            first = long_date(span.start)
            raise WrongUsage(
                f"Season {span.name} begins on {first}, after {long_date(self.as_of)}.",
                f"Name a later day with --as-of, or season {workspace.season_of(self.as_of).name}.",
            )
        return span or None


ORDINARY = Look()
