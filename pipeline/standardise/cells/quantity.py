"""Quantities as a crew writes them in one cell: amounts, rates, analyses, mixes, packs, debris."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite

import polars as pl

from pipeline.common.faults import FaultKind
from pipeline.profiles.style import Problem, Refused, Style, Understood
from pipeline.standardise.cells import units
from pipeline.standardise.cells.distinct import Cells, understood
from pipeline.standardise.cells.fractions import PACKS, of_one, refuse_unusual
from pipeline.standardise.cells.numbers import NOT_A_NUMBER, NOT_FINITE, refuse_failed, span_of, without_about
from pipeline.standardise.cells.packs import COUNT, counted, refuse_part_of_many

NOT_AN_AMOUNT = FaultKind(
    "amount.not",
    "not an amount",
    "This is not an amount: {value}",
    'Write a number and a unit, such as "2 x 25 kg", "40 l" or "3 bags".',
)
NO_UNIT = FaultKind(
    "amount.no_unit",
    "number without a unit",
    "The number has no unit: {value}",
    "Write the unit behind it, or declare the column's unit in the profile.",
)
UNKNOWN_AMOUNT = FaultKind(
    "amount.unknown",
    "amount not told",
    "The cell says that something was used but not how much: {value}",
    "The job is kept without an amount (which is not zero); write one if it is known.",
    "warning",
)
MIXED = FaultKind(
    "amount.mixed",
    "sum of different things",
    "Parts of this sum are measured in different ways: {value}",
    "Write one row for each part, or give all parts in the same sort of unit.",
)
NO_PACKS = FaultKind(
    "amount.packs",
    "number of packs where a size is wanted",
    "The size of the pack is not told: {value}",
    'Write what one holds ("25 kg", "10 l").',
)
NOT_A_RATE = FaultKind(
    "rate.not",
    "not a rate",
    "This is not an amount over an area: {value}",
    'Write it like "35 g/m2", "2 lb/1000 sq ft" or "40 l/ha"; a whole amount belongs to the quantity.',
)
NOT_AN_ANALYSIS = FaultKind(
    "analysis.not",
    "not a label analysis",
    "This is not an analysis as a label gives it: {value}",
    'Write N-P-K in percent and what is added, such as "12-3-9 + 4 Fe".',
)
ANALYSIS_DATE = FaultKind(
    "analysis.date",
    "analysis that a spreadsheet made into a date",
    "A spreadsheet seems to have made this analysis into a date: {value}",
    "Write it back as on the label (12-3-9), with the column formatted as text.",
)
ANALYSIS_SUM = FaultKind(
    "analysis.sum",
    "analysis of more than 100 %",
    "The parts add up to {total} %: {value}",
    "Look at the label and mend the figures.",
)
TRACE = FaultKind(
    "analysis.trace",
    "trace elements left out",
    '"{part}" was left out of {value}; only N, P, K, Mg, S, Fe, Ca and Mn are kept.',
    "Nothing to do; what was written is kept beside it.",
    "note",
)
NOT_A_MIX = FaultKind(
    "mix.not",
    "not a mix of sand and soil",
    "This is not a mix of sand and soil: {value}",
    'Write sand and soil in percent, sand first, such as "80/20".',
)
MIX_INSTEAD = FaultKind(
    "amount.mix",
    "mix where an amount should be",
    "This is a mix, not how much was put on: {value}",
    'What a material is made of belongs to the register of materials, column "mix" (such as 80/20); name the material '
    'here and write how much of it was used ("2 t").',
)
MIX_SUM = FaultKind(
    "mix.sum",
    "mix that does not add up",
    "Sand and soil add up to {total}, not 100: {value}",
    'Mend the figures; parts are written with a colon ("4:1").',
)

RATE = {"rate_g_m2": "g", "rate_ml_m2": "ml"}
AMOUNT = {"mass_kg": "kg", "volume_l": "l", "packs": "packs", **RATE}
ANALYSIS = dict.fromkeys(("n_pct", "p_pct", "k_pct", "mg_pct", "s_pct", "fe_pct", "ca_pct", "mn_pct"), pl.Float64)
MIX = {"sand_pct": pl.Float64, "soil_pct": pl.Float64}
PACK = {"pack_kg": "kg", "pack_l": "l"}
DEBRIS = {"debris_l": "l", "debris_kg": "kg"}
"""Columns, and the sort of amount that each takes."""

_UNTOLD_WORDS = (
    "as needed|as required|as necessary|as reqd|as req'd|as per label|as label|to suit|various|some|a few|a little|"
    "unknown|not known|not recorded|n/k|?|tbc|tba|light dressing|heavy dressing|spot treated|spot treatment"
)
_UNTOLD = frozenset(_UNTOLD_WORDS.split("|"))
_TIMES = r"\s*(?:x|×|\*|@|no\.?\s+of|no\.?|nr\.?|off|of)\s*"
_MULTIPLE = re.compile(rf"({COUNT})(?:\s*{PACKS})?{_TIMES}(\S.*)", re.IGNORECASE)
_REVERSED = re.compile(rf"(.+?[a-z][23²³]?)\s*(?:{PACKS})?\s*(?:x|×|\*)\s*({COUNT})(?:\s*{PACKS})?", re.IGNORECASE)
_PACKED = re.compile(rf"(.+?)\s*({PACKS})", re.IGNORECASE)
_SUM = re.compile(r"\s*(?:\+|&|\band\b|\bplus\b)\s*", re.IGNORECASE)
_FIGURE = r"(\d+(?:[.,]\d+)?)"
_NPK = re.compile(rf"(?:npk\s*)?{_FIGURE}\s*[-:–/]\s*{_FIGURE}\s*[-:–/]\s*{_FIGURE}\s*(.*)", re.IGNORECASE)
_ADDED = re.compile(r"(\d+(?:[.,]\d+)?)\s*%?\s*([a-z]+[0-9]*)|([a-z]+[0-9]*)\s*(\d+(?:[.,]\d+)?)\s*%?", re.IGNORECASE)
_ELEMENTS = {"n": "n_pct", "p": "p_pct", "p2o5": "p_pct", "k": "k_pct", "k2o": "k_pct", "mg": "mg_pct"}
_ELEMENTS |= {"mgo": "mg_pct", "s": "s_pct", "so3": "s_pct", "fe": "fe_pct", "iron": "fe_pct"}
_ELEMENTS |= {"ca": "ca_pct", "cao": "ca_pct", "mn": "mn_pct"}
_TRACES = frozenset({"te", "mn", "cu", "zn", "b", "mo", "ca", "cao", "na", "trace elements", "trace"})
_MIXED = re.compile(
    r"(\d+(?:\.\d+)?)\s*%?\s*([a-z]*)\s*([/:+,&-]|\band\b|\s)\s*(\d+(?:\.\d+)?)\s*%?\s*(.*)", re.IGNORECASE
)
_RATIO = re.compile(r"\d[^/:]*[/:]\s*\d.*")
_OVER_AREA = re.compile(r"/|\bper\b|gsm|(?:m|ft|yd)\^?[-⁻][2²]|ha\^?[-⁻][1¹]", re.IGNORECASE)
_SAND, _SOIL = frozenset({"sand"}), frozenset({"soil", "loam", "topsoil"})
_ALL_SAND = re.compile(r"(?:100\s*%?\s*|straight |pure |neat )?sand", re.IGNORECASE)
_SPREADSHEET_DATE = re.compile(
    r"\d{1,2}/\d{1,2}/\d{4}|\d{4}-\d\d-\d\d(?: 00:00:00)?|\d{1,2}-[a-z]{3}(?:-\d{2,4})?", re.IGNORECASE
)


@dataclass(frozen=True)
class _Amount:
    """One amount: of what sort (kg, l, packs, or g and ml over an area) and how much."""

    sort: str
    size: float


def amount_column(source: Cells, style: Style) -> Understood:
    """The columns of :data:`AMOUNT`: what one cell says was put on; one row a cell.

    ``2 x 25 kg`` is a mass, ``10 barrow loads`` a volume, ``2 bags`` a number of packs, ``35 g/m2`` a rate; "as needed"
    is all null with a warning. Only one of the five is filled.
    """
    return _amounts(source, style, AMOUNT, _put_on)


def debris_column(source: Cells, style: Style) -> Understood:
    """``debris_l``, ``debris_kg``: what one cell says came off; one row a cell."""
    return _amounts(source, style, DEBRIS, _unpacked)


def pack_column(source: Cells, style: Style) -> Understood:
    """``pack_kg``, ``pack_l``: what one pack holds; one row a cell."""
    return _amounts(source, style, PACK, _held)


def rate_column(source: Cells, style: Style) -> Understood:
    """``rate_g_m2``, ``rate_ml_m2``: an amount over an area; one row a cell."""
    return _amounts(source, style, RATE, _rate)


def analysis_column(source: Cells, style: Style) -> Understood:
    """The columns of :data:`ANALYSIS` from a label in one cell; one row a cell.

    What the label does not name stays null: that is not zero. Whether P, K, Mg, Ca and S are oxides or elements is
    for the material's ``analysis_basis`` to say.
    """

    def parse(text: str, notes: list[Problem]) -> list[float | None]:
        found = _analysis(text, notes)
        return [found.get(name) for name in ANALYSIS]

    return understood(source, ANALYSIS, parse, style)


def mix_column(source: Cells, style: Style) -> Understood:
    """``sand_pct``, ``soil_pct`` of a mix in one cell, sand first unless it says otherwise; one row a cell."""
    return understood(source, MIX, lambda text, _: _mix(text), style)


def _amounts(
    source: Cells,
    style: Style,
    columns: dict[str, str],
    parse: Callable[[str, list[Problem], Style, str], _Amount],
) -> Understood:
    """These columns, of which an amount fills the one of its sort."""

    def filled(text: str, notes: list[Problem]) -> list[float | None]:
        if text.casefold().rstrip(".") in _UNTOLD or text in _UNTOLD:
            notes.append(Problem.of(UNKNOWN_AMOUNT))
            return [None] * len(columns)
        refuse_failed(text)
        amount = parse(without_about(text, notes), notes, style, source.unit)
        if not isfinite(amount.size):
            raise Refused(NOT_FINITE)
        return [amount.size if amount.sort == sort else None for sort in columns.values()]

    return understood(source, dict.fromkeys(columns, pl.Float64), filled, style)


def _put_on(text: str, notes: list[Problem], style: Style, unit: str) -> _Amount:
    """An amount, else a rate; a mix is told apart from what is neither."""
    met: list[Problem] = []
    try:
        amount = _amount(text, met, style, unit)
    except Refused as refused:
        if _RATIO.fullmatch(text) and _is_mix(text):
            raise Refused(MIX_INSTEAD) from None
        if refused.problem.kind is not NOT_AN_AMOUNT or not _OVER_AREA.search(f"{text} {unit}"):
            raise  # a depth ("3 m") is an amount over an area too, but nobody means it so
        met.clear()
        try:
            amount = _rate(text, met, style, unit)
        except Refused as second:
            raise (refused if second.problem.kind in {NOT_A_RATE, NO_UNIT} else second) from None
    notes += met
    return amount


def _amount(text: str, notes: list[Problem], style: Style, unit: str) -> _Amount:
    texts = _SUM.split(text)
    if len({re.fullmatch(COUNT, part) is None for part in texts}) > 1:
        raise Refused(NO_UNIT)  # the 1 of "1 and 1/2 t" is no 1 kg, though the column be declared in kg
    parts = [_multiple(part, notes, style, unit) for part in texts]
    if len({part.sort for part in parts}) > 1:
        raise Refused(MIXED)
    return _Amount(parts[0].sort, _tidy(sum(part.size for part in parts)))


def _unpacked(text: str, notes: list[Problem], style: Style, unit: str) -> _Amount:
    amount = _amount(text, notes, style, unit)
    if amount.sort == "packs":
        raise Refused(NO_PACKS)
    return amount


def _held(text: str, notes: list[Problem], style: Style, unit: str) -> _Amount:
    """What one pack holds: the word behind the size (``25 kg bags``) says nothing of how many."""
    packed = re.fullmatch(rf"(.*\d.*[a-z])\s+{PACKS}", text, re.IGNORECASE)
    return _unpacked(packed.group(1) if packed else text, notes, style, unit)


def _multiple(text: str, notes: list[Problem], style: Style, unit: str) -> _Amount:
    """``2 x 25 kg``, ``2 bags of 25 kg``, ``25 kg x 2``, ``2 bags``, ``50 kg``."""
    text = of_one(text)
    refuse_part_of_many(text)
    if match := _MULTIPLE.fullmatch(text):
        times, one = match.group(1, 2)
    elif match := _REVERSED.fullmatch(text):
        one, times = match.group(1, 2)
    else:
        times, one = counted(text, style)
    count = span_of(times.strip(), style, notes)
    if count.rest:
        raise Refused(NOT_AN_AMOUNT)
    pack = re.search(rf"\b{PACKS}\b", text, re.IGNORECASE)
    refuse_unusual(count.fractions, pack.group() if pack else _unit_behind(one), style)
    if times == "1" and one == text and re.fullmatch(f"(?:{PACKS})(?<=s)", one, re.IGNORECASE):
        raise Refused(NOT_AN_AMOUNT)  # "bags" does not say how many
    amount = _single(one.strip(), notes, style, unit)
    return _Amount(amount.sort, count.middle * amount.size)


def _unit_behind(one: str) -> str:
    """The unit of what there is so much of: half of 25 kg is no "1 or 2"."""
    return re.sub(rf"^{COUNT}\s*", "", one.strip())


def _single(text: str, notes: list[Problem], style: Style, unit: str) -> _Amount:
    if re.fullmatch(PACKS, text, re.IGNORECASE):
        return _Amount("packs", 1.0)
    middle, rest = _with_unit(text, notes, style, unit, NOT_AN_AMOUNT)
    if re.fullmatch(PACKS, rest, re.IGNORECASE):
        return _Amount("packs", middle)
    packed = _PACKED.fullmatch(rest)
    name = packed.group(1) if packed and not units.is_known(rest, style) else rest
    return _in_any(middle, name, style, (("kg", "kg"), ("l", "l")), NOT_AN_AMOUNT)


def _rate(text: str, notes: list[Problem], style: Style, unit: str) -> _Amount:
    middle, rest = _with_unit(text, notes, style, unit, NOT_A_RATE)
    return _in_any(middle, rest.lstrip("@ "), style, (("g", "g/m2"), ("ml", "ml/m2")), NOT_A_RATE)


def _with_unit(text: str, notes: list[Problem], style: Style, unit: str, otherwise: FaultKind) -> tuple[float, str]:
    """The number a text begins with, and the unit behind it, else the column's."""
    try:
        span = span_of(text, style, notes)
    except Refused as refused:
        raise (Refused(otherwise) if refused.problem.kind is NOT_A_NUMBER else refused) from None
    if not (span.rest or unit):
        raise Refused(NO_UNIT)
    refuse_unusual(span.fractions, span.rest.lstrip("@ "), style, unit)
    return span.middle, span.rest or unit


