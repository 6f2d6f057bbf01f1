"""Alternative text of the charts: what each shows, in words, worked out from its data.

A picture is told by what it is drawn for: how many dots from when to when, from what to what they reach, which way they
go, how many lie in the target. Single figures stand in the tables and the attached readings.
"""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.indicators.base.green_season import Running, Sample, Series
from pipeline.indicators.base.judgement import stand
from reports.page import text


def series(found: Series, change: str = "") -> str:
    """Number, span and range of the means, what is said of a change, and how many lie in the target.

    Args:
        found: the series.
        change: the verdict on its change, a sentence; "" where none is made.
    """
    name = ", ".join(part for part in (text.clean(found.name, 60), text.clean(found.band, 60)) if part)
    same = [one for one in found.samples if one.comparable]
    parts = [f"{name}: {_means(same or found.samples, found.unit)}"]
    parts += [change] if change else []
    parts += [_in_target(same, found)] if same else []
    odd, asked = len(found.samples) - len(same), sum(one.questioned for one in found.samples)
    parts += [f"{odd} hollow: measured another way and not comparable"] if odd else []
    parts += [f"{asked} rests on an entry to be checked" if asked == 1 else
              f"{asked} rest on entries to be checked"] if asked else []  # fmt: skip
    return ". ".join(part[:1].upper() + part[1:] for part in parts) + "."


def _means(samples: Sequence[Sample], unit: str) -> str:
    """How many there are, from when to when, how far apart, and the latest."""
    unit, first, last = text.clean(unit, 32), samples[0], samples[-1]
    latest = text.quantity(last.value, unit, 1)
    if len(samples) == 1:
        return f"one mean, {latest} on {text.day(first.date)}{_interval(last, unit)}"
    low, high = min(one.value for one in samples), max(one.value for one in samples)
    return (
        f"{len(samples)} means from {text.day(first.date)} to {text.day(last.date)}, "
        f"between {text.number(low, 1)} and {text.quantity(high, unit, 1)}, the latest {latest}{_interval(last, unit)}"
    )


def _interval(one: Sample, unit: str) -> str:
    if one.low is None or one.high is None:
        return ""
    return f" (interval {text.span(one.low, one.high, unit, 1)})"


def _in_target(same: Sequence[Sample], found: Series) -> str:
    if found.target_low is None and found.target_high is None:
        return "No target is drawn"
    stood = [stand(one.value, found.target_low, found.target_high) for one in same]
    told = [f"{stood.count('within')} of {len(stood)} in it"]
    told += [f"{stood.count(way)} {way}" for way in ("below", "above") if way in stood]
    target = text.target(found.target_low, found.target_high, text.clean(found.unit, 32))
    return f"Shaded target {target}: {', '.join(told)}"


def running(found: Running) -> str:
    """In how many steps the total rises to how much, how it lies to the even spread and to the shaded target."""
    unit, name = text.clean(found.unit, 32), text.clean(found.name, 60)
    first, last = found.points[0], found.points[-1]
    steps = text.count(len(found.points), "step")
    days = f"on {text.day(last.date)}" if len(found.points) == 1 else (
        f"from {text.day(first.date)} to {text.day(last.date)}")  # fmt: skip
    parts = [f"{name}: a line that rises in {steps} {days}, to {_total(last.total, unit)}"]
    if found.questioned:
        parts.append("It rests on an entry to be checked")
    if found.plan:
        end = found.plan[-1]
        parts.append(f"A dashed line spreads {_total(end.total, unit)} evenly up to {text.day(end.date)}")
    if found.target_low is None and found.target_high is None:
        parts.append("No target is drawn")
    else:
        way = {"within": "in it", "below": "below it", "above": "above it"}
        stood = way.get(stand(last.total, found.target_low, found.target_high), "")
        target = text.target(found.target_low, found.target_high, unit)
        parts.append(f"Shaded target {target}: the line ends {stood}")
    return ". ".join(parts) + "."


def _total(total: float, unit: str) -> str:
    return text.quantity(total, unit, text.places_of_three(total))
