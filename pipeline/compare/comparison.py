"""The frozen comparison that tables, CSV files and pages are made from: nothing in it is left to protect."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from pipeline.indicators.base.look import ORDINARY, Look
from pipeline.statistics.ways import PercentileType

Funnel = Literal["inside", "outside 95 %", "outside 99.8 %", ""]


@dataclass(frozen=True)
class Topic:
    """What is compared: an indicator, its band and the method that makes it comparable.

    Attributes:
        name: machine name of the indicator; its suffix is the unit.
        label: what a reader calls it.
        band: depth or extractant; "" where the name says all.
        method: what must be the same for two figures to be compared.
        unit: SI unit as printed.
        step: rounding step every green of other clubs enters with, in ``unit``.
        decimals: digits after the point that the step carries.
    """

    name: str
    label: str
    band: str
    method: str
    unit: str
    step: float
    decimals: int


@dataclass(frozen=True)
class Cell:
    """One published group of like greens for one topic and season (grain: topic, group, season).

    Attributes:
        topic: what is compared.
        group: the group in words.
        region: its region; "" for all regions.
        season: season of the figures.
        n: greens.
        clubs: clubs they belong to.
        low: lower end of the range that holds every green, rounded outwards to twice the step.
        quarter: lower quartile of the rounded figures, by the type chosen.
        median: their median.
        three_quarters: their upper quartile.
        high: its upper end, likewise.
        mean: mean of the random-effects model; None where figures carry no error.
        spread: true spread between greens (standard deviation) of that model.
        questioned: whether a figure of the group rests on an entry to be checked.
    """

    topic: Topic
    group: str
    region: str
    season: str
    n: int
    clubs: int
    low: float
    quarter: float
    median: float
    three_quarters: float
    high: float
    mean: float | None = None
    spread: float | None = None
    questioned: bool = False


@dataclass(frozen=True)
class Own:
    """One green of the reader's own among its like (grain: green and topic).

    Attributes:
        green: code of the green.
        green_name: its name.
        topic: what is compared.
        value: its own figure, not rounded.
        low: lower end of the figure's interval; None where it has none.
        high: upper end.
        cell: its group; None where no group it belongs to is large enough.
        estimate: its true value as the group's model sees it; None where figures carry no error.
        estimate_low: lower end of the estimate's interval.
        estimate_high: upper end.
        place_low: lowest place it may hold, counted from the smallest figure.
        place_high: highest place.
        funnel: whether the figure lies within the limits that hold greens of this group.
        funnel_low: lower 95 % limit for a figure with this error.
        funnel_high: upper 95 % limit.
        questioned: whether the figure rests on an entry to be checked.
    """

    green: str
    green_name: str
    topic: Topic
    value: float
    low: float | None
    high: float | None
    cell: Cell | None
    estimate: float | None = None
    estimate_low: float | None = None
    estimate_high: float | None = None
    place_low: int | None = None
    place_high: int | None = None
    funnel: Funnel = ""
    funnel_low: float | None = None
    funnel_high: float | None = None
    questioned: bool = False


@dataclass(frozen=True)
class YearChange:
    """Change of the same greens from one season to the next (grain: topic and group).

    Attributes:
        mean: mean change of the greens, in the unit of :func:`~pipeline.common.words.difference_unit`.
        low: lower end of its 95 % interval.
        high: upper end.
        quarter: lower quartile of the changes.
        median: their median.
        three_quarters: their upper quartile.
        questioned: whether a figure of either season rests on an entry to be checked.
    """

    topic: Topic
    group: str
    region: str
    before: str
    season: str
    n: int
    clubs: int
    mean: float
    low: float
    high: float
    quarter: float
    median: float
    three_quarters: float
    questioned: bool = False

    @property
    def clear(self) -> bool:
        """Whether its interval leaves no doubt which way it goes."""
        return self.low > 0 or self.high < 0


@dataclass(frozen=True)
class OverSeasons:
    """A steady change over the seasons of like greens of the whole county (grain: topic and shape of green).

    Attributes:
        topic: what is compared.
        group: the greens, in words.
        seasons: seasons that count, rising.
        n: greens that count.
        clubs: clubs they belong to.
        slope: change a season, in the unit of :func:`~pipeline.common.words.difference_unit`; None where refused.
        low: lower end of its 95 % interval.
        high: upper end.
        refused: why there is none; "" where there is one.
        questioned: whether a figure of any season rests on an entry to be checked.
    """

    topic: Topic
    group: str
    seasons: tuple[str, ...]
    n: int
    clubs: int
    slope: float | None = None
    low: float | None = None
    high: float | None = None
    refused: str = ""
    questioned: bool = False

    @property
    def clear(self) -> bool:
        """Whether its interval leaves no doubt which way it goes."""
        return self.low is not None and self.high is not None and (self.low > 0 or self.high < 0)


@dataclass(frozen=True)
class Association:
    """What went with a change of programme, or why nothing is said of it.

    Attributes:
        programme: what changed ("1.5 kg/m² more top dressing").
        topic: what was looked at.
        group: greens compared, in words.
        n_changed: greens whose programme changed; 0 where that many may not be shown.
        n_unchanged: greens whose programme did not.
        value: difference in differences; None where refused.
        low: lower end of its 95 % interval.
        high: upper end.
        text: the result in one plain sentence, worded as association, or the refusal.
    """

    programme: str
    topic: Topic
    group: str
    n_changed: int
    n_unchanged: int
    value: float | None
    low: float | None
    high: float | None
    text: str


@dataclass(frozen=True)
class Comparison:
    """A comparison for one reader: the association (no club named) or one club (its own greens named).

    Attributes:
        season: season compared.
        before: the season before.
        region: region asked for; "" for all.
        club: code of the reading club; "" for the association.
        club_name: its name; "" for the association.
        as_of: last day counted of the green whose records go farthest.
        cells: published groups.
        own: the reader's own greens; empty for the association.
        changes: year on year.
        over_seasons: steady changes over all seasons, of the whole county whoever reads.
        associations: what changed with what.
        whole: whether the season's log is whole; sums of a season that still runs are held against no other season.
        withheld: groups that exist but are too small, or would give one away, by topic label.
        percentile: type of quartiles and medians (Hyndman & Fan 1996).
        laboratory: steps of laboratories, in words that name no green and no club.
        of_one_day: whether the records of every green go as far.
        earlier: the reader's own greens whose records end earlier: name and last day counted.
        look: where it is looked at as of another day, or from what was in the store then.
    """

    season: str
    before: str
    region: str
    club: str
    club_name: str
    as_of: date
    cells: tuple[Cell, ...]
    own: tuple[Own, ...]
    changes: tuple[YearChange, ...]
    associations: tuple[Association, ...]
    withheld: tuple[tuple[str, int], ...]
    percentile: PercentileType = 8
    laboratory: tuple[str, ...] = ()
    of_one_day: bool = True
    earlier: tuple[tuple[str, date], ...] = ()
    look: Look = ORDINARY
    over_seasons: tuple[OverSeasons, ...] = ()
    whole: bool = True
