"""What a cell's number format makes of its number: percent, thousands, words round it, zeros before a code.

A cell that shows ``4.1%`` stores 0.041, one that shows ``<0.5`` or ``2 t`` may store 0.5 or 2: without its format it is
another figure. How many digits are shown is left aside, so that nothing is rounded; so are signs of money, brackets
round what is negative, colours, and a dash for nought. Where the figure seen is another than the one stored and no unit
stands behind it (thousands left out, a point between two digits, a minus sign or the whole figure not shown), both are
told (:func:`two_figures`), and whoever reads the cell as a figure asks.

Source: ECMA-376 part 1, 18.8.30 (formats by number) and 18.8.31 (format codes).
"""

from __future__ import annotations

import operator
import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

BUILT_IN = {9: "0%", 10: "0.00%", 17: "mmm-yy", 18: "h:mm AM/PM", 19: "h:mm:ss AM/PM", 20: "h:mm", 21: "h:mm:ss"}
BUILT_IN |= {45: "mm:ss", 47: "mmss.0"}
"""Formats known by number alone in which a number, or a length of time, is not what is seen."""

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
_MEANT = re.compile(r"[^\W_]|[%‰<>≤≥~≈±°\"″'′*†‡#]")
"""What in the words round a number says something of it; brackets, dashes and blanks do not."""
_MONEY = re.compile(r"[£$€¥¢]|^\s*(?:[A-Z]{3}|kr\.?|zł|Kč|Ft|lei|Fr\.?)\s*$")
_MULTIPLES = frozenset({"", "k", "m", "mio", "thousand", "thousands", "million", "millions", "000", "000s", "'000"})
"""Words behind a figure with its thousands left out that name no unit; a unit makes it exact (6,123 kg as 6.123 t)."""
_DATE_LETTERS = frozenset("ymdhsegbap")
"""Letters of a code that stand for parts of a date or a time."""
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
        pattern: digits as ``0`` and the marks between them, where marks stand between digits; "" elsewhere.
        blank: whether nothing at all is shown.
        sign: whether a minus sign, brackets or a colour tell what is negative.
    """

    condition: tuple[str, float] | None
    digits: str
    before: str
    after: str
    pattern: str = ""
    blank: bool = False
    sign: bool = True

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
        told = "%" in self.digits or self.thousands or self.length or self.before or self.after
        return alone or bool(told) or bool(self.pattern) or self.blank


def changes(code: str) -> bool:
    """Whether a format shows numbers, days or times as anything but their digits."""
    sections = _sections(code)
    unsigned = len(sections) > 1 and not sections[1].sign
    return bool(months_or_years(code)) or clock(code) or unsigned or any(section.changes for section in sections)


def two_figures(shown: str, stored: str) -> str:
    """A cell that shows one figure and stores another, as text."""
    return f"shown {shown or 'blank'}, stored {stored}"


@cache
def months_or_years(code: str) -> str:
    """``%Y-%m`` of a format that shows a date's month and year alone, ``%Y`` of its year alone, "" of any other."""
    return {frozenset("my"): "%Y-%m", frozenset("m"): "%Y-%m", frozenset("y"): "%Y"}.get(_letters(code), "")


@cache
def clock(code: str) -> bool:
    """Whether a format shows the time of day alone, so that whole days (or, without ``h``, hours) are not seen."""
    letters = _letters(code)
    return bool(letters) and letters <= frozenset("hmsap") and letters != frozenset("m") and not _ELAPSED.search(code)


def hours_seen(code: str) -> bool:
    """Whether a format of a time shows its hours."""
    return "h" in _letters(code)


_ELAPSED = re.compile(r"\[(?:h+|m+|s+)\]", re.IGNORECASE)


def _letters(code: str) -> frozenset[str]:
    """Letters of a code's first section outside quotes and brackets."""
    bare = "".join(token.group(6) or "" for token in _TOKEN.finditer(code.split(";", maxsplit=1)[0])).casefold()
    return frozenset(char for char in bare if char.isalpha())


def as_shown(value: float, code: str) -> str | None:
    """A number as its format (``0.0%``, ``0.00" kg"``) shows it, every digit it has; None where that is the number.

    Where another figure is seen than stored, and nothing makes them one, it is :func:`two_figures`.
    """
    sections = _sections(code)
    section = _section_for(value, sections)
    if section is None:
        return None
    number = Decimal(f"{value:.{_DIGITS}g}")
    unsigned = value < 0 and section is not sections[0] and not section.sign
    if unsigned or section.blank:
        return two_figures("" if section.blank else _digits(-number), _digits(number))
    if not section.changes:
        return None
    return _figure(number, section) if section.digits else section.before


