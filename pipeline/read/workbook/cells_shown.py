"""The format under which a cell of an ODS file shows what its text says: the text is in the file, the format far off.

Source: OASIS OpenDocument 1.3 part 3, 9.1 (tables), 19 (attributes).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from functools import lru_cache

from pipeline.read.workbook import cell_formats

_LONGEST = 80
"""Characters of a number with the words round it."""
_PLAIN = re.compile(r"-?(?:0|[1-9]\d*|[1-9]\d{0,2}(?:,\d{3})+)(?:\.\d+)?")
_FIGURE = re.compile(r"\d[\d.,'’\s]*(?:E[+-]?\d+)?", re.IGNORECASE)
_LENGTH = re.compile(r"PT(\d+)H(\d+)M(\d+)(?:\.\d+)?S")
_CLOCK = re.compile(r"(\d+):(\d\d)(?::(\d\d)(?:[.,]\d+)?)?")
_FRACTION = re.compile(r"-?(?:\d+\s+)?\d+/\d+")
_SCALES = (0, 3, 6)
"""Powers of ten by which a figure seen may be less than the one stored."""
_MONTH = re.compile(r"[^\W\d_]{3,}\.?[-/., ']*(\d{4}|\d\d)|(?:\d{1,2})[-/. ](\d{4})|(\d{4})[-/. ]\d{1,2}")


def code_of_shown(sort: str, value: str, text: str | None) -> str:
    """The format that shows a number as the cell's own text does, "" where that shows its digits.

    Args:
        sort: what the file says the cell is (``float``, ``percentage``, ``currency``, ``date``, ``time``).
        value: the number, day or time stored, as the file writes it.
        text: what the cell shows; None where the file does not say.
    """
    if sort == "percentage":
        return "0%"
    if sort == "float" and text and _PLAIN.fullmatch(text) and _rounded(text, value):
        return ""
    return _code_of_shown(sort, value, text)


def _rounded(text: str, value: str) -> bool:
    """Whether a plain number is the stored one to its last digit; what most cells are, so that it is told quickly."""
    try:
        apart = abs(float(text.replace(",", "")) - float(value))
    except ValueError:
        return False
    return apart <= 0.5 * 10.0 ** -len(text.partition(".")[2]) * (1 + 1e-9)


@lru_cache(maxsize=10_000)
def _code_of_shown(sort: str, value: str, text: str | None) -> str:
    if sort in {"date", "time"}:
        return (_of_day if sort == "date" else _of_time)(value, text or "")
    try:
        number = Decimal(value)
    except InvalidOperation:
        return ""
    if (
        sort not in {"float", "currency"}
        or text is None
        or '"' in text
        or len(text) > _LONGEST
        or not number.is_finite()
    ):
        return ""
    code = _of_number(number, text)
    return code if cell_formats.changes(code) else ""


def _of_day(value: str, text: str) -> str:
    """The format of a day that shows its month or its year alone, "" of any other."""
    if text.isdigit() and len(text) == 4 and value.startswith(text):
        return "yyyy"
    month = _MONTH.fullmatch(text)
    year = next(filter(None, month.groups()), "") if month else ""
    alone = text.isalpha() and len(text) > 2 and value[8:10] == "01" and not text.casefold().endswith("day")
    return "mmm yyyy" if (alone and len(text) > 3) or (year and value[:4].endswith(year)) else ""


def _of_time(value: str, text: str) -> str:
    """The format of a length of time that leaves its days, or its hours, out; "" of one that shows all of it."""
    stored, seen = _LENGTH.fullmatch(value), _CLOCK.fullmatch(text)
    if not stored or not seen:
        return ""
    hours, minutes, seconds = (int(part) for part in stored.groups())
    first, second = int(seen[1]), int(seen[2])
    whole = {(hours, minutes), (60 * hours + minutes, seconds) if seen[3] is None else (hours, minutes)}
    if (first, second) in whole:
        return ""
    if (first, second) == (hours % 24, minutes):
        return "h:mm"
    return "mm:ss" if seen[3] is None and (first, second) == (minutes, seconds) else ""


def _of_number(number: Decimal, text: str) -> str:
    """The format that shows a number so, its figure told from others by agreeing with what is stored."""
    if not text.strip():
        return ";;;"
    if not any(char.isdigit() for char in text):
        return f'"{text}"' if text.isalpha() else ""
    return _of_fraction(text) if _FRACTION.search(text) else _of_figures(number, text)


def _of_figures(number: Decimal, text: str) -> str:
    for scale in _SCALES:
        for seen in _FIGURE.finditer(text):
            if _agrees(seen.group(), abs(number).scaleb(-scale)):
                return _round_it(number, text, seen, "," * (scale // 3))
    for seen in _FIGURE.finditer(text):
        if text[seen.end() :].lstrip().startswith("%") and _agrees(seen.group(), abs(number).scaleb(2)):
            return "0%"
    digits = "".join(char for char in text if char.isdigit())
    if digits.lstrip("0") == f"{abs(number):f}" and not re.search("E[+-]", text):
        return "".join("0" if char.isdigit() else f'"{char}"' for char in text)
    return ""


def _of_fraction(text: str) -> str:
    """The format of a fraction with the words behind it; its value is the number."""
    figure = _FRACTION.match(text.strip())
    after = text.strip()[figure.end() :] if figure else ""
    return f'# ?/?"{after}"' if after else ""


def _round_it(number: Decimal, text: str, seen: re.Match[str], thousands: str) -> str:
    figure = seen.group().rstrip()
    before, after = text[: seen.start()], text[seen.start() + len(figure) :]
    zeros = "0" * len(figure) if figure.isdigit() and figure.startswith("0") else "0"
    code = "".join((f'"{before}"' if before else "", zeros, thousands, f'"{after}"' if after else ""))
    unsigned = number < 0 and not re.search(r"[-−(]|minus", text)
    return f"{code};{code}" if unsigned else code


def _agrees(figure: str, number: Decimal) -> bool:
    """Whether a figure is a number rounded to the figure's last digit, whichever its decimal mark is."""
    return any(abs(Decimal(one) - number) * 2 <= Decimal(1).scaleb(_last(one)) for one in _as_numbers(figure))


def _as_numbers(figure: str) -> Iterator[str]:
    bare = re.sub(r"[\s'’]", "", figure).rstrip(".,")
    for thousands, decimal in ((",", "."), (".", ",")):
        groups = rf"\d{{1,3}}(?:\{thousands}\d{{2,3}})*\{thousands}\d{{3}}"
        if re.fullmatch(rf"(?:\d+|{groups})(?:\{decimal}\d+)?(?:[eE][+-]?\d+)?", bare):
            yield bare.replace(thousands, "").replace(decimal, ".")


def _last(text: str) -> int:
    """The place of a number's last digit, as a power of ten."""
    return int(Decimal(text).as_tuple().exponent)
