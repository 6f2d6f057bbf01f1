"""Cells, units and headers: a cell is read or refused in a sentence, and the same beside others as by itself."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from math import isfinite

import polars as pl

from pipeline.common.faults import FAULT_SCHEMA
from pipeline.profiles.style import Problem, Refused, Style, Understood
from pipeline.standardise.cells import crew_words, header_units, numbers, packs, quantity, times, units
from pipeline.standardise.cells.dates import date_of, period_of
from pipeline.standardise.cells.distinct import Cells, _told, plain
from pipeline.standardise.cells.ditto import is_ditto
from pipeline.standardise.typed_records import Records
from schemas import KINDS
from schemas.codes import fold
from schemas.field import Field
from tests.fuzz.target import Target, text_of

STYLES = (
    Style(),
    Style(date_order="dmy"),
    Style(date_order="mdy", thousands=","),
    Style(date_order="ymd", spreadsheet_dates=1900),
    Style(date_order="dmy", decimal=",", thousands="."),
    Style(spreadsheet_dates=1904, ton="long", barrow_l=80.0),
    Style(decimal=",", thousands=" ", missing=("k.A.",), below=("u.B.",)),
    Style(thousands="'", ton="short", working_day_h=7.5, working_week_h=37.5, flags=("+", "*")),
    Style(date_order="dmy", two_digit_years=1990, ton="metric"),
)
FIELDS: tuple[Field, ...] = tuple({one.name: one for kind in KINDS.values() for one in kind.fields}.values())
UNITS = ("", "mm", "kg", "l", "°C", "h", "min", "ha", "%", "mg/kg", "g/m2", "in", "lb/1000 ft2")
NEIGHBOURS = frozenset({"time.clock_decimals", "time.trailing_zero", "date.year_of_others"})
"""Faults of a cell that are told from its column alone (docs/faults.md): refused beside others or alone."""


def styled(data: bytes) -> tuple[Style, str]:
    """How the source writes, by the first byte, and the rest as text."""
    return STYLES[data[0] % len(STYLES) if data else 0], text_of(data[1:])


def told(text: str, problem: Problem) -> None:
    """A fault's own words can be made of its facts."""
    _, code, _, message, hint = _told(text, "Their column", problem)
    assert code and message and hint, (code, message, hint)


def read(parse: Callable[[str, list[Problem]], object], text: str) -> object:
    """What a cell is read as, or the code of its fault."""
    notes: list[Problem] = []
    try:
        found = parse(text, notes)
    except Refused as refused:
        told(text, refused.problem)
        return refused.problem.kind.code
    for note in notes:
        told(text, note)
    return found


def dates(data: bytes) -> None:
    """A day between 1000 and 9999, a whole month or year, or a refusal; blanks around it change nothing."""
    style, text = styled(data)
    bare = plain(text)
    if not bare:
        return
    day = read(lambda cell, _: date_of(cell, style), bare)
    period = read(lambda cell, _: period_of(cell, style), bare)
    assert isinstance(day, date | str) and (isinstance(period, str) or isinstance(period[0], date))
    if isinstance(day, date) and not isinstance(period, str):
        assert period == (day, None), (day, period)
    if not isinstance(period, str) and period[1] is not None:
        assert period[0].day == 1 and period[0] < period[1], period
    assert day == read(lambda cell, _: date_of(cell, style), plain(f"\u00a0 {text}\t\r\n")), "blanks"


def spans(data: bytes) -> None:
    """A number or a range of numbers, or a refusal; a sign before it turns it round."""
    style, text = styled(data)
    bare = plain(text)
    if not bare:
        return
    found = read(lambda cell, notes: numbers.span_of(cell, style, notes), bare)
    if isinstance(found, numbers.Span):
        assert found.low <= found.high, found
        assert min(found.low, found.high) <= found.middle <= max(found.low, found.high), found


def amounts(data: bytes) -> None:
    """Mass, volume, packs, rates, analyses, mixes and hours of one cell: finite, not negative, or refused."""
    style, text = styled(data)
    bare = plain(text)
    if not bare:
        return
    unit = UNITS[len(bare) % 4]
    for parse in (quantity._put_on, quantity._rate):
        read(lambda cell, notes, parse=parse: parse(cell, notes, style, unit), bare)  # type: ignore[misc]
    found = read(quantity._analysis, bare)
    assert isinstance(found, str) or all(isfinite(one) and 0 <= one <= 100 for one in found.values()), found  # type: ignore[attr-defined]
    mix = read(lambda cell, _: quantity._mix(cell), bare)
    assert isinstance(mix, str) or all(0 <= one <= 100 for one in mix), mix  # type: ignore[attr-defined]
    read(lambda cell, _: packs.counted(cell, style), bare)
    read(
        lambda cell, notes: times._worked(cell, notes, style=style, unit="h", one_person=False, field="labour_h"), bare
    )
    read(lambda cell, notes: times._elapsed(cell, notes, unit="", to="s"), bare)