def _in_any(
    value: float, unit: str, style: Style, targets: tuple[tuple[str, str], ...], otherwise: FaultKind
) -> _Amount:
    """The value in the first of the units that its own can be turned into."""
    for sort, target in targets:
        try:
            factor, _ = units.scale(unit, target, style)
        except Refused as refused:
            if refused.problem.kind is not units.MISFIT:
                raise
            continue
        return _Amount(sort, _tidy(value * factor))
    raise Refused(otherwise)


def _analysis(text: str, notes: list[Problem]) -> dict[str, float]:
    if _SPREADSHEET_DATE.fullmatch(text):
        raise Refused(ANALYSIS_DATE)
    match = _NPK.fullmatch(text)
    found: dict[str, float] = {}
    rest = text
    if match:
        found = dict(zip(("n_pct", "p_pct", "k_pct"), map(_figure, match.group(1, 2, 3)), strict=True))
        rest = match.group(4)
    for part in re.split(r"\s*[+,&]\s*|\s+with\s+|\s+plus\s+", rest.strip()):
        _add(part.strip(" %"), found, notes)
    if not found:
        raise Refused(NOT_AN_ANALYSIS)
    total = sum(found.values())
    if total > 100:
        raise Refused(ANALYSIS_SUM, total=f"{total:g}")
    return found


