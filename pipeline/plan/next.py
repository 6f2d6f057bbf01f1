"""What comes next on a green, whatever asks for it: its programmes, targets, last works; every document asks this.

The lines of a programme stand. A target of dressing or nitrogen asks for what they leave of it, so that no tonne is
asked for twice, and not at all where they cover it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from math import fsum
from typing import Any

from pipeline.agronomy.dressing import dry_mass_kg
from pipeline.common.amounts import Amount, AmountText
from pipeline.common.words import counted
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Due
from pipeline.plan.beyond import Covered
from pipeline.plan.due import due, season_due
from pipeline.plan.due_facts import Facts
from pipeline.plan.due_log import Programme
from pipeline.plan.due_planned import PlannedDue, planned_due
from pipeline.workspace.settings import Season

Parts = list[float | None]
"""What each line of a programme puts on towards a target; None where that is not known."""


def due_next(records: GreenRecords) -> tuple[Due, ...]:
    """What comes next on a green, by day, as the records in the store stand, whatever season a report is of.

    A report of a season long past asks for nothing of the season after it, which is over as well.
    """
    season = season_due(records.season, max(records.as_of, records.last_day))
    return tuple(sorted(whats_due(records, season, records.as_of), key=lambda one: one.turn))


def whats_due(records: GreenRecords, season: Season, day: date) -> tuple[Due, ...]:
    """What is due on a green: the lines of its programmes up to a season, then what that season's targets ask beyond.

    Args:
        records: of the green, with everything logged, also after ``as_of``.
        season: the season whose targets are to be met.
        day: the day the document speaks of; it decides only how the day of a target is said.
    """
    return tuple(one for one, _ in due_lines(records, season, day))


def due_lines(
    records: GreenRecords,
    season: Season,
    day: date,
    made: tuple[Facts, Programme] | None = None,
    ahead: date | None = None,
) -> Iterator[tuple[Due, PlannedDue | None]]:
    """The same, each with the line of a programme that asks for it; None where another thing does.

    ``made`` is what the records come to in that season, and programmes beside the log, where that was worked out with
    that of other greens; ``ahead`` a day by which windows of programmes are to have opened, also one after the season:
    lines of later ones are left out then.
    """
    facts, programme = made or (None, None)
    lines = planned_due(records, season, ahead, programme)
    yield from ((one.due, one) for one in lines if ahead is None or one.line.planned.first <= ahead)
    yield from ((one, None) for one in due(records, season, day, covered(records, lines, season), facts))


def covered(records: GreenRecords, lines: Iterable[PlannedDue], season: Season) -> dict[str, Covered]:
    """What a green's programmes are still to put on in a season towards its targets, by operation."""
    own = [one for one in lines if one.season == season]
    area = records.area_m2
    if not own or not area:
        return {}
    found: dict[str, Covered] = {}
    if dressed := [_kg(one) for one in own if one.line.planned.operation == "top_dressing"]:
        dry = [_dry(one, records.material_rows) for one in own if one.line.planned.operation == "top_dressing"]
        amount = AmountText(Amount(_sum(dressed) / 1000, "t", ",.1f"), " as delivered")
        found["top_dressing"] = Covered(_sum(dry) / area, amount, _unknown(dry, "dressing"))
    if fed := list(_nitrogen(own, records.material_rows)):
        amount = AmountText(Amount(_sum(fed), "kg", ",.1f"), " N")
        found["fertilising"] = Covered(_sum(fed) / area * 10_000, amount, _unknown(fed, "feeding"))
    return found


def _sum(parts: Parts) -> float:
    return fsum(part for part in parts if part is not None)


def _unknown(parts: Parts, what: str) -> str:
    """Why it is not known how much of a target is covered; "" where it is."""
    lacking = sum(part is None for part in parts)
    if not lacking:
        return ""
    lines = counted(lacking, f"line of {what}", f"lines of {what}")
    return f"what {lines} of the programme {'puts' if lacking == 1 else 'put'} on is not known"


def _kg(one: PlannedDue) -> float | None:
    """What is left of a line, kg; None where it is not known how much, or whether."""
    work = one.line.planned
    known = work.unit == "kg" and work.size is not None and not one.doubted
    return one.line.missing if known else None


def _dry(one: PlannedDue, materials: Mapping[str, dict[str, Any]]) -> float | None:
    """The same less its moisture, where the register says how much and of what."""
    kg, row = _kg(one), materials.get(one.line.planned.material, {})
    pct, basis = row.get("moisture_pct"), row.get("moisture_basis")
    return kg if kg is None or pct is None or not basis else float(dry_mass_kg(kg, pct, basis))


def _nitrogen(own: Iterable[PlannedDue], materials: Mapping[str, dict[str, Any]]) -> Iterator[float | None]:
    """Nitrogen of each line that puts any on, kg; None where a feed's nitrogen or amount is not known."""
    for one in own:
        work, pct = one.line.planned, materials.get(one.line.planned.material, {}).get("n_pct")
        if pct is None and work.operation == "fertilising":
            yield None
        elif pct:
            kg = _kg(one)
            yield None if kg is None else kg * pct / 100