def unit_words(data: bytes) -> None:
    """A unit is known with its factor, or refused; there and back is the same."""
    style, text = styled(data)
    to = UNITS[1 + len(text) % (len(UNITS) - 1)]
    found = read(lambda cell, _: units.scale(cell, to, style), text)
    if isinstance(found, tuple):
        factor, offset = found
        assert isfinite(factor) and isfinite(offset) and factor > 0, found
    assert units.is_known(text, style) in (True, False)
    units.is_mean_power(text)


def headers(data: bytes) -> None:
    """A header is parted into name and unit without a letter made up."""
    text = text_of(data)
    name, unit = header_units.parted(text)
    assert fold(name) == fold(fold(name)) and fold(name) in fold(text), (name, unit)
    header_units.unit_of(text)
    for declared in ("mm", "kg", ""):
        header_units.unit_against(text, declared)


def words(data: bytes) -> None:
    """What a crew writes is understood as operations there are, or as none."""
    text = plain(text_of(data))
    said = crew_words.operations_said(text)
    crew_words.said_again(crew_words.each_said(text))
    assert said == crew_words.operations_said(f"  {text} ")


def understood(field: Field, cells: Sequence[str | None], style: Style, unit: str, first: int = 2) -> Understood:
    """A column by the road that a load takes."""
    lines = pl.Series(range(first, first + len(cells)), dtype=pl.Int64)
    source = Cells(lines, pl.Series(cells, dtype=pl.String), "Their column", unit if field.unit else "")
    done = Records(lines).plus(field, source, style, {})
    faults = pl.concat(done.faults) if done.faults else pl.DataFrame(schema=FAULT_SCHEMA)
    return Understood(pl.DataFrame(dict(done.columns)), faults)


def columns(data: bytes) -> None:
    """A cell beside others is read as it is by itself, or refused, or what told from the column is said."""
    if len(data) < 4:
        return
    style, field, unit = (
        STYLES[data[0] % len(STYLES)],
        FIELDS[data[1] % len(FIELDS)],
        UNITS[data[2] % len(UNITS)],
    )
    cells = [plain(one) or None for one in text_of(data[4:]).split("\n")[:8]]
    if not any(cells):
        return
    at = data[3] % len(cells)
    together = understood(field, cells, style, unit)
    assert together.values.height == len(cells)
    floats = together.values.select(pl.selectors.float())
    assert all(one.drop_nulls().is_finite().all() for one in floats), floats
    errors = together.faults.filter(severity="error")
    named = set(errors["line"].to_list())
    assert named <= {*range(2, 2 + len(cells)), None}, named
    assert not together.faults.filter(pl.col("message").is_null() | pl.col("hint").is_null()).height
    if any(cell and is_ditto(cell) for cell in cells):
        return
    alone = understood(field, [cells[at]], style, unit, 2 + at)
    mine, by_itself = _row(together.values, at), _row(alone.values, 0)
    if mine == by_itself:
        return
    said = {*together.faults["code"], *alone.faults["code"]} & NEIGHBOURS
    assert said and (not mine or not by_itself), (field.name, cells[at], mine, by_itself)


def _row(values: pl.DataFrame, at: int) -> dict[str, object]:
    return {name: value for name, value in values.row(at, named=True).items() if value not in (None, False)}


WORDS = (
    "9" * 320, "1" * 5000, "0." + "0" * 330 + "1", "2026-03-15", "15/03/2026", "15 Mar 26", "March", "Fri ", "46096",
    "1st", "week 12", " day ", "T09:30Z", "1,369", "1.5", "½", "2 3/4", "1e3", "<", "≤", ">", "~", "about ", "-", "–",
    " to ", "−", "+", "nan", "inf", "#N/A", "ND", "2 x 25 kg", "bags", " @ ", "25kg", "lb", "oz", "t", "ton", "tonne",
    "cwt", "gal", "l", "ml", "ha", "m2", "/m2", "sq yd", "per ", "g/m2", "kg/ha", "7:30", "2h30", "7.30", "1 1/2 h",
    "men", "2 men x 3 h", "am", "pm", "'", '"', "ft", "in", "4'6\"", "%", "£", "€", "11-5-5 + 8 Fe", "N", "P2O5",
    "70/30", "sand", "yes", "x", "N/A", "n.d.", "mm", "°C", "°F", "mg/kg", "ppm", "K", "²", "³", "\u00a0", "\u202f",
    "\u200b", "٣", "Ⅷ", "﹪", "µ", "ditto", "—", "scarified", "hollow tined", "top dressed", "and", "&", "not done",
    "cancelled",
)  # fmt: skip

TARGETS = (
    Target("dates", "a cell is a day, a whole month or year, or refused", dates, WORDS, share=1, most=6000),
    Target("numbers", "a cell is a number, a range, or refused", spans, WORDS, share=1, most=6000),
    Target(
        "amounts", "amounts, rates, packs, analyses, mixes, hours: read or refused", amounts, WORDS, share=2, most=6000
    ),
    Target("units", "a unit has its factor or is refused", unit_words, WORDS, share=1, most=6000),
    Target("headers", "a header is parted into name and unit", headers, WORDS, share=1, most=6000),
    Target("words", "what a crew writes is understood or not", words, WORDS, share=1, most=80),
    Target("columns", "a cell reads beside others as by itself", columns, WORDS, share=4, most=6000),
)
