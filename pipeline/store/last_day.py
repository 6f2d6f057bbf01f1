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
    parts = [_of(kind, green is not None) for kind in KINDS.values() if kind.of_green and kind.attached]
    if green is not None:
        parts += [_of_station(kind) for kind in KINDS.values() if kind.dated and not kind.of_green]
    sql = f"SELECT max(last) FROM ({' UNION ALL '.join(parts)})"  # noqa: S608 (names from KINDS)
    ((found,),) = store.rows(sql, [] if green is None else [green] * len(parts))
    return found if isinstance(found, date) else None


def _of(kind: Kind, of_one: bool) -> str:
    where = " WHERE r.green = ?" if of_one else ""
    if not kind.by_period:
        return f'SELECT max(date) AS last FROM "{kind.name}" AS r{where}'  # noqa: S608 (a name from KINDS)
    over = "CASE WHEN r.date_to <= CAST(l.loaded_at AS DATE) THEN r.date_to ELSE r.date END"
    return f'SELECT max({over}) AS last FROM "{kind.name}" AS r JOIN meta.load AS l USING (load_id){where}'  # noqa: S608


def _of_station(kind: Kind) -> str:
    """Of the station that stood for the green on each day."""
    return (
        f'SELECT max(r.date) AS last FROM "{kind.name}" AS r JOIN green_by_day AS g ON g.station = r.station '  # noqa: S608
        "AND (g.holds_from IS NULL OR r.date >= g.holds_from) AND (g.holds_until IS NULL OR r.date < g.holds_until) "
        "WHERE g.green = ?"
    )
