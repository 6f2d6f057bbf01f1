"""What targets and findings ask of a green in a season: the lines of the due list, as works with windows.

Amounts are those of :func:`pipeline.plan.due.due`, which alone knows what is open of a target.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import ceil

from pipeline.agronomy.soil.nutrients import SOLUBLE_N_LIMIT_G_M2, product_for_nutrient_kg
from pipeline.common.closest import as_known
from pipeline.common.refusal import WrongUsage
from pipeline.common.words import long_date
from pipeline.indicators.base.description import Description
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Due
from pipeline.indicators.base.standing import target_for
from pipeline.indicators.feeding import nutrients
from pipeline.indicators.works import dressing
from pipeline.plan.due import due
from pipeline.plan.due_again import sampling
from pipeline.plan.due_facts import latest_sample
from pipeline.plan.entries import NOTHING, Entry, Place
from pipeline.plan.works import Planned
from pipeline.workspace.settings import Season

KG_OF_T = 1000.0
GROWTH = {"north": ("04-01", "08-31"), "south": ("10-01", "02-28")}
"""First and last day on which nitrogen is put on, month and day: common practice, no source."""


@dataclass(frozen=True)
class Feed:
    """The feed that nitrogen is planned as: its name in the register, and its nitrogen in %."""

    material: str
    n_pct: float

    @classmethod
    def named(cls, name: str, solids: Mapping[str, float | None]) -> Feed:
        """The feed of a name.

        Args:
            name: as somebody typed it.
            solids: every material of the register → its nitrogen, %; None where it is no solid, or its label says none.

        Raises:
            WrongUsage: there is none of that name, or none whose label gives the nitrogen of a solid.
        """
        (known,) = as_known("material", [name], set(solids))
        if not (n_pct := solids[known]):
            raise WrongUsage(
                f"“{known}” is no solid feed with nitrogen on its label.",
                "Name one whose n_pct the register of materials has.",
            )
        return cls(known, n_pct)


@dataclass(frozen=True)
class Goal:
    """What a season's target asks of one operation.

    Attributes:
        operation: the operation that its amount is put on by.
        low: least that is still open on the whole green: kg of dressing as delivered, or kg of nitrogen; None where it
            cannot be said how much is.
        high: most of it; None where there is no upper end, or ``low`` is none.
        met: whether what is logged reaches the target.
        basis: the target and its source, in words.
        entries: the works that meet it by themselves.
    """

    operation: str
    low: float | None
    high: float | None
    met: bool
    basis: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True)
class Asked:
    """What targets and findings ask for.

    Attributes:
        goals: goals of amounts.
        others: other works.
        single_dose: the most nitrogen at one time, g/m², and who says so.
    """

    goals: tuple[Goal, ...] = ()
    others: tuple[Entry, ...] = ()
    single_dose: tuple[float, str] = (SOLUBLE_N_LIMIT_G_M2, nutrients.ONE_DOSE[0].source)


def from_targets(records: GreenRecords, place: Place, day: date, feed: Feed | None = None) -> Asked:
    """What the targets of a season and what was found ask for from a day on.

    Args:
        records: of the green, for the season that is planned.
        place: the green.
        day: the day from which on it is planned.
        feed: the feed that nitrogen is planned as; None leaves it open, and with it the amount of product.
    """
    season = records.season
    first = max(season.start, day)
    lines = list(due(records, season, day))
    goals: list[Goal] = []
    for what in (dressing.DRESSING, nutrients.NITROGEN.applied):
        operation = _OPERATION[what.name]
        line = next((one for one in lines if one.operation == operation or _at_odds(one, what)), None)
        if line is not None:
            goals.append(_goal(line, operation, records, place, first, feed))
        elif goal := _without_line(records, place, what, operation, first):
            goals.append(goal)
    others = [one for one in lines if not one.operation and not any(_at_odds(one, what) for what in _DESCRIBED)]
    others += _sampled_later(records)
    return Asked(tuple(goals), tuple(_found(one, place, first, season) for one in others), _single_dose(records))


def _sampled_later(records: GreenRecords) -> Iterator[Due]:
    """The sampling that is not due yet, and will be within the season."""
    known = replace(records, as_of=records.last_day)
    if not list(sampling(latest_sample(known), known.as_of)):
        ahead = replace(records, as_of=records.season.end)
        for line in sampling(latest_sample(ahead), ahead.as_of):
            if line.day is not None:
                yield replace(line, by=f"from {long_date(line.day)}", overdue=False)


_DESCRIBED = (dressing.DRESSING, nutrients.NITROGEN.applied)
_OPERATION = {dressing.DRESSING.name: "top_dressing", nutrients.NITROGEN.applied.name: "fertilising"}
_UNIT = {dressing.DRESSING.name: "t", nutrients.NITROGEN.applied.name: "kg"}


def _at_odds(line: Due, what: Description) -> bool:
    """Whether a line says that two targets of this hold alike: it names no operation, but has its amount's unit."""
    return not line.operation and line.unit == _UNIT[what.name]


def _goal(line: Due, operation: str, records: GreenRecords, place: Place, first: date, feed: Feed | None) -> Goal:
    """A line of the due list as a goal, with the works that meet it."""
    basis = f"target: {str(line.why).rstrip('.')}"
    factor = KG_OF_T if line.unit == "t" else 1.0
    low = None if line.low is None else max(line.low, 0.0) * factor
    high = None if line.low is None or line.high is None else line.high * factor
    if operation == "top_dressing":
        entries = [_dressing(line, records, place, (first, records.season.end), (low, high))]
    else:
        entries = list(_doses(line, records, place, first, low, feed))
    return Goal(operation, low, high, met=False, basis=basis, entries=tuple(entries))


