"""What a reader must know about the records themselves, and which files the figures come from."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import polars as pl

from pipeline.common.amounts import Amount, AmountText, span
from pipeline.common.grouped import grouped
from pipeline.common.measured import told
from pipeline.common.words import counted, line_ranges, listed, long_date, on_lines, period, told_of
from pipeline.indicators import questions
from pipeline.indicators.base import shares
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.at_least import late_words
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import DataNote, Evidence, GreenSeason, SourceFile
from pipeline.indicators.base.records import Records
from pipeline.indicators.base.rows import Row
from pipeline.indicators.soil import laboratory
from pipeline.season.read_for_notes import ReadForNotes
from schemas import KINDS
from schemas.codes import code_list
from schemas.construction import construction_of

LONG_GAP_DAYS = 42
"""A gap between logged works in the playing months that is asked about: common practice, no source."""
MOST_ROWS = 4
"""So many rejected rows of one file have a note each; more are told in one note, every line named."""
DAY_UNKNOWN = "Known to the month or year only,"
PLAYING_MONTHS = range(4, 10)
"""April to September: outdoor play in Britain; common practice, no source."""


def with_notes(done: GreenSeason, records: GreenRecords, every: Records) -> GreenSeason:
    """The season with its data notes and source files filled in."""
    return replace(done, data_notes=tuple(data_notes(records, every)), sources=tuple(sources(done, every)))


def data_notes(records: GreenRecords, every: Records) -> Iterator[DataNote]:
    """What must be known about the records of a green and season; what is said of laboratories stands last."""
    yield from own_notes(Asked.about([records]), every)[0]
    yield from laboratory.notes(records, every)


def own_notes(asked: Asked, every: Records) -> dict[int, list[DataNote]]:
    """The same of many greens and seasons, by their number, without what rests on the records of other greens too."""
    read = ReadForNotes.of(asked)
    return {of: list(_notes(of, records, every, read)) for of, records in asked.each.items()}


def _notes(of: int, records: GreenRecords, every: Records, read: ReadForNotes) -> Iterator[DataNote]:
    yield from _gone(every)
    yield from _rejected(records)
    yield from _periods(records)
    yield from _asked(records, every)
    if records.log_begins:
        said = late_words(records.log_begins, records.season.start)
        yield DataNote("note", f"{said[:1].upper()}{said[1:]}: totals are of what is logged since.")
    yield from _area(records, read.jobs.get(of, ()))
    yield from read.dressed.get(of, ())
    yield from _construction(records)
    yield from _unregistered(read.unregistered.get(of, []))
    yield from _gaps(records, sorted(read.days.get(of, ())))
    if of not in read.sampled and "organic_matter" not in records.periods["soil_test"]["analyte"]:
        yield DataNote("note", "No organic-matter result is on record for this green.")
    yield from read.broken.get(of, ())
    if of in read.devices:
        yield DataNote("note", read.devices[of])


def _gone(every: Records) -> Iterator[DataNote]:
    """That the store no longer holds all that it held; loads are not named here, for a file may name another club."""
    if every.look.gone:
        gone = counted(len(every.look.gone), "load or decision", "loads and decisions")
        why = "what came by it is left out, and what it ended counts; it may be of other greens"
        yield DataNote("warning", f"The store held {gone} more on that day, taken back since: {why}.")


def _rejected(records: GreenRecords) -> Iterator[DataNote]:
    """Rows and values of this green and season that are still outside the store; many of one file in one note."""
    of_file = grouped((row for row in records.rows_left_out[False] if row["rejected"]), lambda row: str(row["file"]))
    for _, part in sorted(of_file.items()):
        whole = [row for row in part if not row["of_value"]]
        if len(whole) > MOST_ROWS:
            lines = on_lines(row["line"] for row in whole)
            text = f"{counted(len(whole), 'row')} of {whole[0]['file']} are not in these figures ({lines})."
            yield DataNote("warning", f"{text} First of them: {whole[0]['message']}", "rejected")
            whole = []
        for row in (*whole, *(row for row in part if row["of_value"])):
            yield DataNote("warning", told_of(row["file"], row["line"], questions.outside(row)), "rejected")


def _periods(records: GreenRecords) -> Iterator[DataNote]:
    """Records known to the month or year only: which count in what needs no day, and which nowhere, and why."""
    if not any(rows.height for rows in records.periods.values()):
        return
    here = records.may_be_of(records.season.start, records.season.end)
    whole = {name: set(rows.select("load_id", "line").iter_rows()) for name, rows in records.whole.items()}
    jobs = [_of_period(row, "operation") for row in here.iter_rows(named=True) if _key(row) in whole["job"]]
    if jobs:
        yield DataNote("note", f"{DAY_UNKNOWN} counted in the season's totals, and left out of whatever needs the day: "
                       f"{'; '.join(jobs)}.")  # fmt: skip
    jobs = [_of_period(row, "operation") for row in here.iter_rows(named=True) if _key(row) not in whole["job"]]
    if jobs:
        days = f"{long_date(records.season.start)} to {long_date(records.as_of)}"
        why = f"it need not be of the season's days on record ({days}), or an entry of a register changed within it"
        yield DataNote("warning", f"{DAY_UNKNOWN} in no figure, since {why}: {'; '.join(jobs)}.")
    tests = records.periods["soil_test"].filter(pl.col("date") <= records.as_of)
    used = [_of_period(row, "analyte") for row in tests.iter_rows(named=True) if _key(row) in whole["soil_test"]]
    if used:
        left = "left out of trends, balances, charts and comparisons"
        yield DataNote("note", f"{DAY_UNKNOWN} the latest result where none is later, and {left}: {'; '.join(used)}.")
    unused = [_of_period(row, "analyte") for row in tests.iter_rows(named=True) if _key(row) not in whole["soil_test"]]
    if unused:
        why = "nothing says whether it is older than another result, or lies within the days on record"
        yield DataNote("warning", f"{DAY_UNKNOWN} in no figure, since {why}: {'; '.join(unused)}.")


def _key(row: dict[str, Any]) -> tuple[int, int]:
    return row["load_id"], row["line"]


def _of_period(row: dict[str, Any], what: str) -> str:
    """A record of a period in words: line 3 of log.csv (hollow coring, November 2024)."""
    when = period(row["date"], row["date_to"])
    return f"line {row['line']} of {row['file']} ({_inside(code_list(what)[row[what]].label)}, {when})"


def _inside(label: str) -> str:
    """A label inside a sentence: names with a capital of their own (pH, EC) stay as they are."""
    return label if any(letter.isupper() for letter in label[1:]) else label.lower()


def _asked(records: GreenRecords, every: Records) -> Iterator[DataNote]:
    """Warnings that stand on records of the season, or on the green's own row of the register."""
    for row in every.once(_warnings_by_green).get(records.green["green"], ()):
        if _of_season(row, records):
            yield DataNote("warning", told_of(row["file"], row["line"], told(row["code"], row["message"])))


