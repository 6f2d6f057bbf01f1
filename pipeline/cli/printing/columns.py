"""Rows laid out in so many columns of a terminal: words wrap, what must be read whole stays whole."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from textwrap import wrap

from pipeline.cli.terminal import as_printed
from pipeline.common.shown_text import one_line

Cell = tuple[str, ...]
"""Parts of a cell that are never broken; between them a line may end."""
GAP = 2
COMFORT = 18
"""Width to which a column of figures is narrowed before the words beside it are."""
WORDS, FEWEST_WORDS = 24, 16
"""Width of the column of words that is aimed at, and the least before each figure stands below its words."""


def whole(*parts: str) -> Cell:
    """A cell of parts that are never broken, as standard output shows them."""
    return tuple(as_printed(one_line(part)) for part in parts if part)


def words(text: str) -> Cell:
    """A cell that may be broken between words."""
    return whole(*text.split())


def wrapped(cell: Cell, width: int, *, hard: bool = False) -> list[str]:
    """The lines of a cell in a width, 0 for one line; a part that is wider stays whole unless ``hard``."""
    lines: list[str] = []
    for part in _pieces(cell, width) if hard and width else cell:
        if lines and (not width or len(lines[-1]) + 1 + len(part) <= width):
            lines[-1] += f" {part}"
        else:
            lines.append(part)
    return lines or [""]


def hanging(text: str, width: int, inset: int = 0) -> list[str]:
    """The lines of a text in a width, 0 for one line; those that follow the first set in by two more."""
    line, first, after = " ".join(words(text)), " " * inset, " " * (inset + GAP)
    if not width:
        return [first + line]
    room = max(width, len(after) + 1)
    return wrap(line, room, initial_indent=first, subsequent_indent=after, break_on_hyphens=False)


def laid_out(rows: Sequence[Sequence[Cell]], width: int, at: int, inset: int = 2) -> list[list[str]]:
    """The lines of each row, in columns; where the width is too small for these, the figures below the words.

    Args:
        rows: cells, as many in each.
        width: columns of the terminal; 0 where there is none and each row is one line.
        at: number of the column of words, which gives way.
        inset: blanks before each line.
    """
    kept = [column for column in zip(*rows, strict=True) if any(column)]
    if not kept:
        return [[] for _ in rows]
    at -= sum(not any(column) for column in list(zip(*rows, strict=True))[:at])
    natural = [max(len(" ".join(cell)) for cell in column) for column in kept]
    least = [max((len(part) for cell in column for part in cell), default=0) for column in kept]
    room = width - inset - GAP * (len(kept) - 1)
    widths = natural if not width else _widths(natural, least, room, at)
    shown = list(zip(*kept, strict=True))
    if widths is None:
        return [_below(row, width, at, inset) for row in shown]
    return [_beside(row, widths, at, inset) for row in shown]


def fits(rows: Sequence[Sequence[Cell]], width: int, inset: int = 2) -> bool:
    """Whether each row takes one line in the width."""
    columns = [column for column in zip(*rows, strict=True) if any(column)]
    natural = [max(len(" ".join(cell)) for cell in column) for column in columns]
    return not width or inset + sum(natural) + GAP * (len(natural) - 1) <= width


def _widths(natural: Sequence[int], least: Sequence[int], room: int, at: int) -> list[int] | None:
    """Widths of the columns in so much room; None where that is too small for any."""
    comfort = [max(small, min(own, COMFORT)) for own, small in zip(natural, least, strict=True)]
    for others, fewest in ((natural, WORDS), (comfort, WORDS), (least, FEWEST_WORDS)):
        left = room - (sum(others) - others[at])
        if left >= min(fewest, natural[at]):
            widths = [*others]
            widths[at] = min(left, natural[at])
            return _widened(widths, natural, left - widths[at])
    return None


def _widened(widths: list[int], natural: Sequence[int], spare: int) -> list[int]:
    """The widths with what is spare given to columns that lack some, the first ones first."""
    for column, own in enumerate(natural):
        more = min(spare, own - widths[column])
        widths[column] += more
        spare -= more
    return widths


def _beside(row: Sequence[Cell], widths: Sequence[int], at: int, inset: int) -> list[str]:
    cells = [wrapped(cell, widths[column], hard=column == at) for column, cell in enumerate(row)]
    lines = []
    for number in range(max(map(len, cells))):
        parts = [cell[number] if number < len(cell) else "" for cell in cells]
        padded = (part.ljust(widths[column]) for column, part in enumerate(parts))
        lines.append((" " * inset + (" " * GAP).join(padded)).rstrip())
    return lines


def _below(row: Sequence[Cell], width: int, at: int, inset: int) -> list[str]:
    """A row whose figures stand below its words."""
    heading = [f"{' '.join(cell)}:" for cell in row[:at] if cell]
    first = wrapped((*" ".join(heading).split(), *row[at]), max(width - inset, 1), hard=True)
    room = width - inset - GAP
    lines: list[str] = []
    for part in _parts(row[at + 1 :], room):
        if lines and len(lines[-1]) + GAP + len(part) <= room:
            lines[-1] += " " * GAP + part
        else:
            lines.append(part)
    return [" " * inset + line for line in first] + [" " * (inset + GAP) + line for line in lines]


def _parts(cells: Iterable[Cell], room: int) -> Iterator[str]:
    """Cells that fit on a line as they are, others part by part."""
    for cell in cells:
        yield from wrapped(cell, max(room, 1)) if cell else ()


def _pieces(cell: Cell, width: int) -> Iterator[str]:
    """The parts, those that are wider than a line in pieces: a name without blanks stays readable."""
    for part in cell:
        for first in range(0, len(part), width):
            yield part[first : first + width]
