"""The programme of twelve months: what is asked for and what was done, month by month."""

from __future__ import annotations

from datetime import date

from pipeline.findings.findings import Condition, Finding, Rule
from pipeline.indicators.base.green_season import Due, Indicator
from pipeline.survey.programme import programme

FIGURE = Indicator("moss_pct", "Moss", "", 7.0, "%", 5)


def finding(name: str, works: tuple[str, ...], months: tuple[int, ...]) -> Finding:
    rule = Rule(
        id=name, all=(Condition(indicator="moss_pct", at_least=1),), finding="f", may_mean="m", helps="h", source="s",
        works=works, months=months,
    )  # fmt: skip
    return Finding(rule, (FIGURE,), (), doubtful=False)


def test_it_begins_with_the_month_after_the_visit_and_runs_over_the_year() -> None:
    made = programme(date(2026, 9, 14), (), ())
    assert made.months[0] == date(2026, 10, 1)
    assert made.months[-1] == date(2027, 9, 1)
    assert programme(date(2026, 12, 31), (), ()).months[0] == date(2027, 1, 1)
    assert made.lines == ()


def test_works_are_asked_in_the_months_of_their_findings() -> None:
    found = [finding("a", ("scarifying", "top_dressing"), (4, 10)), finding("b", ("top_dressing",), (9,))]
    made = {line.operation: line for line in programme(date(2026, 9, 14), found, ()).lines}
    assert made["scarifying"].asked == (0, 6)
    assert made["top_dressing"].asked == (0, 6, 11)
    assert made["top_dressing"].why == ("a", "b")


def test_what_was_done_stands_in_the_same_month_of_the_year_before() -> None:
    done = [(date(2025, 10, 2), "mowing"), (date(2025, 10, 9), "mowing"), (date(2026, 9, 14), "mowing"),
            (date(2025, 9, 30), "mowing"), (date(2026, 10, 1), "mowing")]  # fmt: skip
    (line,) = programme(date(2026, 9, 14), (), done).lines
    assert line.done == (2, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1)
    assert line.asked == ()


def test_quantities_go_to_their_operation() -> None:
    due = [
        Due("Top dressing, 70/30", "2 t", "15 October 2026", "", operation="top_dressing"),
        Due("Time bowls", "4 a rink", "", ""),
    ]
    found = [finding("a", ("top_dressing", "levelling"), (10,))]
    made = programme(date(2026, 9, 14), found, (), due, [("levelling", "0.8 t for the lows")])
    assert {line.operation: line.quantity for line in made.lines} == {
        "top_dressing": "2 t, 15 October 2026",
        "levelling": "0.8 t for the lows",
    }


def test_a_finding_without_months_still_gives_its_line() -> None:
    (line,) = programme(date(2026, 9, 14), [finding("a", ("inspection",), ())], ()).lines
    assert (line.operation, line.asked, line.why) == ("inspection", (), ("a",))


def test_what_is_due_has_a_line_though_no_finding_asks_for_it() -> None:
    """The year's nitrogen was due in the condition report and in no line of the programme made the same day."""
    nitrogen = Due("Nitrogen", "12.8 to 32.0 kg N", "season 2027", "Target 80 to 200 kg/ha", operation="fertilising")
    (line,) = programme(date(2026, 9, 14), (), (), [nitrogen]).lines
    assert (line.label, line.quantity, line.asked) == ("Fertilising", "12.8 to 32.0 kg N, season 2027", ())
