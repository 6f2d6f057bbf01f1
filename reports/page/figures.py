"""The table of indicators against their targets, as printed, and the small mark that shows each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from pipeline.common.grouped import grouped
from pipeline.common.words import difference_unit, line_ranges, listed
from pipeline.first_page.standing import waits
from pipeline.indicators.base import judgement
from pipeline.indicators.base.description import heading_of
from pipeline.indicators.base.green_season import Evidence, Indicator, Standing
from pipeline.indicators.base.judgement import Judgement
from pipeline.indicators.families import DESCRIBED
from pipeline.indicators.headings import by_heading
from pipeline.summaries.club_season import Topic
from reports.page import text

MARKS: dict[Judgement, str] = {
    "on target": "●",
    "close": "○",
    "off": "◆",
    "too early to say": "◇",
    "too few to say": "≈",
    "no target": "–",
}
"""Judgement → its plain mark; the words carry the meaning, the mark helps the eye."""
WAYS: dict[Standing, str] = {"below": "▼", "above": "▲"}
"""Which way a figure that is off lies, as a mark instead of the general one."""
QUESTIONED = "?"
"""Stands behind a figure that rests on an entry to be checked."""
Waits = Literal["waits"]
WAITS: Waits = "waits"
"""What is said of a check that rests on an entry under a warning: neither on target nor off."""
CHECK = "check"
"""What stands beside such a figure."""

_URGENCY: dict[Judgement, int] = {"off": 0, "close": 1, "on target": 2, "too early to say": 3, "too few to say": 4}

STRIP_WIDTH = 108.0
STRIP_PAD = 6.0
MOST_LABEL = 80
"""Characters of a label that are printed: no figure of ours has as many, a user's material may."""
ASIDE = 34
"""Longest note, in characters, that stands beside a figure without a target."""


@dataclass(frozen=True)
class Strip:
    """Geometry of the mark "value against target band", in the units of its view box.

    Attributes:
        band_x: left end of the target band; None without a target.
        band_width: its width.
        open_left: True where the target has no lower end.
        open_right: True where it has no upper end.
        low_x: left end of the interval; None without one.
        high_x: right end of the interval.
        value_x: place of the value.
        title: what the mark shows, in words.
    """

    band_x: float | None
    band_width: float
    open_left: bool
    open_right: bool
    low_x: float | None
    high_x: float | None
    value_x: float
    title: str


@dataclass(frozen=True)
class Figure:
    """One row of the table of indicators, every cell as printed."""

    ref: str
    label: str
    band: str
    value: str
    missing: bool
    interval: str
    target: str
    strip: Strip | None
    mark: str
    standing: str
    judged: bool
    marked: bool
    n: str
    note: str
    starred: bool = False


@dataclass(frozen=True)
class FigureTable:
    """The rows of one family under its heading."""

    heading: str
    figures: tuple[Figure, ...]
    note: str


def numbered(indicators: tuple[Indicator, ...]) -> tuple[tuple[int, Indicator], ...]:
    """Indicators with the reference number they are printed under: by heading, each in the order given."""
    return tuple(enumerate((one for of in by_heading(indicators).values() for one in of), start=1))


def printed(
    pairs: tuple[tuple[int, Indicator], ...], most: int | None, judged: int | None = None
) -> tuple[tuple[int, Indicator], ...]:
    """The figures that are printed: those with a target, standing or verdict to tell, then others while there is room.

    Of these others first those that a target is looked for, with the reason why there is none: organic matter is not
    left out for a count of holes because nobody has published a limit of it.
    With ``judged`` so many of the first sort at most: those off their target, close to it, on it, then undecided ones.
    What is left out keeps its number and stands in the attachment. Where ``most`` is None every figure is printed.
    """
    if most is None:
        return pairs
    ranked = sorted((p for p in pairs if _told(p[1])), key=lambda p: _urgency(p[1]))
    told = {ref for ref, _ in ranked[:judged]}
    open_ones = [(ref, i) for ref, i in pairs if not _told(i) and not _monthly(i)]
    recorded = [ref for ref, i in sorted(open_ones, key=lambda p: not _sought(p[1])) if i.value is not None]
    missing = [ref for ref, i in open_ones if i.value is None]
    kept = told | set((recorded + missing)[: max(0, most - len(told))])
    return tuple(pair for pair in pairs if pair[0] in kept)


def _told(one: Indicator) -> bool:
    """Whether a figure has something to tell beside itself: a standing, or the verdict of a test on a change."""
    return one.standing != "no target" or (one.verdict is not None and one.verdict.p is not None)


def _urgency(one: Indicator) -> int:
    """The place of a figure in the order it is told; a clear change comes with what is off."""
    if one.standing == "no target" and one.verdict is not None:
        return 0 if one.verdict.clear else 2
    return _URGENCY[judgement.judgement(one)]


def _sought(one: Indicator) -> bool:
    """Whether a target is looked for, though none is in force here."""
    what = DESCRIBED.get(one.name)
    return what is not None and bool(what.targets)


