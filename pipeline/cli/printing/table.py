"""Plain tables of the command line."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.cli.terminal import one_line, out


def table(headers: Sequence[str], rows: Sequence[Sequence[object]], right: frozenset[int] = frozenset()) -> None:
    """Print rows in columns as wide as their widest cell; ``right`` are those of numbers."""
    cells = [[one_line(str(cell)) for cell in row] for row in rows]
    widths = [max(len(row[i]) for row in [list(headers), *cells]) for i in range(len(headers))]
    for row in [list(headers), *cells]:
        parts = [cell.rjust(widths[i]) if i in right else cell.ljust(widths[i]) for i, cell in enumerate(row)]
        out("  ".join(parts).rstrip())


def banded(name: str, band: str) -> str:
    """A label with its band."""
    return f"{name}, {band}" if band else name
