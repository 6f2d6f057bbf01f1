"""The table of figures in the store: which seasons stand in it, what is written, and what is read back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from operator import attrgetter
from typing import TYPE_CHECKING, Any

from pipeline.figures.rows import as_row, from_row
from pipeline.figures.sealed import seals_of
from pipeline.figures.staged import NEW
from pipeline.figures.state import code_version, settings_version, state_of
from pipeline.indicators.base.green_season import Evidence, Indicator
from pipeline.store.derived import DERIVED, RECORDS
from pipeline.store.store import Store
from pipeline.workspace.settings import Season, Settings

if TYPE_CHECKING:
    import polars as pl

    from pipeline.compare.figures import Figure as Compared

TYPES: dict[str, Any] = {"VARCHAR": str, "DOUBLE": float, "BIGINT": int, "BOOLEAN": bool, "DATE": date}


@dataclass(frozen=True)
class Made:
    """The figures of a green and season, to be written.

    ``named`` is what green and club are called, ``compared`` what is compared of them with other greens'.
    """

    green: str
    season: Season
    as_of: date
    data_version: str
    loads: str
    figures: Sequence[Indicator]
    named: Mapping[str, str]
    compared: Sequence[Compared]


def figures_in(
    store: Store, settings: Settings, season: str, greens: Sequence[str], *, lines: bool = True
) -> dict[str, tuple[Indicator, ...]]:
    """Figures of greens in a season as they stand in the store, by green, in the order of the report.

    A green without any there is left out, and so are all while the figures are not of the records as they are: they are
    made from the records then.

    Args:
        store: open.
        settings: of the workspace now.
        season: its name.
        greens: greens.
        lines: whether the lines behind each figure are asked for, which takes a scan of all of them: without, evidence
            is empty; the lines in question are always there.
    """
    if not state_of(store, settings).fresh:
        return {}
    asked = [season, list(greens)]
    where = "season = ? AND green IN (SELECT unnest(?))"
    held = store.rows(f"SELECT green FROM derived.green_season WHERE {where} ORDER BY green", asked)  # noqa: S608
    rows = store.dicts(f"SELECT * FROM derived.figure WHERE {where} ORDER BY green, place", asked)  # noqa: S608
    wanted = {row["questioned"] for row in rows}.union(row["evidence"] for row in rows if lines)
    places = _places(store, wanted - {""})
    found: dict[str, list[Indicator]] = {green: [] for (green,) in held}
    for row in rows:
        behind = places[row["evidence"]] if lines else ()
        found[row["green"]].append(from_row(row, behind, places[row["questioned"]]))
    return {green: tuple(figures) for green, figures in found.items()}


def _places(store: Store, keys: Set[str]) -> dict[str, list[Evidence]]:
    """The lines that stand under keys, in their order; none under ""."""
    places: dict[str, list[Evidence]] = {"": []}
    if keys:
        sql = (
            "SELECT key, kind, load_id, file, line FROM derived.evidence "
            "SEMI JOIN (SELECT unnest(?) AS key) USING (key) ORDER BY key, place"
        )
        for key, kind, load_id, file, line in store.rows(sql, [sorted(keys)]):
            places.setdefault(key, []).append(Evidence(file, line, kind, load_id))
    return places


def rows_of(made: Iterable[Made]) -> dict[str, pl.DataFrame]:
    """The rows of greens and seasons, their figures and the lines behind them, by table."""
    seasons: list[dict[str, Any]] = []
    figures: list[dict[str, Any]] = []
    keys = _Keys()
    made = list(made)  # held until all are looked at
    compared: list[dict[str, Any]] = []
    for one in made:
        of = {"green": one.green, "season": one.season.name}
        compared += [{**of, "place": place, **_as_compared(it)} for place, it in enumerate(one.compared, start=1)]
        seasons.append(
            {
                "green": one.green, "season": one.season.name, "season_start": one.season.start,
                "season_end": one.season.end, "as_of": one.as_of, "data_version": one.data_version,
                "code_version": code_version(), "loads": one.loads, **one.named,
            }
        )  # fmt: skip
        for place, figure in enumerate(one.figures, start=1):
            row = as_row(figure)
            for name in ("evidence", "questioned"):
                row[name] = keys.of(row[name])
            figures.append({**of, "place": place, **row})
    frames = {"figure": frame_of("figure", figures), "compared": frame_of("compared", compared)}
    seals = seals_of(frames.items())
    for row in seasons:
        row["rows_sha256"] = seals.get((row["green"], row["season"]), "")
    return {
        "green_season": frame_of("green_season", seasons),
        **frames,
        "evidence": _lines(keys.lists),
    }


def _as_compared(one: Compared) -> dict[str, Any]:
    told = {name: getattr(one, name) for name in ("value", "low", "high", "sd", "sampled", "questioned")}
    return {"indicator": one.topic.name, "band": one.topic.band, "method": one.topic.method, **told}


def write(store: Store) -> None:
    """Add the rows of ``NEW`` to the store, as part of its transaction; what stood there has been taken out.

    Lines that several figures name stand once: of those that several lots bring, the first lot's.
    """
    for table in NEW:
        if table != "evidence":
            store.con.execute(_added(table, NEW[table]))
    lines = NEW["evidence"]
    store.con.execute(
        f"CREATE TEMP TABLE unheld AS SELECT key, min(lot) AS lot FROM {lines} "  # noqa: S608 (names of ours)
        "ANTI JOIN derived.evidence USING (key) GROUP BY key"
    )
    store.con.execute(_added("evidence", f"{lines} SEMI JOIN unheld USING (key, lot) ORDER BY lot, at_place"))
    store.con.execute("DROP TABLE unheld")


def take_out(store: Store, wanted: Sequence[tuple[str, str]]) -> None:
    """Take the figures of greens and seasons out of the store; ``settle`` then drops lines that they alone named."""
    store.con.execute("CREATE TEMP TABLE let_go (key VARCHAR)")
    if not wanted:
        return
    asked_frame = seasons_frame(wanted).to_arrow()  # noqa: F841 (named in the SQL)
    store.con.execute(
        "INSERT INTO let_go SELECT DISTINCT unnest([evidence, questioned]) FROM derived.figure "
        "SEMI JOIN asked_frame USING (green, season)"
    )
    for table in ("figure", "green_season", "compared"):
        take_out_of(store, table, wanted)


def take_out_of(store: Store, table: str, wanted: Sequence[tuple[str, str]], where: str = "true") -> None:
    """Take what a table of schema ``derived`` holds of greens and seasons out of it, where this SQL holds."""
    if not wanted:
        return
    asked_frame = seasons_frame(wanted).to_arrow()  # noqa: F841 (named in the SQL)
    store.con.execute(
        f"DELETE FROM derived.{table} WHERE {where} AND EXISTS (SELECT 1 FROM asked_frame AS a "  # noqa: S608 (names of ours)
        f"WHERE a.green = {table}.green AND a.season = {table}.season)"
    )


def seasons_frame(wanted: Sequence[tuple[str, str]]) -> pl.DataFrame:
    """Greens and seasons as a frame."""
    import polars as pl

    return pl.DataFrame(wanted, schema={"green": pl.String, "season": pl.String}, orient="row")


def settle(store: Store, settings: Settings, marks: Mapping[str, str]) -> None:
    """Say that every figure is of the records as they are, and drop lines that none rests on any more."""
    store.con.execute(
        "DELETE FROM derived.evidence WHERE key IN (SELECT key FROM let_go "
        "ANTI JOIN derived.figure AS f ON f.evidence = key ANTI JOIN derived.figure AS q ON q.questioned = key)"
    )
    store.con.execute("DROP TABLE let_go")
    for table in ("state", "green_mark"):
        store.con.execute(f"DELETE FROM derived.{table}")  # noqa: S608 (names of ours)
    insert(store, "green_mark", frame_of("green_mark", [{"green": green, "mark": one} for green, one in marks.items()]))
    store.con.execute(
        f"INSERT INTO derived.state SELECT {RECORDS}, ?, ?", [settings_version(settings), code_version()]
    )  # fmt: skip


class _Keys:
    """What lists of lines are named by: twenty characters that change with any line.

    Figures of a season share their lists of lines, and lists their lines, so that most are looked at once. They are
    known by their place in memory: the figures must be held meanwhile.
    """

    def __init__(self) -> None:
        self.lists: dict[str, Sequence[Evidence]] = {}
        self._keys: dict[int, str] = {}
        self._told: dict[int, bytes] = {}

    def of(self, places: Sequence[Evidence]) -> str:
        """The key of a list of lines; "" of none."""
        if not places:
            return ""
        if id(places) not in self._keys:
            told = self._told
            key = sha256(b"".join([told.get(id(at)) or self._line(at) for at in places])).hexdigest()[:20]
            self._keys[id(places)] = key
            self.lists[key] = places
        return self._keys[id(places)]

    def _line(self, at: Evidence) -> bytes:
        told = repr((at.kind, at.file, at.line, at.load_id)).encode("utf-8", "surrogatepass")
        self._told[id(at)] = told
        return told


def _lines(evidence: Mapping[str, Sequence[Evidence]]) -> pl.DataFrame:
    """The lines behind figures, by key and place: made column by column, for they are many."""
    import polars as pl

    every = [at for places in evidence.values() for at in places]
    columns = {
        "key": [key for key, places in evidence.items() for _ in places],
        "place": [place for places in evidence.values() for place in range(1, len(places) + 1)],
        **{name: list(map(attrgetter(name), every)) for name in ("kind", "load_id", "file", "line")},
    }
    return pl.DataFrame(columns, schema=_schema("evidence"))


def frame_of(table: str, rows: Sequence[Mapping[str, Any]]) -> pl.DataFrame:
    """Rows of a table of schema ``derived`` as a frame."""
    import polars as pl

    from pipeline.common.zeros import one_zero

    return one_zero(pl.DataFrame(rows, schema=_schema(table), orient="row"))


def _schema(table: str) -> dict[str, Any]:
    return {name: TYPES[declared.removesuffix(" NOT NULL")] for name, declared, _ in DERIVED[table][1]}


def insert(store: Store, table: str, frame: pl.DataFrame) -> None:
    """Add rows to a table of schema ``derived``, as part of the store's transaction."""
    made_frame = frame.to_arrow()  # noqa: F841 (named in the SQL: one that is registered lives until the transaction ends)
    store.con.execute(_added(table, "made_frame"))


def _added(table: str, rows: str) -> str:
    """SQL that adds the columns of a table of schema ``derived`` that these rows have."""
    names = ", ".join(f'"{name}"' for name in _schema(table))
    return f"INSERT INTO derived.{table} ({names}) SELECT {names} FROM {rows}"  # noqa: S608 (names of ours)
