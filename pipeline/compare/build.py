"""The comparison of a county for one reader, from figures to what may be shown."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from pipeline.compare import like, protection
from pipeline.compare.comparison import Association, Cell, Comparison, Funnel, OverSeasons, Own, Topic, YearChange
from pipeline.compare.county import County, by_topic
from pipeline.compare.figures import NAMES, SIGNED, SUMS, WITHOUT_CHANGE, Figure, is_relative
from pipeline.compare.over_seasons import over_seasons
from pipeline.compare.programme import associations
from pipeline.compare.protection import Path
from pipeline.statistics.interval import FUNNEL_Z, mean_interval, percentile, t_quantile
from pipeline.statistics.random_effects import RandomEffects, funnel, places, reml, shrunken


@dataclass(frozen=True)
class _Group:
    """A shown group with the protected figures of its greens, in order of the greens' codes."""

    greens: tuple[str, ...]
    values: tuple[float, ...]
    errors: tuple[float, ...] | None
    model: RandomEffects | None
    cell: Cell


@dataclass(frozen=True)
class _Shown:
    """What of one topic may be shown: each green's group, the greens of each that is shown, and what they come to."""

    topic: Topic
    having: Mapping[str, Figure]
    paths: Mapping[str, Path]
    greens: Mapping[Path, frozenset[str]]
    groups: Mapping[Path, _Group]


@dataclass(frozen=True)
class Settled:
    """What is the same for every reader of a county: made once, however many comparisons are written of it."""

    shown: tuple[_Shown, ...]
    associations: tuple[Association, ...]
    over_seasons: tuple[OverSeasons, ...]


def settled(county: County) -> Settled:
    """What may be shown of a county, to whomever."""
    found = []
    for topic, having in _ordered(by_topic(county.now)):
        paths = {green: county.members[green].path for green in having}
        shown = protection.publishable(paths, county.club_of)
        groups = {path: _group(topic, having, path, greens, county) for path, greens in shown.items()}
        found.append(_Shown(topic, having, paths, shown, groups))
    return Settled(tuple(found), tuple(associations(county)), tuple(over_seasons(county)))


def comparison(
    county: County, *, region: str = "", club: str = "", club_name: str = "", made: Settled | None = None
) -> Comparison:
    """The comparison for the association, or for one club.

    What may be shown is settled for the whole county first; region and club only choose from it, so that no two
    outputs of one store can be played against each other.

    Args:
        county: greens and figures.
        region: region whose groups are wanted; "" for all.
        club: the reading club; "" for the association, which sees no club's name.
        club_name: its name as printed.
        made: what is settled for the county, where several comparisons of it are made.
    """
    made = made or settled(county)
    ends = {green: one.as_of for green, one in county.members.items() if one.as_of and one.as_of < county.as_of}
    reader = {green for green, member in county.members.items() if club and member.club == club}
    cells: list[Cell] = []
    own: list[Own] = []
    kept_back: dict[str, int] = {}
    for one in made.shown:
        topic, having, paths, shown, groups = one.topic, one.having, one.paths, one.greens, one.groups
        mine = [green for green in sorted(having) if green in reader]
        nearest = {green: protection.narrowest(shown, paths[green]) for green in mine}
        wanted = {p for p in nearest.values() if p} if club else _all_wanted(shown, region)
        cells += [groups[path].cell for path in sorted(wanted)]
        for path in dict.fromkeys(nearest[green] for green in mine):
            here = [green for green in mine if nearest[green] == path]
            own += _own(topic, having, here, groups[path] if path else None, county)
        kept_back[topic.label] = kept_back.get(topic.label, 0) + protection.withheld(paths, shown)
    return Comparison(
        season=county.season,
        before=county.season_before,
        region=region,
        club=club,
        club_name=club_name,
        as_of=county.as_of,
        cells=tuple(cells),
        own=tuple(own),
        changes=tuple(_changes(county, region, reader if club else None)),
        associations=made.associations,
        withheld=tuple((label, count) for label, count in kept_back.items() if count),
        percentile=county.percentile,
        laboratory=tuple(step.text for step in county.steps if not club or reader & set(step.greens)),
        of_one_day=not ends,
        earlier=tuple((county.members[green].name, day) for green, day in sorted(ends.items()) if green in reader),
        look=county.look,
        over_seasons=made.over_seasons,
        whole=county.whole,
    )


def _ordered(found: Mapping[Topic, dict[str, Figure]]) -> list[tuple[Topic, dict[str, Figure]]]:
    """Topics in the order they are offered, then by band and method."""
    return sorted(found.items(), key=lambda item: (NAMES.index(item[0].name), item[0].band, item[0].method))


def _all_wanted(shown: Mapping[Path, frozenset[str]], region: str) -> set[Path]:
    """Every shown group of the region asked for; of groups with the same greens the one that says most of them."""
    said_below = {path[:-1] for path, greens in shown.items() if shown.get(path[:-1]) == greens}
    return {p for p in shown if p not in said_below and (not region or like.region(p) == region)}