def _add(part: str, found: dict[str, float], notes: list[Problem]) -> None:
    """Adds what is named beside N-P-K (``4Fe``, ``2% MgO``)."""
    if not part:
        return
    match = _ADDED.fullmatch(part)
    word = ((match.group(2) or match.group(3)) if match else part).casefold()
    if word in _TRACES and (match is None or word not in _ELEMENTS):
        notes.append(Problem.of(TRACE, part=part))
        return
    if match is None or word not in _ELEMENTS or _ELEMENTS[word] in found:
        raise Refused(NOT_AN_ANALYSIS)
    found[_ELEMENTS[word]] = _figure(match.group(1) or match.group(4))


def _is_mix(text: str) -> bool:
    try:
        _mix(text)
    except Refused:
        return False
    return True


def _mix(text: str) -> tuple[float, float]:
    if _ALL_SAND.fullmatch(text):
        return 100.0, 0.0
    match = _MIXED.fullmatch(text)
    if not match or re.search(r"\d", match.group(5)):
        raise Refused(NOT_A_MIX)
    first, second = float(match.group(1)), float(match.group(4))
    word, mark = match.group(2).casefold(), match.group(3)
    others = [other for other in re.split(r"[^a-z]+", match.group(5).casefold()) if other]
    sand_first = _sand_stands_first(word, others)
    total = first + second
    if total != 100 and not (mark == ":" and 0 < total <= 20):
        raise Refused(MIX_SUM, total=f"{total:g}")
    shares = (_tidy(100 * first / total), _tidy(100 * second / total))
    return shares if sand_first else (shares[1], shares[0])


def _sand_stands_first(word: str, others: list[str]) -> bool:
    """Whether the first figure is sand's; the words behind the figures may say so, or the other way round."""
    words = [name for name in (word, *others) if name in _SAND | _SOIL]
    odd = [name for name in (word, *others) if name and name not in _SAND | _SOIL | {"and", "mix", "dressing", "blend"}]
    if odd or len(words) > 2 or len(set(words)) != len(words):
        raise Refused(NOT_A_MIX)
    if word:
        return word in _SAND
    return not words or words[0] in _SAND


def _figure(text: str) -> float:
    return float(text.replace(",", "."))


def _tidy(value: float) -> float:
    return float(f"{value:.12g}")
