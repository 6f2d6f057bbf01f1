"""Figures made anew where what they rest on has changed: the rest is left as it stands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pipeline.common.processes import in_order, processes
from pipeline.figures.state import Held, MadeOf, held, state_of
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace

if TYPE_CHECKING:
    from pipeline.figures.making import Lot

GREENS_READ = 30
"""Greens whose records are read at once; more than these are worked in several processes."""
GREENS_WORKED = 10
"""Greens worked at once by a process: memory is that of so many, whatever their number."""
STORE_MEMORY = "250MB"
"""What the store itself may keep in memory of what is written: the rest waits on the disk until all is done."""


@dataclass(frozen=True)
class Refreshed:
    """What a refresh came to, in greens and seasons: made anew, found to be as they were, and gone."""

    made: int
    kept: int
    gone: int


def keep_up(workspace: Workspace) -> Refreshed:
    """Bring the figures of a workspace's store up to what has been loaded, taken back or decided.

    Raises:
        CannotDo: the store cannot be read or written, or a worker process was ended from outside.
    """
    with Store(workspace.store) as store:
        return refresh(store, workspace)


def refresh(store: Store, workspace: Workspace, workers: int = 0) -> Refreshed:
    """Bring the table of figures up to the records, settings and code: all of it or nothing.

    Greens whose records have not changed are not looked at; of the others the seasons whose mark is as it was stay.
    Rows are written in the order of greens, whatever the number of workers.

    Args:
        store: the store, open for writing: this process alone reads and writes it.
        workspace: settings, targets and the start of a season.
        workers: processes; 0 takes one a core, where there is work for more than one.

    Raises:
        CannotDo: the store cannot be written, or a worker process was ended from outside.
    """
    before, state = held(store), state_of(store, workspace.settings)
    if state.fresh:
        return Refreshed(0, len(before), 0)
    from pipeline.figures.beside import Beside, keep_laboratories, write_beside
    from pipeline.figures.log import begin
    from pipeline.figures.making import worked  # what makes figures is imported where figures are made
    from pipeline.figures.table import settle, take_out, write
    from pipeline.figures.touched import green_marks, marks_held

    marks, former = green_marks(store), marks_held(store) if state.settings and state.code else {}
    touched = [green for green, mark in marks.items() if former.get(green) != mark]
    looked_at = set(touched)
    made, wanted = 0, {key for key in before if key[0] in marks and key[0] not in looked_at}
    lots = _lots(store, workspace, touched, before)
    some = processes(-(-len(touched) // GREENS_READ), workers)
    with _bounded(store), store.transaction(), closing(in_order(worked, lots, some, "pipeline.figures.warm")) as found:
        log = begin(store, workspace.settings)
        for lot in found:
            wanted |= set(lot.on_record)
            log.made(lot.frames)
            write(store, lot.frames, before)
            write_beside(store, lot.beside, before)
            made += lot.frames.green_season.height
        gone = [key for key in before if key not in wanted]
        log.gone(gone)
        take_out(store, gone)
        write_beside(store, [Beside(*of, notes=(), asked=()) for of in gone], before)
        keep_laboratories(store, workspace)
        settle(store, workspace.settings, marks)
    return Refreshed(made, len(wanted) - made, len(gone))


@contextmanager
def _bounded(store: Store) -> Iterator[None]:
    """Have the store keep little in memory: it would keep all that is written as long as the machine has room."""
    store.con.execute(f"SET memory_limit = '{STORE_MEMORY}'")
    try:
        yield
    finally:
        store.con.execute("RESET memory_limit")


def _lots(store: Store, workspace: Workspace, touched: Sequence[str], before: Held) -> Iterator[Lot]:
    """Greens with their records, so many at once, read as they are needed."""
    from pipeline.figures.making import Lot
    from pipeline.indicators.base.records import Records, part_of, read_records, records_of

    standing: dict[str, dict[tuple[str, str], MadeOf]] = {}
    for key, made_of in before.items():
        standing.setdefault(key[0], {})[key] = made_of
    shared: Records | None = None
    for first in range(0, len(touched), GREENS_READ):
        greens = touched[first : first + GREENS_READ]
        records = read_records(store, greens) if shared is None else records_of(store, greens, shared)
        shared = shared or records
        for at in range(0, len(greens), GREENS_WORKED):
            these = greens[at : at + GREENS_WORKED]
            before_of = {key: of for green in these for key, of in standing.get(green, {}).items()}
            yield Lot(part_of(records, these), workspace, before_of)
