"""The account of a green from its records: a season as its log gives it, the one before, plans, and the budget.

The one home of which jobs a season's sums count and what they lack, whatever document prints them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pipeline.common.words import counted
from pipeline.indicators.base.at_least import belongs, late_words
from pipeline.indicators.base.green_records import JOB_OF_LINE, GreenRecords
from pipeline.indicators.base.programmes import season_on
from pipeline.indicators.base.standing import own_target, quarrel, unit_name
from pipeline.indicators.works.works import COST, COST_M2
from pipeline.plan.account import Account, Budget, Priced, SeasonCost, plan_cost, season_cost
from pipeline.plan.rates import exact
from pipeline.plan.together import Together
from pipeline.plan.works import Done, Planned, of_season


def green_account(
    own: GreenRecords, logs: tuple[SeasonCost, SeasonCost], plans: Sequence[Planned], priced: Priced
) -> Account:
    """The account of a green.

    Args:
        own: records of the green in the season asked for.
        logs: that season and the one before, as logged.
        plans: of the green, of that season and the one after at least.
        priced: what works are priced by.
    """
    green, span = own.green["green"], own.season
    following = season_on(span, 1)
    return Account(
        green,
        own.names["green_name"],
        (green,),
        *logs,
        plan_cost(span.name, of_season(plans, span), priced),
        plan_cost(following.name, of_season(plans, following), priced),
        _budget(own),
    )


def logged_seasons(
    each: Sequence[GreenRecords], jobs: Mapping[str, Sequence[Done]], priced: Priced
) -> Iterator[SeasonCost]:
    """Of each green the jobs that a document of its season counts, and what of the log it would name as missing."""
    of = Together([one.counting for one in each])
    counts: dict[int, set[tuple[Any, ...]]] = {}
    for number, *key in of.in_season(of.jobs).select("of", *JOB_OF_LINE).iter_rows():
        counts.setdefault(number, set()).add(tuple(key))
    for number, own in enumerate(each):
        keys, logged = counts.get(number, set()), jobs.get(own.green["green"], [])
        mine = [one for one in logged if _key(one) in keys]
        so_far = own.as_of < own.season.end
        yield season_cost(own.season.name, own.as_of, mine, priced, so_far=so_far, short=_short(own))


def _key(job: Done) -> tuple[Any, ...]:
    assert job.place is not None, "a job of the log has a line"
    return (job.place.load_id, job.place.line, job.operation, job.material or None)


def _short(own: GreenRecords) -> str:
    """What of the log the sums of a season lack, as the figures of the season say it."""
    parts = [late_words(own.log_begins, own.season.start)] if own.log_begins else []
    if rows := [row for row in own.rows_left_out[COST.day_needed] if belongs(row, COST)]:
        verb = "is" if len(rows) == 1 else "are"
        parts.append(f"{counted(len(rows), 'entry', 'entries')} that may belong to it {verb} not in it")
    return "; ".join(parts)


def _budget(own: GreenRecords) -> Budget:
    """What a season may cost: the upper end of a target of its cost, or of its cost a square metre over the area.

    The area is that of the last day that counts.
    """
    green, currency = own.green["green"], own.settings.currency
    for what in (COST, COST_M2):
        if said := quarrel(own, what.name):
            return Budget(why=said)
        target = own_target(own, what.name)
        if target is None:
            continue
        per = what.unit.partition("/")[2]
        if unit_name(target.unit) != unit_name(f"{currency}/{per}" if per else currency):
            return Budget(
                why=f"the target of {what.label.lower()} is in {target.unit}, and money is kept in {currency}"
            )
        if target.high is None:
            return Budget(why=f"the target of {what.label.lower()} ({target.source}) has no upper end")
        area = own.area_m2 if per else 1.0
        if not area:
            return Budget(why=f"the target is a square metre's, and the area of {green} is not recorded")
        return Budget(exact(target.high) * exact(area), target.source)
    return Budget()
