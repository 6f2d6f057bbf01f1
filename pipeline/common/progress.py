"""Progress of long work, on standard error."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TypeVar

T = TypeVar("T")


@dataclass(frozen=True)
class Progress:
    """Shows a bar while something is gone through, where somebody watches."""

    shown: bool = False

    def over(self, items: Iterable[T], total: int, what: str) -> Iterator[T]:
        """The items, with a bar that counts them."""
        if not self.shown:
            yield from items
            return
        from rich.console import Console
        from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeRemainingColumn
        from rich.progress import Progress as Bar

        console = Console(file=sys.stderr)
        columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
        with Bar(*columns, console=console, transient=True) as bar:
            task = bar.add_task(what, total=total)
            for item in items:
                yield item
                bar.advance(task)


SILENT = Progress()
"""No bar at all."""
