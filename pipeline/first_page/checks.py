"""Entries to check: what stands under a warning, what figures would be without it, rejected rows, gaps of the law's."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

import polars as pl

from pipeline.common.words import counted, listed, long_date
from pipeline.first_page.standing import waits
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.first_page import Check, Rejected
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Evidence, Indicator, Question
from pipeline.indicators.base.judgement import has_target
from pipeline.indicators.cautions.protection import ASKED, protection_jobs
from pipeline.indicators.families import FAMILIES, judged
from pipeline.indicators.families import made as of_family

MOST_REMADE = 3
"""Entries of which it is worked out what figures would be without them: each takes the time of their families."""
BY_LAW = 3
"""The first so many of ``ASKED`` are what the law wants on record; the others are common practice."""


def checks(records: GreenRecords, figures: Sequence[Indicator], questions: Sequence[Question]) -> tuple[Check, ...]:
    """The entries under a warning, most figures first, each with the judged figures that rest on it, now and without.

    Args:
        records: of the green.
        figures: of the green and season, marked.
        questions: its entries to check.
    """
    warned = [one for one in questions if not one.rejected]
    made: list[Check] = []
    for nth, one in enumerate(warned):
        lines = frozenset({one.place})
        resting = [each for each in figures if each.value is not None and has_target(each) and waits(each, lines)]
        made.append(_check(records, one, resting) if resting and nth < MOST_REMADE else Check(one))
    return tuple(made)


def _check(records: GreenRecords, one: Question, resting: Sequence[Indicator]) -> Check:
    """An entry with the figures that rest on it; none where one of them cannot be made without it."""
    again = _made({each.name for each in resting}, without(records, one.place))
    pairs = [(each, again[each.name, each.band]) for each in resting if (each.name, each.band) in again]
    known = [(now, then) for now, then in pairs if then.value is not None]
    return Check(one, tuple(now for now, _ in known), tuple(then for _, then in known))


def _made(names: Collection[str], records: GreenRecords) -> dict[tuple[str, str], Indicator]:
    """Figures of these names, judged, and what their families make beside them, by name and band."""
    asked = Asked.about([records])
    families = [one for one in FAMILIES if any(what.name in names for what in one.described)]
    made = (figure for family in families for figure in of_family(family, asked))
    return {(one.name, one.band): one for one in judged(made, records)}


def without(records: GreenRecords, place: Evidence) -> GreenRecords:
    """The records of a green as if a line had never been loaded."""

    def left(rows: pl.DataFrame) -> pl.DataFrame:
        if "load_id" not in rows.columns or "line" not in rows.columns:
            return rows
        return rows.filter(~((pl.col("load_id") == place.load_id) & (pl.col("line") == place.line)))

    return replace(
        records,
        frames={**records.frames, place.kind: left(records.frames[place.kind])},
        applications=left(records.applications),
        periods={name: left(rows) for name, rows in records.periods.items()},
    )


def rejected(records: GreenRecords) -> Iterator[Rejected]:
    """The rows and values of the season that were rejected and are not corrected, in order of file and line."""
    told = ((row["file"], row["line"], row["message"]) for row in records.rejected_here if row["rejected"])
    for file, line, message in sorted(dict.fromkeys(told), key=lambda place: place[:2]):
        yield Rejected(file, line, message)


def gaps(records: GreenRecords) -> Iterator[str]:
    """What the law wants on record of plant protection products and the season's log lacks, a sentence a day."""
    jobs = protection_jobs(records)
    for row in jobs.sort("date", "line", maintain_order=True).iter_rows(named=True):
        blank = [what.partition(" (")[0] for what, names in ASKED[:BY_LAW] if all(row[name] is None for name in names)]
        if blank:
            yield f"The spray of {long_date(row['date'])} lacks its {listed(blank)}."


def told_of_many(sentences: Sequence[str], most: int = 2) -> tuple[str, ...]:
    """The first so many sentences, and how many more there are."""
    left = len(sentences) - most
    if left <= 0:
        return tuple(sentences)
    return (*sentences[:most], f"{counted(left, 'more spray lacks', 'more sprays lack')} some of it.")
