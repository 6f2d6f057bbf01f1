"""Numbers as people write them: decimal marks, fractions, feet and inches, ranges, "less than", units in the cell."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import polars as pl

from pipeline.common.faults import FaultKind, no_faults
from pipeline.profiles.style import Problem, Refused, Style, Understood
from pipeline.standardise.cells import units
from pipeline.standardise.cells.distinct import Cells, completed, understood
from pipeline.standardise.cells.fractions import refuse_unusual

NOT_A_NUMBER = FaultKind(
    "number.not",
    "not a number",
    "This is not a number: {value}",
    "Write a number, or leave the cell empty where there is none; if it is a mark for that, declare it under missing "
    "or below in [values] of the profile.",
)
NOT_FINITE = FaultKind(
    "number.not_finite",
    "infinite, or the result of a failed sum",
    "This stands for a sum that failed: {value}",
    "Write the number, or leave the cell empty.",
)
SPREADSHEET_ERROR = FaultKind(
    "number.spreadsheet_error",
    "spreadsheet error",
    "The spreadsheet could not work this cell out: {value}",
    "Mend the formula in the spreadsheet and export again, or leave the cell empty.",
)
TWO_READINGS = FaultKind(
    "number.two_readings",
    "comma or point that can be read two ways",
    "{value} is {grouped} if the mark parts thousands and {decimal} if it is the decimal mark; nothing says which.",
    "Say decimal = ... and thousands = ... in [values] of the profile.",
)
WRONG_MARK = FaultKind(
    "number.wrong_mark",
    "decimal or thousands mark other than declared",
    'With the decimal mark "{decimal}" and {thousands}, this is no number: {value}',
    "Mend the cell, or say decimal = ... and thousands = ... in [values] of the profile.",
)
NOT_WHOLE = FaultKind(
    "number.not_whole", "not a whole number", "This must be a whole number: {value}", "Write a whole number."
)
WHOLE_TOO_LARGE = FaultKind(
    "number.whole_too_large",
    "whole number too large to be kept",
    "This whole number is larger than any count that can be kept exactly: {value}",
    "Look whether two numbers ran together, and write the one that is meant.",
)
ABOVE_LIMIT = FaultKind(
    "number.above",
    '"more than" is not a number',
    'The cell says "more than", which cannot be kept as a number: {value}',
    "Ask for the figure, or leave the cell empty and put this into the note.",
)
FLAG = FaultKind(
    "number.flag",
    "mark glued to a number",
    'The mark "{flag}" is glued to the number: {value}',
    "Take it off, or declare it under flags in [values] of the profile; the number is then used and the mark noted.",
)
FLAG_DROPPED = FaultKind(
    "number.flag_dropped",
    "declared mark left out",
    'The mark "{flag}" was left out of {value}; the number is used.',
    "Nothing to do; what was written is kept beside it.",
    "note",
)
LETTER = FaultKind(
    "number.letter",
    "letter where a figure should be",
    "A letter stands among the figures: {value}; {figure} may be meant.",
    "Write figures alone (0 is not the letter O, 1 not the letter l or I).",
)
RANGE = FaultKind(
    "number.range",
    "range: its middle is used",
    "{value} is a range from {low} to {high}; its middle, {middle}, is used.",
    "Nothing to do if that will serve; else write one number.",
    "note",
)
BACKWARDS = FaultKind(
    "number.backwards",
    "range that runs backwards",
    "The range {value} runs backwards.",
    "Write the smaller number first, or the one number that is meant.",
)
APPROXIMATE = FaultKind(
    "number.approximate",
    '"about": the number is used',
    "{value} says it is only about right; the number is used.",
    "Nothing to do; what was written is kept beside it.",
    "note",
)
UNIT_UNWANTED = FaultKind(
    "number.unit_unwanted",
    "unit in a column without one",
    'This column is a plain number, but "{unit}" stands in it: {value}',
    "Take the unit out of the cell, or map the column to a field that has a unit.",
)
DATE_INSTEAD = FaultKind(
    "number.date_instead",
    "date where a number should be",
    "A date stands where a number should be; a spreadsheet makes them of ranges and fractions: {value}",
    "Write the number as it was before the spreadsheet changed it (3-4 becomes 3-Apr, 1/2 becomes 1-Feb).",
)
NOT_FLAG = FaultKind(
    "flag.not", "neither yes nor no", "This is neither yes nor no: {value}", "Write yes or no, or leave the cell empty."
)

_NUMBER = r"(?:\d+(?:[.,'’]\d+)*|[.,]\d+)(?:[eE][+-]?\d+)?(?:\.(?![\d.]))?"
_VULGAR = {"½": (1, 2), "¼": (1, 4), "¾": (3, 4), "⅓": (1, 3), "⅔": (2, 3), "⅕": (1, 5), "⅖": (2, 5), "⅗": (3, 5)}
_VULGAR |= {"⅘": (4, 5), "⅙": (1, 6), "⅚": (5, 6), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8)}
_DENOMINATORS = frozenset({2, 3, 4, 5, 6, 8, 10, 12, 16, 32, 64})
FRACTIONS = "".join(_VULGAR)
"""Fractions that are one character."""
_FRACTION = re.compile(r"(?:(\d{1,15}\s+|[1-9]\d{0,14}-))?([1-9]\d{0,3})\s*[/⁄]\s*([1-9]\d{0,3})(?![\d/.,])")
_VULGAR_FRACTION = re.compile(rf"(\d{{1,15}}\s?|[1-9]\d{{0,14}}-)?([{FRACTIONS}])")
_FEET = re.compile(
    r"(\d+(?:\.\d+)?)\s*(?:'(?!')|′|’|ft\.?|feet|foot)\s*"
    r"(?:([\d.½¼¾⅛⅜⅝⅞/ -]+?)\s*(?:\"|″|”|''|in\.?|ins\.?|inch|inches)?)?",
    re.IGNORECASE,
)
_BETWEEN = re.compile(r"\s*(?:-|–|—|−|\bto\b|\.\.+)\s*", re.IGNORECASE)
_LESS = re.compile(r"(?:<=?|≤|less than|below|under)\s*", re.IGNORECASE)
_MORE = re.compile(r"(?:>=?|≥|more than|over|above)\s*\d", re.IGNORECASE)
_ABOUT = re.compile(r"(?:~|≈|±|approx(?:imately)?\.?|about|circa|ca?\.)\s*(?=[\d.,½¼¾⅛⅜⅝⅞])", re.IGNORECASE)
_BEGINS = re.compile(
    r"[\d<>≤≥~≈±+\-−.,½¼¾⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞#∞]|approx|about|circa|ca?\.|less|below|under|more|over|above|nan|inf|err:|"
    r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*-\d",
    re.IGNORECASE,
)
_ERROR = re.compile(r"#(?:DIV/0|N/A|NAME|NULL|NUM|REF|VALUE|SPILL|CALC|GETTING_DATA)[!?]?|Err:\d+|#+", re.IGNORECASE)
_NOT_FINITE = re.compile(r"[+-]?(?:nan|inf|infinity|∞)", re.IGNORECASE)
_MONTHS = "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec"
_DATE = re.compile(
    rf"\d{{1,2}}[-/ ](?:{_MONTHS})[a-z]*(?:[-/ ]\d{{2,4}})?|(?:{_MONTHS})[a-z]*-\d{{1,4}}|"
    r"\d{4}-\d\d-\d\d.*|\d{1,2}/\d{1,2}/\d{2,4}",
    re.IGNORECASE,
)
_PASSES = re.compile(r"(.+?)\s*(?:pass|passes)\s*(?:@|at)\s*(.+)", re.IGNORECASE)
_COUNT_WORDS = (
    "pass passes time times x no nr off core cores hole holes people person men man "
    "bag bags pack packs sack sacks tub tubs"
)
_COUNTED = frozenset(_COUNT_WORDS.split())
_LETTER = re.compile(r"[+−-]?(?=.*\d)(?=.*[OoIl])[\dOoIl]*(?:[.,][\dOoIl]*)?(?<![Il])")
"""Digits with letters among them that look like digits; an l behind them may be litres."""
_AS_DIGITS = str.maketrans("OoIl", "0011")
_LARGEST_WHOLE = 2**53 - 1
"""Beyond it a binary fraction of 64 bits cannot tell a whole number from the next (IEEE 754)."""
_SHIFTED_DECIMALS = 9
"""Decimals kept of a temperature turned into another scale: 32 °F is 0 °C, no frost of a thousand-millionth."""
_SCHEMA = {"value": pl.Float64, "below": pl.Boolean}
_YES, _NO = frozenset({"yes", "y", "true", "t", "1", "x", "✓", "✔"}), frozenset({"no", "n", "false", "f", "0"})


@dataclass(frozen=True)
class Span:
    """A number, or a range of two, and what is written behind it.

    Attributes:
        low: the number, or the lower end.
        high: the upper end; equal to low where there is one number.
        rest: text behind it (a unit, mostly), stripped.
        fractions: fractions in it without a whole number before them (``2/3``), which may be "2 or 3".
    """

    low: float
    high: float
    rest: str
    fractions: tuple[str, ...] = ()

    @property
    def middle(self) -> float:
        """The number used."""
        return self.low if self.low == self.high else self.low / 2.0 + self.high / 2.0


@dataclass(frozen=True)
class Special:
    """Ways of writing a number that one sort of column has.

    Attributes:
        parse: the value in the unit wanted that a cell says so; None where it is written as any number. Raises
            ``Refused`` for what can be read two ways.
        odd: pattern of cells that look like plain numbers and go through ``parse`` too, "" for none.
    """

    parse: Callable[[str, list[Problem]], float | None]
    odd: str = ""


def number_column(
    source: Cells, style: Style, *, to: str = "", whole: bool = False, special: Special | None = None
) -> Understood:
    """``value`` (Float64, in ``to``) and ``below`` (True where the cell said "less than"); one row a cell.

    A mark for "below the limit" without the limit (``ND``) is below True with no value.

    Without a ``to`` the value is a plain number; cells whose column declares no unit are in ``to``. ``special`` are
    ways of writing that the column has beside those of every number.
    """
    cells, unit = source.cells, source.unit
    try:
        factor, offset = units.scale(unit or to, to, style) if to else (1.0, 0.0)
    except Refused as refused:
        none = pl.DataFrame({"value": [None] * len(cells), "below": [None] * len(cells)}, schema=_SCHEMA)
        return Understood(none, refused.problem.kind.at(None, unit, source.header, **dict(refused.problem.facts)))
    number = _cast(cells, style)
    easy = (number * factor + offset).is_finite().fill_null(False)
    if marks := [*style.missing, *style.below]:
        easy = easy & ~cells.is_in(marks).fill_null(False)
    if special and special.odd:
        easy = easy & ~cells.str.contains(special.odd).fill_null(False)
    if whole:
        easy = easy & ((number.round(0) == number) & (number.abs() <= _LARGEST_WHOLE)).fill_null(False)
    values = pl.DataFrame({"value": number, "below": pl.repeat(False, len(cells), dtype=pl.Boolean, eager=True)})
    value = pl.col("value")
    if (factor, offset) != (1.0, 0.0):
        value = (value * factor + offset).round_sig_figs(12)
        if offset:
            value = value.round(_SHIFTED_DECIMALS) + 0.0
    values = values.select(pl.when(easy).then(value).alias("value"), pl.when(easy).then("below").alias("below"))
    rest = ~easy & cells.is_not_null()
    if not rest.any():
        return Understood(values, no_faults(), as_written=(factor, offset, style.decimal) == (1.0, 0.0, "."))
    parse = partial(_parsed, style=style, unit=unit or to, to=to, whole=whole, special=special)
    return completed(values, rest, source, parse, style)


def says_passes_and_depth(cells: pl.Series) -> pl.Series:
    """Whether each cell says both, such as ``3 passes @ 2-3mm``."""
    return cells.str.contains(f"(?i)^\\s*{_PASSES.pattern}\\s*$").fill_null(value=False)


def flag_column(source: Cells, style: Style) -> Understood:
    """``value`` (Boolean): yes or no; one row a cell."""

    def parse(text: str, _: list[Problem]) -> tuple[bool]:
        word = text.casefold()
        if word not in _YES and word not in _NO:
            raise Refused(NOT_FLAG)
        return (word in _YES,)

    return understood(source, {"value": pl.Boolean}, parse, style)


def refuse_failed(text: str) -> None:
    """Refuses what a spreadsheet or a program writes where a sum failed.

    Raises:
        Refused: for ``#DIV/0!``, ``NaN``, ``inf`` and the like.
    """
    if _ERROR.fullmatch(text):
        raise Refused(SPREADSHEET_ERROR)
    if _NOT_FINITE.fullmatch(text):
        raise Refused(NOT_FINITE)
    if _DATE.fullmatch(text):
        raise Refused(DATE_INSTEAD)


def without_about(text: str, notes: list[Problem]) -> str:
    """The text without "about" before it, which is noted."""
    bare = _ABOUT.sub("", text, count=1) if _ABOUT.match(text) else text
    if bare != text:
        notes.append(Problem.of(APPROXIMATE))
    return bare


def span_of(text: str, style: Style, notes: list[Problem]) -> Span:
    """The number or range a text begins with; a range is noted.

    Raises:
        Refused: the text does not begin with a number, or its marks are not the declared ones.
    """
    feet = _FEET.fullmatch(text)
    if feet and feet.group(2) != "":
        return _feet(feet, style)
    sign, body = (-1.0, text[1:].lstrip()) if text[:1] in {"-", "−"} else (1.0, text.removeprefix("+"))
    low, rest = _number(body, style)
    low *= sign
    fractions = _bare_fraction(body)
    between = _BETWEEN.match(rest)
    if not between or not re.match(rf"[\d.,{FRACTIONS}]", rest[between.end() :]):
        return Span(low, low, rest.strip(), fractions)
    fractions += _bare_fraction(rest[between.end() :])
    high, rest = _number(rest[between.end() :], style)
    if high < low:
        raise Refused(BACKWARDS)
    span = Span(low, high, rest.strip(), fractions)
    notes.append(Problem.of(RANGE, low=f"{low:g}", high=f"{high:g}", middle=f"{span.middle:g}"))
    return span


def plain_texts(cells: pl.Series, style: Style) -> pl.Series:
    """The cells with a point for the decimal mark and no thousands mark; null where one is not written so in full.

    Of a style with neither of its own they are left as they stand, whatever they say.
    """
    if style.decimal == "." and not style.thousands:
        return cells
    mark, group = re.escape(style.decimal), re.escape(style.thousands)
    digits = rf"(?:\d+|\d{{1,3}}(?:{group}\d{{3}})+)" if group else r"\d+"
    usual = cells.str.contains(rf"^[+-]?{digits}(?:{mark}\d+)?$")
    bare = cells.str.replace_all(style.thousands, "", literal=True) if group else cells
    plain_cells = bare.str.replace(style.decimal, ".", literal=True)
    return pl.select(pl.when(usual).then(plain_cells)).to_series()


def _cast(cells: pl.Series, style: Style) -> pl.Series:
    """Plain numbers in one go; null where a cell is anything else."""
    return plain_texts(cells, style).cast(pl.Float64, strict=False)


def _parsed(
    bare: str, notes: list[Problem], style: Style, unit: str, to: str, whole: bool, special: Special | None
) -> tuple[float | None, bool]:
    """Value and "below" of one cell that is no plain number."""
    if style.is_below(bare):
        return None, True
    if special and (found := special.parse(bare, notes)) is not None:
        return found, False
    if _LETTER.fullmatch(bare) and not bare.endswith(style.flags):
        raise Refused(LETTER, figure=bare.translate(_AS_DIGITS))
    if not _BEGINS.match(bare):
        raise Refused(NOT_A_NUMBER)
    refuse_failed(bare)
    if _MORE.match(bare):
        raise Refused(ABOVE_LIMIT)
    less = _LESS.match(bare)
    bare = without_about(bare[less.end() :] if less else bare, notes)
    passes = _PASSES.fullmatch(bare)
    if passes:
        bare = passes.group(2) if to else passes.group(1)
    span = span_of(bare, style, notes)
    value = _converted(span, notes, style, unit, to)
    if not math.isfinite(value):
        raise Refused(NOT_FINITE)
    if whole and value != round(value):
        raise Refused(NOT_WHOLE)
    if whole and abs(value) > _LARGEST_WHOLE:
        raise Refused(WHOLE_TOO_LARGE)
    return value, less is not None


def _converted(span: Span, notes: list[Problem], style: Style, unit: str, to: str) -> float:
    rest = span.rest
    if rest in style.flags and rest:
        notes.append(Problem.of(FLAG_DROPPED, flag=rest))
        rest = ""
    elif (
        rest
        and not (units.is_known(rest, style) or rest.casefold() in _COUNTED)
        and re.fullmatch(r"[^\w\s]{1,3}|[a-zA-Z]", rest)
    ):
        raise Refused(FLAG, flag=rest)
    refuse_unusual(span.fractions, rest if to else "", style, unit if to else "")
    if not to:
        if not rest or rest.casefold() in _COUNTED:
            return span.middle
        if units.is_known(rest, style):
            raise Refused(UNIT_UNWANTED, unit=rest)
        raise Refused(NOT_A_NUMBER)
    if rest and re.match(r"[\d-]", rest):
        raise Refused(NOT_A_NUMBER)
    factor, offset = units.scale(rest or unit, to, style)
    if (factor, offset) == (1.0, 0.0):
        return span.middle
    value = _tidy(span.middle * factor + offset)
    return round(value, _SHIFTED_DECIMALS) + 0.0 if offset else value


def _tidy(value: float) -> float:
    """Without the last digits that binary fractions leave behind (3.5 in is 88.9 mm)."""
    return float(f"{value:.12g}")


def _feet(match: re.Match[str], style: Style) -> Span:
    inches = 0.0
    if match.group(2):
        inches, rest = _number(match.group(2).strip(), style)
        if rest.strip() or inches >= 12:
            raise Refused(NOT_A_NUMBER)
    total = float(match.group(1)) * 12 + inches
    return Span(total, total, "in")


def _number(text: str, style: Style) -> tuple[float, str]:
    """The number a text begins with, and the text behind it."""
    vulgar = _VULGAR_FRACTION.match(text)
    if vulgar:
        top, bottom = _VULGAR[vulgar.group(2)]
        return _whole(vulgar.group(1)) + top / bottom, text[vulgar.end() :]
    fraction = _FRACTION.match(text)
    if fraction:
        top, bottom = int(fraction.group(2)), int(fraction.group(3))
        if top >= bottom or bottom not in _DENOMINATORS:
            raise Refused(NOT_A_NUMBER)
        return _whole(fraction.group(1)) + top / bottom, text[fraction.end() :]
    pattern = _NUMBER
    if style.thousands.isspace():
        pattern = r"\d{1,3}(?:\s\d{3})+(?:[.,]\d+)?(?!\d)|" + pattern
    match = re.match(pattern, text)
    if not match:
        raise Refused(NOT_A_NUMBER)
    return _plain_number(match.group(), style), text[match.end() :]


def _bare_fraction(text: str) -> tuple[str, ...]:
    """The fraction a text begins with, where no whole number stands before it."""
    match = _FRACTION.match(text)
    return (f"{match.group(2)}/{match.group(3)}",) if match and not match.group(1) else ()


def _whole(before: str | None) -> int:
    """The whole number before a fraction, 0 where there is none."""
    return int(before.strip(" -\u00a0")) if before else 0


def _plain_number(text: str, style: Style) -> float:
    group = style.thousands if not style.thousands.isspace() else " "
    digits = rf"(?:\d+|\d{{1,3}}(?:{re.escape(group)}\d{{3}})+)" if group else r"\d+"
    mark = re.escape(style.decimal)
    if re.fullmatch(rf"(?:{digits}(?:{mark}\d*)?|{mark}\d+)(?:[eE][+-]?\d+)?", text):
        bare = text.replace(group, "") if group else text
        return float(bare.replace(style.decimal, "."))
    other = "," if style.decimal == "." else "."
    if not group and re.fullmatch(rf"[1-9]\d{{0,2}}{re.escape(other)}\d{{3}}", text):
        raise Refused(TWO_READINGS, grouped=text.replace(other, ""), decimal=text.replace(other, "."))
    if not re.fullmatch(r"[\d.,'’ ]+", text):
        raise Refused(NOT_A_NUMBER)
    thousands = f'the thousands mark "{style.thousands}"' if style.thousands else "no thousands mark declared"
    raise Refused(WRONG_MARK, decimal=style.decimal, thousands=thousands)
