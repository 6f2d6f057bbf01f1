"""Lengths of time as people write them: ``1h30``, ``0:12.5``, ``2 men x 3 hrs``; what may be a time of the clock."""

from __future__ import annotations

import re
from functools import partial

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.profiles.style import Problem, Refused, Style
from pipeline.standardise.cells import units
from pipeline.standardise.cells.distinct import Cells
from pipeline.standardise.cells.fractions import refuse_unusual
from pipeline.standardise.cells.numbers import Special, span_of

CLOCK = FaultKind(
    "time.clock",
    "times of the clock where hours are needed",
    "{value} looks like times of the clock, {long} h apart; nothing says whether breaks are in it, nor for how many "
    "people it stands.",
    "Write a number of hours; of work, those of all people together without breaks (2 people for 3 h are 6).",
)
CLOCK_OR_RANGE = FaultKind(
    "time.clock_or_range",
    "times of the clock, or from so many hours to so many?",
    "{value} can be the {long} h from {low} to {high} by the clock, or a length from {low} to {high} h.",
    'Write one number of hours ("4 h"), or the range with its unit in words or decimals ("3.5-4.5 hours").',
)
PART_OF_DAY = FaultKind(
    "time.part_of_day",
    "part of the day where hours are needed",
    "{value} says when, not for how long.",
    "Write the hours; if it always stands for so many, say so under [aliases.{field}] of the source profile.",
)
COLON = FaultKind(
    "time.colon",
    "hours and minutes, or minutes and seconds?",
    "{value} can be {readings}; nothing says which.",
    'Declare the unit of the column in the source profile: "h:mm", "m:ss" or "h:mm:ss".',
)
COLON_READ = FaultKind(
    "time.colon_read",
    "length of time with a colon",
    "{value} is read as {reading}.",
    "Nothing to do if that is meant; else write the number alone, in the unit of the column.",
    "note",
)
NOT_THE_FORM = FaultKind(
    "time.form",
    "not a time in the form declared",
    "The column is declared as {form}, and this is not written so: {value}",
    "Write it in that form, or declare another unit for the column.",
)
PEOPLE = FaultKind(
    "time.people",
    "hours of each person, or of all together?",
    "{value} is {each} h if each of them worked so long, and {all} h if that is what all together did.",
    'Write "{people} x {all} h" for the former, and "{all} h" for the latter.',
)
EACH = FaultKind(
    "time.each",
    "hours of each, and how many people is not told",
    "{value} is what each person worked; the hours of all together are needed.",
    'Write how many worked beside it ("2 x 3 h").',
)
ONE_PERSON = FaultKind(
    "time.one_person",
    "several people where one person's hours are needed",
    "The hours of one person on the machine are needed, and this names several: {value}",
    "Write how long one of them held it.",
)
LEADING_ZERO = FaultKind(
    "time.leading_zero",
    "time of the clock, or hours and minutes without a mark?",
    "{value} can be a time of the clock, or hours and minutes; as a number of hours it would be {number}.",
    'Write the hours as a number ("1.5"), or with a mark ("1h30").',
)

CLOCK_DECIMALS = FaultKind(
    "time.clock_decimals",
    "hours and minutes with a point, or hours with decimals?",
    "{value} can be {hours} h {minutes} min, or {value} hours; nothing in the column says which.",
    'Write hours and minutes with a mark ("{hours}h{minutes}"), or the unit behind decimals ("{value} h").',
)
TRAILING_ZERO = FaultKind(
    "time.trailing_zero",
    "hours with a needless zero",
    "{value} is read as {number:g} hours; beside hours like {other} the zero may mean {hours} h {minutes} min.",
    'Nothing to do if that is meant; else write "{hours}h{minutes}".',
    "warning",
)

