"""Things put together by a key keep their order, so that documents and attachments keep theirs."""

from __future__ import annotations

from pipeline.common.grouped import grouped


def test_keys_stand_as_first_met_and_things_as_given() -> None:
    found = grouped(["b2", "a1", "b1", "a2", "b2"], lambda word: word[0])
    assert list(found.items()) == [("b", ["b2", "b1", "b2"]), ("a", ["a1", "a2"])]


def test_nothing_has_no_group() -> None:
    assert grouped([], len) == {}
