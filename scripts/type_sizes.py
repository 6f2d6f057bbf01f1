"""How small the type of a workspace's documents is: of each the smallest, and the shares of letters below two sizes."""

from __future__ import annotations

import ctypes
import math
import sys
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import pypdfium2
import pypdfium2.raw as pdfium

SMALLEST = 8.0
"""Size in points below which no letter of a document may be."""
BODY = 9.5
"""Size in points of running text."""
EXACT = 0.05
"""Points that a size may be off by, as places are rounded in a PDF."""


def letters(made: bytes) -> Counter[float]:
    """Letters of a PDF by their size on the page, in points to a tenth; white space is no letter.

    The size is that of the font times what the page, or a drawing on it, scales it by.
    """
    found: Counter[float] = Counter()
    with pypdfium2.PdfDocument(made) as document:
        for page in document:
            words = page.get_textpage()
            for at in range(words.count_chars()):
                if not chr(pdfium.FPDFText_GetUnicode(words, at)).isspace():
                    found[round(_size(words, at), 1)] += 1
    return found


def _size(words: pypdfium2.PdfTextPage, at: int) -> float:
    matrix = pdfium.FS_MATRIX()
    pdfium.FPDFText_GetMatrix(words, at, ctypes.byref(matrix))
    return float(pdfium.FPDFText_GetFontSize(words, at)) * math.hypot(matrix.c, matrix.d)


def below(found: Counter[float], limit: float) -> float:
    """The share of letters that are smaller, 0 to 1."""
    small = sum(number for size, number in found.items() if size < limit - EXACT)
    return small / (found.total() or 1)


def lines(files: Iterable[Path]) -> Iterable[str]:
    """A line for each file: smallest size, share of letters below 8 pt and below 9.5 pt, and its name."""
    for path in files:
        found = letters(path.read_bytes())
        smallest = f"{min(found):5.1f}" if found else "    –"
        yield f"{smallest} pt  {below(found, SMALLEST):6.1%}  {below(found, BODY):6.1%}  {path}"


if __name__ == "__main__":
    demo = Path(sys.argv[1] if len(sys.argv) > 1 else "demo")
    sys.stdout.write("smallest below 8 below 9.5  document\n")
    sys.stdout.writelines(f"{line}\n" for line in lines(sorted(demo.rglob("*.pdf"))))
