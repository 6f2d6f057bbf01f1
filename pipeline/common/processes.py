"""Worker processes: how many, how they start, and how they end. Threads: side_by_side.py."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from itertools import islice
from multiprocessing.context import BaseContext
from multiprocessing.process import BaseProcess
from typing import TypeVar

from pipeline.common.refusal import CannotDo
from pipeline.common.shown_text import take_warnings

Task = TypeVar("Task")
Result = TypeVar("Result")
WORKERS_MOST = 32
"""More processes than this are never started unasked."""
AHEAD = 2
"""Tasks taken from the caller for each worker: enough to keep it busy, few enough that memory stays flat."""


def processes(tasks: int, wanted: int = 0) -> int:
    """Processes for so many tasks: one a core where nobody asked for a number, never more than tasks."""
    return min(wanted or min(os.cpu_count() or 1, WORKERS_MOST), tasks)


def context(warm: str) -> BaseContext:
    """Fork from a warm server where the system can, else fresh interpreters; ``warm`` is the module it imports."""
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    found = multiprocessing.get_context("forkserver")
    found.set_forkserver_preload([warm])
    return found


def start_warm(warm: str) -> None:
    """Have the server that workers are forked from start now, while other things are done; nothing where there is none.

    Args:
        warm: the module that it imports, as :func:`in_order` is told it later.
    """
    if context(warm).get_start_method() == "forkserver":
        from multiprocessing import forkserver  # where the system has none, it may not be there to import

        forkserver.ensure_running()


def in_order(work: Callable[[Task], Result], tasks: Iterable[Task], workers: int, warm: str) -> Generator[Result]:
    """What each task comes to, in the order of the tasks, which are taken as they are needed.

    What fails in a worker is raised here, as without workers; however this ends, no worker outlives it. Close it
    (``contextlib.closing``) where not all is taken.

    Args:
        work: a module's function: it is named to the workers, not sent.
        tasks: what it is called with, one after the other.
        workers: processes; 1 works in this one.
        warm: the module that workers start with.

    Raises:
        CannotDo: a worker was ended from outside.
    """
    if workers <= 1:
        yield from map(work, tasks)
        return
    others = set(multiprocessing.active_children())
    waiting = iter(tasks)
    with ProcessPoolExecutor(workers, mp_context=context(warm), initializer=_ends_with_us) as pool:
        try:
            made: deque[Future[Result]] = deque()
            while True:
                made += (pool.submit(work, task) for task in islice(waiting, workers * AHEAD - len(made)))
                if not made:
                    return
                yield made.popleft().result()
        except BaseException as error:
            pool.shutdown(wait=False, cancel_futures=True)
            for worker in set(multiprocessing.active_children()) - others:
                worker.terminate()
            if isinstance(error, BrokenProcessPool):
                raise CannotDo(
                    "A worker process was ended before its work was done.",
                    "The memory may have run out: close other programs and try again. Nothing was changed.",
                ) from None
            raise


def _ends_with_us() -> None:
    """Have a worker end with the process that started it, however that ends; on Ctrl-C without a word of its own."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    take_warnings()
    threading.Thread(target=_end_after, args=(multiprocessing.parent_process(),), daemon=True).start()


def _end_after(whole: BaseProcess | None) -> None:
    if whole is not None:
        whole.join()
        os._exit(1)
