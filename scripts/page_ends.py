"""How far the pages of a workspace's documents are filled: of each page the share that is empty below its last ink."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np
import pypdfium2

MOST = 1 / 3
"""Share of a page that may be empty; the last page of a document may be emptier."""
TOP_PT, FOOT_PT = 34.0, 42.0
"""Margins of 12 and 15 mm: running lines stand below and above them and are no ink of the page."""
SCALE = 0.5
"""Pixels a point: a row of ink is told to two points, a share to a third of a per cent."""
WHITE = 250
"""Grey, 0 to 255, that is no ink: the palest line of the documents is darker."""


def empty_shares(made: bytes) -> tuple[float, ...]:
    """Of each page of a PDF the share of its height between the margins, 0 to 1, that lies below its last ink."""
    with pypdfium2.PdfDocument(made) as document:
        return tuple(_empty(page) for page in document)


def _empty(page: pypdfium2.PdfPage) -> float:
    drawn = page.render(scale=SCALE, grayscale=True).to_numpy()
    height = page.get_height()
    top, foot = int(TOP_PT * SCALE), int((height - FOOT_PT) * SCALE)
    inked = np.flatnonzero((drawn.reshape(drawn.shape[0], -1)[top:foot] < WHITE).any(axis=1))
    last = int(inked[-1]) + 1 if inked.size else 0
    return (foot - top - last) / (foot - top)


def worst(shares: Sequence[float]) -> float:
    """The emptiest page before the last; 0 of a document of one page."""
    return max(shares[:-1], default=0.0)


def lines(files: Iterable[Path]) -> Iterable[str]:
    """A line for each file: its emptiest page before the last, the share of every page, and its name."""
    for path in files:
        shares = empty_shares(path.read_bytes())
        mark = "!" if worst(shares) > MOST else " "
        yield f"{worst(shares):5.0%}{mark}  {' '.join(f'{share:4.0%}' for share in shares):<26}  {path}"


if __name__ == "__main__":
    demo = Path(sys.argv[1] if len(sys.argv) > 1 else "demo")
    sys.stdout.write("emptiest before the last; every page; document (! more than a third)\n")
    sys.stdout.writelines(f"{line}\n" for line in lines(sorted(demo.rglob("*.pdf"))))
