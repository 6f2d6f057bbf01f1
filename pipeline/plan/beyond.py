"""What a season's target leaves open on a green, and what a programme covers of that."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from types import MappingProxyType

from pipeline.common.amounts import AmountText
from pipeline.indicators.base.green_season import Due


@dataclass(frozen=True)
class Open:
    """What a season's target asks for beyond what is logged in that season, in the target's unit.

    Attributes:
        low: remainder to the target's lower end.
        high: remainder to its upper end; None where it has none.
        applied: what is logged, as far as amounts are known.
        uncounted: jobs of the season whose amount is not known.
        questioned: jobs of the season whose amount is under an open warning.
        asked_about: jobs of the season under any open warning, and rejected rows that may be of it.
        read_to: the last day of the season that is on record.
        source: where the target comes from.
        passed_over: which target would come before it, were what it asks for recorded; "" where none would.
        unlogged: whether the season's log holds nothing of the green where it should: what was done is not known.
    """

    low: float
    high: float | None
    applied: float
    uncounted: int
    questioned: int
    asked_about: int
    read_to: date
    source: str
    passed_over: str = ""
    unlogged: bool = False


@dataclass(frozen=True)
class Covered:
    """What a programme is still to put on in a season towards a target.

    Attributes:
        rate: how much is known, in the target's unit.
        amount: the same on the whole green, in words.
        unknown: why the rest of it is not known; "" where all is.
    """

    rate: float
    amount: AmountText
    unknown: str = ""


NOTHING_PLANNED: Mapping[str, Covered] = MappingProxyType({})


def beyond(todo: Open, planned: Covered | None) -> Open:
    """What is open beyond what a programme is still to put on; the same where what is open is itself not known."""
    if planned is None or todo.questioned or todo.uncounted or todo.unlogged:
        return todo
    high = None if todo.high is None else max(todo.high - planned.rate, 0.0)
    return replace(todo, low=max(todo.low - planned.rate, 0.0), high=high)


def is_covered(whole: Open, todo: Open, part: float) -> bool:
    """Whether a programme covers what a target asks for, but for what would be printed as nothing."""
    return todo.low < whole.low and round(todo.low * part, 1) == 0


def less(line: Due, planned: Covered | None, whole: AmountText) -> Due:
    """The line of a target with what a programme covers of it in words; without a number where that is not known."""
    if planned is None:
        return line
    if planned.unknown and line.low is not None:
        lacking = AmountText("not known: ", planned.unknown)
        known = (" At least ", planned.amount, " of ", whole, " open is planned.") if planned.rate else ()
        return replace(line, quantity=lacking, low=None, high=None, applied=None, why=AmountText(line.why, *known))
    if not planned.rate:
        return line
    of = AmountText(" of the ", whole, " that the target asks for") if line.low is not None else " more"
    return replace(line, why=AmountText(line.why, " The programme plans ", planned.amount, of, "."))