def _warnings_by_green(every: Records) -> dict[str, list[dict[str, Any]]]:
    """Warnings of each green that has any, each text of a line once."""
    rows = every.warnings.filter(pl.col("green").is_not_null() & (pl.col("code") != "reference.material"))
    rows = rows.sort("file", "line", "column_name", "code", "value", maintain_order=True)
    rows = rows.unique(["green", "file", "line", "message"], keep="last", maintain_order=True)
    return grouped(rows.iter_rows(named=True), lambda row: str(row["green"]))


def _of_season(row: dict[str, Any], records: GreenRecords) -> bool:
    """Whether a warning is about a record of this season, or about the green's own row of the register."""
    if (row["load_id"], row["line"]) == (records.green["load_id"], records.green["line"]):
        return True
    held = (pl.col("load_id") == row["load_id"]) & (pl.col("line") == row["line"])
    frames = [records.in_season(records.frames[kind.name]) for kind in KINDS.values() if kind.of_green]
    known = (pl.col("date") <= records.as_of) & (pl.col("date_to") >= records.season.start)
    frames += [rows.filter(known) for rows in records.periods.values()]
    return any(frame.filter(held).height for frame in frames)


def _area(records: GreenRecords, jobs: Iterable[Row]) -> Iterator[DataNote]:
    if not records.area_m2:
        yield DataNote(
            "warning",
            "The green's area is not recorded: what was put on has no figure a square metre, nor has work on a part.",
        )
    yield from _area_changed(records)
    wide = [row for row in jobs if shares.beyond(row)]
    if wide:
        why = f", {counted(len(wide), 'job')}) are larger than the green: product on the surround is not counted."
        yield DataNote("note", AmountText("Treated areas (", _areas(wide), why))
    parts = [row for row in jobs if row["share"] is not None and row["share"] < 1]
    if parts:
        why = f", {counted(len(parts), 'job')}) counts in the figures by the share of the green treated."
        yield DataNote("note", AmountText("Work on a part of the green (", _areas(parts), why))
    if full := shares.days_over_full(parts):
        done = listed([code_list("operation")[name].label.lower() for name in sorted({name for _, name in full})])
        where = f"{counted(len({day for day, _ in full}), 'day')}: {done}"
        yield DataNote("note", shares.OVER_FULL.replace("the green", f"the green ({where})"))


