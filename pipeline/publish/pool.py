"""Many documents over several processes. One that fails does not stop the rest; threads are never used.

Pango is not safe in threads (measured: heap corruption), so each worker is a process of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Iterator, Mapping
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field
from importlib import import_module
from itertools import islice
from multiprocessing import parent_process
from pathlib import Path
from typing import Any

from pipeline.common.processes import context
from pipeline.common.whole_files import sha256_of, write_whole
from reports.page import bounds, fonts
from reports.page.house_style import PLAIN, HouseStyle, RenderingFault
from reports.page.rendering import made_with

SECONDS_FOR_ONE = 120.0
WARM = "pipeline.publish.warm"
"""The module that worker processes start with."""
LEFT_TO_SAY_S = 5.0
"""Left to a document whose time is up to say so, before its worker is ended."""
MOST_FAULT = 300
ENDED = "the worker ended early: the time or the memory may have run out"
AHEAD = 3
"""Documents taken from the caller for each worker: enough to keep it busy, few enough that memory stays flat."""
RENDERERS = {
    "condition": "reports.condition.render",
    "comparison": "reports.comparison.render",
    "programme": "reports.programme.render",
    "due": "reports.due.render",
    "handout": "reports.handout.render",
    "order-office": "reports.order.office",
    "order-van": "reports.order.van",
    "round-up": "reports.round_up.render",
    "summary": "reports.summary.render",
    "survey": "reports.survey.render",
}
"""Where each kind of document is made, by its name."""


@dataclass(frozen=True)
class Task:
    """A document to be made and the file it goes to.

    Attributes:
        name: what it is about (a green, a club), for progress and faults.
        kind: which document, one of ``RENDERERS``.
        content: its frozen content.
        target: its file.
        club: code of the club it is about; "" for several.
        beside: other files that stand or fall with it, by their names in its folder.
        numbered: what stands for its file in the number of the report; "" for the file's name without its ending.
        head: head of the store's chain after the last load that touched it; "" for none.
    """

    name: str
    kind: str
    content: Any
    target: Path
    club: str = ""
    beside: Mapping[str, bytes] = field(default_factory=dict)
    numbered: str = ""
    head: str = ""


@dataclass(frozen=True)
class Outcome:
    """What became of a task: pages of the PDF and hash of its files, or the fault in one sentence and no file."""

    name: str
    target: Path
    pages: int = 0
    sha256: str = ""
    fault: str = ""


def renderer_of(kind: str) -> Callable[..., bytes]:
    """The function that makes a kind of document, ``render(content, *, version, house, head) -> bytes``.

    No other kind is imported for it: all of them together take as long as a short document.
    """
    made: Callable[..., bytes] = import_module(RENDERERS[kind]).render
    return made


def render_many(
    tasks: Iterable[Task],
    *,
    workers: int,
    version: str,
    house: HouseStyle = PLAIN,
    seconds: float = SECONDS_FOR_ONE,
    apart: bool = False,
) -> Iterator[Outcome]:
    """An outcome for every task, as each is done; files are written whole or not at all.

    Args:
        tasks: documents to make; taken as they are needed, so that not all are held at once.
        workers: processes; 1 renders in this one.
        version: version of the calculation, attached.
        house: the workspace's own style.
        seconds: time limit of one document (where the system has interval timers).
        apart: no document is rendered in this process, for one of a house's own may end the process it is in: the
            libraries beneath the renderer give up where a stylesheet asks for too much.
    """
    if workers <= 1 and not apart:
        for task in tasks:
            yield _outcome(task, version, house, seconds)
        return
    fonts.prepare()  # the workers inherit the font set-up
    waiting = iter(tasks)
    while True:
        lost = yield from _until_broken(waiting, max(workers, 1), version, house, seconds)
        if not lost:
            return
        if len(lost) == 1:
            yield Outcome(lost[0].name, lost[0].target, fault=f"{ENDED}{made_with(house)}")
            continue
        for task in lost:  # one of them ended its worker, and the others' with it: each is made by itself
            again = yield from _until_broken(iter([task]), 1, version, house, seconds)
            if again:
                yield Outcome(task.name, task.target, fault=f"{ENDED}{made_with(house)}")


def _until_broken(
    waiting: Iterator[Task], workers: int, version: str, house: HouseStyle, seconds: float
) -> Generator[Outcome, None, list[Task]]:
    """An outcome for each task until a worker dies; gives the tasks that were in hand then, none where all is done."""
    with ProcessPoolExecutor(workers, mp_context=context(WARM)) as pool:
        made: dict[Future[Outcome], Task] = {}
        while True:
            for task in islice(waiting, workers * AHEAD - len(made)):
                try:
                    made[pool.submit(_outcome, task, version, house, seconds)] = task
                except BrokenProcessPool:
                    return [*made.values(), task]
            if not made:
                return []
            for done in wait(made, return_when=FIRST_COMPLETED).done:
                if isinstance(done.exception(), BrokenProcessPool):
                    return list(made.values())
                yield _result(done, made.pop(done))


def _ended_beyond(seconds: float, house: HouseStyle) -> AbstractContextManager[None]:
    """What ends a worker whose page of somebody's own keeps a library busy, where no time limit of Python's reaches."""
    if parent_process() is None or not house.has_own_files:
        return nullcontext()
    return bounds.ended_beyond(seconds + LEFT_TO_SAY_S)


def _result(done: Future[Outcome], task: Task) -> Outcome:
    """The outcome, also where it could not be sent."""
    fault = done.exception()
    if fault is None:
        return done.result()
    return Outcome(task.name, task.target, fault=f"the worker ended early: {type(fault).__name__}")


def _outcome(task: Task, version: str, house: HouseStyle, seconds: float) -> Outcome:
    """One document made and written; any fault becomes a sentence."""
    from reports.page.document import page_count

    try:
        named = house.of(task.numbered or task.target.stem, task.club)
        within = bounds.bounded(seconds, bounds.MOST_MB if house.has_own_files else None)
        with _ended_beyond(seconds, house), within:
            pdf = renderer_of(task.kind)(task.content, version=version, house=named, head=task.head)
    except RenderingFault as fault:
        return Outcome(task.name, task.target, fault=str(fault)[:MOST_FAULT])
    except (TimeoutError, bounds.TooMuchMemory) as fault:
        return Outcome(task.name, task.target, fault=f"{fault}{made_with(house)}")
    except Exception as fault:
        return Outcome(task.name, task.target, fault=f"{type(fault).__name__}: {str(fault)[:MOST_FAULT]}")
    files = {task.target: pdf, **{task.target.with_name(name): held for name, held in task.beside.items()}}
    try:
        write_whole(files)
    except OSError as fault:
        said = f"{task.target.name} could not be written: {fault.strerror or fault}. Look at the disk, and try again."
        return Outcome(task.name, task.target, fault=said[:MOST_FAULT])
    return Outcome(task.name, task.target, page_count(pdf), sha256_of(files.values()))