HOURS = r"(?:h|hrs?|hours?)\.?"
_MINUTES = r"(?:m|mins?|minutes?|')\.?"
_COLON = re.compile(r"(\d{1,3}):([0-5]\d)(?::([0-5]\d))?([.,]\d+)?")
_HOURS_MINUTES = re.compile(rf"(\d{{1,3}})\s*{HOURS}\s*(?:and\s*|,\s*)?([0-5]?\d)\s*(?:{_MINUTES})?", re.IGNORECASE)
_END = r"(\d{1,2}(?:[:.h][0-5]\d)?|[0-2]?\d[0-5]\d|noon|midday|midnight)\s*(a\.?m\.?|p\.?m\.?)?"
_CLOCK = re.compile(rf"{_END}\s*(?:-|–|—|−|\bto\b|\btill?\b|\buntil\b)\s*{_END}\s*({HOURS})?", re.IGNORECASE)
_NAMED_END = {"noon": 12.0, "midday": 12.0, "midnight": 24.0}
_DAY_PARTS = re.compile(
    r"(?:(?:all|the|early|late)\s+)?(?:a\.?m\.?|p\.?m\.?|morning|afternoon|evening|night|lunch(?:time)?)",
    re.IGNORECASE,
)
_WORDS = {"half": "0.5", "quarter": "0.25", "all": "1", "full": "1", "whole": "1", "one": "1", "a": "1", "an": "1"}
_WORDED = re.compile(
    r"(half|quarter|all|full|whole|one|an?)(?:\s+an?|\s+of\s+an?)?\s+((?:working\s+)?day|hour)", re.IGNORECASE
)
_CREW = r"(?:m[ae]n|persons?|people|staff|crew|lads|of\s+us|pax)"
_LENGTH = r"[\d.½¼¾].*?|(?:half|quarter|all|full|whole|one|an?)\s.*?"
_PEOPLE_FIRST = re.compile(rf"(\d{{1,2}})\s*({_CREW})\s*(x|×|\*|@|at|for|,)?\s*({_LENGTH})(\s+each)?", re.IGNORECASE)
_PEOPLE_LAST = re.compile(rf"(.+?)\s*(x|×|\*|,)?\s*\(?(\d{{1,2}})\s*({_CREW})\)?", re.IGNORECASE)
_BARE_TIMES = re.compile(r"(\d{1,2})\s*(?:x|×|\*)\s*([\d.½¼¾].*)", re.IGNORECASE)
_BARE_TIMES_LAST = re.compile(rf"(.*\d.*{HOURS}|.*\d.*{_MINUTES})\s*(?:x|×|\*)\s*(\d{{1,2}})", re.IGNORECASE)
_EACH = re.compile(r"(.+?)\s*(?:each|per\s+(?:man|person|head)|p\.?p\.?)", re.IGNORECASE)
_OF_WORK = re.compile(r"\b(?:man|person|working|work)[\s-]*(?=(?:hours?|hrs?|days?|weeks?)\b)", re.IGNORECASE)
_EARLIEST = 6
"""Hour from which a range in words of hours may be one of the clock: work begins then (common practice, no source)."""
FORMS = {"m:ss": "min", "mm:ss": "min", "h:mm": "h", "hh:mm": "h", "h:mm:ss": "h", "hh:mm:ss": "h"}
"""Ways of writing a time that a source profile may declare as a column's unit, with the unit of the first part."""
_LONG_FORMS = frozenset({"h:mm:ss", "hh:mm:ss"})
_CLOCK_QUARTERS = ("15", "30", "45")
_SECONDS = {"s": 1.0, "min": 60.0, "h": 3600.0}
PEOPLE_WORD = rf"(?i)\d\s*{_CREW}"
"""Pattern of a number of people."""
_ODD_PLAIN = r"^0\d{2,3}$"


def special_of(to: str, unit: str, style: Style, *, one_person: bool = False, field: str = "") -> Special | None:
    """How cells of a length of time are read that are no plain numbers; None where the unit is not one of time.

    Args:
        to: unit the length is wanted in; ``units.WORKED`` for hours of work.
        unit: unit the source declares for the column, "" where it declares none.
        style: how the source writes numbers.
        one_person: whether the hours are those of one person; else of all together.
        field: name of the field, for what is said to the person.
    """
    if to == units.WORKED:
        parse = partial(_worked, style=style, unit=unit, one_person=one_person, field=field)
        return Special(parse, "." if unit in FORMS else _ODD_PLAIN)
    if to in _SECONDS:
        return Special(partial(_elapsed, unit=unit, to=to), "" if unit not in FORMS else ".")
    return None


def people_of(text: str) -> int | None:
    """How many people a text names with hours (``2 men x 3 hrs``); None where it names none."""
    if match := _PEOPLE_FIRST.fullmatch(text.strip()):
        return int(match.group(1))
    match = _PEOPLE_LAST.fullmatch(text.strip())
    return int(match.group(3)) if match else None


