"""From a frozen comparison to its PDF of two to four pages: greens unnamed, or a club's own among their like."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from pipeline.common.grouped import grouped
from pipeline.compare.comparison import Cell, Comparison, OverSeasons, Own, Topic, YearChange
from reports.comparison import wording
from reports.comparison.boxes import Box, boxes, letters_of
from reports.comparison.data import csv_files
from reports.comparison.units import in_units
from reports.page import remarks, text
from reports.page.document import Document, Pages
from reports.page.figures import QUESTIONED, asked
from reports.page.house_style import HouseStyle
from reports.page.templating import fill

MOST_PAGES = 4
MOST_GROUPS = (18, 14, 10, 7, 4)
"""Groups printed: the first number with which the pages are no more than four."""
MOST_OWN, MOST_CHANGES, MOST_ASSOCIATIONS, MOST_SEASONS = 16, 8, 5, 8
"""What fits beside the groups; the rest stands in the attached CSV. Without own greens, twice as many changes."""

PROTECTION = (
    "No group under five greens or two clubs is shown, and none that could be worked out by taking one shown group "
    "from another.",
    "Every green enters what others see rounded to the step printed with each heading; a range holds every green "
    "compared, its ends rounded outwards to twice the step. No figure of another club can be told closer than "
    "its step, whatever is put together.",
    "Names stand only beside the reader's own greens.",
)
CHECK_FIRST = (
    f"{QUESTIONED}: a figure of the group, or the club's own, rests on an entry under an open warning; the "
    "contractor's round-up says which."
)
NOT_WHOLE = "The season still runs: sums of its log are not held against those of other seasons."
METHOD = (
    "Like greens share shape, region, construction and grasses, as far as a group stays large enough; samples also "
    "share their method and laboratory.",
    "Quartiles are of type {percentile} (Hyndman and Fan 1996). The box holds the middle half, the line the range, the "
    "tick the median; each heading has one scale.",
    "An estimate draws a figure towards its group's mean, the further the wider its own error (random-effects model, "
    "averaged over the spread between greens). Its interval and the places hold the truth in 95 of 100 cases at least.",
    "Places count from the lowest figure up: no place is better than another. Where figures are sums of the log, "
    "those that round alike share their places. What stands out has all its places outside the middle half.",
    "Limits of 95 and 99.8 % are where a green of the group falls (Spiegelhalter 2005, with spread between greens).",
    "Year on year: mean change of the same greens by the same method, with its 95 % interval (Student's t), no "
    "narrower than rounding leaves it. What went with a change of programme is an association, not an effect. Of "
    "twenty such lines one is outside its interval by chance.",
    "Over the seasons: each green with itself, a level for each season, a straight line through the levels; the 95 % "
    "interval counts seasons, not greens, neighbouring ones alike (correlation 0.5). Four seasons with five greens of "
    "two clubs are needed.",
)


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

    letter: str
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
    interval: str = ""
    verdict: str = ""


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
    letters: str
    seasons: tuple[Line, ...]
    seasons_more: str
    own: tuple[OwnRow, ...]
    own_more: str
    changes: tuple[Line, ...]
    changes_more: str
    changes_note: str
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
    seasons = comparison.over_seasons[:MOST_SEASONS]
    letters = letters_of(comparison.own)
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
        matters=tuple(wording.matters(comparison)),
        tables=_tables(chosen, comparison.own, letters),
        tables_more=text.more(len(comparison.cells) - len(chosen), "group", "groups.csv"),
        letters=_letters(comparison.own, letters),
        seasons=tuple(_over_seasons(one) for one in seasons),
        seasons_more=text.more(len(comparison.over_seasons) - len(seasons), "line", "seasons.csv"),
        own=tuple(_own_row(one, letters) for one in own),
        own_more=text.more(len(comparison.own) - len(own), "figure", "own.csv"),
        changes=tuple(_changed(one) for one in changes),
        changes_more=text.more(len(comparison.changes) - len(changes), "line", "changes.csv"),
        changes_note="" if comparison.whole else NOT_WHOLE,
        associations=tuple(
            Line(
                wording.heading(a.topic),
                text.clean(f"{text.sentence(a.programme)} {text.sentence(a.group)}", 200),
                "",
                a.text,
            )
            for a in told[:MOST_ASSOCIATIONS]
        ),
        associations_more=_not_told(comparison, len(told)),
        protection=PROTECTION,
        method=(*([CHECK_FIRST] if _asked(comparison) else []), *_method(comparison)),
    )


def _asked(comparison: Comparison) -> bool:
    """Whether something shown rests on an entry to be checked."""
    shown = (comparison.cells, comparison.own, comparison.changes, comparison.over_seasons)
    return any(any(one.questioned for one in of) for of in shown)


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


def _changed(one: YearChange) -> Line:
    """A change since the season before as a line."""
    return Line(
        wording.heading(one.topic),
        text.clean(one.group, 120),
        wording.changed(one.mean, one.low, one.high, one.topic, questioned=one.questioned),
        f"{one.n} / {one.clubs}",
        wording.interval(one.low, one.high, one.topic),
        wording.said(one),
    )


def _over_seasons(one: OverSeasons) -> Line:
    """A change over the seasons as a line; where there is none, why."""
    what, where = wording.heading(one.topic), text.clean(f"{one.group}, {wording.seasons_of(one)}", 120)
    if one.slope is None or one.low is None or one.high is None:
        return Line(what, where, "–", f"{one.n} / {one.clubs}", "–", one.refused)
    found = wording.changed(one.slope, one.low, one.high, one.topic, questioned=one.questioned)
    told = wording.interval(one.low, one.high, one.topic)
    return Line(what, where, found, f"{one.n} / {one.clubs}", told, wording.said(one))


def _letters(own: Sequence[Own], letters: Mapping[str, str]) -> str:
    """Which letter is which green: "A Main green, B Lower green"."""
    names = {one.green: text.clean(one.green_name, 40) for one in own}
    return ", ".join(f"{letter}{text.HARD}{names[green]}" for green, letter in letters.items())


def _by_topic(cells: Sequence[Cell]) -> dict[Topic, list[Cell]]:
    return grouped(cells, lambda cell: cell.topic)


def _chosen(cells: Sequence[Cell], most: int) -> list[Cell]:
    """The groups that are printed: the largest of each topic, as many a topic as there is room for."""
    by_topic = _by_topic(cells)
    share = max(1, most // max(1, len(by_topic)))
    kept = [sorted(found, key=lambda c: (-c.n, c.group))[:share] for found in by_topic.values()]
    return [cell for found in kept for cell in found][:most]


def _tables(cells: Sequence[Cell], own: Sequence[Own], letters: Mapping[str, str]) -> tuple[GroupTable, ...]:
    return tuple(_table(topic, found, own, letters) for topic, found in _by_topic(cells).items())


def _table(topic: Topic, cells: Sequence[Cell], own: Sequence[Own], letters: Mapping[str, str]) -> GroupTable:
    step = text.with_unit(text.limit_number(topic.step, topic.decimals), topic.unit)
    rows = []
    for c, box in zip(cells, boxes(cells, own, letters), strict=True):
        range_text = text.span(c.low, c.high, "", topic.decimals)
        middle = text.span(c.quarter, c.three_quarters, "", topic.decimals)
        median = text.quantity(c.median, topic.unit, topic.decimals)
        counts = f"{c.n} / {c.clubs}{f' {QUESTIONED}' if c.questioned else ''}"
        rows.append(GroupRow(text.clean(c.group, 120), counts, median, middle, range_text, box))
    method = f"{topic.method}. " if topic.method else ""
    return GroupTable(wording.heading(topic), text.clean(f"{method}Step {step}", 200), tuple(rows))


def _own_row(one: Own, letters: Mapping[str, str]) -> OwnRow:
    """One figure of the club's own, marked where it rests on an entry to be checked."""
    topic, places = one.topic, one.topic.decimals
    value = asked(text.quantity(one.value, topic.unit, places), questioned=one.questioned)
    interval = text.interval(one.low, one.high, places)
    ends = text.interval(one.estimate_low, one.estimate_high, places)
    estimate = "" if one.estimate is None or not ends else f"{text.number(one.estimate, places)} ({ends})"
    return OwnRow(
        letter=letters[one.green],
        green=text.clean(one.green_name, 60),
        topic=wording.heading(topic),
        value=value + (f" ({interval})" if interval else ""),
        estimate=estimate,
        place=wording.place(one) if one.place_low is not None else "no place" if one.cell else "no group shown",
        against=one.funnel,
    )


def _drafts(comparison: Comparison, attached: Sequence[str], version: str, house: HouseStyle) -> Iterator[Pages]:
    shown = in_units(comparison, house.units)
    for most in MOST_GROUPS:
        report = view(shown, most, version=version)
        yield Pages(fill("comparison.html.j2", house, report=report, attached=attached))


DOCUMENT = Document(
    drafts=_drafts,
    attached=csv_files,
    day=lambda comparison: comparison.as_of,
    most_pages=lambda *_: MOST_PAGES,
    styles=("comparison.css",),
    endings=("closer.css",),
)
html, render = DOCUMENT.html, DOCUMENT.render
