"""Works as the plan counts them: what a programme asks of a green, and what a job log says was done on it.

Pure: no store, no settings. Everything in this folder that plans, matches, orders or prices works on these.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from pipeline.common.grouped import grouped
from pipeline.common.words import counted, long_date, period
from pipeline.indicators.base.green_season import Evidence
from pipeline.workspace.settings import Season
from schemas.material import UNREGISTERED

Unit = Literal["kg", "l", "times"]
"""What a work is counted in: a material by mass or volume as it is bought, anything else by how often it was done."""
HOW_OFTEN = "how often is not said"
"""Why the size of a work is not known that its source leaves open so: it is nowhere taken for once."""


@dataclass(frozen=True)
class Planned:
    """A work that a programme asks of one green.

    Attributes:
        green: code of the green.
        operation: a word of schemas/codes/operation.toml.
        first: first day of its window.
        last: last day of its window.
        unit: what it is counted in.
        size: how much of it over the whole green, all its times together; None where the programme does not say.
        material: as the register names it; "" where the programme leaves it open.
        depth_mm: working depth; None where none is said.
        passes: times the machine goes over at one visit; None where none is said.
        hours: hours of all people that the programme allows for it; None where none are said.
        programme: the programme it is of, "" of a single line.
        basis: why it is planned, in words.
        place: the line it was read from; None where it was not read from a file.
        unsized: why its size is not known, "" where it is.
        times: how often it is to be done within its window: what a line of kg or l is spread over, and what one
            without a size is counted in; None where it is not said, and then ``size`` is None too.
        pack: what a pack of its material holds, in ``unit``; None where the register does not say.
        note: what the sheet says beside it.
        unregistered: whether its material is in no register.
        given_up: day from which on its green is played on no more, where its window opens on or after it; None where
            the green is in play then.
        given_up_by: last day on which it can have been given up; None where the day is known, or it is in play.
    """

    green: str
    operation: str
    first: date
    last: date
    unit: Unit
    size: float | None
    material: str = ""
    depth_mm: float | None = None
    passes: float | None = None
    hours: float | None = None
    programme: str = ""
    basis: str = ""
    place: Evidence | None = None
    unsized: str = ""
    times: float | None = 1.0
    pack: float | None = None
    note: str = ""
    unregistered: bool = False
    given_up: date | None = None
    given_up_by: date | None = None

    @property
    def caution(self) -> str:
        """What to know of a material that is in no register, in a sentence; "" of any other."""
        if not self.unregistered:
            return ""
        return f"“{self.material}” is not in the register of materials: {UNREGISTERED}."


@dataclass(frozen=True)
class Done:
    """A job of the log, on one green.

    Attributes:
        green: code of the green.
        operation: a word of schemas/codes/operation.toml.
        first: its day, or the first it can have been.
        last: its day, or the last it can have been.
        material: as the register names it; "" where none was put on.
        kg: mass put on in all, as delivered; None where it is not known.
        l: volume put on in all; None where it is not known.
        part: share of the green that was gone over, 1 where nothing else is said.
        hours: hours of all people together; None where not logged.
        cost: in the workspace's currency; None where not logged.
        place: the line of the log.
        unsure: what of its amount or part is not known, and what stands in its place; "" where nothing.
    """

    green: str
    operation: str
    first: date
    last: date
    material: str = ""
    kg: float | None = None
    l: float | None = None  # noqa: E741 (the litre)
    part: float = 1.0
    hours: float | None = None
    cost: Decimal | None = None
    place: Evidence | None = None
    unsure: str = ""


def given_up_words(day: date, by: date | None = None, first: date | None = None) -> str:
    """Why nothing is done on a green any more.

    Args:
        day: the first day on which it may have been given up.
        by: the last such day, where only a month or a year is known.
        first: the first day of the work; None for any.
    """
    if by is None or by == day:
        return f"the green was given up on {long_date(day)}"
    said = f"the green was given up in {period(day, by)}, on which day is not known"
    doubt = first is not None and first <= by
    return f"{said}: whether it is still there for this work is not known" if doubt else said


def closing_words(day: date, by: date | None = None) -> str:
    """That a green is given up within the season that is spoken of; arguments as :func:`given_up_words` has them."""
    return given_up_words(day, by).replace("was given up", "is given up")


NOT_SMALLER = "amounts that targets ask of the season are not made smaller"
"""Stands wherever the target of a season does in whose course the green is given up."""


def after_closing(planned: Iterable[Planned]) -> tuple[str, ...]:
    """Of each green, how many works are planned of it for after it was given up, and that none of them counts."""
    late = [one for one in planned if one.given_up is not None]
    return tuple(
        f"{green}, {counted(len(some), 'planned work')}: {why}, so that nothing of it is due, priced or ordered"
        for (green, why), some in grouped(late, lambda one: (one.green, why_given_up(one))).items()
    )


def why_given_up(one: Planned) -> str:
    """Why a work is not to be done of which ``given_up`` says so."""
    assert one.given_up is not None
    return given_up_words(one.given_up, one.given_up_by, one.first)


def of_season(planned: Iterable[Planned], season: Season) -> list[Planned]:
    """The works of a season: those whose window ends in it, so that each is of one season alone.

    An autumn renovation may open in September and end in October: it is of the season it prepares.
    """
    return [one for one in planned if season.start <= one.last <= season.end]
