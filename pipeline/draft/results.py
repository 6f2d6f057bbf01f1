"""What the header of a column of results says: analyte or thing observed, extractant, layer, burning, drop, unit."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from pipeline.draft.columns import LONGEST, Column, bare
from pipeline.standardise.cells.header_units import parted
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
    {"soil", "exch", "ex", "in", "exchangeable", "extractable", "extr", "ext", "conc", "concentration", "icap", "icp"}
)
"""Words beside an analyte's name that change nothing about what is measured."""
FIRED = "organic_matter"
EXTRACTED = frozenset({"phosphorus", "potassium", "magnesium", "calcium", "sulphur", "sodium"}) | frozenset(
    {"iron", "manganese", "boron", "copper", "zinc", "aluminium"}
)
"""Nutrients whose figure means nothing without the extractant."""


RESULTS = {"analyte": ("analyte", "soil_unit"), "observed": ("observation", "observation_unit")}
"""Fields that a header of a wide sheet may give, each with the lists of its words and of the units of its results."""
_DROP = re.compile(r"(?:drop|hit) ?(?:no|number)? ?(\d{1,2})|(\d)(?:st|nd|rd|th)? (?:drop|hit)")
_HARDNESS = "hardness"
_SHORT = {"phos": "phosphate"}
"""Words of laboratories that may mean all that another word may mean."""
_WHOLE = frozenset(
    {"organic_matter", "total_nitrogen", "total_carbon", "organic_carbon", "inorganic_carbon", "bulk_density"}
)
"""Analytes that are the whole of something: what an extractant brings out of it is another thing."""
_TEXTURE = frozenset({"sand", "silt", "clay"})
_PART = frozenset({"fine", "coarse", "medium", "very"})
"""Words that make a size of grains a part of itself: beside “silt_fine”, “silt” may be the rest of it."""
_OBSERVED_FILLING = frozenset({"%", "of", "percent", "pct", "cover", "grass", "grasses", "depth", "reading", "mean"})
_NO_HEADER = frozenset({"layer"})
"""Words of the list of observations that are also fields: as a header they name the field."""


def names_of_results(kind: Kind) -> str:
    """The field of the kind that headers of a wide sheet may give, "" where it has none."""
    return next((name for name in RESULTS if name in kind.key), "")


@dataclass(frozen=True)
class Result:
    """What the header of a column of results says; "" and None where it says nothing.

    Attributes:
        column: the column.
        names: field that the word is of: "analyte" or "observed".
        word: word of that field's list.
        extractant: word of the list of extractants.
        layer: upper and lower end as written, and their unit.
        burn_c: temperature of the loss on ignition, °C.
        unit: word of the kind's list of units.
        said: unit as header or units row says it.
        drop: which drop of a hammer on the same spot.
    """

    column: Column
    names: str
    word: str
    extractant: str = ""
    layer: tuple[int, int, str] | None = None
    burn_c: int | None = None
    unit: str = ""
    said: str = ""
    drop: int | None = None

    @property
    def same(self) -> tuple[object, ...]:
        """What two columns must not share."""
        return self.word, self.extractant, self.layer, self.burn_c, self.drop

    @property
    def facts(self) -> dict[str, Any]:
        """What the list says of the word."""
        listed = code_list(RESULTS[self.names][0])
        return {**listed[listed[self.word].facts.get("of", self.word)].facts, **listed[self.word].facts}


def result_of(column: Column, names: str) -> Result | None:
    """What a column of results measures; None where its header names no word of the field's list."""
    if len(column.header) > LONGEST:
        return None
    return _soil_result(column) if names == "analyte" else _observed(column)


def _soil_result(column: Column) -> Result | None:
    """The analyte that a header names.

    Words among the cells (``VH``) do not speak against it: what they stand for is asked.
    """
    text = column.header
    layer = _LAYER.search(text)
    if layer:
        text = _without(text, layer)
    name, said = parted(text)
    whole, part = _fired(text), _fired(name) if said else None
    found = whole or part
    if found is None:
        return None
    analyte, extractant, burn = found
    said = said if part and fold(said) in spellings("soil_unit") else ""  # the C of percent_total_C is no unit
    said = column.row_unit or column.row_said or said
    unit = spellings("soil_unit").get(fold(said), "")
    ends = (int(layer.group(1)), int(layer.group(2)), (layer.group(3) or "").replace('"', "in")) if layer else None
    return Result(column, "analyte", analyte, extractant, ends, burn, unit, said)


def _observed(column: Column) -> Result | None:
    """The thing observed that a header names (``Moss %``, ``3rd drop``)."""
    name, said = parted(column.header)
    said = column.row_unit or column.row_said or said
    unit = spellings("observation_unit").get(fold(said), "")
    for words in dict.fromkeys((bare(name), bare(column.header))):
        if drop := _DROP.fullmatch(words):
            number = int(drop.group(1) or drop.group(2))
            return Result(column, "observed", _HARDNESS, unit=unit, said=said, drop=number)
        for text in (words, " ".join(word for word in words.split() if word not in _OBSERVED_FILLING)):
            word = spellings("observation").get(fold(text), "")
            if word and word not in _NO_HEADER:
                return Result(column, "observed", word, unit=unit, said=said)
    return None


def names_analyte(text: str) -> bool:
    """Whether a word of a column names an analyte, alone or with its unit welded on (``totalN_%``)."""
    return bool(_fired(text) or _fired(parted(text)[0])) if len(text) <= LONGEST else False


def _fired(text: str) -> tuple[str, str, int | None] | None:
    """Analyte, extractant and temperature of the burning (``OM360``, ``LOI 440 C``) that a header's words name."""
    burn = _BURN.search(re.sub(r"(?<=[A-Za-z])(?=\d{3})", " ", text))
    if burn:
        found = named(re.sub(r"[\s_]*\d{3}\s*(?:°|º|deg)?\s*[cC]?\b", " ", text))
        if found and found[0] == FIRED:
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
            if extractant and analyte and analyte not in _WHOLE:
                return analyte, extractant
    return None


def _analyte(words: Sequence[str]) -> str:
    """The analyte that words name, once or twice over (``Organic Matter LOI``); "" where they name none."""
    known = _analytes()
    words = [_SHORT.get(word, word) for word in words]
    if whole := known.get("".join(words)) or known.get("".join(reversed(words))):
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


def is_part(result: Result, columns: Sequence[Column]) -> bool:
    """Whether a size of grains may be a part of what its word means, for another column holds another part of it."""
    if result.word not in _TEXTURE:
        return False
    words = [set(" ".join(column.spelt).split()) for column in columns if column is not result.column]
    return any(result.word in some and some & _PART for some in words)
