"""What holds of any plan beside any log."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta
from math import fsum, isclose

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.plan.by_season import by_season
from pipeline.plan.due_log import may_count, reaches
from pipeline.plan.lines import Line, Matched, sums
from pipeline.plan.matching import Allowance, matched
from pipeline.plan.works import Done, Planned, Unit
from pipeline.workspace.settings import Season
from tests.outside_checks import outside
from tests.thorough import examples

START = date(2026, 3, 1)
DAYS = 60
GREENS = ("ALD-1", "BRO-1")
OPERATIONS = ("fertilising", "spiking", "turfing")
MATERIALS = ("", "autumn 4-0-8", "spring 11-5-5")
LAST = START + timedelta(days=DAYS + 10)

days = st.integers(0, DAYS).map(lambda number: START + timedelta(days=number))
quarters = st.integers(1, 8).map(lambda number: number * 12.5)
"""Amounts that add up without rounding, so that a split is a split and nothing else."""


@st.composite
def lines(draw: st.DrawFn, units: tuple[Unit, ...] = ("kg", "l", "times")) -> Planned:
    first = draw(days)
    unit = draw(st.sampled_from(units))
    size = draw(st.integers(1, 4).map(float) if unit == "times" else st.none() | quarters)
    return Planned(
        draw(st.sampled_from(GREENS)),
        draw(st.sampled_from(OPERATIONS)),
        first,
        first + timedelta(days=draw(st.integers(0, 25))),
        unit,
        size,
        draw(st.sampled_from(MATERIALS)),
    )


@st.composite
def jobs(draw: st.DrawFn, exact: bool = False) -> Done:
    first = draw(days)
    return Done(
        draw(st.sampled_from(GREENS)),
        draw(st.sampled_from(OPERATIONS)),
        first,
        first if exact else first + timedelta(days=draw(st.sampled_from((0, 0, 0, 1, 9)))),
        draw(st.sampled_from(MATERIALS)),
        kg=draw(quarters if exact else st.none() | quarters),
        l=None if exact else draw(st.none() | st.none() | quarters),
        part=draw(st.sampled_from((1.0, 1.0, 0.5, 0.25))),
    )


plans = st.lists(lines(), max_size=7)
logs = st.lists(jobs(), max_size=9)


def standing(line: Line) -> int:
    """How far a line is settled: 0 not touched, 1 perhaps done, 2 done beyond question."""
    return 2 if line.done else int(line.state in ("done, amount not logged", "done, material not logged"))


def figures(found: Matched) -> list[tuple[object, ...]]:
    """All that a reader sees of lines and extra work, but for the records behind it."""
    of_lines: list[tuple[object, ...]] = [
        (line.planned, line.state, round(line.matched, 6), round(line.over, 6), len(line.parts), len(line.perhaps))
        for line in found.lines
    ]
    of_extras = [(one.job.green, one.job.operation, one.job.last, one.job.material, one.unit, round(one.amount, 6),
                  one.why) for one in found.extras]  # fmt: skip
    return [*of_lines, *of_extras]


@settings(max_examples=examples(50, 200))
@given(plans, logs, days)
def test_planned_and_extra_are_done_and_missing_in_each_unit(plan: list[Planned], log: list[Done], day: date) -> None:
    found = matched(plan, log, day)
    assert len(found.lines) == len(plan)
    for one in sums(found.lines, found.extras).values():
        assert isclose(one.planned + one.extra, one.done + one.missing, abs_tol=1e-6)
        parts = (one.not_due_yet, one.due, one.overdue, one.lost, one.unsettled, one.short)
        assert isclose(one.missing, fsum(parts), abs_tol=1e-6)
        assert -1e-9 <= one.over <= one.extra + 1e-9


@settings(max_examples=examples(40, 100))
@given(st.lists(lines(units=("kg",)).filter(lambda one: one.size), max_size=7), st.lists(jobs(exact=True), max_size=9))
def test_every_kilogram_logged_is_matched_or_extra(plan: list[Planned], log: list[Done]) -> None:
    """Counted from the log itself, not from what the matching made of it; material not named stays extra."""
    found = matched(plan, log, LAST)
    unsure = {job for line in found.lines for part in line.parts if part.lacking for job in part.jobs}
    one = sums(found.lines, found.extras).get("kg")
    counted = 0.0 if one is None else one.done
    held = fsum(
        fsum(job.kg or 0.0 for job in part.jobs) * part.share
        for line in found.lines
        for part in line.parts
        if part.lacking
    )
    assert isclose(counted + held, fsum(job.kg or 0.0 for job in log), abs_tol=1e-6)
    assert all(not job.material for job in unsure)


@settings(max_examples=examples(50, 200))
@given(plans, logs)
def test_one_record_counts_once(plan: list[Planned], log: list[Done]) -> None:
    """The shares of each record, over lines and extra work, are the whole record, and every record is somewhere."""
    found = matched(plan, log, LAST)
    shares: dict[Done, float] = defaultdict(float)
    for parts in (*(line.parts for line in found.lines), found.extras):
        for part in parts:
            for job in part.jobs:
                shares[job] += part.share
    assert set(shares) == set(log)
    assert all(isclose(share, log.count(job), abs_tol=1e-9) for job, share in shares.items())


@settings(max_examples=examples(50, 200))
@given(plans, logs, days, st.integers(0, 30))
def test_a_later_day_never_undoes_done(plan: list[Planned], log: list[Done], day: date, more: int) -> None:
    """What counts for a line as of one day counts for it as of every later one."""
    before, after = matched(plan, log, day), matched(plan, log, day + timedelta(days=more))
    for old, new in zip(before.lines, after.lines, strict=True):
        assert new.parts[: len(old.parts)] == old.parts
        assert standing(new) >= standing(old)
        assert not old.done or new.state == old.state
    assert set(before.extras) <= set(after.extras)


@settings(max_examples=examples(50, 200))
@given(plans, logs, days, st.integers(0, 8))
def test_splitting_a_job_changes_nothing(plan: list[Planned], log: list[Done], day: date, which: int) -> None:
    """Two lines of the log, of the same day and material, each half the amount on half the green."""
    if not log:
        return
    job = log[which % len(log)]
    half = replace(job, kg=job.kg and job.kg / 2, l=job.l and job.l / 2, part=job.part / 2)
    split = [*(one for one in log if one is not job), half, half]
    assert figures(matched(plan, split, day)) == figures(matched(plan, log, day))


@settings(max_examples=examples(40, 100))
@given(plans, logs, days)
def test_another_green_changes_nothing(plan: list[Planned], log: list[Done], day: date) -> None:
    here = GREENS[0]
    alone = matched([one for one in plan if one.green == here], [one for one in log if one.green == here], day)
    both = matched(plan, log, day)
    assert alone.lines == tuple(line for line in both.lines if line.planned.green == here)
    assert alone.extras == tuple(one for one in both.extras if one.job.green == here)


@settings(max_examples=examples(40, 100))
@given(plans, logs, days, st.randoms(use_true_random=False))
def test_the_order_given_changes_nothing(plan: list[Planned], log: list[Done], day: date, chance: object) -> None:
    shuffled = [list(plan), list(log)]
    for one in shuffled:
        chance.shuffle(one)  # type: ignore[attr-defined]
    assert matched(*shuffled, day) == matched(plan, log, day)  # type: ignore[arg-type]


@settings(max_examples=examples(60, 300))
@given(plans, logs, jobs(), days)
def test_one_more_job_never_makes_a_line_less_done(plan: list[Planned], log: list[Done], job: Done, day: date) -> None:
    without, beside = matched(plan, log, day), matched(plan, [*log, job], day)
    for old, new in zip(without.lines, beside.lines, strict=True):
        assert new.matched >= old.matched - 1e-9
        assert standing(new) >= standing(old)


def most_matched(plan: list[Planned], log: list[Done]) -> int:
    """The most that any assignment within the windows matches, in steps of 12.5: a maximum flow."""
    import numpy as np
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import maximum_flow

    size = len(plan) + len(log) + 2
    capacity = np.zeros((size, size), dtype=np.int32)
    for place, job in enumerate(log, start=1):
        capacity[0, place] = round((job.kg or 0.0) / 12.5)
        for other, line in enumerate(plan, start=1 + len(log)):
            if line.first <= job.last <= line.last:
                capacity[place, other] = capacity[0, place]
    for other, line in enumerate(plan, start=1 + len(log)):
        capacity[other, size - 1] = round((line.size or 0.0) / 12.5)
    return int(maximum_flow(csr_array(capacity), 0, size - 1).flow_value)


ALIKE = {"green": GREENS[0], "operation": OPERATIONS[0], "material": MATERIALS[1]}
of_one_sort = st.lists(
    lines(units=("kg",)).filter(lambda one: one.size).map(lambda one: replace(one, **ALIKE)), max_size=7
)
logged_alike = st.lists(jobs(exact=True).map(lambda one: replace(one, **ALIKE)), max_size=9)


@outside("library", "scipy.sparse.csgraph.maximum_flow")
@settings(max_examples=examples(50, 200))
@given(of_one_sort, logged_alike)
def test_no_other_order_matches_more_within_the_windows(plan: list[Planned], log: list[Done]) -> None:
    """Day by day, without knowing what comes: as much as with the whole season known (Glover 1967)."""
    strict = Allowance(short=0.0, over=0.0, early_days=-1, late_days=0)
    found = matched(plan, log, LAST, allowed=strict)
    assert fsum(line.matched for line in found.lines) == pytest.approx(12.5 * most_matched(plan, log))


@given(plans, logs, days)
@settings(max_examples=examples(60, 300), deadline=None)
def test_jobs_left_out_of_a_due_list_change_no_line(planned: list[Planned], done: list[Done], day: date) -> None:
    """A job left out that fills a line of the season before leaves a later one for it, and a line is asked for twice.

    The season begins a month after the first day that a line or a job may be of, so that both seasons have some.
    """
    in_hand = Season.from_day(START + timedelta(days=DAYS // 2))
    rows = [(GREENS.index(one.green), one.operation, one.last, number) for number, one in enumerate(done)]
    schema = {"of": pl.UInt32, "operation": pl.String, "last": pl.Date, "number": pl.Int64}
    log = pl.DataFrame(rows, schema=schema, orient="row")
    reaching = [
        reach
        for number, green in enumerate(GREENS)
        for reach in reaches(number, [one for one in planned if one.green == green], in_hand)
    ]
    kept = [done[number] for number in may_count(log, reaching)["number"]]
    every, part = (by_season(planned, some, day, in_hand, in_hand) for some in (done, kept))
    assert [one.matched.lines for one in part] == [one.matched.lines for one in every]


def test_a_job_that_fills_a_line_of_the_season_before_is_kept_where_a_later_one_may_count() -> None:
    """The line of autumn is short of one visit: the second of two in spring is what the spring line is left with."""
    in_hand = Season.from_day(date(2026, 4, 1))
    lines = [
        Planned("ALD-1", "spiking", date(2026, 2, 1), date(2026, 3, 20), "times", 2.0),
        Planned("ALD-1", "spiking", date(2026, 4, 10), date(2026, 4, 30), "times", 1.0),
        Planned("ALD-1", "turfing", date(2026, 2, 1), date(2026, 3, 20), "times", 1.0),
    ]
    days_of = {"spiking": (date(2026, 1, 10), date(2026, 2, 2), date(2026, 3, 28)), "turfing": (date(2026, 3, 28),)}
    rows = [(0, work, day) for work, some in days_of.items() for day in some]
    log = pl.DataFrame(rows, schema={"of": pl.UInt32, "operation": pl.String, "last": pl.Date}, orient="row")
    kept = may_count(log, list(reaches(0, lines, in_hand)))
    assert kept.rows() == [(0, "spiking", date(2026, 2, 2)), (0, "spiking", date(2026, 3, 28))]
    none_late = may_count(log.filter(pl.col("last") < date(2026, 3, 1)), list(reaches(0, lines, in_hand)))
    assert none_late.is_empty()