def _elapsed(text: str, notes: list[Problem], *, unit: str, to: str) -> float | None:
    """A length of time with a colon, in ``to``; None where there is no colon.

    Raises:
        Refused: nothing says what the parts are, or they are not written as declared.
    """
    if to == "h":
        _refuse_clock(text, unit)
    match = _COLON.fullmatch(text)
    if unit in FORMS:
        if match is None or (match.group(3) is None) == (unit in _LONG_FORMS):
            raise Refused(NOT_THE_FORM, form=unit)
        return _read(match, FORMS[unit], to, notes)
    if match is None:
        return None
    first = _first_part(match, unit)
    if first is None:
        raise Refused(COLON, readings=" or ".join(_readings(match)))
    return _read(match, first, to, notes)


def _first_part(match: re.Match[str], unit: str) -> str | None:
    """Unit of the part before the first colon, by what the source declares; None where nothing settles it."""
    declared = units.named(unit, Style()) if unit and units.is_known(unit) else ""
    three, decimals = match.group(3) is not None, match.group(4) is not None
    if declared == "hour":
        return "h" if not decimals or three else None
    if declared in {"minute", "s"} and not three:
        return "min" if decimals or declared == "s" else None
    return None


def _readings(match: re.Match[str]) -> list[str]:
    first, second, third = (int(part) if part else 0 for part in match.group(1, 2, 3))
    if match.group(3):
        return [f"{first} h {second} min {third} s", f"{first} min {second}.{third:02} s"]
    if match.group(4):
        return [f"{first} min {second}{match.group(4)} s", f"{first} h {second}{match.group(4)} min"]
    return [f"{first} h {second} min", f"{first} min {second} s", "a time of the clock"]


def _read(match: re.Match[str], first: str, to: str, notes: list[Problem]) -> float:
    parts = [float(part) for part in match.group(1, 2, 3) if part is not None]
    part = float((match.group(4) or "0").replace(",", "."))
    parts[-1] += part
    names = ("h", "min", "s") if first == "h" else ("min", "s")
    seconds = sum(value * _SECONDS[name] for value, name in zip(parts, names, strict=False))
    reading = " ".join(f"{value:g} {name}" for value, name in zip(parts, names, strict=False))
    notes.append(Problem.of(COLON_READ, reading=reading))
    return float(f"{seconds / _SECONDS[to]:.12g}")


def _worked(text: str, notes: list[Problem], *, style: Style, unit: str, one_person: bool, field: str) -> float | None:
    """Hours of work that a text says in words or with marks; None where it is a number with or without a unit.

    Raises:
        Refused: it says when and not for how long, or it can be read in several ways.
    """
    if re.fullmatch(_ODD_PLAIN, text):
        raise Refused(LEADING_ZERO, number=int(text))
    if _DAY_PARTS.fullmatch(text):
        raise Refused(PART_OF_DAY, field=field)
    _refuse_clock(text, unit)
    bare = _OF_WORK.sub("", text)
    if (found := _hours_of(bare, notes, style, unit)) is None:
        found = _of_people(bare, notes, style, unit, one_person=one_person)
    return _plain_hours(bare, notes, style, unit) if found is None and bare != text else found


def _hours_of(text: str, notes: list[Problem], style: Style, unit: str) -> float | None:
    """Hours in ``1h30``, ``1:30`` of declared hours, ``half a day``; None where it is none of these."""
    if worded := _WORDED.fullmatch(text):
        return float(_WORDS[worded.group(1).casefold()]) * units.scale(worded.group(2), units.WORKED, style)[0]
    if parts := _HOURS_MINUTES.fullmatch(text):
        return float(f"{int(parts.group(1)) + int(parts.group(2)) / 60:.12g}")
    return _elapsed(text, notes, unit=unit, to="h")


def _refuse_clock(text: str, unit: str) -> None:
    """Refuses a span that is or may be one of the clock.

    Raises:
        Refused: with the length by the clock, and the range where it may be one.
    """
    match = _CLOCK.fullmatch(text)
    if match is None or (unit and not _hours_declared(unit)):
        return
    first, _, second, _, word = match.groups()
    low, high = (_hour(end, half) for end, half in (match.group(1, 2), match.group(3, 4)))
    if max(low, high) > 24:
        return
    sure = any(re.search(r"[:h]|\d{3}|noon|mid", end, re.IGNORECASE) for end in (first, second))
    sure = sure or bool(match.group(2) or match.group(4)) or high < low
    long = high - low if high > low else high - low + (12 if low <= 12 and high + 12 > low else 24)
    if sure:
        raise Refused(CLOCK, long=f"{long:g}")
    if not (word and len(word.rstrip(".")) > 1 and low < _EARLIEST):
        raise Refused(CLOCK_OR_RANGE, long=f"{long:g}", low=first, high=second)


