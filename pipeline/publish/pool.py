"""Many documents over several processes. One that fails does not stop the rest; threads are never used.

Pango is not safe in threads (measured: heap corruption), so each worker is a process of its own.
"""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass, field
from importlib import import_module
from itertools import islice
from pathlib import Path
from typing import Any

from pipeline.common.processes import context
from pipeline.publish.whole_files import sha256_of, write_whole
from reports.page import fonts
from reports.page.house_style import PLAIN, HouseStyle, RenderingFault

SECONDS_FOR_ONE = 120.0
MOST_FAULT = 300
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
    tasks: Iterable[Task], *, workers: int, version: str, house: HouseStyle = PLAIN, seconds: float = SECONDS_FOR_ONE
) -> Iterator[Outcome]:
    """An outcome for every task, as each is done; files are written whole or not at all.

    Args:
        tasks: documents to make; taken as they are needed, so that not all are held at once.
        workers: processes; 1 renders in this one.
        version: version of the calculation, attached.
        house: the workspace's own style.
        seconds: time limit of one document (where the system has interval timers).
    """
    if workers <= 1:
        for task in tasks:
            yield _outcome(task, version, house, seconds)
        return
    fonts.prepare()  # the workers inherit the font set-up
    waiting = iter(tasks)
    with ProcessPoolExecutor(workers, mp_context=context("pipeline.publish.warm")) as pool:
        made: dict[Future[Outcome], Task] = {}
        while True:
            for task in islice(waiting, workers * AHEAD - len(made)):
                made[pool.submit(_outcome, task, version, house, seconds)] = task
            if not made:
                return
            for done in wait(made, return_when=FIRST_COMPLETED).done:
                yield _result(done, made.pop(done))


def _result(done: Future[Outcome], task: Task) -> Outcome:
    """The outcome, also where the worker itself died."""
    fault = done.exception()
    if fault is None:
        return done.result()
    return Outcome(task.name, task.target, fault=f"the worker ended early: {type(fault).__name__}")


def _outcome(task: Task, version: str, house: HouseStyle, seconds: float) -> Outcome:
    """One document made and written; any fault becomes a sentence."""
    from reports.page.document import page_count

    try:
        named = house.of(task.numbered or task.target.stem, task.club)
        with _time_limit(seconds):
            pdf = renderer_of(task.kind)(task.content, version=version, house=named, head=task.head)
        files = {task.target: pdf, **{task.target.with_name(name): held for name, held in task.beside.items()}}
        write_whole(files)
    except RenderingFault as fault:
        return Outcome(task.name, task.target, fault=str(fault)[:MOST_FAULT])
    except Exception as fault:
        return Outcome(task.name, task.target, fault=f"{type(fault).__name__}: {str(fault)[:MOST_FAULT]}")
    return Outcome(task.name, task.target, page_count(pdf), sha256_of(files.values()))


@contextmanager
def _time_limit(seconds: float) -> Iterator[None]:
    """A stretch that ends with TimeoutError after so many seconds, where the system has interval timers."""
    if not hasattr(signal, "setitimer"):
        yield
        return

    def stop(*_: object) -> None:
        raise TimeoutError(f"not done after {seconds:g} s")

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)
