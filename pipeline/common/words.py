"""Dates and lists as a reader writes them."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterable, Sequence
from datetime import date

from pipeline.common.amounts import AmountText


def long_date(day: date) -> str:
    """A date in words: 15 March 2026."""
    return f"{day.day} {day:%B %Y}"


def period(first: date, last: date | None) -> str:
    """What is known of when, in words: a day (15 March 2026), a month (March 2026), a year (2026), or first to last."""
    if last is None or first == last:
        return long_date(first)
    if first.day == 1 and last.day == monthrange(last.year, last.month)[1] and first.year == last.year:
        if first.month == last.month:
            return f"{first:%B %Y}"
        if (first.month, last.month) == (1, 12):
            return f"{first.year}"
    return f"{long_date(first)} to {long_date(last)}"


def listed(words: Sequence[str]) -> str:
    """Words as a list in a sentence: a, b and c."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def counted(number: int, one: str, many: str = "") -> str:
    """A number with its noun in the right form: 1 job, 2 jobs."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def ordinal(number: int) -> str:
    """A place in words: 1st, 2nd, 11th, 23rd."""
    ending = "th" if 10 <= number % 100 <= 20 else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number:,}{ending}"


def place_words(low: int, high: int, of: int) -> str:
    """The places, counted from the lowest, that one of several may hold: "4th to 6th lowest of 8", "highest of 8"."""
    if low == high:
        return f"{'lowest' if low == 1 else 'highest' if low == of else f'{ordinal(low)} lowest'} of {of:,}"
    return f"{ordinal(low)} to {ordinal(high)} lowest of {of:,}"


def difference_unit(unit: str) -> str:
    """The unit of a difference of two figures of a unit: of shares in percent it is percentage points."""
    share, yearly = unit.partition(" ")[::2]
    return f"percentage points{f' {yearly}' if yearly else ''}" if share == "%" else unit


def often(times: int) -> str:
    """How often: once, twice, 3 times."""
    return {1: "once", 2: "twice"}.get(times) or counted(times, "time")


def told_of(file: str, line: int, said: str) -> str:
    """What is said of an entry after the place where it stands: Line 3 of log.csv: twenty packs."""
    place = f"Line {line} of {file}: "
    return AmountText(place, said) if isinstance(said, AmountText) else place + said


def line_ranges(lines: Iterable[int], most: int | None = None) -> str:
    """Line numbers as short ranges ("2–5, 9"); past ``most`` ranges, how many lines are left."""
    runs: list[tuple[int, int]] = []
    for line in sorted(set(lines)):
        if runs and line == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], line)
        else:
            runs.append((line, line))
    shown = ", ".join(f"{low}" if low == high else f"{low}–{high}" for low, high in runs[:most])
    left = 0 if most is None else sum(high - low + 1 for low, high in runs[most:])
    return f"{shown} and {left} more" if left else shown


def on_lines(lines: Iterable[int], most: int | None = None) -> str:
    """Where something stands in a file: "line 3", "lines 2–5, 9"; ``most`` as of :func:`line_ranges`."""
    every = set(lines)
    return f"{'line' if len(every) == 1 else 'lines'} {line_ranges(every, most)}"


def work_with(label: str, material: str, joined: str = "{}, {}") -> str:
    """A work with what is put on, said once: "Fertilising, liquid feed", but "Wetting agent, liquid".

    Args:
        label: of the work.
        material: what is put on; "" for nothing.
        joined: how the two stand together.
    """
    if not material:
        return label
    told = material.lower() == label.lower() or material.lower().startswith(f"{label.lower()},")
    return f"{label}{material[len(label) :]}" if told else joined.format(label, material)


def window(first: date, last: date) -> str:
    """Days within which something is to be done: on 5 March 2027, in April 2027, between 5 and 16 October 2026."""
    said = period(first, last)
    if first == last:
        return f"on {said}"
    if " to " not in said:
        return f"in {said}"
    if first.year != last.year:
        return f"between {long_date(first)} and {long_date(last)}"
    start = str(first.day) if first.month == last.month else f"{first.day} {first:%B}"
    return f"between {start} and {long_date(last)}"


def logged_for(known: int, every: int, how: str = "logged") -> str:
    """Of how many works a sum of hours or money is: "logged for 12 of 40"; "" where it is of all."""
    return "" if known == every else f"{how} for {known:,} of {every:,}"
