"""The data of a season summary as CSV: what a condition report attaches, for every green, its code first."""

from __future__ import annotations

from pipeline.summaries.record import ClubSeason
from reports.attachments import DESCRIBED, CsvFile, csv_bytes, rows_of

GREEN = {"green": "code of the green"}
REF = "number of the figure in the green's own condition report"


def csv_files(club: ClubSeason) -> tuple[CsvFile, ...]:
    """The attachments of a summary, in order of their names (the PDF's name tree must be sorted)."""
    by_green = [(green.green, rows_of(green)) for green in club.greens]
    files = []
    meanings = []
    for name, (words, columns) in DESCRIBED.items():
        every = GREEN | columns | ({"ref": REF} if "ref" in columns else {})
        rows = ((green, *row) for green, tables in by_green for row in tables[name])
        files.append(CsvFile(name, f"{words}, of every green", csv_bytes(every, rows)))
        meanings += [(name, column, meaning) for column, meaning in every.items()]
    words = "What each column of the other attached files means"
    files.append(CsvFile("columns.csv", words, csv_bytes(("file", "column", "meaning"), meanings)))
    return tuple(sorted(files, key=lambda file: file.name))
