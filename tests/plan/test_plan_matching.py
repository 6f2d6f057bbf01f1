"""Single cases of a plan beside a log: what counts for what, and what a reader is told of it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from pipeline.plan.lines import Line, State, sums
from pipeline.plan.matching import EARLY_DAYS, Allowance, matched
from pipeline.plan.works import Done, Planned, Unit

GREEN, FEED = "ALD-1", "fertilising"
APRIL = (date(2026, 4, 1), date(2026, 4, 30))
MAY = (date(2026, 5, 1), date(2026, 5, 31))
AFTER = date(2026, 7, 1)


def asked(
    window: tuple[date, date] = APRIL, size: float | None = 100, material: str = "A", unit: Unit = "kg"
) -> Planned:
    return Planned(GREEN, FEED, *window, unit, size, material)


def done(day: date, kg: float | None = None, material: str = "A", **more: object) -> Done:
    last = more.pop("last", day)
    return Done(GREEN, FEED, day, last, material, kg=kg, **more)  # type: ignore[arg-type]


def lines(plan: list[Planned], log: list[Done], day: date = AFTER, ends: date | None = None) -> tuple[Line, ...]:
    return matched(plan, log, day, ends).lines


def states(plan: list[Planned], log: list[Done], day: date = AFTER, ends: date | None = None) -> list[State]:
    return [line.state for line in lines(plan, log, day, ends)]


def test_a_line_on_each_side_of_its_window() -> None:
    """On the last day of its window nothing is overdue yet."""
    first, last = APRIL
    one = timedelta(days=1)
    assert [states([asked()], [], day)[0] for day in (first - one, first, last, last + one)] == [
        "not due yet",
        "due",
        "due",
        "overdue",
    ]
    assert states([asked()], [], AFTER, ends=AFTER) == ["overdue"]
    assert states([asked()], [], AFTER, ends=AFTER - one) == ["missing"]


def test_a_job_without_amount_leaves_its_line_neither_open_nor_done() -> None:
    """Counted as nothing the line would be overdue; counted as all of it, done."""
    (line,) = lines([asked()], [done(date(2026, 4, 10))])
    assert (line.state, line.matched, line.done) == ("done, amount not logged", 0, False)
    assert [(part.amount, part.lacking) for part in line.parts] == [(None, "amount")]
    assert sums([line], [])["kg"].unsettled == 100


def test_litres_logged_of_what_is_planned_in_kilograms() -> None:
    assert states([asked()], [done(date(2026, 4, 10), l=20.0)]) == ["done, amount not logged"]


def test_kilograms_that_a_line_has_taken_are_no_litres_of_another() -> None:
    litres = asked((date(2026, 4, 1), date(2026, 5, 31)), size=20, unit="l")
    assert states([asked(), litres], [done(date(2026, 4, 10), 100)]) == ["done", "overdue"]


def test_two_jobs_without_amount_stand_for_two_lines() -> None:
    """Both set against the first line, the second would be asked for though it was done."""
    log = [done(date(2026, 4, 10)), done(date(2026, 4, 20))]
    assert states([asked(), asked(size=50)], log) == ["done, amount not logged"] * 2


def test_an_amount_known_later_settles_the_line() -> None:
    log = [done(date(2026, 4, 10)), done(date(2026, 4, 20), 95)]
    assert states([asked()], log) == ["done"]


def test_a_job_that_names_no_material_may_be_the_one_planned() -> None:
    found = matched([asked()], [done(date(2026, 4, 10), 100, material="")], AFTER)
    assert [line.state for line in found.lines] == ["done, material not logged"]
    assert found.extras == ()


def test_another_material_is_extra_and_its_line_missing() -> None:
    found = matched([asked()], [done(date(2026, 4, 10), 100, material="B")], AFTER)
    (line,) = found.lines
    assert (line.state, line.matched) == ("overdue", 0)
    assert [(one.job.material, one.amount, one.why) for one in line.instead] == [
        ("B", 100, "planned with another material")
    ]
    assert line.instead == found.extras


def test_a_line_that_leaves_the_material_open_takes_any() -> None:
    assert states([asked(material="")], [done(date(2026, 4, 10), 100, material="B")]) == ["done"]


def test_a_line_that_names_the_material_is_served_before_one_that_does_not() -> None:
    """Whatever ends first: the feed planned by name is the one that was put on."""
    plan = [asked(material=""), asked((date(2026, 4, 1), date(2026, 5, 31)))]
    found = matched(plan, [done(date(2026, 4, 10), 100)], date(2026, 4, 20))
    assert {line.planned.material: line.state for line in found.lines} == {"": "due", "A": "done"}


def test_the_window_that_ends_first_is_served_first() -> None:
    plan = [asked((date(2026, 4, 1), date(2026, 5, 31))), asked()]
    assert [(line.planned.last, line.matched) for line in lines(plan, [done(date(2026, 4, 10), 100)])] == [
        (date(2026, 4, 30), 100),
        (date(2026, 5, 31), 0),
    ]


def test_an_amount_is_split_over_lines() -> None:
    """The window of the day, then the one that has passed, then the one to come; only then is it too much."""
    plan = [asked(), asked(MAY), asked((date(2026, 6, 1), date(2026, 6, 30)))]
    found = matched(plan, [done(date(2026, 5, 28), 350)], AFTER)
    assert [(line.matched, line.of("late"), line.of("early"), line.over) for line in found.lines] == [
        (100, 100, 0, 0),
        (100, 0, 0, 0),
        (100, 0, 100, 50),
    ]
    assert [line.state for line in found.lines] == ["done", "done", "more than planned"]
    assert found.extras == ()


@pytest.mark.parametrize(
    ("kg", "state", "next_line"), [(89.9, "rest overdue", 0), (90, "done", 0), (110, "done", 0), (111, "done", 11)]
)
def test_a_tenth_more_or_less_is_the_line_done(kg: float, state: State, next_line: float) -> None:
    """A few kilograms over are not the next feed begun."""
    first, second = lines([asked(), asked((date(2026, 5, 1), date(2026, 8, 31)))], [done(date(2026, 4, 20), kg)])
    assert (first.state, second.matched) == (state, next_line)


@pytest.mark.parametrize(("before", "state"), [(EARLY_DAYS, "done"), (EARLY_DAYS + 1, "due")])
def test_how_early_is_early(before: int, state: State) -> None:
    found = matched([asked(MAY)], [done(MAY[0] - timedelta(days=before), 100)], MAY[0])
    assert found.lines[0].state == state
    assert [one.why for one in found.extras] == ([] if state == "done" else ["before any window"])


def test_how_late_may_be_bounded() -> None:
    log = [done(date(2026, 5, 20), 100)]
    assert matched([asked()], log, AFTER, allowed=Allowance(late_days=19)).lines[0].state == "overdue"
    assert matched([asked()], log, AFTER, allowed=Allowance(late_days=20)).lines[0].state == "done"


def test_a_job_known_to_its_month_counts_by_the_last_day_of_it() -> None:
    """Until then it is not known whether it was done, and it is not asked for."""
    log = [done(date(2026, 4, 1), 100, last=date(2026, 4, 30))]
    before = matched([asked()], log, date(2026, 4, 29))
    assert (before.lines[0].state, before.lines[0].matched, before.perhaps) == ("may be done", 0, tuple(log))
    assert [part.amount for part in before.lines[0].perhaps] == [100]
    assert states([asked()], log, date(2026, 4, 30)) == ["done"]


def test_a_job_known_to_its_month_takes_nothing_from_one_whose_day_is_known() -> None:
    """Set against the line first, as of the 30th it would undo what stood as of the 25th."""
    month, exact = done(date(2026, 4, 1), 100, last=date(2026, 4, 30)), done(date(2026, 4, 20), 100)
    for day in (date(2026, 4, 25), date(2026, 4, 30)):
        assert [part.jobs for part in lines([asked()], [month, exact], day)[0].parts] == [(exact,)]


def test_a_month_that_overlaps_a_window_is_not_called_late() -> None:
    (line,) = lines([asked((date(2026, 4, 1), date(2026, 4, 10)))], [done(date(2026, 4, 1), 100, last=APRIL[1])])
    assert [part.timing for part in line.parts] == ["perhaps in the window"]
    assert line.of("late") == 0


def test_a_job_that_may_be_of_the_next_season_settles_nothing() -> None:
    log = [done(date(2026, 4, 1), 100, last=date(2026, 12, 31))]
    assert states([asked()], log, date(2027, 1, 1), ends=date(2026, 9, 30)) == ["may be done"]
    assert states([asked()], [done(date(2026, 10, 1), 100)], date(2027, 1, 1), ends=date(2026, 9, 30)) == ["missing"]


def times(of: list[Planned], log: list[Done]) -> list[float]:
    return [line.matched for line in lines(of, log)]


def test_two_records_of_one_day_are_one_time_and_of_two_days_two() -> None:
    twice = [asked(size=2, unit="times", material="")]
    day = date(2026, 4, 10)
    assert times(twice, [done(day, material="")] * 2) == [1]
    assert states([asked(size=1, unit="times", material="")], [done(day, material="")] * 2) == ["done"]
    assert times(twice, [done(day, material=""), done(day + timedelta(days=1), material="")]) == [2]
    assert times(twice, [done(day, material="", part=0.5), done(day, material="", part=0.5)]) == [1]


def test_work_on_spots_is_done_however_small_they_are() -> None:
    """A patch of turf is the turfing that was planned; a twentieth of a green scarified is not the scarifying."""
    day = date(2026, 4, 10)
    for operation, state in (("turfing", "done"), ("scarifying", "rest overdue")):
        plan = [Planned(GREEN, operation, *APRIL, "times", 1)]
        assert states(plan, [Done(GREEN, operation, day, day, part=0.05)]) == [state]
        assert states(plan, [Done(GREEN, operation, day, day, part=0.025)] * 2) == [state]


def test_a_record_with_an_amount_and_one_without_are_one_time() -> None:
    day = date(2026, 4, 10)
    assert times([asked(size=2, unit="times")], [done(day, 50), done(day)]) == [1]


def test_two_records_of_one_month_are_two_times() -> None:
    """That they were one visit is not known: each record is one."""
    month = done(APRIL[0], material="", last=APRIL[1])
    assert times([asked(size=2, unit="times", material="")], [month, month]) == [2]


def test_two_materials_in_one_tank_are_one_time() -> None:
    """Counted twice, the feed of May would be done by April's."""
    plan = [asked(size=1, unit="times", material=""), asked(MAY, size=1, unit="times", material="")]
    log = [done(date(2026, 4, 20), 5, material="A"), done(date(2026, 4, 20), 3, material="B")]
    found = matched(plan, log, AFTER)
    assert [line.matched for line in found.lines] == [1, 0]
    assert found.extras == ()
    assert [part.jobs[0].material for part in found.lines[0].parts] == ["A", "B"]


