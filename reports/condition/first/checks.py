"""The box of entries to check, as printed: framed where one is under a warning, quiet where none is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.indicators.base import judgement
from pipeline.indicators.base.first_page import Check, FirstPage, Rejected
from reports.condition.first.level import FirstLevel
from reports.page import figures, text

MOST_WARNING, MOST_REASON = 230, 90
"""Characters of a warning, in whole sentences, and of why a row was rejected."""
ALL = "see “About the records”"


@dataclass(frozen=True)
class Paragraph:
    """A paragraph of the box: first words in bold, and the rest."""

    lead: str
    words: str


@dataclass(frozen=True)
class CheckBox:
    """The box: framed and over the full width, or quiet beside the findings."""

    framed: bool
    heading: str
    paragraphs: tuple[Paragraph, ...]


def box(of: FirstPage, level: FirstLevel) -> CheckBox:
    """The box of a first page."""
    quiet = beside(of, level.rejected)
    if not of.checks:
        sound = "No figure rests on an entry that looks wrong." if of.warned else "No logged entry looks wrong."
        said = (Paragraph("", sound),) if of.warned or not quiet else ()  # what is missing is no entry that looks right
        return CheckBox(False, "Entries to check", (*said, *quiet))
    told = [part for one in of.checks[: level.checks] for part in entry(one)]
    left = len(of.checks) - level.checks
    more = [Paragraph("", f"{text.count(left, 'further entry', 'further entries')}: {ALL}.")] if left > 0 else []
    return CheckBox(True, of.verdict[0].rstrip("."), (*told, *more, *quiet))


def beside(of: FirstPage, named: int, where: str = ALL) -> tuple[Paragraph, ...]:
    """What is not wrong but missing: rows that were rejected, so many of them named, and what the law wants on record.

    Args:
        of: the first page.
        named: rejected rows that are named; the others are counted.
        where: where those stand; "" where that is said elsewhere.
    """
    return (*_rejected(of, named, where), *(Paragraph("", text.clean(gap, 200)) for gap in of.gaps))


def entry(one: Check, of: str = "") -> Iterator[Paragraph]:
    """An entry under a warning: where, why it looks wrong, and what to make of the figures that rest on it.

    Args:
        one: the entry.
        of: the green it is of, where several are told of.
    """
    at = one.question.place
    yield Paragraph(
        f"{f'{of}: ' if of else ''}{text.name(at.file, 60)}, line {at.line:,}:",
        text.sentences(text.sentence(text.clean(one.question.text)), MOST_WARNING),
    )
    if one.now:
        first, then = one.now[0], one.without[0]
        yield Paragraph(
            f"Until it is settled, ignore the {text.inside(figures.named(first))} of {figures.value_text(first)}.",
            f"Without this entry it would be {figures.value_text(then)}: {judgement.said(then)}.",
        )
    else:
        labels = [text.inside(text.clean(label, 60)) for label in one.question.labels[:2]]
        yield Paragraph("Until it is settled, ignore", f"what rests on it: {', '.join(labels)}.")


def _rejected(of: FirstPage, most: int, where: str) -> Iterator[Paragraph]:
    if not of.rejected:
        return
    named = [_row(one) for one in of.rejected[:most]]
    left = len(of.rejected) - len(named)
    if not named:
        rows = text.count(left, "row is", "rows are")
        yield Paragraph("", f"{rows} rejected and not yet corrected{f': {where}' if where else ''}.")
        return
    more = f" And {left} more: {where}." if left else ""
    yield Paragraph("", f"Rejected, not yet corrected: {'; '.join(named)}.{more}")


def _row(one: Rejected) -> str:
    """Where a rejected row stands, and why, where that is short."""
    why = text.clean(one.message).partition("; ")[0].rstrip(".")
    where = f"{text.name(one.file, 60)}, line {one.line:,}"
    return f"{where} ({text.inside(why)})" if len(why) <= MOST_REASON else where
