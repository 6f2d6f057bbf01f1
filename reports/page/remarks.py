"""What stands on every document beside its figures: whose it is, facts, what is due, cautions, notes on the records."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from pipeline.common.words import listed, told_of
from pipeline.indicators.base.green_season import Caution, GreenSeason, Question, Severity
from pipeline.indicators.base.look import Look
from pipeline.summaries.club_season import ClubSeason, GreenLine, RoundUp
from reports.page import text
from reports.page.document import moment_of

MOST_FACTS = 12
MOST_QUESTIONS = 3
"""Entries to be checked that stand on the first page; the others are counted."""
MOST_LABELS = 3
"""Figures named beside an entry to be checked; the others are counted."""
IF_RIGHT = "if the entry behind it is right"
"""Stands in a sentence on a figure that rests on an entry to be checked."""
MOST_EARLIER = 3
"""Greens whose records end earlier than others' that are named, each with its day; more are counted."""
LONG_NAME = 36
"""Characters past which the name at the head is set smaller."""
CERTIFIES_NOTHING = (
    "This report states what was recorded and measured, and what it may mean. It certifies nothing. "
    "Product labels, local codes and licensed practice decide what may be applied."
)
WEIGHTS: dict[Severity, str] = {"error": "Fault", "warning": "Check", "note": "Note"}
"""Severity of a note on the records → its weight as a word, the heaviest first."""


@dataclass(frozen=True)
class Fact:
    """One fact of the green: a label and its printed value."""

    label: str
    value: str


@dataclass(frozen=True)
class CautionLine:
    """One caution, what set it off, and who says so."""

    text: str
    trigger: str
    source: str


@dataclass(frozen=True)
class NoteLine:
    """One note on the records, with its weight as a word."""

    weight: str
    text: str


def stamp(day: date, version: str) -> dict[str, Any]:
    """Time (``created``, taken from the last day of records) and ``version`` as a document's properties have them."""
    return {"created": text.moment(moment_of(day)), "version": text.clean(version, 40)}


def season_head(of: GreenSeason | ClubSeason | RoundUp) -> dict[str, Any]:
    """What a document tells of its ``season``: name, ``period``, ``as_of``, and up to when records are ``counted``."""
    greens: Sequence[GreenSeason | GreenLine] = () if isinstance(of, GreenSeason) else of.greens
    period = f"{text.day(of.season_start)} – {text.day(of.season_end)}"
    ends = [(text.clean(one.green, 24) or text.name(one.green_name, 24), one.as_of) for one in greens]
    counted = records_up_to(of.as_of, [end for end in ends if end[1] < of.as_of])
    if of.known_to and of.known_to > of.as_of:
        own = any(one.known_to != of.known_to for one in greens)
        to = "the last of each green’s own records, the latest of " if own else ""
        counted += f"; what is due counts to {to}{text.day(of.known_to)}"
    on = text.day(of.as_of) if len({day for _, day in ends}) < 2 else "the last day of each green’s own records"
    return {"season": text.name(of.season), "period": period, "as_of": on, "counted": looked(counted, of.look)}


def records_up_to(last: date, earlier: Sequence[tuple[str, date]], *, each: bool = False) -> str:
    """Up to when records count, and which greens' end before that.

    Args:
        last: the last day counted.
        earlier: greens whose records end earlier: what they are called, and their last day.
        each: whether greens that are not to be named end earlier as well.
    """
    said = f"Records up to {text.day(last)}{', of each green up to its own last day' if each else ''}"
    if len(earlier) > MOST_EARLIER:
        first = min(day for _, day in earlier)
        return f"{said}; those of {len(earlier)} greens end earlier, the first on {text.day(first)}"
    ends = [f"those of {name} {'' if nth else 'end '}on {text.day(day)}" for nth, (name, day) in enumerate(earlier)]
    return f"{said}; {listed(ends)}" if ends else said


def looked(counted: str, look: Look) -> str:
    """Up to when records count, as a sentence, and what a look at another day leaves out."""
    return text.sentence("; ".join((counted, *(text.clean(said) for said in look.words))))


def green_head(season: GreenSeason) -> dict[str, Any]:
    """What a document tells of its ``green``: ``club``, ``region``, ``running_head``, whether ``long_name``."""
    green, club = text.name(season.green_name), text.name(season.club_name)
    return {
        "green": green,
        "club": club,
        "region": text.clean(season.region, text.NAME_LIMIT),
        "running_head": f"{text.clean(green, 50)}, {text.clean(club, 50)}",
        "long_name": len(green) > LONG_NAME,
    }