def _area_changed(records: GreenRecords) -> Iterator[DataNote]:
    """An area that changed within the season: which held when, and how figures take it."""
    areas = records.areas
    changes = [(day, area) for day, area in areas if day and records.season.start < day <= records.as_of]
    if not changes:
        return
    first = [area for day, area in areas if day is None or day <= records.season.start][-1]
    parts: list[str | Amount] = ["The green's area changed: ", *_of_area(first), " at first"]
    for day, area in changes:
        parts += [", ", *_of_area(area), f" from {long_date(day)}"]
    yield DataNote("note", AmountText(*parts, ". Each job counts by the area of its day."))


def _of_area(area_m2: float | None) -> tuple[str | Amount]:
    return ("unknown" if area_m2 is None else Amount(area_m2, "m²", ",.0f"),)


def _construction(records: GreenRecords) -> Iterator[DataNote]:
    """A green whose construction is no known one: what targets need of it, and where to fill it in."""
    if construction_of(records.green) is None:
        words = records.green["construction"]
        said = f"says “{words}”, which stands for no code" if words else "does not say how the green is built"
        ask = "no target made for one construction holds for it; fill in construction_type in the register of greens."
        yield DataNote("note", f"The register {said}: {ask}")


def _areas(jobs: Iterable[Row]) -> str:
    """The smallest and the largest treated area of these jobs."""
    areas = sorted({row["treated_area_m2"] for row in jobs})
    return span(areas[0], areas[-1] if len(areas) > 1 else None, "m²", ",.0f")


def _unregistered(rows: Sequence[Row]) -> Iterator[DataNote]:
    if rows:
        names = listed([f"“{name}”" for name in sorted({row["material"] for row in rows})])
        jobs = counted(len(rows), "job")
        text = f"{jobs} with {names}, not in the register of materials: nutrients not counted."
        yield DataNote("warning", text, "material")


def _gaps(records: GreenRecords, days: Sequence[date]) -> Iterator[DataNote]:
    """Days between which nothing is logged, of the days of the season's jobs in their order."""
    for before, after in itertools.pairwise(days):
        if records.may_be_of(before, after).height:
            continue
        if (after - before).days > LONG_GAP_DAYS and before.month in PLAYING_MONTHS and after.month in PLAYING_MONTHS:
            yield DataNote("note", f"Nothing is logged between {long_date(before)} and {long_date(after)}.")
    if not days and not records.may_be_of(records.season.start, records.as_of).height:
        yield DataNote("warning", "No job is logged for this season.")


def sources(done: GreenSeason, every: Records, also: Iterable[Evidence] = ()) -> Iterator[SourceFile]:
    """The files behind a season's figures and works, and behind what else is named, in order of their names."""
    places = {place for one in done.indicators for place in one.evidence} | {work.evidence for work in done.works}
    places.update(also)
    by_load = grouped(places, lambda place: (place.file, place.load_id))
    loads = {row["load_id"]: row for row in every.loads.iter_rows(named=True)}
    for (file, load_id), found in sorted(by_load.items()):
        load = loads[load_id]
        when: date = load["loaded_at"].date()
        lines = sorted({place.line for place in found})
        yield SourceFile(file, load["sha256"], load["kind"], len(lines), line_ranges(lines), long_date(when), load_id)
