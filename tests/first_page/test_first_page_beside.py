"""What stands beside the actions: what asks for less, what nothing answers, when the green is closed, whose works."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from pipeline.findings.findings import rules
from pipeline.first_page.actions import actions
from pipeline.first_page.closings import closings
from pipeline.first_page.found import found
from pipeline.indicators.base.first_page import Action, Closed, Found
from pipeline.indicators.base.green_season import Due, Evidence, Indicator, Verdict
from pipeline.plan.due_list import DueItem
from pipeline.plan.market import Kept
from tests.first_page.test_first_page_actions import DRESSING, OFF, SEASON, done, item, printed
from tests.first_page.test_first_page_spent import printed as sums

NITROGEN = Indicator("nitrogen_kg_ha", "Nitrogen (N) applied", "", 222.0, "kg/ha", 5, target_low=80.0,
                     target_high=120.0, standing="above")  # fmt: skip
MUCH = Found("Much nitrogen", NITROGEN, works=("fertilising",), less=True, verdict="Less feed to plan")
FEED = item("fertilising", 4, "110", low=75.0, high=75.0, unit="kg", material="spring granular")


def test_a_work_that_a_finding_asks_less_of_says_so_and_is_never_repeated_for_it() -> None:
    """ "Much nitrogen" was answered by "Feed, 175 kg", as if the feed were the cure."""
    for level in (0, -1):
        (row,) = printed(actions([FEED], [MUCH], (), SEASON, {}), level).rows
        assert (row.number, row.detail) == ("1", "finding 1 asks for less")
    feed = replace(done("90"), work=replace(done("90").work, operation="fertilising"))
    assert actions([], [MUCH], [feed], SEASON, {}) == ()
    slipped = replace(MUCH, less=False)
    assert [one.as_this_season for one in actions([], [slipped], [feed], SEASON, {})] == [1]


def test_the_shipped_rules_ask_for_less_of_a_feed_where_there_was_too_much_and_for_seed_where_turf_is_thin() -> None:
    shipped = {one.id: one for one in rules()}
    assert [one.id for one in shipped.values() if one.less] == ["nitrogen-high"]
    assert shipped["cover-thin"].works == ("overseeding",)  # top dressing alone fills no open ground


def test_a_finding_that_no_work_answers_says_so_and_what_usually_helps() -> None:
    """Rinks that differ by 0.76 s stood alone: what to do about them was said nowhere on the page."""
    rinks = Found("Rinks differ", OFF, verdict="Rinks to even out", works=("inspection",), helps="Moving rinks. More.")
    thatch = Found("Thatch", OFF, works=("top_dressing",))
    told = (rinks, Found("Sulphur off target", OFF), replace(rinks, doubtful=True), thatch)
    note = printed(actions(DRESSING, told, (), SEASON, {}), found=told).note
    helps = "No work here answers finding 1; what usually helps: moving rinks. More."
    assert note == f"{helps} No work here answers finding 2."
    right = Found("Speed is right", replace(OFF, value=10.0, standing="within"))
    assert printed((), found=(right,)).note == ""


def kept(*greens: str, first: int, last: int, title: str = "", occasion: str = "closed") -> Kept:
    of, place = frozenset(greens) or None, Evidence("closed.csv", 2, "calendar", 1)
    return Kept(of, date(2027, 3, first), date(2027, 3, last), occasion, title, place)  # type: ignore[arg-type]


def test_closed_days_within_the_days_of_a_work_are_told_with_their_reason() -> None:
    target = DueItem("A-1", Due("Nitrogen", "", "season 2027", "", day=date(2027, 9, 30), operation="fertilising"))
    look = DueItem("A-1", Due("Look", "", "", "", day=date(2027, 3, 10), first=date(2027, 3, 1)))
    items = [item("drag_matting", 3, "9"), item("scarifying", 4, "9"), target, look, *DRESSING]
    days = [kept("A-1", first=22, last=24, title="pavilion roof"), kept("B-1", first=5, last=6),
            kept(first=8, last=8), kept("A-1", first=20, last=20, occasion="match")]  # fmt: skip
    told = tuple(closings("A-1", items, days))
    assert [(one.first.day, one.why, one.operations) for one in told] == [
        (8, "", ("drag_matting", "top_dressing")),
        (22, "pavilion roof", ("drag_matting", "top_dressing")),
    ]
    note = printed((), closed=told[1:]).note.replace("\u00a0", " ").replace("\u2060", "")
    assert note == "Closed 22–24 Mar 2027 (pavilion roof), within the days set for drag matting and top dressing."
    assert not list(closings("A-1", [target], [kept(first=1, last=31)]))  # a target has no days of its own
    assert isinstance(told[0], Closed)


def test_works_told_together_say_whose_each_is() -> None:
    """Drag matting, feed and wetting agent stood under "Committee", which decides solid tining alone."""
    own = {"wetting_agent": "Committee"}
    works = {"solid_tining": "90", "drag_matting": "80", "wetting_agent": "9", "brushing": "70", "rolling": "8"}
    every = actions([item(name, 3, cost) for name, cost in works.items()], (), (), SEASON, own)  # type: ignore[arg-type]
    shown = printed(every, 5)
    assert [row.who for row in shown.rows if row.what == "Other routine work"] == ["see below"]
    assert shown.note == "Other routine work: wetting agent (committee); rolling (greenkeeper)."
    alike = printed(tuple(replace(one, who="Greenkeeper") for one in every), 5)
    assert {row.who for row in alike.rows} == {"Greenkeeper"}
    assert alike.note == "Other routine work: wetting agent and rolling."


@pytest.mark.parametrize("lines", [1, 2])
def test_why_no_amount_is_known_stands_beside_it_and_no_code_of_the_green(lines: int) -> None:
    """ "Dress the green, not known" said nowhere what was missing."""
    lacking = "the programme says no amount or rate of 70/30 mix"
    bare = item("top_dressing", 3, None, unit="t", material="70/30 mix", lacking=lacking)
    (row,) = printed(actions([bare] * lines, (), (), SEASON, {})).rows
    assert (row.amount, row.detail) == ("not known", lacking)
    coded = item("top_dressing", 3, None, unit="t", lacking="the area of A-1 is not recorded")
    (row,) = printed(actions([coded], (), (), SEASON, {})).rows
    assert row.detail == "the green’s area is not recorded"


def test_sums_of_a_log_that_begins_late_say_from_when() -> None:
    """£1,796 of seven months stood there as the season's."""
    told = sums(log_begins=date(2026, 3, 6))
    assert [below.replace("\u00a0", " ") for _, _, below in told[:3]] == ["logged from 6 Mar 2026"] * 3


def test_one_thing_is_found_once_a_layer_that_is_high_and_rises() -> None:
    """Two of three findings were of organic matter at 0–20 mm, the second its rise that the first had told."""
    layer: dict[str, Any] = {"band": "0–20 mm", "n": 4, "low": 9.3, "high": 12.8}
    above: dict[str, Any] = {"target_high": 7.0, "standing": "above"}
    high = Indicator("organic_matter_pct", "Organic matter", value=11.1, unit="%", **above, **layer)
    risen = Verdict("rising", "13 samples", 0.001)
    rise = Indicator("organic_matter_trend_pct_year", "Change", value=0.5, unit="% a year", verdict=risen, **layer)
    other = replace(rise, band="20–40 mm")
    assert [one.lead for one in found([high, rise], rules(), (), frozenset())] == ["Spongy layer at {band}"]
    both = found([high, rise, other], rules(), (), frozenset())
    assert [one.figure.band for one in both] == ["0–20 mm", "20–40 mm"]


def test_an_action_by_itself_names_nobody_else() -> None:
    alone = Action("Feed", "Greenkeeper", ("fertilising",), lines=1, cost=Decimal(9), priced=1, of=1)
    assert printed((alone,)).rows[0].who == "Greenkeeper"
