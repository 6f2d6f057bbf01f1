"""One season of one green, planned and logged, matched line by line by hand: common practice, no source.

The green and its season are invented. Each line of the log is there for one thing that a season does to a plan.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from pipeline.plan.lines import Line, Matched, State, sums
from pipeline.plan.matching import matched
from pipeline.plan.works import Done, Planned, Unit

GREEN = "ALD-1"
ENDS = date(2026, 9, 30)
MIX, SAND, SEED = "70/30 sand and soil", "kiln-dried sand", "fescue and bent 80/20"
AUTUMN, SPRING, IRON, LIQUID_IRON = "autumn 4-0-8", "spring 11-5-5", "sulphate of iron", "liquid iron"
WETTING = "wetting agent"


def line(operation: str, first: date, last: date, unit: Unit, size: float, material: str = "") -> Planned:
    return Planned(GREEN, operation, first, last, unit, size, material)


PLAN = {
    "coring": line("hollow_coring", date(2025, 10, 1), date(2025, 10, 20), "times", 1),
    "seed": line("overseeding", date(2025, 10, 1), date(2025, 10, 20), "kg", 40, SEED),
    "autumn dressing": line("top_dressing", date(2025, 10, 6), date(2025, 10, 31), "kg", 6000, MIX),
    "autumn feed": line("fertilising", date(2025, 10, 1), date(2025, 10, 31), "kg", 50, AUTUMN),
    "slitting": line("slitting", date(2025, 12, 1), date(2026, 2, 28), "times", 3),
    "iron": line("fertilising", date(2026, 2, 1), date(2026, 2, 28), "kg", 35, IRON),
    "scarifying": line("scarifying", date(2026, 3, 1), date(2026, 3, 31), "times", 1),
    "April feed": line("fertilising", date(2026, 4, 1), date(2026, 4, 30), "kg", 75, SPRING),
    "April dressing": line("top_dressing", date(2026, 4, 1), date(2026, 4, 30), "kg", 2000, MIX),
    "mowing": line("mowing", date(2026, 5, 1), date(2026, 8, 31), "times", 48),
    "May wetting": line("wetting_agent", date(2026, 5, 1), date(2026, 5, 31), "l", 10, WETTING),
    "verticutting": line("verticutting", date(2026, 5, 15), date(2026, 7, 31), "times", 4),
    "June feed": line("fertilising", date(2026, 6, 1), date(2026, 6, 30), "kg", 50, SPRING),
    "July wetting": line("wetting_agent", date(2026, 7, 1), date(2026, 7, 31), "l", 10, WETTING),
    "August feed": line("fertilising", date(2026, 8, 1), date(2026, 8, 31), "kg", 50, SPRING),
}


def job(
    operation: str,
    day: date,
    material: str = "",
    kg: float | None = None,
    litres: float | None = None,
    part: float = 1.0,
    last: date | None = None,
) -> Done:
    return Done(GREEN, operation, day, last or day, material, kg, litres, part)


MOWN = tuple(
    date(2026, 5, 4) + timedelta(weeks=week, days=day) for week in range(17) for day in (0, 2, 4)
)  # Monday, Wednesday and Friday from 4 May to 28 August: 51 days
LOG = (
    job("hollow_coring", date(2025, 10, 3), part=0.5),  # half the green a day: one time
    job("hollow_coring", date(2025, 10, 4), part=0.5),
    job("overseeding", date(2025, 10, 5), SEED, kg=20),  # two lines of the log, one day
    job("overseeding", date(2025, 10, 5), SEED, kg=20),
    job("top_dressing", date(2025, 10, 8), MIX, kg=4000),  # 200 kg over, less than a tenth
    job("top_dressing", date(2025, 10, 9), MIX, kg=2200),
    job("fertilising", date(2025, 10, 10), AUTUMN),  # no amount
    job("slitting", date(2025, 12, 1), last=date(2025, 12, 31)),  # known to the month
    job("slitting", date(2026, 1, 14)),
    job("fertilising", date(2026, 2, 15), LIQUID_IRON, litres=10),  # not what was planned
    job("scarifying", date(2026, 2, 25)),  # four days early
    job("slitting", date(2026, 3, 20)),  # late
    job("top_dressing", date(2026, 4, 15), SAND, kg=500),  # not what was planned
    job("fertilising", date(2026, 4, 20), SPRING, kg=50),  # 25 kg short
    job("rolling", date(2026, 5, 3)),  # not planned
    job("wetting_agent", date(2026, 5, 20), WETTING, litres=10),
    job("verticutting", date(2026, 5, 20)),
    job("fertilising", date(2026, 6, 5), SPRING, kg=75),  # June's 50 kg, and the 25 that April lacks
    job("verticutting", date(2026, 6, 10)),
    job("verticutting", date(2026, 7, 1)),
    job("mowing", date(2026, 7, 10)),  # a second cut of that day
    job("wetting_agent", date(2026, 8, 10), WETTING, litres=9.5),  # late, half a litre short
    job("fertilising", date(2026, 8, 12), SPRING, kg=80),  # 30 kg more than planned
    *(job("mowing", day) for day in MOWN),
)

Standing = tuple[State, float]
RENOVATED: dict[str, Standing] = {"coring": ("done", 1), "seed": ("done", 40), "autumn dressing": ("done", 6000)}
AHEAD: Standing = ("not due yet", 0)
UNSIZED: Standing = ("done, amount not logged", 0)
BY_DAY: dict[date, dict[str, Standing]] = {
    date(2025, 10, 8): {
        "coring": ("done", 1),
        "seed": ("done", 40),
        "autumn dressing": ("part done", 4000),
        "autumn feed": ("due", 0),
    },
    date(2025, 10, 9): {**RENOVATED, "autumn feed": ("due", 0)},
    date(2025, 12, 15): {**RENOVATED, "autumn feed": UNSIZED, "slitting": ("may be done", 0)},
    date(2025, 12, 31): {**RENOVATED, "autumn feed": UNSIZED, "slitting": ("part done", 1)},
    date(2026, 3, 15): {
        **RENOVATED,
        "autumn feed": UNSIZED,
        "slitting": ("rest overdue", 2),
        "iron": ("overdue", 0),
        "scarifying": ("done", 1),
    },
    date(2026, 5, 1): {
        **RENOVATED,
        "autumn feed": UNSIZED,
        "slitting": ("done", 3),
        "iron": ("overdue", 0),
        "scarifying": ("done", 1),
        "April feed": ("rest overdue", 50),
        "April dressing": ("overdue", 0),
        "mowing": ("due", 0),
        "May wetting": ("due", 0),
    },
    date(2026, 6, 15): {
        **RENOVATED,
        "autumn feed": UNSIZED,
        "slitting": ("done", 3),
        "iron": ("overdue", 0),
        "scarifying": ("done", 1),
        "April feed": ("done", 75),
        "April dressing": ("overdue", 0),
        "mowing": ("part done", 19),  # six weeks of three, and Monday 15 June
        "May wetting": ("done", 10),
        "verticutting": ("part done", 2),
        "June feed": ("done", 50),
    },
}
AT_THE_END: dict[str, Standing] = {
    **BY_DAY[date(2026, 6, 15)],
    "mowing": ("done", 48),
    "verticutting": ("rest overdue", 3),
    "July wetting": ("done", 9.5),
    "August feed": ("more than planned", 50),
}
BY_DAY[ENDS] = AT_THE_END


def stood(day: date) -> tuple[Matched, dict[str, Line]]:
    found = matched(PLAN.values(), LOG, day, ENDS)
    of = {line.planned: line for line in found.lines}
    return found, {name: of[planned] for name, planned in PLAN.items()}


@pytest.mark.parametrize("day", BY_DAY, ids=str)
def test_each_line_stands_as_a_person_would_say(day: date) -> None:
    _, lines = stood(day)
    expected = {name: BY_DAY[day].get(name, AHEAD) for name in PLAN}
    assert {name: (line.state, line.matched) for name, line in lines.items()} == expected


def test_after_the_season_nothing_is_due_any_more() -> None:
    _, lines = stood(ENDS + timedelta(days=1))
    over: dict[str, Standing] = {
        "iron": ("missing", 0),
        "April dressing": ("missing", 0),
        "verticutting": ("short", 3),
    }
    assert {name: (line.state, line.matched) for name, line in lines.items()} == {**AT_THE_END, **over}


def test_when_it_was_done_beside_its_window() -> None:
    _, lines = stood(ENDS)
    at_another_time = {
        name: (line.of("early"), line.of("late")) for name, line in lines.items() if line.of("early", "late")
    }
    assert at_another_time == {
        "slitting": (0, 1),
        "scarifying": (1, 0),
        "April feed": (0, 25),
        "July wetting": (0, 9.5),
    }
    assert {name: line.over for name, line in lines.items() if line.over} == {"autumn dressing": 200, "August feed": 30}


def test_what_was_done_instead_stands_beside_the_line() -> None:
    """An overdue line of a green on which the same work was done with something else is to be looked at."""
    _, lines = stood(ENDS)
    instead = {name: [(one.job.material, one.amount, one.unit) for one in line.instead] for name, line in lines.items()}
    assert {name: others for name, others in instead.items() if others} == {
        "iron": [(LIQUID_IRON, 10, "l")],
        "April dressing": [(SAND, 500, "kg")],
    }


def test_what_nobody_planned() -> None:
    found, _ = stood(ENDS)
    assert [(one.job.operation, one.job.last, one.amount, one.unit, one.why) for one in found.extras] == [
        ("fertilising", date(2026, 2, 15), 10, "l", "planned with another material"),
        ("mowing", date(2026, 8, 24), 1, "times", "the plan is met"),
        ("mowing", date(2026, 8, 26), 1, "times", "the plan is met"),
        ("mowing", date(2026, 8, 28), 1, "times", "the plan is met"),
        ("rolling", date(2026, 5, 3), 1, "times", "nothing planned"),
        ("top_dressing", date(2026, 4, 15), 500, "kg", "planned with another material"),
    ]


def test_the_season_added_up() -> None:
    """Planned 40 + 6,000 + 50 + 35 + 75 + 2,000 + 50 + 50 = 8,300 kg; logged 40 + 6,200 + 500 + 50 + 75 + 80."""
    found, _ = stood(ENDS + timedelta(days=1))
    of_unit = sums(found.lines, found.extras)
    kg, litres, times = of_unit["kg"], of_unit["l"], of_unit["times"]
    assert (kg.planned, kg.matched, kg.extra, kg.over, kg.done, kg.missing) == (8300, 6215, 730, 230, 6945, 2085)
    assert (kg.lost, kg.unsettled, kg.unsettled_lines, kg.late) == (35 + 2000, 50, 1, 25)
    assert (litres.planned, litres.done, litres.extra, litres.missing, litres.short) == (20, 29.5, 10, 0.5, 0.5)
    assert (times.planned, times.done, times.extra, times.missing) == (57, 60, 4, 1)