def test_a_third_material_of_a_visit_too_many_is_not_a_second_visit() -> None:
    log = [done(date(2026, 4, day), 5, material=material) for day in (5, 20) for material in "ABC"]
    found = matched([asked(size=1, unit="times", material="")], log, AFTER)
    assert sums(found.lines, found.extras)["times"].done == 2


def test_a_line_without_amount_is_done_as_often_as_it_says() -> None:
    found = matched([asked(size=None)], [done(date(2026, 4, 10), 60)], AFTER)
    assert [(line.unit, line.size, line.matched, line.state) for line in found.lines] == [("times", 1, 1, "done")]
    thrice = Planned(GREEN, FEED, *APRIL, "kg", None, "A", times=3)
    assert states([thrice], [done(date(2026, 4, 10), 60)]) == ["rest overdue"]


def test_work_of_another_operation_or_green_counts_for_nothing_here() -> None:
    elsewhere = Done("BRO-1", FEED, date(2026, 4, 10), date(2026, 4, 10), "A", kg=100)
    other = Done(GREEN, "top_dressing", date(2026, 4, 10), date(2026, 4, 10), "A", kg=100)
    found = matched([asked()], [elsewhere, other], AFTER)
    assert found.lines[0].state == "overdue"
    assert [one.why for one in found.extras] == ["nothing planned", "nothing planned"]


def test_no_plan_and_no_log() -> None:
    assert matched([], [], AFTER).lines == ()
    assert sums((), ()) == {}
