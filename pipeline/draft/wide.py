"""Wide sheets: a column an analyte, a column a green, and layers of soil that stand in a column."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

from pipeline.common.closest import closest
from pipeline.draft.columns import LONGEST, Column, bare, parted
from pipeline.draft.document import Ask, Entry, Part, Table
from pipeline.draft.known import Known
from pipeline.profiles.profile import UNDECIDED
from pipeline.standardise.cells import units
from schemas import Kind
from schemas.codes import code_list, fold, spellings

_LAYER = re.compile(
    r"(?<![\d.])(\d{1,3})\s*(?:-|–|to)\s*(\d{1,3})\s*(mm|cm|in\b|ins\b|inch(?:es)?\b|\")?", re.IGNORECASE
)
_BURN = re.compile(r"(?<![\d.])([3-9]\d\d)\s*(?:°|º|deg)?\s*c?(?![\w.])", re.IGNORECASE)
_WELDED = re.compile(r"([A-Z][A-Za-z]{0,3}?)[ _-]?M3")
_RATIO = re.compile(r"(?<![\d.])\d+:\d+(?![\d.])")
_NORMALITY = re.compile(r"(?<![\w.])\d+(?:\.\d+)?[NM](?![\w])")
_FILLING = frozenset(
    {"soil", "exch", "exchangeable", "extractable", "extr", "ext", "conc", "concentration", "icap", "icp"}
)
"""Words beside an analyte's name that change nothing about what is measured."""
_FIRED = "organic_matter"
_EXTRACTED = frozenset({"phosphorus", "potassium", "magnesium", "calcium", "sulphur", "sodium"}) | frozenset(
    {"iron", "manganese", "boron", "copper", "zinc", "aluminium"}
)
"""Nutrients whose figure means nothing without the extractant."""
FEWEST = 2
"""Columns named after greens from which on a sheet is held to have a column a green."""
_LAYER_CELL = re.compile(r"(\d{1,3})\s*(?:-|–|to)\s*(\d{1,3})\s*(mm|cm|in)?")


@dataclass(frozen=True)
class Result:
    """What the header of a column of results says; "" and None where it says nothing.

    Attributes:
        column: the column.
        analyte: word of the list of analytes.
        extractant: word of the list of extractants.
        layer: upper and lower end as written, and their unit.
        burn_c: temperature of the loss on ignition, °C.
        unit: word of the list of soil units.
        said: unit as header or units row says it.
    """

    column: Column
    analyte: str
    extractant: str = ""
    layer: tuple[int, int, str] | None = None
    burn_c: int | None = None
    unit: str = ""
    said: str = ""

    @property
    def same(self) -> tuple[object, ...]:
        """What two columns must not share."""
        return self.analyte, self.extractant, self.layer, self.burn_c


def result_of(column: Column) -> Result | None:
    """What a column of results measures; None where its header names no analyte.

    Words among the cells (``VH``) do not speak against it: what they stand for is asked.
    """
    text = column.header
    if len(text) > LONGEST:
        return None
    layer = _LAYER.search(text)
    if layer:
        text = _without(text, layer)
    name, said = parted(text)
    whole, part = _fired(text), _fired(name) if said else None
    found = whole or part
    if found is None:
        return None
    analyte, extractant, burn = found
    said = column.row_unit or column.row_said or (said if part else "")
    unit = spellings("soil_unit").get(fold(said), "")
    ends = (int(layer.group(1)), int(layer.group(2)), (layer.group(3) or "").replace('"', "in")) if layer else None
    return Result(column, analyte, extractant, ends, burn, unit, said)


def _fired(text: str) -> tuple[str, str, int | None] | None:
    """Analyte, extractant and temperature of the burning (``OM360``, ``LOI 440 C``) that a header's words name."""
    burn = _BURN.search(re.sub(r"(?<=[A-Za-z])(?=\d{3})", " ", text))
    if burn:
        found = named(re.sub(r"[\s_]*\d{3}\s*(?:°|º|deg)?\s*[cC]?\b", " ", text))
        if found and found[0] == _FIRED:
            return *found, int(burn.group(1))
    plainly = named(text)
    return (*plainly, None) if plainly else None


