"""Bands of figures that come from a list: what may stand there, and so what a typing slip is held against."""

from __future__ import annotations

from schemas.codes import code_list

NOT_STATED = "extractant not stated"
"""Band of a result of which the laboratory does not say what it was extracted with."""
WAYS_BAND, WAYS = "along or across the rinks", ("along", "across")
"""What the band of a straightedge says, and its bands."""
_LISTS = {"extractant": "extractant", "class of release": "nitrogen_release", "operation": "operation"}
"""What a band says, and the list whose labels it is printed from."""


def bands_of(what: str) -> tuple[str, ...]:
    """Every band there can be of figures whose band says this; () where names or depths of a user's stand there."""
    if what == WAYS_BAND:
        return WAYS
    if what not in _LISTS:
        return ()
    labels = tuple(code.label for code in code_list(_LISTS[what]).values())
    return (*labels, NOT_STATED) if what == "extractant" else labels
