"""From a frozen comparison to its PDF of two pages: all greens without a name, or one club's own among their like."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pipeline.common.grouped import grouped
from pipeline.compare.comparison import Cell, Comparison, Own, Topic
from reports.comparison.data import csv_files
from reports.page import remarks, text
from reports.page.document import Document, Pages
from reports.page.figures import QUESTIONED, asked
from reports.page.house_style import HouseStyle
from reports.page.templating import fill

MOST_PAGES = 2
MOST_GROUPS = (18, 14, 10, 7, 4)
"""Groups printed: the first number with which the pages are no more than two."""
MOST_OWN, MOST_CHANGES, MOST_ASSOCIATIONS, MOST_MATTERS = 16, 8, 5, 4
"""What fits the second page; the rest stands in the attached CSV. Without own greens, twice as many changes."""
WIDTH, PAD = 200.0, 5.0

PROTECTION = (
    "No group under five greens or two clubs is shown, and none that could be worked out by taking one shown group "
    "from another.",
    "Every green enters what others see rounded to the step printed with each heading; the ends of a range are rounded "
    "outwards to twice the step. No figure of another club can be told closer than its step, whatever is put together.",
    "Names stand only beside the reader's own greens.",
)
IF_RIGHT = "if the entries behind it are right"
"""Stands in a sentence on a group with a figure that rests on an entry to be checked."""
CHECK_FIRST = (
    f"{QUESTIONED}: a figure of the group, or the club's own, rests on an entry under an open warning; the "
    "contractor's round-up says which."
)
METHOD = (
    "Like greens share shape, region, construction and grasses, as far as a group stays large enough; samples also "
    "share their method and laboratory.",
    "Quartiles are of type {percentile} (Hyndman and Fan 1996). The box holds the middle half, the line the range, the "
    "tick the median; each heading has one scale.",
    "An estimate draws a figure towards its group's mean, the further the wider its own error (random-effects model, "
    "averaged over the spread between greens). Its interval and the places hold the truth in 95 of 100 cases at least.",
    "Places count from the smallest figure up: no place is better than another. Where figures are sums of the log, "
    "those that round alike share their places.",
    "Limits of 95 and 99.8 % are where a green of the group falls (Spiegelhalter 2005, with spread between greens).",
    "Year on year: the same greens, the same method. What went with a change of programme is an association, not an "
    "effect; of twenty such lines one is outside its interval by chance.",
)


@dataclass(frozen=True)
class Box:
    """Places of range, box, median and the reader's marks on a line, in the units of its view box."""

    low: float
    quarter: float
    median: float
    three_quarters: float
    high: float
    marks: tuple[float, ...]
    title: str


@dataclass(frozen=True)
class GroupRow:
    """One group as printed."""

    group: str
    counts: str
    median: str
    middle: str
    range: str
    box: Box


@dataclass(frozen=True)
class GroupTable:
    """The groups of one topic under its heading."""

    heading: str
    method: str
    rows: tuple[GroupRow, ...]


@dataclass(frozen=True)
class OwnRow:
    """One of the reader's own greens as printed."""

    green: str
    topic: str
    value: str
    estimate: str
    place: str
    against: str


@dataclass(frozen=True)
class Line:
    """A line of the lists of changes and associations."""

    what: str
    where: str
    figure: str
    note: str


@dataclass(frozen=True)
class ComparisonReport:
    """A comparison as printed; every field is final text."""

    title: str
    reader: str
    region: str
    season: str
    before: str
    counted: str
    running_head: str
    created: str
    version: str
    density: str
    for_club: bool
    matters: tuple[str, ...]
    tables: tuple[GroupTable, ...]
    tables_more: str
    own: tuple[OwnRow, ...]
    own_more: str
    changes: tuple[Line, ...]
    changes_more: str
    associations: tuple[Line, ...]
    associations_more: str
    protection: tuple[str, ...]
    method: tuple[str, ...]


def _counted(comparison: Comparison) -> str:
    """Up to when records count; of greens that are not the reader's own never which end when."""
    earlier = [(text.name(name, 24), day) for name, day in comparison.earlier]
    said = remarks.records_up_to(comparison.as_of, earlier, each=not comparison.of_one_day)
    return remarks.looked(said, comparison.look)


