"""Units at the end of a header: a short word is one only where the rest of the header is of its sort."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from pipeline.profiles.style import Refused, Style
from pipeline.standardise.cells import units
from schemas.codes import fold, spellings

ANY_STYLE = Style(ton="metric", barrow_l=1.0)
"""Under which "ton" and "barrow" are units: which ones is asked elsewhere."""
_IN_BRACKETS = re.compile(r"(.*\S)\s*[(\[]\s*([^()\[\]]+?)\s*[)\]]")
_PERCENT_FIRST = re.compile(r"(?:%|(?:percent|per cent|pct|perc)[\s_.]+)\s*(\S.*)", re.IGNORECASE)
_SYMBOL_LAST = re.compile(r"(.*\S)\s+(\S+)\s+[A-Z][a-z]?")
_BREAK = re.compile(r"[\s_,/]+")
_LONGEST = 200
"""Characters from which on a header is a sentence and says no unit."""
_SHORTEST = 3
"""Letters from which on a header may be a unit alone: K, Mg and Ca are substances."""
_SHORT_ALONE = frozenset({"kg", "lb", "mm", "cm", "ft"})


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_TIME = _words("time times timed duration elapsed taken ran run running soaked soak drained speed bowl stopwatch")
_WORK = _TIME | _words("man men person labour labor work worked crew trigger")
_MASS = _words("mass weight wt yield quantity amount dressing sand soil dried dry wet total clippings")
_TEMPERATURE = _words(
    "temp temps temperature temperatures tmax tmin tavg tmean tdew dew dewpoint max min mean maximum minimum air t "
    "burn ignition oven"
)
_SOIL_WORDS = _words("total percent pct % organic inorganic soil exch available soluble carbon")
_NEEDS: dict[str, frozenset[str]] = {
    **dict.fromkeys(("min", "mins", "s", "d", "ms", "second", "minute"), _TIME),
    **dict.fromkeys(("c", "f"), _TEMPERATURE),
    **dict.fromkeys(("t", "te"), _MASS),
    **dict.fromkeys(("w", "kw", "j", "ly"), frozenset({"radiation", "rad", "srad", "solar", "energy"})),
    **dict.fromkeys(("us", "ds", "me", "gr"), frozenset[str]()),
    "h": _WORK | {"sun", "sunshine", "wetness"},
    "hour": _WORK,
    "ac": frozenset({"area", "size"}),
    "pt": frozenset({"volume", "dose", "amount"}),
    "mi": frozenset({"wind", "run", "distance"}),
    "kn": frozenset({"wind", "gust"}),
    "foot": frozenset({"length", "width", "height", "distance"}),
}
"""Units whose word is also another (minimum, carbon, sulphur, "us"), with the words one of which makes it the unit."""
_NOT_WITH = {
    "in": _words("time check checked clock clocked sign signed log logged date day put"),
    "c": _SOIL_WORDS,
    "f": _SOIL_WORDS,
    **dict.fromkeys(("min", "mins"), _TEMPERATURE - {"t"} | {"rh", "humidity", "wind", "ph"}),
}
"""Words beside which it is not the unit, whatever else is there."""


def ends_in_unit(name: str, word: str, header: str = "") -> bool:
    """Whether the last word of a header is the unit it spells, and not another word or half a unit.

    ``Time_sec`` is in seconds; ``temp_min`` is a minimum, ``percent_total_C`` carbon, ``Time in`` no inches, and the
    ``hr`` of ``cm/hr`` a part of the unit.

    Args:
        name: the header without the word.
        word: its last word or words, or what stands in brackets behind it; a unit by its spelling.
        header: the header as it stands; tells whether a slash stands between the two.
    """
    last = re.split(r"[\s_,/(\[]+", name.strip(" _,/([")) or [""]
    if header[len(name) :].lstrip().startswith("/") and units.is_known(last[-1]):
        return False
    words = frozenset(re.findall(r"[a-z%]+", re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).casefold()))
    short = word.strip(" .()[]").casefold()
    if words & _NOT_WITH.get(short, frozenset()):
        return False
    return short not in _NEEDS or bool(words & _NEEDS[short])


def parted(header: str) -> tuple[str, str]:
    """A header's name and the unit it says, "" where it says none."""
    for name, unit in _partings(header):
        known = unit_of(unit)
        if known and any(char.isalnum() for char in name) and ends_in_unit(name, known, header):
            return name, known
    return header, ""


@cache
def unit_of(text: str | None) -> str:
    """A unit as it can be written into a profile, "" where the text is none; ``mg.kg`` is read as mg/kg."""
    said = (text or "").strip(" ()[]")
    for unit in (said, said.replace(".", "/")):
        if unit and not unit.isdigit() and (fold(unit) in spellings("soil_unit") or units.is_known(unit, ANY_STYLE)):
            return unit
    return ""


def _partings(header: str) -> Iterator[tuple[str, str]]:
    for pattern in (_IN_BRACKETS, _SYMBOL_LAST):
        if match := pattern.fullmatch(header):
            yield match.group(1), match.group(2)
    # before its last word, which is a substance then and no unit (percent_total_C)
    if match := _PERCENT_FIRST.fullmatch(header):
        yield match.group(1), "%"
    for gap in _BREAK.finditer(header):
        yield header[: gap.start()], header[gap.end() :]


def unit_against(header: str, declared: str) -> str:
    """The unit a header says where figures in it are of the sort of the declared one, "" elsewhere.

    A length behind the layer or the sieve (``Moisture 0-60 mm``) says nothing of a share, nor behind a figure of any.
    """
    if len(header) > _LONGEST:
        return ""
    name, said = parted(header)
    if not said and (len(header.strip()) >= _SHORTEST or fold(header) in _SHORT_ALONE):
        name, said = "", unit_of(header)
    if not said or said[0].isdigit() or name.rstrip(" ([").endswith(tuple("0123456789")):
        return ""
    listed = spellings("soil_unit")
    return said if (fold(said) in listed and fold(declared) in listed) or _one_sort(said, declared) else ""


def _one_sort(one: str, other: str) -> bool:
    try:
        units.scale(one, other, ANY_STYLE)
    except Refused:
        return False
    return True