def named(text: str) -> tuple[str, str] | None:
    """Analyte and extractant ("" where none) that a header's words name; None where they name no analyte."""
    text = _NORMALITY.sub(" ", _RATIO.sub(" ", text))
    welded = _WELDED.fullmatch(text.strip())
    if welded and (analyte := _analyte(bare(welded.group(1)).split())):
        return analyte, "mehlich_3"
    for variant in dict.fromkeys((text, re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text))):
        words = [word for word in bare(variant).replace("%", " ").split() if word not in _FILLING]
        if found := _named(words):
            return found
    return None


def _named(words: list[str]) -> tuple[str, str] | None:
    if analyte := _analyte(words):
        return analyte, ""
    for size in range(len(words), 0, -1):
        for start in range(len(words) - size + 1):
            extractant = _extractants().get("".join(words[start : start + size]))
            rest = words[:start] + words[start + size :]
            analyte = _analyte(rest) if rest else next(filter(None, map(_analyte, zip(words, strict=True))), "")
            if extractant and analyte:
                return analyte, extractant
    return None


def _analyte(words: Sequence[str]) -> str:
    """The analyte that words name, once or twice over (``Organic Matter LOI``); "" where they name none."""
    known = _analytes()
    if whole := known.get("".join(words)):
        return whole
    for split in range(1, len(words)):
        first, second = known.get("".join(words[:split])), known.get("".join(words[split:]))
        if first and first == second:
            return first
    return ""


@cache
def _analytes() -> dict[str, str]:
    return {bare(name).replace(" ", "").replace("%", ""): word for name, word in spellings("analyte").items()}


@cache
def _extractants() -> dict[str, str]:
    return {bare(name).replace(" ", ""): word for name, word in spellings("extractant").items()}


def _without(text: str, match: re.Match[str]) -> str:
    return f"{text[: match.start()]} {text[match.end() :]}".replace("()", " ").replace("( )", " ").strip(" _,;:-")


def results_of(columns: Iterable[Column]) -> list[Result]:
    """Every column of results of a wide sheet.

    Of two that measure the same in different units, the one in the unit the store keeps is taken.
    """
    found = [result for column in columns if (result := result_of(column))]
    kept = []
    for result in found:
        twins = [other for other in found if other.same == result.same]
        own = [other for other in twins if other.unit == code_list("analyte")[other.analyte].facts.get("unit")]
        if len(twins) == 1 or len(own) != 1 or own == [result]:
            kept.append(result)
    return kept


def long_tables(results: Sequence[Result]) -> tuple[list[Table], list[Ask]]:
    """One [[long]] table a column of results, with what must be decided in them."""
    tables, asks = [], []
    for result in results:
        twins = [other.column.header for other in results if other.same == result.same]
        table, questions = _long(result, twins)
        tables.append(table)
        asks += questions
    return tables, asks


def _long(result: Result, twins: list[str]) -> tuple[Table, list[Ask]]:
    header = result.column.header
    given: dict[str, object] = {"analyte": result.analyte}
    notes, asks = [], []
    if result.layer:
        ends, why = _ends(result.layer)
        given |= ends
        if why:
            asks.append(Ask("long.set.depth_to_mm", why, header))
    given["unit"] = result.unit or ("pH" if result.analyte == "ph" else UNDECIDED)
    if given["unit"] == UNDECIDED:
        why = (
            f"the unit “{result.said}” is not one of the list"
            if result.said
            else "neither header nor units row says the unit"
        )
        words = ", and what the units row says under [aliases.soil_unit]" if result.column.row_said else ""
        asks.append(Ask("long.set.unit", f"{why}: write one of {', '.join(code_list('soil_unit'))}{words}", header))
    if result.extractant:
        given["extractant"] = result.extractant
    elif result.analyte in _EXTRACTED:
        notes.append('add extractant = "…" if the report names it')
    if result.burn_c:
        given["burn_c"] = result.burn_c
    elif result.analyte == _FIRED:
        notes.append("add burn_c = … if the report says how hot it was burnt")
    if len(twins) > 1:
        others = ", ".join(f"“{one}”" for one in twins if one != header)
        why = f"measures the same as {others}: keep one, delete the other table"
        asks.append(Ask("long.from", why, header))
        entry = Entry("from", UNDECIDED, f"“{header}”: {why}")
    else:
        entry = Entry("from", header)
    return Table("long", (entry, Entry("set", given, "; ".join(notes))), many=True), asks


