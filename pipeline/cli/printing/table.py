"""Plain tables of the command line."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.cli.terminal import out
from pipeline.common.shown_text import one_line


def table(headers: Sequence[str], rows: Sequence[Sequence[object]], right: frozenset[int] = frozenset()) -> None:
    """Print rows in columns as wide as their widest cell; ``right`` are those of numbers."""
    cells = [[one_line(str(cell)) for cell in row] for row in rows]
    widths = [max(len(row[i]) for row in [list(headers), *cells]) for i in range(len(headers))]
    for row in [list(headers), *cells]:
        parts = [cell.rjust(widths[i]) if i in right else cell.ljust(widths[i]) for i, cell in enumerate(row)]
        out("  ".join(parts).rstrip())


def parted(
    headers: Sequence[str], rows: Sequence[Sequence[object]], at: int, right: frozenset[int] = frozenset()
) -> None:
    """Print rows under lines of their own for what they have alike in column ``at``, each such line once.

    A cell of that column may be several lines, as a tuple.
    """
    fewer = [[one_line(str(cell)) for n, cell in enumerate(row) if n != at] for row in rows]
    kept = [header for n, header in enumerate(headers) if n != at]
    widths = [max(map(len, column)) for column in zip(kept, *fewer, strict=True)]
    ends = {n - (n > at) for n in right}
    before: tuple[object, ...] = ()
    heads: list[tuple[object, ...]] = [cell if isinstance(cell := row[at], tuple) else (cell,) for row in rows]
    for head, cells in [((), kept), *zip(heads, fewer, strict=True)]:
        if head and head != before:
            for said in head:
                out(one_line(str(said)))
            before = head
        parts = [cell.rjust(widths[n]) if n in ends else cell.ljust(widths[n]) for n, cell in enumerate(cells)]
        out(f"  {'  '.join(parts)}".rstrip())


def banded(name: str, band: str) -> str:
    """A label with its band."""
    return f"{name}, {band}" if band else name
