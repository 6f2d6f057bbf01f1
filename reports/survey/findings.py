"""Findings and programme of a condition survey as printed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from pipeline.findings.findings import Finding
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.judgement import by_reading, doubtful, judged
from pipeline.survey.programme import Line, Programme
from pipeline.survey.told import Told
from reports.page import text
from reports.page.figures import interval_text, marked, named, target_text, value_text

PRIORITIES = ("very low", "low", "medium", "high", "very high")
"""What is printed for a finding's consequence if nothing is done, 1 to 5."""

NO_COST = "None."
"""What a rule says that costs play nothing: beside one that does it is left out."""
MOST_WORKS = 16
_CELL = 20.0
"""Width of a month in the calendar's mark, in the units of its view box."""


@dataclass(frozen=True)
class Sign:
    """One thing that was found: the sentence, and how sure it is."""

    sentence: str
    doubt: str


@dataclass(frozen=True)
class Place:
    """Where in the document something stands: what a reader is told, and the anchor."""

    label: str
    anchor: str


@dataclass(frozen=True)
class FindingBlock:
    """One finding as printed.

    Attributes:
        number: its number.
        anchor: its own anchor.
        lead: its heading.
        priority: consequence if nothing is done, in words.
        signs: what was found, the gravest first.
        may_mean: what it may mean.
        helps: what usually helps.
        cost_to_play: what play pays for it.
        caution: what to look out for.
        see: maps, tables and photos it leads to.
        rests_on: the figures behind it.
        source: who says so.
    """

    number: str
    anchor: str
    lead: str
    priority: str
    signs: tuple[Sign, ...]
    may_mean: str
    helps: str
    cost_to_play: str
    caution: str
    see: tuple[Place, ...]
    rests_on: str
    source: str


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
    why: tuple[Place, ...]


SECTIONS = {
    "levels": Place("map of levels", "map-of-levels"),
    "sward": Place("sward and surface", "sward-and-surface"),
    "physical": Place("sward and surface", "sward-and-surface"),
    "sieve": Place("profile and sieve", "profile-and-sieve"),
}
"""Family of figures → the section that shows them."""

Said = Callable[[Indicator], str]
"""What is said of the days of a figure; "" where it is of the visit, or rests on no reading."""


def lead_of(found: Finding) -> str:
    """The finding in a few words; "" where its rule has none."""
    return text.clean(_filled(found.rule.lead, found.figures[0]), 120)


def sentence(found: Finding, said: Said) -> str:
    """What was found, with the figure farthest from its target and the days of its readings where not the visit's."""
    one = found.figures[0]
    days = said(one)
    return text.sentence(text.clean(_filled(found.rule.finding, one))) + (f" {text.sentence(days)}" if days else "")


def _filled(words: str, one: Indicator) -> str:
    filled = words.format(
        label=text.clean(one.label, 80),
        band=text.clean(one.band, 80),
        value=value_text(one),
        target=f"the target ({target_text(one)})",
        standing=one.standing,
    )
    return filled.replace(" ()", "")  # a figure without a band


def block(number: int, told: Told, refs: dict[tuple[str, str], int], said: Said) -> FindingBlock:
    """One finding as printed.

    Args:
        number: its number.
        told: the finding, of one rule or of several on one topic.
        refs: name and band of a figure → the number it is printed under.
        said: what is said of the days of a figure.
    """
    every = [part.rule for part in told.parts]
    first, *others = (Sign(sentence(part, said), text.sentence(doubt_of(part))) for part in told.parts)
    lead = lead_of(told.lead)
    return FindingBlock(
        number=str(number),
        anchor=finding_anchor(number),
        lead=lead or first.sentence,
        priority=f"{PRIORITIES[told.weight - 1]} priority".capitalize(),
        signs=(first, *others) if lead else (Sign("", first.doubt), *others),
        may_mean=_each(rule.may_mean for rule in every),
        helps=_each(rule.helps for rule in every),
        cost_to_play=_each(rule.cost_to_play for rule in every if rule.cost_to_play != NO_COST or len(every) == 1),
        caution=_each(rule.caution for rule in every),
        see=tuple(_see(told, refs)),
        rests_on="; ".join(_rests_on(one, refs, said(one)) for one in told.figures) + ".",
        source=_each(
            rule.source.replace("{source}", of_the_target(part)) for rule, part in zip(every, told.parts, strict=True)
        ),
    )


def finding_anchor(number: int) -> str:
    """The anchor of a finding."""
    return f"finding-{number}"


def finding_place(number: int) -> Place:
    """Where a finding stands."""
    return Place(str(number), finding_anchor(number))


def photo_anchor(number: int) -> str:
    """The anchor of a photo."""
    return f"photo-{number}"


def _see(told: Told, refs: dict[tuple[str, str], int]) -> Iterator[Place]:
    """Where the reader sees it: the section of its figures, then its photos."""
    families = dict.fromkeys(one.family for one in told.figures if (one.name, one.band) in refs)
    yield from dict.fromkeys(SECTIONS[name] for name in families if name in SECTIONS)
    yield from (Place(f"photo {number}", photo_anchor(number)) for number in told.photos)


def _each(texts: Iterable[str]) -> str:
    """Sentences of several rules after one another, each once."""
    return " ".join(dict.fromkeys(text.sentence(text.clean(one)) for one in texts if one))


def of_the_target(found: Finding) -> str:
    """Who set the targets of the figures a finding rests on."""
    sources = dict.fromkeys(one.target_source for one in (*found.figures, *found.beside) if one.target_source)
    return "; ".join(sources) or "not stated"


def doubt_of(found: Finding) -> str:
    """How sure a finding is."""
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


def span(programme: Programme) -> str:
    """First and last month in words."""
    first, last = programme.months[0], programme.months[-1]
    return f"{text.MONTHS[first.month - 1]} {first.year} to {text.MONTHS[last.month - 1]} {last.year}"


def printed(programme: Programme) -> tuple[Line, ...]:
    """Lines that are printed: all that a finding or a target asks for, then what was done most, in the crew's order."""
    ranked = sorted(programme.lines, key=lambda line: (not (line.why or line.quantity), -sum(line.done)))
    kept = {line.operation for line in ranked[:MOST_WORKS]}
    return tuple(line for line in programme.lines if line.operation in kept)


def line_of(line: Line, programme: Programme, told: Sequence[Told]) -> CalendarLine:
    """One operation through the months, with the numbers of the findings that ask for it."""
    work = line.operation
    numbers = [i for i, one in enumerate(told, start=1) if work in one.works and not one.less(work)]
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
        why=tuple(finding_place(number) for number in numbers),
    )


def initials(programme: Programme) -> tuple[tuple[float, str], ...]:
    """First letter of each month and its place over the calendar's boxes."""
    return tuple((i * _CELL, text.MONTHS[one.month - 1][:1]) for i, one in enumerate(programme.months))
