"""Words that every room uses."""

from __future__ import annotations

from pipeline.common.words import counted, line_ranges, told_of, work_with


def test_line_ranges() -> None:
    assert line_ranges([2, 3, 4, 9, 11, 12]) == "2–4, 9, 11–12"
    assert line_ranges([5, 3, 4, 9, 9]) == "3–5, 9"
    assert line_ranges([]) == ""


def test_ranges_past_the_most_are_counted_not_dropped() -> None:
    """A reader must see that a list was cut, and by how many lines."""
    assert line_ranges([1, 3, 5, 7, 8], most=2) == "1, 3 and 3 more"
    assert line_ranges([1, 3], most=2) == "1, 3"


def test_a_number_with_its_noun() -> None:
    assert [counted(n, "job") for n in (0, 1, 1200)] == ["0 jobs", "1 job", "1,200 jobs"]
    assert counted(2, "analysis", "analyses") == "2 analyses"


def test_an_entry_is_told_with_its_place() -> None:
    assert told_of("log.csv", 3, "twenty packs.") == "Line 3 of log.csv: twenty packs."


def test_a_work_says_what_is_put_on_once() -> None:
    """It said "Wetting agent, wetting agent, liquid"."""
    assert work_with("Wetting agent", "wetting agent, liquid") == "Wetting agent, liquid"
    assert work_with("Wetting agent", "Wetting agent", "{} ({})") == "Wetting agent"
    assert work_with("Fertilising", "liquid feed 12-2-6") == "Fertilising, liquid feed 12-2-6"
    assert work_with("Top dressing", "sand", "{} ({})") == "Top dressing (sand)"
    assert work_with("Top dressing", "top dressings of the yard") == "Top dressing, top dressings of the yard"
    assert work_with("Mowing", "") == "Mowing"
