"""Warnings of loads as a page tells them: the store keeps their messages as text, and here their quantities come back.

A warning is about a record that was taken in, and tells it in SI, so a page may tell it in other units. Errors are not
turned: they say a cell as the file has it, and what may stand there. Nor are warnings that are about a unit.
"""

from __future__ import annotations

import re

from pipeline.common.amounts import Amount, AmountText, Part

MEASURED = frozenset({
    "amount.apart", "amount.density", "area.odd", "area.parts", "area.size", "depth.odd", "dose.high", "dose.low",
    "level.hole", "level.hollow", "level.larger", "level.odd", "level.smaller", "level.steep", "level.step",
    "material.none", "size.odd", "speed.odd_stimpmeter", "weather.day_hot", "weather.day_rain", "weather.mean_outside",
    "weather.month_rain", "weather.month_temperature", "weather.month_wind", "weather.year_rain",
})  # fmt: skip
"""Codes of the warnings whose quantities are those of the record. Here and not beside their templates: who prints a
message has not loaded the rules that made it."""
_UNITS = "g N/m²|kg/m²|kg/ha|g/m²|l/m²|ml/m²|m²/h|m²|mm|m/s|m|kg N|kg|°C|t|l"
_NUMBER = r"[−-]?\d[\d,]*(?:\.\d+)?"
_SAID = re.compile(
    rf"(?P<quoted>“[^”]*”)|(?<![\w.,/–-])(?:(?P<low>{_NUMBER})(?P<between> to | × ))?(?P<number>{_NUMBER}) "
    rf"(?P<unit>{_UNITS})(?![\w²³/])"
)
"""A quantity, or a range of two, as the messages of this code have it; what is quoted of a file is passed over."""


def remembered(message: str) -> AmountText:
    """A message that this code made of a template and kept as text, with its quantities in SI known again.

    Of templates alone: what a person wrote may mean anything.
    """
    parts: list[Part] = []
    end = 0
    for found in _SAID.finditer(message):
        if found["quoted"]:
            continue
        parts.append(message[end : found.start()])
        if found["low"]:
            parts += [_read(found["low"], found, bare=True), found["between"]]
        parts.append(_read(found["number"], found))
        end = found.end()
    made = AmountText(*parts, message[end:])
    return made if made == message else AmountText(message)


def _read(number: str, found: re.Match[str], *, bare: bool = False) -> Amount:
    """A number of a quantity; both ends of a range carry the digits of the finer."""
    places, finest = _places(number), max(_places(found["number"]), _places(found["low"] or ""))
    value = float(number.replace(",", "").replace("−", "-"))
    form = f"{',' if ',' in number else ''}.{places}f"
    return Amount(value, found["unit"], form, bare=bare, carries=finest if finest > places else None)


def _places(number: str) -> int:
    return len(number.partition(".")[2])


def told(code: str, message: str) -> str:
    """A message out of the store; where its kind has it so, it remembers its quantities."""
    return remembered(message) if code in MEASURED else message
