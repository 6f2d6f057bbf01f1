"""The data of a season summary as CSV: what a condition report attaches, for every green, its code first."""

from __future__ import annotations

from pipeline.summaries.club_season import ClubSeason
from reports.page.attachments import DESCRIBED, CsvFile, in_order, rows_of, tables

GREEN = {"green": "code of the green"}
REF = "number of the figure in the green's own condition report"


def csv_files(club: ClubSeason) -> tuple[CsvFile, ...]:
    """The attachments of a summary, in order of their names (the PDF's name tree must be sorted)."""
    by_green = [(green.green, rows_of(green)) for green in club.greens]
    described = {
        name: (f"{words}, of every green", GREEN | columns | ({"ref": REF} if "ref" in columns else {}))
        for name, (words, columns) in DESCRIBED.items()
    }
    rows = {name: [(green, *row) for green, found in by_green for row in found[name]] for name in described}
    return in_order(tables(described, rows))
