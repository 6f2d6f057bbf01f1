"""Everything a comparison is made from: greens with their groups, and their figures of two seasons."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property

from pipeline.common.grouped import grouped
from pipeline.compare.comparison import Topic
from pipeline.compare.figures import Figure, figures_of
from pipeline.compare.like import path_of
from pipeline.compare.protection import Path
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.green_records import LATE_LOG_DAYS, green_records
from pipeline.indicators.base.look import ORDINARY, Look
from pipeline.indicators.base.records import Records
from pipeline.indicators.base.seasons import seasons_on_record
from pipeline.indicators.soil.laboratory import Drift, Step, common
from pipeline.statistics.ways import PercentileType
from pipeline.workspace.settings import Season, Workspace

AT_ONCE = 20
"""Greens whose figures of all seasons are made at once: memory is that of so many, whatever their number."""


@dataclass(frozen=True)
class Member:
    """One green: its name, its club, its way to its narrowest group, and its last day counted, where it is known."""

    name: str
    club: str
    path: Path
    as_of: date | None = None


@dataclass(frozen=True)
class County:
    """The greens and their figures.

    Attributes:
        members: each green.
        now: figures of the season compared, by green.
        before: figures of the season before.
        season: name of the season.
        season_before: name of the one before.
        as_of: last day counted of the green whose records go farthest.
        percentile: type of quartiles and medians chosen.
        steps: steps and drifts of laboratories.
        look: where it is looked at as of another day, or from what was in the store then.
        earlier: figures of the seasons before these two, by name of the season and by green.
        whole: whether the log of the season is whole (:func:`is_whole`).
    """

    members: Mapping[str, Member]
    now: Mapping[str, Sequence[Figure]]
    before: Mapping[str, Sequence[Figure]]
    season: str
    season_before: str
    as_of: date
    percentile: PercentileType = 8
    steps: Sequence[Step | Drift] = ()
    look: Look = ORDINARY
    earlier: Mapping[str, Mapping[str, Sequence[Figure]]] = field(default_factory=dict)
    whole: bool = True

    @property
    def every_season(self) -> dict[str, Mapping[str, Sequence[Figure]]]:
        """Figures of all seasons, the earliest first."""
        return {**dict(sorted(self.earlier.items())), self.season_before: self.before, self.season: self.now}

    @cached_property
    def club_of(self) -> dict[str, str]:
        """Club of each green."""
        return {green: member.club for green, member in self.members.items()}


def is_whole(season: Season, as_of: date) -> bool:
    """Whether records reach so near a season's end that its log tells the whole of it."""
    return (season.end - as_of).days <= LATE_LOG_DAYS


def by_topic(of_greens: Mapping[str, Sequence[Figure]]) -> dict[Topic, dict[str, Figure]]:
    """Figures by topic and green."""
    found: dict[Topic, dict[str, Figure]] = {}
    for green in sorted(of_greens):
        for figure in of_greens[green]:
            found.setdefault(figure.topic, {})[green] = figure
    return found


def county_of(records: Records, season: Season, workspace: Workspace, names: Sequence[str]) -> County:
    """The county in a store, for a season, the one before, and what the earlier ones tell.

    Args:
        records: every record in force.
        season: the season compared.
        workspace: for the season before and the settings.
        names: indicators wanted.
    """
    earlier = workspace.season_of(season.start - timedelta(days=1))
    clubs = {row["club"]: row for row in records.clubs.iter_rows(named=True)}
    members: dict[str, Member] = {}
    by_season: dict[str, dict[str, Sequence[Figure]]] = {season.name: {}, earlier.name: {}}
    as_of = season.start
    greens = records.greens.sort("club", "green", maintain_order=True)
    on_record = grouped(seasons_on_record(records, workspace), lambda pair: pair[0])
    for part in greens.iter_slices(AT_ONCE):
        asked = [
            green_records(records, green, of, workspace)
            for green in part["green"]
            for of in (season, earlier, *_long_ago(on_record.get(green, []), earlier))
        ]
        found = figures_of(Asked.about(asked), names)
        rows = {row["green"]: row for row in part.iter_rows(named=True)}
        for at, here in enumerate(asked):
            green = here.green["green"]
            by_season.setdefault(here.season.name, {})[green] = found[at]
            if here.season == season:
                row = rows[green]
                members[green] = Member(
                    row["name"] or green, row["club"], path_of(here.green, clubs[row["club"]]), here.as_of
                )
                as_of = max(as_of, here.as_of)
    options = workspace.settings.method_options
    moved = common(records.soil, as_of, options.weeks)
    now, before = by_season.pop(season.name), by_season.pop(earlier.name)
    return County(
        members, now, before, season.name, earlier.name, as_of, options.percentile, moved, look=records.look,
        earlier=with_figures(by_season), whole=is_whole(season, as_of),
    )  # fmt: skip


def with_figures(by_season: Mapping[str, Mapping[str, Sequence[Figure]]]) -> dict[str, dict[str, Sequence[Figure]]]:
    """Figures by season and green, where there are any: what is not there cannot differ."""
    kept = {season: {green: one for green, one in of.items() if one} for season, of in sorted(by_season.items())}
    return {season: of for season, of in kept.items() if of}


def _long_ago(on_record: Sequence[tuple[str, Season]], before: Season) -> list[Season]:
    """The seasons on record of a green that lie before another."""
    return [season for _, season in on_record if season.start < before.start]
