"""Rejected rows handed back: the original cells, then why; mended in a spreadsheet, the same file loads."""

from __future__ import annotations

import csv
from pathlib import Path

import polars as pl

from pipeline.read.columns import harmless
from pipeline.read.table import Reading, Sheet
from pipeline.workspace import handback_name

REASONS = ("line", "code", "message", "hint")
"""Last columns of a file handed back."""


def write_rejected(folder: Path, sheet: Sheet, rejected: pl.DataFrame, faults: pl.DataFrame) -> Path:
    """Write the rows an error concerns, as they stood, with their faults behind; UTF-8 with a mark spreadsheets know.

    Args:
        folder: where rejected rows go.
        sheet: the file as read.
        rejected: rejected records; only their ``line`` is used.
        faults: FAULT_SCHEMA.

    Returns:
        The file written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / handback_name(sheet.file)
    reasons = (
        faults.filter((pl.col("severity") == "error") & pl.col("line").is_not_null())
        .group_by("line", maintain_order=True)
        .agg(pl.col("code").unique(maintain_order=True), pl.col("message"), pl.col("hint").unique(maintain_order=True))
    )
    why = {line: (codes, messages, hints) for line, codes, messages, hints in reasons.iter_rows()}
    lines = set(rejected["line"]) | (set(sheet.cells["line"]) if not rejected.height and not why else set())
    columns = [name for name in sheet.cells.columns if name != "line"]
    rows = {row[0]: list(row[1:]) for row in sheet.cells.select("line", *columns).filter(
        pl.col("line").is_in(sorted(lines))).iter_rows()}  # fmt: skip
    rows |= {line: list(cells) for line, cells in sheet.rejected.iter_rows()}
    width = len(sheet.headers)
    with path.open("w", encoding="utf-8-sig", newline="") as out:
        writer = csv.writer(out)
        writer.writerow([*sheet.headers, *REASONS])
        if sheet.units:
            writer.writerow([*(unit or "" for unit in sheet.units), *[""] * len(REASONS)])
        for line in sorted(rows):
            codes, messages, hints = why.get(line, ([], [], []))
            cells = [harmless(cell or "") for cell in rows[line]]
            cells += [""] * (width - len(cells))
            said = [str(line), " · ".join(codes), " · ".join(messages), " · ".join(hints)]
            writer.writerow([*cells, *[said[0], *(harmless(text) for text in said[1:])]])
    return path


def handed_back(path: Path) -> bool:
    """Whether a file is one of ours, handed back for mending (its last columns say why each row was rejected)."""
    with path.open("rb") as source:
        head = source.read(65536).decode("utf-8-sig", errors="replace")
    first = next(csv.reader(head.splitlines()[:1]), [])
    while first and not first[-1].strip():
        first.pop()
    return tuple(cell.strip() for cell in first[-len(REASONS) :]) == REASONS


def reading_of_handback(known_headers: frozenset[str]) -> Reading:
    """How a file of ours is read, whatever the profile says of the source's own files."""
    return Reading(header_line=1, known_headers=known_headers)
