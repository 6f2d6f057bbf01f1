"""What a club's meeting is handed: the first pages of its greens' condition reports, put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from pipeline.first_page.spent import sum_of
from pipeline.indicators.base.first_page import FirstPage, LoggedSum
from pipeline.indicators.base.green_season import NO_SEAL, GreenSeason, Seal


@dataclass(frozen=True)
class Handout:
    """Everything a handout needs (grain: club and season).

    Attributes:
        greens: the club's greens in order of their codes, each with its first page, and of the rest what that counts.
        cost: what was spent on all of them, as their logs give it.
        hours: hours worked on all of them.
        last_cost: what was spent in the season before.
        last_hours: hours worked in it.
        unlogged: codes of the greens of which no job of the season is logged: they are in none of these sums.
    """

    greens: tuple[GreenSeason, ...]
    cost: LoggedSum
    hours: LoggedSum
    last_cost: LoggedSum
    last_hours: LoggedSum
    unlogged: tuple[str, ...]

    @property
    def any(self) -> GreenSeason:
        """One of the greens, for what all of them share: club, season, currency, look."""
        return self.greens[0]

    @property
    def seal(self) -> Seal:
        """The last load that touched any of its greens."""
        return max((one.seal for one in self.greens), default=NO_SEAL)

    @property
    def as_of(self) -> date:
        """Last day counted of the green whose records go farthest."""
        return max(one.as_of for one in self.greens)

    @property
    def pages(self) -> tuple[tuple[GreenSeason, FirstPage], ...]:
        """Each green with its first page."""
        return tuple((one, one.first) for one in self.greens if one.first is not None)


def handout(seasons: Sequence[GreenSeason]) -> Handout:
    """The handout of a club.

    Args:
        seasons: its greens' seasons with their first pages, all of one club and one season; at least one.
    """
    assert seasons and all(one.first for one in seasons), "a handout tells first pages"
    assert len({(one.club, one.season) for one in seasons}) == 1, "greens of one club and one season"
    greens = tuple(_told(one) for one in sorted(seasons, key=lambda one: one.green))
    spent = [(one.green, one.first.spent) for one in greens if one.first and one.first.spent]
    logged = [this for _, this in spent if this.cost.jobs]
    return Handout(
        greens,
        sum_of([this.cost for this in logged]),
        sum_of([this.hours for this in logged]),
        sum_of([this.last_cost for this in logged]),
        sum_of([this.last_hours for this in logged]),
        tuple(green for green, this in spent if not this.cost.jobs),
    )


def _told(season: GreenSeason) -> GreenSeason:
    """The season without what only its own report says."""
    return replace(
        season, facts=(), works=(), running=(), series=(), due=(), cautions=(), data_notes=(), sources=(), records=()
    )
