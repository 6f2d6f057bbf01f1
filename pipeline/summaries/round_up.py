"""All greens of all clubs in one season, put together for the contractor."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, timedelta

from pipeline.common.grouped import grouped
from pipeline.common.words import long_date, period
from pipeline.indicators.base.green_season import Due, GreenSeason, Indicator, Running
from pipeline.summaries.changes import tested
from pipeline.summaries.club_season import (
    KEY_FIGURES,
    Behind,
    Effort,
    Gap,
    GreenLine,
    KeyFigure,
    RoundUp,
    SharedDue,
    WorkedOn,
)
from pipeline.summaries.effort import by_operation, effort, place_of, records_of, total_effort

TOTAL_OF = {"Top dressing": "dressing_kg_m2", "Nitrogen": "nitrogen_kg_ha"}
"""Running totals and the indicator that is their sum."""
LAG = 0.1
"""A total is behind once it lags its plan by more than this share of the season's goal: common practice, no source."""
SOIL_SEASONS = 2
"""Seasons, this one included, within which a soil test is looked for: common practice, no source."""


def round_up(lines: Iterable[GreenLine], like: GreenSeason) -> RoundUp:
    """The round-up of all greens.

    Args:
        lines: a line a green.
        like: any of the greens: its season, currency and look are those of the round-up.
    """
    greens = tuple(sorted(lines, key=lambda line: (line.club_name, line.club, line.green)))
    return RoundUp(
        season=like.season,
        season_start=like.season_start,
        season_end=like.season_end,
        as_of=max((line.as_of for line in greens), default=like.as_of),
        currency=like.currency,
        greens=greens,
        due=tuple(_shared_due(greens)),
        clubs=tuple(_clubs(greens)),
        operations=tuple(_operations(greens)),
        total=total_effort(line.effort for line in greens),
        known_to=max((line.known_to for line in greens if line.known_to), default=None),
        look=like.look,
    )


def green_line(one: GreenSeason) -> GreenLine:
    """What the round-up says of one green."""
    last = max((work.date for work in one.works), default=None)
    behind = sorted(_behind(one), key=lambda lag: (-lag.share, lag.what))
    return GreenLine(
        green=one.green,
        green_name=one.green_name,
        club=one.club,
        club_name=one.club_name,
        region=one.region,
        area_m2=one.area_m2,
        as_of=one.as_of,
        last_visit=one.latest.job or last,
        last_visit_to=one.latest.job_to,
        known_to=one.known_to,
        days_worked=len({work.date for work in one.works if not work.date_to}),
        figures=tuple(_key_figures(one)),
        behind=tuple(behind),
        overdue=tuple(due for due in one.due if due.overdue),
        due=one.due,
        gaps=tuple(_gaps(one)),
        effort=effort(one.works),
        work=tuple(
            WorkedOn(operation, effort(works), records_of(work.evidence for work in works))
            for operation, works in by_operation(one.works).items()
        ),
        changes=tuple(replace(change, evidence=()) for change in tested(one.indicators)),
        questions=one.questions,
        seal=one.seal,
        laboratory=tuple(note.text for note in one.data_notes if note.topic == "laboratory"),
    )


def _key_figures(one: GreenSeason) -> Iterator[KeyFigure]:
    for topic in KEY_FIGURES:
        found = _indicator(one, topic.name)
        if found is not None:
            yield KeyFigure(replace(found, evidence=()), records_of(found.evidence))


def _indicator(one: GreenSeason, name: str) -> Indicator | None:
    """The first indicator of a name that has a value, or the first without one."""
    named = [indicator for indicator in one.indicators if indicator.name == name]
    return next((i for i in named if i.value is not None), named[0] if named else None)


