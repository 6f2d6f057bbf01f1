"""The log of figures: what each refresh made otherwise and what that was due to, kept as it writes them.

Figures before a load that is taken back cannot be made again, for its records are gone: so it is kept when it happens.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.figures.staged import NEW
from pipeline.figures.state import code_version, settings_version
from pipeline.figures.table import seasons_frame
from pipeline.store.decisions import next_number
from pipeline.store.figure_log import FIELDS
from pipeline.store.store import Store
from pipeline.workspace.settings import Settings

Cause = tuple[str, int | None]
"""What a refresh was due to, and the number of a load or decision."""


@dataclass(frozen=True)
class Log:
    """The log of one refresh, inside its transaction.

    Attributes:
        store: the store whose figures are brought up.
        refresh: which time it is.
        told: whether what was there before is known; else no figure can be said to have changed.
    """

    store: Store
    refresh: int
    told: bool

    def made(self) -> None:
        """Keep what the rows of ``NEW`` change; to be called before those that stand there are taken out."""
        if self.told:
            self._figures(_changed(_NEW), NEW["evidence"])
            self._seasons(_CAME, came=True)

    def gone(self, wanted: Sequence[tuple[str, str]]) -> None:
        """Keep that seasons have no figures any more, and each figure they had; before they are taken out."""
        if not self.told or not wanted:
            return
        gone_frame = seasons_frame(wanted).with_columns(as_of=pl.lit(None, pl.Date)).to_arrow()  # noqa: F841 (named in the SQL)
        self.store.con.execute(f"CREATE OR REPLACE TEMP TABLE {_GONE} AS FROM gone_frame")
        self._figures(_changed("SELECT * FROM derived.figure WHERE false", _GONE), "derived.evidence")
        self._seasons(_WENT, came=False)
        self.store.con.execute(f"DROP TABLE {_GONE}")

    def _seasons(self, sql: str, *, came: bool) -> None:
        self.store.con.execute(
            f"INSERT INTO meta.season_changed SELECT ?, green, season, ?, figures, as_of FROM ({sql}) ORDER BY ALL",  # noqa: S608
            [self.refresh, came],
        )

    def _figures(self, changed: str, lines: str) -> None:
        """Keep changed figures, and the lines by which they differ: those of several figures once."""
        con = self.store.con
        con.execute(f"CREATE OR REPLACE TEMP TABLE changed AS {changed}")
        if self.store.rows("SELECT count(*) FROM changed") == [(0,)]:
            return
        con.execute(f"CREATE OR REPLACE TEMP TABLE differing AS {_runs(lines)}")
        con.execute(f"CREATE OR REPLACE TEMP TABLE keyed AS SELECT {_OF}, {_KEY} AS key FROM differing GROUP BY {_OF}")  # noqa: S608
        con.execute(
            f"INSERT INTO meta.figure_changed_line BY NAME SELECT DISTINCT k.key, {_RUN} "  # noqa: S608 (names of ours)
            f"FROM differing AS d JOIN keyed AS k USING ({_OF}) "
            "ANTI JOIN meta.figure_changed_line AS l ON l.key = k.key ORDER BY ALL"
        )
        con.execute(
            "INSERT INTO meta.figure_changed BY NAME SELECT CAST(? AS BIGINT) AS refresh, "  # noqa: S608 (names of ours)
            f"c.* EXCLUDE ({_KEYS}), coalesce(k.key, '') AS lines "
            f"FROM changed AS c LEFT JOIN keyed AS k USING ({_OF}) ORDER BY green, season, place, indicator, band",
            [self.refresh],
        )
        for table in ("changed", "differing", "keyed"):
            con.execute(f"DROP TABLE {table}")


_OF = "green, season, indicator, band"
_SEASON = "green, season"
_KEYS = "was_evidence, was_questioned, now_evidence, now_questioned"
_RUN = "way, kind, load_id, file, first_line, last_line"
_KEY = f"left(md5(string_agg(concat_ws(chr(31), {_RUN}), chr(30) ORDER BY way, kind, load_id, file, first_line)), 20)"
_GONE = "gone_season"
_ONCE = f"(SELECT {_SEASON} FROM derived.green_season UNION SELECT {_SEASON} FROM meta.season_changed WHERE NOT came)"  # noqa: S608
"""Seasons that have figures or had some once."""
_NEW = f"SELECT * FROM {NEW['figure']} SEMI JOIN {_ONCE} USING ({_SEASON})"  # noqa: S608 (names of ours)
_CAME = (
    f"SELECT s.green, s.season, s.as_of, count(f.green) AS figures FROM {NEW['green_season']} AS s "  # noqa: S608 (names of ours)
    f"LEFT JOIN {NEW['figure']} AS f USING ({_SEASON}) ANTI JOIN derived.green_season USING ({_SEASON}) GROUP BY ALL"
)
_WENT = (
    f"SELECT s.green, s.season, s.as_of, count(f.green) AS figures FROM derived.green_season AS s "  # noqa: S608
    f"SEMI JOIN {_GONE} USING ({_SEASON}) LEFT JOIN derived.figure AS f USING ({_SEASON}) GROUP BY ALL"
)


def _changed(new: str, seasons: str = NEW["green_season"]) -> str:
    """Figures of these seasons that differ before and after, side by side; a side may be NULL."""
    sides = {"was": "o", "now": "n"}
    both = [f"{at}.{name} AS {side}_{name}" for side, at in sides.items() for name in (*FIELDS, *_LINES)]
    told = [f"coalesce(n.{name}, o.{name}) AS {name}" for name in ("place", "label")]
    differs = " OR ".join(f"o.{name} IS DISTINCT FROM n.{name}" for name in FIELDS)
    return (
        f"SELECT {_OF}, {', '.join(told)}, {', '.join(both)}, s.as_of AS was_as_of, t.as_of AS now_as_of "  # noqa: S608
        f"FROM (SELECT * FROM derived.figure SEMI JOIN {seasons} USING ({_SEASON})) AS o "
        f"FULL JOIN ({new}) AS n USING ({_OF}) "
        f"LEFT JOIN derived.green_season AS s USING ({_SEASON}) LEFT JOIN {seasons} AS t USING ({_SEASON}) "
        f"WHERE {differs}"
    )


_LINES = {"evidence": "false", "questioned": "true"}


def _runs(lines: str) -> str:
    """Runs of lines that changed figures rest on, or are put in question by, either before or after; by figure."""
    read = {
        side: " UNION ALL ".join(
            f"SELECT {_OF}, {asks} AS asks, e.kind, e.load_id, e.file, e.line "  # noqa: S608 (names of ours)
            f"FROM changed AS c JOIN {table} AS e ON e.key = c.{side}_{name}"
            for name, asks in _LINES.items()
        )
        for side, table in (("was", "derived.evidence"), ("now", lines))
    }
    ways = {"now": ("came", "questioned"), "was": ("went", "answered")}
    apart = " UNION ALL ".join(
        f"SELECT *, CASE WHEN asks THEN '{asked}' ELSE '{plain}' END AS way FROM (FROM {side}_line EXCEPT FROM {other}_line)"  # noqa: S608, E501
        for (side, (plain, asked)), other in zip(ways.items(), ("was", "now"), strict=True)
    )
    of = f"{_OF}, way, kind, load_id, file"
    return (
        f"WITH was_line AS ({read['was']}), now_line AS ({read['now']}), apart AS ({apart}), "  # noqa: S608
        f"run AS (SELECT *, line - row_number() OVER (PARTITION BY {of} ORDER BY line) AS run FROM apart) "
        f"SELECT {of}, min(line) AS first_line, max(line) AS last_line FROM run GROUP BY {of}, run"
    )


def begin(store: Store, settings: Settings) -> Log:
    """The log of a refresh that begins, with what it is due to entered; inside its transaction."""
    ((last, upto),) = store.rows("SELECT max(refresh), max(upto) FROM meta.refresh")
    state = store.rows("SELECT records, settings_version, code_version FROM derived.state")
    told, number = bool(state) or last is None, (last or 0) + 1
    store.con.execute("INSERT INTO meta.refresh VALUES (?, ?)", [number, next_number(store) - 1])
    if told:
        records, *made_by = state[0] if state else ("0/0/0/0/0",)
        former = [int(part) for part in records.split("/")]
        causes = list(_of_records(store, former, max(former[0], former[3]) if upto is None else upto))
        now = (settings_version(settings), code_version())
        causes += [(cause, None) for cause, was, is_ in zip(("settings", "version"), made_by, now) if was != is_]  # noqa: B905
    else:
        causes = [("anew", None)]
    for cause in causes:
        store.con.execute("INSERT INTO meta.refresh_cause VALUES (?, ?, ?)", [number, *cause])
    return Log(store, number, told)


def _of_records(store: Store, former: Sequence[int], upto: int) -> Iterator[Cause]:
    """Loads and decisions that came or were taken back since; none that came and went since.

    Args:
        store: the store.
        former: the state of the records before, part by part.
        upto: largest number of a load or decision by then.
    """
    _, _, undone, _, taken_back = former
    asked: dict[str, tuple[str, list[int]]] = {
        "load": ("SELECT load_id FROM meta.load WHERE load_id > ? ORDER BY load_id", [upto]),
        "decision": (
            "SELECT decision FROM meta.decision WHERE decision > ? AND taken_back_at IS NULL ORDER BY decision",
            [upto],
        ),
        "undo": (
            "SELECT load_id FROM (SELECT load_id, row_number() OVER (ORDER BY rowid) AS place FROM meta.undone) "
            "WHERE load_id <= ? AND place > ? ORDER BY place",
            [upto, undone],
        ),
        "decision taken back": (
            "SELECT decision FROM (SELECT decision, row_number() OVER (ORDER BY decision NOT IN (SELECT number FROM "
            "meta.refresh_cause WHERE cause = 'decision taken back'), taken_back_at, decision) AS place "
            "FROM meta.decision WHERE taken_back_at IS NOT NULL AND decision <= ?) WHERE place > ? ORDER BY decision",
            [upto, taken_back],
        ),
    }
    for cause, (sql, parameters) in asked.items():
        for (number,) in store.rows(sql, parameters):
            yield cause, number
