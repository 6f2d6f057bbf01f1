"""What targets ask of a green next, with quantities, less what is logged and what a programme covers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from math import fsum

from pipeline.agronomy import dressing as formula
from pipeline.agronomy.dressing import MOST_YEAR_MM
from pipeline.agronomy.soil import nutrients as feed
from pipeline.agronomy.soil.nutrients import SOLUBLE_N_LIMIT_G_M2
from pipeline.common.amounts import T_PLACES, Amount, AmountText, Source, span
from pipeline.common.words import counted, long_date
from pipeline.indicators.base.at_least import belongs
from pipeline.indicators.base.description import Description
from pipeline.indicators.base.green_records import LATE_LOG_DAYS, GreenRecords
from pipeline.indicators.base.green_season import Due
from pipeline.indicators.base.programmes import season_on
from pipeline.indicators.base.rows import Row
from pipeline.indicators.base.standing import quarrel, target_for
from pipeline.indicators.feeding import nutrients
from pipeline.indicators.works import dressing
from pipeline.plan.beyond import NOTHING_PLANNED, Covered, Open, beyond, is_covered, less
from pipeline.plan.due_again import next_feed, sampling
from pipeline.plan.due_facts import Facts, Logged, facts, of_season
from pipeline.plan.works import NOT_SMALLER, closing_words
from pipeline.workspace.settings import Season
from schemas.codes import fold

OF_AMOUNTS = ("dose.high",)
"""Warnings that ask about the amount a job put on: until they are settled, what is left of a target is not known."""
KG_HA_OF_G_M2 = 10.0
DENSEST_T_M3 = 1.6
"""Dry bulk density of sand at its upper end, t/m³ (published figures lie between 1.5 and 1.6)."""
MOST_DRESSING_KG_M2 = MOST_YEAR_MM * DENSEST_T_M3
"""Dressing that a green takes in a season at most, kg/m² dry."""
MOST_NITROGEN_KG_HA = 12 * SOLUBLE_N_LIMIT_G_M2 * KG_HA_OF_G_M2
"""Nitrogen that a green takes in a season at most, kg/ha: the largest single dose in each of twelve months (common
practice, no source)."""
MORE_THAN_IT_TAKES = "not ordered: more than a green takes in a season"
NOTHING_OPEN = 1e-9
"""A remainder of a target below this, in its unit, is what rounding left of nothing."""


def season_due(season: Season, day: date) -> Season:
    """The season that can still be added to on a day: the one given, or the first after it that is not over."""
    while season.end <= day:
        season = season_on(season, 1)
    return season


def due(
    records: GreenRecords,
    season: Season,
    day: date,
    planned: Mapping[str, Covered] = NOTHING_PLANNED,
    made: Facts | None = None,
) -> Iterator[Due]:
    """What targets and last works ask of a green, most weighty first: the one place that knows it, whoever asks.

    What a season asks for is its own targets less everything logged in it. That holds whatever season the document is
    of, so that two documents cannot name two amounts for one green and season. What follows on the last feed or sample
    counts from the last on record, for what was done since is not overdue.

    Args:
        records: of the green, with everything logged, also after ``as_of``.
        season: the season whose targets are to be met.
        day: the day the document speaks of; it decides only how "by when" is said.
        planned: what a programme is still to put on in that season, by operation: a target asks for what is beyond it.
        made: what the records come to in that season, where it was worked out with that of other greens.
    """
    asked = of_season(records, season)
    made = made or facts([records], [season])[0]
    known = replace(records, as_of=records.last_day)
    by, until = _by(season, day, records.last_day)
    at_odds = _at_odds(asked, by, until)
    covered = {name: planned.get(name) for name in ("top_dressing", "fertilising")}
    dressed = _dressing(asked, made, (by, until), covered["top_dressing"])
    fed = _nitrogen(asked, made, (by, until), covered["fertilising"])
    for line in (*at_odds, *dressed, *fed):
        yield _dated(line, records, season)
    yield from next_feed(known, made)
    yield from sampling(made.sampled, known.as_of)
    if not made.timed:
        yield Due("Time bowls", "at least 4 bowls a rink", "in play season", "No green speed was recorded this season.")


def _by(season: Season, day: date, last: date) -> tuple[str, date | None]:
    """By when, in words and as a day; a season that had not begun is named, a day before the last on record marked."""
    if season.end < last:
        return f"by {long_date(season.end)} (passed)", season.end
    if season.start > day:
        return f"season {season.name}", None
    return f"by {long_date(season.end)}", season.end


def _dated(line: Due, records: GreenRecords, season: Season) -> Due:
    """The line of a season's target: overdue where the season is over; the day it counts to, where that is far on.

    Of a green that is given up within the season it says that the target is that of the whole season.
    """
    line = replace(line, overdue=season.end < records.last_day)
    closed = records.green.get("closed_on")
    if closed is not None and season.start < closed <= season.end:
        why = closing_words(closed, records.green.get("closed_by"))
        line = replace(line, why=AmountText(line.why, f" {why[:1].upper()}{why[1:]}: {NOT_SMALLER}."))
    if line.applied or season.start <= season_on(records.season, 1).start:
        return line
    return replace(line, why=AmountText(line.why, f" As the records stood on {long_date(records.last_day)}."))


def _at_odds(asked: GreenRecords, by: str, until: date | None) -> Iterator[Due]:
    """What two targets ask for that hold alike: some of it may be due, and how much is not known."""
    of_season = (("Top dressing", dressing.DRESSING, "t"), ("Nitrogen", nutrients.NITROGEN.applied, "kg"))
    for what, described, unit in of_season:
        if why := quarrel(asked, described.name):
            yield Due(what, "not known: two targets hold alike", by, why, until, unit=unit)


def _unlogged(asked: GreenRecords, made: Facts) -> bool:
    """Whether no job of the season is logged of the green, nor rejected, and it has run long enough for one."""
    begun = (asked.last_day - asked.season.start).days > LATE_LOG_DAYS
    return begun and not made.any_job and all(row["kind"] != "job" for row in made.outside)


def _open(asked: GreenRecords, what: Description, made: Facts, log: Logged) -> Open | None:
    """What is still open of a season's target.

    None where no target of this unit has a lower end, or where what is logged reaches it beyond question.

    Args:
        asked: of the green and the season whose target it is.
        what: the indicator that has the target.
        made: what the records come to.
        log: what the log of the season says towards the target.
    """
    target = target_for(asked, what)
    if target is None or target.low is None or fold(target.unit) != fold(what.unit):
        return None
    applied = log.applied or 0.0
    questioned = asked.under_warning(log.rows, *OF_AMOUNTS)
    if target.low - applied <= NOTHING_OPEN and not questioned:
        return None
    high = None if target.high is None else target.high - applied
    read_to = min(asked.last_day, asked.season.end)
    doubts = asked.under_warning(log.rows) + sum(belongs(row, what) for row in made.outside)
    logged = what is dressing.DRESSING and asked.options.dressing_logged == "all"
    return Open(
        target.low - applied,
        high,
        applied,
        log.uncounted,
        questioned,
        doubts,
        read_to,
        target.source,
        target.passed_over,
        not logged and _unlogged(asked, made),
    )


def _dressing(
    asked: GreenRecords, made: Facts, when: tuple[str, date | None], planned: Covered | None
) -> Iterator[Due]:
    (by, until), rows, last = when, made.dressed.rows, made.last_dressing
    todo = _open(asked, dressing.DRESSING, made, made.dressed)
    if todo is None or not asked.area_m2:
        return
    material, moist = (last.material, last.delivered_of_dry) if last else ("", None)
    part = asked.area_m2 / 1000
    whole, todo = todo, beyond(todo, planned)
    ordered = _times(todo, part * (moist or 1.0), "t")
    if (too_much := _too_much(whole, MOST_DRESSING_KG_M2, "kg/m²")) and not (todo.questioned or todo.uncounted):
        why = AmountText(_why(whole, _rate(whole, "kg/m²", ".2g", carries=2)), too_much)
        yield Due("Top dressing", MORE_THAN_IT_TAKES, by, why, until, unit="t", operation="top_dressing")
        return
    if is_covered(whole, todo, part):
        return
    beside = AmountText(" (", _times(todo, part, "t"), " dry)") if moist else ", moisture not known,"
    quantity = AmountText(ordered, " as delivered", beside, " on ", Amount(asked.area_m2, "m²", ",.0f"))
    on = _delivered(todo.applied * part, rows) if todo.applied else 0.0
    if todo.applied:
        quantity = AmountText(quantity, " (", _dressed(on, todo.applied * part, rows), ")")
    why = AmountText(_why(whole, _rate(whole, "kg/m²", ".2g", carries=2)), _of_dry(moist, rows), _area_said(asked))
    line = Due(
        f"Top dressing, {material}" if material else "Top dressing",
        quantity,
        by,
        why,
        until,
        unit="t",
        basis="as delivered" if moist else "as delivered, moisture not known",
        operation="top_dressing",
        material=material,
    )
    whole_t = AmountText(Amount(whole.low * part * (moist or 1.0), "t", ".1f"))
    yield less(_counted(line, todo, (part * (moist or 1.0), on), asked.season, "dressing"), planned, whole_t)


def _area_said(asked: GreenRecords) -> str:
    """By which of its areas a green's amounts are, where it changed within the season; "" where it did not."""
    areas, season = asked.areas, asked.season
    if not asked.area_m2 or not any(day and season.start < day <= season.end for day, _ in areas):
        return ""
    since = [day for day, area in areas if area == asked.area_m2][-1:]
    when = f"from {long_date(since[0])} on" if since and since[0] else "at first"
    area = Amount(asked.area_m2, "m²", ",.0f")
    return AmountText(" The green's area changed within the season: amounts are by ", area, f", its area {when}.")


