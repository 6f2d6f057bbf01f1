"""Which figures changed over a span: as they were first, as they are last, and the lines and loads behind it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from pipeline.common.closest import as_known
from pipeline.common.grouped import grouped
from pipeline.figures.span import Refresh, Span, span_asked
from pipeline.figures.state import standing
from pipeline.indicators.base.green_season import Evidence, Indicator, Verdict
from pipeline.indicators.base.judgement import judgement
from pipeline.store.figure_log import FIELDS
from pipeline.store.register import aliases_of
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace

_SHOWN = ("value", "unit", "low", "high", "standing", "target_low", "target_high")


@dataclass(frozen=True)
class Run:
    """Lines of a file that follow each other, by which a figure differs; ``way`` is one of figure_log.WAYS."""

    way: str
    kind: str
    load_id: int
    file: str
    first: int
    last: int


@dataclass(frozen=True)
class Step:
    """One refresh that changed a figure, and the lines by which it did; none where the lines are the same."""

    refresh: int
    runs: tuple[Run, ...]


@dataclass(frozen=True)
class FigureChange:
    """One figure as it was before the span and as it is after; None where there was or is none."""

    was: Indicator | None
    now: Indicator | None
    steps: tuple[Step, ...]

    @property
    def either(self) -> Indicator:
        """The figure as it is now, else as it was."""
        found = self.now or self.was
        assert found is not None
        return found


@dataclass(frozen=True)
class SeasonChange:
    """One green's season of which something changed.

    Attributes:
        green: its code.
        season: its name.
        club: code of its club, "" where the register does not hold the green any more.
        how: "came" where it had no figures before, "went" where it has none now, else "".
        number: figures of a season that came (as they stand) or went; else those that changed.
        was_as_of: last day counted before; None where there were no figures.
        as_of: last day counted now; None where there are none.
        figures: those that changed; none are listed of a season that came or went.
    """

    green: str
    season: str
    club: str
    how: str
    number: int
    was_as_of: date | None
    as_of: date | None
    figures: tuple[FigureChange, ...] = ()


@dataclass(frozen=True)
class Changed:
    """What changed since.

    Attributes:
        since: the load or day asked for, "" for the last refresh.
        refreshes: the refreshes of the span.
        notes: what must be known beside it.
        stale: why figures are not of the records, settings and code as they are; "" where they are.
        seasons: by green and season.
    """

    since: str
    refreshes: tuple[Refresh, ...]
    notes: tuple[str, ...]
    stale: str
    seasons: tuple[SeasonChange, ...] = field(default=())

    def as_json(self) -> dict[str, Any]:
        """The form of ``changed --json``."""
        return {
            "since": self.since,
            "stale": self.stale,
            "notes": list(self.notes),
            "refreshes": [
                {
                    "refresh": one.number,
                    "causes": [
                        {"cause": cause.what, "number": cause.number, "file": cause.file, "kind": cause.kind}
                        for cause in one.causes
                    ],
                }
                for one in self.refreshes
            ],
            "seasons": [_season_as_json(one) for one in self.seasons],
        }


def _season_as_json(one: SeasonChange) -> dict[str, Any]:
    return {
        "green": one.green, "club": one.club, "season": one.season, "how": one.how, "number": one.number,
        "was_as_of": one.was_as_of, "as_of": one.as_of, "figures": [_figure_as_json(figure) for figure in one.figures],
    }  # fmt: skip


def _figure_as_json(one: FigureChange) -> dict[str, Any]:
    told = one.either
    because = [
        {
            "refresh": step.refresh,
            "lines": [
                {
                    "way": run.way, "kind": run.kind, "load": run.load_id, "file": run.file, "first": run.first,
                    "last": run.last,
                }
                for run in step.runs
            ],
        }
        for step in one.steps
    ]  # fmt: skip
    return {
        "name": told.name, "band": told.band, "label": told.label,
        "was": _side_as_json(one.was), "now": _side_as_json(one.now), "because": because,
    }  # fmt: skip


def _side_as_json(one: Indicator | None) -> dict[str, Any] | None:
    if one is None:
        return None
    return {
        **{name: getattr(one, name) for name in _SHOWN},
        "judgement": judgement(one),
        "verdict": one.verdict.word if one.verdict else None,
        "in_question": bool(one.questioned),
    }


def changed(
    workspace: Workspace, *, since: str = "", greens: Sequence[str] = (), clubs: Sequence[str] = (), today: date
) -> Changed:
    """Which figures changed since a load, a decision or a day, that one included; "" asks what the last change did.

    Figures that came back to what they were are left out.

    Raises:
        WrongUsage: no such load, decision or day, or a green or club that is not known.
        CannotDo: the store cannot be read.
    """
    with Store(workspace.store, read_only=True) as store:
        club_of = dict(store.rows("SELECT green, club FROM green ORDER BY green"))
        wanted = _wanted(store, club_of, greens, clubs)
        span = span_asked(store, since, today)
        seasons = _seasons(store, span, club_of, wanted) if span.refreshes else ()
    return Changed(since, span.refreshes, span.notes, standing(workspace).stale, seasons)


def _wanted(
    store: Store, club_of: Mapping[str, str], greens: Sequence[str], clubs: Sequence[str]
) -> frozenset[str] | None:
    """Codes of the greens asked about, None for all; one that left the register is known while the log names it."""
    if not (greens or clubs):
        return None
    logged = store.rows(
        "SELECT green FROM meta.figure_changed UNION SELECT green FROM meta.season_changed ORDER BY ALL"
    )
    known = {*club_of, *(green for (green,) in logged)}
    own = as_known("green", greens, known, aliases_of(store.current("green")))
    asked = set(as_known("club", clubs, {club for (club,) in store.rows("SELECT club FROM club ORDER BY club")}))
    return frozenset({*own, *(green for green, club in club_of.items() if club in asked)})


def _seasons(
    store: Store, span: Span, club_of: Mapping[str, str], wanted: frozenset[str] | None
) -> tuple[SeasonChange, ...]:
    first = span.refreshes[0].number
    where, asked = "refresh >= $first", {"first": first, "greens": sorted(wanted or ())}
    where += " AND list_contains($greens, green)" if wanted is not None else " AND len($greens) = 0"
    sql = f"SELECT * FROM meta.season_changed WHERE {where}"  # noqa: S608 (ours)
    ended = grouped(store.frame(sql, by=["refresh"], **asked).iter_rows(named=True), _green_season)
    sql = f"SELECT * FROM meta.figure_changed WHERE {where}"  # noqa: S608 (ours)
    rows = store.frame(sql, by=["green", "season", "refresh"], **asked)
    runs = _runs(store, sorted(set(rows["lines"]) - {""}))
    figures = grouped(rows.iter_rows(named=True), _green_season)
    stands = {(green, season): (number, as_of) for green, season, number, as_of in store.rows(_STANDS)} if ended else {}
    found = (
        _season(key, club_of.get(key[0], ""), ended.get(key, []), figures.get(key, []), runs, stands)
        for key in sorted({*ended, *figures})
    )
    return tuple(one for one in found if one)


def _green_season(row: Mapping[str, Any]) -> tuple[str, str]:
    return row["green"], row["season"]


_STANDS = (
    "SELECT s.green, s.season, count(f.green), s.as_of FROM derived.green_season AS s "
    "LEFT JOIN derived.figure AS f USING (green, season) GROUP BY ALL ORDER BY ALL"
)
"""How many figures stand of each green and season, and their last day counted."""


def _runs(store: Store, keys: Sequence[str]) -> dict[str, tuple[Run, ...]]:
    """The runs of lines of each key."""
    sql = "SELECT * FROM meta.figure_changed_line WHERE list_contains($keys, key)"
    found: dict[str, list[Run]] = {}
    columns = ("key", "way", "kind", "load_id", "file", "first_line", "last_line")
    by = ("key", "way", "file", "load_id", "first_line")
    for key, *run in store.frame(sql, by=by, keys=list(keys)).select(columns).iter_rows():
        found.setdefault(key, []).append(Run(*run))
    return {key: tuple(some) for key, some in found.items()}


def _season(
    key: tuple[str, str],
    club: str,
    ended: Sequence[Mapping[str, Any]],
    rows: Sequence[Mapping[str, Any]],
    runs: Mapping[str, tuple[Run, ...]],
    stands: Mapping[tuple[str, str], tuple[int, date]],
) -> SeasonChange | None:
    """What a green's season came to over the span; None where nothing of it is other than it was."""
    none_before, none_now = bool(ended) and ended[0]["came"], bool(ended) and not ended[-1]["came"]
    if none_before and none_now:
        return None
    if none_before:
        number, as_of = stands[key]
        return SeasonChange(*key, club, "came", number, None, as_of)
    if none_now:
        return SeasonChange(*key, club, "went", ended[-1]["figures"], ended[0]["as_of"], None)
    of = grouped(rows, lambda row: (row["indicator"], row["band"]))
    own = [some for some in of.values() if any(some[0][f"was_{one}"] != some[-1][f"now_{one}"] for one in FIELDS)]
    if not own:
        return None
    own.sort(key=lambda some: (some[-1]["place"], some[-1]["indicator"], some[-1]["band"]))
    figures = tuple(
        FigureChange(
            _side(some[0], "was"),
            _side(some[-1], "now"),
            tuple(Step(row["refresh"], runs.get(row["lines"], ())) for row in some),
        )
        for some in own
    )
    return SeasonChange(*key, club, "", len(figures), rows[0]["was_as_of"], rows[-1]["now_as_of"], figures)


def _side(row: Mapping[str, Any], side: str) -> Indicator | None:
    """The figure before or after, with what was kept of it; None where there was none."""
    told = {name: row[f"{side}_{name}"] for name in FIELDS}
    if told["standing"] is None:
        return None
    word, in_question = told.pop("verdict"), told.pop("in_question")
    return Indicator(
        name=row["indicator"], label=row["label"], band=row["band"], n=0,
        verdict=Verdict(word, "") if word else None, questioned=(_SOMEWHERE,) if in_question else (), **told,
    )  # fmt: skip


_SOMEWHERE = Evidence("", 0, "")
"""Stands for the lines that put a figure in question: what they are is said by the steps."""
