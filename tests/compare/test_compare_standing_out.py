"""What leads the page of a club: the places farthest from the middle of a ranking, whatever the order of subjects."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pipeline.compare.build import comparison
from pipeline.compare.comparison import Cell, Own
from pipeline.compare.county import Member
from pipeline.compare.protection import outward, whole_range
from pipeline.compare.standing_out import apart, standing_out
from reports.comparison import wording
from reports.comparison.boxes import boxes
from reports.comparison.render import view
from tests.compare.counties import DRESSED, OM, SPEED, county

CELL = Cell(DRESSED, "flat greens, Ostershire", "Ostershire", "2026", 27, 14, 0.0, 1.0, 2.0, 3.0, 6.0)


def own(low: int, high: int, n: int = 27, green: str = "A", **more: object) -> Own:
    one = Own(green, f"Green {green}", DRESSED, 3.0, None, None, replace(CELL, n=n), place_low=low, place_high=high)
    return replace(one, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("low", "high", "n", "share"),
    [
        (1, 1, 27, 1.0),
        (27, 27, 27, 1.0),
        (1, 2, 27, 12 / 13),  # by hand: the middle of 27 is 14, place 2 is 12 of the 13 places to the end from it
        (8, 13, 27, 1 / 13),
        (10, 20, 27, 0.0),
        (14, 14, 27, 0.0),
        (4, 4, 8, 0.5 / 3.5),
    ],
)
def test_the_nearest_place_counts_from_the_middle(low: int, high: int, n: int, share: float) -> None:
    assert apart(own(low, high, n)) == pytest.approx(share)


def test_the_farthest_leads_and_the_middle_is_not_named() -> None:
    """Place 8 to 13 led, and place 1 to 2 of 27 was left out."""
    given = [own(8, 13, green="A"), own(20, 27, green="B"), own(1, 2, green="C"), own(12, 16, green="D")]
    assert [one.green for one in standing_out(given)] == ["C"]
    outside = own(9, 27, green="E", funnel="outside 95 %")
    assert [one.green for one in standing_out([*given, outside])] == ["C", "E"]


def middling(club: str) -> object:
    """Nine greens of three clubs from 1 to 5 kg/m²; those of C1 are the middle three."""
    members = {f"G{i}": Member(f"Green {i}", f"C{i // 3}", ("flat greens", "North")) for i in range(9)}
    drawn = {f"G{i}": [(DRESSED, 1.0 + i / 2, None)] for i in range(9)}
    return view(comparison(county(members, drawn, {}), club=club, club_name=club), version="0")


def test_where_nothing_stands_out_that_is_said() -> None:
    assert middling("C1").matters == (wording.NOTHING_OUT,)  # type: ignore[attr-defined]


def test_the_lowest_and_the_highest_lead() -> None:
    said = [line.replace("\u202f", " ") for line in middling("C0").matters]  # type: ignore[attr-defined]
    assert said[0] == "Green 0, top dressing applied: 1.0 kg/m², lowest of 9."
    assert said[1] == "Green 1, top dressing applied: 1.5 kg/m², 2nd lowest of 9."


@pytest.mark.parametrize("top", [5.76, 6.0, 6.21, 6.24])
def test_a_range_holds_the_reader_s_own_green(top: float) -> None:
    """6.21 stood outside a range printed as 0.0–6.0."""
    members = {f"G{i}": Member(f"Green {i}", f"C{i % 3}", ("flat greens", "North")) for i in range(6)}
    drawn = {f"G{i}": [(DRESSED, value, None)] for i, value in enumerate((0.1, 1.0, 2.0, 3.0, 4.0, top))}
    found = comparison(county(members, drawn, {}), club="C2", club_name="C2")
    (cell,) = found.cells
    assert all(cell.low <= one.value <= cell.high for one in found.own)
    assert (cell.low, cell.high) == (0.0, 7.0)


@pytest.mark.parametrize("value", [0.0, 0.24, 0.26, 3.75, 6.21, 99.99])
def test_a_range_holds_every_figure_it_was_made_of_and_ends_outwards(value: float) -> None:
    step = 0.5
    for signed in (False, True):
        entered = round(value / step) * step
        low, high = whole_range([entered], step, signed=signed)
        assert low <= value <= high
        assert (low, high) == outward(low, high, step)
        assert low >= 0 or signed


def test_a_negative_figure_lies_in_the_range_of_a_subject_that_can_be_negative() -> None:
    assert whole_range([0.0], 0.1, signed=True)[0] <= -0.04
    assert whole_range([0.0], 0.1, signed=False)[0] == 0.0


def test_dots_are_named_on_the_line_and_in_its_words() -> None:
    """Which dot was which green stood nowhere, and the words said the row beside the chart again."""
    members = {f"G{i}": Member(f"Lawn {i}", f"C{i // 3}", ("flat greens", "North")) for i in range(9)}
    drawn = {f"G{i}": [(OM, 3.0 + i, 0.03), (SPEED, 10.0, 0.1)] for i in range(9)}
    report = view(comparison(county(members, drawn, {}), club="C1", club_name="C1"), version="0")
    assert report.letters.replace("\u00a0", " ") == "A Lawn 3, B Lawn 4, C Lawn 5"
    spread, alike = (table.rows[0].box for table in report.tables)
    assert [letter for _, letter in spread.letters] == ["A", "B", "C"]
    assert [letter for _, letter in alike.letters] == ["A B C"]
    assert spread.marks == tuple(sorted(spread.marks))
    title = spread.title.replace("\u202f", " ")
    assert "Dot A, Lawn 3, 6.0 %: in the box, left of the median." in title
    assert "Dot C, Lawn 5, 8.0 %: in the box, right of the median." in title
    assert "The line of the range runs from 2.0 to 12.0 %" in title
    row = report.tables[0].rows[0]
    assert row.range not in title
    assert [one.letter for one in report.own] == ["A", "B", "C"] * 2


def test_the_words_for_a_line_give_its_values_in_the_unit_of_the_figure() -> None:
    """“From 17 to 50 % of the line of the range” told a listener where ink lies, and no figure."""
    (line,) = boxes([CELL], [], {})
    said = line.title.replace("\u202f", " ")
    assert said == (
        "The line of the range runs from 0.0 to 6.0 kg/m², the box of the middle half from 1.0 to 3.0 kg/m²; "
        "the tick of the median stands at 2.0 kg/m²."
    )
