"""Why a line is planned, in words: written into a programme, loaded, and read again with its quantities."""

from __future__ import annotations

import re
from dataclasses import replace

from pipeline.common.amounts import T_PLACES, Amount, AmountText, Part, Source
from pipeline.common.measured import remembered

KG_OF_T = 1000.0
_PUT_ON = re.compile(
    r"(?P<when>as (?:on|in) [^:]+: )(?P<number>\d[\d,]*(?:\.\d+)?) (?P<unit>kg|t|l|g/m²)(?P<rest>(?:[ ,].*)?)",
    re.DOTALL,
)
_NUMBER = r"\d[\d,]*(?:\.\d+)?"
_SIZE = rf"{_NUMBER}(?: to {_NUMBER})? (?:kg N|kg|t|l|g/m²|ml/m²)"
_OURS = re.compile(
    r"as (?:on|in) .*? in all as far as logged|as \d+ times from |dose \d+ of \d+: |"
    r"(?:within |counts towards )?target: |the lower would be |its entry is to be checked first: |"
    rf"{_SIZE}(?:$|,? by target: |, of {_NUMBER} kg on |, one part of |: {_SIZE}$| as delivered| brought to |"
    r" \(| dry| in all by target: )"
)
"""How the parts of a basis begin that this code writes with a quantity; any other stands as somebody wrote it."""
_SOURCE = re.compile(r"(?<=kg/m²|kg/ha) (\([^()]*(?:\([^()]*\)[^()]*)*\))")
"""Who sets a target, behind its figures: quoted, whatever stands in it."""
BETWEEN = "; "
CARRIED = {"kg/m²": 2, "t": T_PLACES}
"""Digits after the point that targets and masses carry, where the words leave zeros out."""


def put_on(size: float, unit: str) -> Amount:
    """What was put on then, as the basis says it: from a tonne on in tonnes, to the kilogram."""
    if unit == "kg" and size >= KG_OF_T:
        return Amount(round(size / KG_OF_T, 3), "t", ",g", carries=3)
    return Amount(size, unit, ",.4g" if size < KG_OF_T else ",.0f", carries=1)


def told(basis: str) -> AmountText:
    """A basis with the quantities that this code wrote into it; what anybody else wrote stands as it is."""
    parts: list[Part] = []
    for segment in basis.split(BETWEEN):
        parts += [BETWEEN] if parts else []
        parts += _segment(segment).parts
    return AmountText(*parts)


def _segment(segment: str) -> AmountText:
    if found := _PUT_ON.fullmatch(segment):
        size = float(found["number"].replace(",", ""))
        return AmountText(found["when"], put_on(size, found["unit"]), _rest(found["rest"]))
    return _quoting(segment) if _OURS.match(segment) else AmountText(segment)


def _rest(words: str) -> AmountText:
    """What follows what was put on then: the water of it, where that is logged."""
    return remembered(words) if "in all as far as logged" in words else AmountText(words)


def _quoting(segment: str) -> AmountText:
    """A part of ours; who sets the target in it stands as it was written."""
    parts: list[Part] = []
    end = 0
    for found in _SOURCE.finditer(segment):
        parts += [_remembered(segment[end : found.start(1)]), found[1]]
        end = found.end()
    return AmountText(*parts, _remembered(segment[end:]))


def _remembered(words: str) -> AmountText:
    return remembered(words).turned(
        lambda one: replace(one, carries=max(one.decimals, CARRIED.get(one.unit, one.decimals)))
    )


def in_sources(basis: str) -> AmountText:
    """A basis as a page tells it that numbers its sources: one without a quantity of ours is its own source."""
    made = told(basis)
    return made if any(isinstance(part, Amount) for part in made.parts) else AmountText(Source(basis))
