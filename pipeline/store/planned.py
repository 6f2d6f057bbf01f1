"""Planned works of greens as the store holds them: a club's line as one of each of its greens in force."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import polars as pl

from pipeline.store.sql_text import among
from pipeline.store.store import Store

PLACE = ("green", "operation", "window_from", "window_to", "material", "programme", "file", "line")
"""Columns that planned works are read in the order of."""


def held(view: str, thing: str, of: str, day: str) -> str:
    """SQL of a join with the row of a register that held for something on a day."""
    return (
        f"JOIN {view} AS {of} ON {of}.{thing} = p.{thing} AND ({of}.holds_from IS NULL OR {day} >= {of}.holds_from) "
        f"AND ({of}.holds_until IS NULL OR {day} < {of}.holds_until)"
    )


LINES = f"""
WITH line AS (
    SELECT p.* EXCLUDE (club, written), g.club, g.area_m2, g.closed_on, g.closed_by
    FROM planned_work AS p {held("green_by_day", "green", "g", "p.window_from")}
    WHERE p.template IS NULL
    UNION ALL BY NAME
    SELECT p.* EXCLUDE (green, club, written), g.green, g.club, g.area_m2, g.closed_on, g.closed_by
    FROM planned_work AS p {held("green_by_day", "club", "g", "p.window_from")}
    WHERE p.template IS NULL AND p.green IS NULL
        AND (g.closed_on IS NULL OR g.closed_on > p.window_from) AND (g.laid_on IS NULL OR g.laid_on <= p.window_to)
)
SELECT p.*, m.material IS NOT NULL AS in_register, m.pack_kg, m.pack_l, m.form
FROM line AS p LEFT {held("material_by_day", "material", "m", "p.window_from")}
WHERE p.times IS NULL OR p.times > 0
"""  # noqa: S608 (SQL of ours)
"""Lines of no template that ask for something, each of one green, with area, last day and pack as its window opens."""


def asked_for(
    greens: Sequence[str] | None, days: tuple[date, date] | None, first: str, last: str
) -> tuple[str, dict[str, object]]:
    """SQL of which rows are asked for, and its values; of days those that the columns named enclose a part of."""
    values: dict[str, object] = {}
    parts = []
    if greens is not None:
        parts, values = [among("green", greens, "greens")], {"greens": list(greens)}
    if days is not None:
        parts.append(f"{last} >= $first_day AND {first} <= $last_day")
        values |= {"first_day": days[0], "last_day": days[1]}
    return f" WHERE {' AND '.join(parts)}" if parts else "", values


def planned_rows(
    store: Store, greens: Sequence[str] | None = None, days: tuple[date, date] | None = None
) -> pl.DataFrame:
    """Planned works in force (grain: one of one green), by green and window.

    Args:
        store: the store.
        greens: the greens they are of; None for all.
        days: first and last day, one of which lies in their window; None for all.
    """
    where, values = asked_for(greens, days, "window_from", "window_to")
    return store.frame(f"SELECT * FROM ({LINES}){where}", by=PLACE, **values)  # noqa: S608 (SQL of ours)


def any_planned(store: Store) -> bool:
    """Whether a planned work of any green is in force."""
    return bool(store.rows(f"SELECT 1 FROM ({LINES}) LIMIT 1"))  # noqa: S608 (SQL of ours)
