"""The figures of a green's season as ``show`` prints them: a page of what needs a look first, or every figure."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from pipeline.cli.printing.columns import Cell, fits, hanging, laid_out, whole, words, wrapped
from pipeline.cli.printing.figures import figure, head, target
from pipeline.cli.printing.table import banded
from pipeline.cli.terminal import err, out, screen_width
from pipeline.common.words import counted, listed
from pipeline.indicators.base.description import heading_of
from pipeline.indicators.base.judgement import said
from pipeline.indicators.headings import by_heading

if TYPE_CHECKING:
    from pipeline.indicators.base.green_season import Indicator, Shown

ABOUT = 15
"""Lines a page has about: what is off or close stands whatever their number, other parts where there is room."""

LEGEND = "? rests on an entry to be checked first."


@dataclass(frozen=True)
class Part:
    """A part of the page.

    Attributes:
        title: what stands over it.
        left: what its figures are called where they are counted, not shown.
        words: what is said of its figures.
        room: its turn where there is room; 0 where it always stands.
        told: whether what is said stands beside each figure: the title alone does not tell it.
    """

    title: str
    left: str
    words: frozenset[str]
    room: int = 0
    told: bool = False


PARTS = (
    Part("Off target", "off target", frozenset({"off"})),
    Part("Close to target", "close to target", frozenset({"close"})),
    Part("On target", "on target", frozenset({"on target", "on target so far"}), room=2),
    Part(
        "Too early or too few to say", "too early or too few to say",
        frozenset({"too early to say", "too few to say", "too few", "not comparable"}), room=1, told=True,
    ),
    Part("Changed over time", "changed over time", frozenset({"falling", "rising", "slower", "faster"}), told=True),
    Part("No clear change", "without a clear change", frozenset({"no clear change"}), room=3),
    Part("Without a target", "without a target", frozenset({"no target"}), room=4),
    Part("Not known", "not known", frozenset(), room=4),
)  # fmt: skip
"""In the order of the page. Each figure stands in one of them, in the last if it has no value."""
OFF, CLOSE, ON_TARGET, CHANGED, NOT_KNOWN = *PARTS[:3], PARTS[4], PARTS[-1]

Figures = Sequence["Indicator"]
Row = tuple[Cell, ...]
Group = tuple[Part, str, Figures]
"""Figures of a part under a heading."""


@dataclass(frozen=True)
class Wanted:
    """Which figures are printed, and in which form.

    Attributes:
        every: every figure by heading, in the place of a page of what needs a look.
        heading: those under this heading alone; "" for any.
        outside: those off their target alone.
        names: with the machine name of each.
    """

    every: bool = False
    heading: str = ""
    outside: bool = False
    names: bool = False


def green(season: Shown, *, quiet: bool, wanted: Wanted, newer: str = "") -> None:
    """The figures of a green's season; ``newer`` is what is to be said of records beside the season."""
    for line in printed(season, screen_width(), wanted):
        out(line)
    if quiet:
        return
    _messages(season, every=wanted.every)
    if newer:
        err(newer)


def printed(season: Shown, columns: int, wanted: Wanted) -> list[str]:
    """What is printed of a green's season on so many columns; 0 where a line may be as long as it is."""
    figures = only(season, wanted).indicators
    form = listing if wanted.every or wanted.heading else page
    lines = list(form(figures, columns, names=wanted.names)) if figures else ["", _none(wanted)]
    legend = hanging(LEGEND, columns) if any(" ?" in line for line in lines) else []
    return [*hanging(head(season), columns), *lines, *legend]


def only(season: Shown, wanted: Wanted) -> Shown:
    """The season with those of its figures alone that are wanted."""
    kept = (
        one
        for one in season.indicators
        if (not wanted.heading or heading_of(one.family) == wanted.heading)
        and (not wanted.outside or part_of(one) is OFF)
    )
    return replace(season, indicators=tuple(kept))


def _none(wanted: Wanted) -> str:
    under = f" under “{wanted.heading}”" if wanted.heading else ""
    return f"No figure{under} is off its target." if wanted.outside else f"Nothing is on record{under}."


def part_of(one: Indicator) -> Part:
    """The part of the page that a figure stands in."""
    if one.value is None:
        return NOT_KNOWN
    word = said(one)
    return next(part for part in PARTS if word in part.words)


def listing(figures: Figures, columns: int, *, names: bool = False) -> Iterator[str]:
    """Every one of these figures, under the headings of the report; each heading has columns of its own."""
    for heading, of in by_heading(figures).items():
        rows = [
            (_label(one), whole(*figure(one)), whole(f"n {one.n:,}"), whole(target(one)), words(_told(one)))
            for one in of
        ]
        yield from ("", heading)
        for lines in _named(rows, of, columns, at=0, inset=2, names=names).values():
            yield from lines