def _delivered(dry_t: float, rows: Sequence[Row]) -> float:
    """What a dry mass of these dressings was as delivered, t: what the log says of them."""
    given, dry = (fsum(row[name] for row in rows if row[name] is not None) for name in ("given_kg", "dry_kg"))
    return dry_t * given / dry


def _dressed(delivered_t: float, dry_t: float, rows: Sequence[Row]) -> AmountText:
    """What is on already: as it was delivered, for that stands in the log, and dry where its moisture is known.

    Args:
        delivered_t: mass on the green as delivered, t.
        dry_t: the same less its moisture, as far as that is known, t.
        rows: the dressings it is of.
    """
    said = AmountText(Amount(delivered_t, "t", ",.3g", carries=T_PLACES), " already applied")
    if not any(row["dried"] for row in rows):
        return said
    how = " dry" if all(_dried(rows)) else " less the moisture known"
    return AmountText(said, ", ", Amount(dry_t, "t", ",.3g", carries=T_PLACES), how)


def _dried(rows: Sequence[Row]) -> list[bool]:
    """Of dressings whose dry mass is known, whether moisture was taken off."""
    return [row["dried"] for row in rows if row["dry_kg"] is not None]


def _of_dry(moist: float | None, rows: Sequence[Row]) -> str:
    """That a line's rates are of dry mass, "" where no moisture is known."""
    every = _dried(rows)
    if moist and all(every):
        return " Rates are of dry mass."
    return " Rates are of dry mass where moisture is known." if moist or any(every) else ""