def _hours_declared(unit: str) -> bool:
    return unit in FORMS or (units.is_known(unit) and units.named(unit, Style()) == "hour")


def _hour(end: str, half: str | None) -> float:
    """Hour of the day of one end of a span, as far as it says."""
    word = end.casefold()
    if word in _NAMED_END:
        return _NAMED_END[word]
    parts = re.split(r"[:.h]", word)
    if len(parts) == 1 and len(word) > 2:
        parts = [word[:-2], word[-2:]]
    hour = int(parts[0]) + (int(parts[1]) / 60 if len(parts) > 1 else 0.0)
    later = half is not None and half[0].casefold() == "p" and hour < 12
    return hour + 12 if later else hour


def _of_people(text: str, notes: list[Problem], style: Style, unit: str, *, one_person: bool) -> float | None:
    """Hours of several people: their number times the hours of each; None where the text names no people.

    Raises:
        Refused: nothing says whether the hours are those of each or of all, or one person's are needed.
    """
    found = _crew_in(text)
    if found is None:
        if _EACH.fullmatch(text):
            raise Refused(EACH)
        return None
    people, hours, of_each = found
    if one_person and people != 1:
        raise Refused(ONE_PERSON)
    each = _plain_hours(hours.strip(), notes, style, unit)
    if not of_each and people != 1:
        raise Refused(PEOPLE, people=people, each=f"{people * each:g}", all=f"{each:g}")
    return float(f"{people * each:.12g}")


def _crew_in(text: str) -> tuple[int, str, bool] | None:
    """People, the text of the hours, and whether those are of each; None where no people are named."""
    if match := _PEOPLE_FIRST.fullmatch(text):
        return int(match.group(1)), match.group(4), bool(match.group(5)) or match.group(3) not in {None, ","}
    if match := _PEOPLE_LAST.fullmatch(text):
        return int(match.group(3)), match.group(1), match.group(2) not in {None, ","}
    if match := _BARE_TIMES.fullmatch(text):
        return int(match.group(1)), match.group(2), True
    if match := _BARE_TIMES_LAST.fullmatch(text):
        return int(match.group(2)), match.group(1), True
    return None


def _plain_hours(text: str, notes: list[Problem], style: Style, unit: str) -> float:
    """Hours of one person: a number with or without a unit, or one of the forms of :func:`_hours_of`."""
    _refuse_clock(text, unit)
    if (found := _hours_of(text, notes, style, unit)) is not None:
        return found
    span = span_of(text, style, notes)
    refuse_unusual(span.fractions, span.rest, style, unit or "h")
    factor, _ = units.scale(span.rest or unit or "h", units.WORKED, style)
    return span.middle * factor


def clock_decimals(source: Cells, style: Style) -> tuple[pl.Series, pl.DataFrame]:
    """Which cells of hours may be hours and minutes with a point between (``1.30``), to be refused; with the faults.

    The column settles it where it can: two decimals that no quarter of an hour by the clock has (``1.25``, ``0.75``,
    ``2.50``, ``1.80``) are decimals. Where none has such, quarters by the clock (``0.45``, ``2.15``) can be either.
    Beside hours with one decimal (``1.5``) they are decimals too, but a zero at the end is asked about.
    """
    mark = re.escape(style.decimal)
    parts = {text: re.fullmatch(rf"(\d{{1,2}}){mark}(\d{{1,2}})", text) for text in source.cells.drop_nulls().unique()}
    plain = {text: (part.group(1), part.group(2)) for text, part in parts.items() if part}
    quarters = {text: part for text, part in plain.items() if part[1] in _CLOCK_QUARTERS}
    nothing = pl.Series([False]).new_from_index(0, len(source.cells))
    if not quarters or any(len(part[1]) == 2 and part[1] not in {*_CLOCK_QUARTERS, "00"} for part in plain.values()):
        return nothing, no_faults()
    single = sorted(text for text, part in plain.items() if len(part[1]) == 1 and part[1] != "0")
    told = []
    for text, (hours, minutes) in sorted(quarters.items()):
        if single and minutes != "30":
            continue
        here = source.where(source.cells == text)
        facts = {"hours": int(hours), "minutes": minutes}
        if single:
            facts |= {"number": float(f"{hours}.{minutes}"), "other": single[0]}
        kind = TRAILING_ZERO if single else CLOCK_DECIMALS
        told.append(kind.frame(here.lines, here.cells, here.header, **facts))
    refused = nothing if single else source.cells.is_in(list(quarters)).fill_null(value=False)
    return refused, concat(told)
