"""Which profiles a file calls for: the one that fits best, or several that each say which part of it they read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from pipeline.profiles.profile import Profile
from pipeline.profiles.style import FILLED
from schemas.codes import fold


class Fit(NamedTuple):
    """How well a profile fits a table: the smaller, the better.

    Attributes:
        unexplained: headers of the table that it neither reads nor knows not to be needed.
        lacking: columns it reads and the table lacks.
        any_name: whether it holds for files of any name.
        headers: how many headers it asks for, negative.
    """

    unexplained: int
    lacking: int
    any_name: bool
    headers: int


def fit(profile: Profile, headers: Iterable[str], file: str = "") -> Fit | None:
    """How well a profile fits a file with these headers and this name; None where its ``match`` does not."""
    seen = frozenset(fold(header) for header in headers)
    if not profile.match.fits(seen, file):
        return None
    unexplained, lacking = len(seen - profile.explained), len(profile.wanted - seen)
    return Fit(unexplained, lacking, not profile.match.file, -len(profile.match.headers))


def called_for(fitting: Sequence[tuple[Fit, Profile]]) -> tuple[tuple[Profile, ...], tuple[Profile, ...]]:
    """The profiles a file is read by, and those of which nothing says which is meant.

    The best that fits is taken, and with it every other that says that it reads another part of the file. Of two that
    fit equally well and do not say so neither is chosen: both are among the second.
    """
    taken: list[tuple[Fit, Profile]] = []
    tied: dict[str, Profile] = {}
    for how_well, profile in sorted(fitting, key=lambda pair: (pair[0], pair[1].name)):
        rivals = [other for other in taken if not apart(profile, other[1])]
        if not rivals:
            taken.append((how_well, profile))
        elif how_well == rivals[0][0]:
            tied |= {one.name: one for as_well, one in rivals if as_well == how_well} | {profile.name: profile}
    return tuple(profile for _, profile in taken), tuple(tied.values())


def apart(one: Profile, other: Profile) -> bool:
    """Whether two profiles say that they read different parts of a file.

    They name two sheets of a workbook, two parts under ``match``, or rows with different words in one column.
    """
    if one.reading.sheet and other.reading.sheet and one.reading.sheet != other.reading.sheet:
        return True
    if one.match.part and other.match.part and fold(one.match.part) != fold(other.match.part):
        return True
    words = {fold(column): set(said) for column, said in other.only.items()}
    mine = {column: said for column, said in one.only.items() if FILLED not in said}
    return any(
        FILLED not in words.get(fold(column), {FILLED}) and words[fold(column)].isdisjoint(said)
        for column, said in mine.items()
    )
