"""The figures of every green that are compared, with their error and the method that makes them comparable."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from pipeline.compare.comparison import Topic
from pipeline.indicators import questions
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import Description, Family
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.rows import Rows
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


@dataclass(frozen=True)
class _Compared:
    """One comparable indicator: how it is rounded and whether its error is a share of it."""

    what: Description
    step: float
    decimals: int
    relative: bool
    made: Callable[[GreenRecords], Iterator[Figure]]
    label: str = ""


def _organic_matter(records: GreenRecords) -> Iterator[Figure]:
    """Organic matter of the samples taken within the season, by layer; an older sample is no figure of this season."""
    here = records.having(soil_test=records.in_season(records.soil))
    for band, rows in soil.layers(here):
        plain = rows.where(lambda row: not row["below_limit"] and (row["value"] or 0.0) > 0)
        if not plain:
            continue
        sample = [one for one in soil.day_samples(plain) if one.comparable][-1]
        same = methods.of_method(plain.having("date", sample.date), sample.method)
        sd = None
        if not same.having("cores", None):
            sd = soil.CORE_VARIATION * sample.value / math.sqrt(same.total("cores"))
        topic = _topic(soil.ORGANIC_MATTER, band, sample.method)
        asked = records.in_question(same.evidence)
        yield Figure(topic, sample.value, sample.low, sample.high, sd, sampled=True, questioned=asked)


def _gathered(records: GreenRecords) -> Iterator[Figure]:
    for one in balance.balances(Asked.about([records])):
        if isinstance(one, balance.LayerBalance) and one.last >= records.season.start:
            fit = one.balance
            topic = _topic(forecasts.GAIN, one.band, one.key)
            asked = records.in_question((*one.rows.evidence, *one.doses.evidence))
            yield Figure(topic, fit.accumulation, fit.low, fit.high, fit.se, sampled=True, questioned=asked)


def _speed(records: GreenRecords) -> Iterator[Figure]:
    for bowls in surface.bowls(Asked.about([records])):
        yield _of_bowls(records, bowls)


def _of_bowls(records: GreenRecords, bowls: Rows) -> Figure:
    mean = mean_interval([day.value for day in surface.day_samples(bowls)])
    sd = mean.sd / math.sqrt(mean.n) if mean.sd and mean.n >= 3 else None
    topic, asked = _topic(surface.SPEED, "", "timed bowl over 27 m"), records.in_question(bowls.evidence)
    return Figure(topic, mean.mean, mean.low, mean.high, sd, sampled=True, questioned=asked)


def _recorded(what: Description, family: Family) -> Callable[[GreenRecords], Iterator[Figure]]:
    """Figures that are sums of the log: they have no sampling error."""

    def made(records: GreenRecords) -> Iterator[Figure]:
        for one in of_family(family, Asked.about([records])):
            if one.name == what.name and one.value is not None:
                (marked,) = questions.marked([one], records)
                yield Figure(_topic(what, "", ""), one.value, questioned=bool(marked.questioned))

    return made


def _sum(what: Description, family: Family, step: float, decimals: int, label: str = "") -> _Compared:
    return _Compared(what, step, decimals, relative=False, made=_recorded(what, family), label=label)


_COMPARED = {
    one.what.name: one
    for one in (
        _Compared(soil.ORGANIC_MATTER, 0.5, 1, True, _organic_matter),
        _Compared(forecasts.GAIN, 0.1, 1, False, _gathered),
        _sum(dressing.DRESSING, dressing.FAMILY, 0.5, 1),
        _sum(nutrients.NITROGEN.applied, nutrients.FAMILY, 10, 0, "Nitrogen applied"),
        _sum(disturbance.TINED, disturbance.FAMILY, 1, 0),
        _Compared(surface.SPEED, 0.5, 1, False, _speed),
        _sum(surface.RINKS, surface.FAMILY, 0.2, 1),
    )
}
"""What is compared → its rounding step. Steps are fixed beforehand, never taken from the data: a step that followed
the figures would tell of them. They are about what a sampling can tell apart: common practice, no source."""

NAMES = tuple(_COMPARED)
"""Every indicator that can be compared."""


def _topic(what: Description, band: str, method: str) -> Topic:
    one = _COMPARED[what.name]
    return Topic(what.name, one.label or what.label, band, method, what.unit, one.step, one.decimals)


def is_relative(topic: Topic) -> bool:
    """Whether the error of the topic's figures is a share of them."""
    return _COMPARED[topic.name].relative


def figures(records: GreenRecords, names: Sequence[str]) -> list[Figure]:
    """The green's figures for the season, of these indicators (grain: topic)."""
    return [figure for name in names for figure in _COMPARED[name].made(records)]
