"""The records of greens as far as what is due on them asks for: read in part, for few of a log's jobs are asked for.

Of jobs those from the season before the one in hand on, each green's first, and what was fed or dressed before; of
soil tests those of organic matter; of readings of speed the timed bowls; days of weather; of anything else none, but
that it counts for the last day on record. What is worked out of these is what all records would come to.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from pipeline.indicators.base.look import Look
from pipeline.indicators.base.looked_at import as_looked_at
from pipeline.indicators.base.part import Part
from pipeline.indicators.base.programmes import season_on
from pipeline.indicators.base.records import Records
from pipeline.plan.due_log import season_holding
from pipeline.store.sql_text import between
from pipeline.store.store import Store
from pipeline.workspace.settings import Season

_JOB = (
    "green", "date", "date_to", "operation", "material", "hours", "cost", "treated_area_m2", "mass_kg", "volume_l",
    "packs", "rate_g_m2", "rate_ml_m2", "reference", "logged_by", "file", "line", "load_id",
)  # fmt: skip
_LABEL = (
    "in_register", "sort", "form", "n_pct", "p_pct", "k_pct", "mg_pct", "s_pct", "fe_pct", "ca_pct", "mn_pct",
    "analysis_by", "analysis_basis", "density_kg_l", "bulk_density_t_m3", "moisture_pct", "moisture_basis", "pack_kg",
    "release_weeks",
)  # fmt: skip
_SAMPLE = (
    "green", "analyte", "date", "date_to", "depth_from_mm", "depth_to_mm", "extractant", "lab", "sample", "reference",
    "file", "line", "load_id",
)  # fmt: skip
_BOWL = ("green", "date", "rink", "direction", "device", "value", "distance_m", "file", "line", "load_id")
_ASKED = "JOIN (SELECT unnest($greens::VARCHAR[]) AS green, unnest($since::DATE[]) AS since) AS a ON a.green = r.green"


def _columns(names: Sequence[str]) -> str:
    return ", ".join(f"r.{name}" for name in names)


def _of_asked(columns: str, table: str, where: str = "true") -> str:
    return f"SELECT {columns} FROM {table} AS r {_ASKED} WHERE {between('r.green', 'greens')} AND ({where})"  # noqa: S608 (SQL of ours)


_FIRST = f"({_of_asked('(r.green, min(r.date))', 'job')} GROUP BY r.green)"
_SINCE = "coalesce(r.date_to, r.date) >= a.since"
_OF = {"job": _columns(_JOB), "application": _columns((*_JOB, *_LABEL))}


def jobs_since(table: str, more: str = "") -> str:
    """SQL of jobs, or of what was put on, of ``$greens``, of each since its day of ``$since``, and of its first job.

    Args:
        table: ``job`` or ``application``.
        more: which other jobs are read.
    """
    return _of_asked(_OF[table], table, f"{_SINCE} OR (r.green, r.date) IN {_FIRST} {more}")


_MAY_HAVE_FED = "r.date_to IS NOT NULL AND (r.material IS NOT NULL OR r.operation = 'top_dressing')"
"""SQL of jobs of a month or year which may be of a day after the last that is known."""
_FED = "r.operation IN ('top_dressing', 'fertilising') OR r.sort = 'top_dressing' OR r.n_pct > 0"
"""SQL of what was put on that the last dressing, or the last feed, may be."""
_SQL = {
    "job": jobs_since("job", f"OR r.operation = 'fertilising' OR {_MAY_HAVE_FED}"),
    "application": _of_asked(_OF["application"], "application", f"{_SINCE} OR {_FED}"),
    "soil_test": _of_asked(_columns(_SAMPLE), "soil_test", "r.analyte = 'organic_matter'"),
    "green_speed": _of_asked(_columns(_BOWL), "green_speed", "r.device = 'timed_bowl' AND r.date >= a.since"),
    "weather_day": f"SELECT * FROM weather_day WHERE station IN ({_of_asked('r.station', 'green_by_day')})",  # noqa: S608 (SQL of ours)
}  # fmt: skip


def due_records(
    store: Store, look: Look, greens: Sequence[str], span: Season, last_days: Mapping[str, date]
) -> Records:
    """The records that what is due on some greens is made from.

    Args:
        store: opened for this look.
        look: what counts.
        greens: codes of the greens.
        span: the season in hand.
        last_days: of each green the last day on record, by all its records.
    """
    since = [_since(span, look.as_of or last_days.get(green)) for green in greens]
    part = Part(_SQL, {"greens": list(greens), "since": since}, span.start)
    records = as_looked_at(store, look, greens, part)
    return replace(records, last_days={green: last_days[green] for green in greens if green in last_days})


def _since(span: Season, last: date | None) -> date:
    """The first day of jobs that may be of a line still to be done: of the season before that of the last on record."""
    return min(span.start, season_on(season_holding(span, last or span.start), -1).start)