def _dressing(
    line: Due, records: GreenRecords, place: Place, days: tuple[date, date], amount: tuple[float | None, float | None]
) -> Entry:
    last = dressing.last_dressed(replace(records, as_of=records.last_day))
    low, high = amount
    work = Planned(
        green=place.green,
        operation="top_dressing",
        first=days[0],
        last=days[1],
        unit="kg",
        size=low,
        material=last.material if last else "",
        basis=f"target: {str(line.why).rstrip('.')}; {line.quantity}" + ("; the lower is planned" if high else ""),
    )
    rate = low * 1000 / place.area_m2 if low is not None and place.area_m2 else None
    return Entry(work, "top_dressing", rate, most=high, lacking="" if low is not None else _lacking(line))


def _lacking(line: Due) -> str:
    """Why the amount of a line is not known, without saying that it is not."""
    return str(line.quantity).removeprefix("not known: ")


def _doses(
    line: Due, records: GreenRecords, place: Place, first: date, low: float | None, feed: Feed | None
) -> Iterator[Entry]:
    """Nitrogen in equal doses, none above the limit of a single one, one after the other over the time of growth."""
    basis = f"target: {str(line.why).rstrip('.')}; {line.quantity}"
    work = Planned(place.green, "fertilising", first, records.season.end, "kg", None,
                   material=feed.material if feed else "", basis=basis)  # fmt: skip
    if low is None or not place.area_m2:
        yield Entry(work, "fertilising", lacking=_lacking(line))
        return
    limit, source = _single_dose(records)
    number = max(1, ceil(low * 1000 / place.area_m2 / limit - NOTHING))
    begins, ends = _growth(place, first, records.season)
    each = low / number
    kg = product_for_nutrient_kg(each, feed.n_pct) if feed else None
    share = each * 1000 / place.area_m2
    told = (
        f"dose {{}} of {number}: {each:.3g} kg N, {share:.2g} g/m², single doses of at most {limit:g} g/m² ({source})"
    )
    if not place.hemisphere:
        told += "; the register has no latitude, so that the time of growth is not known"
    length = (ends - begins).days + 1
    for dose in range(number):
        days = (begins + timedelta(days=length * at // number) for at in (dose, dose + 1))
        start, after = days
        last = max(start, after - timedelta(days=1))
        yield Entry(
            replace(work, first=start, last=last, size=kg, basis=f"{basis}; {told.format(dose + 1)}"),
            "fertiliser",
            rate=kg * 1000 / place.area_m2 if kg else None,
            nitrogen_pct=feed.n_pct if feed else None,
            lacking="" if feed else f"{each:.3g} kg N, and which feed is left open: that × 100 / its N % is its mass",
        )


def _single_dose(records: GreenRecords) -> tuple[float, str]:
    """The most nitrogen at one time, g/m², and who says so."""
    target = target_for(records, nutrients.DOSE)
    if target is not None and target.high and target.unit == nutrients.DOSE.unit:
        return target.high, target.source
    return SOLUBLE_N_LIMIT_G_M2, nutrients.ONE_DOSE[0].source


def _growth(place: Place, first: date, season: Season) -> tuple[date, date]:
    """The days of growth that are still to come in a season; all that is left of it where there are none."""
    if place.hemisphere:
        begin, end = (date.fromisoformat(f"2001-{text}") for text in GROWTH[place.hemisphere])
        for year in (season.end.year, season.start.year):
            last = end.replace(year=year)
            start = begin.replace(year=year if begin < end else year - 1)
            if season.start <= last <= season.end and last >= first:
                return max(start, first), last
    return first, season.end


def _without_line(records: GreenRecords, place: Place, what: Description, operation: str, first: date) -> Goal | None:
    """A target that the due list has no line of: it is met, or the green's area is not known; None without one."""
    target = target_for(records, what)
    if target is None or target.low is None or target.unit != what.unit:
        return None
    ends = f"{target.low:g}" if target.high is None else f"{target.low:g} to {target.high:g}"
    basis = f"target: {ends} {target.unit} ({target.source})"
    if place.area_m2:
        return Goal(operation, 0.0, None, met=True, basis=basis, entries=())
    work = Planned(place.green, operation, first, records.season.end, "kg", None, basis=basis)
    lacking = "the area of the green is not known"
    dressed = operation == "top_dressing"
    rate = target.low * 1000 if dressed else None
    entry = Entry(work, "top_dressing" if dressed else "fertiliser", rate, lacking=lacking)
    return Goal(operation, None, None, met=False, basis=basis, entries=(entry,))


def _found(line: Due, place: Place, first: date, season: Season) -> Entry:
    """A finding that asks for no work of the log: to be looked at, measured or sampled."""
    begins = max(first, line.day) if line.day and line.day <= season.end else first
    work = Planned(
        green=place.green,
        operation="inspection",
        first=begins,
        last=season.end,
        unit="times",
        size=1.0,
        basis=f"{line.what}, {line.by}: {str(line.why).rstrip('.')}",
    )
    return Entry(work, note=f"{line.what}: {line.quantity}.")
