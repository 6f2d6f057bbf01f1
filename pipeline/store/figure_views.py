"""Views of the figures in plain words, for whoever asks with SQL: each says its grain first."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.store.derived import DERIVED, FRESH
from pipeline.store.figure_log import LOG
from pipeline.store.sql_text import quoted

_HIDDEN = (
    "place",
    "evidence",
    "questioned",
    "decimals",
    "reached",
    "so_far",
    "unsure",
    "basis",
    "amounts",
    "doubts",
)
"""Columns of the table of figures that only documents need."""


def figure_views() -> Iterator[str]:
    """The statements that make the views of figures, with the comments of their columns."""
    for name, (comment, columns, body) in VIEWS.items():
        yield f"CREATE OR REPLACE VIEW {name} AS {body}"
        yield f"COMMENT ON VIEW {name} IS {quoted(comment)}"
        for column, text in columns.items():
            yield f'COMMENT ON COLUMN {name}."{column}" IS {quoted(text)}'


def _comments(table: str, *but: str) -> dict[str, str]:
    return {name: text for name, _, text in DERIVED[table][1] if name not in but}


_FIGURE = _comments("figure", *_HIDDEN)
_OF_SEASON = _comments("green_season", "loads", "rows_sha256")
_SEASON = {name: _OF_SEASON[name] for name in ("season_start", "season_end", "as_of", "data_version", "code_version")}
_GREEN = {"green": "green", "season": "season, named by the year it ends in", "as_of": "last day counted"}


def _one(indicator: str, value: str, more: dict[str, str]) -> tuple[dict[str, str], str]:
    """Columns and body of a view of one indicator, its value under a name with its unit."""
    columns = {**_GREEN, value: "the figure", **more}
    names = ", ".join(f'f."{name}"' for name in more)
    return columns, (
        f"SELECT f.green, f.season, s.as_of, f.value AS {value}{', ' if names else ''}{names} "  # noqa: S608 (names of ours)
        f"FROM derived.figure AS f JOIN derived.green_season AS s ON s.green = f.green AND s.season = f.season "
        f"WHERE f.indicator = '{indicator}' AND {FRESH}"
    )


_TOLD = {name: _FIGURE[name] for name in ("n", "standing", "target_low", "target_high", "in_question")}
_RANGE = {name: _FIGURE[name] for name in ("band", "low", "high")}
_MATTER = _one("organic_matter_pct", "organic_matter_pct", {**_RANGE, **_TOLD})
_DRESSING = _one("dressing_kg_m2", "dressing_kg_m2", _TOLD)
_NITROGEN = _one("nitrogen_kg_ha", "nitrogen_kg_ha", _TOLD)

_CHANGED = {name: text for name, _, text in LOG["figure_changed"][1] if name not in ("place", "lines")}
_OF_CHANGED = ("refresh", "green", "season", "indicator", "band")
_RUN = {name: text for name, _, text in LOG["figure_changed_line"][1] if name != "key"}
_DUE_TO = "(SELECT string_agg(concat_ws(' ', r.cause, r.number), ', ' ORDER BY r.cause, r.number) FROM meta.refresh_cause AS r WHERE r.refresh = c.refresh)"  # noqa: E501

VIEWS: dict[str, tuple[str, dict[str, str], str]] = {
    "figure": (
        "One figure of one green in one season (grain: green, season, indicator and band), as of its last day counted.",
        {**_FIGURE, **_SEASON},
        f"SELECT {', '.join(f'f.{name}' for name in _FIGURE)}, {', '.join(f's.{name}' for name in _SEASON)} "  # noqa: S608
        f"FROM derived.figure AS f JOIN derived.green_season AS s ON s.green = f.green AND s.season = f.season "
        f"WHERE {FRESH}",
    ),
    "figure_evidence": (
        "One line of a user's file behind one figure (grain: green, season, indicator, band and line).",
        {
            **{name: _FIGURE[name] for name in ("green", "season", "indicator", "band")},
            **_comments("evidence", "key", "place"),
            "in_question": "whether this line puts the figure in question",
        },
        "SELECT f.green, f.season, f.indicator, f.band, e.kind, e.load_id, e.file, e.line, "  # noqa: S608
        "EXISTS (SELECT 1 FROM derived.evidence AS q WHERE q.key = f.questioned AND q.load_id = e.load_id "
        "AND q.line = e.line AND q.kind = e.kind) AS in_question "
        f"FROM derived.figure AS f JOIN derived.evidence AS e ON e.key = f.evidence WHERE {FRESH}",
    ),
    "organic_matter": (
        "Organic matter of one layer of one green as it stood in one season (grain: green, season and band).",
        *_MATTER,
    ),
    "dressing_by_season": (
        "Top dressing put on one green in one season, kg/m² dry where moisture is known (grain: green and season).",
        *_DRESSING,
    ),
    "nitrogen_by_season": ("Nitrogen put on one green in one season (grain: green and season).", *_NITROGEN),
    "green_season": (
        "One green in one season with figures in the store (grain: green and season), and how many stand where.",
        {
            **_OF_SEASON,
            "figures": "figures of the season",
            "on_target": "figures within their target",
            "off_target": "figures below or above their target",
            "in_question": "figures that rest on an entry under a warning, or lack a rejected row",
        },
        "SELECT s.* EXCLUDE (loads, rows_sha256), count(f.green) AS figures, "  # noqa: S608
        "count(*) FILTER (WHERE f.standing = 'within') AS on_target, "
        "count(*) FILTER (WHERE f.standing IN ('below', 'above')) AS off_target, "
        "count(*) FILTER (WHERE f.in_question) AS in_question "
        "FROM derived.green_season AS s LEFT JOIN derived.figure AS f ON f.green = s.green AND f.season = s.season "
        f"WHERE {FRESH} GROUP BY ALL",
    ),
    "figure_change": (
        "One figure of one green in one season that came out otherwise when figures were brought up (grain: refresh, "
        "green, season, indicator and band). A season's first figures are not among them; no standing: there was or is "
        "no such figure.",
        {"refresh": _CHANGED["refresh"], "due_to": "all that it can be due to: loads, decisions by number", **_CHANGED},
        f"SELECT c.refresh, {_DUE_TO} AS due_to, {', '.join(f'c.{name}' for name in _CHANGED if name != 'refresh')} "  # noqa: S608
        "FROM meta.figure_changed AS c",
    ),
    "figure_change_evidence": (
        "One run of lines by which one figure differs from what it was (grain: refresh, green, season, indicator, "
        "band, way, file, load and first line).",
        {**{name: _CHANGED[name] for name in _OF_CHANGED}, **_RUN},
        f"SELECT {', '.join(f'c.{name}' for name in _OF_CHANGED)}, {', '.join(f'l.{name}' for name in _RUN)} "  # noqa: S608
        "FROM meta.figure_changed AS c JOIN meta.figure_changed_line AS l ON l.key = c.lines",
    ),
}
"""View → comment, columns with their comments, and body."""
