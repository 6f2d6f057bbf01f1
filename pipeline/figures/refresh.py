"""Figures made anew where what they rest on has changed: the rest is left as it stands."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.common.processes import in_order, processes
from pipeline.figures.state import Held, MadeOf, held, state_of
from pipeline.store.store import Store
from pipeline.workspace.settings import Season, Workspace

if TYPE_CHECKING:
    from pipeline.figures.making import Lot, Worked

GREENS_READ = 60
"""Greens whose records are read at once."""
GREENS_A_PROCESS = 30
"""Greens that a process more is worth its start for."""
SEASONS_WORKED = 150
"""Greens and seasons worked at once by a process: memory is that of so many, whatever their number."""
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


def refresh(store: Store, workspace: Workspace, workers: int = 0, *, logged: bool = True) -> Refreshed:
    """Bring the table of figures up to the records, settings and code: all of it or nothing.

    Greens whose records have not changed are not looked at; of the others the seasons whose mark is as it was stay.
    Rows are written in the order of greens, whatever the number of workers.

    Args:
        store: the store, open for writing: this process alone reads and writes it.
        workspace: settings, targets and the start of a season.
        workers: processes; 0 takes one a core, where there is work for more than one.
        logged: whether what comes out otherwise is kept; not where the figures of a copy are made as they were.

    Raises:
        CannotDo: the store or the folder for temporary files cannot be written, or a worker process was ended from
            outside.
    """
    before, state = held(store), state_of(store, workspace.settings)
    if state.fresh:
        return Refreshed(0, len(before), 0)
    from pipeline.figures.beside import keep_laboratories  # what makes figures is imported where figures are made
    from pipeline.figures.staged import folder
    from pipeline.figures.table import settle
    from pipeline.figures.touched import green_marks, marks_held

    marks, former = green_marks(store), marks_held(store) if state.settings and state.code else {}
    touched = [green for green, mark in marks.items() if former.get(green) != mark]
    others = marks.keys() - set(touched)
    with _bounded(store), store.transaction(), folder() as into:
        lots = _worked(_lots(store, workspace, touched, before, into), len(touched), workers)
        wanted = {key for key in before if key[0] in others}.union(*(lot.on_record for lot in lots))
        gone = [key for key in before if key not in wanted]
        _write(store, workspace, into, lots, gone, before, logged=logged)
        keep_laboratories(store, workspace)
        settle(store, workspace.settings, marks)
    made = sum(len(lot.made) for lot in lots)
    return Refreshed(made, len(wanted) - made, len(gone))


@contextmanager
def _bounded(store: Store) -> Iterator[None]:
    """Have the store keep little in memory: it would keep all that is written as long as the machine has room."""
    store.con.execute(f"SET memory_limit = '{STORE_MEMORY}'")
    try:
        yield
    finally:
        store.con.execute("RESET memory_limit")


def _worked(lots: Iterator[Lot], greens: int, workers: int) -> Sequence[Worked]:
    """Every lot worked, in several processes where there is work for them."""
    from pipeline.figures.making import worked

    some = processes(-(-greens // GREENS_A_PROCESS), workers)
    with closing(in_order(worked, lots, some, "pipeline.figures.warm")) as found:
        return list(found)


def _write(
    store: Store, workspace: Workspace, into: Path, lots: Sequence[Worked], gone: Sequence[tuple[str, str]],
    before: Held, *, logged: bool,
) -> None:  # fmt: skip
    """Put what was made in the place of what stood there, and take out what is gone: changes are logged first."""
    from pipeline.figures.beside import take_out_beside
    from pipeline.figures.log import Log, begin
    from pipeline.figures.staged import reading
    from pipeline.figures.table import take_out, write

    made = [*gone, *(key for lot in lots for key in lot.made if key in before)]
    looked_at = [*gone, *(key for lot in lots for key in lot.on_record if key in before)]
    log = begin(store, workspace.settings) if logged else Log(store, 0, told=False)
    with reading(store, into, len(lots)):
        log.made()
        log.gone(gone)
        take_out(store, made)
        take_out_beside(store, looked_at, made)
        write(store)


def _lots(
    store: Store, workspace: Workspace, touched: Sequence[str], before: Held, into: Path
) -> Iterator[Lot]:  # fmt: skip
    """Greens with their records, so many at once, read as they are needed."""
    from pipeline.figures.making import Lot
    from pipeline.indicators.base.reading import read_records, records_of
    from pipeline.indicators.base.records import Records, part_of
    from pipeline.indicators.base.seasons import seasons_on_record

    standing: dict[str, dict[tuple[str, str], MadeOf]] = {}
    for key, made_of in before.items():
        standing.setdefault(key[0], {})[key] = made_of
    shared: Records | None = None
    number = 0
    for first in range(0, len(touched), GREENS_READ):
        greens = touched[first : first + GREENS_READ]
        records = (
            read_records(store, greens, touched, plans=False) if shared is None else records_of(store, greens, shared)
        )
        shared = shared or records
        for spans in _together(seasons_on_record(records, workspace)):
            these = list(dict.fromkeys(green for green, _ in spans))
            before_of = {key: of for green in these for key, of in standing.get(green, {}).items()}
            yield Lot(number, part_of(records, these), spans, workspace, before_of, into)
            number += 1


def _together(spans: Iterable[tuple[str, Season]]) -> Iterator[Sequence[tuple[str, Season]]]:
    """Greens and their seasons parted into lots of so many seasons, no green in two of them."""
    lot: list[tuple[str, Season]] = []
    for _, of_green in groupby(spans, key=lambda span: span[0]):
        more = list(of_green)
        if lot and len(lot) + len(more) > SEASONS_WORKED:
            yield lot
            lot = []
        lot += more
    if lot:
        yield lot
