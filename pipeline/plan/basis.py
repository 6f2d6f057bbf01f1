"""The basis of a line that repeats a work of last season: written into a programme, loaded, and read again."""

from __future__ import annotations

import re

from pipeline.common.amounts import Amount, AmountText

KG_OF_T = 1000.0
_PUT_ON = re.compile(
    r"(?P<when>as (?:on|in) [^:]+: )(?P<number>\d[\d,]*(?:\.\d+)?) (?P<unit>kg|t|l|g/m²)(?P<rest>(?:[ ,].*)?)"
)


def put_on(size: float, unit: str) -> Amount:
    """What was put on then, as the basis says it: from a tonne on in tonnes, to the kilogram."""
    if unit == "kg" and size >= KG_OF_T:
        return Amount(round(size / KG_OF_T, 3), "t", ",g", carries=3)
    return Amount(size, unit, ",.4g" if size < KG_OF_T else ",.0f", carries=1)


def of_last_season(basis: str) -> AmountText | None:
    """A basis of this form with its quantity; None of any other, which stands as it was written."""
    found = _PUT_ON.fullmatch(basis)
    if not found:
        return None
    size = float(found["number"].replace(",", ""))
    return AmountText(found["when"], put_on(size, found["unit"]), found["rest"])