def _nitrogen(
    asked: GreenRecords, made: Facts, when: tuple[str, date | None], planned: Covered | None
) -> Iterator[Due]:
    by, until = when
    todo = _open(asked, nutrients.NITROGEN.applied, made, made.fed)
    if todo is None or not asked.area_m2:
        return
    whole, todo = todo, beyond(todo, planned)
    rate = _rate(whole, "kg/ha", ".0f")
    why = AmountText(_why(whole, rate), " Growth, colour and the label decide each dose.", _area_said(asked))
    if (too_much := _too_much(whole, MOST_NITROGEN_KG_HA, "kg/ha")) and not (todo.questioned or todo.uncounted):
        yield Due(
            "Nitrogen", MORE_THAN_IT_TAKES, by, AmountText(why, too_much), until, unit="kg", operation="fertilising"
        )
        return
    part = asked.area_m2 / 10_000
    if is_covered(whole, todo, part):
        return
    quantity = AmountText(_times(todo, part, "kg"), " N")
    if todo.applied:
        quantity = AmountText(quantity, " (", Amount(todo.applied * part, "kg", ",.1f"), " already applied)")
    if not todo.questioned:
        quantity = AmountText(quantity, _as_product(asked, made.solid, todo.low))
    line = Due("Nitrogen", quantity, by, why, until, unit="kg", operation="fertilising")
    counts = _counted(line, todo, (part, todo.applied * part), asked.season, "feed")
    yield less(counts, planned, AmountText(Amount(whole.low * part, "kg", ".1f"), " N"))


