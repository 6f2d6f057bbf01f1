"""Findings and programme of a condition survey as printed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pipeline.common.words import listed
from pipeline.findings.findings import Finding
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.judgement import by_reading, doubtful, judged
from pipeline.survey.programme import Line, Programme
from reports.page import text
from reports.page.figures import interval_text, marked, named, target_text, value_text

PRIORITIES = ("very low", "low", "medium", "high", "very high")
"""What is printed for a finding's consequence if nothing is done, 1 to 5."""

MOST_WORKS = 16
_CELL = 20.0
"""Width of a month in the calendar's mark, in the units of its view box."""


@dataclass(frozen=True)
class FindingBlock:
    """One finding as printed."""

    number: str
    sentence: str
    consequence: str
    doubt: str
    may_mean: str
    helps: str
    when: str
    cost_to_play: str
    caution: str
    source: str
    rests_on: str


@dataclass(frozen=True)
class MonthCell:
    """A month of a line: its place, whether a finding asks for the work, how often it was done a year before."""

    x: float
    asked: bool
    done: str


@dataclass(frozen=True)
class CalendarLine:
    """One operation through the twelve months."""

    label: str
    cells: tuple[MonthCell, ...]
    title: str
    why: str
    quantity: str


Said = Callable[[Indicator], str]
"""What is said of the days of a figure; "" where it is of the visit, or rests on no reading."""


def sentence(found: Finding, said: Said) -> str:
    """What was found, with the figure farthest from its target and the days of its readings where not the visit's."""
    one = found.figures[0]
    words = found.rule.finding.format(
        label=text.clean(one.label, 80),
        band=text.clean(one.band, 80),
        value=value_text(one),
        target=f"the target ({target_text(one)})",
        standing=one.standing,
    )
    words = words.replace(" ()", "")  # a figure without a band
    days = said(one)
    return text.sentence(text.clean(words, 300)) + (f" {text.sentence(days)}" if days else "")


def block(number: int, found: Finding, refs: dict[tuple[str, str], int], said: Said) -> FindingBlock:
    """One finding as printed.

    Args:
        number: its number.
        found: the finding.
        refs: name and band of a figure → the number it is printed under.
        said: what is said of the days of a figure.
    """
    rule = found.rule
    return FindingBlock(
        number=str(number),
        sentence=sentence(found, said),
        consequence=f"Priority: {PRIORITIES[rule.weight - 1]}",
        doubt=_doubt(found),
        may_mean=text.sentence(text.clean(rule.may_mean)),
        helps=text.sentence(text.clean(rule.helps)),
        when=_months(rule.months),
        cost_to_play=text.sentence(text.clean(rule.cost_to_play)),
        caution=text.sentence(text.clean(rule.caution)),
        source=text.sentence(text.clean(rule.source.replace("{source}", _of_the_target(found)))),
        rests_on="; ".join(_rests_on(one, refs, said(one)) for one in (*found.figures, *found.beside)) + ".",
    )


def _of_the_target(found: Finding) -> str:
    """Who set the targets of the figures a finding rests on."""
    sources = dict.fromkeys(one.target_source for one in (*found.figures, *found.beside) if one.target_source)
    return "; ".join(sources) or "not stated"


def _doubt(found: Finding) -> str:
    if told := [one.verdict for one in found.figures if one.verdict]:
        return f"{told[0].word}: {told[0].why}"
    if any(by_reading(one) for one in found.figures):
        return "nearer to the limit than laboratories differ: may be chance"
    if found.doubtful:
        return "close to the limit: may be chance"
    first = found.figures[0]  # the one that the sentence says
    if first.low is None or first.high is None:
        return "no interval: a single figure"
    if judged(first) and first.standing != "within" and not doubtful(first):
        return "the interval lies outside the target"
    return f"interval {interval_text(first)}"


def _rests_on(one: Indicator, refs: dict[tuple[str, str], int], days: str) -> str:
    interval = interval_text(one)
    value = marked(value_text(one), one)
    shown = f"{value}{f' ({interval})' if interval else ''}, n {one.n:,}{f', {days}' if days else ''}"
    return f"no. {refs[one.name, one.band]} {named(one, 60)} {shown}"


def _months(months: tuple[int, ...]) -> str:
    if not months:
        return "At any time."
    names = [text.MONTHS[m - 1] for m in sorted(months)]
    return f"{listed(names)}."


def span(programme: Programme) -> str:
    """First and last month in words."""
    first, last = programme.months[0], programme.months[-1]
    return f"{text.MONTHS[first.month - 1]} {first.year} to {text.MONTHS[last.month - 1]} {last.year}"


def printed(programme: Programme) -> tuple[Line, ...]:
    """Lines that are printed: all that a finding or a target asks for, then what was done most, in the crew's order."""
    ranked = sorted(programme.lines, key=lambda line: (not (line.why or line.quantity), -sum(line.done)))
    kept = {line.operation for line in ranked[:MOST_WORKS]}
    return tuple(line for line in programme.lines if line.operation in kept)


def line_of(line: Line, programme: Programme, found: tuple[Finding, ...]) -> CalendarLine:
    """One operation through the months, with the numbers of the findings that ask for it."""
    numbers = [str(i) for i, one in enumerate(found, start=1) if one.rule.id in line.why]
    cells = tuple(MonthCell(i * _CELL, i in line.asked, f"{done}" if done else "") for i, done in enumerate(line.done))
    names = [text.MONTHS[one.month - 1] for one in programme.months]
    asked = ", ".join(names[i] for i in line.asked) or "no month in particular"
    done = ", ".join(f"{names[i]} {n}" for i, n in enumerate(line.done) if n) or "never"
    label = text.clean(line.label, 40)
    title = f"{label}: asked for in {asked}" if line.why else f"{label}: not asked for by a finding"
    return CalendarLine(
        label=label,
        cells=cells,
        title=f"{title}; done in the twelve months before: {done}",
        why=", ".join(numbers),
        quantity=text.clean(line.quantity, 200),
    )


def initials(programme: Programme) -> tuple[tuple[float, str], ...]:
    """First letter of each month and its place over the calendar's boxes."""
    return tuple((i * _CELL, text.MONTHS[one.month - 1][:1]) for i, one in enumerate(programme.months))