def _monthly(one: Indicator) -> bool:
    what = DESCRIBED.get(one.name)
    return what is not None and what.monthly


def figure_tables(
    pairs: tuple[tuple[int, Indicator], ...],
    most_text: int = text.TEXT_LIMIT,
    lines: frozenset[Evidence] = frozenset(),
) -> tuple[FigureTable, ...]:
    """One table a heading, in the order of the reference numbers.

    Args:
        pairs: figures with their reference numbers.
        most_text: characters of a note.
        lines: lines under a warning: what rests on one is to be checked, neither on target nor off.
    """
    return tuple(
        _table(heading, [_checked(figure(ref, one, most_text), one, lines) for ref, one in of])
        for heading, of in grouped(pairs, lambda pair: heading_of(pair[1].family)).items()
    )


def _checked(row: Figure, one: Indicator, lines: frozenset[Evidence]) -> Figure:
    """A row as it is; of a figure that waits for an entry, and has a target, that it is to be checked."""
    if not _to_be_checked(one, lines):
        return row
    return replace(row, mark=QUESTIONED, standing=CHECK, marked=True)


def stands(one: Indicator, lines: frozenset[Evidence]) -> tuple[str, str, bool]:
    """How a figure stands: mark, words, and whether it is set apart; one that waits for an entry is to be checked."""
    if _to_be_checked(one, lines):
        return QUESTIONED, CHECK, True
    return mark(one), judgement.said(one), judgement.judgement(one) == "off"


def _to_be_checked(one: Indicator, lines: frozenset[Evidence]) -> bool:
    return judgement.has_target(one) and waits(one, lines)


def _table(heading: str, rows: list[Figure]) -> FigureTable:
    """The rows with short notes of unjudged figures beside them; every other note once, below the table."""
    aside = {row.ref for row in rows if not row.judged and len(row.note) <= ASIDE}
    below = grouped((row for row in rows if row.note and row.ref not in aside), lambda row: row.note)
    told = (f"{line_ranges((int(row.ref) for row in same), text.MOST_RANGES)}: {why}" for why, same in below.items())
    kept = tuple(row if row.ref in aside else replace(row, note="", starred=bool(row.note)) for row in rows)
    return FigureTable(heading, kept, " ".join(told))


def named(of: Indicator | Topic, most: int = 80) -> str:
    """The label with its band in brackets, as read aloud."""
    label, band = text.clean(of.label, most), text.clean(of.band, most)
    return f"{label} ({band})" if band else label


def value_text(indicator: Indicator) -> str:
    """The value with its unit; "not recorded" without records, "no figure" where records cannot carry one."""
    if indicator.value is None:
        return text.MISSING if indicator.n == 0 else "no figure"
    digits = judgement.digits(indicator)
    return text.quantity(judgement.as_shown(indicator, digits), text.clean(indicator.unit, 32), digits)


def marked(value: str, indicator: Indicator) -> str:
    """A printed value with the mark of a figure that rests on an entry to be checked."""
    return asked(value, questioned=bool(indicator.questioned) and indicator.value is not None)


def asked(value: str, *, questioned: bool) -> str:
    """A printed value, with the mark behind it where it rests on an entry to be checked."""
    return f"{value}{text.HARD}{QUESTIONED}" if questioned else value


def mark(indicator: Indicator) -> str:
    """The mark of what is said of a figure against its target."""
    found = judgement.judgement(indicator)
    return WAYS.get(indicator.standing, MARKS[found]) if found == "off" else MARKS[found]


def tally(words: Sequence[Judgement | Waits]) -> str:
    """How many figures are on target, close and off, of how many it cannot be said, and how many wait for an entry."""
    told = [f"{n} {'is' if n == 1 else 'are'} {word}" for word in judgement.JUDGEMENTS[:3] if (n := words.count(word))]
    early, few = words.count("too early to say"), words.count("too few to say")
    left = [*([f"of {early} it is too early to say"] if early else []),
            *([f"of {few} there are too few records to say"] if few else [])]  # fmt: skip
    waiting = words.count(WAITS)
    left += [f"{waiting} wait{'s' if waiting == 1 else ''} for an entry to be checked"] if waiting else []
    return "; ".join([listed(told), *left]) if told else listed(left)


def interval_text(indicator: Indicator) -> str:
    """The interval as a range without its unit; empty where there is none."""
    places = judgement.interval_digits(indicator)
    return "" if indicator.value is None else text.interval(indicator.low, indicator.high, places)


def target_text(indicator: Indicator) -> str:
    """The target in words with its unit."""
    unit = text.clean(indicator.unit, 32)
    low, high, places = indicator.target_low, indicator.target_high, judgement.digits(indicator)
    return text.target(low, high, unit, places, reached=indicator.reached)


