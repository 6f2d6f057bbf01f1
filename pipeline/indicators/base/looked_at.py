"""The records as they are looked at: those dated by a day, or those in the store by then."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from pipeline.common.refusal import WrongUsage
from pipeline.common.words import counted, long_date
from pipeline.indicators.base.look import Look
from pipeline.store.decisions import read_decisions
from pipeline.store.known import Known, later
from pipeline.store.last_day import last_day
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace

if TYPE_CHECKING:
    from pipeline.indicators.base.part import Part
    from pipeline.indicators.base.records import Records


def opened(workspace: Workspace, look: Look) -> Store:
    """The store of a workspace, read only, as it is looked at; dates count once it is read (:func:`as_looked_at`).

    Raises:
        CannotDo: it cannot be read, or nothing was in it on that day.
    """
    if look.ordinary:
        return Store(workspace.store, read_only=True)
    return Known(workspace.store, look.known_by, read_decisions(workspace.decisions) if look.known_by else ())


def as_looked_at(store: Store, look: Look, greens: Sequence[str] | None = None, part: Part | None = None) -> Records:
    """Every record that counts, from a store that was opened for this look; of some greens, or a part, where named."""
    from pipeline.indicators.base.reading import file_days_sql, read_records  # whoever only opens the store needs none

    if not isinstance(store, Known):
        return read_records(store, greens, part=part)
    days = store.frame(file_days_sql())  # of whole files: a rejected row may be of any of their days
    if look.as_of:
        store.cut(look.as_of)
    return replace(read_records(store, greens, part=part), file_days=days, look=replace(look, gone=store.gone))


def refuse_to_come(workspace: Workspace, look: Look, today: date) -> None:
    """Refuse a day that is still to come: what counts by its end is not known, and a season to it has not run.

    A day that some record is dated by is none of these, whatever the clock of this machine says.

    Raises:
        WrongUsage: a day of the look is still to come.
        CannotDo: the store cannot be read.
    """
    latest = max(day for day in (look.as_of, look.known_by) if day)
    if latest <= today:
        return
    with Store(workspace.store, read_only=True) as store:
        until = last_day(store)
    if not until or latest > until:
        raise WrongUsage(
            f"{long_date(latest)} is still to come.",
            f"Name a day up to {long_date(max(today, until or today))}.",
        )


def told_of_look(workspace: Workspace, look: Look, greens: Sequence[str], clubs: Sequence[str]) -> Iterator[str]:
    """What must be known of it: records that count and came later, and what the store held then and holds no more.

    Args:
        workspace: the workspace.
        look: the look; of an ordinary one nothing is said.
        greens: codes of the greens it is about.
        clubs: codes of clubs whose greens it is about; all greens where neither is named.
    """
    if look.ordinary:
        return
    with opened(workspace, look) as store:
        assert isinstance(store, Known)
        if look.as_of:
            every = not (greens or clubs)
            wanted = "$every OR list_contains($greens, green) OR list_contains($clubs, club)"
            sql = f"SELECT DISTINCT green FROM green_by_day WHERE {wanted}"  # noqa: S608 (SQL of ours)
            codes = store.frame(sql, every=every, greens=list(greens), clubs=list(clubs))["green"].to_list()
            store.cut(look.as_of)
            held = store.held_anything(look.as_of)
            yield from _came_later(look, held, *later(store, look.as_of, codes))
        yield from (f"Not shown as it was: {one}." for one in store.gone)


def _came_later(look: Look, held: bool, came: int, every: int, ended: int) -> Iterator[str]:
    """What is said of records that were loaded later; ``held`` is whether anything was in the store on that day."""
    assert look.as_of
    day = long_date(look.as_of)
    if not held:
        yield f"Nothing was in the store yet on {day}: every record was loaded later."
        return
    also = "" if look.known_by else f" Add --known-by {look.as_of} for what was in the store then."
    if came:
        of = f"All {every:,}" if came == every else f"{came:,} of the {every:,}"
        yield f"{of} records dated up to {day} were loaded, or changed, after that day.{also}"
    if ended:
        yield f"Left out: {counted(ended, 'record')} that the store held on {day} and that no longer counts.{also}"
