"""Numbers, dates, ranges and free text as they are printed."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from functools import lru_cache
from math import floor, log10

from pipeline.common.money import rounded as to_decimals
from pipeline.common.words import counted, period
from reports.page import fonts

NARROW = "\u202f"
"""Narrow no-break space: between a value and its unit."""
HARD = "\u00a0"
"""No-break space: inside dates and units of several words."""
MISSING = "not recorded"
NAME_LIMIT = 120
TEXT_LIMIT = 600
MOST_ALT = 4_000
"""Characters of what a drawing shows, in words: beyond what any of them has."""
MOST_RANGES = 12
"""Ranges of numbers printed in one place; how many are left is said."""

MONTHS = (
    "January February March April May June July August September October November December".split()  # noqa: SIM905
)
_CURRENCIES = {"GBP": "£", "EUR": "€", "USD": "$"}
_UNIT_AFTER_NUMBER = re.compile(
    r"(?<=\d) (?=(?:mm|cm|m|m²|m³|kg|g|t|L|%|°C|s|h|ml|mg|kg/m²|g/m²|kg/ha|mg/kg)(?:[^\w/]|$))"
)
_LITRES_AFTER_NUMBER = re.compile(r"(?<=\d) (?=l(?:[^\w/]|$))")
"""These stand a whole space apart: "12\u202fl" is read as 121."""
_MINUS = re.compile(r"(?<![\w.,)\]-])-(?=\d)")
"""A hyphen before a number, after nothing that it could join it to: a minus, and not that of 5-5-5 or of a day."""
_DROPPED = {"Cc", "Cf", "Cs", "Co", "Cn"}

KEPT = 4_096
"""Texts that are kept as cleaned: a document is set several ways before one is printed, of the same words."""
MOST_TOLD = 3
"""Characters that are named of those that cannot be drawn."""
MOST_GLUED = 12
"""Characters of a unit that is kept on one line with "a year" behind it."""
_INSIDE_UNIT = re.compile(r"(?<= a) (?=year)| (?!a year|[a-z]{4,}\b)")
"""A space inside a unit at which no line may end: in "lb/1000 ft²" and "kg N", not in "short tons"."""
PRINTED_UNITS = {"gravities": "g"}
"""Units that a page prints another way than the records name them: peak deceleration is told in g."""


@lru_cache(maxsize=KEPT)
def clean(text: str, limit: int = TEXT_LIMIT) -> str:
    """The text in composed form, on one line, without control or direction marks, cut to the limit.

    A number and the unit after it are kept on one line, and a negative one has a true minus.
    Characters the bundled typeface cannot draw become ``fonts.REPLACEMENT``: a missing glyph would
    break both PDF standards the report is made to.
    """
    shown = " ".join(part for part in drawable(text[: limit * 8]).split(" ") if part)
    shown = _LITRES_AFTER_NUMBER.sub(HARD, _UNIT_AFTER_NUMBER.sub(NARROW, shown))
    shown = _MINUS.sub("−", shown)
    return shown if len(shown) <= limit else shown[: limit - 1].rstrip() + "…"


def sentences(words: str, most: int) -> str:
    """As many whole sentences as at most so many characters hold, the first one at least: cut short it says another."""
    every = re.split(r"(?<=[.…]) (?=[^a-z])", clean(words))
    kept = every[0]
    for one in every[1:]:
        if len(kept) + 1 + len(one) > most:
            break
        kept += f" {one}"
    return sentence(kept)


@lru_cache(maxsize=KEPT)
def drawable(text: str) -> str:
    """The text in composed form, white space as spaces, without control or direction marks.

    What the typeface cannot draw is replaced.
    """
    composed = unicodedata.normalize("NFC", text)
    spaced = (" " if c.isspace() and c not in "\u00a0\u202f" else c for c in composed)
    cover = fonts.cover()
    kept = (c for c in spaced if unicodedata.category(c) not in _DROPPED)
    return "".join(c if c in cover else fonts.REPLACEMENT for c in kept)


def name(text: str, limit: int = NAME_LIMIT) -> str:
    """A name of a green, club or file, at most so many characters."""
    return clean(text, limit) or "(no name)"


def undrawable(text: str) -> bool:
    """True where ``clean`` has to replace a character of the text."""
    return fonts.REPLACEMENT in clean(text) and fonts.REPLACEMENT not in text


def not_drawn(text: str) -> str:
    """The characters of a text that ``clean`` would replace, as they are told; "" for none."""
    if fonts.REPLACEMENT not in drawable(text):
        return ""
    found = [c for c in dict.fromkeys(unicodedata.normalize("NFC", text)) if undrawable(c)]
    return ", ".join(f"“{c}” (U+{ord(c):04X})" for c in found[:MOST_TOLD])


def replaced_words(texts: Iterable[str], what: str, document: str) -> str:
    """What a reader is told where characters of some texts had to be replaced; "" where none had to.

    Args:
        texts: everything printed that users wrote.
        what: what they are ("names").
        document: what it is printed in ("report").
    """
    if not any(undrawable(one) for one in texts):
        return ""
    return (
        f"Some {what} hold characters the typeface of this {document} cannot draw; each is printed as "
        f"{fonts.REPLACEMENT}. The attached CSV files keep them as written."
    )


def number(value: float | Decimal, decimals: int) -> str:
    """The number with its digits after the point, thousands parted, a true minus, never "-0".

    Fewer than no digits round to tens or hundreds. Money, which comes as a decimal, is rounded as a bill is
    (pipeline/common/money.py).
    """
    rounded = to_decimals(value, decimals) if isinstance(value, Decimal) else round(value, decimals)
    digits = f"{abs(rounded):,.{max(decimals, 0)}f}"
    return f"\u2212{digits}" if rounded < 0 else digits


def signed(value: float, decimals: int) -> str:
    """The number with its sign, of which nothing rounded to zero has one."""
    shown = number(value, decimals)
    return f"+{shown}" if value > 0 and shown.strip("0.") else shown


def limit_number(value: float, decimals: int) -> str:
    """A target's limit as it was set: not more digits than it needs, and none lost.

    One that three digits do not hold was turned into another unit: it has the digits of the figure beside it, and two
    significant ones at least.
    """
    for places in range(4):
        if abs(round(value, places) - value) < 1e-9:
            return number(value, places)
    return number(value, max(decimals, 1 - floor(log10(abs(value)))))


def places_of_three(value: float) -> int:
    """Digits after the point with which a number has three significant ones, two at most: 3.75, 96.4, 768."""
    return 2 if abs(value) < 10 else 1 if abs(value) < 100 else 0


def currency_sign(code: str) -> str:
    """The sign of a currency, or its code where it has none here."""
    return _CURRENCIES.get(code, code)


def cost_heading(currency: str) -> str:
    """The heading of a column of costs, with the sign of the currency where it is known."""
    return f"Cost, {currency_sign(clean(currency, 12))}" if currency else "Cost"


def money(value: float | Decimal, currency: str, decimals: int = 0) -> str:
    """A sum with the sign of its currency, or with its code where it has none; in whole units, if nothing is said."""
    return with_unit(number(value, decimals), clean(currency, 12))


def with_unit(text: str, unit: str) -> str:
    """The text and its unit, kept together on a line; a sum of money with its sign before it."""
    unit = PRINTED_UNITS.get(unit, unit)
    sign = _CURRENCIES.get(unit[:3])
    if sign:
        return f"{sign}{text}{unit[3:]}"
    return f"{text}{NARROW}{glued(unit)}" if unit else text


def glued(unit: str) -> str:
    """A unit kept on one line, but between whole words: a narrow cell would break "short tons" within a word."""
    return _INSIDE_UNIT.sub(HARD, unit.replace(" a year", f"{HARD}a{HARD}year") if len(unit) <= MOST_GLUED else unit)


def quantity(value: float | Decimal | None, unit: str, decimals: int) -> str:
    """The value with its unit; "not recorded" where there is none."""
    return MISSING if value is None else with_unit(number(value, decimals), unit)


def span(low: float, high: float, unit: str, decimals: int) -> str:
    """A range with an en dash; the word "to" where a negative end would make the dash ambiguous."""
    left, right = number(low, decimals), number(high, decimals)
    return with_unit(f"{left} to {right}" if low < 0 or high < 0 else f"{left}–{right}", unit)


def interval(low: float | None, high: float | None, decimals: int) -> str:
    """An interval as a range without its unit; "" where an end is not known."""
    return "" if low is None or high is None else span(low, high, "", decimals)


def target(
    low: float | None, high: float | None, unit: str, decimals: int | None = None, *, reached: bool = False
) -> str:
    """A target in words: "4–6 %", "at least 4 kg/m²", "at most 6 %", or "none set".

    An upper end that is missed as soon as it is ``reached`` is to be stayed under. An end that was turned into another
    unit has the digits given, or three significant ones of the larger end where none are.
    """
    if decimals is None:
        decimals = places_of_three(max(abs(low or 0.0), abs(high or 0.0)))
    if low is None and high is None:
        return "none set"
    if low is not None and high is not None:
        if low == high:
            return with_unit(limit_number(low, decimals), unit)
        dash = " to " if low < 0 else "–"
        return with_unit(f"{limit_number(low, decimals)}{dash}{limit_number(high, decimals)}", unit)
    if low is not None:
        return "at least " + with_unit(limit_number(low, decimals), unit)
    return f"{'under' if reached else 'at most'} {with_unit(limit_number(high or 0.0, decimals), unit)}"


def moment(value: datetime) -> str:
    """A time in UTC as a document's properties have it (ISO 8601)."""
    return value.strftime("%Y-%m-%dT%H:%M:%SZ")


