"""Work done in threads at once, where what takes its time is done by a library that holds no lock of Python's."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

Task = TypeVar("Task")
Result = TypeVar("Result")
FEW_ROWS = 20_000
"""Under so many rows one thread after another is as quick."""


def side_by_side(work: Callable[[Task], Result], tasks: Sequence[Task], rows: int) -> list[Result]:
    """What each task comes to, in their order; each looks at so many rows. What the first of them raises is raised."""
    if rows < FEW_ROWS or len(tasks) < 2:
        return [work(task) for task in tasks]
    from concurrent.futures import ThreadPoolExecutor

    from pipeline.common.processes import processes

    with ThreadPoolExecutor(processes(len(tasks))) as pool:
        return list(pool.map(work, tasks))