def view(comparison: Comparison, most_groups: int = MOST_GROUPS[0], *, version: str) -> ComparisonReport:
    """The comparison with every figure formatted, and so many groups at most."""
    reader = text.name(comparison.club_name or comparison.club) if comparison.club else "All clubs, none named"
    region = text.clean(comparison.region, text.NAME_LIMIT) or "All regions"
    chosen = _chosen(comparison.cells, most_groups)
    told = [a for a in comparison.associations if a.value is not None]
    own = comparison.own[:MOST_OWN]
    changes = comparison.changes[: MOST_CHANGES if comparison.club else 2 * MOST_CHANGES]
    return ComparisonReport(
        title=f"Comparison of greens: {reader}, season {text.name(comparison.season)}",
        reader=reader,
        region=region,
        season=text.name(comparison.season),
        before=text.name(comparison.before),
        counted=_counted(comparison),
        running_head=f"{text.clean(reader, 60)}, {text.clean(region, 60)}",
        **remarks.stamp(comparison.as_of, version),
        density="",
        for_club=bool(comparison.club),
        matters=tuple(_matters(comparison)),
        tables=_tables(chosen, comparison.own),
        tables_more=text.more(len(comparison.cells) - len(chosen), "group", "groups.csv"),
        own=tuple(_own_row(one) for one in own),
        own_more=text.more(len(comparison.own) - len(own), "figure", "own.csv"),
        changes=tuple(
            Line(
                _heading(c.topic),
                text.clean(c.group, 120),
                asked(
                    text.with_unit(text.signed(c.median, c.topic.decimals), text.clean(c.topic.unit, 24)),
                    questioned=c.questioned,
                ),
                f"{text.signed(c.quarter, c.topic.decimals)} to "
                f"{text.signed(c.three_quarters, c.topic.decimals)}; {_counts(c.n, c.clubs)}",
            )
            for c in changes
        ),
        changes_more=text.more(len(comparison.changes) - len(changes), "line", "changes.csv"),
        associations=tuple(
            Line(
                _heading(a.topic), text.clean(f"{text.sentence(a.programme)} {text.sentence(a.group)}", 200), "", a.text
            )
            for a in told[:MOST_ASSOCIATIONS]
        ),
        associations_more=_not_told(comparison, len(told)),
        protection=PROTECTION,
        method=(*([CHECK_FIRST] if _asked(comparison) else []), *_method(comparison)),
    )


def _asked(comparison: Comparison) -> bool:
    """Whether something shown rests on an entry to be checked."""
    return any(any(one.questioned for one in shown) for shown in (comparison.cells, comparison.own, comparison.changes))


def _method(comparison: Comparison) -> Iterator[str]:
    yield from (text.clean(said, 400) for said in comparison.laboratory)
    yield from (line.replace("{percentile}", str(comparison.percentile)) for line in METHOD)


def _not_told(comparison: Comparison, told: int) -> str:
    refused = len(comparison.associations) - told
    parts = [text.more(told - MOST_ASSOCIATIONS, "line", "associations.csv")]
    if refused:
        parts.append(
            f"{text.count(refused, 'further change')} of programme could not be looked at: fewer than five greens or "
            "two clubs with it, or without."
        )
    return " ".join(part for part in parts if part)


def _counts(n: int, clubs: int) -> str:
    return f"{text.count(n, 'green')}, {text.count(clubs, 'club')}"


def _heading(topic: Topic) -> str:
    band = f", {topic.band}" if topic.band else ""
    return text.clean(f"{topic.label}{band}", 120)


def _matters(comparison: Comparison) -> Iterator[str]:
    """What stands out, a few lines."""
    if comparison.club:
        yield from _own_matters(comparison.own)
        return
    topics = {c.topic.label for c in comparison.cells}
    shown = text.count(len(comparison.cells), "group")
    yield f"{shown} of like greens can be shown, on {text.count(len(topics), 'subject')}."
    if hidden := sum(count for _, count in comparison.withheld):
        yield f"{text.count(hidden, 'group')} had to be withheld: too few greens or clubs, or easy to work out."
    widest: dict[str, Cell] = {}
    for cell in comparison.cells:
        best = widest.get(cell.topic.label)
        if best is None or cell.n > best.n:
            widest[cell.topic.label] = cell
    for cell in list(widest.values())[: MOST_MATTERS - 2]:
        middle = text.span(cell.quarter, cell.three_quarters, cell.topic.unit, cell.topic.decimals)
        doubt = f", {IF_RIGHT}" if cell.questioned else ""
        yield f"{_heading(cell.topic)}: the middle half of {_counts(cell.n, cell.clubs)} lies at {middle}{doubt}."


