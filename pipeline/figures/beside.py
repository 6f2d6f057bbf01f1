"""What stands beside the figures of a green and season in the store: entries to check first, and data notes.

They are written with the figures and held to the same mark; what rests on other greens' records too, a laboratory's
step or drift, has a mark of each season's own.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import polars as pl

from pipeline.common.marks import mark
from pipeline.figures.compared import ORGANIC_MATTER, organic_matter
from pipeline.figures.state import LENGTH, code_version, settings_version
from pipeline.figures.table import frame_of, insert, take_out_of
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.green_season import DataNote, Indicator, Question
from pipeline.indicators.base.records import Records
from pipeline.indicators.questions import questions
from pipeline.indicators.soil.laboratory import common, told
from pipeline.season.notes import own_notes
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace


@dataclass(frozen=True)
class Beside:
    """What stands beside the figures of a green and season; ``asked`` is None where it has not changed."""

    green: str
    season: str
    notes: Sequence[DataNote]
    asked: Sequence[Question] | None


def beside(asked: Asked, every: Records, made: Mapping[int, Sequence[Indicator]]) -> list[Beside]:
    """The notes of greens and seasons, and the entries to check first of those whose figures were made anew."""
    notes = own_notes(asked, every)
    return [
        Beside(
            records.green["green"],
            records.season.name,
            notes[of],
            list(questions(made[of], records)) if of in made else None,
        )
        for of, records in asked.each.items()
    ]


def rows_beside(made: Sequence[Beside]) -> dict[str, pl.DataFrame]:
    """The rows of what stands beside figures, by table."""
    return {
        "note": frame_of("note", [row for one in made for row in _notes(one)]),
        "question": frame_of("question", [row for one in made for row in _questions(one)]),
    }


def take_out_beside(store: Store, looked_at: Sequence[tuple[str, str]], made: Sequence[tuple[str, str]]) -> None:
    """Take out what stood beside the figures of greens and seasons: notes where looked at, entries where made anew."""
    take_out_of(store, "note", looked_at, where="topic <> 'laboratory'")
    take_out_of(store, "question", made)


def _notes(one: Beside) -> Iterator[dict[str, Any]]:
    for place, note in enumerate(one.notes, start=1):
        yield {"green": one.green, "season": one.season, "place": place, **_note(note)}


def _note(note: DataNote) -> dict[str, str]:
    return {"severity": note.severity, "topic": note.topic, "text": str(note.text)}


def _questions(one: Beside) -> Iterator[dict[str, Any]]:
    for place, asked in enumerate(one.asked or (), start=1):
        at = asked.place
        yield {
            "green": one.green, "season": one.season, "place": place, "text": str(asked.text),
            "rejected": asked.rejected, "labels": json.dumps(asked.labels, ensure_ascii=False),
            "kind": at.kind, "load_id": at.load_id, "file": at.file, "line": at.line,
        }  # fmt: skip


def keep_laboratories(store: Store, workspace: Workspace) -> None:
    """Bring the notes on laboratories up to the organic matter of all greens: of the seasons where that has changed."""
    by = (settings_version(workspace.settings), code_version())
    held = dict(store.rows("SELECT season, mark FROM derived.season_mark ORDER BY season"))
    marks = {season: mark(*by, *content)[:LENGTH] for season, *content in store.rows(_MARKS)}
    changed = [season for season, one in marks.items() if held.get(season) != one]
    gone = [season for season in held if season not in marks]
    if not (changed or gone):
        return
    store.con.execute(
        "DELETE FROM derived.note WHERE topic = 'laboratory' AND list_contains(?, season)", [[*changed, *gone]]
    )
    tests = organic_matter(store)
    rows = [row for season in changed for row in _of_season(tests, season, workspace)]
    insert(store, "note", frame_of("note", rows))
    store.con.execute("DELETE FROM derived.season_mark")
    insert(store, "season_mark", frame_of("season_mark", [{"season": s, "mark": one} for s, one in marks.items()]))


def _of_season(tests: pl.DataFrame, season: str, workspace: Workspace) -> Iterable[dict[str, Any]]:
    found = common(tests, workspace.season(season).end, workspace.settings.method_options.weeks)
    for place, one in enumerate(found, start=1):
        for green in one.greens:
            yield {"green": green, "season": season, "place": place, **_note(told(one))}


_MARKS = (
    f"SELECT s.season, s.season_end, count(t.h), bit_xor(t.h), sum(t.h % 4294967296) FROM "  # noqa: S608 (SQL of ours)
    "(SELECT DISTINCT season, season_end FROM derived.green_season) AS s "
    f"LEFT JOIN (SELECT date, hash(k) AS h FROM ({ORGANIC_MATTER}) AS k) AS t ON t.date <= s.season_end "
    "GROUP BY s.season, s.season_end ORDER BY s.season"
)
"""Each season with figures, and the mark of the organic matter of all greens up to its end."""
