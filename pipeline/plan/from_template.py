"""What a template programme asks of one green in one season: rates over its area, windows of that season."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil

from pipeline.common.words import long_date, often, period
from pipeline.plan.entries import LICENSED_PRACTICE, NOTHING, PUT_ON, Entry, Found, LeftOut, Place, amount, done_in
from pipeline.plan.templates.model import Line, Template
from pipeline.plan.works import HOW_OFTEN, Done, Planned, Unit
from pipeline.workspace.settings import Season
from schemas.codes import fold

NO_AREA = "the area of the green is not known"
NO_RATE = "the template gives no rate"


@dataclass(frozen=True)
class Ahead:
    """The season that is planned, and what is known of it so far.

    Attributes:
        season: the season.
        day: the day from which on it is planned; what lies before it is past.
        done: jobs of the green, of this season and those before it.
    """

    season: Season
    day: date
    done: Sequence[Done] = ()


def fitting(templates: Iterable[Template], place: Place) -> list[tuple[Template, str]]:
    """The templates that hold for a green, each with what the register does not say of it ("" where it says all).

    One made for another shape, construction, half of the earth or grass does not hold.
    """
    found = []
    for one in templates:
        says = (
            ("shape", one.shape, place.shape),
            ("construction", one.construction, place.construction),
            ("latitude", (one.hemisphere,), place.hemisphere),
        )
        if any(asked and has and has not in asked for _, asked, has in says) or not _grows(one, place):
            continue
        unsaid = [what for what, asked, has in says if asked and not has]
        unsaid += ["grasses"] if one.grass and not place.grasses else []
        found.append((one, f"not in the register: {', '.join(unsaid)}" if unsaid else ""))
    return found


def _grows(template: Template, place: Place) -> bool:
    """Whether a template's grass is one of the green's, as far as these are known."""
    if not template.grass or not place.grasses:
        return True
    return any(fold(word) in fold(place.grasses) for word in template.grass)


def clashes(templates: Sequence[Template], season: Season) -> list[tuple[str, str, str]]:
    """Pairs of templates that plan one operation within the same days, with it: they are schools to choose between."""
    found = []
    for at, one in enumerate(templates):
        for other in templates[at + 1 :]:
            shared = {
                mine.operation
                for mine in one.line
                for its in other.line
                if mine.operation == its.operation and _meet(mine.window(season), its.window(season))
            }
            found += [(one.name, other.name, operation) for operation in sorted(shared)]
    return found


def _meet(one: tuple[date, date], other: tuple[date, date]) -> bool:
    return one[0] <= other[1] and other[0] <= one[1]


def from_template(template: Template, place: Place, of: Ahead) -> Found:
    """The works of a template that are still to come on a green, and those left out with the reason."""
    entries, left = [], []
    for line in template.line:
        made = _entry(template, line, place, of)
        if isinstance(made, Entry):
            entries.append(made)
        else:
            left.append(LeftOut(line.operation, f"template {template.name}", made))
    return tuple(entries), tuple(left)


def _entry(template: Template, line: Line, place: Place, of: Ahead) -> Entry | str:
    """The line as a work, or why it is not planned."""
    first, last = line.window(of.season)
    if last < of.day:
        return f"its days are past: {period(first, last)}"
    if why := _not_its_turn(line, of, first):
        return why
    done, perhaps = _done(template, line, of)
    if line.times is not None and line.times - done <= NOTHING:
        return f"done between {long_date(first)} and {long_date(of.day)}"
    times = _times(line, done, (max(first, of.day), last))
    unit = _unit(line)
    low, high, lacking = _size(line, times, place.area_on(first), unit)
    rate = line.rate
    label = line.n_pct if line.n_pct and line.n_pct[0] == line.n_pct[1] else None
    work = Planned(
        green=place.green,
        operation=line.operation,
        first=first,
        last=last,
        unit=unit,
        size=low,
        depth_mm=line.depth_mm[0] if line.depth_mm else None,
        passes=line.passes[0] if line.passes else None,
        basis=_basis(template, line, (low, high), unit, done) + perhaps + _turn(line, of, first),
    )
    return Entry(
        work=work,
        sort=line.sort,
        rate=rate[0] if rate else None,
        rate_unit=rate[2] if rate else "g/m²",
        most=high,
        times=times,
        nitrogen_pct=label[0] if label else None,
        template=template.name,
        lacking=lacking,
        note=_note(line),
        if_needed=line.if_needed,
        cautions=(*template.caution, *((LICENSED_PRACTICE,) if line.pests else ())),
    )


def _done(template: Template, line: Line, of: Ahead) -> tuple[float, str]:
    """How often it is done by the log, and what is said of jobs that may be this work or another of the template.

    A job counts for one work alone: where several of its operation may be meant, it counts for none.
    """
    first, _ = line.window(of.season)
    done = done_in(of.done, line.operation, first, of.day)
    meant = [
        one
        for one in template.line
        if one.operation == line.operation and _meet(one.window(of.season), (first, of.day))
    ]
    if not done or (len(meant) == 1 and line.operation != "inspection"):
        return done, ""
    return 0.0, f"; logged {often(round(done))} from {long_date(first)} on, which may be this work or another"


def _turn(line: Line, of: Ahead, first: date) -> str:
    """Of a work that comes once in several seasons when it came last; "" of any other."""
    if line.every_seasons == 1:
        return ""
    before = [job.last for job in of.done if job.operation == line.operation and job.last < first]
    last = f"last on {long_date(max(before))}" if before else "no earlier one is on record"
    return f"; once in {line.every_seasons} seasons, {last}"


def _not_its_turn(line: Line, of: Ahead, first: date) -> str:
    """Why a work that comes once in several seasons does not come in this one; "" where it does."""
    if line.every_seasons == 1:
        return ""
    before = [job.last for job in of.done if job.operation == line.operation and job.last < first]
    if not before:
        return ""
    latest = max(before)
    seasons = first.year - latest.year
    if seasons >= line.every_seasons:
        return ""
    return f"once in {line.every_seasons} seasons, and last on {long_date(latest)}"


def _times(line: Line, done: float, days: tuple[date, date]) -> float | None:
    """How often it is still to be done, whole times; of so often a week over the days that are left, rounded down.

    None where the template leaves it open.
    """
    if line.times is not None:
        return float(ceil(line.times - done - NOTHING))
    if line.a_week is None:
        return None
    return float(int(line.a_week * ((days[1] - days[0]).days + 1) / 7 + NOTHING)) or 1.0


def _unit(line: Line) -> Unit:
    if line.rate:
        return "l" if line.rate[2] == "ml/m²" else "kg"
    return "kg" if line.operation in PUT_ON else "times"


def _size(line: Line, times: float | None, area_m2: float | None, unit: Unit) -> tuple[float | None, float | None, str]:
    """Lower and upper amount of what is still to be done, and why it is not known."""
    no_rate = NO_RATE if unit != "times" and line.rate is None else ""
    if times is None:
        return None, None, "; ".join(filter(None, [HOW_OFTEN, no_rate]))
    if unit == "times":
        return times, None, ""
    if line.rate is None:
        return None, None, no_rate
    low, high = amount(line.rate, times, area_m2)
    return low, high, NO_AREA if low is None else ""


def _basis(template: Template, line: Line, size: tuple[float | None, float | None], unit: Unit, done: float) -> str:
    """Why it is planned, in words: the template and the source; a range with both its ends; what is done already."""
    said = f"template {template.name}: {template.source_of(line)}"
    if rate := line.rate:
        low, high, per = rate
        span = f"{_figure(low)} {per}" if high - low <= NOTHING else f"{_figure(low)} to {_figure(high)} {per}"
        said += f"; {span}"
        if line.amount_kg and line.of_m2:
            said += f", of {_figure(line.amount_kg[0])} kg on {line.of_m2:,.0f} m² there"
        if size[0] is not None and size[1] is not None:
            said += f": {_mass(size[0], unit)} to {_mass(size[1], unit)}; the lower is planned"
    if done and line.times:
        said += f"; {done:g} of {line.times} {'is' if done == 1 else 'are'} done"
    return said


def _note(line: Line) -> str:
    """What stands beside the line: what a work's own fields have no place for."""
    parts = [f"{line.material[:1].upper()}{line.material[1:]}."] if line.material else []
    if line.cut_height_mm:
        parts.append(f"Height of cut {_range(line.cut_height_mm)} mm.")
    if line.tine_mm:
        at = f" at {line.spacing_mm:g} mm" if line.spacing_mm else ""
        parts.append(f"Tines of {_range(line.tine_mm)} mm{at}.")
    if line.n_pct and line.p_pct and line.k_pct:
        parts.append(f"N-P-K {_range(line.n_pct)}-{_range(line.p_pct)}-{_range(line.k_pct)}.")
    if line.if_needed:
        parts.append("Only where the green needs it.")
    return " ".join([*parts, *([line.note] if line.note else [])])


def _range(ends: tuple[float, float]) -> str:
    return f"{ends[0]:g}" if ends[0] == ends[1] else f"{ends[0]:g} to {ends[1]:g}"


def _figure(value: float) -> str:
    return f"{value:,.4g}" if value < 1000 else f"{value:,.0f}"


def _mass(value: float, unit: Unit) -> str:
    return f"{value / 1000:.3g} t" if unit == "kg" and value >= 1000 else f"{value:,.4g} {unit}"
