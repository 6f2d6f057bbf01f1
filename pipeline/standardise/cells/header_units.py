"""Units at the end of a header: a short word is one only where the rest of the header is of its sort."""

from __future__ import annotations

import re

from pipeline.standardise.cells import units


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