def _too_much(todo: Open, most: float, unit: str) -> str:
    """What to look at where a target asks for more than a green takes in a season; "" where it does not."""
    if todo.low <= most:
        return ""
    about = Amount(most, unit, ".0f")
    return AmountText(" A green takes at most about ", about, " in a season: check the target, its unit and the log.")


def _times(todo: Open, part: float, unit: str) -> AmountText:
    """What is open over the whole green; ``part`` is its area in the unit that turns the rate into this unit."""
    return span(todo.low * part, None if todo.high is None else todo.high * part, unit, ".1f")


def _counted(line: Due, todo: Open, numbers: tuple[float, float], season: Season, job: str) -> Due:
    """The line with its numbers, but where nothing is logged, or a job gives no amount or one that is to be checked.

    Counted as nothing, it would be asked for twice; a slip of twenty for two would leave nothing to be asked for.

    Args:
        line: the line in words.
        todo: what is open.
        numbers: what turns its rate into the line's unit, and what is applied in that unit.
        season: the season it is due in.
        job: what a job of it is called.
    """
    if todo.unlogged:
        return replace(line, quantity=f"not known: no job of season {season.name} is logged")
    if not todo.uncounted and not todo.questioned:
        part, applied = numbers
        high = None if todo.high is None else todo.high * part
        return replace(line, low=todo.low * part, high=high, applied=applied)
    if not todo.uncounted:
        entries = counted(todo.questioned, f"{job} entry", f"{job} entries")
        lacking = f"not known: {entries} of season {season.name} to be checked first"
        return replace(line, quantity=lacking, waits=True)
    give, those = ("gives", "that") if todo.uncounted == 1 else ("give", "those")
    lacking = f"not known: {counted(todo.uncounted, job)} of season {season.name} {give} no amount"
    return replace(line, quantity=lacking, why=AmountText(line.why, f" What {those} put on comes off it."))


def _rate(todo: Open, unit: str, form: str, carries: int | None = None) -> AmountText:
    """What is still open as a rate; the whole target where what is logged is in question."""
    done = todo.applied if todo.questioned else 0.0
    return span(todo.low + done, None if todo.high is None else todo.high + done, unit, form, carries=carries)


def _why(todo: Open, rate: AmountText) -> AmountText:
    """The target; where something of it is logged what is left, and the day to which the log was read."""
    over = f" {todo.passed_over}" if todo.passed_over else ""
    of = AmountText(rate, " (", Source(todo.source), ").")
    if todo.questioned:
        return AmountText("Target ", of, f" What is logged of it to {long_date(todo.read_to)} rests "
                          f"on an entry under a warning.{over}")  # fmt: skip
    check = (" An entry of it is to be checked first." if todo.asked_about else "") + over
    if todo.unlogged:
        return AmountText("Target ", of, f" Whether anything was done of it to "
                          f"{long_date(todo.read_to)} is not known.{check}")  # fmt: skip
    if not todo.applied:
        return AmountText("Target ", of, check)
    return AmountText("Still open: ", of, f" Logged to {long_date(todo.read_to)}.{check}")


def _as_product(asked: GreenRecords, last: Row | None, open_kg_ha: float) -> str:
    """The lower figure in packs of the solid feed last used, "" where none can be named.

    None is named for more than one dose may hold: a season's nitrogen bought as one autumn feed is a wrong order, and
    put on at once too much.

    Args:
        asked: of the green and the season whose target it is.
        last: the solid feed last used; None where there is none.
        open_kg_ha: the lower figure, kg/ha.
    """
    limit = target_for(asked, nutrients.DOSE)
    if limit is None or limit.high is None or fold(limit.unit) != fold(nutrients.DOSE.unit) or not asked.area_m2:
        return ""
    if open_kg_ha / KG_HA_OF_G_M2 - limit.high > NOTHING_OPEN:
        return ""
    nitrogen_kg = open_kg_ha * asked.area_m2 / 10_000
    if last is None:
        return ""
    kg = feed.product_for_nutrient_kg(nitrogen_kg, last["n_pct"])
    packs: str = ""
    if last["pack_kg"]:
        number = int(formula.packs(kg, last["pack_kg"]))
        packs = AmountText(f" ({counted(number, 'pack')} of ", Amount(last["pack_kg"], "kg"), ")")
    return AmountText(
        "; the lower would be ",
        Amount(kg, "kg", ",.0f"),
        f" of {last['material']}",
        packs,
        " if all of it came as that",
    )