def _figure(number: Decimal, section: _Section) -> str:
    """A number as a section with placeholders for its digits shows it."""
    if section.pattern and number >= 0 and number == number.to_integral_value():
        return _patterned(number, section)
    text = _digits(number.scaleb(2 * section.digits.count("%") - 3 * section.thousands))
    if section.thousands and section.after.strip(" .").casefold() in _MULTIPLES:
        return two_figures(f"{section.before}{text}{section.after}", _digits(number))
    if section.length and text.isdigit():
        text = text.zfill(section.length)
    return f"{section.before}{text}{'%' * section.digits.count('%')}{section.after}"


def _digits(number: Decimal) -> str:
    """A number with every digit it has and no exponent."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _patterned(number: Decimal, section: _Section) -> str:
    """A whole number with marks between its digits; two figures where that reads as another number."""
    stored = _digits(number)
    places = section.pattern.count("0")
    filled = stored.zfill(places)
    first, rest = filled[: len(filled) - places], iter(filled[len(filled) - places :])
    marked = "".join(next(rest) if char == "0" else char for char in section.pattern)
    shown = f"{section.before}{first}{marked}{section.after}"
    return two_figures(shown, stored) if re.fullmatch(r"\d+[.,]\d+", shown) else shown


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
    if not code:
        return ()
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
    brackets = [token.group(4) for token in tokens if token.group(4) is not None]
    limits = [met for bracket in brackets if (met := _CONDITION.fullmatch(bracket))]
    condition = (limits[-1].group(1), float(limits[-1].group(2))) if limits else None
    bare = "".join(token.group(6) or " " for token in tokens)
    parts = [_part(token) for token in tokens]
    if figure := _FRACTION_OR_POWER.search(bare):  # all of it one placeholder; the value is the number
        one = [("0", ""), *[("", "")] * (figure.end() - figure.start() - 1)]
        parts[figure.start() : figure.end()] = one
    elif any(_of_date(token) for token in tokens):
        return _Section(condition, f"0{percent}", "", "") if percent else None
    digits = "".join(digit for digit, _ in parts).lstrip(",")
    at = [place for place, (digit, _) in enumerate(parts) if digit and digit not in "%,"] or [len(parts)] * 2
    first, last = at[0], at[-1] + 1
    pattern = "".join(("0" if digit else "") or word for digit, word in parts[first:last])
    apart = bool(re.fullmatch("[0#?]+", digits)) and bool(pattern.strip("0"))
    before = "".join(word for _, word in parts[:first])
    after = "".join(word for _, word in parts[last if apart else first :])
    words, shows, alone = before + after, bool(re.search("[0#?]", digits)), not digits.strip("%.,")
    return _Section(
        condition,
        digits if shows else "",
        _said(before, alone=alone),
        _said(after, alone=alone),
        pattern if apart else "",
        blank=not shows and not words.strip() and not any(_filled(token) for token in tokens),
        sign=any(mark in words for mark in _SIGNS) or any(bracket[:1].isalpha() for bracket in brackets),
    )


_SIGNS = ("-", "−", "(", "minus")


_FRACTION_OR_POWER = re.compile(r"[#0?]+ *[#0?]* */ *[#0?\d]+|[#0?.]+[Ee][+-]0+")


def _filled(token: re.Match[str]) -> bool:
    """Whether a token fills the cell with a mark that is seen."""
    return (token.group(3) or "  ")[0] == "*" and not token.group(3)[1:].isspace()


def _of_date(token: re.Match[str]) -> bool:
    """Whether a token stands for a part of a date, a fraction, a power of ten or a text."""
    char = token.group(6) or ""
    return char in {"@", "/"} or char.casefold() in _DATE_LETTERS


def _part(token: re.Match[str]) -> tuple[str, str]:
    """The placeholder a token is, or the words it shows; two blanks where it is neither."""
    quoted, escaped, fill, bracket, general, char = token.groups()
    if general:
        return "#", ""
    if char and char in "0#?.%,":
        return char, ""
    if bracket is not None:  # [$kg-809] shows "kg" in the manner of a country
        return "", bracket[1:].split("-")[0] if bracket.startswith("$") else ""
    return "", "" if fill else quoted or escaped or char or ""


def _said(words: str, *, alone: bool) -> str:
    """Words round a number, "" where they say nothing of it; a dash alone is nought as books write it."""
    if alone:
        return words.strip() if _MEANT.search(words) else ""
    return words if _MEANT.search(words) and not _MONEY.search(words) else ""
