"""Everything a comparison is made from: greens with their groups, and their figures of two seasons."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from pipeline.compare.comparison import Topic
from pipeline.compare.figures import Figure, figures_of
from pipeline.compare.like import path_of
from pipeline.compare.protection import Path
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.look import ORDINARY, Look
from pipeline.indicators.base.records import Records
from pipeline.indicators.soil.laboratory import Drift, Step, common
from pipeline.statistics.ways import PercentileType
from pipeline.workspace.settings import Season, Workspace

AT_ONCE = 50
"""Greens whose figures of both seasons are made at once: memory is that of so many, whatever their number."""


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

    @property
    def club_of(self) -> dict[str, str]:
        """Club of each green."""
        return {green: member.club for green, member in self.members.items()}


def by_topic(of_greens: Mapping[str, Sequence[Figure]]) -> dict[Topic, dict[str, Figure]]:
    """Figures by topic and green."""
    found: dict[Topic, dict[str, Figure]] = {}
    for green in sorted(of_greens):
        for figure in of_greens[green]:
            found.setdefault(figure.topic, {})[green] = figure
    return found


def county_of(records: Records, season: Season, workspace: Workspace, names: Sequence[str]) -> County:
    """The county in a store, for a season and the one before.

    Args:
        records: every record in force.
        season: the season compared.
        workspace: for the season before and the settings.
        names: indicators wanted.
    """
    earlier = workspace.season_of(season.start - timedelta(days=1))
    clubs = {row["club"]: row for row in records.clubs.iter_rows(named=True)}
    members: dict[str, Member] = {}
    now: dict[str, Sequence[Figure]] = {}
    before: dict[str, Sequence[Figure]] = {}
    as_of = season.start
    greens = records.greens.sort("club", "green", maintain_order=True)
    for part in greens.iter_slices(AT_ONCE):
        both = [green_records(records, green, of, workspace) for green in part["green"] for of in (season, earlier)]
        found = figures_of(Asked.about(both), names)
        for at, row in enumerate(part.iter_rows(named=True)):
            here, green = both[2 * at], row["green"]
            members[green] = Member(
                row["name"] or green, row["club"], path_of(here.green, clubs[row["club"]]), here.as_of
            )
            as_of = max(as_of, here.as_of)
            now[green], before[green] = found[2 * at], found[2 * at + 1]
    options = workspace.settings.method_options
    moved = common(records.soil, as_of, options.weeks)
    return County(members, now, before, season.name, earlier.name, as_of, options.percentile, moved, look=records.look)
