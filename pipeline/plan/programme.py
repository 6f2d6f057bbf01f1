"""A green's programme for a season: what templates, targets and last season's works ask for, no work planned twice.

Three rules part them:

- An operation that last season's works hold is planned from these alone; a template adds the operations they lack.
- Of dressing and nitrogen a target has the last word on how much. A template, or last season's works, say when: within
  the target their amounts stand, else all of them are made smaller or larger alike, up to the end that they missed. By
  itself, a target plans its lower end.
- Two templates that plan one operation within the same days are schools to choose between: they are refused together.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import fsum

from pipeline.common.refusal import WrongUsage
from pipeline.plan.entries import NOTHING, Entry, LeftOut, Logged, Place, by_day
from pipeline.plan.from_last import LAST, from_last
from pipeline.plan.from_targets import Asked, Goal
from pipeline.plan.from_template import Ahead, clashes, fitting, from_template
from pipeline.plan.templates.model import Part, Template
from pipeline.plan.works import NOT_SMALLER, closing_words
from pipeline.workspace.settings import Season

PARTS: dict[Part, str] = {
    "year": "whole year",
    "spring": "spring start-up",
    "season": "in season",
    "feeding": "feeding",
    "autumn": "autumn renovation",
    "winter": "winter",
}
"""Parts of the year in words, in the order in which they are offered."""


REGISTER = "the register of greens"
ONE_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Programme:
    """What is planned for one green in one season.

    Attributes:
        name: name of the programme; that of its season.
        place: the green.
        season: the season.
        day: the day from which on it is planned.
        entries: its lines, by day.
        left_out: what its sources ask for and is not planned, and why.
    """

    name: str
    place: Place
    season: Season
    day: date
    entries: tuple[Entry, ...]
    left_out: tuple[LeftOut, ...] = ()

    @property
    def cautions(self) -> tuple[str, ...]:
        """Cautions of its lines, each once."""
        every = (text for one in self.entries for text in (*one.cautions, one.work.caution))
        return tuple(dict.fromkeys(filter(None, every)))


@dataclass(frozen=True)
class Sources:
    """What a programme is made from.

    Attributes:
        templates: template programmes.
        asked: what targets and findings ask for; None where they are left aside.
        last: works of the season before; None likewise.
        done: every job of the green, of this season and those before it.
        registered: names of materials in the register; None where that is not asked.
    """

    templates: Sequence[Template] = ()
    asked: Asked | None = None
    last: Sequence[Logged] | None = None
    done: Sequence[Logged] = ()
    registered: Collection[str] | None = None


def programme(place: Place, season: Season, day: date, sources: Sources) -> Programme:
    """The programme of a green for what is still to come of a season.

    Raises:
        WrongUsage: two of the templates plan one operation within the same days.
    """
    holding = [one for one, _ in fitting(sources.templates, place)]
    refuse_clashes(holding, season)
    of = Ahead(season, day, tuple(job.done for job in sources.done))
    entries, left = from_last(sources.last or (), place, season, day)
    again = {one.work.operation for one in entries}
    for template in sources.templates:
        if template not in holding:
            left += (LeftOut("every work", f"template {template.name}", "it is made for another kind of green"),)
            continue
        fresh, out = from_template(template, place, of)
        left += out
        entries += tuple(one for one in fresh if one.work.operation not in again)
        left += tuple(
            LeftOut(one.work.operation, f"template {template.name}", f"planned from {LAST}")
            for one in fresh
            if one.work.operation in again
        )
    if sources.asked:
        for goal in sources.asked.goals:
            entries, out = _towards(goal, entries, place, sources.asked.single_dose)
            left += out
        entries += sources.asked.others
    named = (_told(one, season.name, sources.registered) for one in entries)
    return Programme(season.name, place, season, day, by_day(named), left)


def up_to_closing(made: Programme, closed: date | None, by: date | None) -> Programme:
    """The programme of a green that is given up within its season: works up to that day, and that it ends there.

    Args:
        made: the programme of the whole season.
        closed: the first day on which the green may be given up; None where it is played on.
        by: the last such day, where only a month or a year is known.
    """
    if closed is None or closed > made.season.end:
        return made
    why = closing_words(closed, by)
    stay = tuple(one for one in made.entries if one.work.first < closed)
    ends = tuple(replace(one, work=replace(one.work, last=min(one.work.last, closed - ONE_DAY))) for one in stay)
    said = f"{why}: its programme ends before that day, and {NOT_SMALLER}"
    out = (_left(one, why) for one in made.entries if one.work.first >= closed)
    return replace(made, entries=ends, left_out=(*made.left_out, LeftOut("what comes later", REGISTER, said), *out))


def _told(one: Entry, name: str, registered: Collection[str] | None) -> Entry:
    """The line under the programme's name; what neither an amount, a rate nor a material is told of counts as times."""
    unregistered = registered is not None and bool(one.work.material) and one.work.material not in registered
    work = replace(one.work, programme=name, times=one.times, unregistered=unregistered)
    if work.size is None and one.rate is None and not work.material:
        work = replace(work, unit="times", size=one.times)
    if work.size is None:
        work = replace(work, unsized=one.lacking or "no amount is given")
    return replace(one, work=work)


