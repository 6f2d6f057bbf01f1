"""Which seasons a green has records of: what a season that is asked for is held against."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from pipeline.common.refusal import CannotDo
from pipeline.common.words import listed, long_date
from pipeline.indicators.base.look import ORDINARY, Look
from pipeline.indicators.base.looked_at import opened
from pipeline.store.last_day import last_day
from pipeline.store.store import Store
from pipeline.workspace.settings import Season, Workspace
from schemas import KINDS

LOAD_FIRST = "Load a job log, soil tests or green speeds first."
MOST_GREENS = 5
"""Greens named in a message."""


@dataclass(frozen=True)
class OnRecord:
    """The days a green has records of.

    Attributes:
        first: the first.
        last: the last that any can be of, where only its month or year is known.
        latest: the latest that one begins with.
        in_season: whether any can be of a day of the season asked about.
    """

    first: date
    last: date
    latest: date
    in_season: bool


def on_record(store: Store, greens: Sequence[str], season: Season) -> dict[str, OnRecord]:
    """The days of greens that have a dated record, and whether any is of a season (grain: green)."""
    rows = store.rows(
        f"WITH asked AS (SELECT unnest(?) AS code) SELECT green, min(date), max(last), max(date), "  # noqa: S608 (SQL of ours)
        f"bool_or(date <= ? AND last >= ?) FROM ({_days()}) GROUP BY green ORDER BY green",
        [list(greens), season.end, season.start],
    )
    return {green: OnRecord(*days) for green, *days in rows}


def season_asked(store: Store, workspace: Workspace, season: str, look: Look) -> Season:
    """The season of a name; where none is named, of the day that is looked at, else the one in hand.

    Raises:
        WrongUsage: the day of the look lies before the season.
        CannotDo: there is no dated record, or the name is no season's.
    """
    if found := look.season(workspace, season):
        return found
    last = last_day(store)
    if last is None:
        raise CannotDo("The store holds no dated record of a green yet.", LOAD_FIRST)
    return workspace.season_in_hand(last)


def season_of_one(store: Store, workspace: Workspace, green: str, season: str, look: Look) -> tuple[Season, str]:
    """The season in which a green is looked at, and what is to be said of records beside it, "" where nothing is.

    Raises:
        WrongUsage: the day of the look lies before the season.
        CannotDo: there is no dated record, or none of the green by the season named, or the name is no season's.
    """
    span = season_asked(store, workspace, season, look)
    held = on_record(store, [green], span)
    if season:
        refuse_unrecorded(store, workspace, held, span, [green])
    own = span if look.as_of else span_of(workspace, held.get(green), span)
    held = held if own == span else on_record(store, [green], own)
    return own, newer(workspace, green, held.get(green), own)


def refuse_bare(store: Store, workspace: Workspace, season: Season) -> None:
    """Refuse a season that no green has a record of.

    Raises:
        CannotDo: with the seasons there are.
    """
    greens = [green for (green,) in store.rows("SELECT DISTINCT green FROM green ORDER BY green")]
    if any(one.in_season for one in on_record(store, greens, season).values()):
        return
    seasons = sorted({workspace.season_of(day).name for day in _distinct(store, greens)})
    there = f"On record: {_seasons(seasons)}." if seasons else LOAD_FIRST
    raise CannotDo(f"Of season {season.name} the store holds no record of a green.", there)


def span_of(workspace: Workspace, held: OnRecord | None, season: Season) -> Season:
    """A green's own season where the latest of all greens lies before its first record or after its last."""
    if held is None:
        return season
    first, last = workspace.season_of(held.first), workspace.season_of(held.latest)
    return first if season.end < first.start else last if season.start > held.last else season


def refuse_unrecorded(
    store: Store, workspace: Workspace, held: Mapping[str, OnRecord], season: Season, greens: Sequence[str]
) -> None:
    """Refuse a season before the first record of every one of these greens, or after the last.

    A season between them without a record of its own is let through: results of earlier seasons stand in it. So is one
    of which their weather station has days.

    Raises:
        CannotDo: with the seasons there are.
    """
    if any(one.first <= season.end and one.last >= season.start for one in held.values()):
        return
    if _weather(store, season, greens):
        return
    of = listed(greens) if len(greens) <= MOST_GREENS else "any green"
    message = f"There is no record of {of} in season {season.name}."
    if not held:
        raise CannotDo(message, "Load its job log, soil tests or green speeds first.")
    seasons = list(dict.fromkeys(workspace.season_of(day).name for day in _distinct(store, greens)))
    raise CannotDo(message, f"On record: {_seasons(seasons)}.")


def _seasons(names: Sequence[str]) -> str:
    return f"season{'s' if len(names) > 1 else ''} {', '.join(names)}"


def newer(workspace: Workspace, green: str, held: OnRecord | None, shown: Season) -> str:
    """What is to be said of records beside the season shown: later ones, or that it has none; "" where neither is so.

    ``held`` are the days of the green, looked at for the season shown.
    """
    if held is None:
        return f"Nothing is recorded of {green} yet."
    bare = _nothing(shown, [green])
    if held.latest > shown.end:
        season = workspace.season_of(held.latest).name
        later = f"Records of season {season} exist too, up to {long_date(held.latest)}: --season {season}"
        return later if held.in_season else f"{bare} {later}"
    return "" if held.in_season else bare


def without_records(workspace: Workspace, greens: Sequence[str], season: str, look: Look = ORDINARY) -> str:
    """Which of the greens reported on have no record of the season, as a sentence; "" where each has.

    Raises:
        CannotDo: the store cannot be read.
    """
    span = workspace.season(season)
    with opened(workspace, look) as store:
        held = on_record(store, greens, span)
    bare = [green for green in dict.fromkeys(greens) if green not in held or not held[green].in_season]
    return _nothing(span, bare) if bare else ""


def _nothing(season: Season, greens: Sequence[str]) -> str:
    named = [*greens[:MOST_GREENS], *([f"{len(greens) - MOST_GREENS} more"] if len(greens) > MOST_GREENS else [])]
    return f"Nothing of season {season.name} is recorded of {listed(named)}."


def _days() -> str:
    """SQL of the first and last day that each record of some greens can be of."""
    return " UNION ALL ".join(
        f"SELECT green, date, {'coalesce(date_to, date)' if kind.by_period else 'date'} AS last "  # noqa: S608
        f'FROM "{kind.name}" WHERE green IN (SELECT code FROM asked)'
        for kind in KINDS.values()
        if kind.of_green and kind.dated
    )


def _weather(store: Store, season: Season, greens: Sequence[str]) -> bool:
    """Whether the station of any of these greens has a day of the season."""
    stations = "SELECT station FROM green_by_day WHERE green IN (SELECT unnest(?))"
    return any(
        store.rows(
            f'SELECT 1 FROM "{kind.name}" WHERE date BETWEEN ? AND ? AND station IN ({stations}) LIMIT 1',  # noqa: S608
            [season.start, season.end, list(greens)],
        )
        for kind in KINDS.values()
        if kind.dated and kind.attached and not kind.of_green
    )


def _distinct(store: Store, greens: Sequence[str]) -> list[date]:
    sql = f"WITH asked AS (SELECT unnest(?) AS code) SELECT DISTINCT date FROM ({_days()}) ORDER BY date"  # noqa: S608 (SQL of ours)
    return [day for (day,) in store.rows(sql, [list(greens)])]