def _ends(layer: tuple[int, int, str]) -> tuple[dict[str, object], str]:
    """Ends of the sampled layer in mm, and why they must be decided where no unit is said (0 is 0 in any)."""
    low, high, unit = layer
    if unit:
        factor = units.scale(unit, "mm")[0]
        return {"depth_from_mm": _whole(low * factor), "depth_to_mm": _whole(high * factor)}, ""
    ends = {"depth_from_mm": low or 0, "depth_to_mm": UNDECIDED}
    if low:
        ends["depth_from_mm"] = UNDECIDED
    return ends, "the header says the layer without a unit: write both ends in mm"


def _whole(value: float) -> int | float:
    return int(value) if value == int(value) else value


def green_columns(columns: Sequence[Column], known: Known) -> list[Column]:
    """Columns named after greens, and the columns of numbers between them; none where it is no such sheet.

    A column of dates must stand before the first.
    """
    names = known.folded("green")
    places = [i for i, column in enumerate(columns) if fold(column.header) in names]
    if len(places) < FEWEST or not any(column.dated for column in columns[: places[0]]):
        return []
    between = range(places[0], places[-1] + 1)
    return [columns[i] for i in between if i in places or columns[i].numeric]


def green_tables(columns: Sequence[Column], kind: Kind, known: Known) -> tuple[list[Table], list[Ask]]:
    """One [[long]] table a green, with what must be decided in them."""
    names = known.folded("green")
    tables, asks = [], []
    for column in columns:
        green = names.get(fold(column.header), UNDECIDED)
        entries = [Entry("from", column.header)]
        if not kind.value_field:
            why = f"which field of {kind.name} the cells under the greens' names are is not said"
            asks.append(Ask("long.into", why, column.header))
            entries.append(Entry("into", UNDECIDED, "the field its cells go to"))
        comment = ""
        if green == UNDECIDED:
            near = closest(column.header, known.names["green"])
            comment = f"closest: {', '.join(near)}" if near else "no name of a green is near"
            asks.append(Ask("long.set.green", "not among the greens of the store: write the code", column.header))
        entries.append(Entry("set", {"green": green}, comment))
        tables.append(Table("long", tuple(entries), many=True))
    return tables, asks


def is_layered(column: Column) -> bool:
    """Whether the cells are layers such as 0-25."""
    words = list(column.words)
    return bool(words) and all(_LAYER_CELL.fullmatch(word) for word in words)


def layer_part(column: Column) -> tuple[str, Part]:
    """Table and entries for a column of layers: constants where it is one layer throughout, else a choice of rows."""
    layers = list(column.words)
    if len(layers) == 1 and (match := _LAYER_CELL.fullmatch(layers[0])):
        low, high, unit = match.groups()
        why = f"“{column.header}” says {layers[0]} in every row"
        if unit:
            factor = units.scale(unit, "mm")[0]
            ends = [Entry("depth_from_mm", int(low) * factor, why), Entry("depth_to_mm", int(high) * factor)]
            return "constants", Part(tuple(ends))
        why += ", without a unit: write both ends in mm"
        ends = [Entry("depth_from_mm", UNDECIDED if int(low) else 0), Entry("depth_to_mm", UNDECIDED, why)]
        return "constants", Part(tuple(ends), (Ask("constants.depth_to_mm", why),))
    shown = ", ".join(f"{word} ({count:,})" for word, count in list(column.words.items())[:10])
    why = f"rows of several layers ({shown}): a profile reads one; write which, and make another profile for each"
    return "only", Part((Entry(column.header, [UNDECIDED], why),), (Ask("only", why, column.header),))