def refuse_clashes(templates: Sequence[Template], season: Season) -> None:
    """Refuse templates that plan one operation within the same days.

    Raises:
        WrongUsage: with the first pair of them.
    """
    for one, other, operation in clashes(templates, season):
        raise WrongUsage(
            f"Templates {one} and {other} both plan {operation.replace('_', ' ')} within the same days.",
            "Keep one of the two: they are schools that differ, and a work is planned once.",
        )


Schools = dict[Part, list[tuple[Template, str]]]
"""Templates by part of the year, each with what the register does not say of the green."""


def schools(templates: Sequence[Template], place: Place) -> Schools:
    """The templates that hold for a green by part of the year, each with what the register does not say of it."""
    found = fitting(templates, place)
    by_part = {part: [one for one in found if one[0].part == part] for part in PARTS}
    return {part: ones for part, ones in by_part.items() if ones}


def _towards(
    goal: Goal, entries: tuple[Entry, ...], place: Place, single_dose: tuple[float, str]
) -> tuple[tuple[Entry, ...], tuple[LeftOut, ...]]:
    """The lines, those of a target's operation brought to the target, and those that it takes the place of."""
    own = [one for one in entries if one.work.operation == goal.operation]
    if not own:
        return (*entries, *goal.entries), ()
    rest = tuple(one for one in entries if one.work.operation != goal.operation)
    if goal.met:
        return rest, tuple(_left(one, f"{goal.basis}, which is met by what is logged") for one in own)
    if goal.low is None:
        said = f"{goal.basis}; how much of it is open is not known, so that this amount stands"
        return (*rest, *(one.also(said) for one in own)), ()
    if goal.operation == "top_dressing":
        made, out = _brought(goal, own, [_kg(one) for one in own], "kg", place)
        return (*rest, *made), out
    return _fed(goal, entries, place, single_dose)


def _fed(
    goal: Goal, entries: tuple[Entry, ...], place: Place, single_dose: tuple[float, str]
) -> tuple[tuple[Entry, ...], tuple[LeftOut, ...]]:
    """The lines, feeds brought to a target of nitrogen; what bears none stands."""
    own = [one for one in entries if one.work.operation == goal.operation and one.nitrogen_pct != 0]
    if not own:
        return (*entries, *goal.entries), ()
    rest = tuple(one for one in entries if one not in own)
    if any(one.nitrogen_pct is None or one.work.unit != "kg" for one in own):
        said = f"{goal.basis}: {_span(goal, 'kg N')} are open. Not every feed here has a mass and an N %, so that none "
        return (*rest, *(one.also(f"{said}is held against it") for one in own)), ()
    made, out = _brought(goal, own, [_nitrogen_kg(one) for one in own], "kg N", place)
    return (*rest, *(_dosed(one, place, single_dose) for one in made)), out