def page(figures: Figures, columns: int, *, names: bool = False) -> Iterator[str]:
    """What is off target first, then what is close, on target and has changed, so many parts of it as a page holds."""
    of_part: dict[Part, Figures] = {part: [one for one in figures if part_of(one) is part] for part in PARTS}
    shown = {part for part in PARTS if not part.room}
    for turn in sorted({part.room for part in PARTS}):
        more = shown | {part for part in PARTS if part.room == turn}
        if sum(map(bool, _body(of_part, more, columns, names=False))) > ABOUT:
            break
        shown = more
    if not of_part[OFF] and not of_part[CLOSE]:
        yield from ("", "No figure is off its target or close to it.")
    yield from _body(of_part, shown, columns, names=names)
    counts = [f"{len(of):,} {part.left}" for part, of in of_part.items() if of and part not in shown]
    if counts:
        text = f"Not shown: {listed(counts)}. --all prints every figure, --family NAME those of one heading."
        yield from ("", *wrapped(words(text), columns))


def _body(of_part: Mapping[Part, Figures], shown: Collection[Part], columns: int, *, names: bool) -> list[str]:
    """The parts with their titles; changes in columns of their own, for their units are long.

    A heading stands beside its figures where each of these takes one line so, else above them.
    """
    groups = [(part, *one) for part in PARTS if part in shown for one in by_heading(of_part[part]).items()]
    tables = [[one for one in groups if (one[0] is CHANGED) == changed] for changed in (False, True)]
    beside = all(fits(_rows(table, beside=True, columns=columns), columns) for table in tables)
    lines: dict[int, list[str]] = {}
    for table in tables:
        rows = _rows(table, beside=beside, columns=columns)
        of_table = [one for *_, of in table for one in of]
        lines |= _named(rows, of_table, columns, at=1 if beside else 0, inset=2 if beside else 4, names=names)
    found: list[str] = []
    for part, of in of_part.items():
        title = f"{part.title} ({len(of)})"
        if part in shown and of:
            found += ["", title]
            for heading, under in by_heading(of).items():
                found += [] if beside else [f"  {heading}"]
                found += [line for one in under for line in lines[id(one)]]
        elif part is ON_TARGET and of:
            counts = "; ".join(f"{heading} {len(under)}" for heading, under in by_heading(of).items())
            found += ["", *wrapped(words(f"{title}: {counts}"), columns)]
    return found


def _rows(groups: Sequence[Group], *, beside: bool, columns: int) -> list[Row]:
    """Rows of the page; a heading beside them stands at its first figure, and at each where no terminal shows it."""
    rows: list[Row] = []
    for part, heading, of in groups:
        for number, one in enumerate(of):
            named = words("" if number and columns else heading)
            told = _told(one) if part.told else "so far" if one.so_far else ""
            cells = (_label(one), whole(*figure(one)), whole(target(one)), words(told))
            rows.append((named, *cells) if beside else cells)
    return rows


def _label(one: Indicator) -> Cell:
    return words(banded(one.label, one.band))


def _told(one: Indicator) -> str:
    """What is said of a figure, blank where that is no more than that it has no target."""
    word = said(one)
    return "" if word == "no target" else word


def _named(
    rows: Sequence[Row], figures: Figures, columns: int, *, at: int, inset: int, names: bool
) -> dict[int, list[str]]:
    """The lines of each figure, with its machine name in a last column where all fit, else in a line below."""
    if names:
        beside = [(*row, whole(one.name)) for row, one in zip(rows, figures, strict=True)]
        below = [] if fits(beside, columns, inset) else [" " * (inset + 2) + one.name for one in figures]
        lines = laid_out(rows if below else beside, columns, at, inset)
        lines = [[*of, name] for of, name in zip(lines, below, strict=True)] if below else lines
    else:
        lines = laid_out(rows, columns, at, inset)
    return dict(zip(map(id, figures), lines, strict=True))


def _messages(season: Shown, *, every: bool) -> None:
    """Entries to be checked and warnings; notes on the records where every figure is printed, else their number."""
    for question in season.questions:
        err(f"check first: {question.place.file}, line {question.place.line}: {question.text}")
    asked = [(f"Line {question.place.line} of {question.place.file}:", question.text) for question in season.questions]
    notes = 0
    for note in season.data_notes:
        if any(note.text.startswith(place) and text in note.text for place, text in asked):
            continue  # it stands among what is to be checked first
        if every or note.severity != "note":
            err(f"{note.severity}: {note.text}")
        else:
            notes += 1
    if notes:
        err(f"{counted(notes, 'note')} on the records: --all prints {'it' if notes == 1 else 'them'}.")