def _group(topic: Topic, having: Mapping[str, Figure], path: Path, greens: frozenset[str], county: County) -> _Group:
    """A group with its protected figures and its published cell."""
    names = tuple(sorted(greens))
    values = tuple(protection.rounded(having[green].value, topic.step) for green in names)
    errors = _errors(topic, [having[green] for green in names])
    model = reml(values, errors) if errors else None
    low, high = protection.whole_range(values, topic.step, signed=topic.name in SIGNED)
    cell = Cell(
        topic=topic,
        group=like.words(path),
        region=like.region(path),
        season=county.season,
        n=len(names),
        clubs=len({county.club_of[green] for green in names}),
        low=low,
        **_quartiles(values, county),
        high=high,
        mean=model.mean if model else None,
        spread=math.sqrt(model.tau2) if model else None,
        questioned=any(having[green].questioned for green in names),
    )
    return _Group(names, values, errors, model, cell)


def _quartiles(values: Sequence[float], county: County) -> dict[str, float]:
    shares = {"quarter": 0.25, "median": 0.5, "three_quarters": 0.75}
    return {name: percentile(values, share, kind=county.percentile) for name, share in shares.items()}


def _errors(topic: Topic, found: Sequence[Figure]) -> tuple[float, ...] | None:
    """Protected errors; one that is not known counts as the largest of the group; None where none is known."""
    coarse = [
        protection.rounded_error(one.sd, one.value, topic.step, relative=is_relative(topic))
        if one.sd is not None
        else None
        for one in found
    ]
    known = [error for error in coarse if error is not None]
    return tuple(max(known) if error is None else error for error in coarse) if known else None


def _own(
    topic: Topic, having: Mapping[str, Figure], mine: Sequence[str], group: _Group | None, county: County
) -> Iterator[Own]:
    """The reader's own greens within one group: their own figures exact, the others' protected."""
    if group is None or group.errors is None:
        for green in mine:
            yield _by_count(topic, green, having[green], group, county)
        return
    assert group.model is not None
    values, errors = list(group.values), list(group.errors)
    positions = [group.greens.index(green) for green in mine]
    for green, at in zip(mine, positions, strict=True):
        figure = having[green]
        values[at] = figure.value
        if figure.sd is not None:
            errors[at] = max(figure.sd, topic.step / 10)
    estimates = shrunken(values, errors, positions)
    held = places(values, errors, positions)
    for green, at, estimate, place in zip(mine, positions, estimates, held, strict=True):
        limits = [funnel(group.model, errors[at], z=z) for z in FUNNEL_Z]
        figure = having[green]
        yield replace(
            _plain(topic, green, figure, group, county),
            estimate=estimate.value,
            estimate_low=estimate.low,
            estimate_high=estimate.high,
            place_low=place.low,
            place_high=place.high,
            funnel=_where(figure.value, limits),
            funnel_low=limits[0][0],
            funnel_high=limits[0][1],
        )


def _where(value: float, limits: Sequence[tuple[float, float]]) -> Funnel:
    """A figure against the 95 % and 99.8 % limits."""
    inner, outer = (low <= value <= high for low, high in limits)
    return "inside" if inner else "outside 95 %" if outer else "outside 99.8 %"


def _by_count(topic: Topic, green: str, figure: Figure, group: _Group | None, county: County) -> Own:
    """A green's place where figures carry no error: those that round alike share their places."""
    low = high = None
    if group is not None and not figure.sampled:
        at = protection.rounded(figure.value, topic.step)
        low = 1 + sum(value < at for value in group.values)
        high = len(group.values) - sum(value > at for value in group.values)
    return replace(_plain(topic, green, figure, group, county), place_low=low, place_high=high)


def _plain(topic: Topic, green: str, figure: Figure, group: _Group | None, county: County) -> Own:
    """A green's own figure beside its group, without a place."""
    cell = group.cell if group else None
    name = county.members[green].name
    return Own(green, name, topic, figure.value, figure.low, figure.high, cell, questioned=figure.questioned)


def _changes(county: County, region: str, reader: set[str] | None) -> Iterator[YearChange]:
    """Year on year of the greens that have a figure of both seasons, by the same method."""
    before = by_topic(county.before)
    for topic, having in _ordered(by_topic(county.now)):
        earlier = before.get(topic, {})
        paths = {green: county.members[green].path for green in having if green in earlier}
        if topic.name in WITHOUT_CHANGE or (topic.name in SUMS and not county.whole):
            continue
        shown = protection.publishable(paths, county.club_of)
        wanted = _all_wanted(shown, region)
        if reader is not None:
            wanted = {p for g in paths if g in reader and (p := protection.narrowest(shown, paths[g]))}
        for path in sorted(wanted):
            gaps = [
                protection.rounded(having[g].value, topic.step) - protection.rounded(earlier[g].value, topic.step)
                for g in sorted(shown[path])
            ]
            yield YearChange(
                topic=topic,
                group=like.words(path),
                region=like.region(path),
                before=county.season_before,
                season=county.season,
                n=len(gaps),
                clubs=len({county.club_of[green] for green in shown[path]}),
                **_mean_change(gaps, topic.step),
                **_quartiles(gaps, county),
                questioned=any(having[g].questioned or earlier[g].questioned for g in shown[path]),
            )


def _mean_change(gaps: Sequence[float], step: float) -> dict[str, float]:
    """Mean of the changes with its t interval, which is no narrower than rounding the figures leaves it.

    Each change is the difference of two figures rounded to the step, with a variance of step²/12 each (Sheppard 1898):
    where all round alike, the changes show no spread, and are not known exactly for that.
    """
    found = mean_interval(gaps)
    spread = max(found.sd or 0.0, step / math.sqrt(6))
    half = t_quantile(len(gaps) - 1) * spread / math.sqrt(len(gaps))
    return {"mean": found.mean, "low": found.mean - half, "high": found.mean + half}
