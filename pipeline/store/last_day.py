"""The last day that records speak of, asked of the store: of all greens, or of one and its station."""

from __future__ import annotations

from datetime import date

from pipeline.store.store import Store
from schemas import KINDS, Kind


def last_day(store: Store, green: str | None = None) -> date | None:
    """The last day that any record speaks of which a figure may rest on; of one green also its station's.

    Of a record known to the month or year it is the last day of that, where it was over when the record was loaded,
    else the first. None where there is no record.
    """
    if green is not None:
        return last_days(store, green).get(green)
    own = " UNION ALL ".join(_of(kind, "") for kind in _OF_GREENS)
    ((found,),) = store.rows(f"SELECT max(last) FROM ({own})")  # noqa: S608 (names from KINDS)
    return found if isinstance(found, date) else None


def last_days(store: Store, green: str | None = None) -> dict[str, date]:
    """The same of each green, or of one; greens without a record are left out."""
    which = "" if green is None else " WHERE green = ?"
    parts = [_of(kind, which) for kind in _OF_GREENS] + [_of_station(kind, which) for kind in _OF_STATIONS]
    sql = (
        f"SELECT green, max(last) FROM ({' UNION ALL '.join(parts)}) "  # noqa: S608 (names from KINDS)
        "WHERE green IS NOT NULL AND last IS NOT NULL GROUP BY green ORDER BY green"
    )
    return dict(store.rows(sql, [] if green is None else [green] * len(parts)))


def _of(kind: Kind, which: str) -> str:
    table = f'(FROM "{kind.name}"{which}) AS r'
    if not kind.by_period:
        return f"SELECT green, max(date) AS last FROM {table} GROUP BY green"  # noqa: S608 (a name from KINDS)
    over = "CASE WHEN r.date_to <= CAST(l.loaded_at AS DATE) THEN r.date_to ELSE r.date END"
    loads = "JOIN meta.load AS l ON l.load_id = r.load_id"
    return f"SELECT r.green, max({over}) AS last FROM {table} {loads} GROUP BY r.green"  # noqa: S608 (a name from KINDS)


def _of_station(kind: Kind, which: str) -> str:
    """Of the station that stood for a green on each day."""
    return (
        f'SELECT g.green, max(r.date) AS last FROM "{kind.name}" AS r JOIN (FROM green_by_day{which}) AS g '  # noqa: S608
        "ON g.station = r.station AND (g.holds_from IS NULL OR r.date >= g.holds_from) "
        "AND (g.holds_until IS NULL OR r.date < g.holds_until) GROUP BY g.green"
    )


_OF_GREENS = tuple(kind for kind in KINDS.values() if kind.of_green and kind.attached)
_OF_STATIONS = tuple(kind for kind in KINDS.values() if kind.dated and not kind.of_green and kind.attached)
