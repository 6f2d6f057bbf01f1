"""Which greens the records have changed for since figures were made: asked of the store, not of the figures.

Each green has a mark of all that its figures can rest on. It may change where no figure does (a file loaded again under
another number); it does not stay where one does.
"""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.indicators.base.reading import file_days_sql
from pipeline.store.sql_text import quoted
from pipeline.store.store import Store
from schemas import AHEAD, KINDS

_GREENS = "(SELECT DISTINCT green, club, station FROM green_by_day)"
_EVERY = "(SELECT DISTINCT green FROM green_by_day)"


def green_marks(store: Store) -> dict[str, str]:
    """The mark of each green in the register."""
    parts = " UNION ALL ".join(f"({part})" for part in _parts())
    sql = (
        "SELECT green, concat_ws('/', count(*), bit_xor(h), sum(h % 4294967296)) "  # noqa: S608 (SQL of ours)
        f"FROM ({parts}) WHERE green IS NOT NULL GROUP BY green ORDER BY green"
    )
    return dict(store.rows(sql))


def marks_held(store: Store) -> dict[str, str]:
    """The mark of each green as its figures were made."""
    return dict(store.rows("SELECT green, mark FROM derived.green_mark ORDER BY green"))


def _parts() -> Iterator[str]:
    """Queries that each give a green and the mark of something it rests on."""
    for number, kind in enumerate(KINDS.values()):
        row = f"hash({number}, k)"
        if kind.of_green and kind.by_name["green"].required:
            yield f'SELECT green, {row} AS h FROM "{kind.name}" AS k'  # noqa: S608 (names from KINDS)
        elif kind.of_green:
            yield f'SELECT g.green, {row} AS h FROM "{kind.name}" AS k JOIN {_EVERY} AS g ON k.green IS NULL OR k.green = g.green'  # noqa: S608, E501
        elif kind.dated:
            station = f'SELECT station, bit_xor({row}) AS h FROM "{kind.name}" AS k GROUP BY station'  # noqa: S608
            yield f"SELECT g.green, hash({number}, s.h) AS h FROM ({station}) AS s JOIN {_GREENS} AS g USING (station)"  # noqa: S608
    yield "SELECT green, hash('green', k) AS h FROM green_by_day AS k"
    yield f"SELECT g.green, hash('club', k) AS h FROM club AS k JOIN {_GREENS} AS g ON g.club = k.club"  # noqa: S608
    yield f"SELECT u.green, hash('material', k) AS h FROM ({_USED}) AS u JOIN material_by_day AS k ON k.material = u.material"  # noqa: S608, E501
    yield f"SELECT g.green, hash('target', k) AS h FROM target AS k JOIN ({_SCOPES}) AS g ON {_HOLDS}"  # noqa: S608
    yield f"SELECT g.green, hash('fault', k.h) AS h FROM ({_FAULTS}) AS k JOIN {_EVERY} AS g ON k.green IS NULL OR k.green = g.green"  # noqa: S608, E501
    yield f"SELECT g.green, hash('decision', d.decision, d.decided, d.taken_back_at IS NULL) AS h FROM meta.decision AS d, {_EVERY} AS g"  # noqa: S608, E501


_USED = (
    "SELECT green, material FROM job UNION SELECT green, material FROM sieve "  # noqa: S608 (SQL of ours)
    f"UNION SELECT g.green, s.material FROM sieve AS s, {_EVERY} AS g WHERE s.green IS NULL"
)
"""Materials that a green's figures name."""
_SCOPES = f"SELECT g.green, g.club, c.region FROM {_GREENS} AS g LEFT JOIN club AS c ON c.club = g.club"  # noqa: S608
_HOLDS = (
    "k.scope = 'standard' OR (k.scope = 'green' AND k.scope_name = g.green) "
    "OR (k.scope = 'club' AND k.scope_name = g.club) OR (k.scope = 'region' AND k.scope_name = g.region)"
)
_LAST = "(SELECT max(n.load_id) FROM meta.load AS n WHERE n.file = l.file)"
_MENDED = "(SELECT max(n.load_id) FROM meta.load AS n WHERE n.file LIKE '%rejected%')"
_FAULTS = (
    "SELECT f.green, hash(f, CASE WHEN f.severity = 'error' THEN "  # noqa: S608 (SQL of ours)
    f"hash({_LAST}, {_MENDED}, d.first, d.last) END) AS h FROM meta.fault AS f "
    f"JOIN meta.load AS l ON l.load_id = f.load_id LEFT JOIN ({file_days_sql()}) AS d ON d.file = l.file "
    f"WHERE l.kind NOT IN ({', '.join(map(quoted, AHEAD))}) AND f.line IS NOT NULL "
    "AND (f.severity = 'warning' OR (f.severity = 'error' AND f.green IS NOT NULL))"
)
"""Warnings, and rejected rows with what tells whether they are still outside."""
