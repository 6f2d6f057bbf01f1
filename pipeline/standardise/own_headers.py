"""Which field of a kind a header of its own is: by a known name, or by one with another unit at its end."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

from pipeline.standardise.cells.fractions import PACKS
from pipeline.standardise.cells.header_units import parted
from pipeline.standardise.field_units import unit_fits, without_period
from schemas import KINDS, Kind
from schemas.codes import fold
from schemas.field import Field

_PACKED = re.compile(rf"(.*[^\s(\[])[\s(\[]+({PACKS})\s*[)\]]?", re.IGNORECASE)
"""A header that ends in what is counted: ``Qty (bags)``."""
_LONGEST = 200
"""Characters from which on a header is a sentence and no name."""


class Named(NamedTuple):
    """The field that a header names, and the unit its words say; "" where they say none."""

    field: Field
    unit: str


def named_by(headers: Sequence[str], kind: Kind) -> list[Named | None]:
    """What each header names, None where it is no name of the kind's.

    A name with another unit at its end (``Depth cm``) counts where no header is the field's name as it stands.
    """
    known = {fold(name): field for field in kind.asked for name in field.headers}
    found = [_as_it_stands(header, known) for header in headers]
    taken = {one.field.name for one in found if one}
    return [
        one or (other if (other := _with_unit(header, kind)) and other.field.name not in taken else None)
        for header, one in zip(headers, found, strict=True)
    ]


def _as_it_stands(header: str, known: dict[str, Field]) -> Named | None:
    field = known.get(fold(header))
    if field is None:
        return None
    says_unit = {fold(field.name), fold(field.heading)}
    return Named(field, field.unit if fold(header) in says_unit else "")


def _with_unit(header: str, kind: Kind) -> Named | None:
    """The one field of which a header is a name with a unit of the field's sort; None where none or several are."""
    if len(header) > _LONGEST:
        return None
    packed = _PACKED.fullmatch(header)
    if packed:
        named = _whole_names(kind.name).get(fold(packed.group(1)), ())
        return next((Named(one, packed.group(2)) for one in named if one.name == "quantity"), None)
    name, unit = parted(header)
    if not unit:
        return None
    for names in (_whole_names(kind.name), _stems(kind.name)):
        fits = [
            Named(one, said)
            for one in names.get(fold(name), ())
            if unit_fits(one, said := without_period(unit, kind, one.name)) and one.name != "value"
        ]
        if fits:
            return fits[0] if len(fits) == 1 else None
    return None


@cache
def _whole_names(kind: str) -> dict[str, tuple[Field, ...]]:
    """Every known name of a kind's fields, folded."""
    return _by_name([(fold(name), one) for one in KINDS[kind].asked for name in one.headers])


@cache
def _stems(kind: str) -> dict[str, tuple[Field, ...]]:
    """The names of a kind's fields without the unit they say, folded."""
    pairs = []
    for one in KINDS[kind].asked:
        parts = [parted(name) for name in one.also]
        names = [one.stem, one.heading.removesuffix(f" ({one.unit})")]
        names += [name for name, unit in parts if unit_fits(one, unit)]
        pairs += [(fold(name), one) for name in names if one.unit]
    return _by_name(pairs)


def _by_name(pairs: Sequence[tuple[str, Field]]) -> dict[str, tuple[Field, ...]]:
    found: dict[str, dict[str, Field]] = {}
    for name, one in pairs:
        found.setdefault(name, {})[one.name] = one
    return {name: tuple(ones.values()) for name, ones in found.items()}
