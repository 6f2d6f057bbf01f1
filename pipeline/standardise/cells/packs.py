"""Packs before and behind a number: ``2 25 kg bags`` are two of 25 kg, ``1 1/2 bags`` one and a half."""

from __future__ import annotations

import re
from itertools import islice

from pipeline.common.faults import FaultKind
from pipeline.profiles.style import Refused, Style
from pipeline.standardise.cells.fractions import PACKS
from pipeline.standardise.cells.numbers import FRACTIONS, Span, span_of

TWO_READINGS = FaultKind(
    "amount.two_readings",
    "two numbers before a pack",
    "{value} can be read as {readings}; nothing says which.",
    'Put an "x" between how many and what one holds, with its unit ("2 x 25 kg"), or write one number ("2.5 bags").',
)
UNCOUNTED = FaultKind(
    "amount.uncounted",
    "size of packs without their number",
    "{value} can be read as {whole}, or as {each}.",
    'Write how many there were ("2 x 25 kg"), or the amount alone ("25 kg").',
)
COUNT = rf"[\d.,{FRACTIONS}/⁄ -]*[\d{FRACTIONS}]"
"""Pattern of what may say how many."""
_PART_OF_MANY = re.compile(
    rf"({COUNT})(?:\s*{PACKS})?\s+off?\s+({COUNT})\s*({PACKS}|(?:(?:wheel)?barrow\s?)?loads?|(?:wheel)?barrows?)",
    re.IGNORECASE,
)
_NEXT_NUMBER = re.compile(rf"\s+(?=[\d.,{FRACTIONS}])")

_MOST_GAPS = 4
"""Gaps before figures that are looked at: two mixed numbers have three."""


def counted(text: str, style: Style) -> tuple[str, str]:
    """How many, and what one is: parts ``2 25 kg bags``; anything else is one of itself.

    Two numbers are how many and what one holds only where the second has a unit, and where both together are no mixed
    number: ``1 1/2 bags`` is one and a half.

    Raises:
        Refused: two numbers before a pack that can be read two ways.
    """
    packs = re.search(rf"\s*({PACKS})$", text, re.IGNORECASE)
    if not packs:
        return "1", text
    gaps = [(text[: gap.start()], text[gap.end() :]) for gap in islice(_NEXT_NUMBER.finditer(text), _MOST_GAPS)]
    splits = [(count, size) for count, size in gaps if _is_number(count, style) and _begun(size, style)]
    sized = [(count, size) for count, size in splits if not _is_number(size[: packs.start() - len(text)], style)]
    whole = _begun(text, style)
    if whole and (not sized or re.fullmatch(PACKS, whole.rest, re.IGNORECASE)):
        _refuse_uncounted(whole, packs.group(1))
        return "1", text
    if len(sized) == 1 and not whole:
        return sized[0]
    readings = [f"{count} times {size}" for count, size in sized or splits[:1]]
    if whole:
        readings.append(f"{whole.middle:g} {whole.rest}")
    elif splits:
        readings.append(f"{splits[0][0]} {packs.group(1)} that hold {splits[0][1][: packs.start() - len(text)]} each")
    if not readings:
        return "1", text
    raise Refused(TWO_READINGS, readings=" or ".join(readings))


def refuse_part_of_many(text: str) -> None:
    """Refuses ``1 of 2 bags``: one out of two, or one times two.

    Raises:
        Refused: with both readings.
    """
    if match := _PART_OF_MANY.fullmatch(text):
        count, whole, word = match.groups()
        raise Refused(TWO_READINGS, readings=f"{count} out of {whole} {word} or {count} times {whole} {word}")


def _refuse_uncounted(whole: Span, word: str) -> None:
    """Refuses ``25 kg bags``: so much in all, or bags of that size whose number is not told; ``25 kg bag`` is one.

    Raises:
        Refused: with both readings.
    """
    size = whole.rest.removesuffix(word).strip()
    if size and word.casefold().endswith("s"):
        held = f"{whole.middle:g} {size}"
        raise Refused(UNCOUNTED, whole=f"{held} in all", each=f"{word} of {held} each, and how many is not told")


def _begun(text: str, style: Style) -> Span | None:
    """The one number a text begins with; None where none does, or another follows."""
    try:
        span = span_of(text, style, [])
    except Refused:
        return None
    return None if _NEXT_NUMBER.match(f" {span.rest}") else span


def _is_number(text: str, style: Style) -> bool:
    span = _begun(text, style)
    return span is not None and not span.rest
