"""The figures of one green and season as they stand in the store, with what stands beside them.

Nothing is made here, and nothing imported that figures are made with: who asks for one green waits for its start alone.
"""

from __future__ import annotations

import json

from pipeline.figures.table import figures_in
from pipeline.indicators.base.green_season import DataNote, Evidence, GreenFigures, Question
from pipeline.store.last_day import last_day
from pipeline.store.store import Store
from pipeline.workspace.settings import Season, Settings


def figures_shown(
    store: Store, settings: Settings, season: Season, green: str, *, lines: bool = True
) -> GreenFigures | None:
    """The green's season; None where the store holds no figures of it, or they are not to be read.

    ``lines``: whether the lines behind each figure are asked for; those in question always are.
    """
    found = figures_in(store, settings, season.name, [green], lines=lines).get(green)
    if found is None:
        return None
    asked = [green, season.name]
    (of_season,) = store.dicts("SELECT * FROM derived.green_season WHERE green = ? AND season = ?", asked)
    names = ("green", "green_name", "club", "club_name", "season", "season_start", "season_end", "as_of")
    return GreenFigures(
        **{name: of_season[name] for name in names},
        indicators=found,
        questions=tuple(_questions(store, asked)),
        data_notes=tuple(_notes(store, asked)),
        known_to=last_day(store, green) or season.end,
    )


def _questions(store: Store, asked: list[str]) -> list[Question]:
    rows = store.dicts("SELECT * FROM derived.question WHERE green = ? AND season = ? ORDER BY place", asked)
    return [
        Question(
            Evidence(row["file"], row["line"], row["kind"], row["load_id"]),
            row["text"],
            tuple(json.loads(row["labels"])),
            row["rejected"],
        )
        for row in rows
    ]


def _notes(store: Store, asked: list[str]) -> list[DataNote]:
    sql = (
        "SELECT severity, text, topic FROM derived.note WHERE green = ? AND season = ? "
        "ORDER BY topic = 'laboratory', place"
    )
    return [DataNote(*row) for row in store.rows(sql, asked)]