def facts(season: GreenSeason) -> tuple[Fact, ...]:
    """The first facts of the green."""
    return tuple(
        Fact(text.clean(label, 60), text.clean(value, 160) or text.MISSING)
        for label, value in season.facts[:MOST_FACTS]
    )


def quantity_of(quantity: str, most: int) -> str:
    """How much is due, in at most so many characters."""
    return text.clean(quantity, most) or "quantity not known"


def by_when(by: str, most: int = 60) -> str:
    """By when it is due."""
    return text.clean(by, most) or "no date set"


def source_of(source: str, most: int) -> str:
    """Who says so."""
    return text.clean(source, most) or "common practice, no source"


def cautions(found: Iterable[Caution]) -> tuple[CautionLine, ...]:
    """Cautions on one green."""
    return tuple(
        CautionLine(text.sentence(text.clean(one.text)), text.clean(one.trigger, 200), source_of(one.source, 200))
        for one in found
    )


def brief_cautions(found: Iterable[Caution]) -> tuple[CautionLine, ...]:
    """Cautions on one green in a line each; the whole text and what set them off stand in the attached notes.csv."""
    return tuple(
        CautionLine(text.sentence(text.clean(one.brief or one.text)), "", source_of(one.by or one.source, 200))
        for one in found
    )


def question(one: Question) -> str:
    """An entry to be checked, where it stands, and the figures that rest on it or that it may belong to."""
    labels = [text.inside(text.clean(label, 60)) for label in one.labels]
    named = [*labels[:MOST_LABELS], *([f"{len(labels) - MOST_LABELS} more"] if len(labels) > MOST_LABELS else [])]
    be = "may belong to" if one.rejected else "is in"
    return text.sentence(f"{_entry(one)} {text.sentence(f'It {be} {listed(named)}')}")


def questions(season: GreenSeason) -> tuple[str, ...]:
    """The entries to be checked before any figure that rests on them is believed; the first few, then how many more."""
    told = [question(one) for one in season.questions[:MOST_QUESTIONS]]
    left = len(season.questions) - len(told)
    return (
        *told,
        *([f"{text.count(left, 'further entry', 'further entries')}: see “About the records”."] if left > 0 else []),
    )


def questions_of(greens: Sequence[tuple[str, Sequence[Question]]]) -> tuple[str, ...]:
    """The same of many greens, each with its name; values in question first, then the first of each green.

    Args:
        greens: what each is called, and its entries.
    """
    every = [(one.rejected, nth, at) for at, (_, own) in enumerate(greens) for nth, one in enumerate(own)]
    ranked = [(greens[at][0], greens[at][1][nth]) for _, nth, at in sorted(every)]
    told = [f"{name}: {question(one)}" for name, one in ranked[:MOST_QUESTIONS]]
    left = len(ranked) - len(told)
    return (*told, *([f"{text.count(left, 'further entry', 'further entries')} on these greens."] if left > 0 else []))


def _entry(one: Question) -> str:
    """The warning with the place it is about, as a note on the records has it."""
    return text.sentence(text.clean(told_of(one.place.file, one.place.line, one.text)))


def notes(season: GreenSeason, told: int = MOST_QUESTIONS) -> tuple[NoteLine, ...]:
    """Notes on the records of one green, the heaviest first; before them, that its texts hold what cannot be drawn.

    Args:
        season: the green's season.
        told: entries to be checked that stand elsewhere on the pages in full, and so not here.
    """
    ordered = sorted(season.data_notes, key=lambda note: list(WEIGHTS).index(note.severity))
    every = [NoteLine(WEIGHTS[one.severity], text.sentence(text.clean(one.text))) for one in ordered]
    first = {_entry(one) for one in season.questions[:told]}
    lines = [line for line in every if line.text not in first]
    replaced = text.replaced_words(_free_text(season), "names or texts", "report")
    return (*([NoteLine(WEIGHTS["warning"], replaced)] if replaced else []), *lines)


def more_notes(left: int) -> str:
    """How many lines more stand in the attached notes; "" where none does."""
    return f"And {left} more in the attached notes.csv." if left > 0 else ""


def _free_text(season: GreenSeason) -> Iterator[str]:
    """Every text of the season that users wrote."""
    yield from (season.green_name, season.club_name, season.region, season.season, *season.headline)
    for fact in season.facts:
        yield from fact
    for work in season.works:
        yield from (work.operation, work.detail, work.amount, work.evidence.file)
    for one in season.indicators:
        yield from (one.label, one.band, one.unit, one.note, one.target_source)
    for due in season.due:
        yield from (due.what, due.quantity, due.by, due.why)
    for caution in season.cautions:
        yield from (caution.text, caution.source, caution.trigger)
    yield from (note.text for note in season.data_notes)
    yield from (source.file for source in season.sources)
