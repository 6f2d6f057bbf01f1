"""Steady changes over all seasons of the like greens of a county, from protected figures."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from pipeline.compare import like
from pipeline.compare.comparison import OverSeasons, Topic
from pipeline.compare.county import County, by_topic
from pipeline.compare.figures import SUMS, WITHOUT_CHANGE, Figure
from pipeline.compare.protection import Path, large_enough, rounded
from pipeline.statistics.common_trend import common_levels
from pipeline.statistics.interval import t_quantile
from pipeline.statistics.season_trend import FEWEST_SEASONS, through_seasons

ByGreen = Mapping[str, Figure]


@dataclass(frozen=True)
class _Kept:
    """The figures that count: of each season, and the greens that have one in two of these seasons at least."""

    of_season: Mapping[str, ByGreen]
    greens: frozenset[str]


def over_seasons(county: County) -> Iterator[OverSeasons]:
    """The change a season of each topic, over all regions, by shape and method (grain: topic, shape).

    What is shown is the same for every reader. Each season's level is that of greens held against themselves
    (:func:`~pipeline.statistics.common_trend.common_levels`), and the slope goes through the levels of the seasons: it
    counts seasons, not greens, for what moves all greens of a season (its weather) is one piece of evidence. Groups
    are the widest ones alone, so none can be taken from another.
    """
    seasons = {name: by_topic(of_greens) for name, of_greens in county.every_season.items()}
    for topic in by_topic(county.now):
        if topic.name in WITHOUT_CHANGE:
            continue
        used = {
            name: found[topic]
            for name, found in seasons.items()
            if topic in found and (county.whole or name != county.season or topic.name not in SUMS)
        }
        shapes = {county.members[green].path[:1] for having in used.values() for green in having}
        for shape in sorted(shapes):
            of_shape = {
                name: {green: one for green, one in sorted(having.items()) if county.members[green].path[:1] == shape}
                for name, having in used.items()
            }
            if found := _found(topic, shape, _kept(of_shape, county), county):
                yield found


def _kept(of_season: Mapping[str, ByGreen], county: County) -> _Kept:
    """Seasons with enough greens of those that have two such seasons; taken away until all that is left has enough."""
    kept = dict(of_season)
    while True:
        often = Counter(green for having in kept.values() for green in having)
        greens = frozenset(green for green, times in often.items() if times > 1)
        enough = {name: having for name, having in kept.items() if large_enough(greens & set(having), county.club_of)}
        if len(enough) == len(kept):
            return _Kept(
                {name: {g: f for g, f in having.items() if g in greens} for name, having in kept.items()}, greens
            )
        kept = enough


def _found(topic: Topic, shape: Path, kept: _Kept, county: County) -> OverSeasons | None:
    """The change of a group; None where no two seasons have enough greens, which is not said of every odd method."""
    names = tuple(kept.of_season)
    if len(names) < 2:
        return None
    of = [(int(name), green, figure) for name, having in kept.of_season.items() for green, figure in having.items()]
    here, levels = common_levels(
        [season for season, _, _ in of],
        [rounded(figure.value, topic.step) for _, _, figure in of],
        [green for _, green, _ in of],
    )
    linked = [name for name in names if int(name) in set(here.astype(int).tolist())]
    counted = frozenset(green for season, green, _ in of if season in here)
    found = OverSeasons(
        topic=topic,
        group=like.words(shape),
        seasons=tuple(linked),
        n=len(counted),
        clubs=len({county.club_of[green] for green in counted}),
        questioned=any(figure.questioned for season, _, figure in of if season in here),
    )
    if here.size < FEWEST_SEASONS:
        return replace(found, refused=f"{here.size} of the {FEWEST_SEASONS} seasons needed")
    slope, se = through_seasons(here, levels)
    fewest = min(len(counted & having.keys()) for name, having in kept.of_season.items() if name in linked)
    half = t_quantile(here.size - 2) * max(se, _of_rounding(here, topic.step, fewest))
    return replace(found, slope=slope, low=slope - half, high=slope + half)


def _of_rounding(seasons: np.ndarray[tuple[int, ...], np.dtype[np.float64]], step: float, greens: int) -> float:
    """Standard error that rounding alone gives a slope through means of so many greens at least.

    A rounding error is even over a step, so its variance is step²/12 (Sheppard 1898).
    """
    about = seasons - seasons.mean()
    return step / math.sqrt(12 * greens * float(about @ about))
