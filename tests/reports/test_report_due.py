"""The due list: what it opens with, what it says once, how its figures add up, and how its pages are filled."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from pipeline.common.amounts import Amount, AmountText, Source
from pipeline.indicators.base.green_season import Due
from pipeline.plan.due_list import DueItem, DueList, GreenDue, totals
from pipeline.plan.rates import Figure, unknown
from reports.due import render
from reports.due.sources import SHORT
from reports.page.house_style import HouseStyle
from tests.reports.conftest import VERSION
from tests.reports.layout import filled, lines_of
from tests.reports.test_report_pages import flat, pages_text
from tests.thorough import beyond, thorough

DAY = date(2026, 8, 28)
LIMIT = "a leaflet on lawns that is named at length: one pound on a thousand square feet"
MIX = "70/30 sand and soil"
HARD = str.maketrans({"\u00a0": " ", "\u202f": " ", "\u2060": None})
RATE = Figure(Decimal("3.61"), "by rate", "400 m²/h")
COST = Figure(Decimal("330.30"), "by rate", "")


def dressing(green: str, first: date, last: date, state: str, t: float = 3.0, **more: object) -> DueItem:
    """A line of a programme of dressing."""
    due = Due(
        f"Top dressing, {MIX}", AmountText(Amount(t, "t", ",g", carries=3)), "by some day",
        AmountText("Programme 2026: ", Source("as last year"), "."), last, t, t, "t", operation="top_dressing",
        state=state, first=first, material=MIX, overdue=state == "overdue",
    )  # type: ignore[arg-type]  # fmt: skip
    told = {
        "hours": RATE,
        "cost": COST,
        "against": (AmountText("At most ", Amount(4.9, "g/m²"), " (", Source(LIMIT), ")."),),
    }
    return DueItem(green, due, **(told | more))  # type: ignore[arg-type]


def made(*of: tuple[DueItem, ...], weather: str = "No frost on 7 days.") -> DueList:
    """A list of greens, each with these lines."""
    greens = tuple(
        GreenDue(
            f"G-{n}", "Green", f"C{n}", f"Club {n}", DAY, weather, tuple(replace(i, green=f"G-{n}") for i in items)
        )
        for n, items in enumerate(of, start=1)
    )
    return DueList(DAY, date(2026, 9, 30), "2026", greens, totals(greens, {MIX: ("kg", 1000.0)}), "GBP")


LATE = dressing("", date(2026, 7, 1), date(2026, 7, 31), "overdue")
NOW = dressing("", date(2026, 8, 24), date(2026, 9, 18), "due", 2.25)
SOON = dressing("", date(2026, 9, 2), date(2026, 9, 9), "not due yet")
LATER = dressing("", date(2026, 9, 20), date(2026, 9, 27), "not due yet", 1.225)
PERHAPS = dressing("", date(2026, 8, 1), date(2026, 9, 9), "not known")
TARGET = DueItem("", Due("Time bowls", "at least 4 bowls a rink", "in play season", "None was recorded."))


def plain(words: str) -> str:
    return words.translate(HARD)


def test_it_opens_with_what_is_overdue_due_now_and_due_within_a_week() -> None:
    report = render.view(made((LATE, NOW, LATER), (NOW, SOON, PERHAPS, TARGET)), version=VERSION)
    told = {plain(group.heading): [plain(f"{r.where} {r.days}") for r in group.rows] for group in report.lead}
    assert told == {
        "Overdue": ["G-1: 3 t. 1–31 Jul 2026"],
        "Look first whether it is done already": ["G-2: 3 t. 1 Aug – 9 Sep 2026"],
        "Due now": ["G-1 and G-2: 2.25 t each. 24 Aug – 18 Sep 2026"],
        "Opens by 4 September 2026": ["G-2: 3 t. 2–9 Sep 2026"],
    }
    assert report.nothing_soon == ""
    said = flat("".join(pages_text(render.render(made((LATE, NOW)), version=VERSION))))
    places = [said.index(flat(part)) for part in ("Overdue and due this week", "Materials in all", "Green by green")]
    assert places == sorted(places)


def test_where_nothing_is_due_this_week_the_first_works_to_come_are_told() -> None:
    report = render.view(made((LATER, TARGET)), version=VERSION)
    assert plain(report.nothing_soon) == "Nothing is overdue, and nothing falls due by 4 September 2026."
    assert [plain(group.heading) for group in report.lead] == ["First to come, to 26 September 2026"]


def test_the_counts_of_the_first_page_add_up() -> None:
    """A reader adds them up: the parts of the first sentence are all that is listed, each once."""
    report = render.view(made((LATE, NOW, LATER, TARGET), (NOW, SOON, PERHAPS, TARGET)), version=VERSION)
    whole, parts = plain(report.matters[0]).split(" things on 2 greens: ")
    assert sum(int(number) for number in re.findall(r"(?:^|, | and )(\d+) ", parts)) == int(whole) == 8


def test_a_state_word_stands_beside_what_is_due_and_no_other() -> None:
    (green,) = render.view(made((LATE, NOW, LATER, PERHAPS, TARGET)), version=VERSION).greens
    assert [row.state for row in green.rows] == ["Overdue", "Due now", "", "Done already?", ""]


def test_the_weather_of_a_station_is_told_once() -> None:
    every = made((NOW,), (SOON,), (LATER,))
    other = replace(every.greens[2], weather="Rain on 3 days.")
    said = flat("".join(pages_text(render.render(replace(every, greens=(*every.greens[:2], other)), version=VERSION))))
    assert said.count(flat("No frost on 7 days.")) == said.count(flat("Rain on 3 days.")) == 1
    rows = render.view(replace(every, greens=(*every.greens[:2], other)), version=VERSION).weather
    assert [(row.weather, row.greens) for row in rows] == [
        ("No frost on 7 days.", "G-1 and G-2"), ("Rain on 3 days.", "G-3"),
    ]  # fmt: skip


def test_a_long_source_is_printed_once_under_its_number() -> None:
    assert len(LIMIT) > SHORT > len("as last year")
    said = flat("".join(pages_text(render.render(made((NOW, SOON), (LATER,)), version=VERSION))))
    assert said.count(flat(LIMIT[1:])) == 1
    assert said.count(flat("4.9 g/m² (source 1).")) == 3
    assert said.count(flat("Programme 2026: as last year.")) == 3


def test_where_hours_come_from_is_said_once_and_what_differs_is_marked() -> None:
    own = replace(NOW, hours=Figure(Decimal("1.50"), "planned"))
    short = replace(SOON, cost=replace(COST, why="without machines: no rate of a machine"))
    bare = replace(LATER, hours=unknown("the area is not recorded"), cost=unknown("the area is not recorded"))
    report = render.view(made((own, short, bare, NOW)), version=VERSION)
    rows = report.greens[0].rows
    assert [(row.hours, row.cost) for row in rows] == [
        ("1.50*", "330.30"), ("3.61", "330.30†"), ("–", "–"), ("3.61", "330.30"),
    ]  # fmt: skip
    assert "* as the programme gives them" in report.marks[0]
    assert "† without machines" in report.marks[1]
    assert [plain(one) for one in report.reasons] == ["Hours and cost not known of 1 work: the area is not recorded."]
    assert "by rate" not in "".join(row.hours + row.cost for row in rows)


def test_hours_money_and_tonnes_add_up_as_printed() -> None:
    """Lines of 2.25, 3 and 1.225 t are 6.475 t: with three significant figures the last read 1.23."""
    done = made((NOW, SOON), (LATER,))
    report = render.view(done, version=VERSION)
    rows = [row for green in report.greens for row in green.rows]
    assert sum(Decimal(row.hours) for row in rows) == done.hours.value == Decimal("10.83")
    assert sum(Decimal(row.cost) for row in rows) == done.cost.value
    tonnes = sum(Decimal(plain(row.quantity).removesuffix(" t")) for row in rows)
    assert plain(report.totals[0].amount) == f"{tonnes} t" == "6.475 t"
    assert "10.83 h" in plain(report.matters[1])


@pytest.mark.parametrize("greens", [1, 4, 9, 14, 23, 40])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
@beyond(4)
def test_pages_are_filled_and_no_heading_is_parted_from_its_table(greens: int, paper: str) -> None:
    """No page but the last is more than a third empty, and the last holds more than a few lines."""
    lists = [(NOW, SOON, LATER, LATE, NOW, TARGET)[: 2 + number % 5] for number in range(greens)]
    drawn = render.render(made(*lists), version=VERSION, house=HouseStyle(paper=paper))  # type: ignore[arg-type]
    shares = filled(drawn)
    if paper == "A4":  # a sheet of Letter is lower than what the share is told by
        assert all(share > 2 / 3 for share in shares[:-1]), shares
    assert len(shares) == 1 or shares[-1] > 0.1, shares
    for page in lines_of(drawn):
        assert not re.match(r"Green G-\d+", page[-1][1]), page[-1]
        assert page[-1][1] not in (
            "Green by green",
            "Materials in all",
            "What is not known",
            "Sources by their numbers",
        )


@thorough
def test_half_the_pages_hold_a_county() -> None:
    """Nineteen greens with five lines each took thirteen pages: weather, sources and ways are said once now."""
    assert len(filled(render.render(made(*[(NOW, SOON, LATER, LATE, TARGET)] * 19), version=VERSION))) <= 6