def _own_matters(own: Sequence[Own]) -> Iterator[str]:
    """Own figures outside the limits first, then those with a place."""
    placed = [one for one in own if one.cell is not None and one.place_low is not None]
    if not placed:
        yield "None of the club's greens has a group of like greens that is large enough to be shown."
    order = {"outside 99.8 %": 0, "outside 95 %": 1, "": 2, "inside": 3}
    for one in sorted(placed, key=lambda o: order[o.funnel])[:MOST_MATTERS]:
        assert one.cell is not None
        where = f"; it lies {one.funnel} of what its like show" if one.funnel.startswith("outside") else ""
        value = text.quantity(one.value, one.topic.unit, one.topic.decimals)
        yield (
            f"{text.clean(one.green_name, 60)}, {text.inside(_heading(one.topic))}: {value}, "
            f"{_place(one)} from the smallest{where}{f', {remarks.IF_RIGHT}' if one.questioned else ''}."
        )


def _place(one: Own) -> str:
    if one.cell is None or one.place_low is None or one.place_high is None:
        return "no place"
    held = f"{one.place_low}" if one.place_low == one.place_high else f"{one.place_low} to {one.place_high}"
    return f"place {held} of {one.cell.n}"


def _by_topic(cells: Sequence[Cell]) -> dict[Topic, list[Cell]]:
    return grouped(cells, lambda cell: cell.topic)


def _chosen(cells: Sequence[Cell], most: int) -> list[Cell]:
    """The groups that are printed: the largest of each topic, as many a topic as there is room for."""
    by_topic = _by_topic(cells)
    share = max(1, most // max(1, len(by_topic)))
    kept = [sorted(found, key=lambda c: (-c.n, c.group))[:share] for found in by_topic.values()]
    return [cell for found in kept for cell in found][:most]


def _tables(cells: Sequence[Cell], own: Sequence[Own]) -> tuple[GroupTable, ...]:
    return tuple(_table(topic, found, own) for topic, found in _by_topic(cells).items())


def _table(topic: Topic, cells: Sequence[Cell], own: Sequence[Own]) -> GroupTable:
    marks = {cell: [o.value for o in own if o.cell == cell] for cell in cells}
    every = [end for c in cells for end in (c.low, c.high, *marks[c])]
    left, width = min(every), max(every) - min(every) or 1.0

    def at(value: float) -> float:
        return round(PAD + (value - left) / width * (WIDTH - 2 * PAD), 1)

    step = text.with_unit(text.limit_number(topic.step, topic.decimals), topic.unit)
    rows = []
    for c in cells:
        range_text = text.span(c.low, c.high, "", topic.decimals)
        middle = text.span(c.quarter, c.three_quarters, "", topic.decimals)
        median = text.quantity(c.median, topic.unit, topic.decimals)
        box = Box(
            low=at(c.low),
            quarter=at(c.quarter),
            median=at(c.median),
            three_quarters=at(c.three_quarters),
            high=at(c.high),
            marks=tuple(at(value) for value in marks[c]),
            title=f"Median {median}, middle half {middle}, range {range_text}",
        )
        counts = f"{c.n} / {c.clubs}{f' {QUESTIONED}' if c.questioned else ''}"
        rows.append(GroupRow(text.clean(c.group, 120), counts, median, middle, range_text, box))
    method = f"{topic.method}. " if topic.method else ""
    return GroupTable(_heading(topic), text.clean(f"{method}Step {step}", 200), tuple(rows))


def _value(one: Own) -> str:
    """The club's own figure, marked where it rests on an entry to be checked."""
    shown = text.quantity(one.value, one.topic.unit, one.topic.decimals)
    return asked(shown, questioned=one.questioned)


def _own_row(one: Own) -> OwnRow:
    topic = one.topic
    interval = text.interval(one.low, one.high, topic.decimals)
    ends = text.interval(one.estimate_low, one.estimate_high, topic.decimals)
    estimate = "" if one.estimate is None or not ends else f"{text.number(one.estimate, topic.decimals)} ({ends})"
    return OwnRow(
        green=text.clean(one.green_name, 60),
        topic=_heading(topic),
        value=_value(one) + (f" ({interval})" if interval else ""),
        estimate=estimate,
        place=_place(one) if one.place_low is not None else "no place" if one.cell else "no group shown",
        against=one.funnel,
    )


def _drafts(comparison: Comparison, attached: Sequence[str], version: str, house: HouseStyle) -> Iterator[Pages]:
    for most in MOST_GROUPS:
        report = view(comparison, most, version=version)
        yield Pages(fill("comparison.html.j2", house, report=report, attached=attached))


DOCUMENT = Document(
    drafts=_drafts,
    attached=csv_files,
    day=lambda comparison: comparison.as_of,
    most_pages=lambda *_: MOST_PAGES,
    styles=("comparison.css",),
)
html, render = DOCUMENT.html, DOCUMENT.render
