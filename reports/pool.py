"""Many reports over several processes. One bad green does not stop the rest; threads are never used.

Pango is not safe in threads (measured: heap corruption), so each worker is a process of its own.
"""

from __future__ import annotations

import hashlib
import multiprocessing
import os
import signal
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from pipeline.indicators.record import GreenSeason
from reports import fonts

SECONDS_FOR_ONE = 120.0


@dataclass(frozen=True)
class Task:
    """A report to be made and the file it goes to."""

    season: GreenSeason
    target: Path
    created: datetime | None = None


@dataclass(frozen=True)
class Outcome:
    """What became of a task: size and hash of the file, or the fault in one sentence and no file."""

    green: str
    target: Path
    pages: int = 0
    size: int = 0
    sha256: str = ""
    fault: str = ""


def render_many(
    tasks: Iterable[Task], *, workers: int, version: str, seconds: float = SECONDS_FOR_ONE
) -> Iterator[Outcome]:
    """An outcome for every task, as each is done; files are written whole or not at all.

    Args:
        tasks: reports to make.
        workers: processes; 1 renders in this one.
        version: version of the tool, printed in the foot line.
        seconds: time limit of one report (where the system has interval timers).
    """
    listed = list(tasks)
    if workers <= 1 or len(listed) <= 1:
        for task in listed:
            yield _outcome(task, version, seconds)
        return
    fonts.prepare()  # the workers inherit the font set-up
    context = _context()
    with ProcessPoolExecutor(min(workers, len(listed)), mp_context=context) as pool:
        made = {pool.submit(_outcome, task, version, seconds): task for task in listed}
        for done in as_completed(made):
            yield _result(done, made[done])


def _context() -> multiprocessing.context.BaseContext:
    """Fork from a warm server where the system can, else fresh interpreters."""
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["reports.warm"])
    return context


def _result(done: Future[Outcome], task: Task) -> Outcome:
    """The outcome, also where the worker itself died."""
    fault = done.exception()
    if fault is None:
        return done.result()
    return Outcome(task.season.green, task.target, fault=f"the worker ended early: {type(fault).__name__}")


def _outcome(task: Task, version: str, seconds: float) -> Outcome:
    """One report made and written; any fault becomes a sentence."""
    from reports.build import page_count, render

    try:
        with _time_limit(seconds):
            pdf = render(task.season, created=task.created, version=version)
        fresh = task.target.with_name(f".{task.target.name}.{os.getpid()}")
        task.target.parent.mkdir(parents=True, exist_ok=True)
        fresh.write_bytes(pdf)
        fresh.replace(task.target)
    except Exception as fault:
        return Outcome(task.season.green, task.target, fault=f"{type(fault).__name__}: {str(fault)[:300]}")
    return Outcome(task.season.green, task.target, page_count(pdf), len(pdf), hashlib.sha256(pdf).hexdigest())


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
