"""Patterns that a person writes into a profile: they find what they should, and none of them runs away."""

from __future__ import annotations

import pytest

from pipeline.common.patterns import match_of, why_no_pattern


@pytest.mark.timeout(20)
@pytest.mark.parametrize("pattern", ["(a+)+$", "(a|aa)+$", "(.*a){20}", r"^(\w+\s?)*$", "((a*)*)*b"])
def test_no_pattern_takes_longer_than_the_text_is_long(pattern: str) -> None:
    """Tried one way after the other, each of these takes longer than anybody waits on sixty letters."""
    found = match_of(pattern, "a" * 60 + "!")
    assert found is None or found[0].startswith("a")


@pytest.mark.parametrize(
    ("pattern", "text", "found"),
    [
        ("Week ending (.+)", "Crew B; Week ending 3 May", ("Week ending 3 May", {"1": "3 May"})),
        (r"(?P<day>\d+)\.(?P<month>\d+)", "on 3.5.", ("3.5", {"day": "3", "month": "5"})),
        ("North|South", "the South round", ("South", {})),
        ("(North)|(South)", "the South round", ("South", {"1": "", "2": "South"})),
        ("^(.)$", "é", ("é", {"1": "é"})),
        ("x", "", None),
        ("", "abc", ("", {})),
    ],
)
def test_what_is_found(pattern: str, text: str, found: object) -> None:
    assert match_of(pattern, text) == found


@pytest.mark.parametrize(
    ("pattern", "why"),
    [
        ("(", "unclosed group"),
        ("(?=a)", "look-around, including look-ahead and look-behind, is not supported"),
        (r"(a)\1", "backreferences are not supported"),
        ("(a{1000}){1000}", "Compiled regex exceeds size limit of 10485760 bytes"),
        ("a+", ""),
    ],
)
def test_what_is_no_pattern_is_told(pattern: str, why: str) -> None:
    assert why_no_pattern(pattern) == why
