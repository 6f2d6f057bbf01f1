"""Where each green's need is delivered to, and which place a name in the stock stands for."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.words import listed
from schemas.codes import fold

CLUBS = "clubs"
"""What is said for: each club's own need to that club."""
LOOSE = frozenset({"top_dressing", "gravel", "turf"})
"""Sorts of material that are tipped where they are used, and so go to the club unless somebody says otherwise: common
practice, no source."""
MOST_NAMED = 5
"""Depots of which the command is spelled out."""
NOT_SAID = "a place not said"
"""Stands for the depot of stock that names none, where there is not just one."""


@dataclass(frozen=True)
class Places:
    """Where things go.

    Attributes:
        packs: the depot that what comes in packs goes to, or :data:`CLUBS`.
        loads: the same of dressing, gravel and turf.
        depots: depots known.
        club_of: green → its club, as it is printed.
        codes: club as it is printed → its code.
        why: what decided, in words.
    """

    packs: str
    loads: str
    depots: tuple[str, ...]
    club_of: Mapping[str, str]
    codes: Mapping[str, str]
    why: str
    _known: Mapping[str, str] = field(default_factory=dict, repr=False)

    def of(self, green: str, sort: str) -> str:
        """The depot or club that a material of this sort goes to for a green; "" where its club is not known."""
        where = self.loads if sort in LOOSE else self.packs
        return self.club_of.get(green, "") if where == CLUBS else where

    def stock_at(self, depot: str) -> str:
        """The place that a depot of the stock is: one of the depots, a club by its code or name, else as written."""
        if not depot:
            return self.depots[0] if len(self.depots) == 1 else NOT_SAID
        return self._known.get(fold(depot), depot)

    @property
    def said(self) -> str:
        """Where things go, as a sentence."""
        packs, loads = (_to(where) for where in (self.packs, self.loads))
        if packs == loads:
            return f"Everything goes to {packs}: {self.why}."
        return f"Packs go to {packs}; dressing, gravel and turf go to {loads}: {self.why}."


def places(
    to: str, loads_to: str, named: Sequence[str], in_stock: Collection[str], clubs: Mapping[str, str],
    club_of: Mapping[str, str],
) -> Places:  # fmt: skip
    """Where things go: as is said, else packs to the one depot there is, and what is loose to the clubs.

    Args:
        to: depot, or :data:`CLUBS`, for what comes in packs; "" where nobody says.
        loads_to: the same for dressing, gravel and turf.
        named: depots that the settings name.
        in_stock: depots that the records of stock name; they count as depots where the settings name none.
        clubs: code of each club → its name.
        club_of: green → code of its club.

    Raises:
        WrongUsage: ``to`` or ``loads_to`` is no depot; or there are several, and nobody says which.
        CannotDo: a depot bears the code or name of a club.
    """
    shown = {code: _shown(code, clubs) for code in clubs}
    by_club = {fold(text): label for code, label in shown.items() for text in (code, label)}
    for name in named:
        if fold(name) in by_club:
            raise CannotDo(
                f"Depot “{name}” of the settings is called like club {by_club[fold(name)]}.",
                "Give the depot another name in settings.toml and in the records of stock: else nobody can tell where "
                "things go.",
            )
    depots = tuple(named) or tuple(sorted({one for one in in_stock if one and fold(one) not in by_club}))
    known = {**by_club, **{fold(name): name for name in depots}}
    packs, why = _packs(to, depots, known, settings=bool(named))
    loads = _known_depot(loads_to, depots, known) if loads_to else (packs if to else CLUBS)
    if to or loads_to:
        why = "as was asked"
    of_green = {green: shown.get(club, "") for green, club in club_of.items()}
    return Places(packs, loads, depots, of_green, {label: code for code, label in shown.items()}, why, known)


def _packs(to: str, depots: tuple[str, ...], known: Mapping[str, str], *, settings: bool) -> tuple[str, str]:
    if to:
        return _known_depot(to, depots, known), ""
    if not depots:
        return CLUBS, "no depot is named, in the settings or in the stock"
    if len(depots) == 1:
        source = "that the settings name" if settings else "that the stock lies in"
        return depots[0], f"{depots[0]} is the only depot {source}"
    raise WrongUsage(
        f"There are several depots, {listed(depots)}, and nobody says to which of them packs go.",
        f"Say which: {', '.join(_command(one) for one in depots[:MOST_NAMED])}; or {_command(CLUBS)}, to each its own.",
    )


def _command(where: str) -> str:
    """The command that sends everything to a place, as it is typed in."""
    return f'swardtally order --to "{where}"' if " " in where else f"swardtally order --to {where}"


def _known_depot(name: str, depots: tuple[str, ...], known: Mapping[str, str]) -> str:
    if fold(name) == CLUBS:
        return CLUBS
    if (found := known.get(fold(name))) in depots:
        return found
    there = (
        f"There are {listed([*depots, CLUBS])}." if depots else "None is known: name it under depots in settings.toml."
    )
    raise WrongUsage(f"“{name}” is no depot.", there)


def _shown(code: str, clubs: Mapping[str, str]) -> str:
    """A club as it is printed: its name, with its code where another has the same; its code where it has no name."""
    name = clubs[code]
    alike = sum(fold(other) == fold(name) for other in (*clubs.values(), *clubs))
    return code if not name else name if alike == 1 else f"{name} ({code})"


def _to(where: str) -> str:
    return "the clubs, to each its own" if where == CLUBS else f"the depot {where}"
