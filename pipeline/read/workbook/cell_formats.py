"""What a cell's number format makes of its number: percent, thousands, words round it, zeros before a code.

A cell that shows ``4.1%`` stores 0.041, one that shows ``<0.5`` or ``2 t`` may store 0.5 or 2: without its format it is
another figure. How many digits are shown is left aside, so that nothing is rounded; so are signs of money, brackets
round what is negative and colours. A format that shows nothing at all hides a number that is kept.

Source: ECMA-376 part 1, 18.8.30 (formats by number) and 18.8.31 (format codes).
"""

from __future__ import annotations

import operator
import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

BUILT_IN = {9: "0%", 10: "0.00%", 17: "mmm-yy"}
"""Formats known by number alone in which a number is not what is seen."""

_TOKEN = re.compile(r'"([^"]*)"|\\(.)|([_*].)|\[([^\]]*)\]|(General)|(.)', re.IGNORECASE | re.DOTALL)
_CONDITION = re.compile(r"(<=|>=|<>|<|>|=)\s*(-?\d+(?:\.\d+)?)")
_HOLDS: dict[str, Callable[[float, float], bool]] = {
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
    "=": operator.eq,
    "<>": operator.ne,
}
_MEANT = re.compile(r"[^\W_]|[%‰<>≤≥~≈±°\"″'′]")
"""What in the words round a number says something of it; brackets, dashes and blanks do not."""
_MONEY = re.compile(r"[£$€¥¢]")
_DIGITS = 15
"""Digits that a spreadsheet keeps of a number; those behind are noise of binary fractions."""


@dataclass(frozen=True)
class _Section:
    """One section of a format code.

    Attributes:
        condition: (comparison, limit) under which it holds, or None.
        digits: its placeholders and percent signs, in order; "" where it shows words alone.
        before: words before the number.
        after: words behind it.
    """

    condition: tuple[str, float] | None
    digits: str
    before: str
    after: str

    @property
    def thousands(self) -> int:
        """How often a thousand is taken off: commas behind the last digit."""
        bare = self.digits.replace("%", "")
        return len(bare) - len(bare.rstrip(","))

    @property
    def length(self) -> int:
        """Digits that a whole number is filled up to with zeros, 0 where it is not."""
        return len(self.digits) if re.fullmatch("00+", self.digits) else 0

    @property
    def changes(self) -> bool:
        """Whether a number is seen as another text than its digits."""
        alone = bool(self.before) and not self.digits
        return alone or bool("%" in self.digits or self.thousands or self.length or self.before or self.after)


def changes(code: str) -> bool:
    """Whether a format shows numbers as anything but their digits."""
    return bool(months_or_years(code)) or any(section.changes for section in _sections(code))


@cache
def months_or_years(code: str) -> str:
    """``%Y-%m`` of a format that shows a date's month and year alone, ``%Y`` of its year alone, "" of any other."""
    bare = "".join(token.group(6) or "" for token in _TOKEN.finditer(code.split(";", maxsplit=1)[0])).casefold()
    letters = frozenset(char for char in bare if char.isalpha())
    return {frozenset("my"): "%Y-%m", frozenset("y"): "%Y"}.get(letters, "")


def as_shown(value: float, code: str) -> str | None:
    """A number as its format (``0.0%``, ``0.00" kg"``) shows it, every digit it has; None where that is the number."""
    section = _section_for(value, _sections(code))
    if section is None or not section.changes:
        return None
    if not section.digits:
        return section.before
    number = Decimal(f"{value:.{_DIGITS}g}").scaleb(2 * section.digits.count("%") - 3 * section.thousands)
    text = f"{number:f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    if section.length and text.isdigit():
        text = text.zfill(section.length)
    return f"{section.before}{text}{'%' * section.digits.count('%')}{section.after}"


def _section_for(value: float, sections: tuple[_Section, ...]) -> _Section | None:
    if not sections:
        return None
    if any(section.condition for section in sections):
        for section in sections:
            if section.condition is None or _HOLDS[section.condition[0]](value, section.condition[1]):
                return section
        return None
    if value < 0 and len(sections) > 1:
        return sections[1]
    return sections[2] if value == 0 and len(sections) > 2 else sections[0]


@cache
def _sections(code: str) -> tuple[_Section, ...]:
    """The sections of a code for numbers; none of a code for dates, fractions, powers of ten or text.

    A last section with ``@`` is for text alone: the others are of as many as there are without it.
    """
    parts: list[list[re.Match[str]]] = [[]]
    for token in _TOKEN.finditer(code):
        if token.group(6) == ";":
            parts.append([])
        else:
            parts[-1].append(token)
    if len(parts) > 1 and any(token.group(6) == "@" for token in parts[-1]):
        parts.pop()
    sections = [_section(part) for part in parts[:3]]
    return tuple(section for section in sections if section is not None) if None not in sections else ()


def _section(tokens: list[re.Match[str]]) -> _Section | None:
    """One section; None where it is for dates, fractions, powers of ten or text, and shows no percent of them."""
    percent = "%" * sum(token.group(6) == "%" for token in tokens)
    condition, digits, words = None, "", ["", ""]
    for token in tokens:
        quoted, escaped, _, bracket, general, char = token.groups()
        if bracket is not None:
            met = _CONDITION.fullmatch(bracket)
            condition = (met.group(1), float(met.group(2))) if met else condition
        elif general:
            digits += "#"
        elif char and (char in "0#?.%" or (char == "," and digits)):
            digits += char
        elif char and (char in "@/" or char.isalpha()):
            return _Section(condition, f"0{percent}", "", "") if percent else None
        elif not token.group(3):
            words[bool(digits.strip("%"))] += quoted or escaped or char or ""
    before, after = (_said(text, alone=not digits.strip("%.,")) for text in words)
    return _Section(condition, digits if re.search("[0#?]", digits) else "", before, after)


def _said(words: str, *, alone: bool) -> str:
    """Words round a number, "" where they say nothing of it."""
    if alone:
        return words.strip()
    return words if _MEANT.search(words) and not _MONEY.search(words) else ""
