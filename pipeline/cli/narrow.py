"""Tables on a screen that is too narrow for them: the columns that tell most stay, the others are named."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from pipeline.cli.terminal import err, screen_width
from pipeline.common.shown_text import one_line
from pipeline.common.words import listed

_BETWEEN = 2
"""Blanks between two columns."""
Table = tuple[Sequence[str], Sequence[Sequence[object]], frozenset[int]]
"""Headers, rows, and the columns whose cells stand at the right."""


def narrowed(
    headers: Sequence[str],
    rows: Sequence[Sequence[object]],
    right: Collection[int],
    may_go: Collection[str],
    under: int | None = None,
) -> Table:
    """The table, without the columns that may go where the screen is too narrow for all; files and pipes get all.

    Those left out are named on standard error. ``under`` is a column that is printed on lines of its own.
    """
    beside = [(header, *cells) for n, (header, *cells) in enumerate(zip(headers, *rows, strict=True)) if n != under]
    if fits([header for header, *_ in beside], list(zip(*(cells for _, *cells in beside), strict=True))):
        return headers, rows, frozenset(right)
    kept = [at for at, header in enumerate(headers) if header not in may_go]
    left = [header for header in headers if header in may_go]
    if left:
        err(f"Left out, for this screen is too narrow: {listed(left)}. --json has them.")
    fewer = [[row[at] for at in kept] for row in rows]
    return [headers[at] for at in kept], fewer, frozenset(new for new, at in enumerate(kept) if at in right)


def fits(headers: Sequence[str], rows: Sequence[Sequence[object]]) -> bool:
    """Whether a table is no wider than the screen; of files and pipes every one is."""
    width = screen_width()
    return not width or _width(headers, rows) <= width


def _width(headers: Sequence[str], rows: Sequence[Sequence[object]]) -> int:
    columns = zip(headers, *rows, strict=True)
    return sum(max(len(one_line(str(cell))) for cell in column) + _BETWEEN for column in columns) - _BETWEEN