def day(value: date) -> str:
    """The day in words: "15 March 2026"."""
    return f"{value.day}{HARD}{MONTHS[value.month - 1]}{HARD}{value.year}"


def short_day(value: date) -> str:
    """The day for narrow columns: "15 Mar 2026"."""
    return f"{value.day}{HARD}{MONTHS[value.month - 1][:3]}{HARD}{value.year}"


def day_range(first: date, last: date) -> str:
    """Two days as a range, the year once where it is the same."""
    if first == last:
        return short_day(first)
    if first.year == last.year:
        return f"{first.day}{HARD}{MONTHS[first.month - 1][:3]}{HARD}– {short_day(last)}"
    return f"{short_day(first)}{HARD}– {short_day(last)}"


def days(first: date, last: date) -> str:
    """Two days as a range kept on one line, month and year once where they are the same: "15–21 Mar 2027"."""
    if first == last:
        return short_day(first)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day}\u2060–\u2060{short_day(last)}"
    return day_range(first, last)


def when(first: date, last: date | None) -> str:
    """A day, month or year for narrow columns, as far as it is known: "15 Mar 2026", "Mar 2026", "2026"."""
    said = period(first, last)
    if last is None or said.isdigit():
        return said if last else short_day(first)
    return f"{MONTHS[first.month - 1][:3]}{HARD}{first.year}" if said == f"{first:%B %Y}" else day_range(first, last)


def count(number_of: int, one: str, many: str = "") -> str:
    """The count with its noun in the right number: "1 core", "3 cores"."""
    return counted(number_of, one, many).replace(" ", HARD, 1)


def more(left: int, what: str, file: str, many: str = "") -> str:
    """How many more stand in an attached file: "3 further lines in the attached due.csv."; "" where none does."""
    words = count(left, f"further {what}", f"further {many}" if many else "")
    return f"{words} in the attached {file}." if left > 0 else ""


def inside(words: str) -> str:
    """The words as they stand inside a sentence."""
    return words[:1].lower() + words[1:]


def sentence(text: str) -> str:
    """The text as a sentence: capital first, one full stop or its question mark. "pH" stays as it is."""
    stripped = text.strip().rstrip(".")
    first = stripped[:1] if stripped[1:2].isupper() else stripped[:1].upper()
    stop = "" if stripped.endswith("?") else "."
    return f"{first}{stripped[1:]}{stop}" if stripped else ""
