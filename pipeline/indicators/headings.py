"""Figures under the headings of the condition report, for whatever prints them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pipeline.common.closest import closest, offered
from pipeline.common.refusal import WrongUsage
from pipeline.indicators.base.description import HEADINGS, heading_of
from pipeline.indicators.base.green_season import Indicator
from schemas.codes import fold


def by_heading(figures: Sequence[Indicator]) -> dict[str, list[Indicator]]:
    """Figures by the heading they stand under, in the order of the report; those of one heading in the order given."""
    found: dict[str, list[Indicator]] = {heading: [] for heading in HEADINGS.values()}
    for one in figures:
        found.setdefault(heading_of(one.family), []).append(one)
    return {heading: of for heading, of in found.items() if of}


def heading_called(wanted: str, figures: Iterable[Indicator]) -> str:
    """The heading of this name, in any case: its own, or the machine name of a family that stands under it.

    Raises:
        WrongUsage: there is none, with the closest.
    """
    known = _names(figures)
    folded = {fold(name): heading for name, heading in known.items()}
    if found := folded.get(fold(wanted)):
        return found
    every = "; ".join(
        f"{heading} ({', '.join(_families(heading, known))})" for heading in dict.fromkeys(known.values())
    )
    raise WrongUsage(f"There is no heading “{wanted}”{offered(wanted, known)}.", f"Headings are {every}.")


def headings_near(wanted: str, figures: Iterable[Indicator]) -> tuple[str, ...]:
    """The machine names of families that a word is the name or heading of; else of the nearest, best first."""
    known = _names(figures)
    exact = [name for name in known if fold(name) == fold(wanted)]
    near = exact or closest(wanted, known)
    return tuple(dict.fromkeys(_families(known[name], known)[0] for name in near))


def _names(figures: Iterable[Indicator]) -> dict[str, str]:
    """Every name of a heading → the heading, in the order of the report; the families of these figures among them."""
    families = {**HEADINGS, **{one.family: heading_of(one.family) for one in figures}}
    return {**families, **{heading: heading for heading in families.values()}}


def _families(heading: str, known: dict[str, str]) -> list[str]:
    return [name for name, of in known.items() if of == heading and name != heading]
