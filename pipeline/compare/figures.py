"""The figures of every green that are compared, with their error and the method that makes them comparable."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pipeline.compare.comparison import Topic
from pipeline.indicators import questions
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import Description, Family
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.families import made as of_family
from pipeline.indicators.feeding import nutrients
from pipeline.indicators.organic_matter import balance, forecasts
from pipeline.indicators.play import surface
from pipeline.indicators.soil import methods, soil
from pipeline.indicators.works import disturbance, dressing
from pipeline.statistics.interval import mean_interval


@dataclass(frozen=True)
class Figure:
    """One green's figure for one topic and season.

    Attributes:
        topic: what it is a figure of, with its method.
        value: the figure, not rounded.
        low: lower end of its 95 % interval; None where it has none.
        high: upper end.
        sd: standard error; None where it is a sum of records rather than a sample, or not known.
        sampled: True where it is a sample, and so has an error even where ``sd`` is not known.
        questioned: whether it rests on an entry to be checked.
    """

    topic: Topic
    value: float
    low: float | None = None
    high: float | None = None
    sd: float | None = None
    sampled: bool = False
    questioned: bool = False


Found = Iterator[tuple[int, Figure]]
"""Figures, each with the number of its green and season."""


@dataclass(frozen=True)
class _Compared:
    """One comparable indicator: how it is rounded and whether its error is a share of it.

    ``made`` gives the figures of samples; a sum of the log, which has no sampling error, is the ``family``'s own.
    """

    what: Description
    step: float
    decimals: int
    relative: bool = False
    made: Callable[[Asked], Found] | None = None
    family: Family | None = None
    label: str = ""


def _organic_matter(asked: Asked) -> Found:
    """Organic matter of the samples taken within the season, by layer; an older sample is no figure of this season."""
    rows_here = asked.each_season(asked.in_season(soil.of_organic_matter(asked)), "soil_test", *soil.OF_RESULT)
    for of, band, rows in ((every.of, *one) for every in rows_here for one in soil.depth_bands(every)):
        plain = rows.where(lambda row: not row["below_limit"] and (row["value"] or 0.0) > 0)
        if not plain:
            continue
        sample = [one for one in soil.day_samples(plain) if one.comparable][-1]
        same = methods.of_method(plain.having("date", sample.date), sample.method)
        sd = None
        if not same.having("cores", None):
            sd = soil.CORE_VARIATION * sample.value / math.sqrt(same.total("cores"))
        topic = _topic(soil.ORGANIC_MATTER, band, sample.method)
        questioned = asked.each[of].in_question(same.evidence)
        yield of, Figure(topic, sample.value, sample.low, sample.high, sd, sampled=True, questioned=questioned)


def _gathered(asked: Asked) -> Found:
    for one in asked.once(balance.fitted):
        records = asked.each[one.rows.of]
        if isinstance(one, balance.LayerBalance) and one.last >= records.season.start:
            fit = one.balance
            topic = _topic(forecasts.GAIN, one.band, one.key)
            questioned = records.in_question((*one.rows.evidence, *one.doses.evidence))
            found = Figure(topic, fit.accumulation, fit.low, fit.high, fit.se, sampled=True, questioned=questioned)
            yield one.rows.of, found


def _speed(asked: Asked) -> Found:
    for bowls in surface.bowls(asked):
        mean = mean_interval([day.value for day in surface.day_samples(bowls)])
        sd = mean.sd / math.sqrt(mean.n) if mean.sd and mean.n >= 3 else None
        questioned = asked.each[bowls.of].in_question(bowls.evidence)
        topic = _topic(surface.SPEED, "", "timed bowl over 27 m")
        yield bowls.of, Figure(topic, mean.mean, mean.low, mean.high, sd, sampled=True, questioned=questioned)


def _sum(what: Description, family: Family, step: float, decimals: int, label: str = "") -> _Compared:
    return _Compared(what, step, decimals, family=family, label=label)


_COMPARED = {
    one.what.name: one
    for one in (
        _Compared(soil.ORGANIC_MATTER, 0.5, 1, relative=True, made=_organic_matter),
        _Compared(forecasts.GAIN, 0.1, 1, made=_gathered),
        _sum(dressing.DRESSING, dressing.FAMILY, 0.5, 1),
        _sum(nutrients.NITROGEN.applied, nutrients.FAMILY, 10, 0, "Nitrogen applied"),
        _sum(disturbance.TINED, disturbance.FAMILY, 1, 0),
        _Compared(surface.SPEED, 0.5, 1, made=_speed),
        _sum(surface.RINKS, surface.FAMILY, 0.2, 1),
    )
}
"""What is compared → its rounding step. Steps are fixed beforehand, never taken from the data: a step that followed
the figures would tell of them. They are about what a sampling can tell apart: common practice, no source."""

NAMES = tuple(_COMPARED)
"""Every indicator that can be compared."""

WITHOUT_CHANGE = (forecasts.GAIN.name,)
"""Topics whose figures of two seasons rest on the same samples: no change between them is made."""

SIGNED = frozenset({forecasts.GAIN.name})
"""Topics whose figures can be negative."""

SUMS = frozenset({dressing.DRESSING.name, nutrients.NITROGEN.applied.name, disturbance.TINED.name})
"""Sums of a season's log: while it runs they are a part of it."""


def _topic(what: Description, band: str, method: str) -> Topic:
    one = _COMPARED[what.name]
    return Topic(what.name, one.label or what.label, band, method, what.unit, one.step, one.decimals)


def is_relative(topic: Topic) -> bool:
    """Whether the error of the topic's figures is a share of them."""
    return _COMPARED[topic.name].relative


def figures_of(
    asked: Asked, names: Sequence[str], made: Mapping[int, Iterable[Indicator]] | None = None
) -> dict[int, list[Figure]]:
    """The figures of greens and seasons, of these indicators, by their number (grain: topic).

    Args:
        asked: the greens and seasons.
        names: of indicators that can be compared.
        made: every indicator of each, marked; None: what is needed of them is made here.
    """
    found: dict[int, list[Figure]] = {of: [] for of in asked.each}
    sums = _sums(asked, names) if made is None else made
    recorded = {of: {one.name: one for one in ones if one.value is not None} for of, ones in sums.items()}
    for one in map(_COMPARED.__getitem__, names):
        if one.made is not None:
            for of, figure in one.made(asked):
                found[of].append(figure)
            continue
        for of, by_name in recorded.items():
            if told := by_name.get(one.what.name):
                found[of].append(figure_of(one.what.name, "", "", told.value or 0.0, questioned=bool(told.questioned)))
    return found


def figure_of(name: str, band: str, method: str, value: float, **more: Any) -> Figure:
    """A figure by the name, band and method of its topic; ``more`` are fields of :class:`Figure`."""
    return Figure(_topic(_COMPARED[name].what, band, method), value, **more)


def _sums(asked: Asked, names: Sequence[str]) -> dict[int, list[Indicator]]:
    """The sums of the log that are asked for, with the entries that question them."""
    wanted = [one for one in map(_COMPARED.__getitem__, names) if one.family is not None]
    made: dict[int, list[Indicator]] = {}
    for one in wanted:
        assert one.family is not None
        for figure in of_family(one.family, asked):
            if figure.name == one.what.name:
                made.setdefault(figure.of, []).append(figure)
    return {of: list(questions.marked(ones, asked.each[of])) for of, ones in made.items()}
