"""The data of a report as CSV, attached to it so that the next adviser can use them.

UTF-8 with a byte-order mark and CRLF line ends (RFC 4180), so that spreadsheets read them right.
Text cells that a spreadsheet would take for a formula start with an apostrophe, and a last column says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from functools import lru_cache

from pipeline.common import money
from pipeline.common.spreadsheet_cells import KEPT, csv_table
from pipeline.indicators.base import green_season as record
from pipeline.indicators.base.green_season import Evidence, GreenSeason, Indicator
from pipeline.indicators.base.judgement import judgement
from reports.page.figures import numbered
from schemas import KINDS
from schemas.field import Field

Cell = record.Cell

INDICATOR_COLUMNS = {
    "ref": "number of the figure in the printed report",
    "family": "family of the figure",
    "name": "machine name; its suffix is the unit",
    "label": "name as printed",
    "band": "depth, analyte and method, or material; empty where the name says all",
    "value": "the figure, not rounded; empty where the records cannot carry one",
    "unit": "unit of value, low, high and targets",
    "low": "lower end of the interval named in method; empty where there is none",
    "high": "upper end of that interval",
    "n": "number of records the figure rests on",
    "target_low": "lower end of the target; empty where it has none",
    "target_high": "upper end of the target; empty where it has none",
    "target_source": "where the target comes from",
    "standing": "within, below, above, too early, no target, too few or not comparable",
    "judgement": "what is said of it: on target, close, off, too early to say, too few to say or no target",
    "verdict": "of a change over time: falling, rising, slower, faster, no clear change, too few or not comparable",
    "method": "how the figure was made",
    "note": "what a reader must know beside it",
    "decimals": "digits after the point in print",
    "questioned": "how many of its records stand under a warning that is open",
    "evidence_file": "file of one record behind the figure (one row for each record); empty without records",
    "evidence_line": "physical line in that file, the first line is 1",
    "evidence_kind": "kind of that record",
}
WORK_COLUMNS = {
    "date": "day of the work, year-month-day; its first day where only the month or year is known",
    "date_to": "last day it can have been, where only the month or year is known; empty else",
    "operation": "what was done",
    "detail": "how it was done",
    "amount": "how much, as printed",
    "hours": "working hours, h; empty where not recorded",
    "cost": "cost in the currency of the records; empty where not recorded",
    "weather": "weather of the day at the green's station; empty where none is on record",
    "file": "file the record comes from",
    "line": "physical line in that file",
}
READING_COLUMNS = {
    "kind": "reading, mean, running total or plan",
    "name": "what is measured or summed",
    "band": "depth or other band",
    "unit": "unit of value, low and high",
    "date": "day, year-month-day",
    "value": "the reading, the mean of the day, the total after the day or the planned total",
    "low": "lower end of the interval of a mean",
    "high": "upper end of the interval of a mean",
    "n": "readings behind a mean",
    "method": "method in words; only samples of the same method may be compared",
    "comparable": "yes or no: same method as the latest sample",
    "target_low": "lower end of the target in force",
    "target_high": "upper end of the target in force",
    "target_source": "where the target comes from",
}
NOTE_COLUMNS = {
    "kind": "about, fact, check first, due, caution, data note or source file",
    "name": "what the line is about",
    "text": "the text or value as printed",
    "quantity": "how much is due",
    "by": "when it is due",
    "source": "who says so, SHA-256 of a source file, or the figures that rest on an entry to be checked",
}
ABOUT = "about.csv"
ABOUT_COLUMNS = {"what": "what is told of the document", "value": "what it is"}
DESCRIBED: dict[str, tuple[str, dict[str, str]]] = {
    "indicators.csv": ("Every figure of the report, with its target, method and evidence", INDICATOR_COLUMNS),
    "notes.csv": ("Facts, what is due, cautions, data notes and source files", NOTE_COLUMNS),
    "readings.csv": ("Single readings, means, running totals and plans behind the charts", READING_COLUMNS),
    "works.csv": ("Every work on the green in the season", WORK_COLUMNS),
}


@dataclass(frozen=True)
class CsvFile:
    """An attached file: its name, what it holds in one sentence, and its bytes."""

    name: str
    description: str
    content: bytes


def csv_files(season: GreenSeason) -> tuple[CsvFile, ...]:
    """The attachments of a report, in order of their names (the PDF's name tree must be sorted).

    What the report says stands in files of its own; the records behind it are in ``records-<kind>.csv``, one a kind,
    which load as they are.
    """
    return in_order((*tables(DESCRIBED, rows_of(season)), *record_files(season)))


def tables(
    described: Mapping[str, tuple[str, Mapping[str, str]]], rows: Mapping[str, Iterable[Iterable[Cell]]]
) -> tuple[CsvFile, ...]:
    """A file for each table, and columns.csv with what their columns mean.

    Args:
        described: file name to what it holds in one sentence, and its columns with their meanings.
        rows: file name to its rows.
    """
    every = {ABOUT: ABOUT_COLUMNS} | {file: columns for file, (_, columns) in described.items()}
    meanings = [(file, column, words) for file, columns in every.items() for column, words in columns.items()]
    notes = csv_bytes(("file", "column", "meaning"), meanings)
    return (
        CsvFile("columns.csv", "What each column of the other attached files means", notes),
        *(CsvFile(name, words, csv_bytes(columns, rows[name])) for name, (words, columns) in described.items()),
    )


def about(version: str, moment: datetime) -> CsvFile:
    """What makes a document again beside its records, attached to every one; nobody's name stands in it.

    Args:
        version: version of the calculation.
        moment: time written into the document.
    """
    rows = (("version of the calculation", version), ("day of the document", moment.date().isoformat()))
    return CsvFile(ABOUT, "What it takes to make this document again", csv_bytes(ABOUT_COLUMNS, rows))


def in_order(files: Iterable[CsvFile]) -> tuple[CsvFile, ...]:
    """The files in order of their names."""
    return tuple(sorted(files, key=lambda file: file.name))


def rows_of(season: GreenSeason) -> dict[str, Iterable[tuple[Cell, ...]]]:
    """The rows of every file of ``DESCRIBED``, by its name."""
    return {
        "indicators.csv": _indicator_rows(season),
        "notes.csv": _note_rows(season),
        "readings.csv": _reading_rows(season),
        "works.csv": _work_rows(season),
    }


def file_names(season: GreenSeason) -> tuple[str, ...]:
    """The attachments' names as a reader is told them, those of the records as one."""
    records = (f"records of {len(season.records)} kinds that load as they are",) if season.records else ()
    return ("columns.csv", *sorted(DESCRIBED), *records)


def record_files(season: GreenSeason) -> Iterator[CsvFile]:
    """The records behind a season in the form they load in, and what their columns mean."""
    meanings = []
    for table in season.records:
        kind, name = KINDS[table.kind], f"records-{table.kind}.csv"
        words = f"{kind.title.capitalize()} behind the report, in the form they load in"
        yield CsvFile(name, words, csv_bytes(table.columns, table.rows))
        meanings += [(name, column, _meaning(kind.by_name[column])) for column in table.columns]
    if meanings:
        words = "What each column of the attached records means"
        yield CsvFile("columns-of-records.csv", words, csv_bytes(("file", "column", "meaning"), meanings))


def _meaning(field: Field) -> str:
    return f"{field.meaning} Unit: {field.unit}." if field.unit else field.meaning


def _written(cell: Cell) -> str:
    """The cell as written: numbers plain, text without what no file may hold."""
    if isinstance(cell, str):
        return _encodable(cell)
    if cell is None:
        return ""
    if isinstance(cell, Decimal):
        return money.cell(cell)
    return repr(cell) if isinstance(cell, float) else str(cell)


@lru_cache(maxsize=KEPT)
def _encodable(cell: str) -> str:
    return cell.encode("utf-8", "replace").decode("utf-8").replace("\x00", "\ufffd")


def csv_bytes(columns: Iterable[str], rows: Iterable[Iterable[Cell]]) -> bytes:
    """A table as CSV, every cell made safe for spreadsheets (``pipeline.common.spreadsheet_cells.csv_table``)."""
    return csv_table(tuple(columns), ([_written(cell) for cell in row] for row in rows))


def _indicator_rows(season: GreenSeason) -> Iterator[tuple[Cell, ...]]:
    for ref, indicator in numbered(season.indicators):
        cells = _indicator_cells(ref, indicator)
        records: tuple[Evidence | None, ...] = tuple(sorted(set(indicator.evidence))) or (None,)
        for one in records:
            yield (*cells, *((one.file, one.line, one.kind) if one else (None, None, None)))


def _indicator_cells(ref: int, i: Indicator) -> tuple[Cell, ...]:
    value = (i.family, i.name, i.label, i.band, i.value, i.unit, i.low, i.high, i.n)
    goal = (i.target_low, i.target_high, i.target_source, i.standing)
    said = (judgement(i), i.verdict.word if i.verdict else None)
    return (ref, *value, *goal, *said, i.method, i.note, i.decimals, len(i.questioned))


def _work_rows(season: GreenSeason) -> Iterator[tuple[Cell, ...]]:
    for w in sorted(season.works, key=lambda w: (w.date, w.operation, w.evidence)):
        place = (w.evidence.file, w.evidence.line)
        to = w.date_to.isoformat() if w.date_to else None
        yield (w.date.isoformat(), to, w.operation, w.detail, w.amount, w.hours, w.cost, w.weather, *place)


def _reading_rows(season: GreenSeason) -> Iterator[tuple[Cell, ...]]:
    for series in season.series:
        goal = (series.target_low, series.target_high, series.target_source)
        for sample in series.samples:
            what = (series.name, series.band, series.unit, sample.date.isoformat())
            same = "yes" if sample.comparable else "no"
            for reading in sample.readings:
                yield ("reading", *what, reading, None, None, None, sample.method, same, *goal)
            yield ("mean", *what, sample.value, sample.low, sample.high, sample.n, sample.method, same, *goal)
    for running in season.running:
        goal = (running.target_low, running.target_high, running.target_source)
        for kind, points in (("running total", running.points), ("plan", running.plan)):
            for point in points:
                when = point.date.isoformat()
                yield (kind, running.name, None, running.unit, when, point.total, None, None, None, None, None, *goal)


def _note_rows(season: GreenSeason) -> Iterator[tuple[Cell, ...]]:
    about = {
        "green": season.green_name,
        "club": season.club_name,
        "region": season.region,
        "season": season.season,
        "season start": season.season_start.isoformat(),
        "season end": season.season_end.isoformat(),
        "records up to": season.as_of.isoformat(),
    }
    for name, value in about.items():
        yield ("about", name, value, None, None, None)
    for label, fact in season.facts:
        yield ("fact", label, fact, None, None, None)
    for q in season.questions:
        yield ("check first", f"{q.place.file}, line {q.place.line}", q.text, None, None, "; ".join(q.labels))
    yield from (("due", d.what, d.why, d.quantity, d.by, None) for d in season.due)
    yield from (("caution", c.trigger, c.text, None, None, c.source) for c in season.cautions)
    yield from (("data note", n.severity, n.text, None, None, None) for n in season.data_notes)
    for s in season.sources:
        loaded = f"{s.kind}, {s.rows} rows, lines {s.lines}, loaded {s.loaded_on}"
        yield ("source file", s.file, loaded, None, None, s.sha256)