def _brought(
    goal: Goal, own: Sequence[Entry], amounts: Sequence[float | None], unit: str, place: Place
) -> tuple[tuple[Entry, ...], tuple[LeftOut, ...]]:
    """Lines with amounts in this unit, brought between the ends of a target.

    Lines without an amount of their own take even parts of what the others leave open of its lower end; of these, ones
    that are done only where the green needs it take nothing as long as there are others.
    """
    assert goal.low is not None, "nothing is brought to a target that is not known"
    known = [(one, amount) for one, amount in zip(own, amounts, strict=True) if amount is not None]
    total = fsum(amount for _, amount in known)
    bare = [one for one, amount in zip(own, amounts, strict=True) if amount is None]
    takers = [one for one in bare if not one.if_needed] or ([] if known else bare)
    if takers and goal.low - total > NOTHING:
        even = [_even(one, goal, (goal.low - total, unit, len(takers)), place) for one in takers]
        said = f"counts towards {goal.basis}: {_span(goal, unit)} are open"
        stands = [one.also(said) for one, _ in known]
        return (*stands, *even), tuple(_left(one, _REACHED.format(goal.basis)) for one in bare if one not in takers)
    out = tuple(_left(one, _REACHED.format(goal.basis)) for one in bare)
    end = goal.low if total < goal.low - NOTHING else goal.high if goal.high and total > goal.high + NOTHING else total
    if end == total:
        said = f"within {goal.basis}: {_span(goal, unit)} are open"
        return tuple(one.also(said) for one, _ in known), out
    said = f"{total:,.4g} {unit} brought to {end:,.4g} {unit} in all by {goal.basis}"
    return tuple(one.scaled(end / total, said) for one, _ in known), out


_REACHED = "{}, which the other lines reach"
AT_ONCE = "; how often is left open: all of it is planned at once"
"""Of a line whose amount a target gives, and whose source does not say in how many doses."""


def _even(one: Entry, goal: Goal, rest: tuple[float, str, int], place: Place) -> Entry:
    """A line without an amount of its own, with an even part of what is left of a target: amount, unit, and parts."""
    left, unit, number = rest
    share = 1.0 if unit == "kg" else (one.nitrogen_pct or 0.0) / 100
    size = left / number / share
    area = place.area_on(one.work.first)
    rate = size * 1000 / area / (one.times or 1.0) if area else None
    part = "" if number == 1 else f", one part of {number}"
    work = replace(one.work, unit="kg", size=size)
    said = f"{left / number:,.4g} {unit}{part}, by {goal.basis}{AT_ONCE if one.times is None else ''}"
    return replace(one, work=work, rate=rate, rate_unit="g/m²", times=one.times or 1.0, lacking="").also(said)


def _kg(one: Entry) -> float | None:
    return one.work.size if one.work.unit == "kg" else None


def _nitrogen_kg(one: Entry) -> float | None:
    """Nitrogen of a line, kg; None where its amount or its label is not known, or it is in litres."""
    if one.work.size is None or one.nitrogen_pct is None or one.work.unit != "kg":
        return None
    return one.work.size * one.nitrogen_pct / 100


def _dosed(one: Entry, place: Place, single_dose: tuple[float, str]) -> Entry:
    """The line, with a caution where it puts on more nitrogen at one time than a single dose may hold."""
    limit, source = single_dose
    nitrogen, area = _nitrogen_kg(one), place.area_on(one.work.first)
    if nitrogen is None or not area:
        return one
    dose = nitrogen * 1000 / area / (one.times or 1.0)
    if dose <= limit + NOTHING:
        return one
    said = f"{dose:.3g} g/m² of nitrogen at one time; at most {limit:g} g/m² of soluble nitrogen ({source})."
    return replace(one, cautions=(*one.cautions, said))


def _span(goal: Goal, unit: str) -> str:
    assert goal.low is not None, "no ends of what is not known"
    return f"{goal.low:,.4g}{f' to {goal.high:,.4g}' if goal.high else ''} {unit}"


def _left(one: Entry, why: str) -> LeftOut:
    return LeftOut(one.work.operation, f"template {one.template}" if one.template else LAST, why)
