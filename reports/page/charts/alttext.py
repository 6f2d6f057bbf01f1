"""Alternative text of the charts: what each shows, in words, worked out from its data."""

from __future__ import annotations

from pipeline.indicators.base.green_season import Running, Sample, Series
from reports.page import text

MOST_SAMPLES = 8


def series(found: Series) -> str:
    """Means of the latest samples with their intervals, the target, and which are not comparable."""
    name = ", ".join(part for part in (text.clean(found.name, 60), text.clean(found.band, 60)) if part)
    unit = text.clean(found.unit, 32)
    latest = found.samples[-MOST_SAMPLES:]
    parts = [f"{name}: {text.count(len(found.samples), 'sampling')} shown"]
    if len(latest) < len(found.samples):
        parts.append(f"the latest {len(latest)} are")
    parts.append("; ".join(_sample(s, unit) for s in latest))
    parts.append(f"target {text.target(found.target_low, found.target_high, unit, 1)}")
    return ". ".join(part[:1].upper() + part[1:] for part in parts) + "."


def _sample(sample: Sample, unit: str) -> str:
    words = f"{text.day(sample.date)} mean {text.quantity(sample.value, unit, 1)}"
    if sample.low is not None and sample.high is not None:
        words += f" (interval {text.span(sample.low, sample.high, unit, 1)})"
    words += f" from {text.count(sample.n, 'result')}"
    if sample.questioned:
        words += ", rests on an entry to be checked"
    return words if sample.comparable else f"{words}, measured another way and not comparable"


def running(found: Running) -> str:
    """How often and how much in all, against plan and target."""
    unit, name = text.clean(found.unit, 32), text.clean(found.name, 60)
    last = found.points[-1]
    parts = [
        f"{name}: {text.count(len(found.points), 'application')}, "
        f"in all {text.quantity(last.total, unit, text.places_of_three(last.total))} by {text.day(last.date)}"
    ]
    if found.questioned:
        parts.append("It rests on an entry to be checked")
    if found.plan:
        end = found.plan[-1]
        total = text.quantity(end.total, unit, text.places_of_three(end.total))
        parts.append(f"An even spread comes to {total} by {text.day(end.date)}")
    parts.append(f"Target for the season {text.target(found.target_low, found.target_high, unit, 2)}")
    return ". ".join(parts) + "."
