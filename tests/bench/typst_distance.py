"""How far WeasyPrint is from Typst on a table of cells: the distance in view, no dependency of ours.

Typst is installed into an environment of the bench's own; without it (no index to install from) the bench says so.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
import venv
from pathlib import Path

TYPST = "typst==0.15.2"
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
    python = _with_typst(folder / "typst")
    if python is None:
        return None
    source = folder / "table.typ"
    words = ", ".join(f"[{cell}]" for row in CELLS for cell in row)
    source.write_text(f'#set document(title: "Table")\n#table(columns: {COLUMNS}, {words})\n', "utf-8")
    code = _COMPILED.format(rounds=ROUNDS, source=str(source))
    done = subprocess.run([python, "-c", code], check=True, capture_output=True, text=True)
    return _weasyprint() / float(done.stdout)


def _with_typst(folder: Path) -> Path | None:
    """The interpreter of an environment with Typst in it; None where it cannot be installed."""
    try:
        venv.create(folder, with_pip=True)
        python = folder / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")
        subprocess.run(
            [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", TYPST],
            check=True,
            capture_output=True,
            timeout=120,
        )
    except (OSError, subprocess.SubprocessError):
        return None
    return python


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