def _behind(one: GreenSeason) -> Iterator[Behind]:
    """Totals that lag their plan; nothing is said of a green without a job, nor of a total nobody knows.

    Nobody knows what was put on before a log began that begins late: what it holds is at least so much.
    """
    if one.log_begins:
        return
    for running in one.running:
        planned = planned_on(running, one.as_of)
        found = _indicator(one, TOTAL_OF.get(running.name, ""))
        if not one.works or planned is None or (found is not None and found.value is None):
            continue
        done = max((point.total for point in running.points if point.date <= one.as_of), default=0.0)
        goal = running.plan[-1].total
        lag = Behind(
            what=running.name,
            unit=running.unit,
            done=done,
            planned=planned,
            goal=goal,
            note=found.note if found else "",
            records=records_of(found.evidence) if found else "",
            questioned=running.questioned,
        )
        if goal > 0 and lag.share > LAG:
            yield lag


def planned_on(running: Running, day: date) -> float | None:
    """The planned line on a day, straight between its points; None where no plan is drawn."""
    if not running.plan:
        return None
    before = [point for point in running.plan if point.date <= day]
    after = [point for point in running.plan if point.date > day]
    if not before:
        return 0.0
    if not after:
        return before[-1].total
    left, right = before[-1], after[0]
    share = (day - left.date).days / (right.date - left.date).days
    return left.total + share * (right.total - left.total)


def _gaps(one: GreenSeason) -> Iterator[Gap]:
    if not one.works:
        yield Gap(
            "jobs", f"last job {period(one.latest.job, one.latest.job_to)}" if one.latest.job else "no job on record"
        )
    if not one.area_m2:
        yield Gap("area", "no figure a square metre, no quantity due")
    since = one.season_start - timedelta(days=365 * (SOIL_SEASONS - 1))
    tested, tested_to = one.latest.soil_test, one.latest.soil_test_to
    if tested is None or (tested_to or tested) < since:
        yield Gap("soil test", f"last {period(tested, tested_to)}" if tested else "none on record")
    if _indicator(one, "speed_s") is None:
        yield Gap(
            "timed bowls", f"last {long_date(one.latest.green_speed)}" if one.latest.green_speed else "none on record"
        )
    for note in one.data_notes:
        if note.topic == "material":
            yield Gap("material", note.text)
        elif note.topic == "rejected":
            yield Gap("handed back", note.text)
    without = sum(work.hours is None for work in one.works)
    if without:
        yield Gap("hours", f"{without} of {len(one.works)} jobs", without)


def _shared_due(greens: Iterable[GreenLine]) -> Iterator[SharedDue]:
    """What is due, by day, then by what names a season; the same thing by the same time once, of one sort of mass.

    Of programmes what is due, what is not due yet and what may be done stand apart.
    """
    every = [(line.green, due) for line in greens for due in line.due]
    alike = grouped(every, lambda of: (of[1].what, of[1].by, of[1].unit, of[1].basis, of[1].state))
    made = [_one_due(members) for members in alike.values()]
    yield from sorted(made, key=lambda due: (due.day is None, due.day or date.max, due.by, -len(due.greens), due.what))


def _one_due(members: list[tuple[str, Due]]) -> SharedDue:
    first = members[0][1]
    known = [due for _, due in members if due.low is not None]
    lacking = {green for green, due in members if due.low is None}
    highs = [due.high for due in known if due.high is not None]
    return SharedDue(
        what=first.what,
        by=first.by,
        day=first.day,
        unit=first.unit,
        low=sum(due.low or 0.0 for due in known) if known else None,
        high=sum(highs) if highs and len(highs) == len(known) else None,
        greens=tuple(dict.fromkeys(green for green, _ in members)),
        counted=len({green for green, _ in members} - lacking),
        applied=sum(due.applied or 0.0 for due in known) if known else None,
        overdue=any(due.overdue for _, due in members),
        basis=first.basis,
        state=first.state,
        words=first.quantity if len({due.quantity for _, due in members}) == 1 else "",
    )


def _clubs(greens: Iterable[GreenLine]) -> Iterator[tuple[str, str, int, Effort]]:
    for (club, name), lines in grouped(greens, lambda line: (line.club, line.club_name)).items():
        yield club, name, len(lines), total_effort(line.effort for line in lines)


def _operations(greens: Iterable[GreenLine]) -> Iterator[tuple[str, Effort]]:
    kinds = grouped((work for line in greens for work in line.work), lambda work: work.operation)
    for operation in sorted(kinds, key=place_of):
        yield operation, total_effort(work.effort for work in kinds[operation])
