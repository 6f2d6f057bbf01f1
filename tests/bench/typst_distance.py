"""How far WeasyPrint is from Typst on a table of cells: the distance in view, no dependency of ours.

Typst is in the bench's own environment (requirements.txt); without that the bench says so.
"""

from __future__ import annotations

import statistics
import subprocess
import time
from pathlib import Path

from tests.bench.peers import BESIDE

ROWS, COLUMNS = 40, 10
ROUNDS = 5
CELLS = [[f"{row}.{column}" for column in range(COLUMNS)] for row in range(ROWS)]
_COMPILED = """
import statistics, sys, time, typst
seconds = []
for _ in range({rounds} + 1):
    start = time.process_time()
    typst.compile({source!r}, format="pdf", pdf_standards=["a-3a"])
    seconds.append(time.process_time() - start)
print(statistics.median(seconds[1:]))
"""


def distance(folder: Path) -> float | None:
    """How many times as long WeasyPrint takes as Typst, warm, processor time, PDF/A-3a; None without Typst.

    Args:
        folder: a folder of the bench's own, which is taken away after it.
    """
    if not BESIDE.exists():
        return None
    source = folder / "table.typ"
    words = ", ".join(f"[{cell}]" for row in CELLS for cell in row)
    source.write_text(f'#set document(title: "Table")\n#table(columns: {COLUMNS}, {words})\n', "utf-8")
    code = _COMPILED.format(rounds=ROUNDS, source=str(source))
    done = subprocess.run([BESIDE, "-c", code], check=True, capture_output=True, text=True)
    return _weasyprint() / float(done.stdout)


def _weasyprint() -> float:
    """Seconds of the same table."""
    from weasyprint import HTML

    rows = "".join(f"<tr>{''.join(f'<td>{cell}</td>' for cell in row)}</tr>" for row in CELLS)
    seconds = []
    for _ in range(ROUNDS + 1):
        start = time.process_time()
        HTML(string=f'<html lang="en"><title>Table</title><table>{rows}</table>').write_pdf(pdf_variant="pdf/a-3a")
        seconds.append(time.process_time() - start)
    return statistics.median(seconds[1:])