def figure(ref: int, indicator: Indicator, most_text: int = text.TEXT_LIMIT) -> Figure:
    """One printed row of the table; of its note the first sentences, in so many characters."""
    return Figure(
        ref=str(ref),
        label=text.clean(indicator.label, MOST_LABEL),
        band=_without(indicator.label, text.clean(indicator.band, MOST_LABEL)),
        value=marked(value_text(indicator), indicator),
        missing=indicator.value is None,
        interval=interval_text(indicator),
        target=target_text(indicator),
        strip=strip(indicator),
        mark=mark(indicator),
        standing=judgement.said(indicator),
        judged=indicator.standing != "no target" or target_text(indicator) != "none set",
        marked=judgement.judgement(indicator) == "off",
        n=f"{indicator.n:,}",
        note=text.sentences(indicator.note, most_text),
    )


def _without(label: str, band: str) -> str:
    """The band without the label it may begin with: "Phosphorus" and "phosphorus, Mehlich 3" say it twice."""
    start = f"{label}, ".lower()
    return band[len(start) :] if band.lower().startswith(start) else band


def drawn_so(indicator: Indicator, mark_of_it: str) -> str:
    """What a mark against its target shows, in words: where it lies to the shade, and whether its interval crosses it.

    Args:
        indicator: the figure, which has a value.
        mark_of_it: what stands for the figure: a dot, a cross.
    """
    assert indicator.value is not None, "a mark needs a value"
    known = indicator.low is not None and indicator.high is not None
    if indicator.target_low is None and indicator.target_high is None:
        return f"the {mark_of_it} on a line without a target{', with its interval' if known else ''}"
    end = {"below": indicator.target_low, "above": indicator.target_high}.get(indicator.standing)
    lies = "inside it" if end is None else f"{gap_of(indicator, end)} {indicator.standing} it"
    said = f"target {target_text(indicator)} shaded, the {mark_of_it} {lies}"
    if not known:
        return said
    return f"{said}, {'its interval across the limit' if judgement.doubtful(indicator) else 'its whole interval too'}"


def gap_of(indicator: Indicator, other: float) -> str:
    """How far a figure lies from another number, with the digits it is printed with; of shares in percentage points."""
    assert indicator.value is not None
    unit = difference_unit(text.clean(indicator.unit, 32))
    return text.quantity(abs(indicator.value - other), unit, judgement.digits(indicator))


def strip(indicator: Indicator) -> Strip | None:
    """Where the value, its interval and the target band lie on one line; None without value or target.

    Each mark has a scale of its own: from a quarter below to a quarter above all it has to show, or from zero where
    that is two numbers.
    """
    return strips([indicator])[0]


def strips(indicators: Sequence[Indicator | None]) -> tuple[Strip | None, ...]:
    """The same for several figures of one unit, all on one scale; None where there is no figure, value or target.

    Two numbers alone, a figure and one limit, would stand in the same two places however far apart they are: their
    scale begins at zero, so that the places tell how far. Where one of them is negative no bar is drawn.
    """
    drawn = [i for i in indicators if i is not None and _drawable(i)]
    if not drawn:
        return (None,) * len(indicators)
    shown = [end for one in drawn for end in _ends(one)]
    first, last = min(shown), max(shown)
    margin = (last - first or abs(last) or 1.0) * 0.25
    if len(shown) == 2:
        if first < 0:
            return (None,) * len(indicators)
        first, margin = 0.0, last * 0.25 or 1.0
    left = max(0.0, first - margin) if first >= 0 else first - margin
    width = last + margin - left
    return tuple(_strip(i, left, width) if i is not None and _drawable(i) else None for i in indicators)


def _drawable(one: Indicator) -> bool:
    return one.value is not None and (one.target_low is not None or one.target_high is not None)


def _ends(one: Indicator) -> list[float]:
    """Every number the mark has to show: value, target, and the interval where both its ends are known."""
    interval = [one.low, one.high] if one.low is not None and one.high is not None else []
    return [end for end in (one.value, one.target_low, one.target_high, *interval) if end is not None]


def _strip(indicator: Indicator, left: float, width: float) -> Strip:
    """The mark on a scale that begins at ``left`` and is so wide."""
    value, low, high = indicator.value, indicator.low, indicator.high
    assert value is not None, "a mark needs a value"

    def at(x: float) -> float:
        return round(STRIP_PAD + (x - left) / width * (STRIP_WIDTH - 2 * STRIP_PAD), 2)

    band_left = at(indicator.target_low) if indicator.target_low is not None else 0.0
    band_right = at(indicator.target_high) if indicator.target_high is not None else STRIP_WIDTH
    title = text.sentence(drawn_so(indicator, "dot"))
    return Strip(
        band_x=band_left,
        band_width=max(round(band_right - band_left, 2), 1.5),
        open_left=indicator.target_low is None,
        open_right=indicator.target_high is None,
        low_x=at(low) if low is not None and high is not None else None,
        high_x=at(high) if low is not None and high is not None else None,
        value_x=at(value),
        title=title,
    )
